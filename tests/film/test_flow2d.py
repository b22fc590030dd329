"""The 2-D film: exact mass, positivity, fluxes, symmetry, steps, masks, edges, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright import film
from pourwright.errors import InputError
from pourwright.film import FilmGrid, FilmSolver, StepControl
from pourwright.film.grid import FREE


def closed(ny: int, nx: int, dx: float = 2e-3) -> FilmGrid:
    return FilmGrid(np.ones((ny, nx), dtype=bool), dx)


def random_grid(rng: np.random.Generator, dx: float) -> FilmGrid:
    ny, nx = rng.integers(3, 40, 2)
    mask = rng.random((ny, nx)) < 0.85
    mask[ny // 2, nx // 2] = True
    fx = rng.integers(0, 3, (ny, nx + 1)) * (rng.random((ny, nx + 1)) < 0.3)
    fy = rng.integers(0, 3, (ny + 1, nx)) * (rng.random((ny + 1, nx)) < 0.3)
    return FilmGrid(mask, dx, fx, fy)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10**6), st.sampled_from([5e-4, 1e-3, 4e-3]), st.floats(0.0, 0.6))
def test_any_film_stays_positive_and_keeps_its_volume(seed, dx, dry):
    """Random masks with holes, free edges, tilt and warm spots; dry, thin and deep cells mixed."""
    rng = np.random.default_rng(seed)
    grid = random_grid(rng, dx)
    shape = grid.shape
    h = rng.exponential(2e-3, shape) * (rng.random(shape) > dry) * 10 ** rng.uniform(-3, 0, shape)
    bed = film.tilted_bed(grid, *rng.uniform(-0.03, 0.03, 2))
    solver = FilmSolver(grid, bed=bed, mobility=10 ** rng.uniform(-1, 1, shape))
    state = solver.start(h)
    before = grid.volume(state.h)
    inside = grid.mask
    for count, step in enumerate(solver.steps(state, 5.0)):
        assert step.h_new.min() >= 0.0
        assert np.all(step.h_new[~inside] == 0.0)
        fx, fy = step.fx.copy(), step.fy.copy()
        lost = np.zeros(shape)
        for code, flux, low, high in (
            (grid.code_x, fx, np.s_[:, :-1], np.s_[:, 1:]),
            (grid.code_y, fy, np.s_[:-1, :], np.s_[1:, :]),
        ):
            out = np.where(code >= FREE, np.abs(flux), 0.0)
            lost += np.where(inside, out[low] + out[high], 0.0)
            assert np.all(flux[code == 0] == 0.0)
            flux[code >= FREE] = 0.0
        rebuilt = step.h_old - np.diff(fx, axis=1) - np.diff(fy, axis=0) - lost
        # the fluxes are the step: agreement to the rounding of three additions
        assert np.abs(rebuilt - step.h_new).max() <= 8 * np.finfo(float).eps * h.max()
        if count > 60:
            break
    gone = state.run_off.sum()
    assert state.run_off.min(initial=0.0) >= 0.0
    assert grid.volume(state.h) + gone == pytest.approx(before, rel=1e-12)


def test_levelled_film_on_a_tilted_bed_rests():
    """A flat surface over any bed is at rest: rounding only, a few picometres, because the implicit
    operator of a long step multiplies the rounding of the pressure."""
    grid = closed(24, 30)
    rng = np.random.default_rng(3)
    bed = film.tilted_bed(grid, 0.01, -0.02) + 1e-4 * rng.random(grid.shape)
    h = 4e-3 - bed
    solver = FilmSolver(grid, bed=bed)
    state = solver.advance(solver.start(h), 1000.0)
    assert np.abs(state.h - h).max() < 5e-12


def test_heeled_surface_ends_level():
    grid = closed(20, 60, 4e-3)
    bed = film.tilted_bed(grid, 0.007, 0.003)
    solver = FilmSolver(grid, bed=bed)
    state = solver.advance(solver.start(np.full(grid.shape, 3e-3)), 3e4)
    level = state.h + bed
    assert np.ptp(level) < 1e-5
    assert state.h.mean() == pytest.approx(3e-3, rel=1e-12)


def test_tilt_law_agrees_with_the_solver():
    """Linear law within 5 %: the difference is at most a third of the film; the ends lie half a
    cell beyond the outer centres."""
    grid = closed(1, 200, 5e-3)
    slope = 0.001
    solver = FilmSolver(grid, bed=film.tilted_bed(grid, slope, 0.0))
    for flow in (20.0, 200.0, 2000.0):
        state = solver.advance(solver.start(np.full(grid.shape, 3e-3)), flow)
        got = state.h[0, 0] - state.h[0, -1] + slope * 5e-3
        assert got == pytest.approx(film.tilt_difference(3e-3, 1.0, slope, flow), rel=0.05)


def bumps(ny: int, nx: int, dx: float) -> np.ndarray:
    y, x = np.mgrid[0:ny, 0:nx] * dx
    h = 5e-4 + 3e-3 * np.exp(-(((x - 0.04) / 0.012) ** 2) - ((y - 0.05) / 0.02) ** 2)
    return h + 2e-3 * (((x - 0.08) ** 2 + (y - 0.03) ** 2) < 0.015**2)


@pytest.mark.parametrize("turn", ["mirror", "transpose", "quarter"])
def test_symmetry_of_the_split_directions(turn):
    """Turned input gives the turned film: exactly for a mirror, to 2 % L2 when x and y swap
    (the sweeps alternate, so the order of the splitting differs)."""
    dx = 2e-3
    h = bumps(60, 60, dx)
    ops = {"mirror": np.fliplr, "transpose": np.transpose, "quarter": np.rot90}
    op = ops[turn]
    one = FilmSolver(closed(60, 60, dx))
    two = FilmSolver(closed(60, 60, dx))
    a = one.advance(one.start(h), 50.0).h
    b = two.advance(two.start(np.ascontiguousarray(op(h))), 50.0).h
    error = np.linalg.norm(op(a) - b) / np.linalg.norm(a - a.mean())
    assert error < (1e-9 if turn == "mirror" else 0.02)


def test_time_is_only_flow():
    """(eta, t) and (2 eta, 2 t) are the same flow; and with no surface tension, halving the weight
    and doubling the flow is the same film, with different numbers inside."""
    h = bumps(40, 60, 2e-3)
    got = []
    for density, flow in ((1100.0, 10.0), (550.0, 20.0)):
        solver = FilmSolver(closed(40, 60), film.Fluid(density, 0.0))
        ctl = StepControl(first=1e-4 * flow)
        got.append(solver.advance(solver.start(h), flow, ctl).h)
    assert np.abs(got[0] - got[1]).max() < 1e-10 * got[0].max()


def test_similar_pours_have_similar_films():
    """Lengths times c with surface tension times c^2: flow scales by 1/c (from the equation)."""
    h = bumps(40, 60, 2e-3)
    one = FilmSolver(closed(40, 60, 2e-3), film.Fluid(1100.0, 0.036))
    a = one.advance(one.start(h), 8.0).h
    ctl = StepControl(first=1e-3 / 2, thin=4e-5)
    two = FilmSolver(closed(40, 60, 4e-3), film.Fluid(1100.0, 0.144))
    b = two.advance(two.start(2 * h), 4.0, ctl).h
    assert np.abs(b / 2 - a).max() < 1e-6 * a.max()


def orchard_error(cells: int, steps: int) -> float:
    """Measured decay rate of a low ripple over the discrete theory's limit, minus 1."""
    lam, h = 0.1, 3e-3
    dx = lam / cells
    x = (np.arange(cells) + 0.5) * dx
    grid = closed(2, cells, dx)
    solver = FilmSolver(grid)
    state = solver.start(np.tile(h * (1 + 1e-4 * np.cos(2 * np.pi * x / lam)), (2, 1)))
    rate = film.level_rate_thin(h, lam)
    ctl = StepControl(change=1e6, first=1 / rate / steps, growth=1.0 + 2e-6, error=1e9)
    begin = np.ptp(state.h)
    solver.advance(state, 1 / rate, ctl)
    return np.log(begin / np.ptp(state.h)) - 1.0


def test_convergence_in_cell_size_is_second_order():
    fine_time = 400
    errors = [orchard_error(n, fine_time) - orchard_error(256, fine_time) for n in (16, 32, 64)]
    rates = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    # 64 against 256 cells loses 1/16 of its error in the difference: rate up to 2.1
    assert np.all((rates > 1.9) & (rates < 2.15)), rates


def test_convergence_in_step_is_second_order():
    errors = [orchard_error(64, n) - orchard_error(64, 800) for n in (10, 20, 40)]
    rates = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert np.all((rates > 1.85) & (rates < 2.2)), rates


def test_large_steps_do_not_ring():
    """Grid-scale noise dies in one step a million times the explicit limit (9e-5)."""
    rng = np.random.default_rng(5)
    h = 3e-3 * (1 + 0.01 * rng.standard_normal((48, 64)))
    solver = FilmSolver(closed(48, 64, 1e-3))
    state = solver.start(h)
    solver.advance(state, 100.0, StepControl(first=100.0, change=1e6, outflow=1e6, error=1e9))
    assert state.steps == 1
    rough = np.abs(np.diff(state.h, 2, axis=0)).max()
    assert rough < 1e-4 * np.abs(np.diff(h, 2, axis=0)).max()


def dam_break(outflow: float) -> tuple[float, float]:
    """Front of a plane pour over a 20 um film at flow 20, and the largest share seen."""
    dx = 2e-3
    grid = closed(1, 250, dx)
    x = (np.arange(250) + 0.5) * dx
    solver = FilmSolver(grid)
    state = solver.start((np.where(x < 0.1, 0.02, 0.0) + 2e-5)[None, :])
    shares = [s.share for s in solver.steps(state, 20.0, StepControl(outflow=outflow))]
    return float(x[state.h[0] > 1e-3].max()), max(shares)


def test_long_steps_do_not_hold_back_a_front():
    """Steps are handed out in parts that keep to the outflow asked for, and however many cells a
    front crosses in one solved step, it is where small steps put it."""
    front, share = dam_break(0.5)
    assert share <= 0.5 * (1 + 1e-9)
    fine = FilmSolver(closed(1, 250))
    x = (np.arange(250) + 0.5) * 2e-3
    state = fine.start((np.where(x < 0.1, 0.02, 0.0) + 2e-5)[None, :])
    fine.advance(state, 20.0, StepControl(error=1e-3))
    assert front == pytest.approx(float(x[state.h[0] > 1e-3].max()), abs=2 * 2e-3)


def test_too_large_first_step_is_tried_again():
    grid = closed(1, 250)
    solver = FilmSolver(grid)
    x = (np.arange(250) + 0.5) * 2e-3
    state = solver.start((np.where(x < 0.1, 0.02, 0.0) + 2e-5)[None, :])
    solver.advance(state, 20.0, StepControl(first=10.0))
    assert state.rejected > 0
    assert float(x[state.h[0] > 1e-3].max()) == pytest.approx(dam_break(0.05)[0], abs=6e-3)


def test_surface_tension_meets_a_cut_out_at_a_right_angle():
    """A column of cells between a wall and a cut-out behaves like a strip of its own."""
    mask = np.ones((40, 30), dtype=bool)
    mask[:, 12:18] = False
    h = bumps(40, 30, 2e-3)
    whole = FilmSolver(FilmGrid(mask, 2e-3))
    left = FilmSolver(closed(40, 12))
    a = whole.advance(whole.start(h), 5.0, StepControl(change=1e6)).h[:, :12]
    b = left.advance(left.start(h[:, :12]), 5.0, StepControl(change=1e6)).h
    # the other strip may choose other steps; the films agree to the step error
    assert np.abs(a - b).max() < 0.01 * np.ptp(b) + 1e-9


def test_free_edge_runs_off_and_counts_by_edge():
    grid = FilmGrid(
        np.ones((10, 80), dtype=bool),
        2e-3,
        free_x=np.where(np.arange(81) == 80, 2, 0) * np.ones((10, 1), dtype=int),
    )
    assert grid.edges == 2
    assert grid.edge_length(2) == pytest.approx(0.02)
    solver = FilmSolver(grid)
    state = solver.start(np.full((10, 80), 3e-3))
    before = grid.volume(state.h)
    solver.advance(state, 100.0)
    assert state.run_off[0] == 0.0 and state.run_off[1] > 0.1 * before
    assert grid.volume(state.h) + state.run_off[1] == pytest.approx(before, rel=1e-13)
    assert np.all(np.diff(state.h[5]) < 0)  # thins towards the brink


def drained(dx, control=None):
    """Run-off of a 160 mm film at its free edge [m3/m]."""
    n = round(0.16 / dx)
    free = np.zeros((1, n + 1), dtype=int)
    free[0, n] = 1
    solver = FilmSolver(FilmGrid(np.ones((1, n), dtype=bool), dx, free))
    start = solver.start(np.full((1, n), 3e-3))
    return float(solver.advance(start, 100.0, control).run_off[0] / dx)


def test_brink_outflow_hardly_depends_on_cell_size():
    small = StepControl(error=2e-3)
    four, two, one = (drained(dx, small) for dx in (4e-3, 2e-3, 1e-3))
    # the brink's own film is solved for, so 4 mm cells (thicker than the film) miss by 0.9 %; the
    # steps are small here, so that their error cannot stand in for that of the cells
    assert four == pytest.approx(one, rel=0.01)
    assert two == pytest.approx(one, rel=0.005)


@pytest.mark.parametrize("dx", [4e-3, 2e-3])
def test_brink_outflow_hardly_depends_on_steps(dx):
    assert drained(dx) == pytest.approx(drained(dx, StepControl(error=2e-3)), rel=0.005)


def test_a_dry_sharp_edge_holds_its_depth():
    free = np.zeros((4, 21), dtype=int)
    free[:, 20] = 1
    grid = FilmGrid(np.ones((4, 20), dtype=bool), 2e-3, free)
    solver = FilmSolver(grid, hold=2e-3)
    state = solver.advance(solver.start(np.full((4, 20), 3e-3)), 1e4)
    assert state.h.mean() == pytest.approx(2e-3, rel=0.02)
    shallow = solver.start(np.full((4, 20), 1.5e-3))
    assert solver.advance(shallow, 1e3).run_off[0] == 0.0


def test_warm_spots_flow_faster():
    h = bumps(60, 60, 2e-3)
    cold = FilmSolver(closed(60, 60))
    warm = FilmSolver(closed(60, 60), mobility=np.full((60, 60), 4.0))
    a = cold.advance(cold.start(h), 40.0).h
    ctl = StepControl(first=1e-3 / 4)
    b = warm.advance(warm.start(h), 10.0, ctl).h
    assert np.abs(a - b).max() < 1e-10  # mobility 4 is flow 4 times


def test_threads_do_not_change_a_bit():
    h = bumps(150, 150, 1e-3)
    got = []
    for threads in (1, 2):
        solver = FilmSolver(closed(150, 150, 1e-3), threads=threads)
        got.append(solver.advance(solver.start(h), 0.5).h)
    assert np.array_equal(*got)


def test_progress_and_cancel():
    solver = FilmSolver(closed(20, 20))
    state = solver.start(bumps(20, 20, 2e-3))
    seen: list[float] = []
    solver.advance(state, 50.0, progress=seen.append)
    assert seen == sorted(seen) and seen[-1] == 1.0 and state.tau == 50.0
    state = solver.start(bumps(20, 20, 2e-3))
    solver.advance(state, 50.0, cancelled=lambda: state.steps >= 3)
    assert state.steps == 3 and 0 < state.tau < 50.0


def test_edge_labels_follow_the_nearest_segment():
    mask = np.ones((10, 20), dtype=bool)
    box = [(0, 0, 0.2, 0, 3), (0.2, 0, 0.2, 0.1, 0), (0.2, 0.1, 0, 0.1, 1), (0, 0.1, 0, 0, 0)]
    fx, fy = film.edge_labels(mask, 0.01, box)
    assert np.all(fy[0] == 3) and np.all(fy[-1] == 1) and not fx.any()
    assert FilmGrid(mask, 0.01, fx, fy).edges == 3


@pytest.mark.parametrize(
    "call",
    [
        lambda: FilmGrid(np.zeros((3, 3), dtype=bool), 1e-3),
        lambda: closed(3, 3, 0.0),
        lambda: FilmGrid(np.ones((3, 3), dtype=bool), 1e-3, free_x=np.zeros((3, 3))),
        lambda: FilmSolver(closed(3, 3), bed=np.full((3, 3), np.nan)),
        lambda: FilmSolver(closed(3, 3), mobility=np.zeros((3, 3))),
        lambda: FilmSolver(closed(3, 3)).start(np.full((3, 3), -1e-3)),
        lambda: FilmSolver(closed(3, 3)).start(np.full((3, 3), np.nan)),
        lambda: FilmSolver(closed(3, 3)).start(np.zeros((2, 2))),
        lambda: list(
            FilmSolver(closed(3, 3)).steps(FilmSolver(closed(3, 3)).start(np.zeros((3, 3))), -1.0)
        ),
        lambda: film.edge_labels(np.ones((2, 2), dtype=bool), 1e-3, []),
        lambda: film.tilted_bed(closed(3, 3), 1.0, 0.0),
    ],
)
def test_unusable_input_is_refused_by_name(call):
    with pytest.raises(InputError):
        call()


@settings(deadline=None, max_examples=50)
@given(
    st.integers(0, 10**6),
    st.sampled_from([5e-4, 1e-3, 2e-3, 4e-3]),
    st.floats(-6, 6),
    st.floats(-4, -2),
)
def test_no_step_size_lets_a_ripple_grow(seed, dx, log_step, log_film):
    """Unconditional stability: any step from 1e-6 to 1e6, any cell, grid-scale noise included.
    Beyond that only rounding, which the implicit operator multiplies by its own size."""
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal((17, 23))
    noise -= noise.mean()
    film_depth, step = 10**log_film, 10**log_step
    h = film_depth * (1 + 1e-5 * noise)
    solver = FilmSolver(closed(17, 23, dx))
    state = solver.start(h)
    new = np.zeros(h.size)
    tension = film.RESIN.surface_tension
    operator = 1 + 64 * step * film_depth**3 / 3 * (tension / dx**4 + film.RESIN.weight / dx**2)
    rounding = np.finfo(float).eps * film_depth * operator * np.sqrt(h.size)
    for x_first in (True, False):
        solver._try(state.h.ravel(), new, step, x_first, 2e-5)
        left = np.linalg.norm(new - h.mean())
        assert left <= np.linalg.norm(h - h.mean()) * (1 + 1e-4) + rounding


def test_amplification_never_exceeds_one():
    """(1 - c)(1 - c/(1 + b)) / ((1 + a)(1 + b)) with c = sqrt(ab), plus weight in both directions."""
    a, b = np.meshgrid(np.geomspace(1e-6, 1e12, 400), np.geomspace(1e-6, 1e12, 400))
    c = np.sqrt(a * b)
    for weight in (0.0, 0.3, 1e3):
        wa, wb = 1 + a + weight * np.sqrt(a), 1 + b + weight * np.sqrt(b)
        size = np.abs((1 - c) * (1 - c / wb) / (wa * wb))
        assert size.max() <= 1.0
        assert size[-1, -1] < 1e-11
