"""Cutting and packing against instances from the literature with known optima.

Instance data and optima: reference note 10, which names the source of each. All optima are whole
numbers, so every check is exact.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from pourwright.panel import Part, Saw, Sheet, cut_plan, faults
from pourwright.panel.corner import DOES_NOT_FIT, FITS, most_valuable, pack_all
from pourwright.panel.guillotine import SheetYield
from pourwright.panel.tree import stages

# Christofides and Whitlock 1977, Operations Research 25, instance 1: stock 15 x 10;
# length, width, most, value
CGCUT1 = [
    (8, 4, 2, 66),
    (3, 7, 1, 35),
    (8, 2, 3, 24),
    (3, 4, 5, 17),
    (3, 3, 2, 11),
    (3, 2, 2, 8),
    (2, 1, 1, 2),
]
# Beasley 1985, Operations Research 33, ngcut1: stock 10 x 10
NGCUT1 = [(3, 7, 2, 35), (8, 2, 2, 40), (10, 2, 1, 27), (5, 4, 3, 23), (2, 9, 2, 43)]
# Hopper and Turton 2001, European Journal of Operational Research 128, C1 P1: strip of width 20
C1P1 = [
    (2, 12), (7, 12), (8, 6), (3, 6), (3, 5), (5, 5), (3, 12), (3, 7),
    (5, 7), (2, 6), (3, 2), (4, 2), (3, 4), (4, 4), (9, 2), (11, 2),
]  # fmt: skip


def columns(rows):
    return [np.array(c) for c in zip(*rows)]


def apart(places, w, h, width, height) -> bool:
    taken = np.zeros((width, height), int)
    for t, turned, x, y in places:
        a, b = (h[t], w[t]) if turned else (w[t], h[t])
        if x < 0 or y < 0 or x + a > width or y + b > height:
            return False
        taken[x : x + a, y : y + b] += 1
    return taken.max() <= 1


class TestValue:
    """The most valuable choice of pieces, each piece at most so many times, not turned."""

    def test_constrained_guillotine_cgcut1(self) -> None:
        w, h, d, v = columns(CGCUT1)
        best = SheetYield(w, h, d, np.zeros(7, bool), 15, 10).best(v)
        assert (best.value, best.proven) == (244, True)
        assert int(best.counts @ v) == 244 and (best.counts <= d).all()
        assert apart(best.places, w, h, 15, 10)
        boxes = [(x, y, x + w[t], y + h[t]) for t, _, x, y in best.places]
        assert stages(boxes, (0, 0, 15, 10), 0.0) is not None

    def test_free_ngcut1(self) -> None:
        w, h, d, v = columns(NGCUT1)
        best = most_valuable(w, h, d, np.zeros(5, bool), v, 10, 10)
        assert (best.status, best.value) == (FITS, 164)
        assert apart(best.places, w, h, 10, 10)

    def test_free_is_never_below_guillotine(self) -> None:
        w, h, d, v = columns(CGCUT1)
        free = most_valuable(w, h, d, np.zeros(7, bool), v, 15, 10, nodes=20_000_000)
        assert free.status == FITS and free.value >= 244


class TestStrip:
    @pytest.mark.parametrize("turn", [False, True])
    def test_hopper_turton_c1p1_height_20(self, turn: bool) -> None:
        h, w = columns(C1P1)
        one, may = np.ones(16, int), np.full(16, turn)
        found = pack_all(w, h, one, may, 20, 20)
        assert found.status == FITS and len(found.places) == 16
        assert apart(found.places, w, h, 20, 20)
        # the area is 400, so 19 is out of reach
        assert pack_all(w, h, one, may, 20, 19).status == DOES_NOT_FIT


# least-area rectangle around the squares 1..N (computed independently, reference note 10)
SQUARES = [(1, 1), (2, 3), (3, 5), (5, 7), (5, 12), (9, 11), (7, 22), (14, 15), (15, 20)]


class TestSquares:
    @pytest.mark.parametrize("n", range(1, 9))
    def test_smallest_rectangle(self, n: int) -> None:
        s = np.arange(1, n + 1)
        least = int((s * s).sum())
        want = SQUARES[n - 1]
        for area in range(least, want[0] * want[1] + 1):
            for a in range(n, math.isqrt(area) + 1):
                if area % a:
                    continue
                got = pack_all(s, s, np.ones(n, int), np.zeros(n, bool), area // a, a).status
                if (a, area // a) == want:
                    assert got == FITS
                elif area < want[0] * want[1]:
                    assert got == DOES_NOT_FIT

    def test_nine_squares_in_15_by_20(self) -> None:
        s = np.arange(1, 10)
        found = pack_all(s, s, np.ones(9, int), np.zeros(9, bool), 20, 15)
        assert found.status == FITS and apart(found.places, s, s, 20, 15)

    def test_moron_1925_perfect_rectangle(self) -> None:
        # Moron 1925: nine different squares tile 33 x 32
        s = np.array([18, 15, 14, 10, 9, 8, 7, 4, 1])
        found = pack_all(s, s, np.ones(9, int), np.zeros(9, bool), 33, 32)
        assert found.status == FITS and apart(found.places, s, s, 33, 32)
        assert int((s * s).sum()) == 33 * 32
        boxes = [(x, y, x + s[t], y + s[t]) for t, _, x, y in found.places]
        assert stages(boxes, (0, 0, 33, 32), 0.0) is None  # no first cut edge to edge


class TestPinwheel:
    """Four 3 x 2 and a 1 x 1 in 5 x 5: a router can, a saw cannot (exhaustive, note 10)."""

    W, H, D = np.array([3, 1]), np.array([2, 1]), np.array([4, 1])
    MAY = np.array([True, True])

    def test_router_fits_all_of_it(self) -> None:
        found = pack_all(self.W, self.H, self.D, self.MAY, 5, 5)
        assert found.status == FITS and apart(found.places, self.W, self.H, 5, 5)

    def test_known_layout_has_no_cut(self) -> None:
        boxes = [(0, 0, 3, 2), (3, 0, 5, 3), (2, 3, 5, 5), (0, 2, 2, 5), (2, 2, 3, 3)]
        assert stages(boxes, (0, 0, 5, 5), 0.0) is None

    def test_saw_leaves_a_piece_out_in_5_by_5_and_not_in_5_by_6(self) -> None:
        v = self.W * self.H
        small = SheetYield(self.W, self.H, self.D, self.MAY, 5, 5).best(v)
        assert small.proven and small.value == 19
        large = SheetYield(self.W, self.H, self.D, self.MAY, 5, 6).best(v)
        assert large.proven and large.value == 25

    def test_whole_plans(self) -> None:
        parts = [Part("a", 0.3, 0.2, 4), Part("b", 0.1, 0.1)]
        sheet = Sheet("s", 0.5, 0.5)
        router = cut_plan(parts, [sheet], Saw(0.0, "router"))
        saw = cut_plan(parts, [sheet], Saw(0.0, "guillotine"))
        assert len(router.sheets) == 1 and faults(router, parts) == []
        assert len(saw.sheets) == 2 and faults(saw, parts) == []
        assert saw.proven  # by column generation: one sheet cannot do


class TestAgainstRectpack:
    """Never more sheets than rectpack (Apache-2.0) with any of its algorithms, small cases."""

    @pytest.mark.parametrize("seed", range(3))
    def test_sheets(self, seed: int) -> None:
        import rectpack

        rng = np.random.default_rng(seed)
        sizes = [(int(rng.integers(150, 900)), int(rng.integers(100, 600))) for _ in range(30)]
        parts = [Part(f"p{i}", w * 1e-3, h * 1e-3) for i, (w, h) in enumerate(sizes)]
        best = 99
        for algorithm in (
            rectpack.GuillotineBssfSas,
            rectpack.GuillotineBlsfLas,
            rectpack.MaxRectsBssf,
            rectpack.MaxRectsBaf,
            rectpack.SkylineMwf,
        ):
            packer = rectpack.newPacker(pack_algo=algorithm, rotation=True)
            for w, h in sizes:
                packer.add_rect(w + 3, h + 3)
            packer.add_bin(2443, 1223, count=30)
            packer.pack()
            best = min(best, len(packer))
        for method in ("guillotine", "router"):
            plan = cut_plan(parts, [Sheet("s", 2.44, 1.22)], Saw(3e-3, method))
            assert len(plan.sheets) <= best
            assert faults(plan, parts) == []
