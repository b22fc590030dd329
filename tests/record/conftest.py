"""The cafe bar's recorded day, read and planned once for all tests of the record."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from pourwright.record import DoneJob, done_job

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
START = date(2027, 8, 9)


@pytest.fixture(scope="session")
def cafe_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the cafe bar, its score and its record."""
    folder = tmp_path_factory.mktemp("cafe") / "job"
    shutil.copytree(EXAMPLES, folder)
    shutil.copy(folder / "records" / "cafe_bar.record.json", folder)
    return folder


@pytest.fixture(scope="session")
def cafe(cafe_folder: Path) -> DoneJob:
    return done_job(cafe_folder / "cafe_bar.toml")
