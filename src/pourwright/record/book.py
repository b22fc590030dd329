"""The record of a job: entries that are only ever added, one JSON file per job.

Each entry carries a `mark`, a hash over itself and the mark before it, so that a later change of
the file shows. A wrong entry is corrected by a new one (`instead_of`) or struck out by one
(`struck`); the wrong one stays readable.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from pourwright.calc.registry import input_error, validate
from pourwright.errors import InputError
from pourwright.record.entries import KINDS, AnyEntry, Entry, StruckEntry
from pourwright.store.files import locked, read_text, write_whole
from pourwright.words import say

SCHEMA = 1
LARGEST_RECORD = 60_000_000  # bytes
MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From schema version to a function that brings a document to the next one."""


class Record(BaseModel):
    """What really happened on a job, in the order in which it was written down."""

    model_config = ConfigDict(extra="forbid", populate_by_name=True, frozen=True)

    schema_: int = Field(SCHEMA, alias="schema")
    job: str = Field(min_length=1, max_length=120, description="name of the job")
    start: date = Field(description="the job's first day")
    entries: tuple[AnyEntry, ...] = ()
    marks: tuple[str, ...] = ()

    def add(self, *entries: Entry) -> Record:
        """The record with `entries` [-] written behind the others, numbered.

        Raises `InputError` when one corrects or strikes an entry that is not there.
        """
        now, marks = list(self.entries), list(self.marks)
        known = {e.id for e in now}
        for e in entries:
            for field, ident in (
                ("instead_of", e.instead_of),
                ("of", getattr(e, "of", None)),
                ("fault", e.fault if e.kind == "repair" else None),  # type: ignore[attr-defined]
            ):
                if ident and ident not in known:
                    raise InputError(
                        field, ident, "there is no such entry in this record",
                        "Look its number up with 'pourwright record JOB'.",
                    )  # fmt: skip
            numbered = e.model_copy(update={"id": f"e{len(now) + 1:04d}"})
            now.append(numbered)  # type: ignore[arg-type]
            marks.append(mark_of(numbered, marks[-1] if marks else ""))
            known.add(numbered.id)
        return self.model_copy(update={"entries": tuple(now), "marks": tuple(marks)})

    def standing(self) -> list[Entry]:
        """The entries that count [-]: neither struck nor replaced, by their own time."""
        gone = {e.of for e in self.entries if isinstance(e, StruckEntry)}
        # a correction that is itself struck no longer replaces anything
        gone |= {e.instead_of for e in self.entries if e.instead_of and e.id not in gone}
        out = [e for e in self.entries if e.id not in gone and e.kind != "struck"]
        return sorted(out, key=lambda e: (e.at, e.id))

    def of_kind(self, kind: str) -> list[Any]:
        """The standing entries of one `kind` [-]."""
        return [e for e in self.standing() if e.kind == kind]  # type: ignore[attr-defined]

    def changed_by_hand(self) -> list[str]:
        """Ids of entries whose mark does not fit [-]: the file was changed outside Pourwright."""
        out, before = [], ""
        for k, e in enumerate(self.entries):
            right = mark_of(e, before)
            given = self.marks[k] if k < len(self.marks) else ""
            if given != right:
                out.append(e.id)
            before = given or right
        return out

    def document(self) -> dict[str, Any]:
        """The record as plain JSON data [-], quantities as exact text."""
        return self.model_dump(mode="json", exclude_none=True, by_alias=True)


def mark_of(entry: Entry, before: str) -> str:
    """The mark of `entry` [-] behind the mark `before` [-]: 16 hex digits of SHA-256."""
    data = json.dumps(
        entry.model_dump(mode="json", exclude_none=True), sort_keys=True, ensure_ascii=False
    )
    return hashlib.sha256(f"{before}\n{data}".encode()).hexdigest()[:16]


def read_entry(kind: str, data: dict[str, Any], start: date | None = None) -> Entry:
    """An entry of `kind` [-] from plain `data` [text with units]; `start` resolves "day 4 09:40".

    Raises `InputError` naming the field.
    """
    model = KINDS.get(kind)
    if model is None:
        raise InputError(
            "kind", kind, say("it is one of {names}", names=", ".join(KINDS)), "Use one of these."
        )
    moments = [k for k, f in model.model_fields.items() if k in ("at", "poured", "ended")]
    if start is not None:
        from pourwright.record.moments import read_moment

        data = dict(data)
        for k in moments:
            if isinstance(data.get(k), str):
                try:
                    data[k] = read_moment(data[k], start)
                except InputError as err:
                    raise err.at(k) from None
    entry: Entry = validate(model, data)
    return entry


def record_from(data: Any) -> Record:
    """A record from plain data [-] of any schema version up to now; raises `InputError`."""
    data = migrate(data, "record", SCHEMA, MIGRATIONS)
    from pydantic import ValidationError

    try:
        record = TypeAdapter(Record).validate_python(data)
    except ValidationError as err:
        raise input_error(err, "record") from None
    ids = [e.id for e in record.entries]
    if ids != [f"e{k + 1:04d}" for k in range(len(ids))]:
        raise InputError(
            "record.entries", "their numbers", "they run e0001, e0002, ... without a gap",
            "An entry was taken out by hand: bring the file back from a copy.",
        )  # fmt: skip
    return record


def migrate(
    data: Any,
    what: str,
    newest: int,
    steps: dict[int, Callable[[dict[str, Any]], dict[str, Any]]],
) -> dict[str, Any]:
    """`data` [-] of an older schema brought to version `newest` by `steps`; refuses newer ones.

    `what` [-] names the document in errors.
    """
    if not isinstance(data, dict):
        raise InputError(what, type(data).__name__, "a table of keys is needed", "Check the file.")
    version = data.get("schema", newest)
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise InputError(f"{what}.schema", version, "it is a whole number from 1", "Check it.")
    if version > newest:
        raise InputError(
            f"{what}.schema", version, say("this Pourwright reads versions up to {newest}", newest=newest),
            "Bring Pourwright up to date.",
        )  # fmt: skip
    for k in range(version, newest):
        data = steps[k](dict(data))
    return {**data, "schema": newest}


def record_path(job_file: str | Path) -> Path:
    """Where the record of the job in `job_file` [-] lies: beside it, ``NAME.record.json``."""
    p = Path(job_file)
    return p.with_name(f"{p.stem}.record.json")


def read_record(path: str | Path) -> Record:
    """The record in the file `path` [-]; raises `InputError`."""
    text = read_text(Path(path), "record", LARGEST_RECORD)
    try:
        data = json.loads(text)
    except (json.JSONDecodeError, RecursionError):
        raise InputError(
            "record", str(path), "it is not JSON", "Bring it back from a copy."
        ) from None
    return record_from(data)


def open_record(path: str | Path, job: str, start: date) -> Record:
    """The record in `path` [-], or an empty one for `job` [-] that begins on `start` [-]."""
    if Path(path).exists():
        return read_record(path)
    return Record(job=job, start=start)


def record_text(record: Record) -> str:
    """The record as the text of its file [-], one entry per line so that changes read well."""
    doc = record.document()
    lines = [json.dumps(e, ensure_ascii=False, allow_nan=False) for e in doc["entries"]]
    head = {k: doc[k] for k in ("schema", "job", "start")}
    return (
        "{\n"
        + "".join(
            f"{json.dumps(k)}: {json.dumps(v, ensure_ascii=False)},\n" for k, v in head.items()
        )
        + '"entries": [\n'
        + ",\n".join(lines)
        + '\n],\n"marks": '
        + json.dumps(doc["marks"])
        + "\n}\n"
    )


def append(path: str | Path, job: str, start: date, entries: Iterable[Entry]) -> Record:
    """Add `entries` [-] to the record file `path` [-], made for `job` and `start` if missing.

    The file is read again under a lock, so what another program wrote meanwhile stays; it is
    written whole or not at all. Raises `InputError`.
    """
    p = Path(path)
    with locked(p):
        now = open_record(p, job, start).add(*entries)
        write_whole(p, record_text(now))
    return now
