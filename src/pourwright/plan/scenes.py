"""The scenes of a job: its surfaces as they are poured, joined pieces as one, equal ones once."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pourwright.pattern import Surface
from pourwright.plan.context import Context
from pourwright.survey import Surface as Surveyed
from pourwright.survey.levels import stated_tilt
from pourwright.survey.paths import path_points

_A = NDArray[np.float64]
JOIN_M = 2e-4
"""Joined pieces are grown by this before they are united, and shrunk after [m]."""
NEAR_M = 2e-3
"""An outline edge belongs to the surveyed edge whose middle line is this near [m]."""
SIMPLE_M = 2e-4


@dataclass(frozen=True)
class Piece:
    """One surveyed piece within a scene.

    ``names`` [-] of its equal pieces, as models and papers list them; ``box`` x0, y0, x1, y1 of its
    outline [m] in its own coordinates, y up; ``place`` x, y [m] and turn [rad] in the scene, y up;
    ``top`` [m]: the scene's own y runs down from there.
    """

    names: tuple[str, ...]
    box: tuple[float, float, float, float]
    place: tuple[float, float, float]
    top: float

    def pixels(self, pixel: float) -> tuple[_A, _A]:
        """Places x, y [m] in the scene of pixels of `pixel` [m] over the box, from its top left."""
        x0, y0, x1, y1 = self.box
        cols, rows = (max(1, round(v / pixel)) for v in (x1 - x0, y1 - y0))
        x = x0 + (np.arange(cols) + 0.5) * (x1 - x0) / cols
        y = y1 - (np.arange(rows) + 0.5) * (y1 - y0) / rows
        gx, gy = np.meshgrid(x, y)
        dx, dy, turn = self.place
        c, s = math.cos(turn), math.sin(turn)
        return dx + c * gx - s * gy, self.top - (dy + s * gx + c * gy)


@dataclass(frozen=True)
class Scene:
    """What is poured in one go: a name, the surface for the pattern [m], the pieces in it."""

    name: str
    surface: Surface
    board: bool
    pieces: tuple[Piece, ...] = ()


def scenes(ctx: Context, leaning: bool = False) -> list[Scene]:
    """The job's surfaces as they are poured: joined pieces as one, equal pieces once.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    leaning : bool [-]
        Poured as the site leans (boards apart); otherwise wedged level, as the hold point asks.

    Returns
    -------
    list of Scene [m]
        Largest first, sample boards last. y runs down the plan.
    """
    groups: list[list[Surveyed]] = []
    for s in ctx.survey.surfaces:
        mates = {m.other for m in ctx.survey.meetings if m.surface == s.name and m.kind == "joint"}
        mates |= {m.surface for m in ctx.survey.meetings if m.other == s.name and m.kind == "joint"}
        home = next((g for g in groups if any(o.name in mates for o in g)), None)
        if home is None:
            groups.append([s])
        else:
            home.append(s)
    made = [_scene(g) for g in groups]
    if leaning:
        lean = stated_tilt(ctx.job.site.tilt, ctx.job.site.tilt_towards)
        slope = (lean.slope_x, -lean.slope_y)
        made = [s if s.board else replace(s, surface=replace(s.surface, slope=slope)) for s in made]
    return sorted(made, key=lambda s: (s.board, -s.surface.area))


def _placed(s: Surveyed, points: np.ndarray) -> np.ndarray:
    if s.place is None:
        return points
    x, y, turn = s.place
    c, d = math.cos(turn), math.sin(turn)
    return points @ np.array([[c, d], [-d, c]]) + (x, y)


def _scene(group: list[Surveyed]) -> Scene:
    from shapely import LineString, Point, Polygon
    from shapely.ops import unary_union

    alone = len(group) == 1

    def where(s: Surveyed, ring: np.ndarray) -> np.ndarray:
        points = np.asarray(ring, dtype=float)
        return points if alone else _placed(s, points)

    shapes, free_lines, drops = [], [], []
    bends: dict[float, float] = {}  # length of free edge by its round-over [m]
    for s in group:
        holes = [where(s, path_points(c.outline.path)) for c in s.cut_outs if not c.poured_over]
        shapes.append(Polygon(where(s, path_points(s.outline.path)), holes))
        for e in s.edges:
            if e.kind == "free":
                ends = np.array([(e.side.start.x, e.side.start.y), (e.side.end.x, e.side.end.y)])
                free_lines.append(LineString(where(s, ends)))
                drops.append(e.profile.drop)
                bend = e.profile.round_over
                bends[bend] = bends.get(bend, 0.0) + free_lines[-1].length
    whole = unary_union([p.buffer(JOIN_M, join_style="mitre") for p in shapes])
    whole = whole.buffer(-JOIN_M, join_style="mitre").simplify(SIMPLE_M)
    if whole.geom_type != "Polygon":
        whole = max(whole.geoms, key=lambda g: g.area)
    top = whole.bounds[3]
    outer = np.asarray(whole.exterior.coords)[:-1]
    free = [
        k
        for k in range(len(outer))
        if any(
            line.distance(Point((outer[k] + outer[(k + 1) % len(outer)]) / 2)) < _reach(group)
            for line in free_lines
        )
    ]
    flip = np.array([1.0, -1.0])

    def down(ring: np.ndarray) -> list[tuple[float, float]]:
        turned = ring * flip + (0.0, top)
        return [(float(a), float(b)) for a, b in turned]

    holes = [np.asarray(r.coords)[:-1] for r in whole.interiors if Polygon(r).area > 4e-4]
    return Scene(
        name=" and ".join(s.name for s in group) if len(group) < 3 else f"{group[0].name} and more",
        surface=Surface(
            outline=down(outer),
            holes=[down(h) for h in holes],
            free=free,
            drop=max(drops, default=0.0),
            name=group[0].name if alone else "top",
            round_over=max(bends, key=lambda r: bends[r], default=0.0),  # that of most edge
        ),
        board=all(s.purpose == "board" for s in group),
        pieces=tuple(_piece(s, (0.0, 0.0, 0.0) if alone else s.place, top) for s in group),
    )


def _reach(group: list[Surveyed]) -> float:
    """How far a rounded corner strays from its sharp edge, plus a little [m]."""
    radius = max((c.radius for s in group for c in s.outline.corners), default=0.0)
    return NEAR_M + 0.3 * radius


def _piece(s: Surveyed, place: tuple[float, float, float] | None, top: float) -> Piece:
    names = [s.name] if s.count == 1 else [f"{s.name} {k + 1}" for k in range(s.count)]
    x0, y0, x1, y1 = s.polygon.bounds
    return Piece(tuple(names), (x0, y0, x1, y1), place or (0.0, 0.0, 0.0), float(top))
