"""An independent check of a finished cut plan: nothing here knows how the plan was made."""

from __future__ import annotations

from pourwright.panel.layout import CutPlan, SheetLayout
from pourwright.panel.stock import Part, material_mismatch

TOL = 1e-6  # a thousandth of a millimetre [m]
_STAGES = {"two-stage": 2, "three-stage": 3, "guillotine": 10**9}


def faults(plan: CutPlan, parts: list[Part]) -> list[str]:
    """Everything wrong with `plan` for `parts` [m], in plain words; empty when it is sound.

    Checks that every piece lies inside the trimmed edges, a kerf clear of every other piece,
    turned only where allowed, on a sheet of its own material, exactly once; that no more sheets
    are used than in stock; and, for saws, that doing the listed cuts in order, each edge to edge
    over one loose piece, frees exactly the pieces, within the stages allowed (plus a trim).

    Parameters
    ----------
    plan : CutPlan [-]
        The finished plan.
    parts : list of Part [-]
        What was asked for.

    Returns
    -------
    list of str
        One sentence [-] per fault.
    """
    out: list[str] = []
    for s in plan.sheets:
        out += _sheet_faults(s, plan.saw.kerf)
        if plan.saw.method != "router":
            out += _cut_faults(s, plan.saw.kerf, _STAGES[plan.saw.method])
    used: dict[str, int] = {}
    for s in plan.sheets:
        used[s.sheet.name] = used.get(s.sheet.name, 0) + 1
        if s.sheet.quantity is not None and used[s.sheet.name] > s.sheet.quantity:
            out.append(f"{s.sheet.name}: more sheets used than in stock")
    wanted = {(p.name, c) for p in parts for c in range(1, p.quantity + 1)}
    placed = [(p.part.name, p.copy) for s in plan.sheets for p in s.placements]
    if len(placed) != len(set(placed)):
        out.append("a piece is placed twice")
    if plan.complete and set(placed) != wanted:
        out.append(f"pieces missing or unknown: {sorted(wanted ^ set(placed))[:3]}")
    if plan.cost < plan.cost_bound - 1e-9 * max(1.0, plan.cost):
        out.append(f"cost {plan.cost} is below its bound {plan.cost_bound}")
    if abs(sum(s.sheet.cost for s in plan.sheets) - plan.cost) > 1e-6:
        out.append("cost is not the sum of the sheets")
    return out


def _sheet_faults(s: SheetLayout, kerf: float) -> list[str]:
    out = []
    t = s.sheet.trim
    for p in s.placements:
        if material_mismatch(p.part, s.sheet):
            out.append(f"{p.label}: wrong material")
        size = (p.width, p.length) if p.turned else (p.length, p.width)
        if p.ring:
            if not _same_shape(p):
                out.append(f"{p.label}: not its own shape")
        else:
            if p.turned and p.part.grain:
                out.append(f"{p.label}: turned against its grain")
            if abs(size[0] - p.part.length) > TOL or abs(size[1] - p.part.width) > TOL:
                out.append(f"{p.label}: changed size")
        inside = (
            p.x >= t - TOL
            and p.y >= t - TOL
            and p.x + p.length <= s.sheet.length - t + TOL
            and p.y + p.width <= s.sheet.width - t + TOL
        )
        if not inside:
            out.append(f"{p.label}: outside the trimmed sheet")
    ps = s.placements
    for i, a in enumerate(ps):
        for b in ps[i + 1 :]:
            dx = max(a.x - (b.x + b.length), b.x - (a.x + a.length))
            dy = max(a.y - (b.y + b.width), b.y - (a.y + a.width))
            if max(dx, dy) >= kerf - TOL:
                continue
            if (a.ring or b.ring) and _polygon(a).distance(_polygon(b)) >= kerf - TOL:
                continue
            out.append(f"{a.label} and {b.label}: closer than a kerf")
    return out


def _same_shape(p) -> bool:
    """True when the ring is the part's outline, moved and turned by allowed quarter turns."""
    from shapely import affinity
    from shapely.geometry import Polygon

    mine = _polygon(p)
    for angle in (0, 180) if p.part.grain else (0, 90, 180, 270):
        want = affinity.rotate(Polygon(p.part.outline, p.part.holes), angle, origin=(0, 0))
        x0, y0 = want.bounds[:2]
        want = affinity.translate(want, mine.bounds[0] - x0, mine.bounds[1] - y0)
        if want.symmetric_difference(mine).area < 1e-7:
            return True
    return False


def _polygon(p):
    from shapely.geometry import Polygon, box

    if not p.ring:
        return box(p.x, p.y, p.x + p.length, p.y + p.width)
    return Polygon(p.ring, p.holes)


def _cut_faults(s: SheetLayout, kerf: float, stages: int) -> list[str]:
    out: list[str] = []
    loose: list[list[float]] = [[0.0, 0.0, s.sheet.length, s.sheet.width]]
    for n, cut in enumerate(s.cuts, 1):
        if cut.number != n:
            out.append(f"{s.label}: cut {cut.number} stands in place {n}")
        if cut.stage > stages + 1:
            out.append(f"{s.label}: cut {n} is of stage {cut.stage}")
        k = 0 if cut.axis == "x" else 1
        hit = [
            b
            for b in loose
            if abs(b[1 - k] - cut.start) <= TOL
            and abs(b[3 - k] - cut.end) <= TOL
            and cut.at + kerf > b[k] + TOL
            and cut.at < b[k + 2] - TOL
        ]
        if len(hit) != 1:
            out.append(f"{s.label}: cut {n} runs over {len(hit)} loose pieces, not 1")
            continue
        b = hit[0]
        loose.remove(b)
        for lo, hi in ((b[k], cut.at), (cut.at + kerf, b[k + 2])):
            if hi - lo > TOL:
                c = list(b)
                c[k], c[k + 2] = lo, hi
                loose.append(c)
    for p in s.placements:
        want = [p.x, p.y, p.x + p.length, p.y + p.width]
        if not any(all(abs(a - b) <= 4 * TOL for a, b in zip(want, c)) for c in loose):
            out.append(f"{p.label}: the cuts do not free it")
    return out
