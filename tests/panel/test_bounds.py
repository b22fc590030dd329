"""Bounds are true: pieces sawn from known sheets can never be proved not to fit on them."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.panel import Part, Sheet
from pourwright.panel.bounds import _eps_function, _step_function, cost_bound, count_bound
from pourwright.panel.columns import improve_bound, round_up_cost
from pourwright.panel.corner import DOES_NOT_FIT, most_valuable, pack_all
from pourwright.panel.exact import DOES_NOT_FIT as NO
from pourwright.panel.exact import FITS, settle
from pourwright.panel.guillotine import SheetYield
from pourwright.panel.problem import Watch, build
from pourwright.panel.tree import stages

UNIT = 0.01


def sawn(seed: int, sheets: list[tuple[int, int]], least: int, trim: int = 0):
    """Pieces sawn edge to edge from sheets [cm], each shortened by up to `trim`."""
    rng = random.Random(seed)
    out: list[tuple[int, int]] = []

    def cut(w: int, h: int) -> None:
        if max(w, h) < 2 * least or (min(w, h) < 3 * least and rng.random() < 0.3):
            out.append((w - rng.randint(0, trim), h - rng.randint(0, trim)))
        elif w >= h:
            c = rng.randint(least, w - least)
            cut(c, h)
            cut(w - c, h)
        else:
            c = rng.randint(least, h - least)
            cut(w, c)
            cut(w, h - c)

    for w, h in sheets:
        cut(w, h)
    return out


def problem(sizes, sheets, grain=False):
    parts = [Part(f"p{i}", w * UNIT, h * UNIT, grain=grain) for i, (w, h) in enumerate(sizes)]
    return build(parts, sheets, 0.0)


class TestDualFeasible:
    @settings(deadline=None, max_examples=100)
    @given(st.lists(st.integers(1, 60), min_size=1, max_size=8), st.integers(1, 12))
    def test_sums_stay_within_one(self, sizes, k) -> None:
        x = np.array([s for i, s in enumerate(sizes) if sum(sizes[: i + 1]) <= 60]) / 60.0
        assert _step_function(x, k).sum() <= 1 + 1e-9
        for e in (0.05, 0.2, 1 / 3, 0.5):
            assert _eps_function(x, e).sum() <= 1 + 1e-9


class TestTrueBounds:
    @settings(deadline=None, max_examples=30)
    @given(st.integers(0, 10**6), st.integers(1, 3), st.integers(0, 3), st.booleans())
    def test_never_above_a_known_plan(self, seed, n, trim, grain) -> None:
        sizes = sawn(seed, [(100, 60)] * n, 18, trim)
        p = problem(sizes, [Sheet("s", 1.0, 0.6, cost=7.0)], grain)
        assert count_bound(p) <= n
        cost, count, _ = cost_bound(p)
        assert cost <= 7.0 * n and count <= n

    @settings(deadline=None, max_examples=12)
    @given(st.integers(0, 10**6), st.integers(0, 3))
    def test_columns_never_above_a_known_plan(self, seed, trim) -> None:
        sizes = sawn(seed, [(100, 60), (100, 60)], 22, trim)
        p = problem(sizes, [Sheet("s", 1.0, 0.6, cost=7.0)])
        low, _ = improve_bound(p, [], Watch(20), 1e5, lambda b, row: True, 99.0)
        assert low <= 14.0 * (1 + 1e-9)
        assert round_up_cost(p, low) <= 14.0 * (1 + 1e-9)

    @settings(deadline=None, max_examples=12)
    @given(st.integers(0, 10**6))
    def test_columns_with_offcuts(self, seed) -> None:
        sizes = sawn(seed, [(100, 60), (50, 40)], 20, 1)
        sheets = [
            Sheet("s", 1.0, 0.6, cost=7.0),
            Sheet("kept", 0.5, 0.4, quantity=1, cost=0.0, offcut=True),
        ]
        p = problem(sizes, sheets)
        low, _ = improve_bound(p, [], Watch(20), 1e5, lambda b, row: True, 99.0)
        assert low <= 7.0 * (1 + 1e-9)
        assert cost_bound(p)[0] <= 7.0

    def test_large_pieces_beat_the_area_bound(self) -> None:
        p = problem([(60, 60)] * 4, [Sheet("s", 1.0, 1.0)])
        assert cost_bound(p) == (4.0, 4, "dual feasible functions")  # area alone says 2


class TestSettle:
    @settings(deadline=None, max_examples=20)
    @given(st.integers(0, 10**6), st.integers(0, 2))
    def test_never_denies_a_plan_that_exists(self, seed, trim) -> None:
        sizes = sawn(seed, [(60, 40), (100, 60)], 22, trim)
        sheets = [
            Sheet("s", 1.0, 0.6, cost=7.0),
            Sheet("kept", 0.6, 0.4, quantity=1, cost=0.0, offcut=True),
        ]
        p = problem(sizes, sheets)
        status, layout = settle(p, 14.0, 0.0, 3e5, Watch(20))
        assert status != NO
        if status == FITS:
            assert p.cost_of(layout) < 14.0
            assert sum(len(row) for _, row in layout) == p.pieces

    def test_proves_what_area_cannot(self) -> None:
        # the pinwheel fills the sheet to the last corner, but has no cut edge to edge
        p = problem([(30, 20)] * 4 + [(10, 10)], [Sheet("s", 0.5, 0.5, cost=1.0)])
        assert cost_bound(p)[0] == 1.0
        assert settle(p, 2.0, 1.0, 1e6, Watch(20))[0] == NO
        roomy = problem([(30, 20)] * 4 + [(10, 10)], [Sheet("s", 0.6, 0.5, cost=1.0)])
        status, layout = settle(roomy, 2.0, 1.0, 1e6, Watch(20))
        assert status == FITS and sum(len(row) for _, row in layout) == 5


def best_by_trying(sizes, width, height) -> int:
    """Largest area of a subset with a guillotine layout, by trying everything (tiny cases)."""
    best = 0
    for r in range(1, len(sizes) + 1):
        for chosen in itertools.combinations(range(len(sizes)), r):
            area = sum(sizes[i][0] * sizes[i][1] for i in chosen)
            if (
                area > best
                and area <= width * height
                and _splits(tuple(sorted(sizes[i] for i in chosen)), width, height)
            ):
                best = area
    return best


def _splits(pieces, width, height) -> bool:
    if len(pieces) == 1:
        w, h = pieces[0]
        return (w <= width and h <= height) or (h <= width and w <= height)
    for mask in range(1, 2 ** (len(pieces) - 1)):
        a = tuple(p for i, p in enumerate(pieces) if mask >> i & 1)
        b = tuple(p for i, p in enumerate(pieces) if not mask >> i & 1)
        for c in range(1, width):
            if _splits_memo(a, c, height) and _splits_memo(b, width - c, height):
                return True
        for c in range(1, height):
            if _splits_memo(a, width, c) and _splits_memo(b, width, height - c):
                return True
    return False


_MEMO: dict = {}


def _splits_memo(pieces, width, height) -> bool:
    key = (pieces, width, height)
    if key not in _MEMO:
        area = sum(w * h for w, h in pieces)
        _MEMO[key] = area <= width * height and _splits(pieces, width, height)
    return _MEMO[key]


class TestExactGuillotine:
    @pytest.mark.parametrize("seed", range(12))
    def test_against_trying_everything(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        sizes = [(int(rng.integers(2, 7)), int(rng.integers(2, 7))) for _ in range(4)]
        w, h = (np.array(c) for c in zip(*sizes))
        one = np.ones(4, int)
        best = SheetYield(w, h, one, np.ones(4, bool), 8, 7).best(w * h)
        assert best.proven and best.value == best_by_trying(sizes, 8, 7)
        boxes = []
        for t, turned, x, y in best.places:
            a, b = (h[t], w[t]) if turned else (w[t], h[t])
            boxes.append((float(x), float(y), float(x + a), float(y + b)))
        assert stages(boxes, (0.0, 0.0, 8.0, 7.0), 0.0) is not None

    @settings(deadline=None, max_examples=40)
    @given(st.integers(0, 10**6))
    def test_free_packing_is_worth_no_less(self, seed) -> None:
        rng = np.random.default_rng(seed)
        n = 5
        w, h = rng.integers(2, 9, n), rng.integers(2, 9, n)
        v = rng.integers(1, 30, n)
        d = rng.integers(1, 3, n)
        may = rng.random(n) < 0.5
        saw = SheetYield(w, h, d, may, 11, 9).best(v, nodes=20_000)
        free = most_valuable(w, h, d, may, v, 11, 9)
        assert saw.proven and free.status == 1
        assert saw.value <= free.value + 1e-9
        assert saw.bound >= saw.value - 1e-9
        assert SheetYield(w, h, d, may, 11, 9).bound(v) >= saw.value - 1e-9

    @settings(deadline=None, max_examples=25)
    @given(st.integers(0, 10**6), st.integers(0, 2))
    def test_sawn_pieces_fit_back(self, seed, trim) -> None:
        sizes = sawn(seed, [(40, 30)], 9, trim)
        w, h = (np.array(c) for c in zip(*sizes))
        one, no = np.ones(len(w), int), np.zeros(len(w), bool)
        best = SheetYield(w, h, one, no, 40, 30).best(w * h)
        if best.proven:
            assert best.value == int((w * h).sum())
        assert pack_all(w, h, one, no, 40, 30).status != DOES_NOT_FIT

    def test_rounded_grid_still_bounds(self) -> None:
        """With too many lengths to keep, sizes are rounded down: looser, never below."""
        rng = np.random.default_rng(4)
        w = rng.integers(100_000, 900_000, 60)
        h = rng.integers(100_000, 600_000, 60)
        sheet = SheetYield(w, h, np.ones(60, int), np.ones(60, bool), 2_440_000, 1_220_000)
        assert not sheet.x.exact
        found = sheet.best((w * h).astype(float), nodes=150)
        assert 0 < found.value <= found.bound
        # the bound is within 2 % of the sheet's own area, so it tells something
        assert found.bound <= 2.44e12 * 1.22 * 1.02
