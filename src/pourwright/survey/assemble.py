"""From measures to checked surfaces: edges by name, stretches of an edge, cut-outs in place."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from pourwright.errors import InputError
from pourwright.survey.edges import Edge, EdgeProfile
from pourwright.survey.outline import (
    Corner,
    Outline,
    Point,
    Side,
    make_outline,
    rectangle,
)
from pourwright.survey.paths import path_points
from pourwright.survey.surface import CutOut, Lie, Purpose, Surface
from pourwright.words import Amount, Own, say

RECTANGLE_EDGES: dict[str, tuple[str, ...]] = {
    "horizontal": ("front", "right", "back", "left"),
    "upright": ("bottom", "right", "top", "left"),
}
"""Names of the edges of a surface given by its size, in order from edge 1."""

KEEP_OFF_M = 0.05
"""A cut-out closer to an edge than this is warned about, unless the surface says otherwise [m]."""

Stretch = tuple[EdgeProfile, float | None, str | None]
"""One stretch of an edge: profile, length [m] or None for the rest, partner edge or None."""


def make_surface(
    name: str,
    outline: Outline,
    stretches: Mapping[int, Sequence[Stretch]],
    names: Sequence[str] | None = None,
    cut_outs: Sequence[CutOut] = (),
    lie: Lie = "horizontal",
    purpose: Purpose = "surface",
    count: int = 1,
    keep_off: float = KEEP_OFF_M,
) -> Surface:
    """A surface from a checked outline, its edges and its cut-outs.

    Parameters
    ----------
    name : str [-]
    outline : Outline [m]
    stretches : mapping of int to sequence of Stretch [m]
        For every edge number: one stretch for the whole edge, or several from its first corner
        on; the last may leave its length open.
    names : sequence of str [-]
        Names of edges 1 to n; the numbers themselves when left out.
    cut_outs : sequence of CutOut [m]
    lie : str [-]
        ``horizontal`` or ``upright``.
    purpose : str [-]
        ``surface`` or ``board``.
    count : int [-]
        Equal pieces of it.
    keep_off : float [m]
        Distance of cut-outs from edges and from each other below which to warn.

    Returns
    -------
    surface : Surface [m]

    Raises
    ------
    InputError
        Stretches longer than their edge; cut-outs outside, or into an edge or one another.
    """
    where = f"surface {name}"
    sides: list[Side] = []
    edges: list[Edge] = []
    for side in outline.sides:
        label = names[side.number - 1] if names else str(side.number)
        wanted = list(stretches[side.number])
        parts = _split(side, wanted, f"edge {label} of {where}")
        backwards = side.start.number != side.number
        many = len(parts) > 1
        numbered = [f"{label}-{k}" if many else label for k in range(1, len(parts) + 1)]
        if backwards:
            wanted.reverse()
            numbered.reverse()
        sides += parts
        edges += [
            Edge(side.number, text, part, profile, meets)
            for text, part, (profile, _, meets) in zip(numbered, parts, wanted, strict=True)
        ]
    made = Surface(
        name=name,
        outline=Outline(tuple(sides), outline.path),
        edges=tuple(edges),
        cut_outs=tuple(cut_outs),
        lie=lie,
        purpose=purpose,
        count=count,
    )
    return replace(made, warnings=tuple(_check_cut_outs(made, keep_off)))


def make_cut_out(
    name: str,
    profile: EdgeProfile,
    size: tuple[float, float] | None = None,
    diameter: float | None = None,
    corners: Sequence[Point] | None = None,
    radius: float | Sequence[float] = 0.0,
    at: Point = (0.0, 0.0),
    turn: float = 0.0,
    poured_over: bool = False,
    where: str = "",
) -> CutOut:
    """A cut-out: a rectangle with rounded corners, a circle, or a free outline.

    Parameters
    ----------
    name : str [-]
    profile : EdgeProfile [m]
        Of its own edge, all round: ``wall`` where the pour stops at it, ``free`` where it is
        poured over.
    size : (float, float) [m]
        Width and depth of a rectangle; or
    diameter : float [m]
        of a circle; or
    corners : sequence of (float, float) [m]
        of a free outline. Exactly one of the three.
    radius : float or sequence of float [m]
        Corner radius, not for a circle.
    at : (float, float) [m]
        Centre of the rectangle or circle in the surface; an offset for a free outline.
    turn : float [rad]
        Turns the shape anticlockwise about `at`.
    poured_over : bool [-]
        True when the hole is cut after the pour.
    where : str [-]
        The surface, for messages.

    Returns
    -------
    cut_out : CutOut [m]

    Raises
    ------
    InputError
        None or several shapes given, sizes not above zero, and all that `make_outline` refuses.
    """
    label = (
        say("cut-out {name} of {where}", name=name, where=where)
        if where
        else say("cut-out {name}", name=name)
    )
    if sum(v is not None for v in (size, diameter, corners)) != 1:
        raise InputError(
            label,
            None,
            "it has exactly one of size, diameter and outline",
            "Give one of the three.",
        )
    if profile.kind not in ("wall", "free"):
        raise InputError(
            f"{label}, edge",
            profile.kind,
            "the edge of a cut-out is wall (the pour stops there) or free (poured over)",
            "Choose wall or free.",
        )
    if diameter is not None:
        _positive(diameter, f"{label}, diameter")
        # A square whose corner radius is half its side is a circle, exactly.
        size, radius = (diameter, diameter), diameter / 2
    if size is not None:
        _positive(size[0], f"{label}, size")
        _positive(size[1], f"{label}, size")
        corners = rectangle(size[0], size[1], -size[0] / 2, -size[1] / 2)
    assert corners is not None
    c, s = math.cos(turn), math.sin(turn)
    moved = [(at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in corners]
    outline = make_outline(moved, radius, label, hole=True)
    edges = tuple(Edge(side.number, str(side.number), side, profile) for side in outline.sides)
    return CutOut(name, outline, edges, poured_over)


def _positive(value: float, where: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(
            where, f"{value * 1e3:.6g} mm", "it is more than 0 mm", "Give its length with a unit."
        )


def _split(side: Side, wanted: Sequence[Stretch], where: str) -> list[Side]:
    """The side cut into stretches [m], in the direction of the side."""
    if len(wanted) == 1 and wanted[0][1] is None:
        return [side]
    lengths = [length for _, length, _ in wanted]
    if any(length is None for length in lengths[:-1]):
        raise InputError(
            where,
            None,
            "every stretch but the last needs its length",
            "Add length to each stretch of the edge.",
        )
    known = [length for length in lengths if length is not None]
    for length in known:
        _positive(length, f"{where}, length")
    rest = side.side - math.fsum(known)
    if lengths[-1] is None:
        known.append(rest)
    if known[-1] <= 1e-9 or (lengths[-1] is not None and abs(rest) > 1e-3):
        raise InputError(
            where,
            f"{math.fsum(v for v in lengths if v is not None) * 1e3:.6g} mm in stretches",
            say("the edge is {side:.6g} long", side=Amount(side.side * 1000.0, "mm")),
            "Make the stretches add up to the edge, or leave the last length out.",
        )
    if side.start.number != side.number:
        known.reverse()
    scale = side.side / math.fsum(known)
    out, start, done = [], side.start, 0.0
    for k, length in enumerate(known):
        done += length * scale
        share = done / side.side
        end = (
            side.end
            if k == len(known) - 1
            else Corner(
                side.number,
                side.start.x + share * (side.end.x - side.start.x),
                side.start.y + share * (side.end.y - side.start.y),
                0.0,
                0.0,
            )
        )
        out.append(Side(side.number, start, end))
        start = end
    first, last = out[0], out[-1]
    if first.side < side.start.tangent or last.side < side.end.tangent:
        raise InputError(
            where,
            f"{min(first.side, last.side) * 1e3:.6g} mm",
            "the stretch beside a rounded corner is at least as long as the rounding takes",
            "Make that stretch longer, or the corner radius smaller.",
        )
    return out


def _check_cut_outs(surface: Surface, keep_off: float) -> list[str]:
    """Refuse cut-outs that leave the surface or meet; return warnings for those too close."""
    if not surface.cut_outs:
        return []
    from shapely import LineString
    from shapely import Polygon as _Polygon

    face = _Polygon(path_points(surface.outline.path))
    made = [(c, _Polygon(path_points(c.outline.path))) for c in surface.cut_outs]
    warnings = []
    for k, (c, hole) in enumerate(made):
        where = say("cut-out {name} of surface {surface}", name=c.name, surface=surface.name)
        if not face.contains(hole):
            out = [v for v in c.outline.corners if not face.covers(_point(v.x, v.y))]
            spot = (
                say("its corner {number} lies", number=out[0].number) if out else "part of it lies"
            )
            raise InputError(
                where,
                f"{hole.difference(face).area * 1e4:.4g} cm2 outside",
                say("{spot} outside the surface, or on its edge", spot=spot),
                "Move it inwards, make it smaller, or draw it as part of the outline.",
            )
        for other, theirs in made[:k]:
            if other.name == c.name:
                raise InputError(
                    where, c.name, "each cut-out has its own name", "Rename one of the two."
                )
            gap = hole.distance(theirs)
            if gap <= 0:
                raise InputError(
                    where,
                    f"{hole.intersection(theirs).area * 1e4:.4g} cm2 shared",
                    say("it runs into cut-out {name}", name=Own(other.name)),
                    "Move one of the two.",
                )
            if gap < keep_off:
                warnings.append(
                    say(
                        "{where} is {gap:.0f} from cut-out {other}; below {keep_off:.0f} the bridge between "
                        "them is weak.",
                        where=where,
                        gap=Amount(gap * 1e3, "mm"),
                        other=other.name,
                        keep_off=Amount(keep_off * 1e3, "mm"),
                    )
                )
        for e in surface.edges:
            line = LineString([(e.side.start.x, e.side.start.y), (e.side.end.x, e.side.end.y)])
            gap = hole.distance(line)
            if gap < keep_off:
                warnings.append(
                    say(
                        "{where} is {gap:.0f} from edge {edge} ({kind}); below {keep_off:.0f} the strip of "
                        "core there is weak.",
                        where=where,
                        gap=Amount(gap * 1e3, "mm"),
                        edge=e.name,
                        kind=e.kind,
                        keep_off=Amount(keep_off * 1e3, "mm"),
                    )
                )
    return warnings


def _point(x: float, y: float):
    from shapely import Point as _Point

    return _Point(x, y)
