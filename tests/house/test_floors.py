"""The house of DESIGN.md: arrows point down, no cycles, files stay small, docstrings say units."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import grimp
import pytest

ROOT = Path(__file__).resolve().parents[2]
SRC = ROOT / "src" / "pourwright"

FLOORS = [
    {"errors", "compiled"},
    {"quantities"},
    {"words"},
    {"calc", "catalogue", "drawing"},
    {"cure", "film", "colour", "endure", "air"},
    {"survey", "mix", "pattern", "panel", "day", "price"},
    {"plan"},
    {"papers", "store", "record", "exchange"},
    {"cli", "web"},
]
FLOOR_OF = {room: n for n, rooms in enumerate(FLOORS) for room in rooms}


def _room(module: str) -> str | None:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else None


@pytest.fixture(scope="module")
def arrows() -> set[tuple[str, str]]:
    graph = grimp.build_graph("pourwright", cache_dir=None)
    out = set()
    for module in graph.modules:
        for other in graph.find_modules_directly_imported_by(module):
            a, b = _room(module), _room(other)
            if a and b and a != b:
                out.add((a, b))
    return out


def test_every_room_stands_on_a_floor() -> None:
    rooms = {p.stem for p in SRC.iterdir() if p.is_dir() and p.name != "__pycache__"}
    rooms |= {p.stem for p in SRC.glob("*.py") if p.stem not in ("__init__", "__main__")}
    assert rooms == set(FLOOR_OF)


def test_arrows_point_down(arrows: set[tuple[str, str]]) -> None:
    upward = {(a, b) for a, b in arrows if FLOOR_OF[a] < FLOOR_OF[b]}
    assert not upward


def test_rooms_form_no_cycle(arrows: set[tuple[str, str]]) -> None:
    reach = {a: {b for x, b in arrows if x == a} for a in FLOOR_OF}
    changed = True
    while changed:
        changed = False
        for a in reach:
            more = set().union(*(reach[b] for b in reach[a])) if reach[a] else set()
            if not more <= reach[a]:
                reach[a] |= more
                changed = True
    assert not [a for a in reach if a in reach[a]]


def test_modules_form_no_cycle_inside_a_room() -> None:
    graph = grimp.build_graph("pourwright", cache_dir=None)
    for module in graph.modules:
        if _room(module) is None or graph.find_children(module):
            continue
        direct = graph.find_modules_directly_imported_by(module)
        for other in direct:
            if not graph.find_children(other):
                assert module not in graph.find_modules_directly_imported_by(other), (module, other)


def python_files() -> list[Path]:
    return sorted(SRC.rglob("*.py"))


def test_files_stay_small() -> None:
    long = {
        str(p.relative_to(ROOT)): n
        for p in python_files()
        if (n := len(p.read_text(encoding="utf-8").splitlines())) > 430
    }
    assert not long


def test_every_package_says_what_lives_in_it() -> None:
    for p in SRC.rglob("__init__.py"):
        doc = ast.get_docstring(ast.parse(p.read_text(encoding="utf-8")))
        assert doc and len(doc) > 40, p


def _public_functions() -> list[tuple[str, ast.FunctionDef]]:
    rooms = ["calc", "catalogue", "quantities"]
    rooms += [r for n in (3, 4) for r in FLOORS[n]]
    out = []
    for room in sorted(rooms):
        for p in sorted((SRC / room).rglob("*.py")):
            if p.stem == "calcs" or p.stem.startswith("_"):
                continue
            tree = ast.parse(p.read_text(encoding="utf-8"))
            for node in tree.body:
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                    out.append((f"{room}/{p.stem}.{node.name}", node))
    return out


@pytest.mark.parametrize(
    "name,node", _public_functions(), ids=lambda v: v if isinstance(v, str) else ""
)
def test_public_functions_state_their_units(name: str, node: ast.FunctionDef) -> None:
    """Every public function of ground, engines and trades has a docstring with [units]."""
    doc = ast.get_docstring(node)
    assert doc, f"{name} has no docstring"
    assert re.search(r"\[[^\]]+\]", doc), f"{name} names no unit in [brackets]"
    decorated = {ast.unparse(d) for d in node.decorator_list}
    if any("validator" in d or "serializer" in d for d in decorated):
        return
    args = [a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)]
    missing = [a for a in args if a != "self" and not re.search(rf"\b{re.escape(a)}\b", doc)]
    assert not missing, f"{name}: docstring does not speak of {missing}"
