"""The cafe bar planned once for all tests of exchange."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pourwright.plan import Working, load_job, work_out

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the cafe bar, its score and its record."""
    out = tmp_path_factory.mktemp("exchange") / "job"
    shutil.copytree(EXAMPLES, out)
    shutil.copy(out / "records" / "cafe_bar.record.json", out)
    return out


@pytest.fixture(scope="session")
def work(folder: Path) -> Working:
    return work_out(load_job(folder / "cafe_bar.toml"), folder)
