"""The calculations: values agree with the engine, cautions and gap are told."""

from __future__ import annotations

import pytest

from pourwright import calc
from pourwright.errors import InputError
from pourwright.panel import Part, Sheet, cut_plan, faults


class TestCut:
    def test_example(self) -> None:
        r = calc.run("panel.cut", {**calc.get("panel.cut").example, "picture": True})
        v = r.value
        assert v.cost >= v.cost_bound and v.sheet_count == sum(v.sheets_used.values())
        assert v.cut_count == sum(len(s.cuts) for s in v.sheets)
        assert sum(len(s.pieces) for s in v.sheets) == 6
        assert v.picture_svg and v.picture_svg.startswith("<svg")
        words = " ".join(r.cautions)
        assert "dust" in words and "lift" in words.lower() and "manual" in words

    def test_inches_are_read(self) -> None:
        r = calc.run(
            "panel.cut",
            {
                "parts": [{"name": "a", "length": "24 in", "width": "1 ft", "quantity": 8}],
                "sheets": [{"name": "s", "length": "8 ft", "width": "2 ft"}],
                "kerf_mm": 0,
            },
        )
        assert r.value.sheet_count == 1
        assert r.value.sheets[0].pieces[0].length_mm in (609.6, 304.8)

    def test_an_open_gap_is_said(self) -> None:
        parts = [Part(f"p{i}", 0.40 + 0.013 * i, 0.33 + 0.011 * i) for i in range(30)]
        plan = cut_plan(parts, [Sheet("s", 2.44, 1.22)], effort=0.05)
        data = {
            "parts": [
                {"name": p.name, "length_mm": p.length * 1e3, "width_mm": p.width * 1e3}
                for p in parts
            ],
            "sheets": [{"name": "s"}],
            "effort": 0.05,
        }
        r = calc.run("panel.cut", data)
        assert r.value.sheet_count == len(plan.sheets)
        assert r.value.proven == (r.value.gap_percent < 1e-4)
        assert r.value.proven or any("cheaper is not ruled out" in w for w in r.warnings)

    def test_no_time_still_gives_a_plan(self) -> None:
        parts = [Part(f"p{i}", 0.3 + 0.01 * i, 0.2 + 0.01 * i) for i in range(40)]
        plan = cut_plan(parts, [Sheet("s", 2.44, 1.22)], time_limit=1e-9)
        assert faults(plan, parts) == []


class TestJointsAndDoor:
    def test_joints(self) -> None:
        v = calc.run("panel.joints", calc.get("panel.joints").example).value
        assert len(v.joints_mm) == 1 and len(v.pieces) == 2
        assert sum(p.length_mm for p in v.pieces) == pytest.approx(4600)

    def test_hand_joint_on_the_sink_is_refused(self) -> None:
        with pytest.raises(InputError, match="sink"):
            calc.run("panel.joints", {**calc.get("panel.joints").example, "joints_mm": [1500]})

    def test_cut_out_outside(self) -> None:
        bad = {"name": "sink", "x_mm": 4500, "y_mm": 0, "length_mm": 600, "width_mm": 400}
        with pytest.raises(InputError, match="inside"):
            calc.run("panel.joints", {**calc.get("panel.joints").example, "cut_outs": [bad]})

    def test_crossing_outline(self) -> None:
        with pytest.raises(InputError, match="cross"):
            calc.run("panel.joints", {"corners_mm": [[0, 0], [1000, 1000], [1000, 0], [0, 1000]]})

    def test_door(self) -> None:
        v = calc.run("panel.door", calc.get("panel.door").example).value
        assert v.passes and [w.opening for w in v.ways] == ["side hatch", "bow door"]

    def test_little_to_spare_does_not_pass(self) -> None:
        v = calc.run(
            "panel.door",
            {
                "length_mm": 900,
                "width_mm": 600,
                "thickness_mm": 40,
                "openings": [{"name": "slot", "width_mm": 610, "height_mm": 50}],
            },
        ).value
        assert not v.passes and "to spare" in v.ways[0].how
        assert v.ways[0].clearance_mm == pytest.approx(5, abs=0.01)
