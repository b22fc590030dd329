"""What is cut and what it is cut from: parts, sheets, saw; all lengths in metres."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from pourwright.errors import InputError
from pourwright.words import Amount, Own, Sides, say

Method = Literal["two-stage", "three-stage", "guillotine", "router"]
METHODS: tuple[str, ...] = ("two-stage", "three-stage", "guillotine", "router")

MAX_PARTS = 2000  # pieces in one cut plan [-]
MAX_LENGTH = 20.0  # longest side of a part or a sheet [m]
MIN_LENGTH = 1e-3  # shortest side of a part or a sheet [m]
UNIT = 1e-6  # the layout works in whole micrometres [m]


@dataclass(frozen=True, slots=True)
class Part:
    """One kind of piece to cut.

    Parameters
    ----------
    name : str [-]
        As written on the piece; unique in a cut plan.
    length, width : float [m]
        Finished size; with `grain` the length lies along the sheet's length.
    quantity : int [-]
        How many.
    material : str [-]
        Catalogue id of the core; empty means any sheet will do.
    thickness : float [m]
        Of the board; 0 means the thickness of the sheet.
    grain : bool [-]
        True when grain or pattern forbids turning the piece.
    outline : tuple of (x, y) [m] or None
        True shape for the router, closed without repeating the first point.
    holes : tuple of rings of (x, y) [m]
        Openings inside the outline.
    mass : float [kg] or None
        Of one piece, when known.
    role : str [-]
        What the piece is for, e.g. ``top``, ``strip``, ``front``.
    note : str [-]
        What to do to it, e.g. a mitre or layers to glue up.
    """

    name: str
    length: float
    width: float
    quantity: int = 1
    material: str = ""
    thickness: float = 0.0
    grain: bool = False
    outline: tuple[tuple[float, float], ...] | None = None
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()
    mass: float | None = None
    role: str = ""
    note: str = ""

    @property
    def area(self) -> float:
        """Area of one piece's rectangle [m2]."""
        return self.length * self.width


@dataclass(frozen=True, slots=True)
class Sheet:
    """One kind of sheet to cut from: a full sheet, or an off-cut kept from an earlier job.

    Parameters
    ----------
    name : str [-]
        As the shop calls it; unique in a cut plan.
    length, width : float [m]
        Size as bought; grain runs along the length.
    quantity : int [-] or None
        How many there are; None: as many as needed.
    cost : float [-]
        Of one sheet, in the job's money; 0 is usual for an off-cut.
    material : str [-]
        Catalogue id; empty matches every part.
    thickness : float [m]
        0 matches every part.
    trim : float [m]
        Strip taken off each edge before anything is measured, saw cut included.
    offcut : bool [-]
        True: used up before new sheets are opened.
    """

    name: str
    length: float
    width: float
    quantity: int | None = None
    cost: float = 1.0
    material: str = ""
    thickness: float = 0.0
    trim: float = 0.0
    offcut: bool = False

    @property
    def area(self) -> float:
        """Area as bought [m2]."""
        return self.length * self.width


@dataclass(frozen=True, slots=True)
class Saw:
    """How the sheets are cut.

    Parameters
    ----------
    kerf : float [m]
        Width of the cut; for a router the bit's diameter.
    method : str [-]
        ``two-stage`` (rip to strips, cross-cut, trim to width), ``three-stage`` (sections, strips,
        cross-cuts, trim), ``guillotine`` (edge-to-edge cuts, any number of stages) or ``router``
        (free nesting; parts need no edge-to-edge cut).
    """

    kerf: float = 3.2e-3
    method: Method = "three-stage"


def material_mismatch(part: Part, sheet: Sheet) -> bool:
    """Whether a part cannot be cut from a sheet for its material or thickness.

    Parameters
    ----------
    part : Part [m]
        The part.
    sheet : Sheet [m]
        The sheet.

    Returns
    -------
    bool
        True [-] when they differ by core, or by more than 0.5 mm in thickness.
    """
    if part.material and sheet.material and part.material != sheet.material:
        return True
    known = part.thickness > 0 and sheet.thickness > 0
    return known and abs(part.thickness - sheet.thickness) > 0.5e-3


def usable(sheet: Sheet) -> tuple[float, float]:
    """Size inside the trimmed edges.

    Parameters
    ----------
    sheet : Sheet [m]
        The sheet.

    Returns
    -------
    (length, width)
        In [m].
    """
    return sheet.length - 2 * sheet.trim, sheet.width - 2 * sheet.trim


def part_fits(part: Part, sheet: Sheet) -> bool:
    """Whether one piece goes on a bare sheet, turned or not as it may be.

    Parameters
    ----------
    part : Part [m]
        The part.
    sheet : Sheet [m]
        The sheet.

    Returns
    -------
    bool
        True [-] when it fits inside the trim.
    """
    a, b = usable(sheet)
    eps = UNIT / 2
    if part.length <= a + eps and part.width <= b + eps:
        return True
    return not part.grain and part.width <= a + eps and part.length <= b + eps


def _size(field: str, value: float, remedy: str) -> None:
    good = isinstance(value, (int, float)) and math.isfinite(value)
    if not good or not MIN_LENGTH <= value <= MAX_LENGTH:
        shown = f"{value * 1e3:.6g} mm" if good else value
        raise InputError(
            field,
            shown,
            say(
                "a size must lie from {low:g} to {high:g}",
                low=Amount(MIN_LENGTH * 1e3, "mm"),
                high=Amount(MAX_LENGTH, "m"),
            ),
            remedy,
        )


def _mm(*sizes: float) -> str:
    return " x ".join(f"{s * 1e3:.6g}" for s in sizes) + " mm"


def check_parts(parts: Iterable[Part], limit: int = MAX_PARTS) -> list[Part]:
    """Check parts for size, count and names.

    Parameters
    ----------
    parts : iterable of Part [m]
        The parts.
    limit : int [-]
        Pieces allowed in all.

    Returns
    -------
    list of Part
        The same parts [m].

    Raises
    ------
    InputError
        Naming the first part that cannot be used.
    """
    out = list(parts)
    if not out:
        raise InputError("parts", 0, "at least one part is needed", "Add a part to cut.")
    seen: set[str] = set()
    total = 0
    for p in out:
        _size(f"parts.{p.name}.length", p.length, "Correct the part's length.")
        _size(f"parts.{p.name}.width", p.width, "Correct the part's width.")
        if p.quantity < 1:
            raise InputError(
                f"parts.{p.name}.quantity", p.quantity, "at least 1", "Correct it or drop the part."
            )
        if p.name in seen:
            raise InputError(
                "parts.name", p.name, "each part's name may stand once", "Rename one of the two."
            )
        seen.add(p.name)
        total += p.quantity
        if total > limit:
            raise InputError(
                "parts",
                total,
                say("at most {limit} pieces in one cut plan", limit=limit),
                "Cut the job in two plans, by material or by room.",
            )
    return out


def check_sheets(sheets: Iterable[Sheet]) -> list[Sheet]:
    """Check sheets for size, trim, count and cost.

    Parameters
    ----------
    sheets : iterable of Sheet [m]
        The sheets.

    Returns
    -------
    list of Sheet
        The same sheets [m].

    Raises
    ------
    InputError
        Naming the first sheet that cannot be used.
    """
    out = list(sheets)
    if not out:
        raise InputError("sheets", 0, "at least one sheet is needed", "Add a sheet to cut from.")
    if len(out) > 100:
        raise InputError(
            "sheets", len(out), "at most 100 kinds of sheet", "Leave out the smallest off-cuts."
        )
    seen: set[str] = set()
    for s in out:
        _size(f"sheets.{s.name}.length", s.length, "Correct the sheet's length.")
        _size(f"sheets.{s.name}.width", s.width, "Correct the sheet's width.")
        if s.name in seen:
            raise InputError(
                "sheets.name", s.name, "each sheet's name may stand once", "Rename one of the two."
            )
        seen.add(s.name)
        if s.quantity is not None and s.quantity < 0:
            raise InputError(
                f"sheets.{s.name}.quantity", s.quantity, "0 or more", "Correct the number."
            )
        if not (math.isfinite(s.cost) and s.cost >= 0):
            raise InputError(f"sheets.{s.name}.cost", s.cost, "0 or more", "Correct the cost.")
        if not (math.isfinite(s.trim) and 0 <= s.trim < min(s.length, s.width) / 2):
            raise InputError(
                f"sheets.{s.name}.trim",
                _mm(s.trim),
                say(
                    "0 mm or more, and less than half the sheet's {width:.6g} width",
                    width=Amount(min(s.length, s.width) * 1e3, "mm"),
                ),
                "Give the strip taken off each edge, 5 to 10 mm as common practice.",
            )
    return out


def check_saw(saw: Saw, parts: Iterable[Part]) -> None:
    """Check the saw's kerf and method.

    Parameters
    ----------
    saw : Saw [m]
        The saw.
    parts : iterable of Part [m]
        What it cuts.

    Raises
    ------
    InputError
        An unknown method, or a kerf below 0 or wider than a part.
    """
    if saw.method not in METHODS:
        raise InputError(
            "saw.method",
            saw.method,
            say("one of {names}", names=", ".join(METHODS)),
            "Choose one of them.",
        )
    if not math.isfinite(saw.kerf) or saw.kerf < 0:
        raise InputError(
            "saw.kerf", saw.kerf, "0 mm or more", "Measure the width of one cut in scrap."
        )
    for p in parts:
        if saw.kerf > min(p.length, p.width):
            raise InputError(
                "saw.kerf",
                _mm(saw.kerf),
                say(
                    "no wider than the narrowest part, {part} of {size:.6g}",
                    part=Own(p.name),
                    size=Sides(p.length * 1e3, p.width * 1e3, "mm"),
                ),
                "Check the unit of the kerf and of the part.",
            )


def check_match(parts: Iterable[Part], sheets: Iterable[Sheet]) -> None:
    """Check that every part goes on some sheet in stock.

    Parameters
    ----------
    parts : iterable of Part [m]
        Checked parts.
    sheets : iterable of Sheet [m]
        Checked sheets.

    Raises
    ------
    InputError
        Naming the part, with the largest sheet of its material.
    """
    stock = [s for s in sheets if s.quantity != 0]
    for p in parts:
        same = [s for s in stock if not material_mismatch(p, s)]
        if not same:
            what = p.material or "any core"
            thick = f", {_mm(p.thickness)} thick" if p.thickness else ""
            raise InputError(
                f"parts.{p.name}.material",
                f"{what}{thick}",
                "no sheet of this material and thickness is in stock",
                "Add such a sheet, or change the part's core.",
            )
        if not any(part_fits(p, s) for s in same):
            big = max(same, key=lambda s: s.area)
            long, wide = usable(big)
            most = Sides(long * 1e3, wide * 1e3, "mm")
            raise InputError(
                f"parts.{p.name}",
                _mm(p.length, p.width),
                say(
                    "larger than any sheet without turning it, as its grain is locked; inside the "
                    "trimmed edges the largest is {most:.6g}"
                    if p.grain
                    else "larger than any sheet; inside the trimmed edges the largest is {most:.6g}",
                    most=most,
                ),
                "Split the part with a joint, or add a larger sheet.",
            )
