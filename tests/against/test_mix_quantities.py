"""Mix against exact unit definitions, common practice and closed forms.

Sources
- US gallon 231 in3 exactly, inch 25.4 mm exactly: NIST Handbook 44, Appendix C.
- About 3 US fl oz/ft2 for a colour coat; 22 fl oz for a board of about 7.3 ft2: common practice.
- Quantile of a normal need: z(0.95) = 1.6448536 (any table of the normal distribution).
- Sum of a normal film and a normal loss (independent): variances add.
"""

from __future__ import annotations

import math

import pytest

from pourwright.calc import Draws, run
from pourwright.mix import CoatPiece, Loss, Uncertain, over_mix, sample_need, short_chance

IN3 = 0.0254**3
FL_OZ = 231 * IN3 / 128
FT2 = (12 * 0.0254) ** 2
U = Uncertain.of


def test_three_fluid_ounces_per_square_foot_is_0_955_mm():
    """Exact definitions: 3 * 231/128 in3 / 144 in2 = 0.0375977 in; tolerance: round-off."""
    film = 3 * FL_OZ / FT2
    assert film == pytest.approx(3 * 231 / 128 / 144 * 0.0254, rel=1e-14)
    value = run("mix.volume", {"flat_m2": 1.0, "coverage": "3 fl oz/ft2"}).value
    assert value.film_mm == pytest.approx(film * 1e3, rel=1e-12)
    assert value.film_mm == pytest.approx(0.955, abs=5e-4)  # three digits as printed


def test_board_of_7_3_square_feet_takes_22_fluid_ounces():
    """Common practice, given to whole ounces and tenths of a square foot: 2.3 % and 0.7 % coarse,
    so 3 % tolerance; without loss, as the trade counts coverage."""
    value = run(
        "mix.volume",
        {"flat_m2": 7.3 * FT2, "coverage": "3 fl oz/ft2", "loss_percent": 0, "loss_per_coat_mL": 0},
    ).value
    assert value.mixed_mL / (FL_OZ * 1e6) == pytest.approx(22, rel=0.03)


def need(film, draws, loss=0.0, low=0.0, high=0.0):
    piece = CoatPiece("t", 2.0, 0.0, 0.0, U(1e-3, film), U(0), U(0))
    return sample_need("c", [piece], Loss(Uncertain(loss, low, high), U(0), U(0)), 1, draws)


def test_over_mix_of_a_normal_need():
    """Film normal with 5/95 points +-12 %: the factor at risk p is 1 + 0.12 z(1-p)/z(0.95).
    Stratified samples leave at most one stratum of doubt: tolerance the local quantile step,
    0.12/1.645 * dz with dz = 1/(n pdf(z)), doubled."""
    n = 20_000
    samples = need(0.12, Draws(7, n))
    for risk, z in ((0.05, 1.6448536), (0.10, 1.2815516), (0.01, 2.3263479), (0.5, 0.0)):
        step = 0.12 / 1.6448536 * math.sqrt(2 * math.pi) * math.exp(z * z / 2) / n
        got = over_mix(2e-3, samples, risk)
        assert got.factor == pytest.approx(1 + 0.12 * z / 1.6448536, abs=2 * step)
        assert got.low <= 1 + 0.12 * z / 1.6448536 <= got.high


def test_short_chance_of_a_normal_need():
    """Chance of a normal variable above m: 1 - Phi; stratified samples err by one in n, doubled."""
    n = 10_000
    samples = need(0.12, Draws(5, n))
    sigma = 0.12 / 1.6448536
    for m in (0.95, 1.0, 1.05, 1.1, 1.2):
        exact = 0.5 * math.erfc((m - 1) / sigma / math.sqrt(2))
        got = short_chance(2e-3 * m, samples)
        assert got.chance == pytest.approx(exact, abs=2 / n)


def test_two_independent_normals_add_in_square():
    """Film and per-coat loss both normal: sigma = sqrt(s1^2 + s2^2). The two streams are each
    stratified but paired at random, so the tolerance is the reported 90 % sampling interval."""
    piece = CoatPiece("t", 1.0, 0.0, 0.0, U(1e-3, 0.10), U(0), U(0))
    loss = Loss(U(0), U(0), U(0.5e-3, 0.20))
    samples = sample_need("c", [piece], loss, 1, Draws(11, 40_000))
    half = math.hypot(0.10e-3, 0.10e-3)
    got = over_mix(1.5e-3, samples, 0.05)
    assert got.low <= (1.5e-3 + half) / 1.5e-3 <= got.high


def test_sampling_interval_covers_as_often_as_it_says():
    """90 % order-statistic interval: of 200 seeds at least 85 % cover the true quantile (binomial
    4-sigma below 90 % is 81.5 %; stratified draws cover more often)."""
    truth = 1 + 0.12
    hits = 0
    for seed in range(200):
        got = over_mix(2e-3, need(0.12, Draws(seed, 1000)), 0.05)
        hits += got.low <= truth <= got.high
    assert hits >= 170
