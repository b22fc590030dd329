"""Compiled loops kept on disk follow changes in the files they were built from."""

from __future__ import annotations

import importlib
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from pourwright import compiled
from pourwright.compiled import STAMP, drop_stale

CALLER = """
import sys
from pathlib import Path
if sys.argv[1] == "guarded":
    from pourwright.compiled import drop_stale
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


def test_a_constant_built_in_from_another_file_counts(tmp_path: Path, monkeypatch) -> None:
    """A file that a compiled one imports from counts, though it names no numba itself."""
    room = tmp_path / "pourwright" / "room"
    room.mkdir(parents=True)
    (room / "loops.py").write_text("import numba\nfrom pourwright.room.numbers import TOP\n")
    (room / "numbers.py").write_text("TOP = 1\n")
    monkeypatch.setattr(compiled, "_TOP", tmp_path)
    assert drop_stale(room)
    assert not drop_stale(room)
    (room / "numbers.py").write_text("TOP = 2\n")
    assert drop_stale(room)


def _rooms() -> list[str]:
    house = Path(compiled.__file__).parent
    named = {
        p.parent.name
        for p in house.glob("*/*.py")
        if re.search(r"^\s*(?:import numba|from numba import)", p.read_text("utf-8"), re.MULTILINE)
    }
    return sorted(named)


@pytest.mark.parametrize("name", _rooms())
def test_every_room_with_compiled_loops_is_guarded(name: str) -> None:
    """Its source asks, and importing it leaves a stamp that fits its sources."""
    room = importlib.import_module(f"pourwright.{name}")
    assert "drop_stale(Path(__file__).parent)" in Path(room.__file__).read_text("utf-8")
    assert not drop_stale(Path(room.__file__).parent)


def test_the_rooms_are_found() -> None:
    assert {"film", "pattern", "panel", "colour"} <= set(_rooms())
