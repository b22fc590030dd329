"""The example of the catalogue page works as it stands, and its table names every kind."""

from __future__ import annotations

import textwrap
from pathlib import Path

import pytest

from pourwright import catalogue

PAGE = (Path(__file__).parents[2] / "docs" / "catalogue.md").read_text(encoding="utf-8")


def test_the_products_file_of_the_page_loads(tmp_path: Path) -> None:
    block = PAGE.partition("A products file lists only what differs:")[2].partition("\nReplaced")[0]
    path = tmp_path / "own.toml"
    path.write_text(textwrap.dedent(block), encoding="utf-8")
    mine = catalogue.load([path])
    assert mine.get("primer-acrylic-dark")["dry_h"] == 3.5
    assert mine.get("primer-acrylic-dark")["coverage_L_m2"] == pytest.approx(0.101865, abs=1e-6)
    assert mine.get("my-quick-primer")["dry_h"] == 2


def test_every_named_file_exists() -> None:
    names = [w for w in PAGE.split("`") if w.endswith(".toml")]
    assert len(names) >= 8
    for name in names:
        assert (catalogue.materials.DATA / name).exists(), name
