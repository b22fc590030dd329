"""Doses add up, round to what can be weighed, and say when to thin a paste."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.colour import Recipe, demo_recipe, dose_recipe, load_state, scaled_recipe
from pourwright.errors import InputError

SMALL = settings(deadline=None, max_examples=15)


@SMALL
@given(st.floats(0.05, 20), st.sampled_from([1e-6, 1e-5, 1e-4, 1e-3]))
def test_grams_are_steps_of_the_scale(resin, step) -> None:
    r = demo_recipe("sea-green")
    sheet = dose_recipe(r, resin, step=step)
    for d in sheet.doses:
        assert d.exact == pytest.approx(r.doses[d.colorant] * resin)
        assert abs(d.weigh / step - round(d.weigh / step)) < 1e-6
        assert abs(d.rounded - d.exact) <= 0.5000001 * step / 10**d.dilutions
        assert d.rounded + d.resin_brought == pytest.approx(d.weigh)
        # ten steps at least on the scale, unless even 1:100 is too strong
        assert d.dilutions == 2 or d.exact * 10**d.dilutions >= 10 * step
    assert sheet.load == pytest.approx(sum(d.rounded for d in sheet.doses) / resin)


def test_small_batches_need_pre_dilution_and_large_do_not() -> None:
    r = demo_recipe("chalk-white")
    small, large = dose_recipe(r, 0.3), dose_recipe(r, 30.0)
    assert any(d.dilutions > 0 for d in small.doses)
    assert not any(d.dilutions > 0 for d in large.doses)
    thin = next(d for d in small.doses if d.dilutions)
    assert "pre-dilution" in thin.advice
    assert thin.resin_brought > 0


def test_a_coarse_scale_costs_colour() -> None:
    r = demo_recipe("slate")
    fine, coarse = dose_recipe(r, 0.37), dose_recipe(r, 0.37, step=1e-3)
    assert fine.rounding_de00 < 0.5
    assert coarse.rounding_de00 > fine.rounding_de00


def test_dose_errors_widen_with_drops() -> None:
    r = demo_recipe("sea-green")
    weighed = dose_recipe(r, 1.0)
    counted = dose_recipe(r, 1.0, by_drops=True)
    assert weighed.error_de00[0] < weighed.error_de00[1] < weighed.error_de00[2]
    assert counted.error_de00[1] > 2 * weighed.error_de00[1]
    # 5 % of random error in each paste: some 0.7 dE00 in own simulations of six pigments
    assert 0.2 < weighed.error_de00[1] < 1.5


def test_drops_are_whole_and_few_drops_are_weighed_thinned() -> None:
    r = Recipe("t", "T", {"white-rutile": 0.02, "black-carbon": 0.0001})
    sheet = dose_recipe(r, 0.5, by_drops=True)
    white, black = sheet.doses
    assert white.drops == round(0.01 / 5.5e-5)
    assert white.rounded == pytest.approx(white.drops * 5.5e-5)
    assert black.dilutions >= 1


def test_same_seed_same_sheet() -> None:
    r = demo_recipe("warm-sand")
    assert dose_recipe(r, 1.0, seed=3) == dose_recipe(r, 1.0, seed=3)
    assert dose_recipe(r, 1.0, seed=3).error_de00 != dose_recipe(r, 1.0, seed=4).error_de00


def test_flakes_can_be_dosed() -> None:
    sheet = dose_recipe(demo_recipe("copper"), 0.2)
    assert sheet.doses[0].colorant == "copper-flake"
    assert sheet.error_de00[2] > 0
    assert any("dust" in c for c in sheet.cautions)


@pytest.mark.parametrize(
    "load, state",
    [(0.01, "fine"), (0.03, "fine"), (0.0301, "warn"), (0.06, "warn"), (0.061, "stop")],
)
def test_load_limits(load, state) -> None:
    assert load_state(load)[0] == state


def test_the_products_sheet_overrides_the_limits() -> None:
    assert load_state(0.08, {"warn": 0.05, "stop": 0.1})[0] == "warn"
    assert load_state(0.02, {"warn": 0.005, "stop": 0.01})[0] == "stop"
    assert dose_recipe(scaled_recipe(demo_recipe("ivory"), 3), 1.0).load_state == "stop"


@pytest.mark.parametrize("kw", [{"resin": 0}, {"resin": 1e4}, {"step": 0}, {"drop": 1.0}])
def test_bad_batches(kw) -> None:
    args = {"resin": 1.0, **kw}
    with pytest.raises(InputError):
        dose_recipe(demo_recipe("ivory"), args.pop("resin"), **args)


def test_bad_doses() -> None:
    with pytest.raises(InputError, match="1000 g"):
        Recipe("t", "T", {"ochre": -0.1})
    with pytest.raises(InputError, match="not in the catalogue"):
        Recipe("t", "T", {"mud": 0.1})
