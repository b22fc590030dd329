"""Outlines from a DXF file: closed shapes, loose lines and arcs chained, units respected."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from itertools import pairwise

from pourwright.errors import InputError
from pourwright.words import say

MAX_BYTES = 8_000_000
MAX_ENTITIES = 20_000
MAX_POINTS = 100_000
CHORD = 2e-5  # largest distance between an arc and its chords [m]
JOIN = 5e-5  # ends closer than this are one point [m]
_UNITS = {1: 0.0254, 2: 0.3048, 4: 1e-3, 5: 1e-2, 6: 1.0, 10: 0.9144, 14: 0.1}
_UNIT_NAMES = {1: "inches", 2: "feet", 4: "mm", 5: "cm", 6: "m", 10: "yards", 14: "dm"}

Ring = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """One closed outline with the holes inside it, in metres, and the layer it stood on."""

    layer: str
    ring: Ring
    holes: tuple[Ring, ...]


@dataclass(frozen=True, slots=True)
class Outlines:
    """What a file held: shapes, largest first [m], its unit as text, and what was passed over."""

    shapes: tuple[Shape, ...]
    unit: str
    warnings: tuple[str, ...]


def _refuse(what: str, limit: str, remedy: str) -> InputError:
    return InputError("dxf", what, limit, remedy)


def read_dxf(
    data: bytes, unit: float | None = None, layers: tuple[str, ...] | None = None
) -> Outlines:
    """The closed outlines of a DXF file.

    Closed polylines with their arcs, circles, ellipses and closed splines are taken as they are;
    loose lines, arcs and open polylines are chained where their ends meet.

    Parameters
    ----------
    data : bytes [-]
        The file, at most 8 MB.
    unit : float or None [m]
        Length of one drawing unit; None: as the file's header says, else millimetres.
    layers : tuple of str or None [-]
        Only these layers; None: all.

    Returns
    -------
    Outlines
        Shapes in metres [m] with their holes.

    Raises
    ------
    InputError
        Not a DXF file, broken, too large, or without a closed outline.
    """
    if len(data) > MAX_BYTES:
        raise _refuse(
            f"{len(data) / 1e6:.1f} MB",
            say("at most {most:.0f} MB", most=MAX_BYTES / 1e6),
            "Save only the outline to a new file.",
        )
    head = data[:4096].lstrip()
    if not head or (b"SECTION" not in head and b"Binary DXF" not in head[:24]):
        raise _refuse(
            "the file", "it must be a DXF drawing", "Export the outline as DXF and try again."
        )
    doc = _open(data)
    notes: list[str] = []
    code = _header_unit(doc)
    if unit is None:
        unit = _UNITS.get(code, 1e-3)
        if code not in _UNITS:
            notes.append("The file names no unit known here; millimetres were assumed.")
    name = _UNIT_NAMES.get(code, "mm assumed")
    space = doc.modelspace()
    if len(space) > MAX_ENTITIES:
        raise _refuse(
            f"{len(space)} drawing elements",
            say("at most {most}", most=MAX_ENTITIES),
            "Save only the outline to a new file.",
        )
    closed: list[tuple[str, list[tuple[float, float]]]] = []
    loose: list[tuple[str, list[tuple[float, float]]]] = []
    passed: dict[str, int] = {}
    points = 0
    for e in space:
        layer = str(e.dxf.get("layer", "0"))
        if layers is not None and layer not in layers:
            continue
        try:
            got = _points(e, unit)
        except InputError:
            raise
        except Exception:  # a broken element is passed over and counted
            got = None
        if got is None:
            passed[e.dxftype()] = passed.get(e.dxftype(), 0) + 1
            continue
        pts, is_closed = got
        points += len(pts)
        if points > MAX_POINTS:
            raise _refuse(
                f"more than {MAX_POINTS} points",
                say("at most {most}", most=MAX_POINTS),
                "Simplify the outline.",
            )
        if any(not (math.isfinite(x) and math.isfinite(y)) or abs(x) + abs(y) > 1e4
               for x, y in pts):  # fmt: skip
            raise _refuse(
                f"a point on layer {layer}",
                "coordinates must be finite and within 10 km",
                "Check the drawing and its unit.",
            )
        if len(pts) < 2:
            continue
        if is_closed or (_same(pts[0], pts[-1]) and len(pts) > 3):
            closed.append((layer, pts))
        else:
            loose.append((layer, pts))
    chains, ends = _chain(loose)
    closed += chains
    if ends:
        x, y = ends[0]
        notes.append(
            f"{len(ends)} open end(s) were passed over, the first at "
            f"x {x / unit:.4g}, y {y / unit:.4g} in the drawing."
        )
    if passed:
        kinds = ", ".join(f"{n} {k}" for k, n in sorted(passed.items()))
        notes.append(f"Not read as outline: {kinds}.")
    shapes = _nest(closed, notes)
    if not shapes:
        raise _refuse(
            "no closed outline",
            "at least one closed outline is needed",
            "Close the outline in the drawing and explode blocks before exporting.",
        )
    return Outlines(tuple(shapes), name, tuple(notes))


def _open(data: bytes):
    from ezdxf import recover

    try:
        doc, _ = recover.read(io.BytesIO(data))
        return doc
    except Exception:  # ezdxf raises many kinds on broken files; all mean the same to the user
        raise _refuse(
            "the file",
            "it is not a readable DXF drawing",
            "Export it again, as DXF R2000 or later.",
        ) from None


def _header_unit(doc) -> int:
    try:
        return int(doc.header.get("$INSUNITS", 0))
    except (TypeError, ValueError):
        return 0


def _same(a, b) -> bool:
    return math.hypot(a[0] - b[0], a[1] - b[1]) <= JOIN


def _points(e, unit: float) -> tuple[list[tuple[float, float]], bool] | None:
    """Points [m] of one drawing element and whether it is closed; None when it is no line."""
    kind = e.dxftype()
    if kind == "LINE":
        a, b = e.dxf.start, e.dxf.end
        return [(a.x * unit, a.y * unit), (b.x * unit, b.y * unit)], False
    if kind not in ("LWPOLYLINE", "POLYLINE", "CIRCLE", "ARC", "ELLIPSE", "SPLINE"):
        return None
    from ezdxf.path import make_path

    if kind == "POLYLINE" and not (e.is_2d_polyline or e.is_3d_polyline):
        return None
    if kind in ("CIRCLE", "ARC") and not 0 < e.dxf.radius * unit < 1e4:
        raise _refuse(
            f"an arc of radius {e.dxf.radius:.4g}",
            "a radius above 0 and below 10 km",
            "Check the drawing and its unit.",
        )
    if kind in ("CIRCLE", "ARC", "LWPOLYLINE"):
        pts = _exact(e, unit)
        if len(pts) > MAX_POINTS:
            raise _refuse(
                f"{len(pts)} points on one arc",
                say("at most {most}", most=MAX_POINTS),
                "Check the drawing's unit.",
            )
    else:
        path = make_path(e)
        if kind == "SPLINE" and len(path) > 2000:
            raise _refuse("a spline of many points", "at most 2000 pieces", "Simplify the outline.")
        pts = [(v.x * unit, v.y * unit) for v in path.flattening(CHORD / unit, segments=4)]
    closed = bool(getattr(e, "is_closed", False)) or bool(getattr(e, "closed", False))
    if kind == "CIRCLE" or (len(pts) > 3 and _same(pts[0], pts[-1])):
        closed = True
    return pts, closed


def _arc(cx: float, cy: float, r: float, start: float, sweep: float, unit: float):
    """Points on a circular arc, first to last, chords within `CHORD`; drawing units."""
    step = 2 * math.acos(max(-1.0, 1 - min(CHORD / unit, r) / r))
    n = int(min(MAX_POINTS + 1, max(4, math.ceil(abs(sweep) / step))))
    return [
        (cx + r * math.cos(start + sweep * i / n), cy + r * math.sin(start + sweep * i / n))
        for i in range(n + 1)
    ]


def _exact(e, unit: float) -> list[tuple[float, float]]:
    """Points [m] of a circle, an arc or a polyline with arcs, in the drawing's plane."""
    from ezdxf.math import Vec3, bulge_to_arc

    flat: list[tuple[float, float]] = []
    if e.dxftype() == "LWPOLYLINE":
        rows = [(x, y, b) for x, y, b in e.get_points("xyb")]
        if e.closed and rows:
            rows.append((rows[0][0], rows[0][1], 0.0))
        for (x, y, bulge), (u, v, _) in pairwise(rows):
            flat.append((x, y))
            if abs(bulge) > 1e-9 and math.hypot(u - x, v - y) > 0:
                c, a0, a1, r = bulge_to_arc((x, y), (u, v), bulge)
                sweep = (a1 - a0) % math.tau
                arc = _arc(c.x, c.y, r, a0, sweep, unit)
                flat += (arc if bulge > 0 else arc[::-1])[1:-1]
        if rows:
            flat.append(rows[-1][:2])
    else:
        c, r = e.dxf.center, e.dxf.radius
        if e.dxftype() == "CIRCLE":
            a0, sweep = 0.0, math.tau
        else:
            a0 = math.radians(e.dxf.start_angle)
            sweep = (math.radians(e.dxf.end_angle) - a0) % math.tau or math.tau
        flat = _arc(c.x, c.y, r, a0, sweep, unit)
    ocs = e.ocs()
    if ocs.transform:
        flat = [(w.x, w.y) for w in (ocs.to_wcs(Vec3(x, y, 0)) for x, y in flat)]
    return [(float(x * unit), float(y * unit)) for x, y in flat]


def _chain(loose):
    """Rings made of loose pieces that meet end to end, and the open ends that remain."""
    from collections import defaultdict

    def cell(p):
        return round(p[0] / JOIN), round(p[1] / JOIN)

    at = defaultdict(list)
    for i, (_, pts) in enumerate(loose):
        for end in (0, -1):
            at[cell(pts[end])].append((i, end))

    def near(p, but):
        cx, cy = cell(p)
        for dx in (0, -1, 1):
            for dy in (0, -1, 1):
                for i, end in at.get((cx + dx, cy + dy), ()):
                    if i not in but and _same(loose[i][1][end], p):
                        return i, end
        return None

    used: set[int] = set()
    rings, ends = [], []
    for i in range(len(loose)):
        if i in used:
            continue
        used.add(i)
        layer, pts = loose[i][0], list(loose[i][1])
        for back in (False, True):
            while not (len(pts) > 3 and _same(pts[0], pts[-1])):
                found = near(pts[-1], used)
                if found is None:
                    break
                j, end = found
                used.add(j)
                more = loose[j][1] if end == 0 else loose[j][1][::-1]
                pts += more[1:]
            if not back:
                if _same(pts[0], pts[-1]):
                    break
                pts.reverse()
        if len(pts) > 3 and _same(pts[0], pts[-1]):
            rings.append((layer, pts))
        else:
            ends.append(pts[0])
    return rings, ends


def _nest(closed, notes: list[str]) -> list[Shape]:
    """Rings sorted into outlines and the holes inside them."""
    from shapely import Polygon

    polys = []
    bad = 0
    for layer, pts in closed:
        corners = [pts[0]]
        for p in pts[1:]:
            if math.hypot(p[0] - corners[-1][0], p[1] - corners[-1][1]) > 1e-7:
                corners.append(p)
        if len(corners) > 1 and _same(corners[0], corners[-1]):
            corners.pop()
        poly = Polygon(corners) if len(corners) >= 3 else None
        if poly is None or not poly.is_valid or poly.area < 1e-8:
            bad += 1
            continue
        polys.append((layer, tuple(corners), poly))
    if bad:
        notes.append(f"{bad} outline(s) cross themselves or have no area and were passed over.")
    polys.sort(key=lambda q: -q[2].area)
    if len(polys) > 2000:
        raise _refuse(
            f"{len(polys)} outlines", "at most 2000", "Save only the parts to a new file."
        )
    depth = [0] * len(polys)
    inside: list[list[int]] = [[] for _ in polys]
    for i, (_, _, p) in enumerate(polys):
        parents = [j for j in range(i) if polys[j][2].contains(p)]
        depth[i] = len(parents)
        if parents and depth[i] % 2 == 1:
            owner = max((j for j in parents if depth[j] % 2 == 0), default=parents[-1])
            inside[owner].append(i)
    out = []
    for i, (layer, ring, _) in enumerate(polys):
        if depth[i] % 2 == 0:
            out.append(Shape(layer, ring, tuple(polys[j][1] for j in inside[i])))
    return out


def shape_part_size(shape: Shape) -> tuple[float, float]:
    """Length and width of the box around a shape.

    Parameters
    ----------
    shape : Shape [m]
        From `read_dxf`.

    Returns
    -------
    (length, width)
        Along x and y [m].
    """
    xs = [p[0] for p in shape.ring]
    ys = [p[1] for p in shape.ring]
    return max(xs) - min(xs), max(ys) - min(ys)
