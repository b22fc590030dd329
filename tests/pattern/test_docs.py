"""Docstrings carry units; the page on pattern shows pictures, and they are small."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import pourwright.pattern as room

ROOT = Path(__file__).parents[2]


def functions():
    for info in pkgutil.iter_modules(room.__path__):
        module = importlib.import_module(f"pourwright.pattern.{info.name}")
        for name, f in vars(module).items():
            plain = inspect.isfunction(f) or hasattr(f, "py_func")
            here = getattr(f, "__module__", "") == module.__name__
            if plain and here and not name.startswith("_"):
                yield f"{info.name}.{name}", getattr(f, "py_func", f)


FUNCTIONS = dict(functions())


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_parameter_and_result_has_a_unit(name: str) -> None:
    f = FUNCTIONS[name]
    doc = inspect.getdoc(f) or ""
    assert doc.strip(), f"{name} has no docstring"
    assert "[" in doc, f"{name} names no unit"
    params = list(inspect.signature(f).parameters)
    if not params:
        return
    assert "Parameters\n" in doc
    listed = re.findall(r"^([\w, ]+) : .*$", doc.partition("Parameters\n")[2], re.MULTILINE)
    known = {q.strip() for row in listed for q in row.split(",")}
    assert set(params) <= known, f"{name}: {set(params) - known} not listed"
    for line in re.findall(r"^[\w, ]+ : .*$", doc.partition("Parameters\n")[2], re.MULTILINE):
        assert "[" in line, f"{name}: no unit in '{line}'"
    if inspect.signature(f).return_annotation not in ("None", inspect.Signature.empty):
        assert "[" in doc.partition("Returns\n")[2], f"{name}: no unit in what it returns"


PAGE = ROOT / "docs" / "pattern.md"


def test_pictures_of_the_page_exist_and_are_small() -> None:
    names = re.findall(r"\(pictures/([\w.-]+)\)", PAGE.read_text(encoding="utf-8"))
    assert len(names) >= 4
    for name in names:
        assert (ROOT / "docs" / "pictures" / name).stat().st_size < 300_000
