"""Final width of a drizzled vein: limits, inverse, and the 2-D solver that shows it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright import film

widths = st.floats(1e-3, 2e-2)
films = st.floats(5e-4, 1e-2)


@settings(deadline=None, max_examples=40)
@given(widths, films, st.floats(0.05, 1.0))
def test_thin_limit_is_w_plus_one_and_a_half_area_over_film(w, h, fill):
    area = fill * w * h
    got = film.vein_width(w, area, h, math.inf, full_depth=False)
    assert got == pytest.approx(w + 1.5 * area / h, rel=2e-4)  # quadrature in wave number
    assert film.vein_limit(w, area, h) <= got * (1 + 1e-3)


@settings(deadline=None, max_examples=25)
@given(widths, films, st.floats(0.05, 1.0))
def test_veins_widen_with_flow_left_and_never_narrow(w, h, fill):
    got = [film.vein_width(w, fill * w * h, h, t) for t in np.geomspace(1e-4, 1e5, 12)]
    assert got[0] >= w * (1 - 1e-3)
    assert np.all(np.diff(got) >= -1e-6 * w)


def test_when_to_drizzle_inverts_how_wide():
    flow = film.vein_flow_left(4e-3, 4e-6, 3e-3, 5e-3)
    assert film.vein_width(4e-3, 4e-6, 3e-3, flow) == pytest.approx(5e-3, rel=1e-4)
    assert film.vein_flow_left(4e-3, 4e-6, 3e-3, 9e-3) == math.inf


def test_skin_runs_one_and_a_half_times_the_mean_in_a_thin_film_only():
    assert film.skin_factor(0.0) == 1.5
    assert film.skin_factor(0.1) == pytest.approx(1.5, rel=3e-3)  # series 1.5 (1 - H^2 / 5)
    assert film.skin_factor(6.0) < 0.01


def skin_edges(h0: float, width: float, area: float, flow: float, dx: float) -> tuple[float, float]:
    """Half width of the vein that the 2-D solver shows: its edge carried by 1.5 Q / h."""
    n = round(0.45 / dx)
    x = (np.arange(n) + 0.5) * dx
    half = 0.5 * width
    cap = np.clip(1 - (x / half) ** 2, 0, None)
    h = h0 + cap * (0.5 * area / (cap.sum() * dx))
    grid = film.FilmGrid(np.ones((1, n), dtype=bool), dx)
    solver = film.FilmSolver(grid)
    state = solver.start(h[None, :])
    at = half
    faces = np.arange(n + 1) * dx

    def speed(fx: np.ndarray, mean: np.ndarray, where: float) -> float:
        face_film = np.interp(where, x, mean[0])
        return 1.5 * float(np.interp(where, faces, fx[0])) * dx / face_film

    for step in solver.steps(state, flow, film.StepControl(outflow=0.2, change=0.1, first=1e-5)):
        mean = 0.5 * (step.h_old + step.h_new)
        guess = at + speed(step.fx, mean, at)
        at += 0.5 * (speed(step.fx, mean, at) + speed(step.fx, mean, guess))
    return 2 * at, float(state.h[0, 0] - state.h[0, -1])


@pytest.mark.parametrize("h0", [3e-3, 6e-3])
def test_two_d_solver_confirms_the_vein_law(h0):
    """Law w + 1.5 A/h to 2 % of the width (4 x 1 mm vein, flow 200)."""
    got, relief = skin_edges(h0, 4e-3, 4e-6, 200.0, 2.5e-4)
    assert got == pytest.approx(4e-3 + 1.5 * 4e-6 / h0, rel=0.02)
    # and the law for finite flow agrees with it: linear in A, so 2 % at this height
    law = film.vein_width(4e-3, 4e-6, h0, 200.0, full_depth=False)
    assert got == pytest.approx(law, rel=0.02)
    assert relief > 0


def test_a_bead_as_high_as_the_film_ends_wider_than_the_linear_law():
    """On 1.5 mm the bead is 1.5 mm high. While it passes, the film at its edge is thicker than h,
    which the volume balance turns into a wider vein: 3 A / (3 h - h') with h' > h (derived)."""
    got, _ = skin_edges(1.5e-3, 4e-3, 4e-6, 200.0, 2.5e-4)
    law = film.vein_width(4e-3, 4e-6, 1.5e-3, 200.0, full_depth=False)
    assert law < got < 1.05 * law
