"""Edges: what kind each is, and how much surface its strip has when laid flat.

A free edge is a quarter-round at the top (round-over), a plain face below it and perhaps a lip
underneath. Laid flat its width is ``pi/2 * R + (drop - R) + lip``; the drop is measured from the
top of the surface to the bottom of the edge, the round-over included. On curves and at mitred
corners the strip is shorter or longer than the outline; Pappus's rule, integrated in closed form,
takes care of that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from pourwright.errors import InputError
from pourwright.survey.outline import Corner, Side
from pourwright.words import Amount, say

EdgeKind = Literal["free", "wall", "joint", "upstand", "waterfall"]
EDGE_KINDS: tuple[str, ...] = get_args(EdgeKind)


@dataclass(frozen=True, slots=True)
class EdgeProfile:
    """How an edge is shaped: all lengths in metres.

    `round_over` is the radius at the top, `drop` the depth from the top down (round-over
    included), `lip` the width poured or wiped underneath, `height` that of an upstand poured
    together with the face, `cove` the hollow radius at its foot, `mask` the width of face along
    the edge that is kept clear of resin.
    """

    kind: EdgeKind
    round_over: float = 0.0
    drop: float = 0.0
    lip: float = 0.0
    height: float = 0.0
    cove: float = 0.0
    mask: float = 0.0

    @property
    def width(self) -> float:
        """Width of the strip laid flat [m], on a straight edge."""
        if self.kind == "free":
            return math.pi / 2 * self.round_over + (self.drop - self.round_over) + self.lip
        if self.kind == "upstand":
            return math.pi / 2 * self.cove + (self.height - self.cove)
        if self.kind == "waterfall":
            return math.pi / 4 * self.round_over
        return 0.0

    @property
    def cover(self) -> float:
        """Width of the face, seen from above, that the rounding takes away [m]."""
        if self.kind in ("free", "waterfall"):
            return self.round_over
        return self.cove if self.kind == "upstand" else 0.0


def make_profile(
    kind: str,
    round_over: float = 0.0,
    drop: float | None = None,
    lip: float = 0.0,
    height: float = 0.0,
    cove: float = 0.0,
    mask: float = 0.0,
    where: str = "the edge",
) -> EdgeProfile:
    """Check an edge's measures and make its profile.

    Parameters
    ----------
    kind : str [-]
        One of `EDGE_KINDS`.
    round_over : float [m]
        Radius at the top of a free or waterfall edge.
    drop : float or None [m]
        Depth of a free edge from the top down, round-over included; None takes the round-over.
    lip : float [m]
        Width poured underneath a free edge.
    height, cove : float [m]
        Height of an upstand and the hollow radius at its foot.
    mask : float [m]
        Width of face kept clear along the edge.
    where : str [-]
        The edge as the user knows it, for messages.

    Returns
    -------
    profile : EdgeProfile [m]

    Raises
    ------
    InputError
        Measures below zero, beyond 1.5 m, that do not belong to the kind, or that do not fit
        each other.
    """
    if kind not in EDGE_KINDS:
        raise InputError(
            f"{where}, kind",
            kind,
            say("an edge is one of {names}", names=", ".join(EDGE_KINDS)),
            "Choose one of them.",
        )
    given = {
        "round_over": round_over,
        "drop": drop or 0.0,
        "lip": lip,
        "height": height,
        "cove": cove,
        "mask": mask,
    }
    belongs = {
        "free": ("round_over", "drop", "lip", "mask"),
        "waterfall": ("round_over", "mask"),
        "upstand": ("height", "cove", "mask"),
    }.get(kind, ("mask",))
    for name, value in given.items():
        shown = f"{value * 1e3:.6g} mm"
        if not (math.isfinite(value) and 0 <= value <= 1.5):
            raise InputError(
                f"{where}, {name}", shown, "it is from 0 mm to 1500 mm", "Check the unit."
            )
        if value and name not in belongs:
            raise InputError(
                f"{where}, {name}",
                shown,
                say("a {kind} edge has no {name}", kind=kind, name=name),
                say("Leave it out, or choose another kind than {kind}.", kind=kind),
            )
    if kind == "free" and drop is not None and drop < round_over:
        raise InputError(
            f"{where}, drop",
            f"{drop * 1e3:.6g} mm",
            say(
                "the drop is measured from the top down and includes the round-over of {round_over:.6g}",
                round_over=Amount(round_over * 1000.0, "mm"),
            ),
            "Make the drop at least the round-over, or leave it out.",
        )
    if cove > height:
        raise InputError(
            f"{where}, cove",
            f"{cove * 1e3:.6g} mm",
            say(
                "the cove is not higher than the upstand of {height:.6g}",
                height=Amount(height * 1000.0, "mm"),
            ),
            "Make the cove smaller, or the upstand higher.",
        )
    full_drop = (round_over if drop is None else drop) if kind == "free" else 0.0
    return EdgeProfile(kind, round_over, full_drop, lip, height, cove, mask)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of a surface or cut-out: number, name, side, profile, and what it meets.

    `meets` is the partner edge of a joint or waterfall as ``surface.edge``, or None.
    """

    number: int
    name: str
    side: Side
    profile: EdgeProfile
    meets: str | None = None

    @property
    def kind(self) -> EdgeKind:
        """Its kind [-]."""
        return self.profile.kind

    @property
    def run(self) -> float:
        """Length along it [m], with half of the rounding at each end."""
        return self.side.run


@dataclass(frozen=True, slots=True)
class StripAreas:
    """What an edge adds and takes away [m2]: strip laid flat, face under its rounding, mask."""

    strip: float
    arc: float
    drop: float
    lip: float
    cover: float
    masked: float


def strip_areas(edge: Edge, before: Edge, after: Edge) -> StripAreas:
    """Exact areas of one edge's strip between its two neighbours.

    Parameters
    ----------
    edge, before, after : Edge [m]
        The edge and its neighbours in order; at a corner between two edges that both have a
        strip the strips meet in a mitre, otherwise the strip ends square.

    Returns
    -------
    areas : StripAreas [m2]
        Straight edge of length l: strip = l (pi/2 R + drop - R + lip), cover = l R,
        masked = l mask. Valid while the strip is narrower than its edge is long; never below 0.
        Source: Pappus's centroid theorem, integrated over the quarter round.
    """
    p, run = edge.profile, edge.run
    ends = ((edge.side.start, before), (edge.side.end, after))
    corners = [(c, bool(n.profile.width) and bool(p.width)) for c, n in ends]
    if p.kind == "upstand":
        r, top = p.cove, p.height
        arc = _round(run, r, corners, 0.0)
        drop, lip = (top - r) * run, 0.0
    elif p.kind == "waterfall":
        arc = _round(run, p.round_over, corners, math.pi / 4)
        drop = lip = 0.0
    else:
        arc = _round(run, p.round_over, corners, 0.0)
        drop, lip = (p.drop - p.round_over) * run, _band(run, p.lip, corners)
    cover = _band(run, p.cover, corners)
    both = [(c, bool(n.profile.mask)) for c, n in ends]
    masked = max(_band(run, p.cover + p.mask, both) - _band(run, p.cover, both), 0.0)
    return StripAreas(arc + drop + lip, arc, drop, lip, cover, masked)


Ends = list[tuple[Corner, bool]]


def _band(run: float, width: float, ends: Ends) -> float:
    """Area of the band from the outline to `width` inside it [m2]."""
    if not width:
        return 0.0
    lost = 0.0
    for corner, mitre in ends:
        phi, radius = abs(corner.turn), corner.radius
        if corner.turn < 0:
            rate = phi if radius else (2 * math.tan(phi / 2) if mitre else 0.0)
            lost -= rate * width * width / 4
            continue
        near = min(width, radius)
        lost += phi * (near * near / 2 + radius * (width - near)) / 2
        if mitre:
            lost += math.tan(phi / 2) * (width - near) ** 2 / 2
    return max(run * width - lost, 0.0)


def _round(run: float, r: float, ends: Ends, first: float) -> float:
    """Area of the rounding of radius r [m2] from profile angle `first` [rad] to a quarter turn.

    At profile angle t the strip lies ``d = r (1 - cos t)`` inside the outline.
    """
    if not r:
        return 0.0
    quarter = math.pi / 2

    def whole(a: float, b: float) -> float:
        return r * r * ((b - a) - (math.sin(b) - math.sin(a)))

    lost = 0.0
    for corner, mitre in ends:
        phi, radius = abs(corner.turn), corner.radius
        if corner.turn < 0:
            rate = phi if radius else (2 * math.tan(phi / 2) if mitre else 0.0)
            lost -= rate * whole(first, quarter) / 2
            continue
        split = quarter if radius >= r else max(math.acos(1 - radius / r), first)
        lost += phi / 2 * (whole(first, split) + radius * r * (quarter - split))
        if mitre:
            beyond = whole(split, quarter) - radius * r * (quarter - split)
            lost += math.tan(phi / 2) * beyond
    return max(run * r * (quarter - first) - lost, 0.0)
