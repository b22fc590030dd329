"""The record laid over the plan: temperatures and steps that happened, the rest planned again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from pourwright.errors import InputError
from pourwright.plan.job import Job, Measured, Seen
from pourwright.quantities.fields import si
from pourwright.record.book import Record
from pourwright.record.entries import (
    CheckEntry,
    LoggerEntry,
    LookEntry,
    ReadingEntry,
    StepEntry,
)
from pourwright.record.moments import seconds
from pourwright.words import Own, say

COATS = ("colour", "flood", "back-1", "back-2")
DAY_S = 86400.0
LAST_DAY = 60  # readings later than this cannot be planned with [d]


@dataclass(frozen=True)
class AirSeen:
    """Air as it was: moments [s since the first midnight], temperature [K], humidity [-] or nan."""

    times_s: np.ndarray
    kelvin: np.ndarray
    humidity: np.ndarray


def air_seen(record: Record) -> AirSeen:
    """All temperatures of a `record` [-] in order of time; spikes and doubles left out [s, K, -].

    A typed reading beats a logger's at the same minute.
    """
    found: dict[float, tuple[float, float, int]] = {}

    def put(t: float, kelvin: float | None, humidity: float | None, rank: int) -> None:
        key = round(t / 60.0) * 60.0
        if key < 0 or (kelvin is None and humidity is None):
            return
        if key not in found or found[key][2] < rank:
            found[key] = (
                np.nan if kelvin is None else kelvin,
                np.nan if humidity is None else humidity,
                rank,
            )

    for e in record.standing():
        if isinstance(e, LoggerEntry):
            out = set(e.left_out)
            start = seconds(e.at, record.start)
            shares = e.humidity_percent or [None] * len(e.minutes)
            for k, (m, t, h) in enumerate(zip(e.minutes, e.degC, shares, strict=True)):
                kelvin = None if t is None or k in out else t + 273.15
                put(start + 60.0 * m, kelvin, None if h is None else h / 100.0, 0)
        elif isinstance(e, ReadingEntry):
            put(seconds(e.at, record.start), e.temperature, e.humidity, 1)
    keys = sorted(found)
    return AirSeen(
        np.array(keys),
        np.array([found[k][0] for k in keys]),
        np.array([found[k][1] for k in keys]),
    )


def steps_done(record: Record) -> dict[str, tuple[float, float]]:
    """Steps of a `record` [-] with a start and an end [s since the first midnight]."""
    out: dict[str, tuple[float, float]] = {}
    for e in record.standing():
        if isinstance(e, StepEntry) and e.ended is not None:
            out[e.step] = (seconds(e.at, record.start), seconds(e.ended, record.start))
    return out


def looks_seen(record: Record, until_s: float = np.inf) -> list[Seen]:
    """Looks at poured films and hardness readings, for the live plan.

    Parameters
    ----------
    record : Record [-]
        What happened.
    until_s : float [s]
        Only what was seen by then, since the first midnight.

    Returns
    -------
    list of Seen [-]
        For ``site.seen``. Looks at cups teach the next job instead. A hardness without its coat is
        of the last coat of which a batch was spread before; without one it is left out.
    """
    spread = sorted(
        (v[1], k.partition("-spread-")[0])
        for k, v in steps_done(record).items()
        if k.partition("-spread-")[0] in COATS
    )
    out = []
    for e in record.standing():
        t = seconds(e.at, record.start)
        if not 0 <= t <= until_s or t >= (LAST_DAY + 1) * DAY_S:
            continue
        found: dict[str, Any] = {"day": int(t // DAY_S), "at": float(t % DAY_S)}
        if isinstance(e, LookEntry) and e.stage != "cup gel":
            found |= {"coat": e.coat, "stage": e.stage, "reached": e.seen}
        elif isinstance(e, CheckEntry) and e.what == "hardness":
            before = [c for at, c in spread if at <= t]
            found |= {"coat": e.coat or (before[-1] if before else None), "shore_d": e.shore_d}
        if found.get("coat") in COATS:
            out.append(Seen(**found))
    return out


def check_belongs(record: Record, job: Job) -> None:
    """Refuse a `record` [-] of another job than `job` [-]: other name or other first day."""
    if record.job != job.name:
        raise InputError(
            "record.job", record.job, say("the job file is of '{name}'", name=Own(job.name)),
            "Name the record that belongs to this job.",
        )  # fmt: skip
    if record.start != job.site.start:
        raise InputError(
            "record.start", record.start.isoformat(),
            say("the job file begins on {start}", start=job.site.start.isoformat()),
            "A job that was moved gets a new name and a new record.",
        )  # fmt: skip


def as_happened(
    job: Job, record: Record, until: datetime | None = None, every_s: float = 900.0
) -> tuple[Job, dict[str, tuple[float, float]]]:
    """The job with what was measured, and the steps that are done, for `plan_job`.

    Parameters
    ----------
    job : Job [SI]
        As it was planned.
    record : Record [-]
        What happened.
    until : datetime or None [-]
        Only what was known by then; None takes all.
    every_s : float [s]
        A logger's readings are thinned to one in this time.

    Returns
    -------
    tuple of Job and dict [SI, s]
        The job with temperatures under ``site.measured`` and looks at the films under
        ``site.seen``, and step id to start and finish.

    Raises
    ------
    InputError
        A record of another job.
    """
    check_belongs(record, job)
    seen = air_seen(record)
    limit = np.inf if until is None else seconds(until, record.start)
    measured, last = [], -np.inf
    for t, kelvin in zip(seen.times_s, seen.kelvin, strict=True):
        if not np.isfinite(kelvin) or t > limit or t >= (LAST_DAY + 1) * DAY_S:
            continue
        if t - last < every_s - 1.0:
            continue
        last = t
        measured.append(
            Measured(day=int(t // DAY_S), at=float(t % DAY_S), temperature=si(float(kelvin)))
        )
    own = {(m.day, m.at) for m in measured}
    kept = [m for m in job.site.measured if (m.day, m.at) not in own]
    looks = looks_seen(record, limit)
    site = job.site.model_copy(
        update={"measured": [*kept, *measured], "seen": [*job.site.seen, *looks]}
    )
    done = {k: v for k, v in steps_done(record).items() if v[1] <= limit}
    return job.model_copy(update={"site": site}), done
