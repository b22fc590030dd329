"""Reading and writing job files: TOML for people, the same model as plain data for the store."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from pourwright.calc.registry import validate
from pourwright.errors import InputError
from pourwright.plan.job import SCHEMA, Job
from pourwright.words import Own, say

LARGEST_JOB = 2_000_000  # bytes


def load_job(path: str | Path) -> Job:
    """The job in the file `path` [-].

    Parameters
    ----------
    path : str or Path [-]
        A job file in TOML, UTF-8, at most 2 MB.

    Returns
    -------
    Job [SI]

    Raises
    ------
    InputError
        There is no such file, it is not TOML, or one of its values cannot be used; the field is
        named as it stands in the file.
    """
    p = Path(path)
    try:
        if p.is_dir():
            raise InputError("job", str(p), "it is a folder", "Name the job file inside it.")
        if p.stat().st_size > LARGEST_JOB:
            raise InputError("job", str(p), "job files are at most 2 MB", "Give the job file.")
        text = p.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise InputError(
            "job", str(p), "there is no such file", "Check the path, or make one with 'new'."
        ) from None
    except UnicodeDecodeError:
        raise InputError("job", str(p), "it must be UTF-8 text", "Save it as UTF-8.") from None
    except OSError as err:
        raise InputError("job", str(p), err.strerror or "cannot be read", "Check it.") from None
    return read_job(text, str(p))


def read_job(text: str, name: str = "job") -> Job:
    """The job written in TOML `text` [-]; `name` [-] is used in messages.

    Raises `InputError` as `load_job` does.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise InputError(
            name,
            _line_of(text, str(err)),
            say("it is not TOML: {err}", err=Own(str(err))),
            "Mend it there.",
        ) from None
    except RecursionError:
        raise InputError(name, "...", "it is nested too deeply", "Flatten it.") from None
    return job_from(data)


def job_from(data: dict[str, Any]) -> Job:
    """A job from plain data [-] of any schema version up to now; raises `InputError`."""
    return validate(Job, migrate(data))


def migrate(data: dict[str, Any]) -> dict[str, Any]:
    """`data` [-] of an older schema version brought to the newest; refuses newer ones."""
    if not isinstance(data, dict):
        raise InputError("job", type(data).__name__, "a table of keys is needed", "Check it.")
    version = data.get("schema", SCHEMA)
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise InputError(
            "schema", version, "it is a whole number from 1", say("Write {schema}.", schema=SCHEMA)
        )
    if version > SCHEMA:
        raise InputError(
            "schema",
            version,
            say("this Pourwright reads job files up to version {schema}", schema=SCHEMA),
            "Bring Pourwright up to date.",
        )
    return {**data, "schema": SCHEMA}


def write_job(job: Job) -> str:
    """The job as TOML text [-] that reads back as exactly the same job."""
    import tomlkit

    return tomlkit.dumps(job.to_document())


def _line_of(text: str, message: str) -> str:
    import re

    found = re.search(r"line (\d+)", message)
    lines = text.splitlines()
    if found and 0 < int(found[1]) <= len(lines):
        return lines[int(found[1]) - 1].strip()
    return text[-40:]
