"""Compiled loops kept on disk are dropped when any file they may have been built from has changed.

numba keeps compiled functions by the stamp of their own file and does not see that a function or a
constant of another file, built into them, has changed. Every room with compiled loops asks here
once, when it is imported.
"""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

STAMP = "compiled.stamp"
_FROM = re.compile(rb"^\s*from (pourwright(?:\.\w+)+) import", re.MULTILINE)
_TOP = Path(__file__).parent.parent


def drop_stale(folder: Path) -> bool:
    """Drop a package's compiled loops unless its compiled sources are those they were built from.

    Parameters
    ----------
    folder : Path [-]
        The package's folder; its files that name numba count, by what they hold, and so do the
        files of this house that they import from.

    Returns
    -------
    bool [-]
        Whether the loops were dropped. A folder that cannot be written to is left as it is.
    """
    digest = hashlib.sha256()
    held = {}
    for path in folder.glob("*.py"):
        text = path.read_bytes()
        if b"numba" in text:
            held[path] = text
    for text in list(held.values()):
        for name in _FROM.findall(text):
            path = _TOP.joinpath(*name.decode().split(".")).with_suffix(".py")
            if path not in held and path.is_file():
                held[path] = path.read_bytes()
    for path in sorted(held):
        digest.update(path.name.encode() + b"\0" + held[path])
    kept, now = folder / "__pycache__", digest.hexdigest()
    try:
        if (kept / STAMP).read_text() == now:
            return False
    except OSError:
        pass
    try:
        for pattern in ("*.nbi", "*.nbc"):
            for path in kept.glob(pattern):
                path.unlink(missing_ok=True)
        kept.mkdir(exist_ok=True)
        part = kept / f"{STAMP}.{now[:8]}"
        part.write_text(now)
        part.replace(kept / STAMP)
    except OSError:
        return False
    return True
