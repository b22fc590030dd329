"""Words on the drawn surfaces: names, lengths, profiles, radii, cut-outs; each where it fits."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from pourwright.drawing import STYLE, Drawing
from pourwright.quantities import write
from pourwright.survey.edge_lines import OnPage, Track, track
from pourwright.survey.edges import Edge
from pourwright.survey.labels import Room, text_width
from pourwright.survey.surface import CutOut, Surface
from pourwright.words import Amount, joined, say


def keep_clear(room: Room, line: Track, depth: float) -> None:
    """Keep a band along a seam free of other words.

    Parameters
    ----------
    room : Room [mm]
        What is free on the piece; what is written is marked as taken.
    line : Track [mm]
    depth : float [mm]
        To either side.

    Returns
    -------
    nothing : None [-]
    """
    low, high = line.points.min(axis=0), line.points.max(axis=0)
    x, y = (low + high) / 2
    wide, tall = (float(v) for v in high - low)
    room.take(float(x), float(y), max(wide, 2 * depth), max(tall, 2 * depth))


def call_cut_out(
    page: Drawing, c: CutOut, on_page: OnPage, room: Room, units: str = "metric"
) -> None:
    """Name and measures of a cut-out: inside it, upright or turned, or beside it with a line.

    Parameters
    ----------
    page : Drawing [mm]
    c : CutOut [m]
    on_page : function of (x, y) [m] to (x, y) [mm]
    room : Room [mm]
        What is free on the piece; what is written is marked as taken.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    nothing : None [-]
    """
    points = np.vstack([track(e.side, on_page).points for e in c.edges])
    low, high = points.min(axis=0), points.max(axis=0)
    x, y = (float(v) for v in (low + high) / 2)
    wide, tall = float(high[0] - low[0]) - 4, float(high[1] - low[1]) - 4
    lines = [(c.name, STYLE.text), *((m, STYLE.small) for m in _measures(c, units))]
    w = max(text_width(t, size) for t, size in lines)
    h = 3.6 * len(lines)
    if w <= wide and h <= tall:
        _stack(page, lines, x, y, 0.0)
        return
    if w <= tall and h <= wide:
        _stack(page, lines, x, y, -90.0)
        return
    text = " ".join(t for t, _ in lines)
    w = text_width(text, STYLE.small)
    beside = float(high[0]) + 4
    if units == "us":  # the longer words stand clear of the edge and its length
        beside = max(beside, float(room.face.bounds[2]) + 6)
    spot = room.find(w, STYLE.small + 0.6, (x + w / 2 + 3, y - 4), 0.7) or (
        beside + w / 2,
        float(low[1]) - 4,
    )
    half = (w / 2 + 0.5, STYLE.small / 2 + 0.2)
    goal = [min(max(v, m - d), m + d) for v, m, d in zip((x, y), spot, half, strict=True)]
    ring = np.vstack([np.linspace(a, b, 9) for a, b in zip(points, np.roll(points, -1, 0))])
    rim = ring[int(np.argmin(np.hypot(ring[:, 0] - goal[0], ring[:, 1] - goal[1])))]
    page.line(*map(float, rim), *goal, stroke=STYLE.ink_soft, stroke_width=0.2)
    page.text(spot[0], spot[1] + 0.9, text, size=STYLE.small, anchor="middle")


def _stack(
    page: Drawing, lines: Sequence[tuple[str, float]], x: float, y: float, turn: float
) -> None:
    """Lines of text about a middle [mm], turned [deg]; all but the first in soft ink."""
    down = np.array([-math.sin(math.radians(turn)), math.cos(math.radians(turn))])
    for k, (text, size) in enumerate(lines):
        p = np.array([x, y]) + (3.6 * (k - (len(lines) - 1) / 2) + 0.35 * size) * down
        page.text(
            float(p[0]),
            float(p[1]),
            text,
            size=size,
            anchor="middle",
            turn=turn,
            fill=STYLE.ink_soft if k else STYLE.ink,
        )


def is_round(c: CutOut) -> bool:
    """Whether a cut-out is a circle.

    Parameters
    ----------
    c : CutOut [m]

    Returns
    -------
    round : bool [-]
    """
    return all(s.straight < 1e-9 for s in c.outline.sides)


def _measures(c: CutOut, units: str) -> list[str]:
    sides = c.outline.sides
    after = ["cut after"] if c.poured_over else []
    if is_round(c) and len(sides) == 4:
        return [f"Ø {_long(sides[0].side, units)}", *after]
    if len(sides) == 4:
        spans = sorted((sides[0].side, sides[1].side), reverse=True)
        radius = max(k.radius for k in c.outline.corners)
        across = f"{_long(spans[0], units)} × {_long(spans[1], units)}"
        return [across, *([f"R {_long(radius, units)}"] if radius else []), *after]
    if units == "us":
        return [write(c.area, "area", units), *after]
    return [f"{c.area * 1e4:.0f} cm²", *after]


def _long(value: float, units: str) -> str:
    if units == "us":
        return write(value, "length", units)
    return f"{value * 1e3:.1f}".removesuffix(".0")


def details(e: Edge, short: bool = False, units: str = "metric") -> str:
    """What shapes an edge, in words.

    Parameters
    ----------
    e : Edge [m]
    short : bool [-]
        R instead of round-over.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    words : str [-]
        Measures in `units`, millimetres without their name.
    """
    p = e.profile
    parts = []
    if p.round_over:
        parts.append(say("R {mm}" if short else "round-over {mm}", mm=_long(p.round_over, units)))
    if p.kind == "free" and p.drop > p.round_over:
        parts.append(say("drop {mm}", mm=_long(p.drop, units)))
    if p.lip:
        parts.append(say("lip {mm}", mm=_long(p.lip, units)))
    if p.height:
        parts.append(say("height {mm}", mm=_long(p.height, units)))
    if p.mask:
        parts.append(say("masked {mm}", mm=_long(p.mask, units)))
    return joined(", ", parts)


def write_length(
    page: Drawing, e: Edge, line: Track, inside: bool, room: Room, units: str = "metric"
) -> None:
    """Length and profile of an edge, written along it and never upside down.

    Parameters
    ----------
    page : Drawing [mm]
    e : Edge [m]
    line : Track [mm]
    inside : bool [-]
        True for a seam, whose length stands on the neighbour's face.
    room : Room [mm]
        What is free on the piece; what is written is marked as taken.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    nothing : None [-]
    """
    point, normal = line.at(line.length / 2)
    angle = math.degrees(math.atan2(normal[0], -normal[1]))
    angle = (angle + 90) % 180 - 90
    if angle <= -90 + 1e-6:
        angle = 90.0
    turn = angle if abs(angle) > 1e-6 else 0.0
    up = np.array([math.sin(math.radians(turn)), -math.cos(math.radians(turn))])
    if abs(turn) >= 90 - 1e-6:
        turn, up = -90.0, np.array([-1.0, 0.0])
    text, more = _long(e.side.side, units), details(e, units=units)
    size = STYLE.text
    if units == "us" and line.length < 0.62 * size * len(text):
        size = STYLE.small  # feet and inches are longer words
    if line.length < 0.62 * size * len(text):
        return
    if text_width(more, STYLE.small) > line.length:
        more = details(e, short=True, units=units)
    fits = text_width(more, STYLE.small) < line.length
    above = float(up @ normal) > 0
    base = {"wall": 2.6, "joint": 1.9}.get(e.kind, 3.0)
    two = bool(more) and fits
    if above:
        first, second = base + (STYLE.small + 0.7 if two else 0.0), base
    else:
        first, second = base + 0.75 * STYLE.text, base + STYLE.text + STYLE.small + 0.4
    side = 1.0 if above else -1.0
    if inside:
        keep_clear(room, line, 1.5)
    p = point + side * first * up
    page.text(p[0], p[1], text, size=size, anchor="middle", turn=turn)
    if two:
        q = point + side * second * up
        page.text(
            q[0], q[1], more, size=STYLE.small, anchor="middle", turn=turn, fill=STYLE.ink_soft
        )


def write_corners(
    page: Drawing, surface: Surface, on_page: OnPage, room: Room, units: str = "metric"
) -> None:
    """Radii of rounded corners, and the numbers of corners of free outlines.

    Parameters
    ----------
    page : Drawing [mm]
    surface : Surface [m]
    on_page : function of (x, y) [m] to (x, y) [mm]
    room : Room [mm]
        What is free on the piece; what is written is marked as taken.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    nothing : None [-]
    """
    numbered = any(e.name.partition("-")[0].isdigit() for e in surface.edges)
    for side in surface.outline.sides:
        c = side.start
        if not c.turn:
            continue
        before = next(s for s in surface.outline.sides if s.end is c or s.end == c)
        dx = (side.end.x - c.x) / side.side + (before.start.x - c.x) / before.side
        dy = (side.end.y - c.y) / side.side + (before.start.y - c.y) / before.side
        norm = math.hypot(dx, dy) or 1.0
        way = math.copysign(1.0, c.turn)
        tip = on_page(c.x, c.y)
        far = on_page(c.x + way * dx / norm, c.y + way * dy / norm)
        step = np.array(far) - np.array(tip)
        step /= np.hypot(*step)
        depth = math.dist(on_page(0, 0), on_page(1, 0)) * (
            c.radius * (1 / math.cos(c.turn / 2) - 1) if c.radius else 0.0
        )
        spot = np.array(tip) + (depth + 2.6) * step
        text = f"R {_long(c.radius, units)}" if c.radius else ""
        if numbered:
            text = f"{c.number}" + (f" · {text}" if text else "")
        if text:
            w = text_width(text, STYLE.small)
            x = float(spot[0]) + (0.0 if abs(step[0]) < 0.3 else math.copysign(w / 2, step[0]))
            page.text(
                x, spot[1] + 0.9, text, size=STYLE.small, anchor="middle", fill=STYLE.ink_soft
            )
            room.take(x, float(spot[1]), w, STYLE.small + 1)


def write_name(page: Drawing, surface: Surface, room: Room, units: str = "metric") -> None:
    """Name and areas where there is room, the more the better; never across a cut-out.

    Parameters
    ----------
    page : Drawing [mm]
    surface : Surface [m]
    room : Room [mm]
        What is free on the piece; what is written is marked as taken.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    nothing : None [-]
    """
    a = surface.areas
    name = surface.name + (f" × {surface.count}" if surface.count > 1 else "")
    if units == "us":
        more = [say("face {area}", area=write(a.face, "area", units))]
        more += [say("edge strip {area}", area=write(a.strip, "area", units))] if a.strip else []
    else:
        more = [say("face {area:.3f}", area=Amount(a.face, "m²"))]
        more += [say("edge strip {area:.3f}", area=Amount(a.strip, "m²"))] if a.strip else []
    more += ["upright"] if surface.lie == "upright" else []
    for size, lines in (
        (STYLE.large, more),
        (STYLE.text, more),
        (STYLE.text, more[:1]),
        (STYLE.text, []),
    ):
        for turn in (0.0, -90.0):
            w = max([text_width(name, 0.85 * size), *(text_width(t, STYLE.small) for t in lines)])
            h = size + 3.4 * len(lines)
            spot = room.find(*((w, h) if not turn else (h, w)))
            if spot is None:
                continue
            down = np.array([-math.sin(math.radians(turn)), math.cos(math.radians(turn))])
            at = np.array(spot) + (0.78 * size - h / 2) * down
            page.text(
                float(at[0]),
                float(at[1]),
                name,
                size=size,
                anchor="middle",
                turn=turn,
                font_family=STYLE.font,
            )
            for k, text in enumerate(lines):
                at = np.array(spot) + (size + 3.4 * (k + 0.75) - h / 2) * down
                page.text(
                    float(at[0]),
                    float(at[1]),
                    text,
                    size=STYLE.small,
                    anchor="middle",
                    turn=turn,
                    fill=STYLE.ink_soft,
                )
            return
    x0, _, x1, y1 = room.face.bounds
    page.text(
        (x0 + x1) / 2, y1 + 11.5, name, size=STYLE.text, anchor="middle", font_family=STYLE.font
    )
