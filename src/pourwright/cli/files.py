"""Reading input with limits, and writing results whole or not at all."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

from pourwright.errors import InputError

LARGEST_INPUT = 20_000_000  # bytes


def read_text(path: str | Path) -> str:
    """The UTF-8 text of `path` [-], "-" for standard input; refuses what is too large or broken."""
    name = str(path)
    if name == "-":
        return sys.stdin.read(LARGEST_INPUT)
    p = Path(path)
    try:
        if p.is_dir():
            raise InputError("file", name, "it is a folder", "Name a file.")
        if p.stat().st_size > LARGEST_INPUT:
            raise InputError("file", name, "files up to 20 MB are read", "Give a smaller file.")
        return p.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise InputError("file", name, "there is no such file", "Check the path.") from None
    except UnicodeDecodeError:
        raise InputError(
            "file", name, "text files must be UTF-8", "Save the file as UTF-8 text."
        ) from None
    except OSError as err:
        raise InputError("file", name, err.strerror or "it cannot be read", "Check it.") from None


def read_json(text: str, name: str = "input") -> Any:
    """JSON text [-] as plain data; NaN and infinity are refused."""

    def refuse(word: str) -> Any:
        raise InputError(name, word, "numbers must be finite", "Write an ordinary number.")

    try:
        return json.loads(text, parse_constant=refuse)
    except json.JSONDecodeError as err:
        raise InputError(
            name,
            text[max(0, err.pos - 12) : err.pos + 12],
            f"it is not JSON at line {err.lineno}, column {err.colno}",
            "Mend it there.",
        ) from None
    except RecursionError:
        raise InputError(name, "...", "it is nested too deeply", "Flatten it.") from None


def folder(path: str | Path) -> Path:
    """The output folder `path` [-], made when it is not there."""
    p = Path(path)
    try:
        p.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        raise InputError("-o", str(p), "it must be a folder", "Name another folder.") from None
    except OSError as err:
        raise InputError(
            "-o", str(p), err.strerror or "it cannot be written", "Name another folder."
        ) from None
    return p


def beside(out: Path, job: str | Path) -> None:
    """Refuse `out` [-] unless it lies in the folder of `job` [-], whose files it names."""
    if out.resolve().parent != Path(job).resolve().parent:
        raise InputError(
            "-o", str(out), "it lies beside the job it is made from, whose files it names",
            f"Name a file in {Path(job).parent}.",
        )  # fmt: skip


def write_whole(path: Path, data: str | bytes) -> None:
    """Write `data` [-] to `path` in one step, so that a half-written file never stands there."""
    raw = data.encode("utf-8") if isinstance(data, str) else data
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as err:
        raise InputError(
            "-o", str(path), err.strerror or "it cannot be written", "Name another folder."
        ) from None
    try:
        with os.fdopen(handle, "wb") as f:
            f.write(raw)
        mask = os.umask(0)
        os.umask(mask)
        Path(name).chmod(0o666 & ~mask)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
