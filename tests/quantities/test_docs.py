"""The page on quantities says what the reader does: each row of its table is read."""

from __future__ import annotations

from pathlib import Path

import pytest

from pourwright.errors import InputError
from pourwright.quantities import exact, read

PAGE = Path(__file__).parents[2] / "docs" / "quantities.md"


def _rows() -> list[tuple[str, str, str]]:
    section = PAGE.read_text(encoding="utf-8").partition("## What is understood")[2]
    lines = [line for line in section.partition("\n- ")[0].splitlines() if line.startswith("| `")]
    cells = [[c.strip() for c in line.strip("| ").split("|")] for line in lines]
    return [(c[0].strip("`"), c[1], c[2]) for c in cells]


ROWS = _rows()


@pytest.mark.parametrize(("text", "dimension", "shown"), ROWS, ids=[r[0] for r in ROWS])
def test_rows_are_true(text: str, dimension: str, shown: str) -> None:
    assert exact(read(text, dimension), dimension) == shown


def test_table_of_marks_is_true() -> None:
    section = PAGE.read_text(encoding="utf-8").partition("## Decimal and thousands marks")[2]
    rows = [r.strip("| ").split("|") for r in section.splitlines() if r.startswith("| `")]
    assert len(rows) == 4
    for locales, decimal, thousands, refused in rows:
        for locale in [w.strip("` ") for w in locales.split(",") if "`" in w]:
            for cell in (decimal, thousands):
                for text in cell.split("`")[1::2]:
                    assert read(f"{text} mm", "length", locale=locale) in (
                        0.0025,
                        1.25,
                        1.2505,
                        1250,
                    )
            for text in refused.split("`")[1::2]:
                with pytest.raises(InputError):
                    read(f"{text} mm", "length", locale=locale)
