"""The surfaces drawn to scale: joined pieces together, edges by kind, cut-outs, lengths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pourwright.drawing import STYLE, Drawing
from pourwright.quantities import write
from pourwright.survey.build import Survey
from pourwright.survey.edge_lines import OnPage, Track, draw_edge, track
from pourwright.survey.edges import EDGE_KINDS
from pourwright.survey.joints import transform
from pourwright.survey.labels import Room, text_width
from pourwright.survey.paths import Path, path_points
from pourwright.survey.plan_words import (
    call_cut_out,
    details,
    is_round,
    keep_clear,
    write_corners,
    write_length,
    write_name,
)
from pourwright.survey.surface import CutOut, Surface
from pourwright.words import Amount, say

FOOT = 0.3048
"""[m]"""
BARS = (5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05)
"""Lengths of the scale bar [m or ft]."""
SCALES = (2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200)
MARGIN = 15.0
"""Room beside a group of pieces for its lengths [mm]."""
ABOVE = 13.0
"""Room above and below a group [mm]."""
HEAD = 13.0
LEGEND = 6.0
_WORDS = {
    "free": "free edge",
    "wall": "wall",
    "joint": "joint",
    "upstand": "upstand",
    "waterfall": "waterfall, turns down",
}


@dataclass(frozen=True)
class _Group:
    """Joined pieces and their places [m, rad], and the box around them [m]."""

    pieces: tuple[tuple[Surface, tuple[float, float, float]], ...]
    box: tuple[float, float, float, float]

    @property
    def size(self) -> tuple[float, float]:
        return self.box[2] - self.box[0], self.box[3] - self.box[1]


def draw_plan(
    survey: Survey,
    width: float = 277.0,
    title: str = "Surfaces",
    most_height: float = 190.0,
    units: str = "metric",
) -> Drawing:
    """All surfaces to scale, joined pieces unfolded into one plane.

    Parameters
    ----------
    survey : Survey [m]
    width : float [mm]
        Width of the page; at least 150.
    title : str [-]
    most_height : float [mm]
        The scale is chosen from `SCALES` so that the page is no higher, if it can be.
    units : str [-]
        ``metric`` or ``us``: lengths in millimetres, or in feet and inches as on a tape.

    Returns
    -------
    drawing : Drawing [mm]
        A picture; measures are printed in `units`, the scale stands below.
    """
    groups = _groups(survey)
    for scale in SCALES:
        rows, height = _rows(groups, width, 1e3 / scale)
        if rows is not None and height + HEAD + 20 <= most_height:
            break
    else:
        scale = SCALES[-1]
        rows, height = _rows(groups, width, 1e3 / scale, force=True)
    assert rows is not None
    legend = _legend(survey, width, units)
    foot = 15.0 + LEGEND * (1 + max(row for _, _, row, _ in legend)) + (5.0 if width < 230 else 0.0)
    page = Drawing(width, height + HEAD + foot, title, _about(survey, units))
    page.text(10, 9.5, title, size=STYLE.large, font_family=STYLE.font)
    page.line(10, 12, width - 10, 12, stroke=STYLE.rule, stroke_width=STYLE.hair)
    for group, x, y in rows:
        _draw_group(page, survey, group, x, y + HEAD, 1e3 / scale, units)
    _foot(page, survey, scale, height + HEAD, legend, units)
    return page


def _about(survey: Survey, units: str) -> str:
    def area(value: float) -> str:
        return write(value, "area", units) if units == "us" else f"{value:.2f} m2"

    def run(value: float) -> str:
        return write(value, "length", units) if units == "us" else f"{value:.2f} m"

    parts = []
    for s in survey.surfaces:
        a = s.areas
        runs = ", ".join(f"{k} {run(v)}" for k, v in a.runs.items() if v)
        parts.append(
            f"{s.name}: {area(a.face)} face, {area(a.strip)} edge strip; edges {runs}"
            + (f"; cut-outs {', '.join(c.name for c in s.cut_outs)}" if s.cut_outs else "")
        )
    return ". ".join(parts) + "."


def _groups(survey: Survey) -> list[_Group]:
    """Pieces that are joined, seen from above, and single pieces; equal pieces once."""
    linked: dict[str, str] = {s.name: s.name for s in survey.surfaces}

    def root(name: str) -> str:
        while linked[name] != name:
            name = linked[name]
        return name

    for m in survey.meetings:
        linked[root(m.other)] = root(m.surface)
    members: dict[str, list[Surface]] = {}
    for s in survey.surfaces:
        members.setdefault(root(s.name), []).append(s)
    groups = []
    for pieces in members.values():
        placed = []
        for s in pieces:
            x0, y0, x1, y1 = s.areas.box
            upended = len(pieces) == 1 and s.lie == "horizontal" and y1 - y0 > 1.4 * (x1 - x0)
            placed.append(
                (s, s.place or ((0.0, 0.0, -math.pi / 2) if upended else (0.0, 0.0, 0.0)))
            )
        points = np.array(
            [
                transform(place, x, y)
                for s, place in placed
                for x, y in path_points(s.outline.path, 1e-3)
            ]
        )
        low, high = points.min(axis=0), points.max(axis=0)
        groups.append(
            _Group(tuple(placed), (float(low[0]), float(low[1]), float(high[0]), float(high[1])))
        )
    return groups


def _rows(
    groups: Sequence[_Group], width: float, scale: float, force: bool = False
) -> tuple[list[tuple[_Group, float, float]] | None, float]:
    """Groups side by side in rows: (group, x, y) [mm] of their boxes, and the height [mm]."""
    placed: list[tuple[_Group, float, float]] = []
    x = y = high = 0.0
    for group in sorted(groups, key=lambda g: -g.size[1]):
        w = max(group.size[0] * scale, 24.0) + 2 * MARGIN
        h = group.size[1] * scale + 2 * ABOVE
        if w > width and not force:
            return None, 0.0
        if x and x + w > width:
            x, y, high = 0.0, y + high, 0.0
        placed.append((group, x + (w - group.size[0] * scale) / 2, y + ABOVE))
        x, high = x + w, max(high, h)
    return placed, y + high


def _draw_group(
    page: Drawing,
    survey: Survey,
    group: _Group,
    x: float,
    y: float,
    scale: float,
    units: str,
) -> None:
    drawn: list[tuple[Surface, OnPage]] = []
    for surface, place in group.pieces:
        on_page = _mapper(group, place, x, y, scale)
        drawn.append((surface, on_page))
        _fill(page, surface, on_page, scale)
    seams = {(m.other, m.other_edge) for m in survey.meetings}
    for surface, on_page in drawn:
        room = _room(surface, on_page)
        for c in surface.cut_outs:
            _cut_out(page, c, on_page)
        for k, e in enumerate(surface.edges):
            if (surface.name, e.name) in seams:
                continue
            line = track(e.side, on_page)
            follow = surface.edges[(k + 1) % len(surface.edges)].kind == e.kind
            lead = surface.edges[k - 1].kind == e.kind
            draw_edge(page, e.kind, line, (lead, follow))
            write_length(page, e, line, e.meets is not None, room, units)
        for m in survey.meetings:
            if m.other == surface.name:
                seam = surface.edge(m.other_edge)
                keep_clear(room, track(seam.side, on_page), 9.5 if details(seam) else 6.0)
        write_corners(page, surface, on_page, room, units)
        write_name(page, surface, room, units)
        for c in surface.cut_outs:
            call_cut_out(page, c, on_page, room, units)


def _room(surface: Surface, on_page: OnPage) -> Room:
    def ring(path: Path) -> np.ndarray:
        return np.array([on_page(px, py) for px, py in path_points(path, 1e-3)])

    return Room(ring(surface.outline.path), [ring(c.outline.path) for c in surface.cut_outs])


def _mapper(
    group: _Group, place: tuple[float, float, float], x: float, y: float, scale: float
) -> OnPage:
    def on_page(px: float, py: float) -> tuple[float, float]:
        ax, ay = transform(place, px, py)
        return x + (ax - group.box[0]) * scale, y + (group.box[3] - ay) * scale

    return on_page


def _ring(points: np.ndarray, on_page: OnPage) -> str:
    text = " L ".join("{:.3f} {:.3f}".format(*on_page(px, py)) for px, py in points)
    return f"M {text} Z"


def _fill(page: Drawing, surface: Surface, on_page: OnPage, scale: float) -> None:
    chord = 0.05 / scale
    d = _ring(path_points(surface.outline.path, chord), on_page)
    for c in surface.cut_outs:
        if not c.poured_over:
            d += " " + _ring(path_points(c.outline.path, chord), on_page)
    soft = {"board": STYLE.copper_soft}.get(surface.purpose)
    colour = soft or (STYLE.slate_soft if surface.lie == "upright" else STYLE.sea_soft)
    page.path(d, fill=colour, fill_opacity=0.55, fill_rule="evenodd", stroke="none")


def _cut_out(page: Drawing, c: CutOut, on_page: OnPage) -> None:
    tracks = [(e, track(e.side, on_page)) for e in c.edges]
    points = np.vstack([t.points for _, t in tracks])
    if c.poured_over:
        for _, t in tracks:
            page.polyline(
                t.points, stroke=STYLE.ink_soft, stroke_width=0.3, stroke_dasharray="1.4 1"
            )
    else:
        corners = [on_page(k.x, k.y) for k in c.outline.corners]
        middle = points.mean(axis=0)
        for tip in corners if len(corners) == 4 else []:
            reach = np.array(tip) - middle
            a, b = middle + 0.92 * reach, middle + 0.45 * reach
            if not is_round(c):
                page.line(a[0], a[1], b[0], b[1], stroke=STYLE.rule, stroke_width=0.2)
        for e, t in tracks:
            draw_edge(page, e.kind, Track(t.points, t.outward))


Legend = list[tuple[str, float, int, str]]


def _legend(survey: Survey, width: float, units: str) -> Legend:
    """Kinds in use: kind, x [mm], row, words with their run; wrapped to the page."""
    runs = survey.runs()
    for s in survey.surfaces:
        for kind, run in s.areas.cut_out_runs.items():
            runs[kind] += s.count * run
    out: Legend = []
    x, row = 12.0, 0
    for kind in (k for k in EDGE_KINDS if runs[k] > 1e-9):
        text = say("{edge}, {run:.2f}", edge=_WORDS[kind], run=Amount(runs[kind], "m"))
        if units == "us":
            text = say("{edge}, {run}", edge=_WORDS[kind], run=write(runs[kind], "length", units))
        w = 18.5 + text_width(text, STYLE.small)
        if x + w > width - 10 and x > 12:
            x, row = 12.0, row + 1
        out.append((kind, x, row, text))
        x += w + 7
    return out


def _foot(
    page: Drawing, survey: Survey, scale: int, top: float, legend: Legend, units: str
) -> None:
    page.line(10, top + 1, page.width - 10, top + 1, stroke=STYLE.rule, stroke_width=STYLE.hair)
    for kind, x, row, text in legend:
        y = top + 7.0 + LEGEND * row
        line = Track(np.array([[x, y], [x + 16, y]]), np.array([[0.0, -1.0], [0.0, -1.0]]))
        draw_edge(page, kind, line)  # type: ignore[arg-type]
        page.text(x + 18.5, y + 0.9, text, size=STYLE.small)
    unit, step = ("ft", FOOT) if units == "us" else ("m", 1.0)
    bar = next(b for b in (20.0, 10.0, *BARS) if b * step * 1e3 / scale <= 55)
    long = bar * step * 1e3 / scale
    x, y = 12.0, top + 13.0 + LEGEND * legend[-1][2]
    for k in range(5):
        fill = STYLE.ink if k % 2 == 0 else STYLE.paper
        page.rect(
            x + k * long / 5, y, long / 5, 1.2, fill=fill, stroke=STYLE.ink, stroke_width=0.15
        )
    page.text(
        x + long + 2,
        y + 1.5,
        say("{bar:g}, scale 1 : {scale}", bar=Amount(bar, unit), scale=scale),
        size=STYLE.small,
    )
    t = survey.totals()
    note = say(
        "All pieces: face {face:.2f}, edge strips {strip:.2f}, to pour {poured:.2f}. Lengths in "
        "mm, sharp corner to sharp corner.",
        face=Amount(t["face"], "m²"),
        strip=Amount(t["strip"], "m²"),
        poured=Amount(t["poured"], "m²"),
    )
    if units == "us":
        note = say(
            "All pieces: face {face}, edge strips {strip}, to pour {poured}. Lengths in feet and "
            "inches to the nearest 1/16, sharp corner to sharp corner.",
            face=write(t["face"], "area", units),
            strip=write(t["strip"], "area", units),
            poured=write(t["poured"], "area", units),
        )
    if page.width < 230:
        page.text(x, y + 6.5, note, size=STYLE.small)
    else:
        page.text(page.width - 10, y + 1.5, note, size=STYLE.small, anchor="end")
