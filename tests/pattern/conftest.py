"""Small scores, surfaces and shades of our own for the pattern tests."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.colour import Shade, Undercoat
from pourwright.pattern import pour, read_score, rectangle

DATA = {
    "name": "trial",
    "seed": 4,
    "cups": {"green": 0.5, "slate": 0.38, "copper": 0.12},
    "composition": {"direction_deg": 25, "scale_mm": 160, "lively": 0.4},
    "moves": [
        {"do": "coat", "uses": {"slate": 0.2, "green": 0.2}, "folds": 0.6, "band_mm": 20},
        {
            "do": "ribbons",
            "uses": {"green": 0.25, "slate": 0.15},
            "width_mm": 30,
            "length_mm": 250,
        },
        {"do": "spread", "strokes": 2, "blade_mm": 60, "length_mm": 150},
        {"do": "tilt", "slope_deg": 1.0, "towards_deg": 30, "takes_s": 10},
        {"do": "veins", "uses": {"copper": 0.02}, "at_min": 20, "length_mm": 200},
    ],
}


@pytest.fixture(scope="session")
def shades() -> dict[str, Shade]:
    grey = np.full(31, 1.0)
    return {
        "green": Shade("green", "green", 900 * grey, 2500 * grey),
        "slate": Shade("slate", "slate", 2500 * grey, 900 * grey),
        "copper": Shade("copper", "copper", 500 * grey, 6000 * grey),
    }


@pytest.fixture(scope="session")
def primer() -> Undercoat:
    return Undercoat.from_measured("dark", 0.03)


@pytest.fixture(scope="session")
def data() -> dict:
    return DATA


@pytest.fixture(scope="session")
def small(data):
    """A dammed board of 0.3 x 0.2 m."""
    return pour(read_score(data), rectangle(0.3, 0.2), 0.003, cell=0.005)


@pytest.fixture(scope="session")
def open_edge(data):
    """The same board with two free edges and 40 mm faces."""
    surface = rectangle(0.3, 0.2, free=(1, 2), drop=0.04)
    return pour(read_score(data), surface, 0.003, cell=0.005)
