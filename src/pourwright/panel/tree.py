"""The order of edge-to-edge cuts that frees a set of rectangles from a sheet.

The cuts are found from the finished layout alone, so the same code proves that a layout can be
sawn (or that it cannot: the pinwheel has no first cut).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from pourwright.panel.layout import Cut, Placement, Rect
from pourwright.panel.stock import Sheet

TOL = 2e-6  # sizes closer than this are the same [m]


@dataclass(slots=True)
class _Node:
    box: tuple[float, float, float, float]  # x0, y0, x1, y1 [m]
    stage: int
    axis: str = ""
    at: list[float] = field(default_factory=list)
    children: list[_Node] = field(default_factory=list)
    item: int = -1


Box = tuple[float, float, float, float]


def _slice(boxes: Sequence[Box], ids: list[int], box: Box, k: int, kerf: float):
    """Cut positions across axis k and the groups between them; None when there is no cut."""
    order = sorted(ids, key=lambda i: boxes[i][k])
    lo, hi = box[k], box[k + 2]
    cuts: list[float] = []
    spans: list[tuple[float, float, list[int]]] = []
    start = boxes[order[0]][k]
    if start > lo + TOL:
        cuts.append(start - kerf)
        if start - kerf > lo + TOL:
            spans.append((lo, start - kerf, []))
    group: list[int] = [order[0]]
    end = boxes[order[0]][k + 2]
    for i in order[1:]:
        s = boxes[i][k]
        if s >= end + kerf - TOL and s > end - TOL:
            cuts.append(end)
            spans.append((start, end, group))
            gap = s - (end + kerf)
            if gap > TOL:
                cuts.append(s - kerf)
                if gap - kerf > TOL:
                    spans.append((end + kerf, s - kerf, []))
            group, start = [], s
        group.append(i)
        end = max(end, boxes[i][k + 2])
    spans.append((start, end, group))
    if hi > end + TOL:
        cuts.append(end)
        if hi > end + kerf + TOL:
            spans.append((end + kerf, hi, []))
    return (cuts, spans) if cuts else None


def _grow(boxes: Sequence[Box], ids: list[int], box: Box, k: int, kerf: float, stage: int):
    node = _Node(box, stage)
    if not ids:
        return node
    if len(ids) == 1 and all(abs(a - b) <= TOL for a, b in zip(boxes[ids[0]], box)):
        node.item = ids[0]
        return node
    for axis, step in ((k, 0), (1 - k, 1)):
        cut = _slice(boxes, ids, box, axis, kerf)
        if cut is None:
            continue
        node.axis, node.stage = "xy"[axis], stage + step
        node.at = cut[0]
        for lo, hi, group in cut[1]:
            inner = (lo, box[1], hi, box[3]) if axis == 0 else (box[0], lo, box[2], hi)
            child = _grow(boxes, group, inner, 1 - axis, kerf, node.stage + 1)
            if child is None:
                return None
            node.children.append(child)
        return node
    return None


def _leaves(node: _Node) -> list[_Node]:
    if not node.children:
        return [node]
    return [leaf for c in node.children for leaf in _leaves(c)]


def _depth(node: _Node) -> int:
    return max([node.stage] + [_depth(c) for c in node.children]) if node.axis else 0


def _tree(boxes: Sequence[Box], box: Box, kerf: float) -> _Node | None:
    ids = list(range(len(boxes)))
    found = []
    for k in (1, 0):  # ripping along the sheet first, then across
        if _slice(boxes, ids, box, k, kerf) is None:
            continue
        root = _grow(boxes, ids, box, k, kerf, 1)
        if root is not None:
            waste = [
                (n.box[2] - n.box[0]) * (n.box[3] - n.box[1])
                for n in _leaves(root)
                if n.item < 0 and not n.children
            ]
            found.append((_depth(root), -max(waste, default=0.0), k, root))
    if not found:
        return _grow(boxes, ids, box, 0, kerf, 1)
    return min(found, key=lambda f: f[:3])[3]


def stages(boxes: Sequence[Box], box: Box, kerf: float) -> int | None:
    """How many times the direction of cut changes, plus one, or None.

    Parameters
    ----------
    boxes : sequence of (x0, y0, x1, y1) [m]
        The pieces as they lie, a kerf apart.
    box : tuple [m]
        The sheet, as x0, y0, x1, y1.
    kerf : float [m]
        Width of a cut.

    Returns
    -------
    int or None
        Stages [-]; None when no order of edge-to-edge cuts frees the pieces.
    """
    root = _tree(boxes, box, kerf)
    return None if root is None else _depth(root)


def saw_order(
    sheet: Sheet, placements: Sequence[Placement], kerf: float, keep: float = 0.1
) -> tuple[tuple[Cut, ...], tuple[Rect, ...]] | None:
    """The numbered cuts that free the pieces of one sheet, and the off-cuts that remain.

    Parameters
    ----------
    sheet : Sheet [-]
        The sheet, with its trim [m].
    placements : sequence of Placement [-]
        Where the pieces lie.
    kerf : float [m]
        Width of a cut.
    keep : float [m]
        Off-cuts with both sides at least this long are listed.

    Returns
    -------
    (cuts, offcuts) or None
        Cuts in order of work and off-cut rectangles [m], largest first; None when the layout
        cannot be cut edge to edge.
    """
    t = sheet.trim
    box = (t, t, sheet.length, sheet.width)
    boxes = [(p.x, p.y, p.x + p.length, p.y + p.width) for p in placements]
    root = _tree(boxes, box, kerf)
    if root is None:
        return None
    cuts: list[Cut] = []
    if t > TOL:
        cuts.append(Cut(1, "y", t - kerf, 0.0, sheet.length, 0, "straight reference edge"))
        cuts.append(Cut(2, "x", t - kerf, t, sheet.width, 0, "square reference edge"))
    offcuts: list[Rect] = []

    def walk(node: _Node) -> None:
        if node.axis:
            k = "xy".index(node.axis)
            for at in node.at:
                cuts.append(
                    Cut(
                        len(cuts) + 1,
                        node.axis,
                        at,
                        node.box[1 - k],
                        node.box[3 - k],
                        node.stage,
                        _gives(node, at, placements),
                    )
                )
            for c in node.children:
                walk(c)
        elif node.item < 0:
            x0, y0, x1, y1 = node.box
            x1, y1 = min(x1, sheet.length - t), min(y1, sheet.width - t)
            if min(x1 - x0, y1 - y0) >= keep:
                offcuts.append(Rect(x0, y0, x1 - x0, y1 - y0))

    walk(root)
    offcuts.sort(key=lambda r: (-r.area, r.x, r.y))
    return tuple(cuts), tuple(offcuts)


def _gives(node: _Node, at: float, placements: Sequence[Placement]) -> str:
    """What comes loose with the cut at `at`, in a few words."""
    k = "xy".index(node.axis)
    for c in node.children:
        if abs(c.box[k + 2] - at) <= TOL:
            if c.item >= 0:
                return placements[c.item].label
            if not c.children:
                return "off-cut"
            across = c.box[k + 2] - c.box[k]
            return f"strip {across * 1e3:.0f} mm"
    return "trim"
