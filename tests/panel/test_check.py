"""The checker itself: sound plans pass, every kind of damage is found; cut order by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pourwright.panel import Part, Placement, Saw, Sheet, SheetLayout, cut_plan, faults
from pourwright.panel.tree import saw_order, stages

PARTS = [Part("a", 1.0, 0.5, 2, grain=True), Part("b", 0.6, 0.4, 2), Part("c", 0.3, 0.2)]
SHEET = Sheet("s", 2.44, 1.22, quantity=1, trim=0.006)


@pytest.fixture(scope="module")
def plan():
    return cut_plan(PARTS, [SHEET])


def with_piece(plan, i: int, **change):
    s = plan.sheets[0]
    placed = list(s.placements)
    placed[i] = replace(placed[i], **change)
    return replace(plan, sheets=(replace(s, placements=tuple(placed)), *plan.sheets[1:]))


class TestFaults:
    def test_sound(self, plan) -> None:
        assert faults(plan, PARTS) == []

    def test_overlap(self, plan) -> None:
        p, q = plan.sheets[0].placements[:2]
        assert any("kerf" in f for f in faults(with_piece(plan, 0, x=q.x, y=q.y), PARTS))
        assert p != q

    def test_kerf_missing_by_a_tenth(self, plan) -> None:
        p = max(plan.sheets[0].placements, key=lambda p: p.x)
        i = plan.sheets[0].placements.index(p)
        assert any("kerf" in f for f in faults(with_piece(plan, i, x=p.x - 1e-4), PARTS))

    def test_outside_the_trim(self, plan) -> None:
        assert any("outside" in f for f in faults(with_piece(plan, 0, x=0.0), PARTS))

    def test_turned_against_the_grain(self, plan) -> None:
        i = next(i for i, p in enumerate(plan.sheets[0].placements) if p.part.grain)
        p = plan.sheets[0].placements[i]
        bad = with_piece(plan, i, turned=True, length=p.width, width=p.length)
        assert any("grain" in f for f in faults(bad, PARTS))

    def test_changed_size(self, plan) -> None:
        assert any("size" in f for f in faults(with_piece(plan, 0, length=0.9), PARTS))

    def test_lost_and_doubled_pieces(self, plan) -> None:
        s = plan.sheets[0]
        lost = replace(plan, sheets=(replace(s, placements=s.placements[1:]),))
        assert any("missing" in f for f in faults(lost, PARTS))
        twice = replace(plan, sheets=(s, s))
        found = faults(twice, PARTS)
        assert any("twice" in f for f in found) and any("in stock" in f for f in found)

    def test_cuts_out_of_order_or_missing(self, plan) -> None:
        s = plan.sheets[0]
        assert len(s.cuts) > 5
        for cuts in (s.cuts[:-1], s.cuts[:3] + s.cuts[4:], (s.cuts[-1], *s.cuts[:-1])):
            assert faults(replace(plan, sheets=(replace(s, cuts=cuts),)), PARTS)

    def test_a_cut_that_stops_short(self, plan) -> None:
        s = plan.sheets[0]
        bad = replace(s.cuts[2], end=s.cuts[2].end - 0.01)
        cuts = (*s.cuts[:2], bad, *s.cuts[3:])
        found = faults(replace(plan, sheets=(replace(s, cuts=cuts),)), PARTS)
        assert any("0 loose pieces" in f for f in found)

    def test_too_many_stages(self, plan) -> None:
        """Ells within ells: every strip is cut from what the last cut left, five stages deep."""
        sheet = Sheet("s", 1.0, 1.0)
        placed, x, y = [], 0.0, 0.0
        for i in range(5):
            w, h = 1.0 - x, 1.0 - y
            size = (w, 0.1) if i % 2 == 0 else (0.1, h)
            part = Part(f"p{i}", *size)
            placed.append(Placement(part, 1, x, y, *size, False))
            x, y = (x, y + 0.1) if i % 2 == 0 else (x + 0.1, y)
        order = saw_order(sheet, placed, 0.0)
        assert order is not None and max(c.stage for c in order[0]) == 5
        layout = SheetLayout(sheet, 1, tuple(placed), *order)
        parts = [p.part for p in placed]
        free = replace(plan, sheets=(layout,), saw=Saw(0.0, "guillotine"), cost=1.0, cost_bound=1.0)
        assert faults(free, parts) == []
        for method in ("two-stage", "three-stage"):
            found = faults(replace(free, saw=Saw(0.0, method)), parts)
            assert any("stage 5" in f for f in found)

    def test_wrong_material_and_bound(self, plan) -> None:
        s = plan.sheets[0]
        p = replace(s.placements[0].part, material="plywood")
        bad = with_piece(plan, 0, part=p)
        bad = replace(bad, sheets=(replace(bad.sheets[0], sheet=replace(SHEET, material="mdf")),))
        assert any("material" in f for f in faults(bad, PARTS))
        assert any("below its bound" in f for f in faults(replace(plan, cost_bound=9.0), PARTS))


class TestOrder:
    def test_by_hand(self) -> None:
        """Two strips: rip both, cross-cut each, trim the narrow piece."""
        sheet = Sheet("s", 2.0, 1.0)
        a, b, c = Part("a", 0.8, 0.6), Part("b", 0.7, 0.5), Part("c", 1.9, 0.3)
        placed = [
            Placement(a, 1, 0.0, 0.0, 0.8, 0.6, False),
            Placement(b, 1, 0.803, 0.0, 0.7, 0.5, False),
            Placement(c, 1, 0.0, 0.603, 1.9, 0.3, False),
        ]
        order = saw_order(sheet, placed, 0.003)
        assert order is not None
        cuts, offcuts = order
        assert [(c.axis, round(c.at, 3), c.stage) for c in cuts] == [
            ("y", 0.6, 1),
            ("y", 0.903, 1),
            ("x", 0.8, 2),
            ("x", 1.503, 2),
            ("y", 0.5, 3),
            ("x", 1.9, 2),
        ]
        assert [c.gives for c in cuts] == [
            "strip 600 mm", "strip 300 mm", "a", "strip 700 mm", "b", "c",
        ]  # fmt: skip
        assert [c.number for c in cuts] == [1, 2, 3, 4, 5, 6]
        sizes = [(round(r.length, 3), round(r.width, 3)) for r in offcuts]
        assert sizes == [(0.494, 0.6)]

    def test_stage_counts(self) -> None:
        row = [(0.0, 0.0, 1.0, 1.0), (1.0, 0.0, 2.0, 1.0)]
        assert stages(row, (0.0, 0.0, 2.0, 1.0), 0.0) == 1
        grid = [*row, (0.0, 1.0, 2.0, 2.0)]
        assert stages(grid, (0.0, 0.0, 2.0, 2.0), 0.0) == 2

    def test_no_room_for_the_kerf_means_no_cut(self) -> None:
        row = [(0.0, 0.0, 1.0, 1.0), (1.002, 0.0, 2.0, 1.0)]
        assert stages(row, (0.0, 0.0, 2.0, 1.0), 0.002) is not None
        assert stages(row, (0.0, 0.0, 2.0, 1.0), 0.003) is None
