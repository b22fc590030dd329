"""Every registered calculation keeps the contract of DESIGN.md 4."""

from __future__ import annotations

import json
import re

import pytest

from pourwright import calc
from pourwright.calc.registry import validate
from pourwright.calc.sources import MARKS
from pourwright.errors import InputError
from pourwright.quantities.suffix import suffix_unit

NAMES = calc.names()


@pytest.mark.parametrize("name", NAMES)
class TestContract:
    def test_example_runs_and_is_plain_json(self, name: str) -> None:
        one = calc.get(name)
        result = calc.run(name, one.example)
        text = json.dumps(result.model_dump(mode="json"), allow_nan=False)
        back = json.loads(text)
        assert set(back) == {"value", "range", "sources", "cautions", "warnings"}
        assert back["value"] and back["sources"]

    def test_same_input_same_answer(self, name: str) -> None:
        one = calc.get(name)
        assert calc.run(name, one.example) == calc.run(name, one.example)

    def test_range_keys_belong_to_values(self, name: str) -> None:
        result = calc.run(name, calc.get(name).example)
        fields = set(type(result.value).model_fields)
        assert {k.split(".")[0].split("[")[0] for k in result.range} <= fields

    def test_numbers_carry_a_unit_or_are_counts(self, name: str) -> None:
        plain = re.compile("share|count|number|seed|ratio|index|factor|sigma|exponent|level|rank")
        one = calc.get(name)
        for model in (one.input_model, one.value_model):
            for key, f in model.model_fields.items():
                if f.annotation is float and suffix_unit(key) is None:
                    described = (f.description or "") + key
                    assert plain.search(key) or "[-]" in described, f"{name}: {key} has no unit"

    def test_says_question_validity_and_marked_sources(self, name: str) -> None:
        one = calc.get(name)
        assert one.question.endswith("?")
        assert len(one.validity) > 10
        assert all(s.mark in MARKS for s in one.sources)
        assert one.schema()["input"]["type"] == "object"

    def test_unknown_key_is_refused_by_name(self, name: str) -> None:
        one = calc.get(name)
        with pytest.raises(InputError) as err:
            calc.run(name, {**one.example, "no_such_key": 1})
        assert err.value.field.endswith("no_such_key")

    @pytest.mark.parametrize("bad", [float("nan"), float("inf"), "9**9**9", "1e400 mm", [], {}])
    def test_hostile_values_are_refused(self, name: str, bad: object) -> None:
        one = calc.get(name)
        for key, f in one.input_model.model_fields.items():
            if f.annotation is float:
                with pytest.raises(InputError) as err:
                    validate(one.input_model, {**one.example, key: bad})
                assert "\n" not in err.value.line()


def test_the_published_names_are_there() -> None:
    """DESIGN.md 4 publishes these names; taking one away needs a decision note."""
    published = """quantity.coverage mix.batch mix.sets cure.isothermal cure.cup cure.layer cure.fit
    cure.ratio cure.flow_left cure.windows cure.match_board film.level film.edge film.upright
    film.puddle film.vein colour.film colour.hiding colour.match colour.difference colour.photo
    panel.cut endure.bow endure.heat endure.span endure.twist endure.moisture endure.weight
    endure.axle endure.heel air.dew_point air.wood_moisture air.vapour""".split()
    assert not set(published) - set(NAMES)
