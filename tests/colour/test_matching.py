"""The matcher finds what is there, keeps load and hiding, and says what cannot be had."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pourwright.colour import (
    BLACK_CARD,
    WHITE_CARD,
    Recipe,
    colorant,
    delta_e_2000,
    match,
    primer,
    shade_from_recipe,
    stack_reflectance,
    to_lab,
)
from pourwright.colour.contrast import contrast_over
from pourwright.colour.difference import turned
from pourwright.colour.matching import PALETTE
from pourwright.colour.spectrum import (
    colour_shift,
    metamerism,
    smoothest_spectrum,
    undercoat_from_lab,
)
from pourwright.errors import InputError


def own_recipe(rng: np.random.Generator, film: float, load: float) -> Recipe:
    """A random recipe of white and up to four other pastes."""
    others = rng.choice([p for p in PALETTE if p != "white-rutile"], rng.integers(1, 5), False)
    shares = rng.dirichlet([4.0] + [0.5] * len(others))
    ids = ["white-rutile", *others]
    return Recipe("t", "T", {i: float(load * s) for i, s in zip(ids, shares)}, film=film)


def test_fifty_targets_that_can_be_had() -> None:
    # every target comes from a recipe within the load that hides: all must be reached to 0.1 dE00
    # with load and contrast kept (own check; speed is in benchmarks/)
    rng = np.random.default_rng(8)
    done = 0
    while done < 50:
        film = float(rng.choice([0.5e-3, 1e-3, 2e-3]))
        recipe = own_recipe(rng, film, float(rng.uniform(0.02, 0.06)))
        shade = shade_from_recipe(recipe)
        if contrast_over(shade, film) < 0.981:
            continue
        want = to_lab(stack_reflectance([(shade, film)], BLACK_CARD))
        m = match(want, film=film, contrast=0.98, max_load=0.06)
        assert m.de00 < 0.1, (recipe.doses, m.recipe.doses)
        assert m.recipe.load <= 0.06 * (1 + 1e-9)
        assert m.contrast >= 0.98
        assert m.reached
        assert m.reason == ""
        done += 1


def test_prediction_is_the_engines() -> None:
    m = match([55, 12, 20], film=1e-3)
    r = stack_reflectance([(shade_from_recipe(m.recipe), 1e-3)], BLACK_CARD)
    assert np.array_equal(r, m.reflectance)
    assert abs(float(delta_e_2000(to_lab(r), [55, 12, 20])) - m.de00) < 1e-9


def test_recipes_are_sparse() -> None:
    m = match([70, 4, 14], film=1.5e-3, contrast=0.98)
    full = match([70, 4, 14], film=1.5e-3, contrast=0.98, fewest=False)
    assert len(m.recipe.doses) <= 5 < len(full.recipe.doses)
    assert m.de00 < 0.1


def test_a_spectrum_is_matched_as_a_spectrum() -> None:
    recipe = Recipe("t", "T", {"white-rutile": 0.02, "ochre": 0.01, "ultramarine": 0.002})
    r = stack_reflectance([(shade_from_recipe(recipe), 1e-3)], BLACK_CARD)
    m = match(r, ["white-rutile", "ochre", "ultramarine", "umber"], film=1e-3)
    assert m.de00 < 0.2
    assert np.abs(m.reflectance - r).max() < 0.01
    assert m.metamerism["A"] < 0.3
    assert set(m.metamerism) == {"A", "LED-B3"}


def colour_of(doses: dict[str, float], film: float, ground) -> np.ndarray:
    shade = shade_from_recipe(Recipe("t", "T", doses))
    return to_lab(stack_reflectance([(shade, film)], ground))


def test_out_of_gamut_is_said() -> None:
    m = match([50, 90, 60])
    assert not m.reached
    assert "gamut" in m.reason
    assert f"{m.de00:.1f}" in m.reason


@pytest.mark.parametrize("want", [[50, 90, 60], [90, 0, 100], [30, 60, -90]])
@pytest.mark.parametrize("film", [3e-4, 1.5e-3])
def test_the_nearest_recipe_still_hides_and_keeps_the_load(want, film) -> None:
    m = match(want, film=film, contrast=0.98)
    assert not m.reached
    assert m.contrast > 0.98 - 1e-3
    assert m.recipe.load <= 0.06 * (1 + 1e-9)
    # and it says which way it misses
    way = "darker" if m.lab[0] < want[0] else "lighter"
    assert way in m.reason
    assert "greyer" in m.reason


def test_a_limit_that_costs_much_is_named_though_it_is_not_all() -> None:
    m = match([90, 0, 100], film=3e-4, contrast=0.98)
    free = match([90, 0, 100], film=3e-4, contrast=0.98, max_load=0.3)
    assert 1.0 < free.de00 < 0.6 * m.de00
    assert "paste would come within" in m.reason


def test_a_paste_with_a_limit_of_its_own_is_kept_to_it() -> None:
    strict = replace(colorant("white-rutile"), load_limit=0.01)
    pastes = ["black-carbon", "ochre", "zinc-white"]
    free = match([88, 0, 8], ["white-rutile", *pastes], film=5e-4)
    kept = match([88, 0, 8], [strict, *pastes], film=5e-4)
    assert free.recipe.doses["white-rutile"] > 0.015
    assert kept.recipe.doses["white-rutile"] <= 0.01 * (1 + 1e-9)


def test_words_for_a_turn_of_colour() -> None:
    assert turned([50, 20, 20], [50, 20, 20]) == []
    assert turned([50, 20, 20], [40, 10, 10]) == ["darker", "greyer"]
    assert turned([50, 30, 0], [60, 60, 0]) == ["lighter", "more colourful"]
    assert turned([50, 20, 20], [50, 28, 0]) == ["redder", "bluer"]
    assert turned([50, 0, 0], [50, -8, 0]) == ["more colourful", "greener"]


def test_load_is_named_when_more_paste_would_do() -> None:
    want = colour_of({"white-rutile": 0.15, "ochre": 0.01}, 2e-4, BLACK_CARD)
    m = match(want, film=2e-4)
    assert not m.reached
    assert "load" in m.reason
    assert "primer" in m.reason
    assert m.recipe.load <= 0.06 * (1 + 1e-9)


def test_hiding_is_named_when_the_colour_needs_a_glow_from_below() -> None:
    pastes = ["magenta-quinacridone", "white-rutile", "yellow-organic"]
    want = colour_of({"magenta-quinacridone": 0.004}, 3e-4, WHITE_CARD)
    assert match(want, pastes, film=3e-4, undercoat=WHITE_CARD).reached
    m = match(want, pastes, film=3e-4, undercoat=WHITE_CARD, contrast=0.98)
    assert not m.reached
    assert "hiding" in m.reason


def test_tinting_the_primer_saves_paste() -> None:
    want = [58, -14, 6]
    near = undercoat_from_lab("tinted", [55, -12, 6])
    over_dark = match(want, film=3e-4, undercoat=primer("dark-primer"))
    over_near = match(want, film=3e-4, undercoat=near)
    assert over_near.recipe.load < 0.7 * over_dark.recipe.load


@pytest.mark.parametrize(
    "bad, words",
    [
        ({"target": [1, 2]}, "3 numbers"),
        ({"target": [120, 0, 0]}, "0 to 100"),
        ({"target": [50, float("nan"), 0]}, "3 numbers"),
        ({"palette": []}, "1 to 12"),
        ({"palette": ["no-such-paste"]}, "not in the catalogue"),
        ({"palette": ["copper-flake"]}, "flakes"),
        ({"film": 0}, "50 mm"),
        ({"max_load": 0.9}, "30 %"),
        ({"contrast": 1.0}, "0.999"),
    ],
)
def test_bad_input(bad, words) -> None:
    kw = {"target": [50, 0, 0], **bad}
    with pytest.raises(InputError, match=words):
        match(kw.pop("target"), **kw)


def test_metamerism_of_equals_is_nought() -> None:
    r = smoothest_spectrum([60, 20, 30])
    assert metamerism(r, r) < 1e-9
    assert colour_shift(np.full(31, 0.4)) < 0.05


@pytest.mark.parametrize(
    "lab", [[50, 0, 0], [30, 40, 10], [80, -30, 40], [60, 20, -30], [96, 0, 1]]
)
def test_smoothest_spectrum_has_the_colour(lab) -> None:
    r = smoothest_spectrum(lab)
    assert r.min() >= 0
    assert r.max() <= 1
    assert float(delta_e_2000(to_lab(r), lab)) < 0.05


def test_no_surface_has_that_colour() -> None:
    with pytest.raises(InputError, match="no surface"):
        smoothest_spectrum([95, 90, 100])


def test_own_paste_may_be_passed() -> None:
    strong = colorant("ultramarine").scaled(3.0)
    plain = match([40, 5, -40], ["white-rutile", "ultramarine", "black-carbon"], film=1e-3)
    less = match([40, 5, -40], ["white-rutile", strong, "black-carbon"], film=1e-3)
    ratio = less.recipe.doses["ultramarine"] / plain.recipe.doses["ultramarine"]
    assert 0.2 < ratio < 0.6
