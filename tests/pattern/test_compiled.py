"""Compiled loops kept on disk follow changes in the files they were built from."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from pourwright.pattern.compiled import STAMP, drop_stale

CALLER = """
import sys
from pathlib import Path
if sys.argv[1] == "guarded":
    from pourwright.pattern.compiled import drop_stale
    drop_stale(Path(__file__).parent)
import numba as nb
from inner import inner
@nb.njit(cache=True)
def outer(x):
    return 10 * inner(x)
print(outer(1))
"""
INNER = "import numba as nb\n@nb.njit(cache=True)\ndef inner(x):\n    return x + {n}\n"


def _run(folder: Path, how: str) -> str:
    made = {k: v for k, v in os.environ.items() if k != "NUMBA_CACHE_DIR"}
    args = [sys.executable, "-c", f"import sys; sys.argv = ['outer.py', '{how}']; import outer"]
    done = subprocess.run(args, cwd=folder, env=made, capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_a_change_in_an_inner_file_reaches_its_caller(tmp_path: Path) -> None:
    (tmp_path / "outer.py").write_text(CALLER)
    (tmp_path / "inner.py").write_text(INNER.format(n=1))
    assert _run(tmp_path, "guarded") == "20"
    assert list((tmp_path / "__pycache__").glob("*.nbc"))
    (tmp_path / "inner.py").write_text(INNER.format(n=25))
    assert _run(tmp_path, "guarded") == "260"


def test_only_changed_loops_are_dropped(tmp_path: Path) -> None:
    kept = tmp_path / "__pycache__"
    (tmp_path / "a.py").write_text("import numba\n")
    (tmp_path / "b.py").write_text("x = 1\n")
    assert drop_stale(tmp_path)
    (kept / "a.nbi").write_bytes(b"1")
    (kept / "a.nbc").write_bytes(b"1")
    assert not drop_stale(tmp_path)
    (tmp_path / "b.py").write_text("x = 2\n")  # compiles nothing
    assert not drop_stale(tmp_path)
    assert (kept / "a.nbi").exists()
    (tmp_path / "a.py").write_text("import numba  # changed\n")
    assert drop_stale(tmp_path)
    assert [p.name for p in kept.iterdir()] == [STAMP]


def test_the_room_is_guarded() -> None:
    """Importing the room leaves a stamp that fits its sources."""
    import pourwright.pattern as room

    assert not drop_stale(Path(room.__file__).parent)
