"""Long work about what happened: a day lost, causes of a fault, lessons, spent against planned.

Runs in a worker, as `work.do_task`; what comes out is kept as JSON under the task's `name`.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.store.store import Store
from pourwright.store.tasks import Task
from pourwright.web import written
from pourwright.web.answers import to_json
from pourwright.web.texts import folder_of
from pourwright.words import phrase_book

if TYPE_CHECKING:
    from pourwright.plan import Plan, Working
    from pourwright.record.looks import DoneJob

Tell = Callable[[float, str], None]
KINDS = ("lost", "causes", "lessons", "money")
JSON = "application/json"
LEARNED = "products/learned.toml"
"""Name under which a job keeps what was learned."""


def do_record_task(
    store: Store, job: JobState, task: Task, root: Path, work: Working | None, tell: Tell
) -> dict[str, Any]:
    """Do a task of one of `KINDS`.

    Parameters
    ----------
    store : Store [-]
        Where jobs are kept.
    job : JobState [-]
        The job at the task's revision.
    task : Task [-]
        What is wanted: `kept` (key) and `name` of the result, and what the kind needs.
    root : Path [-]
        Folder for texts that jobs name.
    work : Working or None [SI]
        The job as it is planned now; needed by ``lost`` and ``money``.
    tell : callable [-]
        Told the share done and words; may raise to stop.

    Returns
    -------
    dict [-]
        ``kept`` and ``name``.

    Raises
    ------
    InputError
        As planning or judging does.
    """
    wants = task.wants
    done = {k: (float(a), float(b)) for k, (a, b) in wants.get("done", {}).items()}
    if task.kind == "lost":
        assert work is not None
        found = if_lost(job, work.plan, date.fromisoformat(wants["date"]), done, root, tell)
        found |= lost_cost(work, str(wants["date"]))
    elif task.kind == "money":
        assert work is not None
        found = money(work, dict(wants.get("spent", {})), tell)
    elif task.kind == "causes":
        found = causes(done_job(store, job, root, tell))
    else:
        jobs = [store.jobs.get(i) for i in wants.get("jobs", [job.id])]
        done_jobs = [
            done_job(store, j, root, _part(lambda x, w: tell(0.6 * x, w), k, len(jobs)))
            for k, j in enumerate(jobs)
        ]
        teach = store.jobs.get(wants["teach"]) if wants.get("teach") else None
        found = lessons(done_jobs, teach, root, tell)
    found["phrases"] = phrase_book(found)
    name, key = str(wants["name"]), str(wants["kept"])
    store.kept.put(job, key, {name: (JSON, to_json(found))})
    return {"kept": key, "name": name}


def _part(tell: Tell, k: int, n: int) -> Tell:
    return lambda share, words: tell((k + 0.9 * share) / n, words)


def _worked(
    job: JobState, document: dict[str, Any], done: dict[str, tuple[float, float]], root: Path,
    tell: Tell,
) -> Working:  # fmt: skip
    from pourwright.plan import job_from, work_out

    return work_out(job_from(document), folder_of(job, root), dict(done), tell)


# a day lost --------------------------------------------------------------------------------------


def if_lost(
    job: JobState, plan: Plan, day: date, done: dict[str, tuple[float, float]], root: Path,
    tell: Tell,
) -> dict[str, Any]:  # fmt: skip
    """What a job looks like when nobody can work on one day.

    Parameters
    ----------
    job : JobState [-]
        The job.
    plan : Plan [unit-suffixed keys]
        As it is planned now.
    day : date [-]
        The day that is lost; steps of earlier days count as done as planned.
    done : dict [s]
        Steps that really happened.
    root : Path [-]
        Folder for texts that the job names.
    tell : callable [-]
        Told the share done.

    Returns
    -------
    dict [ISO 8601 moments]
        Finish now and then, steps that move, come in and fall away, hold points that fail then.
    """
    document = copy.deepcopy(job.document)
    site = document["site"]
    lost = [str(d)[:10] for d in site.get("lost", [])]
    site["lost"] = sorted({*lost, day.isoformat()})
    before = {**_as_planned(plan, day, job), **done}
    then = _worked(job, document, before, root, tell).plan
    was = {s.id: s for d in plan.days for s in d.steps}
    now = {s.id: s for d in then.days for s in d.steps}
    moved = [
        {"id": k, "title": s.title, "from": was[k].starts, "to": s.starts}
        for k, s in now.items()
        if k in was and was[k].starts != s.starts and not s.done
    ]
    failing = {(h.step, h.check.name) for h in plan.holds if h.check.passed == "no"}
    return {
        "date": day.isoformat(),
        "finish": plan.finish,
        "finish_then": then.finish,
        "serve": plan.serve,
        "serve_then": then.serve,
        "moved": moved,
        "more": [{"id": k, "title": s.title, "to": s.starts, "why": s.say}
                 for k, s in now.items() if k not in was],
        "fewer": [{"id": k, "title": s.title} for k, s in was.items() if k not in now],
        "holds": [
            {"title": h.check.title, "step": now[h.step].title if h.step in now else h.step,
             "remedy": h.check.remedies[0] if h.check.remedies else ""}
            for h in then.holds
            if h.check.passed == "no" and (h.step, h.check.name) not in failing
        ],
        "warnings": [w for w in then.warnings if w not in plan.warnings],
    }  # fmt: skip


def lost_cost(work: Working, day: str) -> dict[str, Any]:
    """What `day` [ISO date] lost costs a planned job `work` [currency]; empty when nobody works."""
    from pourwright.papers import cost_job

    found = next((x for x in cost_job(work).lost_days if x.day[:10] == day), None)
    if found is None:
        return {}
    cost = found.cost.rounded()
    return {"cost": f"{cost.amount:f}", "currency": cost.currency}


def _as_planned(plan: Plan, day: date, job: JobState) -> dict[str, tuple[float, float]]:
    """Steps before `day` as if they went as planned [s since the first midnight]."""
    from datetime import datetime

    first = datetime.combine(written.start_of(job), datetime.min.time())

    def seconds(iso: str) -> float:
        return (datetime.fromisoformat(iso) - first).total_seconds()

    return {
        s.id: (seconds(s.starts), seconds(s.ends))
        for d in plan.days
        for s in d.steps
        if d.date < day.isoformat()
    }


# the record --------------------------------------------------------------------------------------


def done_job(store: Store, job: JobState, root: Path, tell: Tell) -> DoneJob:
    """A job with its record out of `store`, planned as it was before its first reading [SI].

    `root` [-] holds texts that `job` names, `tell` hears the share done.
    """
    from pourwright.plan import job_from
    from pourwright.plan.context import Context
    from pourwright.record.account import coat_accounts
    from pourwright.record.happened import as_happened
    from pourwright.record.looks import DoneJob

    record = written.record_of(store, job, whole=True)
    document = copy.deepcopy(job.document)
    for key in ("measured", "seen", "lost"):
        document["site"].pop(key, None)
    real, _ = as_happened(job_from(document), record)
    work = _worked(job, document, {}, root, tell)
    return DoneJob(
        work.plan.name, work, record, Context(real, folder_of(job, root)),
        coat_accounts(work, record),
    )  # fmt: skip


def causes(done: DoneJob) -> dict[str, Any]:
    """Faults in the record of a recorded job `done` [-] with their ranked causes and remedies."""
    from pourwright.record import faults_of

    return {
        "faults": [
            {
                "entry": v.fault.id, "fault": v.fault.fault, "surface": v.fault.surface or "",
                "looks": v.looks, "repair": v.repair, "remedy": v.remedy,
                "cautions": list(v.cautions),
                "causes": [
                    {"key": c.key, "share": c.share, "says": c.says, "evidence": c.evidence,
                     "next_time": c.next_time}
                    for c in v.causes
                ],
            }
            for v in faults_of(done)
        ],
        "accounts": [
            {"coat": a.coat, "cups": a.cups, "cups_planned": a.cups_planned, "mixed_kg": a.mixed,
             "in_cups_kg": a.in_cups, "ran_off_kg": a.ran_off, "tools_kg": a.tools,
             "left_over_kg": a.left_over, "on_surface_kg": a.on_surface, "film_m": a.film_m,
             "film_planned_m": a.film_planned_m}
            for a in done.accounts
        ],
    }  # fmt: skip


def lessons(jobs: list[DoneJob], teach: JobState | None, root: Path, tell: Tell) -> dict[str, Any]:
    """What recorded jobs teach, and a job that uses it.

    Parameters
    ----------
    jobs : list of DoneJob [SI]
        Recorded jobs.
    teach : JobState or None [-]
        The job that is to use it; it is not touched.
    root : Path [-]
        Folder for texts that jobs name.
    tell : callable [-]
        Told the share done.

    Returns
    -------
    dict [unit-suffixed keys]
        As `lessons_document`; with `product_file` (text, empty when nothing was learned of a
        resin), `document` (the taught job's), `said` (what was changed in it) and `changes` (of
        its plan).
    """
    import tomllib

    from pourwright.plan import job_from, read_job, work_out, write_job
    from pourwright.record import (
        changes_document,
        forget,
        lessons_document,
        lessons_of,
        plan_changes,
        product_file,
        taught_job,
    )
    from pourwright.store.files import write_whole

    found = lessons_of(jobs)
    out: dict[str, Any] = dict(lessons_document(found))
    try:
        out["product_file"] = product_file(found)
    except InputError as err:
        out["product_file"], out["why_none"] = "", err.as_dict()
    if teach is None:
        return out
    tell(0.7, "planning with the lessons")
    old = write_job(job_from(teach.document))
    if teach.document.get("learned"):  # what it learned before is in the lessons already
        old, _ = forget(old)
    first, _ = taught_job(old, found, LEARNED)
    folder = folder_of(replace(teach, files={**teach.files, LEARNED: out["product_file"]}), root)
    if out["product_file"]:
        (folder / LEARNED).parent.mkdir(parents=True, exist_ok=True)
        write_whole(folder / LEARNED, out["product_file"])
    text, said = taught_job(old, found, LEARNED, work_out(read_job(first), folder))
    tell(0.85, "planning with the lessons")
    was, now = (work_out(read_job(x), folder).plan for x in (old, text))
    out["changes"] = changes_document(plan_changes(was, now))
    out["document"], out["said"] = tomllib.loads(text), said
    return out


# money -------------------------------------------------------------------------------------------


def money(work: Working, spent: dict[str, str], tell: Tell) -> dict[str, Any]:
    """The reckoning of a planned job and what was `spent` against it [currency].

    `work` [SI] is the job, `spent` group to money as text; options are planned and reckoned too,
    and `tell` hears the share done.
    """
    from pourwright.papers import cost_job, price_options
    from pourwright.papers.document import compared_document, costing_document
    from pourwright.price import compare
    from pourwright.price.items import GROUPS
    from pourwright.quantities.money import read_money

    costing = cost_job(work)
    options = price_options(work, costing, tell) if costing.spec.options else []
    out: dict[str, Any] = {**costing_document(costing, options), "titles": dict(GROUPS)}
    if spent:
        real = {g: read_money(m, f"spent.{g}") for g, m in spent.items()}
        out["compared"] = compared_document(*compare(costing.reckoning, real))
    return out
