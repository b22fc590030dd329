"""Pictures of endurance: a bowed panel with true numbers, and weights side by side."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np

from pourwright.calc.base import Spread
from pourwright.drawing import STYLE, Drawing
from pourwright.endure.layers import Layer
from pourwright.errors import InputError

_WIDE = 180.0
_ROW = 4.4  # height of a row of the legend [mm]
_FILLS = {
    "coat": STYLE.copper,
    "back": STYLE.copper,
    "skin": STYLE.slate,
    "core": STYLE.paper_deep,
}


def _fills(layers: Sequence[Layer]) -> list[str]:
    """A fill per layer; coats that touch take turns, so that each can be told apart."""
    out: list[str] = []
    for layer in layers:
        fill = _FILLS.get(layer.role, STYLE.paper_deep)
        if out and out[-1] == fill and layer.role in ("coat", "back"):
            fill = STYLE.copper_soft
        out.append(fill)
    return out


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
    about = (
        f"A panel {1000 * length:.0f} mm long bows {1000 * abs(bow.p50):.1f} mm "
        f"({1000 * bow.p05:.1f} to {1000 * bow.p95:.1f}); {1000 * limit:.1f} mm is accepted. "
        f"The {'ends lift' if up else 'middle lifts'}."
    )
    rows = (len(layers) + 1) // 2
    d = Drawing(_WIDE, 81.0 + _ROW * rows + 8.0, title, about)
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
        right + 6, table + 4.0, "flat bench", size=STYLE.small, anchor="end", fill=STYLE.ink_soft
    )
    hatch = d.hatch("core-hatch", STYLE.ink_soft)
    level = height
    for layer, size, fill in zip(layers, drawn, _fills(layers)):
        upper, lower = curve(bow.p50, level), curve(bow.p50, level - size)
        ring = [*upper, *lower[::-1]]
        d.polyline(ring, closed=True, fill=fill,
                   stroke=STYLE.ink, stroke_width=STYLE.hair)  # fmt: skip
        if layer.role == "core":
            d.polyline(ring, closed=True, fill=hatch, stroke="none")
        level -= size
    for value in (bow.p05, bow.p95):
        d.polyline(
            curve(value, 0.0),
            stroke=STYLE.ink,
            stroke_width=STYLE.hair * 1.5,
            stroke_dasharray="2 1.3",
        )
    _ends(d, bow, limit, scale, table, right)
    _dimension(d, bow, scale, table, left, right)
    _legend(d, layers, thick)
    ends = sorted((abs(bow.p05), abs(bow.p95)))
    if bow.p05 * bow.p95 < 0:
        likely = (
            f"likely from {1000 * -bow.p05:.1f} mm with the middle up "
            f"to {1000 * bow.p95:.1f} mm with the ends up"
        )
    else:
        likely = f"likely between {1000 * ends[0]:.1f} and {1000 * ends[1]:.1f} mm"
    verdict = "stays within" if max(ends) <= limit else "goes beyond"
    d.text(
        10,
        17.5,
        f"Bow {1000 * abs(bow.p50):.1f} mm over {1000 * length:.0f} mm, {likely}.",
    )
    d.text(10, 22.0, f"Accepted: {1000 * limit:.1f} mm. The range {verdict} it.")
    times = scale / (1000.0 * (right - left) / (1000.0 * length))
    d.text(
        10,
        26.0,
        f"Height drawn about {times:.0f} times too large, thickness not to scale. "
        f"Poured face up; the {'ends lift' if up else 'middle lifts'}. "
        "Dashed: likely range of the underside.",
        size=STYLE.small,
        fill=STYLE.ink_soft,
    )
    if remedy:
        d.text(10, 81.0 + _ROW * rows + 3.5, remedy, size=STYLE.text)
    return d


def _ends(d: Drawing, bow: Spread, limit: float, scale: float, table: float, right: float) -> None:
    """Labels at the right end: the range's ends, and what is accepted as a copper tick."""
    if bow.p50 < 0:
        return
    marks = [
        (bow.p05, f"{1000 * bow.p05:.1f} mm (5 %)"),
        (bow.p95, f"{1000 * bow.p95:.1f} mm (95 %)"),
    ]
    used: list[float] = []
    for value, label in [*marks, (limit, f"accepted {1000 * limit:.1f} mm")]:
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
    d.text(x - 2.0, 0.5 * (table + top) + 1.0, f"{1000 * abs(bow.p50):.1f} mm", anchor="end",
           size=STYLE.small)  # fmt: skip


def _legend(d: Drawing, layers: Sequence[Layer], thick: Sequence[float]) -> None:
    """Layers from the face down, with true thickness, in two columns read row by row."""
    for k, (layer, t, fill) in enumerate(zip(layers, thick, _fills(layers))):
        x, y = 22.0 + 78.0 * (k % 2), 81.0 + _ROW * (k // 2)
        d.rect(x, y - 2.4, 4.0, 2.8, fill=fill,
               stroke=STYLE.ink, stroke_width=STYLE.hair)  # fmt: skip
        if layer.role == "core":
            d.rect(x, y - 2.4, 4.0, 2.8, fill="url(#core-hatch)", stroke="none")
        mm = 1000 * t
        label = f"{layer.name}, {mm:.1f} mm" if mm < 10 else f"{layer.name}, {mm:.0f} mm"
        d.text(x + 5.2, y, label, size=STYLE.small)


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
    bar, gap, start, room = 6.0, 3.0, 66.0, 92.0
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
        labels.append((start + wide + 1.8, y + 4.3, f"{mass:.1f} kg"))
    if limit is not None:
        x = start + room * limit / largest
        low = 18.0 + len(rows) * (bar + gap)
        d.line(x, 15.5, x, low, stroke=STYLE.warn, stroke_width=STYLE.bold,
               stroke_dasharray="2 1.4")  # fmt: skip
        d.text(x, low + 3.6, f"limit {limit:g} kg", size=STYLE.small, anchor="middle")
    for x, y, label in labels:
        d.rect(x - 0.6, y - 2.6, 1.55 * len(label) + 1.2, 3.4, fill=STYLE.paper, stroke="none")
        d.text(x, y, label, size=STYLE.small)
    return d
