"""Flakes against Poisson coverage, thrown discs and thin-film optics.

Sources: Poisson coverage of the plane by random discs; Airy formula (Born and Wolf).
"""

from __future__ import annotations

import numpy as np

from pourwright.colour.bands import BANDS
from pourwright.colour.flakes import flake_coverage, flake_depth, pearl_spectrum


def test_poisson_coverage() -> None:
    assert abs(float(flake_coverage(1.0)) - 0.632121) < 1e-6
    assert abs(float(flake_coverage(3.0)) - 0.950213) < 1e-6


def test_thrown_discs_cover_as_poisson_says() -> None:
    rng = np.random.default_rng(2)
    size, radius = 240, 5.0
    y, x = np.mgrid[:size, :size]
    for area in (0.5, 1.5, 3.0):
        count = round(area * size**2 / (np.pi * radius**2))
        covered = np.zeros((size, size), bool)
        for cx, cy in rng.uniform(0, size, (count, 2)):
            dx = np.minimum(abs(x - cx), size - abs(x - cx))  # edges wrap: no border effect
            dy = np.minimum(abs(y - cy), size - abs(y - cy))
            covered |= dx**2 + dy**2 < radius**2
        # 0.02: four times the scatter of some hundred discs on this square
        assert abs(covered.mean() - float(flake_coverage(area))) < 0.02


def test_first_flake_depth_against_thrown_flakes() -> None:
    rng = np.random.default_rng(4)
    for area in (0.3, 2.0, 8.0):
        hits = rng.poisson(area, 60_000)
        first = np.array([rng.random(h).min() for h in hits if h])
        # 0.005: four standard errors of the mean
        assert abs(first.mean() - float(flake_depth(area))) < 0.005


def test_pearl_hue_moves_with_oxide() -> None:
    # peaks of the Airy sum, normal incidence, to the 10 nm of the bands: 620 nm at 60 nm of oxide,
    # 420 at 120, 490 at 140, 550 at 160
    for oxide, peak in ((60, 620), (120, 420), (140, 490), (160, 550)):
        r = pearl_spectrum(oxide * 1e-9)
        assert abs(BANDS[int(np.argmax(r))] - peak) <= 10
    # one face: ((2.6^2 - 1.55*1.58)/(2.6^2 + 1.55*1.58))^2 at a quarter wave
    best = ((2.6**2 - 1.55 * 1.58) / (2.6**2 + 1.55 * 1.58)) ** 2
    assert abs(pearl_spectrum(520 / 4 / 2.6 * 1e-9).max() - best) < 1e-9
    assert abs(best - 0.219) < 5e-4


def test_pearl_turns_blue_at_a_slant() -> None:
    straight, slant = pearl_spectrum(62e-9), pearl_spectrum(62e-9, mu=0.7)
    assert BANDS[int(np.argmax(slant))] < BANDS[int(np.argmax(straight))]
