"""A job document before it is kept: checked, with nothing in it that could reach outside."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import PurePosixPath
from typing import Any

from pourwright.errors import InputError
from pourwright.words import say

LARGEST_FILE = 400_000
"""Largest text that a job may name [bytes]."""
MOST_FILES = 40
_PART = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,60}")


@dataclass(frozen=True)
class Checked:
    """A document fit to be kept: its texts, its name and client, its fingerprint."""

    text: str
    files: str
    sha256: str
    name: str
    client: str


def plain(value: Any) -> Any:
    """`value` as plain JSON data [-]: dates as ISO text, tuples as lists."""
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    return value


def check(document: Any, files: dict[str, str], number: int) -> Checked:
    """A document and the texts it names, checked and ready to be kept as revision `number`.

    Parameters
    ----------
    document : dict [-]
        The job as plain data, quantities as they were typed.
    files : dict of str to str [-]
        Texts that the document names (its score, own products), by name.
    number : int [-]
        The revision's number, written into the document.

    Returns
    -------
    Checked [-]

    Raises
    ------
    InputError
        The document is no job, is too large, or names a file that is not among `files`.
    """
    from pourwright.plan.load import LARGEST_JOB, job_from  # heavy: only when something is saved

    if not isinstance(document, dict):
        raise InputError("document", type(document).__name__, "it is a table of keys", "Check it.")
    try:
        made = plain(document)
        made = {**made, "revision": number}
        text = json.dumps(made, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        raw = text.encode("utf-8")
        job = job_from(made)
    except RecursionError:
        raise InputError("document", "...", "it is nested too deeply", "Flatten it.") from None
    except UnicodeEncodeError:
        raise InputError(
            "document", "...", "it must be UTF-8 text", "Take odd signs out."
        ) from None
    except InputError:
        raise
    except ValueError:
        raise InputError(
            "document", "...", "numbers must be finite", "Write ordinary numbers."
        ) from None
    if len(raw) > LARGEST_JOB:
        raise InputError("document", len(raw), "jobs are at most 2 MB", "Make it smaller.")
    if "\\u0000" in text:
        raise InputError("document", "...", "it must hold no zero bytes", "Take them out.")
    kept = check_files(files)
    named = [("finish.score", job.finish.score)] if job.finish.score is not None else []
    named += [(f"products[{k}]", p) for k, p in enumerate(job.products)]
    for field, name in named:
        if name not in kept:
            raise InputError(
                field, name, "a job kept here holds the texts it names itself",
                "Bring the file in with the job, or take the name out.",
            )  # fmt: skip
    texts = json.dumps(kept, ensure_ascii=False, sort_keys=True)
    return Checked(text, texts, fingerprint(made, kept), job.name, job.client)


def trusted(document: dict[str, Any], files: dict[str, str], number: int) -> Checked:
    """As `check` (`document`, `files`, `number` [-]) for the package's own demo jobs.

    They are known to be sound (a test checks them), so the model need not be loaded at the start.
    """
    made = {**plain(document), "revision": number}
    text = json.dumps(made, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    texts = json.dumps(files, ensure_ascii=False, sort_keys=True)
    client = str(made.get("client", ""))
    return Checked(text, texts, fingerprint(made, files), str(made["name"]), client)


def check_files(files: dict[str, str]) -> dict[str, str]:
    """`files` [-] with names that stay inside a job's own folder; raises `InputError`."""
    if len(files) > MOST_FILES:
        raise InputError(
            "files",
            len(files),
            say("at most {most_files} texts", most_files=MOST_FILES),
            "Leave some out.",
        )
    for name, text in files.items():
        parts = PurePosixPath(name).parts if isinstance(name, str) else ()
        safe = bool(parts) and len(parts) <= 4 and "/".join(parts) == name
        if not safe or not all(_PART.fullmatch(p) for p in parts):
            raise InputError(
                "files", name, "names are plain, inside the job's own folder",
                "Use letters, digits, dots and dashes.",
            )  # fmt: skip
        if not isinstance(text, str) or "\x00" in text:
            raise InputError(f"files.{name}", "...", "it is text", "Give its text.")
        try:
            long = len(text.encode("utf-8"))
        except UnicodeEncodeError:
            raise InputError(f"files.{name}", "...", "it is UTF-8 text", "Save it so.") from None
        if long > LARGEST_FILE:
            raise InputError(
                f"files.{name}",
                long,
                say("at most {largest_file} kB", largest_file=LARGEST_FILE // 1000),
                "Make it smaller.",
            )
    return files


def fingerprint(document: dict[str, Any], files: dict[str, str]) -> str:
    """SHA-256 [-] of a `document` and its `files`, whatever the revision number in it."""
    bare = {k: v for k, v in document.items() if k != "revision"}
    text = json.dumps([bare, files], ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
