"""Sentences of the plan in the job's units, and results of the bench as pictures and in US units."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import get, names, run
from pourwright.quantities import read
from pourwright.web.pages import bench_answer, bench_form, bench_picture
from pourwright.web.pages.sentences import sentence, sentences
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words

EN, US = Show("metric", Words("en")), Show("us", Words("en"))


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("at least 15 degC", "at least 59 °F"),
        ("13 to 19 degC in a room", "55.4 °F to 66.2 °F in a room"),
        ("at least 3 K over the whole soft time", "at least 5.4 °F over the whole soft time"),
        ("2100 x 600 mm", "6 ft 10 11/16 in x 23 5/8 in"),
        ("slate 470 mL, clear 1748 mL", "slate 15.9 fl oz, clear 59.1 fl oz"),
        ("−5 degC", "23 °F"),
        ("0.49 g of a paste", "0.49 g of a paste"),
        ("stir 2 minutes, 4 times", "stir 2 minutes, 4 times"),
        ("7.0 mm per metre", "7.0 mm per metre"),
        ("100 mL/m and 2 mm/m", "100 mL/m and 2 mm/m"),
        ("cups 1A and 1B", "cups 1A and 1B"),
        ("day 4 m", "day 4 m".replace("4 m", "13 ft 1 1/2 in")),
    ],
)
def test_a_sentence_changes_its_quantities_and_nothing_else(metric, us):
    assert sentence(metric, US) == us
    assert "degC" not in sentence(metric, EN)


@settings(deadline=None, max_examples=80)
@given(st.floats(-40, 200, allow_nan=False))
def test_a_temperature_in_a_sentence_stays_the_same_temperature(degc):
    text = f"{degc:.1f}"
    found = re.fullmatch(r"at most ([−-]?[\d.]+) °F", sentence(f"at most {text} degC", US))
    assert found
    back = (float(found[1].replace("−", "-")) - 32) / 1.8
    assert math.isclose(back, float(text), abs_tol=0.06)


def test_keys_names_and_units_of_plan_data_are_left_alone():
    plan = {"unit": "15 degC", "name": "top 600 mm", "say": "at 15 degC", "n": 3, "x": [None, True]}
    out = sentences(plan, US)
    assert out == {
        "unit": "15 degC",
        "name": "top 600 mm",
        "say": "at 59 °F",
        "n": 3,
        "x": [None, True],
    }


@pytest.mark.parametrize("name", names())
def test_every_example_reads_back_from_its_us_form_as_nearly_the_same(name):
    """A US form sent as it stands means the example: five figures, within 1 part in 10 000."""
    calc = get(name)
    texts = bench_form.texts_of(calc, calc.example, US)
    fields = {f["key"]: f for f in bench_form.fields_of(calc, texts, US)}
    data = bench_form.data_from(calc, texts, US)
    metric = bench_form.data_from(calc, bench_form.texts_of(calc, calc.example), EN)
    for key, value in metric.items():
        if isinstance(value, float | int) and not isinstance(value, bool):
            unit = bench_form.suffix_unit(key)
            if unit in bench_form.US:
                us = bench_form.US[unit][0]
                assert fields[key]["unit"] == {"degF": "°F", "ft2": "ft²"}.get(us, us)
                dimension = {"degC": "temperature", "kg": "mass", "g": "mass", "mL": "volume",
                             "L": "volume", "m2": "area"}.get(unit, "length")  # fmt: skip
                metric_si = read(f"{value!r} {unit}", dimension)
                given = data[key] if isinstance(data[key], str) else f"{data[key]!r} {unit}"
                assert read(given, dimension) == pytest.approx(metric_si, rel=1e-4, abs=1e-9)
            else:
                assert data[key] == value
    run(name, data)


@pytest.mark.parametrize("name", names())
def test_pictures_of_every_result_lie_inside_their_frames(name):
    calc = get(name)
    result = run(name, calc.example)
    for show in (EN, US):
        for p in bench_picture.pictures_of(result.value.model_dump(mode="json"), show):
            if p["sort"] == "curve":
                points = [tuple(map(float, q.split(","))) for q in p["line"].split()]
                assert len(points) >= 4
                assert all(53.9 <= x <= 548.1 and 9.9 <= y <= 122.1 for x, y in points)
                assert 2 <= len(p["ups"]) <= 7 and 2 <= len(p["acrosses"]) <= 9 and p["alt"]
            elif p["sort"] == "spans":
                assert p["rows"] and all(199.9 <= x and x + w <= 542.1 for _, x, w, _ in p["rows"])
            elif p["sort"] == "bars":
                assert max(w for _, w, *_ in p["rows"]) == pytest.approx(260, abs=0.1)
        lines, _ = bench_answer.answers_of(calc, result, show)
        assert lines or result.value.model_dump()
        for line in lines:
            if line["bar"]:
                assert 0 <= line["bar"]["low"] <= line["bar"]["mid"] <= 112.1


def test_what_should_be_drawn_is_drawn():
    for name, sorts in (("cure.cup", ["curve", "curve"]), ("cure.windows", ["spans"]),
                        ("endure.weight", ["bars"]), ("colour.film", ["curve", "swatches"])):  # fmt: skip
        value = run(name, get(name).example).value.model_dump(mode="json")
        assert [p["sort"] for p in bench_picture.pictures_of(value, EN)] == sorts
    cup = run("cure.cup", get("cure.cup").example).value.model_dump(mode="json")
    us = bench_picture.pictures_of(cup, US)[0]
    assert us["unit"] == "°F"


@pytest.mark.parametrize(
    ("low", "high"), [(0, 1), (13.2, 19.4), (-5, 30), (0, 0.003), (200, 90000)]
)
def test_ticks_are_round_few_and_inside(low, high):
    found = bench_picture.ticks(low, high, 5)
    assert 1 <= len(found) <= 6 and low - 1e-9 <= found[0] and found[-1] <= high + 1e-9
