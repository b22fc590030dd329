"""Pictures of the pour side by side: variants of one piece, and which of them was chosen."""

from __future__ import annotations

import io
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.store.pictures import PictureLine
from pourwright.web import deps
from pourwright.web.api_tasks import ask_pictures
from pourwright.web.pages.render import fields, on_to
from pourwright.words import say

router = APIRouter()
FINE = {"quick": (8.0, 2.0), "usual": (4.0, 1.0), "fine": (2.5, 0.7)}
"""How fine a picture is: film cell and pixel [mm]."""
MOST = 4
PICKED = "picked"


def variants(pictures: Iterable[PictureLine]) -> list[dict[str, Any]]:
    """Pieces with their variants [-], out of a job's `pictures`, newest first.

    Each piece has the variants of the newest revision that it was drawn from; a variant has its
    `sheet` (straight down) and, unless it is a board, its `view` (in a plain room), and whether
    it is the one that was `picked` last.
    """
    lots: dict[str, dict[int, dict[str, Any]]] = {}
    newest: dict[str, int] = {}
    for p in sorted(pictures, key=lambda p: (p.revision, p.at), reverse=True):
        if p.sort not in ("sheet", "view"):
            continue
        if newest.setdefault(p.scene, p.revision) != p.revision:
            continue
        one = lots.setdefault(p.scene, {}).setdefault(
            p.seed, {"seed": p.seed, "revision": p.revision, "words": p.words, "picked_at": ""}
        )
        if p.sort not in one:
            one[p.sort] = p
            one["picked_at"] = max(one["picked_at"], str(p.about.get(PICKED) or ""))
            one["board"] = bool(p.about.get("board"))
    out = []
    for scene, found in lots.items():
        rows = sorted(found.values(), key=lambda v: v["seed"])
        last = max((r["picked_at"] for r in rows), default="")
        for r in rows:
            r["picked"] = bool(last) and r["picked_at"] == last
            r["show"] = r.get("view") or r.get("sheet")
        rows = [r for r in rows if r["show"]]
        if rows:
            first = min(r["show"].at for r in rows)
            out.append(
                {"scene": scene, "board": rows[0]["board"], "first": first, "variants": rows}
            )
    return sorted(out, key=lambda s: (s["board"], s["first"]))


def pick(request: Request, job_id: str, name: str) -> PictureLine:
    """Choose the variant that the picture `name` [-] belongs to, for everything shown from now on.

    Its pictures become the newest of job `job_id`, so that board, client link, papers and the
    list of jobs show them. Raises `NotThere`. `request` leads to the store.
    """
    from PIL import Image

    store = deps.store(request)
    found = [p for p in store.pictures.of_job(job_id) if p.sort in ("sheet", "view", "texture")]
    mine = [p for p in found if p.name == name]
    if not mine:
        raise NotThere("picture", name, "there is no such picture", "Load the page again.")
    chosen = mine[0]
    base = name.rpartition("-")[0]
    at = datetime.now(UTC).isoformat()
    for p in sorted((p for p in found if p.name.rpartition("-")[0] == base),
                    key=lambda p: p.sort == "view"):  # fmt: skip
        with Image.open(io.BytesIO(store.pictures.data(p.name))) as opened:
            image = opened.convert("RGB")
        store.pictures.put(p.name, job_id, p.revision, image, p.scene, p.sort, p.seed, p.words,
                           {**p.about, PICKED: at})  # fmt: skip
    said = f"variant {chosen.seed} of {chosen.scene} was chosen"
    store.happened.note(job_id, "note", said, {"picture": name}, deps.who_of(request))
    return chosen


@router.post("/jobs/{job_id}/pictures")
async def draw(request: Request, job_id: str) -> Response:
    """Queue pictures: so many variants from a seed on."""
    posted = await fields(request)
    seed, many = posted.get("seed", "").strip(), posted.get("many", "1").strip()
    if seed and not (seed.isdigit() and len(seed) < 10):
        raise InputError("seed", seed, "it is a whole number", "Write 1, 2, 3.")
    if not (many.isdigit() and 1 <= int(many[:3]) <= MOST):
        raise InputError("many", many, say("1 to {most} variants", most=MOST), "Write 3.")
    cell, pixel = FINE.get(posted.get("fine", "usual"), FINE["usual"])
    first = int(seed) if seed else None
    wants: dict[str, Any] = {"scene": posted.get("scene") or None, "cell_mm": cell,
                             "pixel_mm": pixel}  # fmt: skip
    if first is not None and int(many) > 1:
        wants["seeds"] = [first + k for k in range(int(many))]
    else:
        wants["seed"] = first
    await run_in_threadpool(ask_pictures, request, job_id, wants)
    return on_to(f"/jobs/{job_id}/finish#f-picture")


@router.post("/jobs/{job_id}/pictures/pick")
async def choose(request: Request, job_id: str) -> Response:
    """Choose a variant."""
    posted = await fields(request)
    await run_in_threadpool(pick, request, job_id, posted.get("name", "")[:60])
    return on_to(f"/jobs/{job_id}/finish#f-picture", "picked")


@router.post("/jobs/{job_id}/pictures/{task}/cancel")
def cancel(request: Request, job_id: str, task: str) -> Response:
    """Stop a picture."""
    deps.store(request).tasks.cancel(task)
    return on_to(f"/jobs/{job_id}/finish", "cancelled")
