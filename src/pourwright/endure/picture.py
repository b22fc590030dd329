"""Pictures of endurance: a bowed panel with true numbers, and weights side by side."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from textwrap import wrap

import numpy as np

from pourwright.calc.base import Spread
from pourwright.drawing import STYLE, Drawing
from pourwright.endure.layers import Layer
from pourwright.errors import InputError
from pourwright.words import Amount, Between, Said, say

_WIDE = 180.0
_ROW = 4.4  # height of a row of the legend [mm]
_TONES = (
    STYLE.copper,
    STYLE.copper_soft,
    STYLE.sea_soft,
    STYLE.slate_soft,
    STYLE.sea,
    STYLE.rule,
)
"""Tones of the films, in the order in which they are met from the face down."""


def _fills(layers: Sequence[Layer]) -> list[str]:
    """A fill per layer: each film its own tone, the same film on the back the same tone again."""
    tones: dict[str, str] = {}
    out: list[str] = []
    for layer in layers:
        if layer.role not in ("coat", "back"):
            out.append(STYLE.slate if layer.role == "skin" else STYLE.paper_deep)
            continue
        thick = f"{1e3 * float(np.median(np.asarray(layer.thickness))):.2f}"
        film = f"{layer.name} {thick}"  # one resin may be both colour coat and flood
        tones.setdefault(film, _TONES[len(tones) % len(_TONES)])
        out.append(tones[film])
    return out


_LETTERS = 96
"""Letters that fit on a line across the drawing [-]."""


def bow_picture(
    layers: Sequence[Layer],
    length: float,
    bow: Spread,
    limit: float,
    title: str = "Bow of the panel",
    remedy: str = "",
) -> Drawing:
    """Side view of a bowed panel: curve exaggerated, numbers true, range as dashed lines.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back; middle thicknesses are shown, drawn thicker than true.
    length : float [m]
        Length between the ends.
    bow : Spread [m]
        5, 50 and 95 % points; positive when the ends lift.
    limit : float [m]
        Largest bow accepted.
    title : str [-]
        Heading.
    remedy : str [-]
        One sentence under the picture.

    Returns
    -------
    Drawing [mm]
        180 mm wide; readable in black and white.

    Raises
    ------
    InputError
        A length or limit not above 0.
    """
    if not (length > 0.0 and limit > 0.0):
        raise InputError("length or limit", min(length, limit), "above 0 m", "Give both.")
    up = bow.p50 >= 0.0
    about = say(
        "A panel {length:.0f} long bows {bow:.1f} ({low:.1f} to {high:.1f}); {limit:.1f} is "
        "accepted. {lifts}.",
        length=Amount(1000 * length, "mm"),
        bow=Amount(1000 * abs(bow.p50), "mm"),
        low=Amount(1000 * bow.p05, "mm"),
        high=Amount(1000 * bow.p95, "mm"),
        limit=Amount(1000 * limit, "mm"),
        lifts="The ends lift" if up else "The middle lifts",
    )
    rows = len(layers)
    lines = -(-len(remedy) // _LETTERS)
    # lines of like length: no single word is left over
    told = [remedy] if lines <= 1 else wrap(remedy, min(_LETTERS, len(remedy) // lines + 10))
    tall_all = 81.0 + _ROW * rows + 8.0 + 4.6 * max(len(told) - 1, 0)
    d = Drawing(_WIDE, tall_all, title, about)
    d.text(10, 10.5, title, size=STYLE.large)
    left, right = 22.0, _WIDE - 34.0
    tall = 22.0  # height of the middle curve on paper [mm]
    largest = max(abs(bow.p05), abs(bow.p95), abs(bow.p50), limit, 1e-9)
    scale = tall / largest  # paper mm per metre of bow
    table = 72.0

    def curve(value: float, offset: float) -> list[tuple[float, float]]:
        """Arc for a bow [m], `offset` [mm] above the panel's underside."""
        x = np.linspace(-1.0, 1.0, 61)
        rise = value * scale * (x**2 if value >= 0 else x**2 - 1.0)
        return [(left + (right - left) * (a + 1) / 2, table - offset - b) for a, b in zip(x, rise)]

    thick = [float(np.median(np.asarray(x.thickness))) for x in layers]
    drawn = [max(1.0, 9.0 * sqrt(t / sum(thick))) for t in thick]
    height = sum(drawn)
    d.line(left - 6, table + 0.3, right + 6, table + 0.3, stroke=STYLE.ink_soft)
    d.text(
        right + 6,
        table + 4.0,
        say("flat bench"),
        size=STYLE.small,
        anchor="end",
        fill=STYLE.ink_soft,
    )
    hatch = d.hatch("core-hatch", STYLE.ink_soft)
    level = height
    rings: list[tuple[float, float]] = []
    for k, (layer, size, fill) in enumerate(zip(layers, drawn, _fills(layers))):
        upper, lower = curve(bow.p50, level), curve(bow.p50, level - size)
        ring = [*upper, *lower[::-1]]
        d.polyline(ring, closed=True, fill=fill,
                   stroke=STYLE.ink, stroke_width=STYLE.hair)  # fmt: skip
        if layer.role == "core":
            d.polyline(ring, closed=True, fill=hatch, stroke="none")
        # the numbers stand on their layers, one beside the other
        at = round(60 * (0.08 + 0.84 * (k + 0.5) / len(layers)))
        rings.append((upper[at][0], 0.5 * (upper[at][1] + lower[at][1])))
        level -= size
    for value in (bow.p05, bow.p95):
        d.polyline(
            curve(value, 0.0),
            stroke=STYLE.ink,
            stroke_width=STYLE.hair * 1.5,
            stroke_dasharray="2 1.3",
        )
    for k, (x, y) in enumerate(rings, 1):
        _number(d, x, y, k)
    _ends(d, bow, limit, scale, table, right)
    _dimension(d, bow, scale, table, left, right)
    _legend(d, layers, thick)
    ends = sorted((abs(bow.p05), abs(bow.p95)))
    if bow.p05 * bow.p95 < 0:
        likely = say(
            "likely from {low:.1f} with the middle up to {high:.1f} with the ends up",
            low=Amount(1000 * -bow.p05, "mm"),
            high=Amount(1000 * bow.p95, "mm"),
        )
    else:
        likely = say("likely {ends:.1f}", ends=Between(1000 * ends[0], 1000 * ends[1], "mm"))
    within = max(ends) <= limit
    d.text(
        10,
        17.5,
        say(
            "Bow {bow:.1f} over {length:.0f}, {likely}.",
            bow=Amount(1000 * abs(bow.p50), "mm"),
            length=Amount(1000 * length, "mm"),
            likely=likely,
        ),
    )
    d.text(
        10,
        22.0,
        say(
            "Accepted: {limit:.1f}. The range stays within it."
            if within
            else "Accepted: {limit:.1f}. The range goes beyond it.",
            limit=Amount(1000 * limit, "mm"),
        ),
    )
    times = scale / (1000.0 * (right - left) / (1000.0 * length))
    d.text(
        10,
        26.0,
        say(
            "Height drawn about {times:.0f} times too large, thickness not to scale. Poured face "
            "up; {lifts:l}. Dashed: likely range of the underside.",
            times=times,
            lifts="The ends lift" if up else "The middle lifts",
        ),
        size=STYLE.small,
        fill=STYLE.ink_soft,
    )
    for k, line in enumerate(told):
        d.text(10, 81.0 + _ROW * rows + 3.5 + 4.6 * k, line, size=STYLE.text)
    return d


def _ends(d: Drawing, bow: Spread, limit: float, scale: float, table: float, right: float) -> None:
    """Labels at the right end: the range's ends, and what is accepted as a copper tick."""
    if bow.p50 < 0:
        return
    marks = [
        (bow.p05, say("{bow:.1f} (5 %)", bow=Amount(1000 * bow.p05, "mm"))),
        (bow.p95, say("{bow:.1f} (95 %)", bow=Amount(1000 * bow.p95, "mm"))),
    ]
    # an arc with its middle up meets the bench at the ends: the words above tell its height
    marks = [m for m in marks if m[0] >= 0.0]
    used: list[float] = []
    for value, label in [
        *marks,
        (limit, say("accepted {limit:.1f}", limit=Amount(1000 * limit, "mm"))),
    ]:
        y = table - value * scale
        text_y = y + 0.9
        while any(abs(text_y - u) < 2.8 for u in used):
            text_y -= 2.8
        used.append(text_y)
        accepted = label.startswith("accepted")
        if accepted:
            d.line(right - 3.0, y, right + 1.6, y, stroke=STYLE.copper, stroke_width=STYLE.bold)
        d.text(right + 2.4, text_y, label, size=STYLE.small * 0.9,
               font_weight="bold" if accepted else "normal")  # fmt: skip


def _dimension(
    d: Drawing, bow: Spread, scale: float, table: float, left: float, right: float
) -> None:
    """The bow's own dimension line: at the end when the ends lift, else in the middle."""
    x = left - 4.0 if bow.p50 >= 0 else 0.5 * (left + right)
    rise = abs(bow.p50) * scale
    if rise < 1.5:
        return
    top = table - rise
    for y in (table, top):
        d.line(x - 1.5, y, x + 1.5, y, stroke=STYLE.copper, stroke_width=STYLE.line)
    d.line(x, table, x, top, stroke=STYLE.copper, stroke_width=STYLE.line)
    d.text(
        x - 2.0,
        0.5 * (table + top) + 1.0,
        say("{bow:.1f}", bow=Amount(1000 * abs(bow.p50), "mm")),
        anchor="end",
        size=STYLE.small,
    )


def _number(d: Drawing, x: float, y: float, number: int) -> None:
    """The number of a layer in a small disc."""
    d.circle(x, y, 1.45, fill=STYLE.paper, stroke=STYLE.ink, stroke_width=STYLE.hair)
    d.text(x, y + 0.75, str(number), size=2.1, anchor="middle", font_weight="bold")


def _legend(d: Drawing, layers: Sequence[Layer], thick: Sequence[float]) -> None:
    """The build-up as a slice from the face down, each layer labelled where it lies."""
    x, top = 30.0, 77.6
    for k, (layer, t, fill) in enumerate(zip(layers, thick, _fills(layers))):
        y = top + _ROW * k
        d.rect(x, y, 9.0, _ROW, fill=fill, stroke=STYLE.ink, stroke_width=STYLE.hair)
        if layer.role == "core":
            d.rect(x, y, 9.0, _ROW, fill="url(#core-hatch)", stroke="none")
        _number(d, x + 4.5, y + 0.5 * _ROW, k + 1)
        mm = 1000 * t
        figures = 2 if mm < 0.5 else 1 if mm < 10 else 0
        form = ("{layer}, {thick:.0f}", "{layer}, {thick:.1f}", "{layer}, {thick:.2f}")[figures]
        label = Said(form, {"layer": layer.name, "thick": Amount(mm, "mm")})
        d.text(x + 10.6, y + 0.5 * _ROW + 0.9, label, size=STYLE.small)
    for y, word in (
        (top + 3.0, say("poured face")),
        (top + _ROW * len(layers) - 1.0, say("underside")),
    ):
        d.text(x - 1.6, y, word, anchor="end", size=STYLE.small, fill=STYLE.ink_soft)


def weight_picture(
    rows: Sequence[tuple[str, float]],
    chosen: str,
    limit: float | None = None,
    title: str = "Weight of the same piece in other build-ups",
) -> Drawing:
    """Bars of the weights of build-ups at the same size, the chosen one marked.

    Parameters
    ----------
    rows : sequence of (name, mass) [kg]
        Build-ups, lightest first.
    chosen : str [-]
        Name of the one in the job.
    limit : float or None [kg]
        Weight limit, drawn as a dashed line.
    title : str [-]
        Heading.

    Returns
    -------
    Drawing [mm]
        180 mm wide; readable in black and white.

    Raises
    ------
    InputError
        No rows, or a mass that is no positive number.
    """
    if not rows:
        raise InputError("weights", 0, "at least one build-up", "Name the build-ups.")
    for name, mass in rows:
        if not 0.0 < mass < 1e7:
            raise InputError(f"weights.{name}", mass, "above 0 kg", "Correct it.")
    bar, gap = 6.0, 3.0
    start = min(max(66.0, 10.0 + 1.8 * max(len(str(name)) for name, _ in rows)), 92.0)
    room = 158.0 - start
    largest = max(max(m for _, m in rows), limit or 0.0)
    tall = 22.0 + len(rows) * (bar + gap) + 8.0
    about = "; ".join(f"{n} {m:.1f} kg" for n, m in rows)
    d = Drawing(_WIDE, tall, title, about)
    d.text(10, 10.5, title, size=STYLE.large)
    hatch = d.hatch("other-hatch", STYLE.ink_soft)
    labels: list[tuple[float, float, str]] = []
    for i, (name, mass) in enumerate(rows):
        y = 18.0 + i * (bar + gap)
        wide = room * mass / largest
        mine = name == chosen
        d.text(start - 2.5, y + 4.3, name, anchor="end", font_weight="bold" if mine else "normal")
        d.rect(start, y, wide, bar, fill=STYLE.copper if mine else STYLE.sea_soft,
               stroke=STYLE.ink, stroke_width=STYLE.hair)  # fmt: skip
        if not mine:
            d.rect(start, y, wide, bar, fill=hatch, stroke="none")
        labels.append((start + wide + 1.8, y + 4.3, say("{m:.1f}", m=Amount(mass, "kg"))))
    line: float | None = None
    if limit is not None:
        x = line = start + room * limit / largest
        low = 18.0 + len(rows) * (bar + gap)
        d.line(x, 15.5, x, low, stroke=STYLE.warn, stroke_width=STYLE.bold,
               stroke_dasharray="2 1.4")  # fmt: skip
        d.text(
            x,
            low + 3.6,
            say("limit {limit:g}", limit=Amount(limit, "kg")),
            size=STYLE.small,
            anchor="middle",
        )
    for x, y, label in labels:
        if line is not None and x - 1.2 < line < x + 1.35 * len(label) + 0.3:
            x = line + 1.4  # beside the dashed line, not across it
        d.text(x, y, label, size=STYLE.small)
    return d
