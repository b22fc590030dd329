"""Nose load of a trailer: limits both ways, and remedies that mend what they name."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc.registry import run
from pourwright.endure import axle_checks, axle_room, nose_checks

LEVER = 4.0


@settings(deadline=None, max_examples=60)
@given(now=st.floats(20, 150), change=st.floats(-60, 80), whole=st.floats(600, 2000))
def test_verdicts_follow_the_numbers_and_remedies_mend_them(
    now: float, change: float, whole: float
) -> None:
    nose = axle_room("nose", now, change, max(now, 100.0))
    most, least = nose_checks(nose, whole, 0.04, LEVER)
    after = now + change
    assert (most.passed == "yes") == (after <= nose.plate * (1 + 1e-12))
    assert (least.passed == "yes") == (after >= 0.04 * whole * (1 - 1e-12))
    for check, limit, sign in ((most, nose.plate, -1.0), (least, 0.04 * whole, 1.0)):
        if check.passed == "no":
            moved = float(re.findall(r"(\d+) kg one metre", check.remedies[0])[0])
            # said to a whole kilogram, one metre along a lever of 4 m
            assert after + sign * moved / LEVER == pytest.approx(limit, abs=0.51 / LEVER)


def test_samples_give_unsure() -> None:
    change = np.linspace(10, 40, 200)
    room = axle_room("nose", 70.0, change, 100.0)
    most = nose_checks(room, 1200.0 + change, 0.04, LEVER)[0]
    assert most.passed == "unsure" and most.spread is not None and most.remedies
    axle = axle_checks([axle_room("axle", 1100.0, change, 1125.0)], LEVER)[0]
    assert axle.passed == "unsure" and len(axle.remedies) == 2


def test_calc_counts_the_nose_in_the_whole_trailer() -> None:
    value = run(
        "endure.axle",
        {"loads": [{"mass_kg": 50, "along_m": -1.0}], "wheelbase_m": 4.0, "trailer": True,
         "front_now_kg": 55, "rear_now_kg": 1100, "front_plate_kg": 100, "rear_plate_kg": 1250,
         "total_plate_kg": 1250, "tow_limit_kg": 1200},
    ).value  # fmt: skip
    assert value.total_spare_kg == pytest.approx(1250 - 1205)
    by_name = {c.name: c for c in value.checks}
    assert by_name["endure.nose.least"].passed == "no"  # 42.5 of 48.2 kg
    assert by_name["endure.tow"].passed == "no"
    assert value.passed == "no"
