"""A few bands stand for all: close over stacks and pictures they were not chosen on."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from pourwright.catalogue import default
from pourwright.colour import (
    CLEAR,
    Finish,
    MapLayer,
    Undercoat,
    delta_e_2000,
    demo_shade,
    map_reflectance_xyz,
    primer,
    stack_reflectance,
    xyz_to_lab,
)
from pourwright.colour.bands import NB
from pourwright.colour.fewer import fewer_bands
from pourwright.colour.render import map_reflectance_bands
from pourwright.errors import InputError

GALLEY = (*(demo_shade(n) for n in ("sea-green", "slate", "copper")), CLEAR)
DARK = primer("dark-primer")


def picture(seed: int, shades=GALLEY) -> list[MapLayer]:
    """Two layers of smooth films in which the shades blend into one another."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(0, 1, 60), np.linspace(0, 1, 50))
    layers = []
    for _ in range(2):
        waves = np.stack([np.sin(rng.uniform(2, 9) * x + rng.uniform(2, 9) * y) for _ in shades])
        share = np.exp(3 * waves) / np.exp(3 * waves).sum(0)
        layers.append(MapLayer(list(shades), 5e-4 * (1 + np.sin(7 * x * y + rng.random())), share))
    return layers


@pytest.mark.parametrize("ground", ["dark-primer", "chalk-white", "mid-grey"])
def test_close_on_pictures_it_was_not_chosen_on(ground) -> None:
    # half of what a trained eye tells apart (1 dE00) at worst, a twentieth in the mean
    below = {
        "dark-primer": DARK,
        "chalk-white": Undercoat.from_measured("w", 0.85),
        "mid-grey": Undercoat.from_measured("g", 0.3),
    }[ground]
    few = fewer_bands(GALLEY, below, Finish())
    assert len(few.index) == 8
    layers = picture(5)
    lab = [
        xyz_to_lab(map_reflectance_xyz(layers, below, Finish(), bands=b), "D65", "2")
        for b in (None, few)
    ]
    e = delta_e_2000(*lab)
    assert np.mean(e) < 0.05 + few.mean_error
    assert np.max(e) < 0.5


def test_more_bands_are_nearer_and_all_are_exact() -> None:
    errors = [fewer_bands(GALLEY, DARK, None, n).mean_error for n in (4, 6, 8, 16, 31)]
    assert all(a > b for a, b in pairwise(errors))
    assert errors[0] > 0.3, "four bands are too few: the measure can tell"
    assert errors[-1] < 0.01  # the ridge of the least squares


def test_every_shade_of_the_catalogue_by_itself() -> None:
    ids = [m.id for m in default().of_kind("shade")]
    assert len(ids) > 5
    for ident in ids:
        few = fewer_bands((demo_shade(ident),), DARK)
        assert few.worst_error < 1.0, ident


def test_bands_are_those_of_the_stack() -> None:
    # one pixel of one shade: the picture's two-flux twin against the engine, close at every band
    shade = GALLEY[1]
    got = map_reflectance_bands([MapLayer([shade], np.full((1, 2), 8e-4))], DARK)
    want = stack_reflectance([(shade, 8e-4)], DARK)
    assert got.shape == (1, 2, NB)
    assert np.abs(got[0, 0] - want).max() < 0.02
    assert np.array_equal(got[0, 0], got[0, 1])


def test_chosen_bands_hold_for_daylight_only() -> None:
    few = fewer_bands(GALLEY, DARK)
    with pytest.raises(InputError, match="bands"):
        map_reflectance_xyz(picture(1), DARK, light="A", bands=few)
