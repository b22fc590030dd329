"""From a planned job to its pour pictures: scenes, the score, the clock, and the textures.

Pours are kept for a while by what went into them, so that a picture, its lit view and the textures
of one revision are poured once.
"""

from __future__ import annotations

import hashlib
import io
import json
import math
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np
from PIL import Image

from pourwright.errors import InputError
from pourwright.pattern import (
    FlowClock,
    Pour,
    Score,
    edge_sheet,
    picture_sheet,
    pour,
    reflect_xyz,
    render_view,
    variants,
)
from pourwright.pattern import texture as pattern_texture
from pourwright.pattern.picture import to_screen
from pourwright.plan.colours import finish_of, optics_of, primer_under
from pourwright.plan.context import Context
from pourwright.plan.days import Timed
from pourwright.plan.facade import Working, work_out
from pourwright.plan.finish import score_of
from pourwright.plan.job import Job
from pourwright.plan.scenes import Piece, Scene, scenes
from pourwright.words import Amount, say

Tell = Callable[[float, str], None]
KEPT = 6
"""Pours remembered; a galley's takes about 60 MB at 4 mm [-]."""
_POURS: OrderedDict[str, Pour] = OrderedDict()
_LOCK = Lock()


@dataclass(frozen=True)
class Pictured:
    """A played scene with its picture on paper."""

    scene: Scene
    played: Pour
    sheet: Image.Image
    pixel_m: float


@dataclass(frozen=True)
class FinishTexture:
    """The finish of one piece, straight down, over its bounding box, first row at the top.

    ``piece`` [-] its name; ``wide_m``, ``high_m`` the box [m]; ``pixel_m`` [m]; ``image`` sRGB.
    """

    piece: str
    wide_m: float
    high_m: float
    pixel_m: float
    image: Image.Image

    @property
    def size_px(self) -> tuple[int, int]:
        """Columns and rows [px]."""
        return self.image.size

    def png(self) -> bytes:
        """The texture as PNG [-], true size by its resolution."""
        out = io.BytesIO()
        dots = 0.0254 / self.pixel_m
        self.image.save(out, "PNG", dpi=(dots, dots))
        return out.getvalue()


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


def _mark(*parts: Any) -> str:
    return hashlib.sha256(json.dumps(parts, sort_keys=True, default=str).encode()).hexdigest()


def played_scene(
    ctx: Context,
    timed: Timed,
    scene: Scene,
    *,
    seed: int | None = None,
    cell: float = 0.004,
    progress: Callable[[float], Any] | None = None,
) -> Pour:
    """One scene poured; the last few are remembered by all that went into them.

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
    cell : float [m]
        Film cell.
    progress : callable or None [-]
        Called with the share done; may raise to cancel.

    Returns
    -------
    Pour [m]
    """
    score: Score = score_of(ctx)
    clock, film = flow_clock(timed), timed.coats[0].film.value
    s = scene.surface
    shape = (s.outline, s.holes, s.free, s.drop, s.slope, s.name, s.round_over)
    key = _mark(score.model_dump(), clock.minutes, clock.flow_left, film, shape, seed, cell)
    with _LOCK:
        found = _POURS.get(key)
        if found is not None:
            _POURS.move_to_end(key)
    if found is None:
        found = pour(score, s, film, clock=clock, cell=cell, seed=seed, progress=progress)
        lean = math.tan(ctx.job.site.tilt) * 1e3
        if lean > 0.05 and not scene.board and not any(s.slope):
            found.assumed.append(
                say(
                    "poured level, wedged as the hold point asks: the site itself leans {lean:.1f}",
                    lean=Amount(lean, "mm/m"),
                )
            )
        with _LOCK:
            _POURS[key] = found
            while len(_POURS) > KEPT:
                _POURS.popitem(last=False)
    elif progress is not None:
        progress(1.0)
    return found


def _share(tell: Tell | None, from_: float, to: float, words: str) -> Callable[[float], None]:
    def told(done: float) -> None:
        if tell:
            tell(from_ + (to - from_) * done, words)

    return told


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
    pouring = _share(tell, 0.0, 0.6, f"pouring {scene.name}")
    played = played_scene(ctx, timed, scene, seed=seed, cell=cell, progress=pouring)
    sheet = picture_sheet(
        played,
        optics_of(ctx),
        primer_under(ctx),
        finish_of(ctx),
        pixel=pixel,
        progress=_share(tell, 0.6, 1.0, f"drawing {scene.name}"),
    )
    return Pictured(scene, played, sheet, pixel)


def lit_view(ctx: Context, pictured: Pictured, size: tuple[int, int] = (1400, 900)) -> Image.Image:
    """The scene of `pictured` lit in a plain room, `size` [px], with the optics of job `ctx` [-]."""
    return render_view(
        pictured.played, optics_of(ctx), primer_under(ctx), finish_of(ctx), size=size,
        pixel=pictured.pixel_m,
    )  # fmt: skip


def edges_of(ctx: Context, pictured: Pictured) -> Image.Image | None:
    """The turned-down faces of `pictured` unrolled on paper, with the optics of job `ctx` [-].

    None where there are none.
    """
    return edge_sheet(pictured.played, optics_of(ctx), primer_under(ctx), finish_of(ctx))


def texture_of(ctx: Context, pictured: Pictured, longest: int = 2048) -> Image.Image:
    """The top of `pictured` as a texture, `longest` side [px], with the optics of job `ctx` [-]."""
    return pattern_texture(
        pictured.played, optics_of(ctx), primer_under(ctx), finish_of(ctx), longest=longest
    )


def finish_textures(
    job: Job | Working,
    pixel_mm: float = 1.0,
    *,
    only: str | None = None,
    seed: int | None = None,
    cell_mm: float = 4.0,
    folder: str | Path = ".",
    tell: Tell | None = None,
) -> dict[str, FinishTexture]:
    """The finish of every piece of a job as a texture, for models, papers and screens.

    Parameters
    ----------
    job : Job or Working [-]
        A job, which is planned first, or what `work_out` gave.
    pixel_mm : float [mm]
        Pixel, 0.3 to 10; coarser where a side would be longer than 8192 pixels.
    only : str or None [-]
        One piece's name.
    seed : int or None [-]
        Another seed than the score's own: a variant.
    cell_mm : float [mm]
        Film cell, 1 to 10; boards are poured at 1 mm.
    folder : str or Path [-]
        Where the files named by a job are looked for; unused with a `Working`.
    tell : callable or None [-]
        Told the share done and words; may raise to cancel.

    Returns
    -------
    dict of str to FinishTexture [m]
        By the piece's name, as models list it ("leaf 1", "leaf 2" where there are two), boards
        last. Each spans its piece's bounding box, x to the right, first row at the top. Pieces
        joined together share one pour, so the pattern runs across the joint.

    Raises
    ------
    InputError
        A pixel or cell out of range, an unknown piece, or whatever keeps the job from being poured.
    """
    if not 0.3 <= pixel_mm <= 10:
        raise InputError("pixel_mm", pixel_mm, "0.3 to 10 mm", "1 is usual.")
    if not 1 <= cell_mm <= 10:
        raise InputError("cell_mm", cell_mm, "1 to 10 mm", "4 is usual.")
    work = work_out(job, folder) if isinstance(job, Job) else job
    ctx = work.ctx
    todo = scenes(ctx)
    names = [n for s in todo for p in s.pieces for n in p.names]
    if only is not None:
        if only not in names:
            raise InputError(
                "only", only, say("the pieces are {names}", names=", ".join(names)), "Name one."
            )
        todo = [s for s in todo if any(only in p.names for p in s.pieces)]
    optics, primer, finish = optics_of(ctx), primer_under(ctx), finish_of(ctx)
    out: dict[str, FinishTexture] = {}
    for k, scene in enumerate(todo):
        a, b = k / len(todo), (k + 1) / len(todo)
        pouring = _share(tell, a, a + 0.6 * (b - a), f"pouring {scene.name}")
        cell = (min(cell_mm, 1.0) if scene.board else cell_mm) * 1e-3
        played = played_scene(ctx, work.timed, scene, seed=seed, cell=cell, progress=pouring)
        for n, piece in enumerate(scene.pieces):
            if only is not None and only not in piece.names:
                continue
            from_ = a + (0.6 + 0.4 * n / len(scene.pieces)) * (b - a)
            to = a + (0.6 + 0.4 * (n + 1) / len(scene.pieces)) * (b - a)
            drawing = _share(tell, from_, to, f"drawing {piece.names[0]}")
            made = _texture(played, piece, (optics, primer, finish), pixel_mm * 1e-3, drawing)
            for name in piece.names:
                if only in (None, name):
                    out[name] = FinishTexture(name, *made)
    return out


def finish_texture(
    job: Job | Working, pixel_mm: float = 1.0, *, piece: str | None = None, **more: Any
) -> FinishTexture:
    """The finish of one piece as a texture; without `piece` the first piece of the largest scene.

    Parameters
    ----------
    job : Job or Working [-]
        A job, which is planned first, or what `work_out` gave.
    pixel_mm : float [mm]
        Pixel, 0.3 to 10.
    piece : str or None [-]
        A piece's name.
    more : keyword arguments [-]
        ``seed``, ``cell_mm`` [mm], ``folder`` and ``tell`` as `finish_textures`.

    Returns
    -------
    FinishTexture [m]
        ``.png()`` bytes, ``.image``, ``.size_px``, ``.wide_m``, ``.high_m``.
    """
    if isinstance(job, Job):
        job = work_out(job, more.pop("folder", "."))
    name = piece or scenes(job.ctx)[0].pieces[0].names[0]
    return finish_textures(job, pixel_mm, only=name, **more)[name]


def _texture(
    played: Pour, piece: Piece, seen: tuple, pixel: float, progress: Callable[[float], None]
) -> tuple[float, float, float, Image.Image]:
    x0, y0, x1, y1 = piece.box
    pixel = max(pixel, (x1 - x0) / 8192, (y1 - y0) / 8192)
    xyz = reflect_xyz(played, *seen, points=piece.pixels(pixel), pixel=pixel, progress=progress)
    return x1 - x0, y1 - y0, pixel, Image.fromarray(to_screen(xyz))


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
        cell=0.001,
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


__all__ = [
    "FinishTexture",
    "Pictured",
    "Scene",
    "as_jpeg",
    "board_variants",
    "draw",
    "edges_of",
    "finish_texture",
    "finish_textures",
    "flow_clock",
    "lit_view",
    "played_scene",
    "save",
    "scenes",
    "score_of",
    "texture_of",
]
