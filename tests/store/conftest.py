"""A store in a folder of its own, and a small job to keep in it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pourwright.plan.new import new_job
from pourwright.store.store import Store

ROOT = Path(__file__).parents[2]
GROUP = pytest.mark.xdist_group("postgres")


@pytest.fixture
def document() -> dict[str, Any]:
    """The smallest job: a new one."""
    return tomllib.loads(new_job("Shelf", date(2027, 3, 15)))


@pytest.fixture
def renamed(document: dict[str, Any]) -> Callable[[str], dict[str, Any]]:
    """The same job under another name."""
    return lambda name: {**document, "name": name}


BOTH = ["sqlite", pytest.param("postgres", marks=[pytest.mark.postgres, GROUP])]
"""Databases that the tests run on; PostgreSQL when there is one (see tests/conftest.py)."""


@pytest.fixture(params=BOTH)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a store is: a folder, or the URL of a PostgreSQL database."""
    if request.param == "postgres":
        return str(request.getfixturevalue("postgres_url"))
    return str(tmp_path / "data")


@pytest.fixture
def store(place: str) -> Iterator[Store]:
    """An empty store."""
    made = Store(place)
    yield made
    made.close()


@pytest.fixture
def examples() -> Path:
    """The folder of example jobs."""
    return ROOT / "examples"
