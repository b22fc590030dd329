"""The bound for nested outlines is true, and it sees what area alone does not."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from pourwright.panel import Part, Saw, Sheet, cut_plan
from pourwright.panel.shape_bound import inner_rectangles, shape_bound

KERF = 0.006
SHEET = Sheet("sheet", 1.2, 0.8)


def areas(parts: list[Part]) -> list[float]:
    return [Polygon(p.outline, p.holes).area if p.outline else p.length * p.width for p in parts]


def known(seed: int, sheets: int) -> list[Part]:
    """Outlines cut by a bit from `sheets` sheets, some with an opening that holds a small one."""
    rng = random.Random(seed)
    out: list[Part] = []

    def carve(x0: float, y0: float, x1: float, y1: float) -> None:
        a, b = x1 - x0, y1 - y0
        if max(a, b) > 0.45 or (max(a, b) > 0.3 and rng.random() < 0.5):
            at = rng.uniform(0.35, 0.65)
            if a >= b:
                carve(x0, y0, x0 + at * a - KERF / 2, y1)
                carve(x0 + at * a + KERF / 2, y0, x1, y1)
            else:
                carve(x0, y0, x1, y0 + at * b - KERF / 2)
                carve(x0, y0 + at * b + KERF / 2, x1, y1)
            return
        name = f"p{len(out)}"
        ring: tuple = ((0, 0), (a, 0), (a, b), (0, b))
        holes: tuple = ()
        kind = rng.choice(["plain", "notch", "corner", "ring"])
        if kind == "notch":
            c, d = a * rng.uniform(0.3, 0.7), b * rng.uniform(0.3, 0.7)
            ring = ((0, 0), (a, 0), (a, d), (c, d), (c, b), (0, b))
        elif kind == "corner":
            r = 0.3 * min(a, b)
            ring = ((r, 0), (a - r, 0), (a, r), (a, b - r), (a - r, b), (r, b), (0, b - r), (0, r))
        elif kind == "ring" and min(a, b) > 0.12:
            m = 0.02
            holes = (((m, m), (a - m, m), (a - m, b - m), (m, b - m)),)
            inner = (a - 2 * m - 2 * KERF, b - 2 * m - 2 * KERF)
            out.append(Part(f"{name} inner", *inner))
        out.append(Part(name, a, b, outline=ring, holes=holes))

    for _ in range(sheets):
        carve(0.0, 0.0, SHEET.length, SHEET.width)
    return out


@settings(deadline=None, max_examples=60)
@given(seed=st.integers(0, 10**6), sheets=st.integers(1, 3))
def test_outlines_cut_from_known_sheets_never_need_more(seed: int, sheets: int) -> None:
    parts = known(seed, sheets)
    cost, count, _ = shape_bound(parts, [SHEET], KERF, areas(parts))
    assert count <= sheets and cost <= sheets * SHEET.cost + 1e-9


def test_two_squares_corner_to_corner_still_fit() -> None:
    """Their straight distance is the kerf, so along x and along y they are closer than that."""
    side = 0.4
    square = ((0.0, 0.0), (side, 0.0), (side, side), (0.0, side))
    parts = [Part("a", side, side, outline=square), Part("b", side, side, outline=square)]
    gap = KERF / math.sqrt(2.0)
    edge = 2 * side + gap
    assert box(0, 0, side, side).distance(
        box(side + gap, side + gap, 2 * side + gap, 2 * side + gap)
    ) == pytest.approx(KERF)
    assert shape_bound(parts, [Sheet("s", edge, edge)], KERF, areas(parts))[1] == 1


def test_round_plates_that_area_would_let_onto_one_sheet() -> None:
    """Two round plates of 700 mm: 0.77 m2 on 0.96 m2, but each leaves no room for the other."""
    ring = tuple(
        (0.35 + 0.35 * math.cos(t), 0.35 + 0.35 * math.sin(t))
        for t in [2 * math.pi * k / 64 for k in range(64)]
    )
    plates = [Part("plate", 0.7, 0.7, 2, outline=ring)]
    assert sum(areas(plates)) * 2 < SHEET.area
    plan = cut_plan(plates, [SHEET], Saw(KERF, "router"), effort=0.3)
    assert len(plan.sheets) == 2
    # inscribed boxes of 0.49 m fit twice: here the area bound is all there is, and it is said
    assert plan.sheets_bound == 1 and plan.gap == pytest.approx(0.5)
    # 0.90 m2 of slabs with trimmed corners; 0.67 x 0.62 m lies inside each and goes on but once
    corners = ((0.05, 0), (0.65, 0), (0.7, 0.05), (0.7, 0.6), (0.65, 0.65), (0.05, 0.65),
               (0, 0.6), (0, 0.05))  # fmt: skip
    wide = [Part("slab", 0.7, 0.65, 2, outline=corners)]
    assert sum(areas(wide)) * 2 < SHEET.area
    plan = cut_plan(wide, [SHEET], Saw(KERF, "router"), effort=0.3)
    assert plan.sheets_bound == 2 and plan.proven
    assert plan.bound_from.endswith("inside the outlines")


def test_an_opening_may_hold_another_piece() -> None:
    frame = Part(
        "frame", 1.19, 0.79, outline=((0, 0), (1.19, 0), (1.19, 0.79), (0, 0.79)),
        holes=(((0.1, 0.1), (1.09, 0.1), (1.09, 0.69), (0.1, 0.69)),),
    )  # fmt: skip
    inside, outside = Part("in", 0.9, 0.5), Part("out", 1.1, 0.65)
    assert shape_bound([frame, inside], [SHEET], KERF, areas([frame, inside]))[1] == 1
    assert shape_bound([frame, outside], [SHEET], KERF, areas([frame, outside]))[1] == 2


def test_largest_rectangle_of_an_l_and_of_a_square() -> None:
    ell = ((0, 0), (1.0, 0), (1.0, 0.3), (0.4, 0.3), (0.4, 0.9), (0, 0.9))
    found = inner_rectangles(ell)
    assert max(a * b for a, b in found) == pytest.approx(0.36, abs=1e-5)
    assert {tuple(round(v, 4) for v in r) for r in found} == {(0.4, 0.9), (1.0, 0.3)}
    assert inner_rectangles(((0, 0), (1, 0), (1, 1), (0, 1)))[0] == pytest.approx((1, 1), abs=1e-5)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10**6))
def test_inner_rectangles_lie_inside_by_area_and_box(seed: int) -> None:
    for p in known(seed, 1):
        if p.outline is None:
            continue
        for a, b in inner_rectangles(p.outline):
            assert a <= p.length + 1e-9 and b <= p.width + 1e-9
            assert a * b <= Polygon(p.outline).area + 1e-9
