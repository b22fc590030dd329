"""Moisture bow over time: series of the one-sided sheet, symmetry, sealing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.endure import moisture
from pourwright.endure.layers import Layer
from pourwright.endure.moisture import back_seal_needed, moisture_bow
from pourwright.errors import InputError

BOARD = Layer("MDF", "core", 0.018, 3e9, 750, 0.25, swell=0.05)
SOFT = Layer("film", "coat", 1e-5, 1e5, 1120)  # a seal that does not hold anything


def _series(fo: np.ndarray) -> np.ndarray:
    """kappa t/(beta dM) of a sheet wetted through one face, from Crank's profile."""
    n = np.arange(200)
    lam = (2 * n + 1) * np.pi / 2
    return -12 * np.sum(
        np.exp(-(lam**2) * fo[:, None]) * (1 / lam**2 - 2 * (-1.0) ** n / lam**3), axis=1
    )


def test_sealed_face_follows_the_series(monkeypatch: pytest.MonkeyPatch) -> None:
    # moment of Crank's profile over the thickness, without the still air at the open face; 80
    # cells through the board leave under 0.2 % of the peak
    monkeypatch.setattr(moisture, "STILL_AIR", 1e-9)
    state = moisture_bow(
        [SOFT, BOARD], 1.2, 0.25, 0.14, 20.0, 2339.0, 1e9, 0.0, duration=40 * 86400.0, cells=80
    )
    d = 2e-10 / 20 * 2339.0 / (750 * 0.14)
    fo = d * state.time / 0.018**2
    expected = _series(fo) * 0.05 * 0.25 * 0.14 / 0.018 * 1.2**2 / 8
    top = float(np.abs(expected).max())
    np.testing.assert_allclose(state.bow, expected, atol=0.002 * top)
    assert float(state.peak) == pytest.approx(top, rel=0.002)


def test_equal_seals_leave_nothing() -> None:
    state = moisture_bow([SOFT, BOARD], 1.2, 0.25, 0.14, 20.0, 2339.0, 5.0, 5.0)
    assert abs(float(state.peak)) < 1e-6


@given(face=st.floats(0.5, 50), back=st.floats(0.0, 50), step=st.floats(0.02, 0.4))
@settings(deadline=None, max_examples=30)
def test_turning_the_step_turns_the_bow(face: float, back: float, step: float) -> None:
    up = moisture_bow([SOFT, BOARD], 1.0, step, 0.14, 20.0, 2339.0, face, back)
    down = moisture_bow([SOFT, BOARD], 1.0, -step, 0.14, 20.0, 2339.0, face, back)
    np.testing.assert_allclose(up.bow, -down.bow, atol=1e-12)
    # the tighter face lags: when the air gets damper the board bows away from its open side
    assert float(up.peak) * (face - back) >= -1e-12


def test_the_back_seal_it_asks_for_is_enough() -> None:
    film = Layer("film", "coat", 1e-3, 2e8, 1120)
    args = (0.2, 0.14, 20.0, 2339.0)
    need = back_seal_needed([film, BOARD], 1.2, 0.004, *args, face_sd=30.0)
    assert need is not None and 0 < need < 30
    assert abs(float(moisture_bow([film, BOARD], 1.2, *args, 30.0, need).peak)) <= 0.004 * 1.001
    bare = abs(float(moisture_bow([film, BOARD], 1.2, *args, 30.0, 0.0).peak))
    assert bare > 0.004
    assert back_seal_needed([film, BOARD], 1.2, 0.05, *args, face_sd=30.0) == 0.0


def test_mean_moisture_ends_at_the_new_equilibrium() -> None:
    state = moisture_bow(
        [SOFT, BOARD], 1.0, 0.2, 0.14, 20.0, 2339.0, 0.0, 0.0, duration=400 * 86400.0
    )
    assert float(state.mean_change[-1]) == pytest.approx(0.2 * 0.14, rel=1e-6)


def test_bad_input() -> None:
    with pytest.raises(InputError):
        moisture_bow([SOFT], 1.0, 0.2, 0.14, 20.0, 2339.0, 1.0, 0.0)
    with pytest.raises(InputError):
        moisture_bow([BOARD], 1.0, 0.2, 0.14, -1.0, 2339.0, 1.0, 0.0)
    with pytest.raises(InputError):
        moisture_bow([BOARD], 1.0, 0.2, 0.14, 20.0, 2339.0, 1.0, 0.0, duration=0.0)
