"""The one-dimensional solver: exact solutions, conservation, order of convergence."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.special import erfc

from pourwright.air.wood import conditioned_share
from pourwright.endure.diffuse import between_cells, cell_widths, modes
from pourwright.errors import InputError


def _error(cells: int) -> float:
    """Largest error against the decaying cosine of a slab held at 0 on both sides."""
    dx = cell_widths(1.0, cells)
    x = np.cumsum(dx) - dx / 2
    found = modes(dx, np.ones(cells), np.ones(cells), 1e12, 0.0, 1e12, 0.0)
    start = np.sin(np.pi * x)
    exact = start * np.exp(-(np.pi**2) * 0.1)
    return float(np.abs(found.at([0.1], start)[0] - exact).max())


def test_second_order_in_the_cell_width() -> None:
    errors = [_error(n) for n in (8, 16, 32, 64)]
    rates = [np.log2(a / b) for a, b in pairwise(errors)]
    assert all(1.9 < r < 2.1 for r in rates), rates


def test_closed_slab_keeps_what_it_has() -> None:
    rng = np.random.default_rng(3)
    dx = rng.uniform(0.5, 2.0, 12)
    cap = rng.uniform(0.5, 3.0, 12)
    start = rng.uniform(-1, 1, 12)
    found = modes(dx, rng.uniform(0.1, 4, 12), cap, 0.0, 0.0, 0.0, 0.0)
    states = found.at([0.0, 0.1, 10.0, 1e6], start)
    totals = (states * cap * dx).sum(axis=-1)
    np.testing.assert_allclose(totals, totals[0], rtol=1e-9)
    np.testing.assert_allclose(states[0], start, atol=1e-9)
    np.testing.assert_allclose(states[-1], totals[0] / (cap * dx).sum(), rtol=1e-6)


def test_what_flows_in_is_what_it_gains() -> None:
    dx = cell_widths(0.02, 20)
    k, c, h, out = np.full(20, 0.2), np.full(20, 1.5e6), 8.0, 350.0
    found = modes(dx, k, c, h, out, 0.0, 0.0)
    t = np.linspace(0, 3000, 1201)
    states = found.at(t, np.full(20, 300.0))
    g = 1 / (1 / h + dx[0] / (2 * k[0]))
    inflow = np.trapezoid(g * (out - states[:, 0]), t)
    gained = ((states[-1] - 300.0) * c * dx).sum()
    assert inflow == pytest.approx(gained, rel=1e-4)


def test_plane_sheet_uptake_is_cranks() -> None:
    # both faces at 1: mean of the cells equals the series; 60 even cells, 0.1 %
    dx = cell_widths(0.018, 60)
    d = 2e-10
    found = modes(dx, np.full(60, d), np.ones(60), 1e6, 1.0, 1e6, 1.0)
    days = np.array([0.5, 2.0, 6.0]) * 86400
    mean = found.at(days, np.zeros(60)).mean(axis=-1)
    np.testing.assert_allclose(mean, conditioned_share(days, 0.018, d), atol=1e-3)


def test_thick_slab_takes_the_error_function() -> None:
    # surface held: erfc(x/(2 sqrt(at))) (Carslaw and Jaeger); graded cells, 0.5 % of the step
    dx = cell_widths(0.05, 60, 1.05)
    x = np.cumsum(dx) - dx / 2
    found = modes(dx, np.full(60, 0.2), np.full(60, 1.68e6), 1e9, 1.0, 0.0, 0.0)
    state = found.at([60.0], np.zeros(60))[0]
    exact = erfc(x / (2 * np.sqrt(0.2 / 1.68e6 * 60.0)))
    np.testing.assert_allclose(state, exact, atol=5e-3)


def test_steady_state_through_layers_and_a_contact() -> None:
    # resistances in series: 1/h + t/k + R + t/k + 1/h
    dx = np.concatenate([cell_widths(0.003, 5), cell_widths(0.018, 5)])
    k = np.array([0.2] * 5 + [0.18] * 5)
    gap = np.zeros(9)
    gap[4] = 0.01
    found = modes(dx, k, np.full(10, 1e6), 20.0, 320.0, 5.0, 280.0, gap)
    state = found.at([1e7], np.full(10, 300.0))
    flux = 40.0 / (1 / 20 + 0.003 / 0.2 + 0.01 + 0.018 / 0.18 + 1 / 5)
    above, below = between_cells(state, dx, k, found, 4)
    assert float(above[0]) == pytest.approx(320 - flux * (1 / 20 + 0.003 / 0.2), abs=1e-5)
    assert float(above[0] - below[0]) == pytest.approx(flux * 0.01, rel=1e-5)


def test_batches_equal_single_runs() -> None:
    k = np.array([0.1, 0.2, 0.4])
    dx = cell_widths(0.02, 12)
    together = modes(dx, k[:, None] * np.ones(12), np.ones(12), 3.0, 1.0, 0.0, 0.0)
    states = together.at([1.0, 5.0], np.zeros(12))
    for i, each in enumerate(k):
        alone = modes(dx, np.full(12, each), np.ones(12), 3.0, 1.0, 0.0, 0.0)
        np.testing.assert_allclose(states[i], alone.at([1.0, 5.0], np.zeros(12)), atol=1e-10)


def test_bad_layers() -> None:
    with pytest.raises(InputError):
        modes([0.1, -0.1], [1, 1], [1, 1], 1.0, 0.0, 1.0, 0.0)
    with pytest.raises(InputError):
        modes([0.1, 0.1], [1, 0], [1, 1], 1.0, 0.0, 1.0, 0.0)
