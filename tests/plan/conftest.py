"""The galley planned once for all tests of the plan."""

from __future__ import annotations

from pathlib import Path

import pytest

from pourwright.plan import Working, load_job, work_out

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="session")
def galley() -> Working:
    return work_out(load_job(EXAMPLES / "galley.toml"), EXAMPLES)


@pytest.fixture(scope="session")
def galley_text() -> str:
    return (EXAMPLES / "galley.toml").read_text(encoding="utf-8")
