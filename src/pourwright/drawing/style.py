"""Colours and sizes of the house style; readable when printed in black and white."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Style:
    """The house style: colours as #rrggbb [-], type sizes and line widths [mm]."""

    paper: str = "#f6f1e7"
    paper_deep: str = "#ece3d2"
    ink: str = "#26221d"
    ink_soft: str = "#6b6256"
    rule: str = "#cfc4b0"
    copper: str = "#b3652b"
    copper_soft: str = "#e3c3a6"
    sea: str = "#3f6f68"
    sea_soft: str = "#b9d0c8"
    slate: str = "#4a5560"
    slate_soft: str = "#c3cad0"
    warn: str = "#8f2f1f"
    font: str = "Libertinus Serif, Georgia, serif"
    font_plain: str = "DejaVu Sans, Helvetica, Arial, sans-serif"
    text: float = 3.2
    small: float = 2.5
    large: float = 4.6
    hair: float = 0.15
    line: float = 0.3
    bold: float = 0.7


STYLE = Style()
