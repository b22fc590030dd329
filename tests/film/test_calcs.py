"""The registered film calculations: examples, ranges, warnings, cautions."""

from __future__ import annotations

import pytest

from pourwright.calc import get, run
from pourwright.errors import InputError

NAMES = (
    "film.level",
    "film.vein",
    "film.puddle",
    "film.bubble",
    "film.tilt",
    "film.edge",
    "film.upright",
)


@pytest.mark.parametrize("name", NAMES)
def test_examples_run_and_ranges_hold_the_value(name):
    result = run(name, get(name).example)
    assert result.cautions and result.sources and result.range
    for key, spread in result.range.items():
        value = getattr(result.value, key)
        width = spread.p95 - spread.p05
        assert spread.p05 - 0.5 * width - 1e-9 <= value <= spread.p95 + 0.5 * width + 1e-9, key


@pytest.mark.parametrize("name", NAMES)
def test_same_seed_same_range(name):
    example = get(name).example
    assert run(name, example).range == run(name, example).range


def test_measured_text_is_accepted():
    plain = run("film.puddle", {"contact_angle_deg": 40, "volume_mL": 500})
    text = run("film.puddle", {"contact_angle_deg": 40, "volume": "0.5 L"})
    assert plain.value.area_m2 == pytest.approx(text.value.area_m2)


def test_out_of_range_is_said():
    tall = {"film_mm": 1, "width_mm": 4, "volume_mL_m": 8, "flow_left_per_Pa": 100}
    assert "taller than the film" in run("film.vein", tall).warnings[0]
    sharp = {"film_mm": 3, "radius_mm": 1, "face_mm": 40, "flow_left_per_Pa": 300}
    assert any("bare" in w for w in run("film.edge", sharp).warnings)
    tilt = {"film_mm": 2, "length_m": 3, "tilt_deg": 1, "flow_left_per_Pa": 800}
    assert "half the film" in run("film.tilt", tilt).warnings[0]


def test_flame_and_wet_room_cautions_stand_beside_the_numbers():
    assert any("open flame" in c for c in run("film.edge", get("film.edge").example).cautions)
    assert any("waterproofing" in c for c in get("film.upright").cautions)


def test_more_doubt_about_flow_widens_the_range():
    base = {"film_mm": 3, "wavelength_mm": 400, "flow_left_per_Pa": 200}
    narrow = run("film.level", {**base, "flow_error_percent": 5}).range["height_left_mm"]
    wide = run("film.level", {**base, "flow_error_percent": 100}).range["height_left_mm"]
    assert wide.p95 - wide.p05 > narrow.p95 - narrow.p05


@pytest.mark.parametrize(
    ("name", "data", "field"),
    [
        ("film.level", {"film_mm": 0, "wavelength_mm": 5, "flow_left_per_Pa": 1}, "film_mm"),
        ("film.edge", {"film_mm": 3, "radius_mm": 6, "face_mm": 34}, "flow_left_per_Pa"),
        (
            "film.edge",
            {"film_mm": 3, "radius_mm": 6, "face_mm": 9, "flow_left_per_Pa": 9,
             "wipes_per_Pa": [99]},
            "wipes",
        ),
        ("film.upright", {"film_um": 1, "height_mm": 1, "flow_left_per_Pa": 1, "x": 2}, "x"),
        (
            "film.vein",
            {"film_mm": 3, "width_mm": 4, "volume_mL_m": 1, "flow_left_per_Pa": 9,
             "wanted_width_mm": 2},
            "target",
        ),
    ],
)  # fmt: skip
def test_bad_input_names_its_field(name, data, field):
    with pytest.raises(InputError) as err:
        run(name, data)
    assert field in err.value.field
