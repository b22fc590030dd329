"""A job with everything that belongs to it as one JSON file: exact there and back.

The bundle holds the job file's own text, the files that it names, the plan, the record and, when
asked for, its photos; each part with its SHA-256. Reading checks every hash.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from pourwright.catalogue import Catalogue
from pourwright.errors import InputError
from pourwright.plan import Job, Plan, read_job
from pourwright.record.book import Record, migrate, read_record, record_from, record_path
from pourwright.record.photos import photo_folder
from pourwright.store.files import read_text, write_whole
from pourwright.words import Own, say

SCHEMA = 1
KIND = "pourwright job bundle"
LARGEST = 400_000_000  # characters
LARGEST_PART = 60_000_000  # bytes
MIGRATIONS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From schema version to a function that brings a bundle to the next one."""
_SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}")


@dataclass(frozen=True)
class Bundle:
    """A bundle: the job file's name and text, the files it names, plan, record and photos.

    `files` maps a relative path to text, `photos` a file name to bytes.
    """

    name: str
    job_text: str
    files: dict[str, str] = field(default_factory=dict)
    plan: dict[str, Any] | None = None
    record: dict[str, Any] | None = None
    photos: dict[str, bytes] = field(default_factory=dict)

    @property
    def job(self) -> Job:
        """The job [SI]; raises `InputError`."""
        return read_job(self.job_text, self.name)


def safe_path(name: str) -> str:
    """`name` [-] if it is a plain relative path below the job's folder, else `InputError`."""
    parts = PurePosixPath(name).parts
    plain = bool(parts) and len(parts) <= 6 and "\\" not in name and not name.startswith("/")
    reserved = {"con", "prn", "aux", "nul"}
    if not plain or any(
        not _SAFE.fullmatch(p) or p.rstrip(" .") != p or p.split(".")[0].lower() in reserved
        for p in parts
    ):
        raise InputError(
            "bundle.files", name, "it must be a plain path below the job's folder",
            "Put the file beside the job, under a name of letters, digits, dots and dashes.",
        )  # fmt: skip
    return "/".join(parts)


def pack(
    job_file: str | Path,
    plan: Plan | None = None,
    record_file: str | Path | None = None,
    photos: bool = True,
) -> Bundle:
    """Gather a job and all that belongs to it.

    Parameters
    ----------
    job_file : str or Path [-]
        The job.
    plan : Plan or None [-]
        Its plan, if it shall go along.
    record_file : str or Path or None [-]
        Its record; None takes the one beside it, if there is one.
    photos : bool [-]
        Whether the record's photos go along.

    Returns
    -------
    Bundle [-]

    Raises
    ------
    InputError
        A file that is missing, or does not lie below the job's folder.
    """
    path = Path(job_file)
    text = read_text(path, "job", 2_000_000)
    job = read_job(text, str(path))
    files: dict[str, str] = {}
    for name in [*job.products, *([job.finish.score] if job.finish.score else [])]:
        key = safe_path(name)
        files[key] = read_text(path.parent / key, "file", 8_000_000)
    record, pictures = None, {}
    where = Path(record_file) if record_file else record_path(path)
    if record_file or where.exists():
        found = read_record(where)
        record = found.document()
        for e in found.of_kind("photo") if photos else ():
            file = photo_folder(where) / e.file
            try:
                raw = file.read_bytes()
            except OSError as err:
                raise InputError(
                    "photo", str(file), err.strerror or "it cannot be read",
                    "Bring it back, or leave the photos out.",
                ) from None  # fmt: skip
            if hashlib.sha256(raw).hexdigest() != e.sha256:
                raise InputError(
                    "photo", str(file), "it is not the one that was taken into the record",
                    "Bring the right one back, or leave the photos out.",
                )  # fmt: skip
            pictures[e.file] = raw
    data = plan.model_dump(mode="json", by_alias=True) if plan is not None else None
    return Bundle(path.name, text, files, data, record, pictures)


def bundle_text(bundle: Bundle) -> str:
    """A `bundle` [-] as the text of its file; the same bundle gives the same text."""
    parts: dict[str, Any] = {
        "job": bundle.job_text,
        "files": bundle.files,
        "plan": bundle.plan,
        "record": bundle.record,
        "photos": {k: base64.b64encode(v).decode("ascii") for k, v in bundle.photos.items()},
    }
    document = {
        "kind": KIND,
        "schema": SCHEMA,
        "name": bundle.name,
        "sha256": {k: _hash(v) for k, v in parts.items()},
        **parts,
    }
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _hash(part: Any) -> str:
    raw = json.dumps(part, ensure_ascii=False, sort_keys=True, allow_nan=False)
    return hashlib.sha256(raw.encode("utf-8", "surrogatepass")).hexdigest()


def read_bundle(text: str) -> Bundle:
    """The bundle in `text` [-].

    Parameters
    ----------
    text : str [-]
        Of any schema version up to now.

    Returns
    -------
    Bundle [-]
        Checked: hashes, paths, and that job, files, plan and record can each be read.

    Raises
    ------
    InputError
        Anything that is not as it was written.
    """
    if len(text) > LARGEST:
        raise InputError("bundle", f"{len(text)} characters", "at most 400 million", "Check it.")
    try:
        data = json.loads(text, parse_constant=_no_constant)
    except (json.JSONDecodeError, RecursionError):
        raise InputError("bundle", text[:40], "it is not JSON", "Fetch the file again.") from None
    if not isinstance(data, dict) or data.get("kind") != KIND:
        raise InputError(
            "bundle", text[:40], say("its kind is not '{kind}'", kind=Own(KIND)), "Give a bundle."
        )
    data = migrate(data, "bundle", SCHEMA, MIGRATIONS)
    wanted = {"kind", "schema", "name", "sha256", "job", "files", "plan", "record", "photos"}
    if set(data) != wanted:
        odd = sorted(set(data) ^ wanted)[0]
        raise InputError(f"bundle.{odd}", odd, "this part is missing or unknown", "Fetch it again.")
    given = data["sha256"] if isinstance(data["sha256"], dict) else {}
    for part in ("job", "files", "plan", "record", "photos"):
        if given.get(part) != _hash(data[part]):
            raise InputError(
                f"bundle.{part}", given.get(part), "it is not as it was written (its hash differs)",
                "Fetch the file again.",
            )  # fmt: skip
    name, job, files = data["name"], data["job"], data["files"]
    if not isinstance(name, str) or "/" in safe_path(name) or not name.endswith(".toml"):
        raise InputError("bundle.name", name, "it is the name of a job file", "Check the file.")
    if not isinstance(job, str):
        raise InputError("bundle.job", type(job).__name__, "it is text", "Fetch it again.")
    if not isinstance(files, dict) or not all(isinstance(v, str) for v in files.values()):
        raise InputError("bundle.files", type(files).__name__, "they are texts", "Fetch it again.")
    bundle = Bundle(
        name,
        job,
        {safe_path(k): v for k, v in files.items()},
        data["plan"],
        data["record"],
        {k: _photo(k, v) for k, v in _photos(data["photos"]).items()},
    )
    _check(bundle)
    return bundle


def _no_constant(word: str) -> Any:
    raise InputError("bundle", word, "numbers must be finite", "Fetch the file again.")


def _photos(data: Any) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise InputError("bundle.photos", type(data).__name__, "it is a table", "Fetch it again.")
    return data


def _photo(name: str, data: Any) -> bytes:
    if not re.fullmatch(r"[0-9a-z][0-9a-z._-]{0,80}\.jpg", name) or not isinstance(data, str):
        raise InputError("bundle.photos", name, "it is the name of a JPEG", "Fetch it again.")
    try:
        raw = base64.b64decode(data, validate=True)
    except (binascii.Error, ValueError):
        raise InputError(f"bundle.photos.{name}", data[:20], "not base64", "Fetch it.") from None
    if len(raw) > LARGEST_PART or not raw.startswith(b"\xff\xd8\xff"):
        raise InputError(f"bundle.photos.{name}", len(raw), "it is no JPEG", "Fetch it again.")
    return raw


def _check(bundle: Bundle) -> None:
    from pydantic import ValidationError

    from pourwright.calc.registry import input_error

    job = bundle.job
    needed = [*job.products, *([job.finish.score] if job.finish.score else [])]
    for name in needed:
        if safe_path(name) not in bundle.files:
            raise InputError("bundle.files", name, "the job names it, it is missing", "Fetch it.")
    if bundle.plan is not None:
        try:
            Plan.model_validate(bundle.plan)
        except ValidationError as err:
            raise input_error(err, "bundle.plan") from None
    if bundle.record is not None:
        record: Record = record_from(bundle.record)
        if record.job != job.name:
            raise InputError(
                "bundle.record",
                record.job,
                say("the job is '{name}'", name=Own(job.name)),
                "Fetch it again.",
            )


def unpack(bundle: Bundle, folder: str | Path) -> list[Path]:
    """Write a bundle's files into a folder.

    Parameters
    ----------
    bundle : Bundle [-]
        From `read_bundle`.
    folder : str or Path [-]
        Made when missing; nothing in it is ever overwritten with something else.

    Returns
    -------
    list of Path [-]
        What was written: job, named files, record, photos, plan.

    Raises
    ------
    InputError
        A file of that name with other contents is there; then nothing was written.
    """
    from pourwright.record.book import record_text

    base = Path(folder)
    stem = Path(bundle.name).stem
    parts: dict[Path, bytes] = {base / bundle.name: bundle.job_text.encode("utf-8")}
    for name, text in bundle.files.items():
        parts[base / name] = text.encode("utf-8")
    if bundle.record is not None:
        path = record_path(base / bundle.name)
        parts[path] = record_text(record_from(bundle.record)).encode("utf-8")
        for name, raw in bundle.photos.items():
            parts[photo_folder(path) / name] = raw
    if bundle.plan is not None:
        text = json.dumps(bundle.plan, ensure_ascii=False, indent=1) + "\n"
        parts[base / f"{stem}.plan.json"] = text.encode("utf-8")
    for path, raw in parts.items():
        if path.is_symlink() or (path.exists() and path.read_bytes() != raw):
            raise InputError(
                "-o", str(path), "it is there already and differs", "Name another folder."
            )
    try:
        for path in parts:
            path.parent.mkdir(parents=True, exist_ok=True)
            if not path.parent.resolve().is_relative_to(base.resolve()):
                raise InputError("-o", str(path), "it leads out of the folder", "Check the links.")
    except OSError as err:
        raise InputError(
            "-o", str(base), err.strerror or "it cannot be written", "Name another folder."
        ) from None
    for path, raw in parts.items():
        write_whole(path, raw)
    # products must be readable where they now lie
    Catalogue().with_files([base / safe_path(p) for p in bundle.job.products])
    return list(parts)
