"""The air's calculations through the registry: examples, ranges, one-line errors."""

from __future__ import annotations

import time

import pytest

from pourwright.calc import get, run
from pourwright.errors import InputError

NAMES = ("air.dew_point", "air.blush", "air.wood_moisture", "air.vapour")


@pytest.mark.parametrize("name", NAMES)
def test_examples_run_with_sources_cautions_and_a_range(name: str) -> None:
    result = run(name, get(name).example)
    assert result.sources and result.cautions and result.range
    fields = result.value.model_dump()
    for key, spread in result.range.items():
        assert key in fields
        assert spread.p05 <= spread.p50 <= spread.p95
    assert fields["checks"]
    # the same seed gives the same answer
    assert run(name, get(name).example) == result


@pytest.mark.parametrize(
    ("name", "data", "field"),
    [
        ("air.dew_point", {"air_degC": 20, "humidity_percent": 120}, "humidity"),
        ("air.dew_point", {"air_degC": [20, 21], "humidity_percent": 50}, "time_h"),
        ("air.dew_point", {"air_degC": 900, "humidity_percent": 50}, "air"),
        ("air.blush", {"air_degC": 20, "humidity_percent": -3}, "humidity"),
        ("air.wood_moisture", {"thickness_mm": -18}, "thickness_mm"),
        ("air.wood_moisture", {"work_humidity_percent": 130}, "work_humidity_percent"),
        ("air.vapour", {"wet_volume_mL": 200, "solvent_g_L": 400, "room_m3": 0}, "room_m3"),
        (
            "air.vapour",
            {"wet_volume_mL": 200, "solvent_g_L": 400, "room_m3": 12,
             "solvents": [{"agent": "moon dust", "share_percent": 50}]},
            "solvents[0].agent",
        ),
        (
            "air.vapour",
            {"wet_volume_mL": 200, "solvent_g_L": 400, "room_m3": 12,
             "solvents": [{"agent": "wood-dust", "share_percent": 50}]},
            "solvents[0].agent",
        ),
        (
            "air.vapour",
            {"wet_volume_mL": 200, "solvent_g_L": 400, "room_m3": 12,
             "limit_mg_m3": {"butyl-acetate": -1}},
            "limit_mg_m3.butyl-acetate",
        ),
    ],
)  # fmt: skip
def test_bad_input_is_one_line(name: str, data: dict, field: str) -> None:
    with pytest.raises(InputError) as err:
        run(name, data)
    assert err.value.field == field
    assert "\n" not in err.value.line()


def test_own_limit_changes_the_answer() -> None:
    base = {"wet_volume_mL": 200, "solvent_g_L": 400, "room_m3": 12}
    loose = run("air.vapour", base).value
    tight = run("air.vapour", {**base, "limit_mg_m3": {"butyl-acetate": 50}}).value
    assert tight.shift_of_limit_percent > 5 * loose.shift_of_limit_percent
    assert tight.peak_of_flammable_percent == loose.peak_of_flammable_percent


def test_shut_cabin_never_airs() -> None:
    result = run(
        "air.vapour",
        {"wet_volume_mL": 200, "solvent_g_L": 400, "room_m3": 12, "air_changes_per_h": 0},
    )
    assert result.value.airing_h is None
    assert any("shut room" in w for w in result.warnings)
    assert "nan" not in result.value.torch and "inf" not in result.value.torch
    result.model_dump_json()


def test_galley_evening_keeps_its_margin_but_is_too_cold() -> None:
    result = run("air.dew_point", get("air.dew_point").example)
    assert result.value.passed == "yes"
    assert result.value.worst_at_h == pytest.approx(12.0)
    cold = next(c for c in result.value.checks if c.name == "air.window.cold")
    assert cold.passed == "no"


def test_answers_come_quickly_enough_to_type_against() -> None:
    # no timing is asserted beyond "does not hang": a minute would be a fault
    start = time.monotonic()
    for name in NAMES:
        run(name, get(name).example)
    assert time.monotonic() - start < 60
