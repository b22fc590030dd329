"""What a cut plan is: where each piece lies on which sheet, and how good the plan is."""

from __future__ import annotations

from dataclasses import dataclass, field

from pourwright.panel.stock import Part, Saw, Sheet
from pourwright.words import say


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle with its lower left corner at x, y and size length, width [m]."""

    x: float
    y: float
    length: float
    width: float

    @property
    def area(self) -> float:
        """Area [m2]."""
        return self.length * self.width


@dataclass(frozen=True, slots=True)
class Placement:
    """One piece on a sheet: its part, which copy, its rectangle [m] as it lies, turned or not.

    A piece with a true outline also carries it as it lies: `ring` and `holes` [m].
    """

    part: Part
    copy: int
    x: float
    y: float
    length: float
    width: float
    turned: bool
    ring: tuple[tuple[float, float], ...] = ()
    holes: tuple[tuple[tuple[float, float], ...], ...] = ()

    @property
    def label(self) -> str:
        """The piece's name [-], with its number where there are several."""
        return self.part.name if self.part.quantity == 1 else f"{self.part.name} {self.copy}"


@dataclass(frozen=True, slots=True)
class Cut:
    """One edge-to-edge cut, numbered in the order of work.

    `axis` is ``x`` for a cut across the sheet (at a fixed x) and ``y`` for one along it; the saw
    runs at `at` to `at` + kerf, from `start` to `end` [m]. `stage` counts how often the direction
    has changed; stage 0 trims the sheet's first two edges.
    """

    number: int
    axis: str
    at: float
    start: float
    end: float
    stage: int
    gives: str = ""


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One sheet with its pieces, its cuts in order (saws only) and the off-cuts worth keeping."""

    sheet: Sheet
    copy: int
    placements: tuple[Placement, ...]
    cuts: tuple[Cut, ...] = ()
    offcuts: tuple[Rect, ...] = ()

    @property
    def used_area(self) -> float:
        """Area of the pieces [m2], true shapes where known."""
        return sum(_true_area(p) for p in self.placements)

    @property
    def label(self) -> str:
        """The sheet's name and number [-]."""
        return say("{sheet} no. {k}", sheet=self.sheet.name, k=self.copy)


def _ring_area(ring: tuple[tuple[float, float], ...]) -> float:
    s = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1]))
    return abs(s) / 2


def _true_area(p: Placement) -> float:
    if not p.ring:
        return p.length * p.width
    return _ring_area(p.ring) - sum(_ring_area(h) for h in p.holes)


@dataclass(frozen=True, slots=True)
class CutPlan:
    """A whole cut plan.

    `cost` and `cost_bound` are in the job's money [-]; the bound is true: no plan of the stated
    kind can cost less. `sheets_bound` [-] is the least number of sheets that can hold the pieces.
    `proven` is True when the plan meets its bound. `gap` [-] is (cost - bound)/cost.
    """

    sheets: tuple[SheetLayout, ...]
    saw: Saw
    cost: float
    cost_bound: float
    sheets_bound: int
    bound_from: str
    method: str
    complete: bool = True
    warnings: tuple[str, ...] = field(default=())

    @property
    def gap(self) -> float:
        """How far the cost may be above the best possible [-], 0 when proven."""
        if self.cost <= 0:
            return 0.0
        return max(0.0, (self.cost - self.cost_bound) / self.cost)

    @property
    def proven(self) -> bool:
        """True [-] when no cheaper plan exists."""
        return self.gap < 1e-9

    @property
    def part_area(self) -> float:
        """Area of all pieces [m2]."""
        return sum(s.used_area for s in self.sheets)

    @property
    def sheet_area(self) -> float:
        """Area of all sheets used [m2]."""
        return sum(s.sheet.area for s in self.sheets)

    @property
    def waste(self) -> float:
        """Share of the sheet area that becomes no piece [-], off-cuts counted as waste."""
        return 1.0 - self.part_area / self.sheet_area if self.sheet_area else 0.0

    @property
    def offcut_area(self) -> float:
        """Area of the off-cuts worth keeping [m2]."""
        return sum(r.area for s in self.sheets for r in s.offcuts)

    @property
    def sheet_counts(self) -> dict[str, int]:
        """How many of each kind of sheet are used [-]."""
        out: dict[str, int] = {}
        for s in self.sheets:
            out[s.sheet.name] = out.get(s.sheet.name, 0) + 1
        return out
