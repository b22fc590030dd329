"""Laminate and sections: equilibrium, symmetry, invariance, bad input."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.endure.bow import bilayer_curvature
from pourwright.endure.layers import (
    Layer,
    bending_stiffness,
    check_layers,
    laminate,
    shear_stiffness,
    stack,
)
from pourwright.errors import InputError

ROWS = st.lists(
    st.tuples(st.floats(1e-4, 0.03), st.floats(1e7, 2e10), st.floats(-0.004, 0.004)),
    min_size=1,
    max_size=6,
)


@given(rows=ROWS)
@settings(deadline=None, max_examples=100)
def test_forces_and_moments_balance(rows) -> None:
    t, e, eps = (np.array(x) for x in zip(*rows))
    s = laminate(t, e, eps)
    size = float(np.abs(s.force).sum()) + 1e-6
    assert abs(float(s.force.sum())) < 1e-9 * max(size, 1.0) + 1e-9
    # moment of the linear stress in every layer about the back
    mean = 0.5 * (s.stress_top + s.stress_bottom)
    moment = (mean * t * s.centres + (s.stress_top - s.stress_bottom) * t**2 / 12).sum()
    scale = (e * t * np.abs(eps) * t.sum()).sum() + 1e-9
    assert abs(float(moment)) < 1e-9 * scale + 1e-9


@given(rows=ROWS)
@settings(deadline=None, max_examples=60)
def test_turned_over_bends_the_other_way(rows) -> None:
    t, e, eps = (np.array(x) for x in zip(*rows))
    a = float(laminate(t, e, eps).curvature)
    b = float(laminate(t[::-1], e[::-1], eps[::-1]).curvature)
    assert a == pytest.approx(-b, rel=1e-6, abs=1e-9)


@given(rows=ROWS, both=st.floats(-0.01, 0.01))
@settings(deadline=None, max_examples=40)
def test_the_same_strain_everywhere_neither_bends_nor_stresses(rows, both: float) -> None:
    t, e, _ = (np.array(x) for x in zip(*rows))
    s = laminate(t, e, np.full(t.shape, both))
    assert abs(float(s.curvature)) < 1e-9
    assert float(np.abs(s.stress_top).max()) < 1e-6 * float(e.max())


@given(
    t1=st.floats(1e-4, 0.02), t2=st.floats(2e-3, 0.05), n=st.floats(0.05, 20),
    de=st.floats(1e-5, 5e-3),
)  # fmt: skip
@settings(deadline=None, max_examples=80)
def test_two_layers_are_timoshenkos(t1: float, t2: float, n: float, de: float) -> None:
    found = float(laminate([t1, t2], [n * 1e9, 1e9], [-de, 0.0]).curvature)
    assert found == pytest.approx(float(bilayer_curvature(t1, t2, n, de)), rel=1e-7)


@given(t=st.floats(1e-3, 0.05), cuts=st.integers(2, 6))
@settings(deadline=None, max_examples=30)
def test_slicing_a_board_changes_nothing(t: float, cuts: int) -> None:
    pieces = np.full(cuts, t / cuts)
    e, g = np.full(cuts, 3e9), np.full(cuts, 2e8)
    whole = bending_stiffness([t], [3e9])[0]
    assert float(bending_stiffness(pieces, e)[0]) == pytest.approx(float(whole), rel=1e-9)
    assert float(shear_stiffness(pieces, e, g)) == pytest.approx(5 / 6 * 2e8 * t, rel=1e-9)


def test_sandwich_shear_stiffness_is_g_d_squared_over_c() -> None:
    # thin stiff skins on a soft core: Allen's G d2/c within 0.5 %
    found = float(shear_stiffness([0.001, 0.04, 0.001], [50e9, 5e6, 50e9], [2e10, 5e6, 2e10]))
    assert found == pytest.approx(5e6 * 0.041**2 / 0.04, rel=5e-3)


def test_samples_go_through_as_arrays() -> None:
    e = np.array([2e9, 3e9, 4e9])
    rows = [Layer("a", "coat", 0.003, e), Layer("b", "core", 0.018, 3e9, 750)]
    assert stack(rows, "modulus").shape == (2, 3)
    s = laminate(stack(rows, "thickness"), stack(rows, "modulus"), [[-1e-3] * 3, [0.0] * 3])
    assert s.curvature.shape == (3,) and np.all(np.diff(s.curvature) > 0)


@pytest.mark.parametrize(
    ("layer", "field"),
    [
        (Layer("x", "core", -0.018, 3e9), "thickness"),
        (Layer("x", "core", 0.0, 3e9), "thickness"),
        (Layer("x", "core", float("nan"), 3e9), "thickness"),
        (Layer("x", "core", float("inf"), 3e9), "thickness"),
        (Layer("x", "core", 0.018, 0.0), "modulus"),
        (Layer("x", "core", 0.018, 3e9, -1.0), "density"),
        (Layer("x", "core", np.array([0.018, -1.0]), 3e9), "thickness"),
    ],
)
def test_impossible_layers_are_named(layer: Layer, field: str) -> None:
    with pytest.raises(InputError) as err:
        check_layers([layer])
    assert err.value.field == f"build-up.x.{field}"
    assert "\n" not in err.value.line()


def test_no_layers() -> None:
    with pytest.raises(InputError):
        check_layers([])
