"""The long work itself: a plan with all its drawings, papers, pictures. Runs in a worker."""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.store.store import Store
from pourwright.store.tasks import Task
from pourwright.web.answers import to_json
from pourwright.web.texts import folder_of
from pourwright.words import phrase_book, say

if TYPE_CHECKING:
    from pourwright.plan import Working
    from pourwright.plan.picture import Scene

Tell = Callable[[float, str], None]
SVG = "image/svg+xml"
JSON = "application/json"
PDF = "application/pdf"
_LAST: OrderedDict[str, Any] = OrderedDict()
_MOST_LAST = 3


def working(
    job: JobState, key: str, done: dict[str, tuple[float, float]], root: Path, tell: Tell
) -> Working:
    """The plan of `job` [-] with steps `done` [s]; the last few are remembered by their `key`.

    `root` [-] holds folders of named texts, `tell` hears the share done and words.
    """
    from pourwright.plan import job_from, work_out

    if key not in _LAST:
        made = job_from(job.document)
        _LAST[key] = work_out(made, folder_of(job, root), dict(done), tell)
        while len(_LAST) > _MOST_LAST:
            _LAST.popitem(last=False)
    _LAST.move_to_end(key)
    found: Working = _LAST[key]
    return found


def things_of_plan(work: Working) -> dict[str, tuple[str, bytes]]:
    """All that pages show of a planned job `work` [-]: name to media type and bytes."""
    from pourwright.exchange import gltf, job_meshes, mean_colour
    from pourwright.panel.dxf_out import plan_dxf
    from pourwright.plan.drawings import drawings
    from pourwright.plan.picture import scenes
    from pourwright.web.ribbons import ribbon_data

    out: dict[str, tuple[str, bytes]] = {
        "plan": (JSON, to_json(work.plan.model_dump(mode="json", by_alias=True))),
    }
    drawn: list[list[str]] = []
    for name, drawing in drawings(work).items():
        drawn.append(drawing.said)
        out[f"{name}.svg"] = (SVG, drawing.svg().encode("utf-8"))
    out["cut-plan.dxf"] = ("image/vnd.dxf", plan_dxf(work.core.layout).encode("utf-8"))
    title = f"{work.plan.name}, revision {work.plan.provenance.job_revision}"
    matte = work.ctx.job.topcoat is not None
    pieces = gltf(job_meshes(work), mean_colour(work), {}, 0.5 if matte else 0.05, title, True)
    out["model.glb"] = ("model/gltf-binary", pieces)
    ribbons: list[dict[str, Any]] = []
    for coat in work.timed.poured:
        ribbons.append(ribbon_data(work, coat))
        out[f"ribbon-{coat.id}"] = (JSON, to_json(ribbons[-1]))
    out["phrases"] = (JSON, to_json(phrase_book([work.plan, ribbons, drawn])))
    found = [
        {"name": s.name, "board": s.board, "area_m2": s.surface.area} for s in scenes(work.ctx)
    ]
    out["scenes"] = (JSON, to_json(found))
    return out


def do_task(store: Store, task: Task, root: Path, tell: Tell) -> dict[str, Any]:
    """Do one `task` of `store` [-] and keep what came out; returns its result.

    `root` [-] is a folder for named texts, `tell` hears the share done and words.
    """
    job = store.jobs.get(task.job_id, task.revision)
    done = {k: (float(a), float(b)) for k, (a, b) in task.wants.get("done", {}).items()}
    # the asker's key: it says which program asked, and is where the asker will look
    key = str(task.wants["kept"])
    if task.kind == "plan":
        work = working(job, key, done, root, lambda x, w: tell(0.95 * x, w))
        store.kept.put(job, key, things_of_plan(work))
        return {"kept": key}
    if task.kind == "paper":
        work = working(job, key, done, root, lambda x, w: tell(0.6 * x, w))
        return _paper(store, job, key, work, task.wants, lambda x, w: tell(0.6 + 0.4 * x, w))
    if task.kind == "picture":
        work = working(job, key, done, root, lambda x, w: tell(0.2 * x, w))
        return _pictures(store, job, key, work, task.wants, lambda x, w: tell(0.2 + 0.8 * x, w))
    from pourwright.web import record_work

    if task.kind in record_work.KINDS:
        now = None
        if task.kind in ("lost", "money"):
            now = working(job, key, done, root, lambda x, w: tell(0.4 * x, w))
        return record_work.do_record_task(
            store, job, task, root, now, lambda x, w: tell(0.4 + 0.6 * x, w)
        )
    raise InputError("task", task.kind, "plan, paper or picture", "Ask for one of these.")


def paper_name(name: str, on: str) -> str:
    """Under what name [-] paper `name` printed `on` a date is kept."""
    return f"{name}.pdf {on}"


def _paper(
    store: Store, job: JobState, key: str, work: Working, wants: dict[str, Any], tell: Tell
) -> dict[str, Any]:
    from pourwright.papers import cost_job, papers_of, price_options

    name, on = str(wants["name"]), str(wants["printed"])
    picture = None
    lines = [p for p in store.pictures.of_job(job.id) if p.sort in ("view", "sheet")]
    if lines:
        picture = store.pictures.data(lines[0].name)
    costing, options = None, None
    if name in ("quote", "pack") and work.ctx.job.price and work.ctx.job.price.options:
        costing = cost_job(work)
        options = price_options(work, costing, lambda x, w: tell(0.6 * x, w))
    photos = [(p.scene, store.pictures.data(p.name))
              for p in store.pictures.of_job(job.id) if p.sort == "photo"]  # fmt: skip
    tell(0.7, "setting the pages")
    made = papers_of(work, [name], printed=date.fromisoformat(on), picture=picture,
                     options=options, costing=costing, photos=photos)  # fmt: skip
    store.kept.put(job, key, {paper_name(name, on): (PDF, made[name])})
    return {"kept": key, "name": paper_name(name, on)}


def _texture_px(scene: Scene, pixel: float) -> int:
    """Longest side of a texture [px]: as fine as the picture's own `pixel` [m], 512 to 2048."""
    long = np.ptp(np.asarray(scene.surface.outline, dtype=float), axis=0).max()
    return int(np.clip(long / pixel, 512, 2048))


def _pictures(
    store: Store, job: JobState, key: str, work: Working, wants: dict[str, Any], tell: Tell
) -> dict[str, Any]:
    """Draw what is wanted; scenes drawn before a kill are found again, not drawn again."""
    from pourwright.pattern import separation
    from pourwright.plan import picture
    from pourwright.plan.colours import optics_of

    todo = picture.scenes(work.ctx)
    if wants.get("scene"):
        todo = [s for s in todo if s.name == wants["scene"]]
        if not todo:
            listed = ", ".join(s.name for s in picture.scenes(work.ctx))
            raise InputError(
                "scene", wants["scene"], say("one of {listed}", listed=listed), "Choose one."
            )
    seeds = wants.get("seeds") or [None]
    cell, pixel = float(wants["cell_mm"]) / 1e3, float(wants["pixel_mm"]) / 1e3
    known = {p.name: p for p in store.pictures.of_job(job.id)}
    names: list[str] = []
    turns = [(s, seed) for s in todo for seed in seeds]
    for k, (scene, seed) in enumerate(turns):

        def part(share: float, words: str, k: int = k) -> None:
            tell((k + min(share, 1.0)) / len(turns), words)

        fine = min(pixel, 0.0006) if scene.board else pixel
        base = hashlib.sha256(json.dumps([key, scene.name, seed, cell, fine]).encode()).hexdigest()[
            :20
        ]
        sorts = ["sheet"] if scene.board else ["sheet", "view", "texture"]
        here = [f"{base}-{s}" for s in sorts]
        names += here
        if all(n in known for n in here):
            continue
        made = picture.draw(work.ctx, work.timed, scene, seed=seed, cell=cell, pixel=fine,
                            tell=part)  # fmt: skip
        about = {
            "outline_m": [list(map(float, p)) for p in scene.surface.outline],
            "holes_m": [[list(map(float, p)) for p in h] for h in scene.surface.holes],
            "drop_m": float(scene.surface.drop),
            "board": scene.board,
        }
        words = separation(made.played, optics_of(work.ctx)).words
        used = int(work.ctx.job.seed if seed is None else seed)
        images = {"sheet": made.sheet}
        if not scene.board:
            images["view"] = picture.lit_view(work.ctx, made)
            images["texture"] = picture.texture_of(work.ctx, made, _texture_px(scene, fine))
        for sort, image in images.items():
            store.pictures.put(f"{base}-{sort}", job.id, job.revision, image, scene.name, sort,
                               used, words, about)  # fmt: skip
        part(1.0, f"{scene.name} is drawn")
    return {"pictures": names}
