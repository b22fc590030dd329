"""The page on panels says what the code does; its figures exist."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


PAGE = ROOT / "docs" / "panel.md"


def test_pictures_of_the_page_exist_and_are_small() -> None:
    names = re.findall(r"\(pictures/([\w.-]+)\)", PAGE.read_text(encoding="utf-8"))
    assert len(names) >= 4
    for name in names:
        assert (ROOT / "docs" / "pictures" / name).stat().st_size < 300_000


def test_page_names_every_method_and_limit() -> None:
    from pourwright.panel import METHODS
    from pourwright.panel.limits import KEEP_OFF, TWO_PERSON_KG
    from pourwright.panel.stock import MAX_PARTS

    text = PAGE.read_text(encoding="utf-8")
    for method in METHODS:
        assert f"**{method}**" in text
    assert f"{MAX_PARTS} pieces" in text
    assert f"{KEEP_OFF * 1e3:.0f} mm" in text and f"{TWO_PERSON_KG:.0f} kg" in text
