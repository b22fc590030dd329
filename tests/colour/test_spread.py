"""Ranges say what the confidence class says; a calibrated paste goes on into match and doses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pourwright.calc import run
from pourwright.colour import (
    BLACK_CARD,
    WHITE_CARD,
    Finish,
    Recipe,
    colorant,
    shade_from_recipe,
    stack_reflectance,
    to_lab,
)
from pourwright.colour.spread import shade_ranges
from pourwright.errors import InputError


def calibrated(strength: float) -> str:
    """A products file with ultramarine of another strength, calibrated from Lab swatches."""
    truth = colorant("ultramarine").scaled(strength)
    white = colorant("white-rutile")
    asked = []
    for dose, pale, film in ((0.01, 0.0, 1e-3), (0.004, 0.02, 1e-3), (0.03, 0.0, 5e-4)):
        doses = {"ultramarine": dose, "white-rutile": pale}
        shade = shade_from_recipe(
            Recipe("t", "T", doses, {"ultramarine": truth, "white-rutile": white})
        )
        for card in (WHITE_CARD, BLACK_CARD):
            lab = [float(v) for v in to_lab(stack_reflectance([(shade, film)], card))]
            grams = {k: 1000 * v for k, v in doses.items()}
            asked.append(
                {"doses_g_kg": grams, "film_mm": 1000 * film, "lab": lab, "card": card.name}
            )
    done = run("colour.calibrate", {"start": "ultramarine", "swatches": asked, "ident": "own-blue"})
    return done.value.product_toml


def test_a_calibrated_paste_goes_on_into_match_and_doses() -> None:
    ask = {"target_lab": [40, 5, -40], "film_mm": 1.0, "batch_kg": 0.5}
    pastes = ["white-rutile", "black-carbon"]
    plain = run("colour.match", {**ask, "pastes": [*pastes, "ultramarine"]})
    own = run("colour.match", {**ask, "pastes": [*pastes, "own-blue"], "products": calibrated(2.5)})
    assert own.value.reached == plain.value.reached
    ratio = own.value.doses_g_kg["own-blue"] / plain.value.doses_g_kg["ultramarine"]
    # two and a half times as strong: near 0.4 of the dose
    assert 0.3 < ratio < 0.5
    assert any(d.colorant == "own-blue" and d.weigh_g > 0 for d in own.value.sheet.doses)
    with pytest.raises(InputError, match="not in the catalogue"):
        run("colour.match", {**ask, "pastes": [*pastes, "own-blue"]})


def test_ranges_stand_for_what_the_class_says() -> None:
    """Class A 2 to 3, B 4 to 6 once scaled, C 8 and more with its strength: mean of usual films."""
    films = ((0.002, 0.02, 2e-3, BLACK_CARD), (0.01, 0.0, 3e-4, WHITE_CARD))
    films = (*films, (0.005, 0.005, 1e-3, BLACK_CARD))
    tints = ("ochre", "umber", "red-oxide", "ultramarine", "cobalt-blue", "iron-blue", "viridian")
    tints = (*tints, "green-phthalo", "magenta-quinacridone", "red-organic", "black-bone")

    def middle(letter: str, scaled: bool) -> float:
        found = []
        for ident in tints:
            c = colorant(ident)
            own = replace(
                c, confidence=letter, strength=(1.0, 1.0, 1.0) if scaled else (0.6, 1.0, 1.6)
            )
            white = replace(colorant("white-rutile"), confidence="A", strength=(1.0, 1.0, 1.0))
            for dose, pale, film, card in films:
                r = Recipe(
                    "t",
                    "T",
                    {ident: dose, "white-rutile": pale},
                    {ident: own, "white-rutile": white},
                )
                found.append(shade_ranges(r, film, card, Finish(), film_spread=0.0)["de00"].p50)
        return float(np.mean(found))

    assert 1.5 < middle("A", True) < 3.0
    assert 3.5 < middle("B", True) < 6.0
    assert 6.0 < middle("C", False) < 10.0


def test_a_matchs_range_is_never_finer_than_its_pastes() -> None:
    ask = {"target_lab": [62, -18, 8], "film_mm": 1.5, "primer": "dark-primer", "batch_kg": 0.8}
    sure = run("colour.match", ask)
    assert sure.value.confidence == "C"
    assert sure.value.de00 < 0.1
    assert sure.range["de00"].p50 > 4  # class C: 8 or more off until calibrated
    assert sure.range["de00"].p50 > sure.value.sheet.error_de00[1]
    photo = run("colour.match", {**ask, "target_error": 6.0})
    assert photo.range["de00"].p05 > 6.0
    off = run("colour.match", {**ask, "target_lab": [90, 0, 100], "film_mm": 0.3})
    assert off.range["de00"].p50 > 0.7 * off.value.de00 > 5
