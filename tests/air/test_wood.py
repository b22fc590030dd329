"""Board moisture: inverse, monotony, conditioning, bad input."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.air.checks import board_moisture_check
from pourwright.air.wood import (
    board_moisture,
    conditioned_share,
    conditioning_time,
    humidity_of_moisture,
    moisture_diffusivity,
)
from pourwright.errors import InputError


@given(t=st.floats(270, 320), h=st.floats(0.05, 0.97), f=st.floats(0.6, 1.0))
@settings(deadline=None, max_examples=50)
def test_meter_reading_back_to_humidity(t: float, h: float, f: float) -> None:
    m = float(board_moisture(t, h, f))
    assert humidity_of_moisture(t, m, f) == pytest.approx(h, abs=1e-6)


@given(fo=st.floats(1e-5, 3.0))
@settings(deadline=None, max_examples=60)
def test_share_rises_from_zero_to_one(fo: float) -> None:
    now, later = (float(conditioned_share(x, 2.0, 1.0)) for x in (fo, 1.05 * fo))
    assert 0.0 < now <= later <= 1.0


@given(share=st.floats(0.02, 0.99), thick=st.floats(0.003, 0.05))
@settings(deadline=None, max_examples=40)
def test_time_and_share_are_inverse(share: float, thick: float) -> None:
    t = float(conditioning_time(share, thick, 2e-10))
    assert float(conditioned_share(t, thick, 2e-10)) == pytest.approx(share, abs=1.5e-3)


def test_one_open_face_takes_four_times_as_long() -> None:
    ratio = conditioning_time(0.9, 0.018, 2e-10, 1) / conditioning_time(0.9, 0.018, 2e-10, 2)
    assert float(ratio) == pytest.approx(4.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: humidity_of_moisture(293.15, 0.9),
        lambda: humidity_of_moisture(293.15, -0.1),
        lambda: conditioning_time(1.2, 0.018, 1e-10),
        lambda: conditioning_time(0.9, -0.018, 1e-10),
        lambda: conditioned_share(1.0, 0.018, 0.0),
        lambda: conditioned_share(1.0, 0.018, 1e-10, faces=3),
        lambda: moisture_diffusivity(0.0, 750.0, 293.15, 0.5),
        lambda: board_moisture(293.15, 1.3),
    ],
)
def test_bad_input(call) -> None:
    with pytest.raises(InputError):
        call()


def test_board_checks() -> None:
    wet, match = board_moisture_check(np.full(50, 0.15), np.full(50, 0.10))
    assert wet.passed == "no" and match.passed == "no"
    dry, near = board_moisture_check(0.08, 0.09)
    assert dry.passed == "yes" and near.passed == "yes"


class TestWaitingTime:
    @settings(deadline=None, max_examples=60)
    @given(
        now=st.floats(0.04, 0.16),
        aim=st.floats(0.05, 0.12),
        ends=st.floats(0.04, 0.14),
        mm=st.floats(6, 30),
    )
    def test_after_the_wait_it_is_just_near_enough(
        self, now: float, aim: float, ends: float, mm: float
    ) -> None:
        from pourwright.air import waiting_time

        d = 2e-10
        t = float(waiting_time(now, aim, ends, 0.02, mm / 1000, d))
        if abs(now - aim) <= 0.02:
            assert t == 0.0
            return
        side = 1.0 if now > aim else -1.0
        if not np.isfinite(t):
            # the air leads away, or stops short of the edge (within a thousandth of the way)
            assert side * (ends - aim) >= 0.02 - 0.002 * abs(now - ends) - 1e-9
            return
        share = float(conditioned_share(t, mm / 1000, d))
        then = now + share * (ends - now)
        # the closed forms are good to 0.0015 of the way; the first hundredth is rounded up
        assert side * (then - aim) == pytest.approx(0.02, abs=0.011 * abs(ends - now) + 1e-9)

    def test_thick_boards_wait_with_the_square(self) -> None:
        from pourwright.air import waiting_time

        one, two = (float(waiting_time(0.14, 0.08, 0.07, 0.02, t, 2e-10)) for t in (0.01, 0.02))
        assert two == pytest.approx(4 * one, rel=1e-12)

    def test_nearness_of_nothing_is_refused(self) -> None:
        from pourwright.air import waiting_time

        with pytest.raises(InputError, match="within"):
            waiting_time(0.12, 0.08, 0.08, 0.0, 0.018, 2e-10)
