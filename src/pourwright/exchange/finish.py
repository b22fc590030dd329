"""The finish of a planned job as pictures for models and papers; drawn once, then remembered."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import TYPE_CHECKING

from pourwright.plan.coats import CLEAR

if TYPE_CHECKING:
    from PIL.Image import Image

    from pourwright.plan import Working

Tell = Callable[[float, str], None]
LONGEST = 4096  # side of a texture in a model [px]


def has_finish(work: Working) -> bool:
    """Whether the planned job `work` [-] has shades, so that there is something to picture."""
    return any(s.shade != CLEAR for s in work.ctx.job.colour.shades)


def model_textures(
    work: Working, pixel_mm: float = 1.0, tell: Tell | None = None
) -> dict[str, bytes]:
    """Pictures of the finish for a model.

    Parameters
    ----------
    work : Working [-]
        The planned job.
    pixel_mm : float [mm]
        Pixel, 0.3 to 10.
    tell : callable or None [-]
        Told the share done and words; may raise to cancel.

    Returns
    -------
    dict of str to bytes [-]
        JPEG by piece, boards left out; empty for a job without shades.
    """
    if not has_finish(work):
        return {}
    from pourwright.plan.picture import finish_textures

    boards = {s.name for s in work.ctx.survey.surfaces if s.purpose == "board"}
    found = finish_textures(work, pixel_mm, tell=tell)
    return {name: _jpeg(t.image) for name, t in found.items() if name not in boards}


def _jpeg(image: Image) -> bytes:
    small = image.convert("RGB")
    small.thumbnail((LONGEST, LONGEST))
    out = io.BytesIO()
    small.save(out, "JPEG", quality=92)
    return out.getvalue()


def paper_pictures(
    work: Working, tell: Tell | None = None, room: bool = True
) -> tuple[bytes | None, bytes | None]:
    """Pictures for the papers of a planned job.

    Parameters
    ----------
    work : Working [-]
        The planned job.
    tell : callable or None [-]
        Told the share done and words; may raise to cancel.
    room : bool [-]
        False leaves the large picture out.

    Returns
    -------
    tuple of bytes or None [-]
        JPEG of the largest scene in a plain room, and of the sample board from above; None where
        there is none, or nothing to see in clear resin.
    """
    if not has_finish(work):
        return None, None
    from pourwright.plan.picture import as_jpeg, draw, finish_texture, lit_view, scenes

    todo = scenes(work.ctx)
    main = next((s for s in todo if not s.board), None)
    board = next((s for s in todo if s.board), None)

    def part(from_: float, to: float) -> Tell:
        return lambda x, w: tell(from_ + (to - from_) * x, w) if tell else None

    big = None
    if main is not None and room:
        big = as_jpeg(lit_view(work.ctx, draw(work.ctx, work.timed, main, tell=part(0.0, 0.8))))
    small = None
    if board is not None:
        name = board.pieces[0].names[0]
        small = as_jpeg(finish_texture(work, 0.4, piece=name, tell=part(0.8, 1.0)).image)
    return big, small
