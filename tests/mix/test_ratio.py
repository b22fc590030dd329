"""Mix ratio, portions, pigment limits, measuring error, spoken amounts."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Draws
from pourwright.errors import InputError
from pourwright.mix import (
    Pigment,
    portion,
    ratio_error,
    resin_ratio,
    round_amounts,
    round_paste,
)

WELL = settings(deadline=None, max_examples=100)
parts = st.floats(0.5, 5)
density = st.floats(800, 1400)


@WELL
@given(v=st.floats(1e-6, 0.05), a=parts, b=parts, da=density, db=density, load=st.floats(0, 0.2))
def test_a_b_and_pigment_make_the_cup(v, a, b, da, db, load):
    ratio = resin_ratio(da, db, by_volume=(a, b))
    p = portion(v, ratio, (Pigment("x", load), Pigment("y", load / 2, density=2000)))
    assert p.volume == pytest.approx(v, rel=1e-12)
    assert p.mass == pytest.approx(p.a_mass + p.b_mass + sum(p.pigments.values()), rel=1e-12)
    assert p.a_volume / p.b_volume == pytest.approx(a / b, rel=1e-12)
    assert p.a_mass == pytest.approx(p.a_volume * da, rel=1e-12)
    assert p.b_mass == pytest.approx(p.b_volume * db, rel=1e-12)
    assert p.pigments["x"] == pytest.approx(load * p.resin_mass, rel=1e-12, abs=1e-18)
    assert p.resin_mass / (p.a_volume + p.b_volume) == pytest.approx(ratio.density, rel=1e-12)


@WELL
@given(a=parts, b=parts, da=density, db=density)
def test_by_mass_and_by_volume_are_inverse(a, b, da, db):
    one = resin_ratio(da, db, by_mass=(a, b))
    two = resin_ratio(da, db, by_volume=(one.a_per_b_volume, 1))
    assert two.a_per_b_mass == pytest.approx(a / b, rel=1e-12)


def test_two_to_one_by_volume_by_hand():
    ratio = resin_ratio(1130, 970, by_volume=(2, 1))
    p = portion(0.3e-3, ratio)
    assert p.a_volume == pytest.approx(0.2e-3)
    assert (p.a_mass, p.b_mass) == (pytest.approx(0.226), pytest.approx(0.097))


def test_statements_that_disagree_are_told_and_mass_counts():
    agree = resin_ratio(1130, 970, by_volume=(2, 1), by_mass=(100, 43))
    assert agree.warnings == ()
    fight = resin_ratio(1130, 970, by_volume=(2, 1), by_mass=(100, 50))
    assert "disagree by 16.5 %" in fight.warnings[0]
    assert fight.a_per_b_mass == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("kwargs", "field"),
    [
        ({"density_a": 1130, "density_b": 970}, "ratio"),
        ({"density_a": 1130, "density_b": 0.97, "by_volume": (2, 1)}, "ratio.density_b"),
        ({"density_a": math.nan, "density_b": 970, "by_volume": (2, 1)}, "ratio.density_a"),
        ({"density_a": 1130, "density_b": 970, "by_volume": (0, 1)}, "ratio.by_volume"),
        ({"density_a": 1130, "density_b": 970, "by_mass": (100, -44)}, "ratio.by_mass"),
        ({"density_a": 1130, "density_b": 970, "by_mass": (100, 4)}, "ratio.by_mass"),
    ],
)
def test_bad_ratios(kwargs, field):
    with pytest.raises(InputError) as caught:
        resin_ratio(**kwargs)
    assert caught.value.field == field


def test_pigment_limit_is_kept():
    ratio = resin_ratio(1130, 970, by_volume=(2, 1))
    portion(1e-3, ratio, (Pigment("white", 0.06, 0.06),))
    with pytest.raises(InputError) as caught:
        portion(1e-3, ratio, (Pigment("white", 0.07, 0.06),))
    assert caught.value.field == "pigment white, load"
    assert "at most 6 %" in caught.value.limit
    with pytest.raises(InputError):
        portion(-1e-3, ratio)


@WELL
@given(
    a=st.floats(20, 2000),
    ratio=st.floats(0.5, 5),
    ea=st.floats(0, 3),
    eb=st.floats(0, 3),
    jug=st.floats(0, 2),
)
def test_ratio_error_bounds_hold_every_sample(a, ratio, ea, eb, jug):
    b = a / ratio
    e = ratio_error(a, b, min(ea, a / 4), min(eb, b / 4), 0.0, min(jug, b / 4), Draws(2, 300))
    slack = 1e-12  # round-off of the two ways to the same bound
    assert e.low - slack <= e.range.p05 <= e.range.p50 <= e.range.p95 <= e.high + slack
    assert e.low <= 0 <= e.high


def test_ratio_error_by_hand():
    e = ratio_error(100, 50, 0.5, 0.5)
    assert e.high == pytest.approx(100.5 / 49.5 / 2 - 1)
    assert e.low == pytest.approx(99.5 / 50.5 / 2 - 1)
    stuck = ratio_error(100, 50, 0, 0, left_in_jug_b=5)
    assert stuck.high == pytest.approx(50 / 45 - 1)
    assert stuck.low == 0
    with pytest.raises(InputError):
        ratio_error(100, 1, 0.1, 2)


@WELL
@given(total=st.floats(40, 3000), ratio=st.floats(0.4, 4), step=st.sampled_from([0.1, 1.0, 2.0]))
def test_rounding_never_falls_short_and_never_beats_itself(total, ratio, step):
    b = total / (1 + ratio)
    a = total - b
    s = round_amounts(a, b, step)
    assert s.a / step == pytest.approx(round(s.a / step), abs=1e-6)
    assert s.b / step == pytest.approx(round(s.b / step), abs=1e-6)
    assert s.a + s.b >= total * (1 - 1e-9)
    assert s.a + s.b <= max(total * 1.02, total + 2 * step) * (1 + 1e-9)
    assert s.off_ratio == pytest.approx(s.a / s.b / (a / b) - 1, abs=1e-12)
    # brute force over every pair of divisions in reach
    top = max(total * 1.02, total + 2 * step)
    best = min(
        max(abs(i * step / (j * step) / (a / b) - 1), 0.005)
        for i in range(max(1, int(a / step) - 40), int(a / step) + 90)
        for j in range(max(1, int(b / step) - 40), int(b / step) + 90)
        if total * (1 - 1e-12) <= (i + j) * step <= top * (1 + 1e-12)
    )
    assert max(abs(s.off_ratio), 0.005) <= best + 1e-9


def test_two_to_one_lands_on_whole_marks():
    s = round_amounts(203e-6, 101.5e-6, 10e-6, "volume")
    assert (s.a, s.b) == (pytest.approx(210e-6), pytest.approx(110e-6)) or s.off_ratio == 0
    s = round_amounts(200e-6, 100e-6, 10e-6, "volume")
    assert (s.a, s.b, s.excess) == (pytest.approx(200e-6), pytest.approx(100e-6), pytest.approx(0))


def test_too_coarse_a_scale_is_refused():
    with pytest.raises(InputError, match="finer scale"):
        round_amounts(10e-3, 0.5e-3, 1e-3)


def test_paste_rounds_but_not_beyond_its_limit():
    assert round_paste(2.36e-3, 0.1e-3) == pytest.approx(2.4e-3)
    assert round_paste(2.36e-3, 0.1e-3, 2.36e-3) == pytest.approx(2.3e-3)
    assert round_paste(0.01e-3, 0.1e-3) == pytest.approx(0.1e-3)
    assert round_paste(0.01e-3, 0.1e-3, 0.05e-3) == 0.0
    assert round_paste(0.0, 0.1e-3) == 0.0
