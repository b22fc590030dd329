"""Core parts: tops, build-up, turned-down fronts, waterfall mitres and drop-outs."""

from __future__ import annotations

import math

import pytest

from pourwright.errors import InputError
from pourwright.panel import CoreSpec, Limits, Sheet, core_parts, cut_plan, faults, plan_joints
from pourwright.panel.cores import build_up
from pourwright.survey import SurfaceSpec, build_survey

FREE = {"kind": "free", "drop": "40 mm", "round_over": "6 mm"}


def survey(*specs):
    return build_survey([SurfaceSpec.model_validate(s) for s in specs])


LEG = {
    "name": "leg a",
    "size": ["2100 mm", "600 mm"],
    "edges": {"front": FREE, "right": FREE},
    "cut_outs": [
        {
            "name": "sink",
            "size": ["400 mm", "380 mm"],
            "corner_radius": "40 mm",
            "at": ["500 mm", "300 mm"],
        }
    ],
}


class TestBuildUp:
    @pytest.mark.parametrize(
        ("depth", "boards", "layers", "excess"),
        [
            (0.022, (0.018, 0.022), (0.022,), 0.0),
            (0.022, (0.018, 0.012, 0.004), (0.018, 0.004), 0.0),
            (0.030, (0.018, 0.012), (0.018, 0.012), 0.0),
            (0.022, (0.018,), (0.018, 0.018), 0.014),
            (0.0, (0.018,), (), 0.0),
        ],
    )
    def test_layers(self, depth, boards, layers, excess) -> None:
        got, over = build_up(depth, boards)
        assert got == layers and over == pytest.approx(excess, abs=1e-9)

    def test_too_deep(self) -> None:
        with pytest.raises(InputError, match="4 layers"):
            build_up(0.2, (0.018,))


class TestParts:
    def test_strips_reach_the_turned_down_depth(self) -> None:
        c = core_parts(survey(LEG).surfaces, CoreSpec(layers=(0.022, 0.018)))
        by = {p.name: p for p in c.parts}
        front, right = by["leg a strip front 22 mm"], by["leg a strip right 22 mm"]
        assert front.thickness + 0.018 == pytest.approx(0.040)
        assert (front.length, front.width) == pytest.approx((2.1, 0.08))
        assert right.length == pytest.approx(0.6 - 0.08)  # butts against the front strip

    def test_front_and_mitre(self) -> None:
        front = core_parts(survey(LEG).surfaces, CoreSpec(edge="front")).parts[1]
        mitre = core_parts(survey(LEG).surfaces, CoreSpec(edge="mitre")).parts[1]
        assert front.width == pytest.approx(0.022) and mitre.width == pytest.approx(0.040)
        assert "mitre" in mitre.note and front.role == "front"

    def test_shallow_edges_need_nothing(self) -> None:
        leg = {**LEG, "edges": {"front": {"kind": "free", "drop": "18 mm", "round_over": "6 mm"}}}
        assert [p.role for p in core_parts(survey(leg).surfaces, CoreSpec()).parts] == ["top"]

    def test_mass_is_area_times_thickness_times_density(self) -> None:
        c = core_parts(survey(LEG).surfaces, CoreSpec(edge="front", density=700.0))
        hole = 0.4 * 0.38 - (4 - math.pi) * 0.04**2
        want = (2.1 * 0.6 - hole) * 0.018 * 700
        assert c.parts[0].mass == pytest.approx(want, rel=1e-4)  # arcs by chords of 0.02 mm
        assert c.mass == pytest.approx(sum(p.mass * p.quantity for p in c.parts))

    def test_waterfall_says_mitre(self) -> None:
        s = survey(
            {
                "name": "bar",
                "size": ["1500 mm", "650 mm"],
                "edges": {"right": {"kind": "waterfall", "meets": "end.top"}},
            },
            {"name": "end", "size": ["650 mm", "900 mm"], "lie": "upright"},
        )
        parts = {p.name: p for p in core_parts(s.surfaces, CoreSpec()).parts}
        assert "mitre 45" in parts["bar"].note and "mitre 45" in parts["end"].note

    def test_long_strips_are_made_of_equal_lengths(self) -> None:
        bar = {"name": "bar", "size": ["4600 mm", "650 mm"], "edges": {"front": FREE}}
        c = core_parts(survey(bar).surfaces, CoreSpec(edge="front", longest=2.42))
        strip = c.parts[1]
        assert strip.quantity == 2 and strip.length == pytest.approx(2.3)
        assert any("joints" in w for w in c.warnings)

    def test_joints_split_the_top(self) -> None:
        bar = survey({"name": "bar", "size": ["4600 mm", "650 mm"]}).surfaces
        plan = plan_joints(bar[0].polygon, Limits(2.428, 1.208))
        c = core_parts(bar, CoreSpec(), {"bar": plan})
        assert [p.name for p in c.parts] == ["bar 1", "bar 2"]
        assert sum(p.length for p in c.parts) == pytest.approx(4.6)

    def test_count_multiplies(self) -> None:
        c = core_parts(survey({**LEG, "count": 3}).surfaces, CoreSpec(edge="front"))
        assert all(p.quantity == 3 for p in c.parts)
        assert c.drop_outs[0].quantity == 3

    @pytest.mark.parametrize("key", ["thickness", "density", "strip_width", "longest"])
    def test_bad_spec(self, key: str) -> None:
        with pytest.raises(InputError, match=key):
            core_parts(survey(LEG).surfaces, CoreSpec(**{key: 0.0}))


class TestDropOuts:
    def test_size_is_the_square_inside_the_rounded_hole(self) -> None:
        (d,) = core_parts(survey(LEG).surfaces, CoreSpec(), kerf=0.004).drop_outs
        inset = 0.004 + (0.04 - 0.004) * (1 - math.sqrt(0.5))
        # the shrunk hole keeps its rounding less the kerf; chords of 0.02 mm
        assert d.length == pytest.approx(0.4 - 2 * inset, abs=1e-4)
        assert d.width == pytest.approx(0.38 - 2 * inset, abs=1e-4)
        assert d.offcut and d.cost == 0

    def test_poured_over_holes_give_no_core(self) -> None:
        leg = {**LEG, "cut_outs": [{**LEG["cut_outs"][0], "cut": "after"}]}
        assert core_parts(survey(leg).surfaces, CoreSpec()).drop_outs == ()

    def test_a_sample_board_comes_out_of_the_sink(self) -> None:
        s = survey(LEG, {"name": "board", "size": ["250 mm", "300 mm"], "purpose": "board"})
        c = core_parts(s.surfaces, CoreSpec(edge="front"))
        full = Sheet("mdf", 2.44, 1.22, cost=46, material="mdf-moisture", thickness=0.018)
        plan = cut_plan(c.parts, [full, *c.drop_outs])
        assert faults(plan, list(c.parts)) == []
        where = {p.part.name: s.sheet.name for s in plan.sheets for p in s.placements}
        assert where["board"] == "drop-out leg a sink"
