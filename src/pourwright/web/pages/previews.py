"""The first page of a paper as a picture, made from the paper itself."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store.kept import key_of
from pourwright.web import deps
from pourwright.web.answers import Busy
from pourwright.words import say

router = APIRouter()
WIDE_PX = 460
WAIT_S = 2.5
"""How long a picture is waited for [s]; then a blank sheet comes, to be asked for again."""
PNG = "image/png"


def first_page(pdf: bytes, wide_px: int = WIDE_PX) -> bytes:
    """The first page of a `pdf` as PNG [bytes], `wide_px` [px] wide.

    Raises `InputError` when it cannot be drawn.
    """
    import typst

    inch = 10
    page = f'#set page(width: auto, height: auto, margin: 0pt)\n#image("p.pdf", width: {inch}in)\n'
    with tempfile.TemporaryDirectory(prefix="pourwright-") as folder:
        root = Path(folder)
        (root / "p.pdf").write_bytes(pdf)
        (root / "p.typ").write_text(page, encoding="utf-8")
        try:
            made = typst.compile(root / "p.typ", root=root, format="png", ppi=wide_px / inch)
        except RuntimeError as err:
            raise InputError(
                "paper",
                "",
                say("it cannot be drawn: {names}", names=" ".join(str(err).split())[:80]),
                "Open it.",
            ) from None
    return made if isinstance(made, bytes) else made[0]


def _blank() -> Response:
    """A blank sheet with status 202: the paper is still being set."""
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>'
    return Response(svg, 202, {"Cache-Control": "no-store", "Retry-After": "2"}, "image/svg+xml")


@router.get("/jobs/{job_id}/papers/{name}.png")
async def preview(request: Request, job_id: str, name: str) -> Response:
    """A small picture of a paper; made once for each state of the job."""
    store = deps.store(request)
    kept_as = f"{name[:40]}.png {date.today().isoformat()}"

    def look() -> tuple[str, bytes | None]:
        key = key_of(store.jobs.get(job_id), store.happened.done(job_id))
        found = store.kept.get(key, kept_as)
        return key, found[1] if found else None

    key, body = await run_in_threadpool(look)
    if body is None:
        now = await deps.plan_of(request, job_id, WAIT_S)
        if now.error is not None:
            raise deps.error_from(now.error)
        try:
            if now.raw is None:
                return _blank()
            pdf = await deps.paper_of(request, job_id, name, WAIT_S)
        except Busy:
            return _blank()
        body = made = await run_in_threadpool(first_page, pdf)

        def keep() -> None:
            job = store.jobs.get(job_id)
            if key_of(job, store.happened.done(job_id)) == key:  # else it shows an older state
                store.kept.put(job, key, {kept_as: (PNG, made)})

        await run_in_threadpool(keep)
    return Response(body, media_type=PNG, headers={"Cache-Control": "private, max-age=60"})
