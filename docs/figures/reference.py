"""Writes docs/reference/ from the registry of calculations."""

from __future__ import annotations

from pathlib import Path

from pourwright.calc.docs import reference_pages

OUT = Path(__file__).resolve().parents[1] / "reference"


def main() -> None:
    OUT.mkdir(exist_ok=True)
    for room, text in reference_pages().items():
        (OUT / f"{room}.md").write_text(text, encoding="utf-8")
        print(f"docs/reference/{room}.md")


if __name__ == "__main__":
    main()
