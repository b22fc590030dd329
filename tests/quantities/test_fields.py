"""Quantities in models: text or suffixed keys in, SI inside, exact text out."""

from __future__ import annotations

import json
import math
from decimal import Decimal
from typing import Annotated, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import Field

from pourwright.calc.registry import validate
from pourwright.errors import InputError
from pourwright.quantities.fields import (
    Amount,
    Angle,
    Coverage,
    Length,
    Mix,
    Money,
    PriceRate,
    QuantityModel,
    Share,
    Temperature,
    TemperatureDifference,
    Viscosity,
    above,
    between,
    si,
)


class Edge(QuantityModel):
    drop: Length = 0.04
    kind: str = "free"


class Top(QuantityModel):
    depth: Annotated[Length, above("length", "0 mm")]
    core: Annotated[Length, between("length", "5 mm", "80 mm")] = 0.018
    width: Annotated[Length, Field(gt=0)] | None = None
    levels: list[Length] = Field(default_factory=list)
    marks: dict[str, Length] = Field(default_factory=dict)
    spots: list[tuple[Length, Length]] = Field(default_factory=list)
    air: Temperature | None = None
    margin: TemperatureDifference = 3.0
    film: Coverage | None = None
    share: Share = 0.5
    thick: Viscosity | None = None
    fall: Angle = 0.0
    edges: list[Edge] = Field(default_factory=list)
    price: Money | None = None
    hourly: Amount | None = None
    mix: Mix | None = None
    labour: PriceRate | None = None


def test_text_and_suffixed_keys_mean_the_same() -> None:
    by_text = Top.model_validate(
        {"depth": "24 1/8 in", "air": "68 degF", "levels": ["1 mm", "2 mm"]}
    )
    by_key = Top.model_validate({"depth_in": 24.125, "air_degF": 68, "levels_mm": [1, 2]})
    assert by_text == by_key
    assert by_text.depth == 0.612775
    assert by_text.air == 293.15


def test_every_kind_of_field() -> None:
    top = validate(
        Top,
        {
            "depth_mm": 610,
            "width": "2' 3 1/2\"",
            "marks_mm": {"sink": 610.5},
            "spots_mm": [[1, 2], [3, 4]],
            "margin": "5 degF",
            "film": "3 fl oz/ft2",
            "share": "35 %",
            "thick_cP": 900,
            "fall_deg": 0.4,
            "edges": [{"drop_mm": 40}, {}],
            "price": "EUR 12.50",
            "hourly": 45.5,
            "mix": "100:43 by mass",
            "labour": "EUR 45/h",
        },
    )
    assert top.margin == pytest.approx(2.7777777777777777, abs=1e-15)
    assert top.film == pytest.approx(0.00095498046875, rel=1e-15)
    assert top.thick == 0.9
    assert top.spots == [(0.001, 0.002), (0.003, 0.004)]
    assert top.fall == pytest.approx(math.radians(0.4))
    assert top.hourly == Decimal("45.5")
    assert top.price is not None and top.price.amount == Decimal("12.50")
    again = validate(Top, json.loads(json.dumps(top.to_document())))
    assert again == top


@pytest.mark.parametrize(
    ("data", "field", "says"),
    [
        ({"depth": 610}, "job.depth", "'depth_mm'"),
        ({"depth": 610}, "job.depth", "'610 mm'"),
        ({"depth": "610"}, "job.depth", "unit is missing"),
        ({"depth": "610 kg"}, "job.depth", "unit of mass"),
        ({"depth_kg": 3}, "job.depth_kg", "no unit for the length"),
        ({"depth_mm": "x"}, "job.depth", "not a plain finite number"),
        ({"depth_mm": True}, "job.depth_mm", "not a number"),
        ({"depth_mm": math.nan}, "job.depth_mm", "not finite"),
        ({"depth_mm": math.inf}, "job.depth_mm", "not finite"),
        ({"depth_mm": 10**400}, "job.depth_mm", "from -10000 m"),
        ({"depth": "1 m", "depth_mm": 3}, "job.depth_mm", "twice"),
        ({"depth_cm": 1, "depth_mm": 3}, "job.depth_mm", "twice"),
        ({"depth": "0 mm"}, "job.depth", "more than 0 mm"),
        ({"depth": "1 m", "core": "4 mm"}, "job.core", "from 5 mm to 80 mm"),
        ({"depth": "1 m", "edges": [{}, {"drop": 40}]}, "job.edges[1].drop", "'drop_mm'"),
        ({"depth": "1 m", "edges": [{"drp": 40}]}, "job.edges[0].drp", "'drop'"),
        ({"depth": "1 m", "levels": ["1 mm", 2]}, "job.levels[1]", "plain number"),
        ({"depth": "1 m", "levels_mm": [1, None, "z"]}, "job.levels[1]", "text with its unit"),
        ({"depth": "1 m", "share": 35}, "job.share", "35 %"),
        ({"depth": "1 m", "price": 35}, "job.price", "EUR 12.50"),
        ({"depth": "1 m", "hourly": "lots"}, "job.hourly", "plain decimal"),
        ({"depth": "1 m", "labour": "EUR 45"}, "job.labour", "EUR 38.00/L"),
        ({"depth": "1 m", "mix": "2"}, "job.mix", "2:1"),
        ({"depth": "1 m", "air": 20}, "job.air", "'air_degC'"),
        ({"depth": None}, "job.depth", "text with its unit"),
        ({}, "job.depth", "needed and missing"),
        ({"depth": "1 m", "film_g_m2": 120}, "job.film_g_m2", "no unit for the coverage"),
        ({"depth": SystemExit}, "job.depth", "text with its unit"),
    ],
)
def test_errors_name_the_path_and_the_remedy(data: dict[str, Any], field: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        validate(Top, data, "job")
    assert caught.value.field == field
    assert says in f"{caught.value.limit}. {caught.value.remedy}"


def test_code_may_give_si_floats_marked_so() -> None:
    assert Top(depth=si(0.61)).depth == 0.61
    with pytest.raises(ValueError, match="plain number"):
        Top(depth=0.61)


def test_locale_comes_with_the_context() -> None:
    top = Top.model_validate({"depth": "612,5 mm"}, context={"locale": "de"})
    assert top.depth == 0.6125
    with pytest.raises(ValueError, match="comma"):
        Top.model_validate({"depth": "612,5 mm"})


def test_schema_says_text() -> None:
    schema = Top.model_json_schema()
    assert schema["properties"]["core"]["type"] == "string"
    assert "length" in schema["properties"]["core"]["description"]


@settings(deadline=None, max_examples=100)
@given(
    st.floats(1e-9, 9e3),
    st.lists(st.floats(-1e3, 1e3, allow_nan=False).filter(lambda v: abs(v) > 1e-200 or v == 0)),
    st.floats(1.0, 1999.0),
    st.floats(0.0, 1.0).filter(lambda v: v > 1e-200 or v == 0),
    st.floats(-6.0, 6.0).filter(lambda v: abs(v) > 1e-200 or v == 0),
)
def test_documents_read_back_identically(
    depth: float, levels: list[float], air: float, share: float, fall: float
) -> None:
    top = Top(
        depth=si(depth), levels=[si(v) for v in levels], air=si(air), share=share, fall=si(fall)
    )
    again = Top.model_validate(json.loads(top.model_dump_json()))
    assert again == top
