"""A repair as a small job of its own, derived from the old one: sand, and flood again.

The old record holds a repair entry that names the new job; the new job names the old one and the
fault under ``[repair]``: both ways the link can be followed, and `repairs_of` says how far it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pourwright.errors import InputError
from pourwright.plan.job import Job
from pourwright.plan.load import job_from
from pourwright.record.book import Record, read_record, record_path
from pourwright.record.entries import FaultEntry
from pourwright.record.faults import Verdict
from pourwright.words import Own, say


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
        veins are left out; a topcoat is put on again. The core is ready and no primer is rolled,
        so that only what is left is planned: sanding, masking, the flood, what comes after it.

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
            "surface", fault.surface, say("the job's surfaces are {names}", names=Own(", ".join(names))),
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
    out["primer"] = False
    out["core"] = {**doc["core"], "ready": True}
    out["core"].pop("joints", None)
    out["repair"] = {"job": job.name, "fault": fault.id, "what": fault.fault}
    out.pop("learned", None)
    return job_from(out)


def _free_of(edge: dict[str, Any], alone: set[str]) -> dict[str, Any]:
    meets = str(edge.get("meets", "")).partition(".")[0]
    if not meets or meets in alone:
        return edge
    keep = {k: v for k, v in edge.items() if k in ("length", "mask")}
    return {"kind": "wall", **keep}


@dataclass(frozen=True)
class Mended:
    """A repair of a fault: its job file, and how far it is: ``planned``, ``begun``, ``done`` or
    ``missing`` (the file is not there any more)."""

    fault: str
    job: str
    state: str


def repairs_of(record: Record, folder: Path) -> list[Mended]:
    """The repairs that a `record` [-] names, their job files lying in `folder` [-].

    A repair is done when its own record says that the piece was handed over, or that its last
    step on the piece (unmasking) is finished.
    """
    out = []
    for e in record.of_kind("repair"):
        path = folder / e.job
        state = "planned" if path.exists() else "missing"
        log = record_path(path)
        if log.exists():
            try:
                steps = {s.step for s in read_record(log).of_kind("step") if s.ended is not None}
            except InputError:
                steps = set()
            done = steps & {"handover", "unmask"}
            state = "done" if done else "begun" if steps else state
        out.append(Mended(e.fault, e.job, state))
    return out
