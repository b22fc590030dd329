"""The build-up drawn as a section: layers from the core up, not to scale, each with its words."""

from __future__ import annotations

import re

from pourwright.drawing import STYLE, Drawing
from pourwright.plan import Working, show

_RATIO = re.compile(r", [\d.]+:[\d.]+( by (volume|mass|weight))?")
HEAVY = {"core": 15.0, "old": 5.0, "primer": 2.2, "colour": 7.0, "flood": 8.0, "topcoat": 2.6}


def buildup_drawing(work: Working, width: float = 178.0) -> Drawing:
    """The section through a finished piece.

    Parameters
    ----------
    work : Working [-]
        The planned job.
    width : float [mm]
        Width of the drawing.

    Returns
    -------
    Drawing [mm]
        Layers are told apart by pattern and words, not by colour alone.
    """
    layers = _layers(work)
    tall = sum(HEAVY[k] for k, _ in layers) + 6.0
    words = "; ".join(t for _, t in layers)
    d = Drawing(width, tall, "The build-up", f"Build-up from the top down: {words}", None)
    hatch = d.hatch("core-hatch", STYLE.ink_soft, 2.2)
    dots = d.hatch("colour-hatch", STYLE.ink_soft, 1.1)
    left, right = 1.0, 0.42 * width
    y = 3.0
    step = (tall - 4.0) / max(len(layers), 1)
    for i, (kind, text) in enumerate(layers):
        h = HEAVY[kind]
        base = {"core": STYLE.paper_deep, "old": STYLE.paper, "primer": STYLE.ink, "colour": STYLE.sea_soft,
                "flood": "#ffffff", "topcoat": STYLE.copper_soft}[kind]  # fmt: skip
        d.rect(left, y, right - left, h, fill=base, stroke=STYLE.ink, stroke_width=0.3)
        if kind == "core":
            d.rect(left, y, right - left, h, fill=hatch, stroke="none")
        if kind == "colour":
            d.rect(left, y, right - left, h, fill=dots, stroke="none")
        level = 2.0 + step * (i + 0.5)
        d.polyline([(right, y + h / 2), (right + 7, level), (right + 10, level)], stroke_width=0.2)
        d.circle(right, y + h / 2, 0.5, fill=STYLE.ink)
        d.text(right + 11.5, level + 1.0, text, size=3.1, font_family=STYLE.font)
        y += h
    return d


def _layers(work: Working) -> list[tuple[str, str]]:
    job, units = work.ctx.job, work.plan.job["show"]["units"]
    out: list[tuple[str, str]] = []
    if job.topcoat is not None:
        m = work.ctx.material(job.topcoat.material, "topcoat", "topcoat.material")
        out.append(("topcoat", f"{m.name}, {_coats(job.topcoat.coats)}"))
    for c in reversed(work.plan.coats):
        resin = _RATIO.sub("", c.resin_name)
        out.append((c.id, f"{c.title} {film_text(c.film_mm, units)}: {resin}"))
    if job.primer is not None:
        m = work.ctx.material(job.primer.material, "primer", "primer.material")
        out.append(("primer", f"{m.name}, {_coats(job.primer.coats)}"))
    elif job.core.ready:
        out.append(("old", "the old coat, sound, sanded matt and clean"))
    core = work.ctx.material(job.core.material, "core", "core.material")
    out.append(("core", f"{core.name}, {show.length(job.core.thickness * 1e3, units)}"))
    return [(k, t if len(t) < 75 else t[:73].rstrip() + "…") for k, t in out]


def _coats(n: int) -> str:
    return f"{n} coat{'s' if n > 1 else ''}"


def film_text(s: object, units: str) -> str:
    """A film as a spread [mm] in `units` [-]; thin films in mils for US units."""
    p05, p50, p95 = (float(getattr(s, k)) for k in ("p05", "p50", "p95"))
    if units == "us":
        k = 1 / 0.0254
        return f"{p50 * k:.0f} mil ({p05 * k:.0f} to {p95 * k:.0f})"
    return f"{p50:.2f} mm ({p05:.2f} to {p95:.2f})"
