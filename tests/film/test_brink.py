"""A free edge with a round-over in the 2-D film: mass, symmetry, mobility, which edge, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright import film
from pourwright.errors import InputError
from pourwright.film import FilmGrid, FilmSolver, StepControl, brink_law


def strip(n: int = 60, dx: float = 4e-3, both: bool = False) -> FilmGrid:
    """A strip whose right end is free edge 1, and its left end edge 2 if `both`."""
    free = np.zeros((2, n + 1), dtype=int)
    free[:, n] = 1
    free[:, 0] = 2 if both else 0
    return FilmGrid(np.ones((2, n), dtype=bool), dx, free)


@settings(deadline=None, max_examples=25)
@given(
    st.floats(1e-3, 0.1), st.floats(2e-4, 8e-3), st.floats(0.5, 2000), st.integers(0, 99),
    st.sampled_from([0.0, 1e-3]),
)  # fmt: skip
def test_any_bend_keeps_the_volume_and_never_empties_a_cell(radius, depth, flow, seed, hold):
    grid = strip(30)
    h = depth * np.random.default_rng(seed).uniform(0.0, 2.0, grid.shape)
    solver = FilmSolver(grid, round_over=radius, hold=hold)
    state = solver.advance(solver.start(h), flow)
    whole = grid.volume(h)
    assert grid.volume(state.h) + state.run_off[0] == pytest.approx(whole, rel=1e-12)
    assert state.h.min() >= 0


@pytest.mark.parametrize("radius", [1e-3, 3e-3, 6e-3, 12e-3, 5e-2, 0.2])
def test_more_runs_over_a_bend_from_a_thicker_film(radius):
    law = brink_law(radius)
    assert np.all(np.diff(law.falls) > 0)
    assert np.all(np.diff(law.stands) > 0)
    assert np.all(law.stands > law.falls)  # a bend always lets less go than an arris
    first, apart, falls = law.rows(4e-3)
    assert apart > 0
    assert np.all(np.diff(falls) > 0)
    assert math.isfinite(first)


def test_a_bend_holds_resin_back_and_a_tighter_one_more_of_a_thin_film():
    left = []
    for radius in (0.0, 12e-3, 6e-3, 3e-3):
        solver = FilmSolver(strip(), round_over=radius)
        left.append(solver.advance(solver.start(np.full((2, 60), 1e-3)), 300.0).run_off[0])
    assert np.all(np.diff(left) < 0)


def test_each_edge_has_its_own_bend():
    """Sharp left and round right are what each does alone, far enough from each other."""
    h = np.full((2, 150), 2e-3)
    each = {}
    for radius in (0.0, 6e-3):
        solver = FilmSolver(strip(150), round_over=radius)
        each[radius] = solver.advance(solver.start(h), 100.0, StepControl(error=2e-3)).run_off[0]
    solver = FilmSolver(strip(150, both=True), round_over=(6e-3, 0.0))
    state = solver.advance(solver.start(h), 100.0, StepControl(error=2e-3))
    assert state.run_off == pytest.approx([each[6e-3], each[0.0]], rel=2e-3)


def test_both_ends_and_both_directions_are_alike():
    """Mirror image, and x for y: the same run-off, 2 % (directions are swept one after the other)."""
    h = np.full((2, 60), 2e-3)
    solver = FilmSolver(strip(both=True), round_over=6e-3)
    state = solver.advance(solver.start(h), 100.0)
    assert state.run_off[0] == pytest.approx(state.run_off[1], rel=1e-9)
    free = np.zeros((61, 2), dtype=int)
    free[[0, 60]] = 1
    grid = FilmGrid(np.ones((60, 2), dtype=bool), 4e-3, None, free)
    solver = FilmSolver(grid, round_over=6e-3)
    turned = solver.advance(solver.start(h.T), 100.0)
    assert turned.run_off[0] == pytest.approx(state.run_off.sum(), rel=0.02)


def test_twice_the_mobility_is_half_the_flow():
    h = np.full((2, 60), 2e-3)
    ctl = StepControl(error=2e-3)
    plain = FilmSolver(strip(), round_over=6e-3)
    warm = FilmSolver(strip(), round_over=6e-3, mobility=np.full((2, 60), 2.0))
    a = plain.advance(plain.start(h), 200.0, ctl).run_off[0]
    b = warm.advance(warm.start(h), 100.0, ctl).run_off[0]
    assert b == pytest.approx(a, rel=2e-3)


def test_a_bend_tighter_than_a_millimetre_is_a_sharp_edge():
    assert brink_law(0.0) is None
    assert brink_law(0.9e-3) is None
    h = np.full((2, 60), 2e-3)
    runs = []
    for radius in (0.0, 0.9e-3):
        solver = FilmSolver(strip(), round_over=radius)
        runs.append(solver.advance(solver.start(h), 50.0).run_off[0])
    assert runs[0] == runs[1]


def test_bends_do_not_slow_the_steps():
    """Steps on the round edge against the sharp one, the same film: the bend asks for no more."""
    h = np.full((2, 150), 1.5e-3)
    solves = []
    for radius in (0.0, 3e-3, 6e-3):
        solver = FilmSolver(strip(150), round_over=radius)
        state = solver.advance(solver.start(h), 1500.0)
        solves.append(state.solves + state.rejected)
    assert max(solves[1:]) <= 1.2 * solves[0]


@pytest.mark.parametrize("radius", [-1e-3, 0.3, math.nan, (6e-3, 6e-3)])
def test_unusable_bends_are_refused_by_name(radius):
    with pytest.raises(InputError) as e:
        FilmSolver(strip(), round_over=radius)
    assert e.value.field == "round_over"


def test_a_bend_that_never_settles_counts_as_sharp():
    assert brink_law(1e-3, film.Fluid(300.0, 0.5)) is None
