"""The calculations `survey.areas` and `survey.levels` through the registry."""

from __future__ import annotations

import json
import math

import pytest

from pourwright.calc import get, run
from pourwright.errors import InputError


@pytest.mark.parametrize("name", ["survey.areas", "survey.levels"])
def test_example_runs_and_is_json(name):
    calc = get(name)
    result = run(name, calc.example)
    json.dumps(result.model_dump(mode="json"))
    assert result.sources
    json.dumps(calc.schema())


def test_areas_of_the_example_table():
    value = run("survey.areas", get("survey.areas").example).value
    row = value.surfaces[0]
    assert row.gross_m2 == pytest.approx(0.54 - (4 - math.pi) * 0.06**2)
    assert row.free_run_m == pytest.approx(row.perimeter_m)
    assert value.poured_m2 == pytest.approx(row.flat_m2 + row.strip_m2)


def test_bad_corner_is_named():
    corners = [["0 m", "0 m"], ["1 m", "0 m"], ["0 m", "1 m"], ["1 m", "1 m"]]
    bad = {"name": "leg-a", "outline": corners}
    with pytest.raises(InputError) as caught:
        run("survey.areas", {"surfaces": [bad]})
    assert "corner 2 of surface leg-a" in caught.value.line()


def test_plain_numbers_are_refused_and_suffixed_ones_read():
    with pytest.raises(InputError):
        run("survey.areas", {"surfaces": [{"name": "a", "size": [600, 300]}]})
    value = run("survey.areas", {"surfaces": [{"name": "a", "size_mm": [600, 300]}]}).value
    assert value.face_m2 == pytest.approx(0.18)


def test_drawing_on_request():
    one = {"surfaces": [{"name": "a", "size": ["1 m", "1 m"]}], "drawing": True}
    assert run("survey.areas", one).value.drawing_svg.startswith("<svg")


def test_levels_need_readings_and_tell_double_tilt():
    with pytest.raises(InputError, match="readings are needed"):
        run("survey.levels", {"surface": {"name": "a", "size": ["1 m", "1 m"]}})
    example = json.loads(json.dumps(get("survey.levels").example))
    example["surface"]["levels"]["against"] = "true"
    result = run("survey.levels", example)
    assert any("already" in w for w in result.warnings)
    site = run("survey.levels", get("survey.levels").example)
    assert site.value.tilt_deg > result.value.tilt_deg
    assert site.range["tilt_deg"].p05 <= site.value.tilt_deg <= site.range["tilt_deg"].p95
