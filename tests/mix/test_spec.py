"""What a job file says about quantities."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from pourwright.errors import InputError
from pourwright.mix.spec import (
    AmountSpec,
    CupSpec,
    LossSpec,
    MixSpec,
    ResinRatioSpec,
    SetSpec,
    ShadePartSpec,
    StockSpec,
)
from pourwright.mix.volume import Uncertain

TEXTS = {
    "cups": {"vessel": "1.5 L", "largest": "700 g", "scale_step": "0.5 g", "measure_by": "mass"},
    "crew": {"people": 2, "mix_time": "4 min", "pour_rate": "1.2 L/min", "spread_time_s": 120},
    "loss": {"share": "6 %", "per_cup": "4 mL"},
    "risk": "3 %",
    "vein_wait": "20 min",
    "stock": {"a": "300 mL", "b_mass": "200 g"},
}


def test_mix_spec_reads_and_writes():
    spec = MixSpec.model_validate(TEXTS)
    assert MixSpec.model_validate(spec.to_document()) == spec
    crew = spec.crew.build()
    assert crew.spread_rate == pytest.approx(1 / 120)
    assert crew.pour_rate == pytest.approx(1.2e-3 / 60)
    limits = spec.cups.limits(1200.0, 0.9)
    assert limits.largest_cup == pytest.approx(0.7)
    assert spec.cups.limits(1200.0, 0.5).largest_cup == pytest.approx(0.5)
    loss = spec.loss.build(Uncertain.of(9e-6))
    assert (loss.share.low, loss.share.high) == (pytest.approx(0.024), pytest.approx(0.12))
    assert loss.per_cup.value == pytest.approx(4e-6)
    assert LossSpec().build(Uncertain.of(9e-6)).per_cup.value == pytest.approx(9e-6)


def test_defaults_are_a_usable_job():
    spec = MixSpec()
    assert spec.crew.build().people == 1
    assert spec.cups.measuring().step == pytest.approx(1e-3)
    default = LossSpec().build().share
    assert (default.low, default.value, default.high) == pytest.approx((0.02, 0.05, 0.10))


def test_films_take_what_is_said_and_stand_ins_for_the_rest():
    spec = AmountSpec.model_validate({"film": "3 fl oz/ft2"})
    film, edge, off = spec.films(Uncertain.of(0.3e-3), Uncertain.of(50e-6))
    assert film.value == pytest.approx(0.955e-3, rel=1e-3)
    assert (edge.value, off.value) == (0.3e-3, 50e-6)
    told = AmountSpec.model_validate(
        {
            "film": "1 mm",
            "film_range": ["0.8 mm", "1.3 mm"],
            "edge_film": "0.2 mm",
            "run_off": "60 mL/m",
        }
    )
    film, edge, off = told.films(Uncertain.of(9e-3), Uncertain.of(9e-3))
    assert (film.low, film.high) == (pytest.approx(0.8e-3), pytest.approx(1.3e-3))
    assert edge.value == pytest.approx(0.2e-3)
    assert off.value == pytest.approx(60e-6)
    with pytest.raises(InputError, match="lie round the value"):
        AmountSpec.model_validate({"film": "1 mm", "film_range": ["1.2 mm", "1.3 mm"]}).films()


def test_ratio_spec():
    spec = ResinRatioSpec.model_validate(
        {"by_volume": "2:1", "by_mass": "100:43", "density_a": "1.13 kg/L", "density_b_kg_m3": 970}
    )
    assert spec.build().a_per_b_mass == pytest.approx(100 / 43)
    with pytest.raises(ValidationError):
        ResinRatioSpec.model_validate(
            {"by_volume": "100:43 by mass", "density_a": "1 kg/L", "density_b": "1 kg/L"}
        )
    with pytest.raises(InputError):
        ResinRatioSpec.model_validate({"density_a": "1 kg/L", "density_b": "1 kg/L"}).build()


def test_sets_and_stock_by_mass_or_volume():
    ratio = ResinRatioSpec.model_validate(
        {"by_volume": "2:1", "density_a": "1.13 kg/L", "density_b": "0.97 kg/L"}
    ).build()
    by_mass = SetSpec.model_validate(
        {"name": "kit", "a_mass": "1.13 kg", "b_mass": "485 g", "price": "48 EUR"}
    ).build(ratio)
    assert (by_mass.a, by_mass.b) == (pytest.approx(1e-3), pytest.approx(0.5e-3))
    assert by_mass.price == 48.0
    assert StockSpec.model_validate({"b_mass": "97 g"}).build(ratio) == (0.0, pytest.approx(1e-4))
    with pytest.raises(InputError, match="by volume and by mass"):
        SetSpec.model_validate({"name": "k", "a": "1 L", "a_mass": "1 kg"}).build(ratio)


def test_shade_part():
    shade = ShadePartSpec.model_validate(
        {"shade": "sea", "share": "55 %", "pastes": [{"name": "p", "load": "3 %", "limit": "6 %"}]}
    ).build()
    assert shade.share == pytest.approx(0.55)
    assert shade.pigments[0].limit == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("model", "bad"),
    [
        (CupSpec, {"vessel": "2 kg"}),
        (CupSpec, {"measure_by": "feel"}),
        (MixSpec, {"risk": "5 mm"}),
        (MixSpec, {"crew": {"people": 0}}),
        (ShadePartSpec, {"shade": "x", "share": "150 %"}),
        (AmountSpec, {"film": 1.0}),
        (AmountSpec, {"film": "-1 mm"}),
        (LossSpec, {"shares": "5 %"}),
    ],
)
def test_bad_specs(model, bad):
    with pytest.raises((ValidationError, InputError)):
        model.model_validate(bad)
