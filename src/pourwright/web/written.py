"""The record of a job out of the store: entries stand in its log, steps and readings beside it.

An entry is a line of the log whose data has `entry`, the plain data of one of `record.entries`.
The log only grows, so entries keep their numbers; one is taken back by a `struck` entry.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from pourwright.store.happened import LogLine
from pourwright.store.jobs import JobState
from pourwright.store.store import Store

if TYPE_CHECKING:
    from pourwright.record.book import Record

EVERY = 1_000_000


def start_of(job: JobState) -> date:
    """The first day [-] of `job`."""
    return date.fromisoformat(str(job.document["site"]["start"])[:10])


def numbered(log: Iterable[LogLine]) -> dict[int, str]:
    """Number of the entry in each line of a whole `log` [-] that holds one: line id to ``e0001``."""
    ids = [x.id for x in log if "entry" in x.data]
    return {i: f"e{k:04d}" for k, i in enumerate(ids, 1)}


def struck(log: Iterable[LogLine]) -> set[str]:
    """Numbers of entries in a `log` [-] that were taken back or corrected."""
    out = set()
    for line in log:
        entry = line.data.get("entry", {})
        out |= {entry[k] for k in ("of", "instead_of") if k in entry and (
            k == "instead_of" or entry.get("kind") == "struck")}  # fmt: skip
    return out


def write(
    store: Store,
    job: JobState,
    kind: str,
    data: Mapping[str, Any],
    text: str,
    who: str = "",
    mark: str | None = None,
) -> LogLine:
    """Write one entry into the record of a job.

    Parameters
    ----------
    store : Store [-]
        Where the job is kept.
    job : JobState [-]
        The job.
    kind : str [-]
        One of `record.entries.KINDS`.
    data : mapping [text with units]
        The entry's fields.
    text : str [-]
        It in words, for the log.
    who, mark : str [-]
        Who says so; the sender's own mark, so that an entry sent twice is kept once.

    Returns
    -------
    LogLine [-]

    Raises
    ------
    InputError
        At the field that does not fit.
    """
    from pourwright.record.book import read_entry

    entry = read_entry(kind, dict(data), start_of(job))
    plain = entry.model_dump(mode="json", exclude_none=True)
    if kind == "struck":
        record_of(store, job).add(entry)  # refuses a number that is not there
    return store.happened.note(job.id, kind, text, {"entry": plain}, who, mark)


def record_of(store: Store, job: JobState, whole: bool = False) -> Record:
    """The record of a job.

    Parameters
    ----------
    store : Store [-]
        Where the job is kept.
    job : JobState [-]
        The job.
    whole : bool [-]
        With the steps that were noted and the temperatures that were entered, behind the entries.

    Returns
    -------
    Record [SI]
    """
    from pourwright.record.book import Record, read_entry

    start = start_of(job)
    lines = [x for x in store.happened.log(job.id, most=EVERY) if "entry" in x.data]
    found = [
        read_entry(str(x.data["entry"].get("kind", x.kind)),
                   {k: v for k, v in x.data["entry"].items() if k != "id"}, start)
        for x in lines
    ]  # fmt: skip
    if whole:
        found += [read_entry("step", d, start) for d in _steps(store, job, start)]
        found += [read_entry("reading", d, start) for d in _readings(job, start)]
    return Record(job=str(job.document["name"])[:120], start=start).add(*found)


def _steps(store: Store, job: JobState, start: date) -> list[dict[str, Any]]:
    first = datetime.combine(start, datetime.min.time())
    return [
        {"at": first + timedelta(seconds=a), "step": step, "ended": first + timedelta(seconds=b)}
        for step, (a, b) in store.happened.done(job.id).items()
    ]


def _readings(job: JobState, start: date) -> list[dict[str, Any]]:
    out = []
    for m in job.document["site"].get("measured", []):
        day = start + timedelta(days=int(m.get("day", 0)))
        out.append({"at": f"{day} {m['at']}", "temperature": m["temperature"]})
    return out
