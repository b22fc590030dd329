"""The reference pages in docs/ are what the registry says now."""

from __future__ import annotations

from pathlib import Path

import pytest

from pourwright.calc.docs import reference_pages
from pourwright.cli.main import VERBS

ROOT = Path(__file__).resolve().parents[2]
PAGES = reference_pages()


@pytest.mark.parametrize("room", sorted(PAGES))
def test_page_is_up_to_date(room: str) -> None:
    """Redraw with ``python docs/figures/reference.py``."""
    page = ROOT / "docs" / "reference" / f"{room}.md"
    assert page.read_text(encoding="utf-8") == PAGES[room]


def test_readme_names_only_verbs_and_files_that_exist() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    import re

    for verb in re.findall(r"bin/pourwright (\w+)", text):
        assert verb in VERBS
    for path in re.findall(r"\]\(([^)]+)\)", text):
        assert (ROOT / path).exists(), path
    for path in re.findall(r"`((?:docs|examples)/[\w./-]+)`", text):
        assert (ROOT / path).exists(), path
