"""Nesting true outlines for a router, on a fine grid.

Each outline, in its four (with locked grain two) square attitudes, is widened by half the bit and
laid on a grid so that every cell it touches is taken; shapes whose cells are apart are then at
least a bit's width apart. Shapes are put down one by one, leftmost then lowest, also inside the
holes of others, in many orders. The grid costs up to two cells between neighbours, so the plain
nesting of the boxes is tried as well and the better of the two is kept. Attitudes other than
square ones are not tried.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from pourwright.panel import problem as prob
from pourwright.panel.layout import CutPlan, Placement, SheetLayout
from pourwright.panel.shape_bound import shape_bound
from pourwright.panel.stock import Part, Saw, Sheet, material_mismatch

CELLS = 600  # cells along the longest sheet [-]
FINEST = 2e-3  # [m]

Ring = tuple[tuple[float, float], ...]


@njit(cache=True)
def first_place(runs, ahead, rows, cols, pad):
    """First free place, lowest row then lowest column.

    Parameters
    ----------
    runs : int64 array, shape (n, 3) [-]
        Row, first and last column of the cells a shape takes, relative to its place.
    ahead : int64 array, shape (rows of the sheet, columns of the sheet) [-]
        Column of the next taken cell at or after each cell.
    rows, cols : int [-]
        Last row and column at which the shape still lies on the sheet.
    pad : int [-]
        Cells around the sheet, on each side.

    Returns
    -------
    (row, column)
        Place [-], or (-1, -1).
    """
    for r in range(rows + 1):
        c = 0
        while c <= cols:
            jump = 0
            for k in range(runs.shape[0]):
                b = ahead[r + runs[k, 0] + pad, c + runs[k, 1] + pad]
                if b <= c + runs[k, 2] + pad:
                    jump = b - (c + runs[k, 1] + pad) + 1
                    break
            if jump == 0:
                return r, c
            c += jump
    return -1, -1


@njit(cache=True)
def _take(runs, taken, ahead, r, c, pad):
    n = ahead.shape[1]
    for k in range(runs.shape[0]):
        row = r + runs[k, 0] + pad
        for j in range(c + runs[k, 1] + pad, c + runs[k, 2] + pad + 1):
            taken[row, j] = True
        b = n
        for j in range(n - 1, -1, -1):
            if taken[row, j]:
                b = j
            ahead[row, j] = b


@dataclass(slots=True)
class _Pose:
    """A shape in one attitude: size [m], rings [m] from its lower left corner, cells."""

    length: float
    width: float
    ring: Ring
    holes: tuple[Ring, ...]
    turned: bool
    runs: NDArray[np.int64]


def _turn(ring: Ring, quarter: int) -> Ring:
    c, s = [(1, 0), (0, 1), (-1, 0), (0, -1)][quarter]
    return tuple((c * x - s * y, s * x + c * y) for x, y in ring)


def _runs(poly, step: float) -> NDArray[np.int64]:
    """Rows (along x) and columns (along y) of all cells whose centre lies in `poly`."""
    edges = []
    for ring in (poly.exterior, *poly.interiors):
        p = np.asarray(ring.coords)
        edges.append(np.hstack([p[:-1], p[1:]]))
    e = np.vstack(edges)
    x0, _, x1, _ = poly.bounds
    out = []
    for i in range(math.floor(x0 / step), math.ceil(x1 / step) + 1):
        x = (i + 0.5) * step
        a, b = e[:, 0], e[:, 2]
        hit = (a <= x) != (b <= x)
        if not hit.any():
            continue
        t = (x - a[hit]) / (b[hit] - a[hit])
        ys = np.sort(e[hit, 1] + t * (e[hit, 3] - e[hit, 1]))
        for lo, hi in zip(ys[::2], ys[1::2]):
            c0, c1 = math.ceil(lo / step - 0.5), math.floor(hi / step - 0.5)
            if c1 >= c0:
                out.append((i, c0, c1))
    return np.array(sorted(out, key=lambda r: -(r[2] - r[1])), np.int64).reshape(-1, 3)


def _poses(part: Part, kerf: float, step: float) -> list[_Pose]:
    from shapely import Polygon

    box = ((0.0, 0.0), (part.length, 0.0), (part.length, part.width), (0.0, part.width))
    ring = part.outline or box
    out: list[_Pose] = []
    seen: list[Polygon] = []
    for quarter in (0, 2) if part.grain else (0, 1, 2, 3):
        outer = _turn(ring, quarter)
        x0, y0 = min(p[0] for p in outer), min(p[1] for p in outer)
        outer = tuple((x - x0, y - y0) for x, y in outer)
        holes = tuple(tuple((x - x0, y - y0) for x, y in _turn(h, quarter)) for h in part.holes)
        poly = Polygon(outer, holes)
        if any(poly.symmetric_difference(q).area < 1e-9 for q in seen):
            continue
        seen.append(poly)
        wide = poly.buffer(kerf / 2 + step * math.sqrt(0.5) + 1e-9, quad_segs=8)
        length, width = max(p[0] for p in outer), max(p[1] for p in outer)
        out.append(_Pose(length, width, outer, holes, quarter % 2 == 1, _runs(wide, step)))
    return out


class _Grid:
    def __init__(self, sheet: Sheet, step: float, pad: int) -> None:
        self.sheet, self.step, self.pad = sheet, step, pad
        self.length = sheet.length - 2 * sheet.trim
        self.width = sheet.width - 2 * sheet.trim
        rows = math.ceil(self.length / step) + 2 * pad + 2
        cols = math.ceil(self.width / step) + 2 * pad + 2
        self.taken = np.zeros((rows, cols), np.bool_)
        self.ahead = np.full((rows, cols), cols, np.int64)
        self.placed: list[tuple[int, _Pose, float, float]] = []

    def put(self, piece: int, poses: list[_Pose]) -> bool:
        best = None
        for pose in poses:
            rows = math.floor((self.length - pose.length) / self.step + 1e-6)
            cols = math.floor((self.width - pose.width) / self.step + 1e-6)
            if rows < 0 or cols < 0:
                continue
            r, c = first_place(pose.runs, self.ahead, rows, cols, self.pad)
            if r >= 0:
                key = (r * self.step + pose.length, r, c)
                if best is None or key < best[0]:
                    best = (key, pose, r, c)
        if best is None:
            return False
        _, pose, r, c = best
        _take(pose.runs, self.taken, self.ahead, r, c, self.pad)
        self.placed.append((piece, pose, r * self.step, c * self.step))
        return True

    @property
    def reach(self) -> float:
        """How far along the sheet it is used [m]."""
        return max((x + p.length for _, p, x, _ in self.placed), default=0.0)


def _once(pieces, order, poses, sheets: list[Sheet], step: float, pad: int):
    """One nesting; None when the stock runs out."""
    stock = {s.name: (s.quantity if s.quantity is not None else 10**9) for s in sheets}
    left = list(order)
    grids: list[_Grid] = []
    while left:
        ready = [
            s
            for s in sheets
            if stock[s.name] > 0 and any(not material_mismatch(pieces[i][0], s) for i in left)
        ]
        choice = [s for s in ready if s.offcut] or ready
        best = None
        for s in choice:
            grid = _Grid(s, step, pad)
            rest = [
                i
                for i in left
                if material_mismatch(pieces[i][0], s) or not grid.put(i, poses[pieces[i][0].name])
            ]
            if len(rest) == len(left):
                stock[s.name] = 0
                continue
            area = sum(pieces[i][0].area for i in left) - sum(pieces[i][0].area for i in rest)
            key = (s.cost / area, -area)
            if best is None or key < best[0]:
                best = (key, grid, rest)
        if best is None:
            if not choice:
                return None
            continue
        _, grid, left = best
        stock[grid.sheet.name] -= 1
        grids.append(grid)
    return grids


def _polygon_area(part: Part) -> float:
    from shapely import Polygon

    if part.outline is None:
        return part.area
    return float(Polygon(part.outline, part.holes).area)


def check_shape(part: Part) -> None:
    """Check that an outline is sound and as large as its part.

    Parameters
    ----------
    part : Part [m]
        With or without outline.

    Raises
    ------
    InputError
        An outline that crosses itself or differs from the part's size.
    """
    from shapely import Polygon

    from pourwright.errors import InputError

    if part.outline is None:
        return
    poly = Polygon(part.outline, part.holes)
    x0, y0, x1, y1 = poly.bounds
    size_ok = abs(x1 - x0 - part.length) < 1e-5 and abs(y1 - y0 - part.width) < 1e-5
    if not poly.is_valid or poly.area <= 0 or not size_ok:
        raise InputError(
            f"parts.{part.name}.outline",
            f"{len(part.outline)} corners",
            "the outline must not cross itself, holes lie inside, and length and width must be "
            "those of its box",
            "Correct the outline, or leave it out to nest the rectangle.",
        )


def nest_shapes(
    parts: list[Part], sheets: list[Sheet], saw: Saw, seed: int, effort: float, watch: prob.Watch
) -> CutPlan:
    """Nest outlines on sheets.

    Parameters
    ----------
    parts : list of Part [m]
        Checked parts; those without outline count as rectangles.
    sheets : list of Sheet [m]
        Checked sheets.
    saw : Saw [m]
        Its kerf is the bit's diameter.
    seed : int [-]
        Of the orders.
    effort : float [-]
        Work allowed.
    watch : Watch [s]
        Time limit, progress and cancel.

    Returns
    -------
    CutPlan
        Places [m]; the bound [-] is by true area and by rectangles inside the outlines.
    """
    from pourwright.panel.nest import solve_nest

    for p in parts:
        check_shape(p)
    problem = prob.build(parts, sheets, saw.kerf)
    boxes = solve_nest(problem, seed, effort / 2, watch)
    bound, count, why = shape_bound(parts, sheets, saw.kerf, [_polygon_area(p) for p in parts])
    sheets = problem.sheets
    plain = [
        SheetLayout(sheet, 1, tuple(_with_ring(p) for p in row))
        for sheet, row in prob.places(problem, boxes.layout)
    ]
    best = (problem.cost_of(boxes.layout), max(p.x + p.length for p in plain[-1].placements))
    out = plain
    step = max(FINEST, max(s.length for s in sheets) / CELLS)
    poses = {p.name: _poses(p, saw.kerf, step) for p in parts}
    pad = 3 + math.ceil((saw.kerf / 2 + step) / step)
    pieces = [(p, c) for p in parts for c in range(1, p.quantity + 1)]
    size = np.array([_polygon_area(p) for p, _ in pieces])
    long = np.array([max(p.length, p.width) for p, _ in pieces])
    box = np.array([p.area for p, _ in pieces])
    rng = np.random.default_rng(seed)
    rounds = int(max(4, min(40, 600 / len(pieces))) * effort) + 1
    for k in range(rounds):
        if watch.over or (k >= 6 and best[0] <= bound * (1 + 1e-6)):
            break
        watch.tell(0.5 + 0.5 * k / rounds, "nesting outlines")
        key = (size, long, box)[k % 3]
        noise = 0.0 if k < 3 else 0.3
        order = np.argsort(-key * (1 + noise * rng.standard_normal(key.size)), kind="stable")
        grids = _once(pieces, order.tolist(), poses, sheets, step, pad)
        if grids is None:
            continue
        now = (sum(g.sheet.cost for g in grids), grids[-1].reach)
        if now < (best[0] * (1 - 1e-12), best[1]) or (now[0] <= best[0] and now[1] < best[1]):
            best = now
            out = [_layout(g, pieces) for g in grids]
    cost = sum(s.sheet.cost for s in out)
    return CutPlan(
        sheets=tuple(out),
        saw=saw,
        cost=cost,
        cost_bound=min(cost, bound),
        sheets_bound=count,
        bound_from=why,
        method=saw.method,
    )


def _layout(g: _Grid, pieces) -> SheetLayout:
    t = g.sheet.trim
    row = []
    for i, pose, x, y in g.placed:
        part, copy = pieces[i]
        ring: Ring = ()
        holes: tuple[Ring, ...] = ()
        if part.outline is not None:
            ring = tuple((a + x + t, b + y + t) for a, b in pose.ring)
            holes = tuple(tuple((a + x + t, b + y + t) for a, b in h) for h in pose.holes)
        row.append(
            Placement(part, copy, x + t, y + t, pose.length, pose.width, pose.turned, ring, holes)
        )
    return SheetLayout(g.sheet, 1, tuple(row))


def _with_ring(p: Placement) -> Placement:
    from dataclasses import replace

    if p.part.outline is None:
        return p

    def put(ring: Ring) -> Ring:
        if p.turned:
            return tuple((p.x + p.part.width - y, p.y + x) for x, y in ring)
        return tuple((p.x + x, p.y + y) for x, y in ring)

    x0 = min(q[0] for q in p.part.outline)
    y0 = min(q[1] for q in p.part.outline)

    def move(ring: Ring) -> Ring:
        return put(tuple((x - x0, y - y0) for x, y in ring))

    return replace(p, ring=move(p.part.outline), holes=tuple(move(h) for h in p.part.holes))
