"""Results on the Bench in US units and in German: every column has one unit, every label words."""

from __future__ import annotations

import pytest

from pourwright.calc import get, run
from pourwright.web.pages.bench_answer import answers_of, data_of, one, table_of
from pourwright.web.pages.bench_form import fields_of, option, shown_us, texts_of
from pourwright.web.pages.bench_picture import pictures_of
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import words_in

US = Show("us", words_in("en", "us"))
DE = Show("metric", words_in("de"))
EN = Show("metric", words_in("en"))


def test_a_column_is_converted_with_its_head():
    rows = [
        {"name": "a", "length_mm": 25.4, "mass_kg": 1.0},
        {"name": "b", "length_mm": 50.8, "mass_kg": 2},
    ]
    table = table_of(rows, US)
    assert table is not None
    assert table["head"] == ["Name", "Length in", "Mass lb"]
    assert [r[1] for r in table["rows"]] == ["1", "2"]
    assert float(table["rows"][0][2]) == pytest.approx(2.20462, rel=1e-3)
    assert table_of(rows, EN)["head"] == ["Name", "Length mm", "Mass kg"]  # type: ignore[index]


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (20.0, "°C", "68 °F"),
        (10.0, "K", "18 °F"),
        (6.894757293168361, "MPa", "1000 psi"),
        (25.4, "um", "1 mil"),
        (30.0, "min", "30 min"),
        (3, "", "3"),
    ],
)
def test_a_value_is_converted_by_its_unit(value, unit, said):
    assert one(value, unit, US) == said


def test_there_and_back_is_the_same():
    for unit in ("mm", "degC", "kg", "m2", "K", "MPa", "kg/m2", "um"):
        found = shown_us(unit)
        assert found is not None
        _, scale, offset = found
        assert (7.0 - offset) / scale * scale + offset == pytest.approx(7.0)
    assert shown_us("min") is None


def test_an_answer_in_german_has_no_english_labels():
    calc = get("endure.weight")
    result = run("endure.weight", calc.example)
    lines, _ = answers_of(calc, result, DE)
    labels = [x["label"] for x in lines]
    english = [x["label"] for x in answers_of(calc, result, EN)[0]]
    assert len(labels) == len(english) > 3
    assert labels != english
    drawn = pictures_of(data_of(result, DE), DE)
    rows = next(p["rows"] for p in drawn if p["sort"] == "bars")
    assert any(r[0] == "dieser Aufbau" and r[4] for r in rows)


def test_a_sentence_with_values_is_said_again():
    result = run("colour.difference", get("colour.difference").example)
    assert data_of(result, EN)["words"] == result.value.words  # type: ignore[attr-defined]
    assert ": die zweite ist" in data_of(result, DE)["words"]


def test_choices_are_said_and_sent_as_they_are():
    calc = get("endure.heat")
    fields = {f["key"]: f for f in fields_of(calc, texts_of(calc, calc.example), DE)}
    pans = dict(fields["pan"]["options"])
    assert pans["cast iron" if "cast iron" in pans else "cast_iron"] == "Gusseisen"
    assert option("tack_free", EN) == "tack free"
    assert option("tack_free", DE) == "klebfrei"
    assert one(True, "", DE) == one("yes", "", DE) == words_in("de")("bench.yes")
