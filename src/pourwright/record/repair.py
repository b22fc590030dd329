"""A repair as a small job of its own, derived from the old one: sand, and flood again."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.errors import InputError
from pourwright.plan.job import Job
from pourwright.plan.load import job_from
from pourwright.record.entries import FaultEntry, StepEntry
from pourwright.record.faults import Verdict

READY = ("core-cut", "core-glue", "round-over", "primer-1")


def repair_job(job: Job, verdict: Verdict, start: date) -> Job:
    """The job that floods a piece again.

    Parameters
    ----------
    job : Job [SI]
        The old job.
    verdict : Verdict [-]
        Fault and remedy.
    start : date [-]
        First day of the repair.

    Returns
    -------
    Job [SI]
        The surface with the fault (all pieces when none was named) under one clear coat of the
        old flood, in the old air; joints and neighbours become walls, to be masked. Board and
        veins are left out; a topcoat is put on again. Core and primer of the old job are there
        as steps done before: see `ready_steps`.

    Raises
    ------
    InputError
        A surface that the job has not.
    """
    fault: FaultEntry = verdict.fault
    doc: dict[str, Any] = job.to_document()
    real = [s for s in doc["surfaces"] if s.get("purpose", "surface") != "board"]
    names = [s["name"] for s in real]
    if fault.surface is not None and fault.surface not in names:
        raise InputError(
            "surface", fault.surface, f"the job's surfaces are {', '.join(names)}",
            "Name one of them in the fault.",
        )  # fmt: skip
    kept = [s for s in real if fault.surface in (None, s["name"])]
    alone = {s["name"] for s in kept}
    for s in kept:
        s["edges"] = {
            side: [_free_of(e, alone) for e in parts] for side, parts in s.get("edges", {}).items()
        }
    flood = dict(doc.get("flood") or doc["colour"])
    for key in ("shades", "vein_width", "vein_thread"):
        flood.pop(key, None)
    out = {k: v for k, v in doc.items() if k not in ("board", "flood", "price", "finish")}
    out["site"] = {k: v for k, v in doc["site"].items() if k != "measured"}
    out["site"]["start"] = start.isoformat()
    out.update(
        name=f"{job.name}, repair of a {fault.fault}"[:120],
        about=f"{verdict.repair}: {verdict.remedy}"[:2000],
        revision=1,
        surfaces=kept,
        colour=flood,
    )
    # a job file cannot say "no primer": one coat, counted as done, stands for the sound coat below
    out["primer"] = {**doc.get("primer", {}), "coats": 1}
    return job_from(out)


def _free_of(edge: dict[str, Any], alone: set[str]) -> dict[str, Any]:
    meets = str(edge.get("meets", "")).partition(".")[0]
    if not meets or meets in alone:
        return edge
    keep = {k: v for k, v in edge.items() if k in ("length", "mask")}
    return {"kind": "wall", **keep}


def ready_steps(start: date) -> list[StepEntry]:
    """Entries [-] that say that the core of a repair was ready before its first day `start` [-]."""
    from pourwright.record.moments import moment_of

    at = moment_of(0.0, start)
    return [StepEntry(at=at, step=s, ended=at, note="made for the old job") for s in READY]
