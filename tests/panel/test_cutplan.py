"""Cut plans: sound for any parts, honest about their bound, the same for the same seed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.panel import METHODS, Part, Saw, Sheet, cut_plan, faults
from pourwright.panel.problem import build, groups

FULL = Sheet("full", 2.44, 1.22, cost=50.0, trim=0.006)


@st.composite
def jobs(draw):
    n = draw(st.integers(1, 9))
    parts = [
        Part(
            f"p{i}",
            draw(st.integers(20, 2300)) * 1e-3,
            draw(st.integers(20, 1150)) * 1e-3,
            quantity=draw(st.integers(1, 3)),
            grain=draw(st.booleans()),
        )
        for i in range(n)
    ]
    sheets = [FULL]
    if draw(st.booleans()):
        sheets.append(Sheet("kept", 0.9, 0.7, quantity=2, cost=0.0, offcut=True))
    if draw(st.booleans()):
        sheets.append(Sheet("long", 3.05, 1.22, cost=62.0, trim=0.006, quantity=3))
    saw = Saw(draw(st.sampled_from([0.0, 1.6e-3, 3.2e-3, 6e-3])), draw(st.sampled_from(METHODS)))
    return parts, sheets, saw


class TestEveryPlan:
    @settings(deadline=None, max_examples=40)
    @given(jobs())
    def test_is_sound(self, job) -> None:
        parts, sheets, saw = job
        plan = cut_plan(parts, sheets, saw, effort=0.1)
        assert faults(plan, parts) == []
        assert plan.cost_bound <= plan.cost
        assert 0 <= plan.gap <= 1
        assert plan.sheets_bound <= len(plan.sheets)
        assert plan.part_area == pytest.approx(sum(p.area * p.quantity for p in parts))

    @pytest.mark.parametrize("method", METHODS)
    def test_same_seed_same_plan(self, method: str) -> None:
        parts = [Part(f"p{i}", 0.3 + 0.07 * i, 0.2 + 0.03 * i, 2) for i in range(9)]
        a = cut_plan(parts, [FULL], Saw(3.2e-3, method), seed=3, effort=0.2, time_limit=60)
        b = cut_plan(parts, [FULL], Saw(3.2e-3, method), seed=3, effort=0.2, time_limit=60)
        assert a == b

    def test_finer_methods_cost_no_more_here(self) -> None:
        parts = [Part(f"p{i}", 0.9 - 0.05 * i, 0.55 - 0.02 * i, 2) for i in range(8)]
        cost = {m: cut_plan(parts, [FULL], Saw(3.2e-3, m)).cost for m in METHODS}
        assert cost["router"] <= cost["three-stage"] <= cost["two-stage"]
        assert cost["guillotine"] <= cost["three-stage"]


class TestKerf:
    """n pieces p with kerf k fit in L when n (p + k) <= L + k."""

    @pytest.mark.parametrize(("size", "fit"), [(0.607, 4), (0.608, 3), (0.600, 4), (0.610, 3)])
    @pytest.mark.parametrize("method", METHODS)
    def test_pieces_in_a_row(self, size: float, fit: int, method: str) -> None:
        # reference note 10: 2440 mm sheet, 3.2 mm kerf; sheet just as wide as the piece
        strip = Sheet("strip", 2.44, 0.5)
        plan = cut_plan([Part("a", size, 0.5, 12, grain=True)], [strip], Saw(3.2e-3, method))
        assert len(plan.sheets) == 12 // fit
        assert plan.proven

    @settings(deadline=None, max_examples=30)
    @given(st.integers(50, 900), st.integers(0, 80), st.integers(1000, 2500), st.integers(2, 12))
    def test_row_by_formula(self, p: int, k10: int, length: int, want: int) -> None:
        kerf = k10 * 1e-4
        if p * 1e-3 > length * 1e-3 or kerf > p * 1e-3:
            return
        fit = math.floor((length + k10 / 10) / (p + k10 / 10) + 1e-9)
        plan = cut_plan(
            [Part("a", p * 1e-3, 0.3, want, grain=True)],
            [Sheet("s", length * 1e-3, 0.3)],
            Saw(kerf, "two-stage"),
            effort=0.1,
        )
        assert len(plan.sheets) == math.ceil(want / fit)

    def test_no_kerf_tiles_exactly(self) -> None:
        plan = cut_plan([Part("q", 0.61, 0.61, 8)], [Sheet("s", 2.44, 1.22)], Saw(0.0))
        assert len(plan.sheets) == 1 and plan.waste == pytest.approx(0.0, abs=1e-9)

    def test_trim_is_kept_clear(self) -> None:
        sheet = Sheet("s", 2.44, 1.22, trim=0.01)
        plan = cut_plan([Part("a", 2.42, 1.2)], [sheet])
        (p,) = plan.sheets[0].placements
        assert (p.x, p.y) == pytest.approx((0.01, 0.01))
        # two reference cuts, then the two far edges: 10 mm is left beyond each
        assert [c.stage for c in plan.sheets[0].cuts] == [0, 0, 1, 2]


class TestStock:
    def test_offcuts_are_used_first(self) -> None:
        kept = Sheet("kept", 1.0, 0.7, quantity=1, cost=0.0, offcut=True)
        plan = cut_plan([Part("a", 0.9, 0.6), Part("b", 2.0, 1.0)], [FULL, kept])
        assert plan.sheet_counts == {"kept": 1, "full": 1}
        assert plan.sheets[0].sheet.name == "kept"
        assert plan.cost == 50.0 and plan.proven

    def test_an_offcut_that_saves_the_sheet(self) -> None:
        kept = Sheet("kept", 0.65, 0.65, quantity=2, cost=0.0, offcut=True)
        plan = cut_plan([Part("a", 0.6, 0.6, 2)], [FULL, kept])
        assert plan.sheet_counts == {"kept": 2} and plan.cost == 0.0

    def test_bound_knows_what_an_offcut_cannot_hold(self) -> None:
        kept = Sheet("kept", 0.9, 0.7, quantity=2, cost=0.0, offcut=True)
        plan = cut_plan([Part("a", 0.901, 0.02)], [FULL, kept])
        assert plan.cost_bound == plan.cost == 50.0

    def test_the_cheaper_mix_is_chosen(self) -> None:
        small = Sheet("small", 1.22, 1.22, cost=20.0)
        plan = cut_plan([Part("a", 1.1, 1.1, 2), Part("b", 2.3, 1.1)], [FULL, small])
        assert plan.cost == pytest.approx(2 * 20 + 50) and plan.proven

    def test_price_decides_not_number(self) -> None:
        dear = Sheet("dear", 3.0, 1.22, cost=200.0)
        plan = cut_plan([Part("a", 1.2, 1.2, 4)], [FULL, dear])
        assert plan.sheet_counts == {"full": 2}

    def test_materials_do_not_mix(self) -> None:
        a = Sheet("ply", 2.44, 1.22, material="plywood", thickness=0.018, cost=75)
        b = Sheet("mdf", 2.44, 1.22, material="mdf", thickness=0.018, cost=46)
        parts = [
            Part("x", 1.0, 0.5, 3, material="plywood", thickness=0.018),
            Part("y", 1.0, 0.5, 3, material="mdf", thickness=0.018),
        ]
        plan = cut_plan(parts, [a, b])
        assert plan.sheet_counts == {"ply": 1, "mdf": 1} and plan.proven
        assert faults(plan, parts) == []
        assert len(groups(parts, [a, b])) == 2

    def test_limited_stock_is_respected(self) -> None:
        few = Sheet("few", 2.44, 1.22, quantity=1, cost=10.0)
        plan = cut_plan([Part("a", 2.0, 1.0, 3)], [few, FULL])
        assert plan.sheet_counts == {"few": 1, "full": 2}


class TestQuality:
    def test_gap_is_closed_on_a_small_job(self) -> None:
        parts = [
            Part("leg a", 2.1, 0.6),
            Part("leg b", 1.25, 0.56),
            Part("table", 0.9, 0.6),
            Part("turn-down", 2.1, 0.04, 2),
            Part("board", 0.3, 0.25),
        ]
        plan = cut_plan(parts, [FULL])
        assert plan.proven and len(plan.sheets) == 2

    def test_parts_cut_from_known_sheets_go_back(self) -> None:
        """Three sheets sawn at random without waste: no plan needs fewer, ours at most one more."""
        import random

        rng = random.Random(5)
        parts: list[Part] = []

        def saw_up(w: int, h: int, depth: int) -> None:
            if depth == 0 or min(w, h) < 300:
                parts.append(Part(f"p{len(parts)}", w * 1e-3, h * 1e-3))
            elif w > h:
                c = rng.randint(w // 4, 3 * w // 4)
                saw_up(c, h, depth - 1)
                saw_up(w - c, h, depth - 1)
            else:
                c = rng.randint(h // 4, 3 * h // 4)
                saw_up(w, c, depth - 1)
                saw_up(w, h - c, depth - 1)

        for _ in range(3):
            saw_up(2440, 1220, 4)
        plan = cut_plan(parts, [Sheet("s", 2.44, 1.22)], Saw(0.0, "guillotine"))
        assert plan.sheets_bound == 3
        assert len(plan.sheets) in (3, 4)

    def test_progress_and_cancel(self) -> None:
        parts = [Part(f"p{i}", 0.4 + 0.011 * i, 0.3 + 0.007 * i) for i in range(40)]
        seen: list[float] = []

        def stop(done: float, note: str) -> bool:
            seen.append(done)
            return len(seen) < 2

        plan = cut_plan(parts, [FULL], progress=stop)
        assert faults(plan, parts) == []
        assert any("Stopped early" in w for w in plan.warnings)
        assert all(0 <= d <= 1 for d in seen)


def test_equal_parts_are_counted_together() -> None:
    parts = [Part("a", 0.6, 0.4, 2), Part("b", 0.4, 0.6, 3), Part("c", 0.4, 0.6, grain=True)]
    problem = build(parts, [FULL], 3.2e-3)
    assert problem.pieces == 6 and problem.w.size == 2
    assert sorted(problem.demand.tolist()) == [1, 5]
