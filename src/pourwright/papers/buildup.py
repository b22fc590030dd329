"""The build-up drawn as a section: layers from the core up, not to scale, each with its words."""

from __future__ import annotations

import re

from pourwright.drawing import STYLE, Drawing
from pourwright.papers.wording import Wording
from pourwright.words import Own
from pourwright.words.said import first_up

_RATIO = re.compile(r", [\d.,]+:[\d.,]+( (by|nach) \w+)?")
HEAVY = {"core": 15.0, "old": 5.0, "primer": 2.2, "colour": 7.0, "flood": 8.0, "topcoat": 2.6,
         "back": 4.0}  # fmt: skip


def buildup_drawing(w: Wording, width: float = 178.0) -> Drawing:
    """The section through a finished piece.

    Parameters
    ----------
    w : Wording [-]
        The planned job and its reader.
    width : float [mm]
        Width of the drawing.

    Returns
    -------
    Drawing [mm]
        Layers are told apart by pattern and words, not by colour alone.
    """
    layers = _layers(w)
    tall = sum(HEAVY[k] for k, _ in layers) + 6.0
    words = "; ".join(t for _, t in layers)
    about = w.say("Build-up from the top down: {layers}", layers=Own(words))
    d = Drawing(width, tall, w.say("The build-up"), about, None)
    hatch = d.hatch("core-hatch", STYLE.ink_soft, 2.2)
    dots = d.hatch("colour-hatch", STYLE.ink_soft, 1.1)
    left, right = 1.0, 0.36 * width
    y = 3.0
    step = (tall - 4.0) / max(len(layers), 1)
    for i, (kind, text) in enumerate(layers):
        h = HEAVY[kind]
        base = {"core": STYLE.paper_deep, "old": STYLE.paper, "primer": STYLE.ink, "colour": STYLE.sea_soft,
                "flood": "#ffffff", "topcoat": STYLE.copper_soft, "back": "#ffffff"}[kind]  # fmt: skip
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


def _layers(w: Wording) -> list[tuple[str, str]]:
    ctx = w.work.ctx
    job = ctx.job
    out: list[tuple[str, str]] = []
    if job.topcoat is not None:
        m = ctx.material(job.topcoat.material, "topcoat", "topcoat.material")
        out.append(("topcoat", f"{w.text(m.name)}, {coats_text(w, job.topcoat.coats)}"))
    for c in reversed(w.plan.faces):
        resin = _RATIO.sub("", c.resin_name)
        out.append((c.id, f"{c.title}, {w.film(c.film_mm)}: {resin}"))
    if job.primer is not None:
        out.append(("primer", f"{w.text(ctx.primer_name)}, {coats_text(w, job.primer.coats)}"))
    elif job.core.ready:
        out.append(("old", w.say("the old coat, sound, sanded matt and clean")))
    core = ctx.material(job.core.material, "core", "core.material")
    out.append(("core", f"{w.text(core.name)}, {w.length(job.core.thickness * 1e3)}"))
    for c in w.backs:
        out.append(("back", f"{c.title}, {w.film(c.film_mm)}: {_RATIO.sub('', c.resin_name)}"))
    return [(k, first_up(t if len(t) < 82 else t[:80].rstrip() + "…")) for k, t in out]


def coats_text(w: Wording, n: int) -> str:
    """So many thin coats of paint [-] in the words of `w`."""
    return w.say("{n} coats" if n > 1 else "{n} coat", n=n)
