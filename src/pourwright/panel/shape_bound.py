"""Lower bounds for nested outlines: what the rectangles inside them need already.

Outlines are laid in quarter turns, so any nesting of outlines is a packing of rectangles drawn
inside them. Two rectangles that lie the bit's width k apart in a straight line are at least
k / sqrt 2 apart along x or along y, and packing with that kerf can need no more sheets. An opening
counts as full, as long as no other piece could lie in it; pieces that could are left out here and
counted by their area only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from pourwright.panel import problem as prob
from pourwright.panel.bounds import cheapest, cost_bound
from pourwright.panel.stock import Part, Sheet

if TYPE_CHECKING:
    from shapely import Polygon

MOST_PLACES = 9
"""Places along each axis that inner rectangles may start or end at [-]."""
MOST_KINDS = 30
"""Kinds of outline looked at closely; beyond it only the evenly shrunk box is taken [-]."""
CHOICES = 3
"""Ways of choosing the inner rectangles that are tried [-]."""
EXACT = 12
"""Pieces up to which one sheet is settled by search [-]."""


def inner_rectangles(ring: Sequence[tuple[float, float]], closely: bool = True) -> list[tuple]:
    """Rectangles square to the axes that lie inside an outline.

    Parameters
    ----------
    ring : sequence of (x, y) [m]
        The outline, openings counted as full.
    closely : bool [-]
        Whether to try rectangles from corner to corner, besides the evenly shrunk box.

    Returns
    -------
    list of (length, width)
        In [m]: the largest, and others that are longer or wider than it; at most `CHOICES`.
    """
    from shapely import Polygon, box, prepare

    from pourwright.panel.cores import inner_box

    shape = Polygon(ring)
    found = [inner_box(shape)]
    if closely:
        grown = shape.buffer(1e-9)
        prepare(grown)
        xs, ys = (_places(shape, k) for k in (0, 1))
        for x0, x1 in combinations(xs, 2):
            for y0, y1 in combinations(ys, 2):
                if grown.contains(box(x0, y0, x1, y1)):
                    found.append((x1 - x0, y1 - y0))
    found = [(a - 1e-7, b - 1e-7) for a, b in found if min(a, b) > 1e-3]
    best: list[tuple] = []
    for key in (lambda r: r[0] * r[1], lambda r: r[0], lambda r: r[1]):
        if found:
            top = max(found, key=lambda r: (round(key(r), 6), r[0] * r[1]))
            if top not in best:
                best.append(top)
    return best[:CHOICES]


def _places(shape: Polygon, k: int) -> list[float]:
    """Coordinates of corners along one axis, thinned evenly where there are many."""
    all_ = sorted({round(float(p[k]), 7) for p in shape.exterior.coords})
    if len(all_) <= MOST_PLACES:
        return all_
    at = np.linspace(0, len(all_) - 1, MOST_PLACES).round().astype(int)
    return [all_[i] for i in sorted(set(at.tolist()))]


def _rings(p: Part) -> Sequence[tuple[float, float]]:
    return p.outline or ((0.0, 0.0), (p.length, 0.0), (p.length, p.width), (0.0, p.width))


def _could_lie_inside(p: Part, hosts: Sequence[Part]) -> bool:
    """Whether a piece might lie in an opening of another, by their boxes."""
    a, b = max(p.length, p.width), min(p.length, p.width)
    for q in hosts:
        if q is p and q.quantity < 2:
            continue
        for hole in q.holes:
            xs, ys = [c[0] for c in hole], [c[1] for c in hole]
            sides = sorted((max(xs) - min(xs), max(ys) - min(ys)))
            if b <= sides[0] + 1e-9 and a <= sides[1] + 1e-9:
                return True
    return False


def shape_bound(
    parts: Sequence[Part], sheets: Sequence[Sheet], kerf: float, areas: Sequence[float]
) -> tuple[float, int, str]:
    """Least cost and number of sheets that any nesting of these outlines needs.

    Parameters
    ----------
    parts : sequence of Part [m]
        With outlines and openings; one group that shares sheets.
    sheets : sequence of Sheet [m]
        What they are cut from.
    kerf : float [m]
        Diameter of the bit.
    areas : sequence of float [m2]
        True area of one piece of each part.

    Returns
    -------
    (cost, count, reason)
        Cost [-] and count [-] that no nesting can go below; reason [-] in words.
    """
    area = sum(a * p.quantity for a, p in zip(areas, parts))
    plain = prob.build(list(parts), list(sheets), kerf)
    stock = plain.sheets
    usable = np.array([(s.length - 2 * s.trim) * (s.width - 2 * s.trim) for s in stock])
    ones = np.ones_like(usable)
    low = cheapest(area, 1, usable, plain.cost, plain.stock)
    count = math.ceil(cheapest(area, 1, usable, ones, plain.stock) - 1e-6)
    why = "area of the outlines"
    big = [p for p in parts if not _could_lie_inside(p, parts)]
    if not big:
        return low, count, why
    choices = [inner_rectangles(_rings(p), len(big) <= MOST_KINDS) for p in big]
    for k in range(CHOICES):
        boxes = [
            replace(p, length=r[min(k, len(r) - 1)][0], width=r[min(k, len(r) - 1)][1],
                    outline=None, holes=())
            for p, r in zip(big, choices)
            if r
        ]  # fmt: skip
        if not boxes:
            break
        inner = prob.build(boxes, list(sheets), kerf / math.sqrt(2.0) - 1e-6)
        if not inner.fit.any(axis=1).all():
            continue
        cost, n, _ = cost_bound(inner)
        if n > count or cost > low * (1 + 1e-9):
            low, count, why = max(low, cost), max(count, n), "rectangles inside the outlines"
        if count == 1 and _never_on_one(inner):
            count, why = 2, "exact search with rectangles inside the outlines"
    if count > 1:
        low = max(low, cheapest(area, count, usable, plain.cost, plain.stock))
    return low, count, why


def _never_on_one(problem: prob.Problem) -> bool:
    """Whether search proves that no single sheet holds all the rectangles."""
    from pourwright.panel.corner import DOES_NOT_FIT, pack_all

    if problem.pieces > EXACT:
        return False
    for b in range(problem.sw.size):
        if not problem.fit[:, b].all():
            continue
        found = pack_all(
            problem.w, problem.h, problem.demand, problem.turn,
            int(problem.sw[b]), int(problem.sh[b]), 200_000,
        )  # fmt: skip
        if found.status != DOES_NOT_FIT:
            return False
    return True
