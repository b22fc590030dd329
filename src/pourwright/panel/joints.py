"""Where to split a surface: few joints, clear of cut-outs, every piece light and small enough."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from pourwright.errors import InputError
from pourwright.panel.by_hand import check_apart, check_fixed
from pourwright.panel.door import Opening, passage
from pourwright.panel.limits import Limits
from pourwright.words import Amount, Sides, joined, say

if TYPE_CHECKING:
    from shapely import Polygon

STEP = 0.005  # joints are placed on whole steps [m]
MOST_JOINTS = 12
TO_CORNER = 0.15  # a joint this near to an inner corner is moved onto it [m]


@dataclass(frozen=True, slots=True)
class JointPlan:
    """Joints across one surface.

    `axis` is ``x`` when the joints run across the surface at the listed x; `at` [m]; `pieces` are
    shapely polygons [m]; `masses` [kg] of each; `moved` tells the joints placed by hand;
    `reason` says what made joints needed, empty when none is.
    """

    axis: str
    at: tuple[float, ...]
    pieces: tuple[Polygon, ...]
    masses: tuple[float, ...]
    fixed: tuple[float, ...] = ()
    reason: str = ""


class _Slabs:
    """Extent and area of the surface between any two places on one axis."""

    def __init__(self, polygon: Polygon, axis: str, cuts: list[float]) -> None:
        from shapely import box

        self.x = cuts
        x0, y0, x1, y1 = polygon.bounds
        self.low, self.high, self.area = [], [], [0.0]
        for a, b in pairwise(cuts):
            strip = box(a, y0 - 1, b, y1 + 1) if axis == "x" else box(x0 - 1, a, x1 + 1, b)
            part = polygon.intersection(strip)
            k = 1 if axis == "x" else 0
            faces = [g for g in getattr(part, "geoms", [part]) if g.area > 0]  # no mere edges
            self.low.append(min((g.bounds[k] for g in faces), default=math.inf))
            self.high.append(max((g.bounds[k + 2] for g in faces), default=-math.inf))
            self.area.append(self.area[-1] + part.area)

    def piece(self, i: int, j: int) -> tuple[float, float, float]:
        """Along, across [m] and area [m2] between cuts i and j."""
        low, high = min(self.low[i:j]), max(self.high[i:j])
        return self.x[j] - self.x[i], max(high - low, 0.0), self.area[j] - self.area[i]


def piece_fault(along: float, across: float, area: float, axis: str, limits: Limits) -> str | None:
    """What is wrong with a piece, in words, or None.

    Parameters
    ----------
    along, across : float [m]
        Size of the box around it, along and across the axis of the joints.
    area : float [m2]
        Its area.
    axis : str [-]
        ``x`` or ``y``: the surface's axis that `along` lies on; grain runs along x.
    limits : Limits [m, kg]
        What it must respect.

    Returns
    -------
    str or None
        A few words [-].
    """
    gx, gy = (along, across) if axis == "x" else (across, along)
    e = 1e-9
    fits = gx <= limits.sheet_length + e and gy <= limits.sheet_width + e
    if not fits and not limits.grain:
        fits = gy <= limits.sheet_length + e and gx <= limits.sheet_width + e
    if not fits:
        return say("larger than a sheet ({sheet:.0f})", sheet=Sides(gx * 1e3, gy * 1e3, "mm"))
    mass = area * limits.areal_mass
    if mass > limits.lift + e:
        return say(
            "heavier than {lift:.0f} ({mass:.0f})",
            lift=Amount(limits.lift, "kg"),
            mass=Amount(mass, "kg"),
        )
    a, b = max(along, across), min(along, across)
    for o in limits.openings:
        if _clearance(round(a, 6), round(b, 6), limits.thickness, o) < limits.clearance - e:
            return say("too large for the {opening}", opening=o.name)
    return None


@lru_cache(maxsize=20_000)
def _clearance(a: float, b: float, t: float, o: Opening) -> float:
    return passage(a, b, t, o).clearance


def _banned(holes, axis: str, keep: float) -> list[tuple[float, float, str]]:
    k = 0 if axis == "x" else 1
    out = []
    for name, ring in holes:
        v = [p[k] for p in ring]
        out.append((min(v) - keep, max(v) + keep, name))
    return out


def plan_joints(
    polygon: Polygon,
    limits: Limits,
    *,
    name: str = "surface",
    holes: Sequence[tuple[str, Sequence[tuple[float, float]]]] = (),
    fixed: Sequence[float] = (),
    axis: str | None = None,
    add: bool = True,
) -> JointPlan:
    """The fewest joints that make every piece fit, then as even as they can be.

    Parameters
    ----------
    polygon : shapely Polygon [m]
        The surface, cut-outs included as holes or not.
    limits : Limits [m, kg]
        What every piece must respect.
    name : str [-]
        The surface, for messages.
    holes : sequence of (name, ring of (x, y)) [m]
        Cut-outs to stay clear of; the polygon's own holes are taken too.
    fixed : sequence of float [m]
        Joints placed by hand: kept, or refused with the reason.
    axis : str or None [-]
        ``x``, ``y``, or None to try the longer side first and take the fewer joints.
    add : bool [-]
        Whether further joints may be added to those placed by hand.

    Returns
    -------
    JointPlan
        Places [m], pieces [m] and masses [kg].

    Raises
    ------
    InputError
        A joint by hand too near to a cut-out, an end or another; a surface that no set of joints on one
        axis makes fit, with the piece that fails and why.
    """
    rings = list(holes)
    known = len(rings)
    for i, hole in enumerate(polygon.interiors):
        rings.append((f"cut-out {i + 1}", list(hole.coords)) if not known else ("a cut-out",
                     list(hole.coords)))  # fmt: skip
    x0, y0, x1, y1 = polygon.bounds
    order = ["x", "y"] if x1 - x0 >= y1 - y0 else ["y", "x"]
    if axis is not None:
        if axis not in ("x", "y"):
            raise InputError(f"{name}.axis", axis, "x or y", "Choose one of them.")
        order = [axis]
    elif fixed:
        order = order[:1]
    whole = piece_fault(x1 - x0, y1 - y0, polygon.area, "x", limits)
    if whole is None and not fixed:
        return JointPlan(order[0], (), (polygon,), (polygon.area * limits.areal_mass,))
    best: JointPlan | None = None
    failure: InputError | None = None
    for a in order:
        try:
            plan = _one_axis(polygon, a, limits, name, rings, tuple(fixed), add, whole or "")
        except InputError as err:
            failure = failure or err
            continue
        if best is None or len(plan.at) < len(best.at):
            best = plan
    if best is None:
        assert failure is not None
        raise failure
    return best


def _one_axis(polygon, axis, limits: Limits, name, rings, fixed, add, reason) -> JointPlan:
    k = 0 if axis == "x" else 1
    lo, hi = polygon.bounds[k], polygon.bounds[k + 2]
    banned = _banned(rings, axis, limits.keep_off)
    fixed = tuple(sorted(fixed))
    for f in fixed:
        check_fixed(f, lo, hi, banned, limits, name)
    check_apart(fixed, limits, name)
    cuts = [lo]
    n = math.ceil((hi - lo) / STEP)
    stride = max(1, n // 400)
    marks = {lo + STEP * i for i in range(1, n, stride)}
    marks |= {b[0] for b in banned} | {b[1] for b in banned}
    inner_corners = _corners(polygon, k)
    marks |= set(inner_corners)
    for m in sorted(marks):
        near = min((abs(m - f) for f in fixed), default=1.0)
        if lo + 1e-6 < m < hi - 1e-6 and near > 1e-6:
            cuts.append(m)
    cuts = sorted({round(c, 6) for c in [*cuts, *fixed, hi]})
    allowed = [
        i == 0 or i == len(cuts) - 1
        or not any(b0 + 1e-9 < cuts[i] < b1 - 1e-9 for b0, b1, _ in banned)
        for i in range(len(cuts))
    ]  # fmt: skip
    slabs = _Slabs(polygon, axis, cuts)
    corners = [c for c in range(1, len(cuts) - 1) if allowed[c]
               and any(abs(cuts[c] - q) < 1e-5 for q in inner_corners)]  # fmt: skip
    must = [bisect_left(cuts, round(f, 6)) for f in fixed]
    stops = [0, *must, len(cuts) - 1]
    chosen: list[int] = []
    for i, j in pairwise(stops):
        inner = _fewest(slabs, i, j, allowed, axis, limits, add, corners)
        if inner is None:
            raise _no_way(slabs, i, j, allowed, axis, limits, name, banned, add)
        chosen += [*inner, j]
    at = tuple(cuts[i] for i in chosen[:-1])
    pieces = _split(polygon, axis, at)
    return JointPlan(
        axis, at, pieces, tuple(p.area * limits.areal_mass for p in pieces), fixed, reason
    )


def _corners(polygon, k: int) -> list[float]:
    """Places of the inner corners of the outline, where a joint reads as meant [m]."""
    from shapely.geometry.polygon import orient

    ring = list(orient(polygon).exterior.coords)[:-1]
    out = []
    for i, (x, y) in enumerate(ring):
        ax, ay = ring[i - 1]
        bx, by = ring[(i + 1) % len(ring)]
        if (x - ax) * (by - y) - (y - ay) * (bx - x) < -1e-6:
            out.append((x, y)[k])
    return out


def _fewest(
    slabs, i: int, j: int, allowed, axis: str, limits: Limits, add, corners
) -> list[int] | None:
    """Fewest inner cuts between i and j; among those the most even areas."""

    @cache
    def good(a: int, b: int) -> bool:
        along, across, area = slabs.piece(a, b)
        if along < limits.least_piece - 1e-9 and (a, b) != (i, j):
            return False
        return piece_fault(along, across, area, axis, limits) is None

    if good(i, j):
        return []
    if not add:
        return None
    total = slabs.area[j] - slabs.area[i]
    places = [c for c in range(i + 1, j) if allowed[c]]
    layer: dict[int, tuple[float, tuple[int, ...]]] = {i: (0.0, ())}
    for count in range(1, MOST_JOINTS + 1):
        share = total / (count + 1)
        layer = {i: (0.0, ())}
        for _ in range(count):
            nxt: dict[int, tuple[float, tuple[int, ...]]] = {}
            for a, (cost, path) in layer.items():
                for b in places[bisect_left(places, a + 1) :]:
                    if not good(a, b):
                        if slabs.x[b] - slabs.x[a] < limits.least_piece:
                            continue
                        break
                    c = cost + (slabs.area[b] - slabs.area[a] - share) ** 2
                    if b not in nxt or c < nxt[b][0] - 1e-15:
                        nxt[b] = (c, (*path, b))
            layer = nxt
        ends = [
            (c + (slabs.area[j] - slabs.area[a] - share) ** 2, path)
            for a, (c, path) in layer.items()
            if good(a, j)
        ]
        if ends:
            return _to_corners(list(min(ends)[1]), i, j, slabs, corners, good)
    return None


def _to_corners(path: list[int], i: int, j: int, slabs, corners, good) -> list[int]:
    """Joints near an inner corner of the outline moved onto it, where all pieces still fit."""
    for n, c in enumerate(path):
        before = path[n - 1] if n else i
        after = path[n + 1] if n + 1 < len(path) else j
        near = sorted(corners, key=lambda q: abs(slabs.x[q] - slabs.x[c]))
        for q in near[:1]:
            close = abs(slabs.x[q] - slabs.x[c]) <= TO_CORNER
            if close and before < q < after and good(before, q) and good(q, after):
                path[n] = q
    return path


def _no_way(slabs, i, j, allowed, axis, limits, name, banned, add) -> InputError:
    along, across, area = slabs.piece(i, j)
    fault = piece_fault(along, across, area, axis, limits) or "too short"
    near = ", ".join(sorted({b[2] for b in banned}))
    why = say(
        "a piece {size:.0f} is {fault}", size=Sides(along * 1e3, across * 1e3, "mm"), fault=fault
    )
    if not add:
        return InputError(
            f"{name}.joints", "joints placed by hand", why, "Move a joint or allow further ones."
        )
    thin = piece_fault(limits.least_piece, across, 0.0, axis, limits)
    if thin is None and near:
        close = say(
            ", and joints may not lie within {off:.0f} of {near}",
            off=Amount(limits.keep_off * 1e3, "mm"),
            near=near,
        )
        why = joined("", (why, close))
    elif thin is not None:
        even = say(
            "; even a {least:.0f} piece is {thin}",
            least=Amount(limits.least_piece * 1e3, "mm"),
            thin=thin,
        )
        why = joined("", (why, even))
    return InputError(
        f"{name}.joints",
        f"joints along {axis}",
        why,
        "Put joints the other way, move the cut-out, or relax a limit.",
    )


def _split(polygon, axis: str, at: Sequence[float]) -> tuple:
    from shapely import box

    x0, y0, x1, y1 = polygon.bounds
    ends = [x0 - 1 if axis == "x" else y0 - 1, *at, x1 + 1 if axis == "x" else y1 + 1]
    out = []
    for a, b in pairwise(ends):
        strip = box(a, y0 - 1, b, y1 + 1) if axis == "x" else box(x0 - 1, a, x1 + 1, b)
        part = polygon.intersection(strip)
        for g in getattr(part, "geoms", [part]):
            if g.geom_type == "Polygon" and g.area > 1e-6:
                out.append(g)
    return tuple(out)
