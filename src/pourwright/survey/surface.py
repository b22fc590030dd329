"""A surface: checked outline, edges, cut-outs; and its areas and edge runs."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from pourwright.errors import InputError
from pourwright.survey.edges import EDGE_KINDS, Edge, strip_areas
from pourwright.survey.outline import Outline, Point
from pourwright.survey.paths import path_box, path_moments, path_points
from pourwright.words import Amount, say

if TYPE_CHECKING:
    from shapely import Polygon

Lie = Literal["horizontal", "upright"]
Purpose = Literal["surface", "board"]


@dataclass(frozen=True)
class CutOut:
    """A hole in a surface: name, outline (material outside), its edges, when it is cut.

    `poured_over` is True when the hole is cut after the pour, so its face is poured too.
    """

    name: str
    outline: Outline
    edges: tuple[Edge, ...]
    poured_over: bool = False

    @property
    def area(self) -> float:
        """Area of the hole [m2]."""
        return self.outline.area


@dataclass(frozen=True)
class Surface:
    """A flat piece to pour; all lengths in metres, its own coordinates, y up.

    `count` equal pieces are poured; `purpose` is ``board`` for a sample board. `place` is where
    the piece stands in the plan: x, y of its own origin [m] and its turn [rad], or None.
    """

    name: str
    outline: Outline
    edges: tuple[Edge, ...]
    cut_outs: tuple[CutOut, ...] = ()
    lie: Lie = "horizontal"
    purpose: Purpose = "surface"
    count: int = 1
    place: tuple[float, float, float] | None = None
    warnings: tuple[str, ...] = field(default=())

    def edge(self, name: str) -> Edge:
        """The edge called `name`, or numbered so [-]; raises `InputError` naming the known ones."""
        for e in self.edges:
            if name in (e.name, str(e.number)):
                return e
        raise InputError(
            f"edge of surface {self.name}",
            name,
            say("its edges are {names}", names=", ".join(e.name for e in self.edges)),
            "Use one of these names, or the number of the corner where the edge starts.",
        )

    @cached_property
    def polygon(self) -> Polygon:
        """The piece with its cut-outs as a shapely polygon [m], arcs cut into chords."""
        from shapely import Polygon as _Polygon

        holes = [path_points(c.outline.path) for c in self.cut_outs]
        return _Polygon(path_points(self.outline.path), holes)

    @cached_property
    def areas(self) -> SurfaceAreas:
        """Areas, runs and box of one piece [m2, m]; see `measure_surface`."""
        return measure_surface(self)


@dataclass(frozen=True, slots=True)
class SurfaceAreas:
    """Areas [m2], runs and lengths [m] of one piece of a surface.

    gross = face + cut_out. face = masked + cover + flat, where cover is the part of the face that
    lies over round-overs and coves. The poured surface is flat + strip. `runs` are outer edges by
    kind; `free_run` adds the free edges of cut-outs, where resin can run off. `tape_run` is the
    length of joints and walls to mask or dam, those of cut-outs included.
    """

    surface: str
    gross: float
    cut_out: float
    cut_out_poured_over: float
    face: float
    masked: float
    cover: float
    flat: float
    strip: float
    strip_arc: float
    strip_drop: float
    strip_lip: float
    strip_cut_outs: float
    runs: dict[str, float]
    cut_out_runs: dict[str, float]
    free_run: float
    tape_run: float
    perimeter: float
    centroid: Point
    box: tuple[float, float, float, float]
    least_box: tuple[float, float, float]

    @property
    def poured(self) -> float:
        """Surface that takes resin [m2]: flat face and edge strips."""
        return self.flat + self.strip


def measure_surface(surface: Surface) -> SurfaceAreas:
    """Areas, edge runs, centroid and boxes of one piece, arcs exact.

    Parameters
    ----------
    surface : Surface [m]

    Returns
    -------
    areas : SurfaceAreas [m2] and [m]
        `centroid` is of the face (cut-outs removed); `box` is x_min, y_min, x_max, y_max;
        `least_box` is length, width [m] and angle [rad] of the smallest rectangle around it.
    """
    gross, mx, my = path_moments(surface.outline.path)
    removed = poured_over = 0.0
    for c in surface.cut_outs:
        if c.poured_over:
            poured_over += c.area
            continue
        area, hx, hy = path_moments(c.outline.path)
        removed -= area
        mx, my = mx + hx, my + hy
    face = gross - removed
    sums = {"strip": 0.0, "arc": 0.0, "drop": 0.0, "lip": 0.0, "cover": 0.0, "masked": 0.0}
    runs = dict.fromkeys(EDGE_KINDS, 0.0)
    cut_runs = dict.fromkeys(EDGE_KINDS, 0.0)
    strip_cut = 0.0
    for edges, into in [
        (surface.edges, runs),
        *((c.edges, cut_runs) for c in surface.cut_outs if not c.poured_over),
    ]:
        for i, e in enumerate(edges):
            into[e.kind] += e.run
            part = strip_areas(e, edges[i - 1], edges[(i + 1) % len(edges)])
            for key in sums:
                sums[key] += getattr(part, key)
            if into is cut_runs:
                strip_cut += part.strip
    if sums["cover"] + sums["masked"] > face:
        raise InputError(
            f"surface {surface.name}",
            f"{(sums['cover'] + sums['masked']) * 1e4:.4g} cm2",
            say(
                "round-overs and masked bands together cover more than its face of {face:.4g}",
                face=Amount(face * 10000.0, "cm2"),
            ),
            "Make the round-over or the mask smaller.",
        )
    return SurfaceAreas(
        surface=surface.name,
        gross=gross,
        cut_out=removed,
        cut_out_poured_over=poured_over,
        face=face,
        masked=sums["masked"],
        cover=sums["cover"],
        flat=face - sums["masked"] - sums["cover"],
        strip=sums["strip"],
        strip_arc=sums["arc"],
        strip_drop=sums["drop"],
        strip_lip=sums["lip"],
        strip_cut_outs=strip_cut,
        runs=runs,
        cut_out_runs=cut_runs,
        free_run=runs["free"] + cut_runs["free"],
        tape_run=runs["wall"] + runs["joint"] + cut_runs["wall"] + cut_runs["joint"],
        perimeter=surface.outline.perimeter,
        centroid=(mx / face, my / face),
        box=path_box(surface.outline.path),
        least_box=least_box(surface.outline),
    )


def least_box(outline: Outline) -> tuple[float, float, float]:
    """Smallest-area rectangle, turned freely, around an outline.

    Parameters
    ----------
    outline : Outline [m]

    Returns
    -------
    length, width, angle : float [m], [m], [rad]
        Longer side, shorter side, and the angle of the longer side to the x axis in
        (-pi/2, pi/2]. Arcs by their chords (within 0.02 mm).
        Source: one side lies along the convex hull (Freeman and Shapira 1975), computed by
        shapely.
    """
    from shapely import Polygon as _Polygon

    ring = _Polygon(path_points(outline.path)).minimum_rotated_rectangle.exterior.coords
    (x0, y0), (x1, y1), (x2, y2) = list(ring)[:3]
    a, b = math.dist((x0, y0), (x1, y1)), math.dist((x1, y1), (x2, y2))
    dx, dy = (x1 - x0, y1 - y0) if a >= b else (x2 - x1, y2 - y1)
    angle = math.atan2(dy, dx)
    if angle > math.pi / 2 + 1e-12:
        angle -= math.pi
    elif angle <= -math.pi / 2 + 1e-12:
        angle += math.pi
    return max(a, b), min(a, b), angle
