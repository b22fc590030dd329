"""The sheets drawn: pieces with name and size, numbered cuts, off-cuts worth keeping.

Readable in black and white: pieces are white with a firm edge, waste is hatched, off-cuts carry a
dashed frame, and every cut has its number in a ring. A piece too small for its name gets a letter
that is explained under the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from pourwright.drawing import STYLE, Drawing
from pourwright.panel.layout import Cut, CutPlan, Placement, SheetLayout
from pourwright.panel.stock import Sheet
from pourwright.quantities import write
from pourwright.words import joined, say

SIDE = 11.0  # margin around the sheet for rings and measures [mm]
HEAD = 13.0
RING = 1.75
_WIDE = 0.56  # mean width of a letter per type size [-]
_STAGE_WIDTH = {0: 0.35, 1: 0.6, 2: 0.42}


def mm(x: float) -> str:
    """A length as millimetres in text, a decimal only where it matters.

    Parameters
    ----------
    x : float [m]
        The length.

    Returns
    -------
    str
        Digits without unit [mm].
    """
    v = round(x * 1e3, 1)
    return f"{v:.0f}" if abs(v - round(v)) < 0.05 else f"{v:.1f}"


def sides(length: float, width: float, units: str) -> str:
    """Length and width of a piece as they stand on it.

    Parameters
    ----------
    length, width : float [m]
        The sides.
    units : str [-]
        ``metric``: millimetres without their name; ``us``: feet and inches to the nearest 1/16.

    Returns
    -------
    str
        Both with a cross between [mm, or ft and in].
    """
    if units == "us":
        return f"{write(length, 'length', units)} x {write(width, 'length', units)}"
    return f"{mm(length)} x {mm(width)}"


def named(label: str, sheet: Sheet, units: str) -> str:
    """The name of a sheet, a size in it written as in the job.

    Parameters
    ----------
    label : str [-]
        Name with or without the sheet's size in millimetres.
    sheet : Sheet [m]
        The sheet.
    units : str [-]
        ``metric`` or ``us``.

    Returns
    -------
    str
        The name [-].
    """
    if units != "us":
        return label
    size = f"{mm(sheet.length)} x {mm(sheet.width)} mm"
    return label.replace(size, sides(sheet.length, sheet.width, units))


def _fit(text: str, room: float, tall: float, most: float) -> float:
    return min(most, room / (_WIDE * max(len(text), 1)), tall)


class _Sheet:
    def __init__(
        self, d: Drawing, s: SheetLayout, x: float, y: float, scale: float, units: str = "metric"
    ) -> None:
        self.units = units
        self.d, self.s, self.x0, self.y0, self.k = d, s, x, y, scale
        self.small: list[tuple[str, str]] = []

    def x(self, x: float) -> float:
        return self.x0 + x * self.k

    def y(self, y: float) -> float:
        return self.y0 + (self.s.sheet.width - y) * self.k

    def box(self, x: float, y: float, length: float, width: float, **kw: object) -> None:
        self.d.rect(self.x(x), self.y(y + width), length * self.k, width * self.k, **kw)

    def draw(self, waste: str) -> None:
        sheet = self.s.sheet
        self.box(0, 0, sheet.length, sheet.width, fill=STYLE.paper_deep, stroke="none")
        self.box(0, 0, sheet.length, sheet.width, fill=waste, stroke="none")
        for r in self.s.offcuts:
            self.box(
                r.x, r.y, r.length, r.width,
                fill=STYLE.paper, stroke=STYLE.sea, stroke_width=0.35, stroke_dasharray="1.6 1",
            )  # fmt: skip
            self._label("keep", sides(r.length, r.width, self.units), r.x, r.y, r.length, r.width,
                        STYLE.sea)  # fmt: skip
        for p in self.s.placements:
            self._piece(p)
        self.box(0, 0, sheet.length, sheet.width, fill="none", stroke=STYLE.ink, stroke_width=0.5)
        if sheet.trim > 0:
            t = sheet.trim
            self.box(
                t, t, sheet.length - 2 * t, sheet.width - 2 * t,
                fill="none", stroke=STYLE.ink_soft, stroke_width=0.15, stroke_dasharray="0.6 0.6",
            )  # fmt: skip
        self._cuts(self.s.cuts)

    def _piece(self, p: Placement) -> None:
        if p.ring:
            path = ""
            for ring in (p.ring, *p.holes):
                path += "M" + "L".join(f"{self.x(a):.3f} {self.y(b):.3f}" for a, b in ring) + "Z"
            self.d.path(path, fill="#ffffff", fill_rule="evenodd", stroke=STYLE.ink,
                        stroke_width=0.3)  # fmt: skip
        else:
            self.box(p.x, p.y, p.length, p.width, fill="#ffffff", stroke=STYLE.ink,
                     stroke_width=0.3)  # fmt: skip
            self._later(p)
        x, y, length, width = _label_box(p)
        size = sides(p.length, p.width, self.units)
        if self._label(p.label, size, x, y, length, width, STYLE.ink):
            if p.part.grain and min(length, width) * self.k > 9:
                self._grain(p)
            return
        letter = _letter(len(self.small))
        self.small.append((letter, f"{p.label} {size}"))
        room = min(length, width) * self.k
        self.d.text(
            self.x(x + length / 2), self.y(y + width / 2) + 0.35 * min(2.4, room), letter,
            size=min(2.4, room), anchor="middle", font_weight="bold",
        )  # fmt: skip

    def _later(self, p: Placement) -> None:
        """Outline and openings still to be cut out of a sawn piece, dotted."""
        for ring in _rings(p):
            self.d.polyline(
                [(self.x(a), self.y(b)) for a, b in ring], closed=True,
                fill="none", stroke=STYLE.ink_soft, stroke_width=0.2, stroke_dasharray="0.5 0.7",
            )  # fmt: skip

    def _grain(self, p: Placement) -> None:
        """A short double arrow along the grain."""
        cx, cy = self.x(p.x + p.length / 2), self.y(p.y + p.width / 2)
        a = min(4.0, 0.3 * p.length * self.k)
        y = cy + min(0.38 * p.width * self.k, 5.6)
        for s in (-1, 1):
            self.d.line(cx, y, cx + s * a, y, stroke_width=0.2)
            self.d.polyline(
                [(cx + s * (a - 0.8), y - 0.5), (cx + s * a, y), (cx + s * (a - 0.8), y + 0.5)],
                stroke_width=0.2,
            )

    def _label(
        self, name: str, size: str, x: float, y: float, length: float, width: float, colour: str
    ) -> bool:
        """Name over size in the middle, turned in tall pieces; False when it does not fit."""
        w, h = length * self.k - 1.2, width * self.k - 1.0
        cx, cy = self.x(x + length / 2), self.y(y + width / 2)
        kw: dict[str, object] = {"fill": colour}
        best = None
        for turn, a, b in ((0.0, w, h), (-90.0, h, w)):
            two = min(_fit(name, a, b / 2.3, 3.0), _fit(size, a, b / 2.3, 3.0))
            one = _fit(f"{name}  {size}", a, b, 2.6)
            for lines, kind in ((two, 2), (one, 1)):
                key = (lines >= 1.7, turn == 0.0, lines)
                if best is None or key > best[0]:
                    best = (key, turn, lines, kind)
        assert best is not None
        _, turn, text, kind = best
        if text < 1.35:
            return False
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

        def put(line: str, down: float, **more: object) -> None:
            self.d.text(
                cx - s * down, cy + c * down, line, size=text, anchor="middle", turn=turn,
                **{**kw, **more},
            )  # fmt: skip

        if kind == 1:
            put(f"{name}  {size}", 0.35 * text)
        else:
            put(name, -0.12 * text, font_weight="bold")
            put(size, 1.05 * text)
        return True

    def _cuts(self, cuts: Sequence[Cut]) -> None:
        taken: list[tuple[float, float]] = []
        for c in cuts:
            width = _STAGE_WIDTH.get(c.stage, 0.3)
            dash = None if c.stage <= 1 else ("2.2 0.8" if c.stage == 2 else "0.9 0.7")
            mid = c.at + self.s_kerf / 2
            if c.axis == "x":
                a, b = (mid, c.start), (mid, c.end)
            else:
                a, b = (c.start, mid), (c.end, mid)
            ax, ay, bx, by = self.x(a[0]), self.y(a[1]), self.x(b[0]), self.y(b[1])
            self.d.line(ax, ay, bx, by, stroke=STYLE.copper, stroke_width=width,
                        stroke_dasharray=dash)  # fmt: skip
            rx, ry = self._ring_place(c, ax, ay, bx, by, taken)
            taken.append((rx, ry))
            self._ring(rx, ry, c)

    s_kerf = 0.0

    def _ring_place(self, c, ax, ay, bx, by, taken) -> tuple[float, float]:
        """Near the start of the cut; outside the sheet when it starts at the sheet's edge."""
        length = math.hypot(bx - ax, by - ay)
        ux, uy = ((bx - ax) / length, (by - ay) / length) if length > 0 else (1.0, 0.0)
        at_edge = c.start <= self.s.sheet.trim + 1e-6
        tries = [-RING - 0.7] if at_edge else []
        tries += [RING + 0.5 + 2 * RING * i for i in range(60) if (i + 0.5) * 2 * RING < length]
        tries += [-RING - 0.7 - 2.1 * RING * i for i in range(1, 3)] if at_edge else []
        tries.append(length / 2)
        for t in tries:
            x, y = ax + ux * t, ay + uy * t
            if all(math.hypot(x - p, y - q) > 2 * RING + 0.1 for p, q in taken):
                return x, y
        return ax + ux * length / 2, ay + uy * length / 2

    def _ring(self, x: float, y: float, c: Cut) -> None:
        self.d.circle(x, y, RING, fill=STYLE.paper, stroke=STYLE.copper, stroke_width=0.3)
        text = str(c.number)
        size = 2.1 if len(text) < 2 else (1.9 if len(text) == 2 else 1.45)
        self.d.text(x, y + 0.36 * size, text, size=size, anchor="middle", font_weight="bold")


def _letter(n: int) -> str:
    out = ""
    n += 1
    while n:
        n, r = divmod(n - 1, 26)
        out = chr(97 + r) + out
    return out


def _rings(p: Placement) -> list[tuple[tuple[float, float], ...]]:
    """Outline and openings of a sawn piece where it lies; none when it is a plain rectangle."""
    if p.part.outline is None:
        return []
    out = []
    for ring in (p.part.outline, *p.part.holes):
        if p.turned:
            out.append(tuple((p.x + p.part.width - b, p.y + a) for a, b in ring))
        else:
            out.append(tuple((p.x + a, p.y + b) for a, b in ring))
    return out


def _label_box(p: Placement) -> tuple[float, float, float, float]:
    rings = [p.ring, *p.holes] if p.ring else _rings(p)
    if len(rings) < 2 and not p.ring:
        return p.x, p.y, p.length, p.width
    from shapely import Point, Polygon
    from shapely.ops import polylabel

    poly = Polygon(rings[0], rings[1:])
    c = polylabel(poly, tolerance=2e-3)
    r = Point(c).distance(poly.boundary)
    # the largest rectangle of the piece's own proportions is not needed: a square of the inner
    # circle, stretched along the longer side as far as it stays inside
    best = (c.x - 0.7 * r, c.y - 0.7 * r, 1.4 * r, 1.4 * r)
    from shapely import box

    for grow in (1.5, 2.0, 3.0, 4.0):
        for w, h in ((1.4 * r * grow, 1.1 * r), (1.1 * r, 1.4 * r * grow)):
            b = box(c.x - w / 2, c.y - h / 2, c.x + w / 2, c.y + h / 2)
            if poly.contains(b) and w * h > best[2] * best[3]:
                best = (c.x - w / 2, c.y - h / 2, w, h)
    return best


def _footer(small: list[tuple[str, str]], width: float) -> list[str]:
    lines: list[str] = []
    room = int((width - 2 * SIDE) / (2.3 * _WIDE))
    for letter, text in small:
        item = f"{letter} {text}"
        if lines and len(lines[-1]) + 3 + len(item) <= room:
            lines[-1] += "   " + item
        else:
            lines.append(item)
    return lines


def _paint(
    d: Drawing, s: SheetLayout, kerf: float, top: float, scale: float, waste: str, units: str
) -> float:
    """Draw one sheet from `top` [mm] down; returns where it ends [mm]."""
    sheet = s.sheet
    n = len(s.placements)
    fill = s.used_area / sheet.area
    label = named(s.label, sheet, units)
    d.text(SIDE, top + 5.2, label, size=4.2, font_family=STYLE.font, font_weight="bold")
    us = units == "us"
    about = [sides(sheet.length, sheet.width, units) + ("" if us else " mm")]
    if sheet.thickness and us:
        about.append(say("{thick} thick", thick=write(sheet.thickness, "length", units)))
    elif sheet.thickness:
        about.append(say("{thick} mm thick", thick=mm(sheet.thickness)))
    if sheet.material:
        about.append(sheet.material)
    pieces = say("1 piece" if n == 1 else "{n} pieces", n=n)
    tool = "saw cut" if s.cuts else "bit"
    said = say(
        "{about}; {pieces}, {fill:.0f} % used; {tool} {kerf} mm",
        about=joined(", ", about), pieces=pieces, fill=100 * fill, tool=tool, kerf=mm(kerf),
    )  # fmt: skip
    if us:
        said = say(
            "{about}; {pieces}, {fill:.0f} % used; {tool} {kerf}",
            about=joined(", ", about), pieces=pieces, fill=100 * fill, tool=tool,
            kerf=write(kerf, "length", units, precision=32),
        )  # fmt: skip
    d.text(
        SIDE, top + 9.4,
        said,
        size=2.7, fill=STYLE.ink_soft,
    )  # fmt: skip
    pic = _Sheet(d, s, SIDE, top + HEAD + 2, scale, units)
    pic.s_kerf = kerf
    pic.draw(waste)
    y = top + HEAD + 2 + sheet.width * scale + 5.2
    for line in _footer(pic.small, d.width):
        d.text(SIDE, y + 2.2, line, size=2.3)
        y += 3.4
    return y + 2.5


def _height(s: SheetLayout, scale: float, width: float, units: str) -> float:
    probe = Drawing(width, 10)
    return _paint(probe, s, 0.0, 0.0, scale, "none", units)


def sheet_picture(
    s: SheetLayout, kerf: float, width: float = 180.0, units: str = "metric"
) -> Drawing:
    """One sheet with its pieces, numbered cuts and off-cuts.

    Parameters
    ----------
    s : SheetLayout [m]
        The sheet.
    kerf : float [m]
        Width of a cut.
    width : float [mm]
        Width of the drawing.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    Drawing
        Sized in millimetres [mm].
    """
    scale = (width - 2 * SIDE) / s.sheet.length
    title = say("Cut plan of {sheet}", sheet=named(s.label, s.sheet, units))
    d = Drawing(width, _height(s, scale, width, units), title, _about(s, units))
    _paint(d, s, kerf, 0.0, scale, d.hatch("waste", STYLE.rule, 1.8), units)
    return d


def plan_picture(plan: CutPlan, width: float = 180.0, units: str = "metric") -> Drawing:
    """All sheets of a plan below one another, to one scale.

    Parameters
    ----------
    plan : CutPlan [m]
        The plan.
    width : float [mm]
        Width of the drawing.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    Drawing
        Sized in millimetres [mm].
    """
    longest = max(s.sheet.length for s in plan.sheets)
    scale = (width - 2 * SIDE) / longest
    heights = [_height(s, scale, width, units) for s in plan.sheets]
    about = " ".join(_about(s, units) for s in plan.sheets)
    d = Drawing(width, sum(heights), "Cut plan", about)
    waste = d.hatch("waste", STYLE.rule, 1.8)
    top = 0.0
    for s, h in zip(plan.sheets, heights):
        _paint(d, s, plan.saw.kerf, top, scale, waste, units)
        top += h
    return d


def _about(s: SheetLayout, units: str) -> str:
    def size(length: float, width: float) -> str:
        both = sides(length, width, units).replace(" x ", " by ")
        return both if units == "us" else f"{both} mm"

    pieces = ", ".join(f"{p.label} {size(p.length, p.width)}" for p in s.placements)
    return (
        f"Sheet {named(s.label, s.sheet, units)}, {size(s.sheet.length, s.sheet.width)}, "
        f"{len(s.cuts)} cuts; pieces: {pieces}."
    )
