"""Bow of panels: superposition, balanced back, coupon, range."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.endure.bow import (
    balancing_back,
    coupon_error,
    coupon_mismatch,
    panel_bow,
)
from pourwright.endure.edge import edge_stress
from pourwright.endure.layers import Layer
from pourwright.errors import InputError

FILM = Layer("film", "coat", 0.003, 2.8e9, 1120, 0.37, expansion=68e-6, shrinkage=1e-3)
BOARD = Layer("board", "core", 0.018, 3e9, 750, 0.25, expansion=12e-6, swell=0.05)


@given(dt=st.floats(-60, 60), dm=st.floats(-0.06, 0.06), g=st.floats(-0.05, 0.05))
@settings(deadline=None, max_examples=60)
def test_causes_add_up(dt: float, dm: float, g: float) -> None:
    state = panel_bow([FILM, BOARD], 1.2, dt, dm, g)
    assert float(state.bow) == pytest.approx(float(sum(state.parts.values())), abs=1e-12)


def test_signs_as_a_finisher_sees_them() -> None:
    # a shrinking film, cold, or a growing board: poured face hollow, ends lift
    assert float(panel_bow([FILM, BOARD], 1.2).bow) > 0
    bare = FILM.with_(shrinkage=0.0)
    assert float(panel_bow([bare, BOARD], 1.2, temperature_change=-20).bow) > 0
    assert float(panel_bow([bare, BOARD], 1.2, moisture_change=0.02).bow) > 0
    assert float(panel_bow([bare, BOARD], 1.2, temperature_change=20).bow) < 0
    # bow grows with the square of the length
    one, two = (float(panel_bow([FILM, BOARD], x).bow) for x in (1.0, 2.0))
    assert two == pytest.approx(4 * one)


@given(back_e=st.floats(5e8, 8e9), shrink=st.floats(3e-4, 4e-3), core=st.floats(0.006, 0.04))
@settings(deadline=None, max_examples=40)
def test_the_balancing_back_takes_the_bow_out(back_e: float, shrink: float, core: float) -> None:
    board = BOARD.with_(thickness=core)
    back = FILM.with_(modulus=back_e, shrinkage=shrink)
    thick = balancing_back([FILM, board], back)
    if thick is None:
        # no thickness up to 20 mm does it: then none of these may flatten it either
        for t in np.geomspace(1e-5, 0.02, 60):
            state = panel_bow([FILM, board, back.with_(thickness=float(t))], 1.2)
            assert float(state.bow) > 0
        return
    before = float(panel_bow([FILM, board], 1.2).bow)
    after = float(panel_bow([FILM, board, back.with_(thickness=thick)], 1.2).bow)
    assert abs(after) < 2e-3 * before


def test_the_same_film_on_the_back_needs_the_same_thickness() -> None:
    assert balancing_back([FILM, BOARD], FILM) == pytest.approx(0.003, rel=1e-3)
    assert balancing_back([FILM.with_(shrinkage=0.0), BOARD], FILM) == 0.0


@given(de=st.floats(1e-4, 4e-3), film=st.floats(0.5e-3, 6e-3), board=st.floats(3e-3, 0.03))
@settings(deadline=None, max_examples=50)
def test_coupon_finds_the_mismatch_again(de: float, film: float, board: float) -> None:
    strip = [
        FILM.with_(thickness=film, shrinkage=de),
        BOARD.with_(thickness=board),
    ]
    bow = float(panel_bow(strip, 0.3, strip=True).bow)
    found = float(coupon_mismatch(bow, 0.3, film, board, 2.8 / 3.0))
    assert found == pytest.approx(de, rel=1e-9)
    assert coupon_error(found, bow, 0.1 * bow, film, 0.0) == pytest.approx(0.1 * found)


def test_nonlinear_flag() -> None:
    thin = BOARD.with_(thickness=0.004)
    assert panel_bow([FILM, thin], 2.4).nonlinear
    assert not panel_bow([FILM, BOARD], 0.4).nonlinear


@pytest.mark.parametrize(
    "call",
    [
        lambda: panel_bow([FILM, BOARD], 0.0),
        lambda: panel_bow([FILM, BOARD], float("nan")),
        lambda: panel_bow([], 1.0),
        lambda: panel_bow([FILM.with_(thickness=-0.001), BOARD], 1.0),
        lambda: coupon_mismatch(0.001, 0.0, 0.003, 0.018, 1.0),
        lambda: coupon_mismatch(0.001, 0.6, -0.003, 0.018, 1.0),
        lambda: coupon_mismatch(0.2, 0.6, 0.003, 0.018, 1.0),
        lambda: coupon_error(1e-3, 0.0, 1e-4, 0.003, 0.0),
    ],
)
def test_bad_input(call) -> None:
    with pytest.raises(InputError) as err:
        call()
    assert err.value.remedy and "\n" not in err.value.line()


@given(de=st.floats(-4e-3, 4e-3), film=st.floats(1e-4, 8e-3))
@settings(deadline=None, max_examples=50)
def test_release_energy_is_the_energy_stored(de: float, film: float) -> None:
    # the laminate's own elastic energy per area equals the edge model's release energy
    a = FILM.with_(thickness=film, shrinkage=de)
    s = panel_bow([a, BOARD], 1.0, strip=True).state
    t, e = np.array([film, 0.018]), np.array([2.8e9, 3e9])
    p, q = s.stress_top, s.stress_bottom
    stored = float((t / (6 * e) * (p**2 + p * q + q**2)).sum())
    found = float(edge_stress(film, 0.018, 2.8e9, 3e9, de).energy)
    assert found == pytest.approx(stored, rel=1e-6, abs=1e-12)
