"""Joints: few, even, clear of cut-outs; those placed by hand are kept or refused with a reason."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box, union_all

from pourwright.errors import InputError
from pourwright.panel import Limits, Opening, plan_joints

BAR = box(0, 0, 4.6, 0.65)
SHEET = Limits(2.428, 1.208)


class TestPlaces:
    def test_one_piece_needs_none(self) -> None:
        assert plan_joints(box(0, 0, 2.1, 0.6), SHEET).at == ()

    def test_bar_top_in_halves(self) -> None:
        plan = plan_joints(BAR, SHEET)
        assert plan.axis == "x" and plan.at == pytest.approx((2.3,), abs=0.006)

    def test_three_when_the_door_says_so(self) -> None:
        stair = Opening("stair", 0.7, 0.6, clear=1.6)
        loose = plan_joints(BAR, Limits(2.428, 1.208, thickness=0.04))
        tight = plan_joints(BAR, Limits(2.428, 1.208, thickness=0.5, openings=(stair,)))
        assert len(loose.at) == 1 and len(tight.at) > 1

    def test_weight_limit(self) -> None:
        plan = plan_joints(BAR, Limits(areal_mass=30.0, lift=31.0))
        assert len(plan.pieces) == 3  # 89.7 kg in all
        assert max(plan.masses) <= 31.0
        assert max(plan.masses) - min(plan.masses) < 0.6

    def test_clear_of_the_sink(self) -> None:
        top = BAR.difference(box(2.1, 0.1, 2.3, 0.5))
        assert plan_joints(top, SHEET).at == pytest.approx((2.4,))  # the middle is 2.3
        wide = BAR.difference(box(2.0, 0.1, 2.6, 0.5))  # no single joint can clear this one
        at = plan_joints(wide, SHEET).at
        assert len(at) == 2 and all(x <= 1.9 + 1e-9 or x >= 2.7 - 1e-9 for x in at)

    def test_inner_corner_of_an_ell(self) -> None:
        ell = Polygon([(0, 0), (2.1, 0), (2.1, 0.6), (0.56, 0.6), (0.56, 1.85), (0, 1.85)])
        plan = plan_joints(ell, Limits(2.428, 1.208))
        assert plan.at == pytest.approx((0.56,)) or plan.at == pytest.approx((0.6,))
        assert all(p.area == pytest.approx(p.envelope.area) for p in plan.pieces)

    @settings(deadline=None, max_examples=25)
    @given(
        st.floats(2.5, 7.0), st.floats(0.3, 1.1), st.floats(0.3, 0.8), st.floats(0.2, 0.8),
        st.floats(12.0, 60.0),
    )  # fmt: skip
    def test_every_plan_keeps_the_limits(self, length, width, place, size, lift) -> None:
        hole = box(place * length, 0.05, place * length + size * 0.3, width - 0.05)
        top = box(0, 0, length, width).difference(hole)
        limits = Limits(2.428, 1.208, lift=lift)
        try:
            plan = plan_joints(top, limits)
        except InputError as err:
            assert "joints" in err.field
            return
        assert union_all(list(plan.pieces)).symmetric_difference(top).area < 1e-9
        for p, m in zip(plan.pieces, plan.masses):
            x0, y0, x1, y1 = p.bounds
            assert x1 - x0 <= 2.428 + 1e-6 and y1 - y0 <= 1.208 + 1e-6
            assert m <= lift + 1e-6 and m == pytest.approx(p.area * limits.areal_mass)
        for x in plan.at:
            assert not hole.bounds[0] - 0.1 + 1e-6 < x < hole.bounds[2] + 0.1 - 1e-6


class TestByHand:
    def test_kept(self) -> None:
        plan = plan_joints(BAR, SHEET, fixed=[2.4])
        assert plan.at == (2.4,) and plan.fixed == (2.4,)

    def test_more_are_added_where_needed(self) -> None:
        plan = plan_joints(BAR, SHEET, fixed=[1.0])
        assert 1.0 in plan.at and len(plan.at) == 2

    def test_or_refused_when_none_may_be_added(self) -> None:
        with pytest.raises(InputError, match="larger than a sheet"):
            plan_joints(BAR, SHEET, fixed=[1.0], add=False)

    def test_refused_near_a_cut_out_with_the_nearest_places(self) -> None:
        top = BAR.difference(box(2.0, 0.1, 2.6, 0.5))
        with pytest.raises(InputError) as err:
            plan_joints(top, SHEET, name="bar", fixed=[2.05])
        assert "1900 mm" in err.value.remedy and "2700 mm" in err.value.remedy

    @pytest.mark.parametrize("x", [0.05, 4.58, -1.0, float("nan")])
    def test_refused_at_the_ends(self, x: float) -> None:
        with pytest.raises(InputError, match="either end"):
            plan_joints(BAR, SHEET, fixed=[x])

    def test_refused_when_the_piece_between_would_be_a_sliver(self) -> None:
        with pytest.raises(InputError, match="at least 150 mm long") as err:
            plan_joints(BAR, SHEET, name="bar", fixed=[2.35, 2.3])
        assert err.value.value == "2300.0 mm and 2350.0 mm" and "apart" in err.value.remedy
        assert plan_joints(BAR, SHEET, fixed=[2.2, 2.35]).at == (2.2, 2.35)


def test_no_way_says_why() -> None:
    with pytest.raises(InputError, match="larger than a sheet"):
        plan_joints(box(0, 0, 3, 3), Limits(2.428, 1.208), axis="x")
    long_hole = BAR.difference(box(0.3, 0.1, 4.3, 0.5))
    with pytest.raises(InputError, match="within 100 mm"):
        plan_joints(long_hole, SHEET, axis="x")
