"""The board approval sheet: what is agreed, and what may differ on the piece."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.papers.cups import ROLES, shade_name
from pourwright.papers.frame import frame, photo_figure, size, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show
from pourwright.plan.coats import CLEAR
from pourwright.plan.result import ShadePlan


def shades_of(work: Working) -> list[dict[str, str]]:
    """The shades of the colour coat of `work` [-]: name, share, part, swatch, advice."""
    known: dict[str, ShadePlan] = {s.id: s for s in getattr(work.plan, "shades", [])}
    out = []
    for part in work.ctx.job.colour.shades:
        s = known.get(part.shade)
        colour = next(iter(s.swatches.values()), "") if s is not None else ""
        hides = f"hides the undercoat {s.contrast_percent:.0f} %" if s is not None else ""
        clear = part.shade == CLEAR
        summary = "clear resin" if clear else work.ctx.catalogue.get(part.shade).summary
        out.append(
            {
                "name": plain(shade_name(work, part.shade), 40),
                "share": f"{100 * part.share:.0f} %",
                "part": ROLES.get(part.part, part.part) or "field",
                "colour": colour if colour.startswith("#") and len(colour) == 7 else "",
                "say": plain(f"{hides}; {summary}" if hides else summary, 160),
            }
        )
    return out


def board_data(work: Working, printed: date, picture: bytes | None) -> dict[str, Any]:
    """Data of the board approval sheet of `work` [-] with the `picture` [-], `printed` that day."""
    plan, job, u = work.plan, work.ctx.job, units_of(work)
    p = frame(
        work, "board", "Sample board", printed,
        "Made, looked at and signed before the piece is poured. Both keep a copy.",
        ("A fresh board is not cured: keep it off the skin and away from heat until it is hard.",),
    )  # fmt: skip
    if picture is not None:
        p["picture"] = photo_figure(picture, picture_alt(work))
    c = plan.coats[0]
    boards = [s for s in plan.surfaces if s.purpose == "board"]
    facts = [("Finish", plain(job.finish.name or "not named", 80))]
    facts += [
        ("Board", f"{plain(s.name, 40)}, {size(work, s.length_mm, s.width_mm)}") for s in boards
    ]
    if job.board is not None:
        facts.append(("Poured at", f"{show.temperature(job.board.temperature - 273.15, u)}, veins "
                      f"{job.board.vein_wait / 60:.0f} min after spreading"))  # fmt: skip
    elif c.vein_wait_min is not None:
        facts.append(("Veins", f"{job.mix.vein_wait / 60:.0f} min after spreading on the board"))
    if c.vein_wait_min is not None:
        facts.append(
            ("On the piece", f"veins {show.with_range(c.vein_wait_min, 'min', 2)} after spreading: "
             f"{c.vein_wait_why}")
        )  # fmt: skip
    facts.append(("Film", f"{show.with_range(c.film_mm, 'mm')} of {c.resin_name}"))
    if len(plan.coats) > 1:
        f = plan.coats[-1]
        facts.append(("Over it", f"{show.with_range(f.film_mm, 'mm')} of {f.resin_name}"))
    facts.append(("Gloss", "matte topcoat" if job.topcoat is not None else "gloss of the flood"))
    p["facts"] = [(a, plain(b, 260)) for a, b in facts]
    p["shades"] = shades_of(work)
    p["swatch_note"] = (
        "Swatches are reckoned and printed: only the board shows the colour. Agree it in the light "
        "of the place where the piece will be."
    )
    p["differ"] = _differ(work)
    p["agree"] = ["colours", "shares of the colours", "how fine the veins are",
                  "how lively the pattern is", "gloss or matte", "edges and corners"]  # fmt: skip
    return p


def _differ(work: Working) -> list[str]:
    u = units_of(work)
    c = work.plan.coats[0]
    out = [
        "The pattern is poured, not printed: same shades, shares and moves, never the same drawing."
    ]
    wide = work.ctx.job.colour.vein_width
    if wide is not None:
        out.append(f"Veins are meant to end about {show.length(1e3 * wide, u)} wide; the moment "
                   "they are laid is known only to the range above, and width follows it.")  # fmt: skip
    out.append(
        f"The film may be {c.film_mm.p05:.2f} to {c.film_mm.p95:.2f} mm thick; a thin shade looks "
        "darker where it is thinner over a dark primer."
    )
    if c.edge_film_mm is not None:
        out.append(f"On turned-down edges the film is thinner, {c.edge_film_mm.p05:.2f} to "
                   f"{c.edge_film_mm.p95:.2f} mm, and the pattern runs downwards.")  # fmt: skip
    out.append("Small bubbles, a hair or a speck in a square metre are usual (common practice); "
               "agree here what is not.")  # fmt: skip
    return [plain(t, 300) for t in out]


def picture_alt(work: Working) -> str:
    """What the picture of the finish shows [-], in words; `work` is the plan [-]."""
    shades = ", ".join(
        f"{shade_name(work, s.shade)} {100 * s.share:.0f} %" for s in work.ctx.job.colour.shades
    )
    name = work.ctx.job.finish.name or "the finish"
    return f"Computed picture of {name}: {shades or 'clear resin'}. The poured piece will differ."
