"""From a planned job to its pour pictures: surfaces joined as they stand, the score, the clock."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from pourwright.pattern import (
    FlowClock,
    Pour,
    Surface,
    picture_sheet,
    pour,
    render_view,
    variants,
)
from pourwright.pattern import texture as pattern_texture
from pourwright.plan.colours import finish_of, optics_of, primer_under
from pourwright.plan.context import Context
from pourwright.plan.days import Timed
from pourwright.plan.finish import score_of
from pourwright.survey import Surface as Surveyed
from pourwright.survey.paths import path_points

Tell = Callable[[float, str], None]
JOIN_M = 2e-4
"""Joined pieces are grown by this before they are united, and shrunk after [m]."""
NEAR_M = 2e-3
"""An outline edge belongs to the surveyed edge whose middle line is this near [m]."""
SIMPLE_M = 2e-4


@dataclass(frozen=True)
class Scene:
    """What is poured in one go: a name and the surface for the pattern [m]."""

    name: str
    surface: Surface
    board: bool


@dataclass(frozen=True)
class Pictured:
    """A played scene with its picture on paper."""

    scene: Scene
    played: Pour
    sheet: Image.Image
    pixel_m: float


def scenes(ctx: Context) -> list[Scene]:
    """The job's surfaces as they are poured: joined pieces as one, equal pieces once.

    Parameters
    ----------
    ctx : Context [-]
        The job.

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
    made = [_scene(ctx, g) for g in groups]
    return sorted(made, key=lambda s: (s.board, -s.surface.area))


def _placed(s: Surveyed, points: np.ndarray) -> np.ndarray:
    if s.place is None:
        return points
    x, y, turn = s.place
    c, d = math.cos(turn), math.sin(turn)
    return points @ np.array([[c, d], [-d, c]]) + (x, y)


def _scene(ctx: Context, group: list[Surveyed]) -> Scene:
    from shapely import LineString, Point, Polygon
    from shapely.ops import unary_union

    alone = len(group) == 1

    def where(s: Surveyed, ring: np.ndarray) -> np.ndarray:
        points = np.asarray(ring, dtype=float)
        return points if alone else _placed(s, points)

    shapes, free_lines, drops = [], [], []
    for s in group:
        holes = [where(s, path_points(c.outline.path)) for c in s.cut_outs if not c.poured_over]
        shapes.append(Polygon(where(s, path_points(s.outline.path)), holes))
        for e in s.edges:
            if e.kind == "free":
                ends = np.array([(e.side.start.x, e.side.start.y), (e.side.end.x, e.side.end.y)])
                free_lines.append(LineString(where(s, ends)))
                drops.append(e.profile.drop)
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
        ),
        board=all(s.purpose == "board" for s in group),
    )


def _reach(group: list[Surveyed]) -> float:
    """How far a rounded corner strays from its sharp edge, plus a little [m]."""
    radius = max((c.radius for s in group for c in s.outline.corners), default=0.0)
    return NEAR_M + 0.3 * radius


def flow_clock(timed: Timed) -> FlowClock:
    """Flow left of the colour coat over its age [min, 1/Pa], by the middle of the samples."""
    film = timed.history(timed.coats[0].id).film
    minutes = (film.times_s - film.start_s) / 60.0
    left = np.median(film.flow_left, axis=0)
    keep = np.flatnonzero(left > 1e-9 * left[0])
    last = min(keep[-1] + 1, left.size - 1)
    flow = np.append(left[:last], 0.0)
    falling = np.concatenate([[True], np.diff(flow) < 0])
    return FlowClock.from_arrays(minutes[: last + 1][falling], flow[falling])


def draw(
    ctx: Context,
    timed: Timed,
    scene: Scene,
    *,
    seed: int | None = None,
    cell: float = 0.004,
    pixel: float = 0.001,
    tell: Tell | None = None,
) -> Pictured:
    """Pour one scene and draw it straight down on paper.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    timed : Timed [s]
        Its schedule, for the clock of the colour coat.
    scene : Scene [m]
        From `scenes`.
    seed : int or None [-]
        Another seed than the score's own: a variant.
    cell, pixel : float [m]
        Film cell and picture pixel.
    tell : callable or None [-]
        Told the share done and words; may raise to cancel.

    Returns
    -------
    Pictured [-]
    """

    def share(from_: float, to: float, words: str) -> Callable[[float], None]:
        def told(done: float) -> None:
            if tell:
                tell(from_ + (to - from_) * done, words)

        return told

    score = score_of(ctx)
    played = pour(
        score,
        scene.surface,
        timed.coats[0].film.value,
        clock=flow_clock(timed),
        cell=cell,
        seed=seed,
        progress=share(0.0, 0.6, f"pouring {scene.name}"),
    )
    sheet = picture_sheet(
        played,
        optics_of(ctx),
        primer_under(ctx),
        finish_of(ctx),
        pixel=pixel,
        progress=share(0.6, 1.0, f"drawing {scene.name}"),
    )
    return Pictured(scene, played, sheet, pixel)


def lit_view(ctx: Context, pictured: Pictured, size: tuple[int, int] = (1400, 900)) -> Image.Image:
    """The scene of `pictured` lit in a plain room, `size` [px], with the optics of job `ctx` [-]."""
    return render_view(
        pictured.played, optics_of(ctx), primer_under(ctx), finish_of(ctx), size=size,
        pixel=pictured.pixel_m,
    )  # fmt: skip


def texture_of(ctx: Context, pictured: Pictured, longest: int = 2048) -> Image.Image:
    """The top of `pictured` as a texture, `longest` side [px], with the optics of job `ctx` [-]."""
    return pattern_texture(
        pictured.played, optics_of(ctx), primer_under(ctx), finish_of(ctx), longest=longest
    )


def board_variants(
    ctx: Context, timed: Timed, scene: Scene, seeds: tuple[int, ...], pixel: float = 0.0008
) -> Image.Image:
    """The same score on `scene` [m] with several `seeds` [-], side by side, `pixel` [m] fine.

    `ctx` is the job, `timed` its schedule.
    """
    image, _ = variants(
        score_of(ctx),
        scene.surface,
        timed.coats[0].film.value,
        optics_of(ctx),
        primer_under(ctx),
        finish_of(ctx),
        seeds=seeds,
        clock=flow_clock(timed),
        cell=0.002,
        pixel=pixel,
    )
    return image


def as_jpeg(image: Image.Image, longest: int = 1400) -> bytes:
    """`image` as a JPEG of at most `longest` [px] along its longer side, for papers."""
    small = image.convert("RGB")
    small.thumbnail((longest, longest))
    out = io.BytesIO()
    small.save(out, "JPEG", quality=88)
    return out.getvalue()


def save(image: Image.Image, path: Path, pixel_m: float | None = None) -> Path:
    """Write `image` to `path` [-] whole or not at all, true size by `pixel_m` [m]."""
    from pourwright.pattern import save_png

    return save_png(image, path, pixel_m)
