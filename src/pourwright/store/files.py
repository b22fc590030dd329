"""Plain files on a shelf: written whole or not at all, one writer at a time."""

from __future__ import annotations

import contextlib
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from pourwright.errors import InputError
from pourwright.words import Own, say

WAIT_S = 5.0  # how long a writer waits for another one [s]
STALE_S = 120.0  # a lock older than this was left by a program that died [s]


def write_whole(path: Path, data: str | bytes) -> None:
    """Write `data` [-] to `path` in one step.

    Raises `InputError` when the folder cannot be written; the old file then stands untouched.
    """
    raw = data.encode("utf-8") if isinstance(data, str) else data
    name = ""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as f:
            f.write(raw)
            f.flush()
            os.fsync(f.fileno())
        mask = os.umask(0)
        os.umask(mask)
        Path(name).chmod(0o666 & ~mask)
        Path(name).replace(path)
    except OSError as err:
        if name:
            Path(name).unlink(missing_ok=True)
        raise InputError(
            "file", str(path), err.strerror or "it cannot be written", "Name another folder."
        ) from None
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def read_text(path: Path, field: str, largest: int) -> str:
    """The UTF-8 text of the file `path` [-], at most `largest` [bytes]; `field` names it.

    Raises `InputError` when it is missing, too large or not text.
    """
    try:
        if path.is_dir():
            raise InputError(field, str(path), "it is a folder", "Name the file inside it.")
        if path.stat().st_size > largest:
            raise InputError(
                field,
                str(path),
                say("it is at most {largest} MB", largest=largest // 1000000),
                "Split it.",
            )
        return path.read_bytes().decode("utf-8")  # line ends stay as they are
    except FileNotFoundError:
        raise InputError(field, str(path), "there is no such file", "Check the path.") from None
    except UnicodeDecodeError:
        raise InputError(field, str(path), "it must be UTF-8 text", "Save it as UTF-8.") from None
    except OSError as err:
        raise InputError(
            field, str(path), err.strerror or "it cannot be read", "Check it."
        ) from None


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Keep other writers off `path` [-] meanwhile.

    Raises `InputError` when another program holds it for longer than `WAIT_S` [s].
    """
    lock = path.with_name(f".{path.name}.lock")
    until = time.monotonic() + WAIT_S
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            break
        except FileExistsError:
            with contextlib.suppress(FileNotFoundError):
                if time.time() - lock.stat().st_mtime > STALE_S:
                    lock.unlink(missing_ok=True)
                    continue
            if time.monotonic() > until:
                raise InputError(
                    "file", str(path), "another program is writing it",
                    say("Try again; if nothing else runs, remove {name}.", name=Own(lock.name)),
                ) from None  # fmt: skip
            time.sleep(0.02)
        except OSError as err:
            raise InputError(
                "file", str(path), err.strerror or "it cannot be written", "Name another folder."
            ) from None
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)
