"""Finished pictures: the PNG, a small one for lists, and what is to be said about them."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.orm import undefer

from pourwright.store.engine import Sessions
from pourwright.store.errors import NotThere
from pourwright.store.jobs import find_job, now
from pourwright.store.models import PictureRow

if TYPE_CHECKING:
    from PIL.Image import Image

SMALL_PX = 560


@dataclass(frozen=True)
class PictureLine:
    """A picture without its pixels."""

    name: str
    job_id: str
    revision: int
    scene: str
    sort: str
    seed: int
    words: str
    wide: int
    high: int
    at: datetime
    about: dict[str, Any]


class Pictures:
    """The pictures of a store."""

    def __init__(self, sessions: Sessions) -> None:
        self._db = sessions

    def put(
        self,
        name: str,
        job_id: str,
        revision: int,
        image: Image,
        scene: str,
        sort: str,
        seed: int,
        words: str = "",
        about: dict[str, Any] | None = None,
    ) -> None:
        """Keep an image.

        Parameters
        ----------
        name, job_id : str [-]
            Its name (an old one of that name is replaced) and its job.
        revision : int [-]
            Of the job.
        image : Image [px]
            The picture.
        scene, sort : str [-]
            What is poured, and ``sheet``, ``view`` or ``texture``.
        seed : int [-]
            Which variant.
        words : str [-]
            To be said beside it.
        about : dict or None [-]
            Plain data for a viewer.
        """
        small = image.convert("RGB")
        small.thumbnail((SMALL_PX, SMALL_PX))
        with self._db.writing() as s:
            find_job(s, job_id)
            s.merge(
                PictureRow(name=name, job_id=job_id, revision=revision, scene=scene[:120],
                           sort=sort, seed=seed, words=words, wide=image.width,
                           high=image.height, about=about or {}, png=_png(image),
                           small=_png(small), at=now())
            )  # fmt: skip

    def data(self, name: str, small: bool = False) -> bytes:
        """PNG bytes [-] of picture `name`, the `small` one if asked; raises `NotThere`."""
        column = PictureRow.small if small else PictureRow.png
        with self._db.reading() as s:
            row = s.get(PictureRow, name, options=[undefer(column)]) if len(name) <= 60 else None
            if row is None:
                raise NotThere("picture", name, "there is no such picture", "Draw it again.")
            return row.small if small else row.png

    def of_job(self, job_id: str) -> list[PictureLine]:
        """Pictures of job `job_id` [-], newest first."""
        with self._db.reading() as s:
            find_job(s, job_id)
            rows = s.scalars(
                select(PictureRow).where(PictureRow.job_id == job_id).order_by(PictureRow.at.desc())
            )
            return [
                PictureLine(r.name, r.job_id, r.revision, r.scene, r.sort, r.seed, r.words, r.wide,
                            r.high, r.at, dict(r.about))
                for r in rows
            ]  # fmt: skip


def _png(image: Image) -> bytes:
    raw = io.BytesIO()
    image.save(raw, "PNG", optimize=False, compress_level=6)
    return raw.getvalue()
