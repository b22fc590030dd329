"""The board approval sheet: what is agreed, and what may differ on the piece."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.papers.cups import ROLES, shade_name
from pourwright.papers.frame import frame, photo_figure
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.plan.coats import CLEAR
from pourwright.plan.result import ShadePlan
from pourwright.words import Own


def shades_of(w: Wording) -> list[dict[str, str]]:
    """The shades of the colour coat of `w` [-]: name, share, part, swatch, advice."""
    known: dict[str, ShadePlan] = {s.id: s for s in getattr(w.plan, "shades", [])}
    out = []
    for part in w.work.ctx.job.colour.shades:
        s = known.get(part.shade)
        colour = next(iter(s.swatches.values()), "") if s is not None else ""
        hides = (
            w.say("hides the undercoat {percent} %", percent=Own(w.fixed(s.contrast_percent)))
            if s is not None
            else ""
        )
        clear = part.shade == CLEAR
        summary = w.say("clear resin") if clear else w.text(
            w.work.ctx.catalogue.get(part.shade).summary
        )  # fmt: skip
        out.append(
            {
                "name": plain(shade_name(w, part.shade), 40),
                "share": f"{100 * part.share:.0f} %",
                "part": w.text(ROLES.get(part.part, part.part)) or w.say("field"),
                "colour": colour if colour.startswith("#") and len(colour) == 7 else "",
                "say": plain(f"{hides}; {summary}" if hides else summary, 160),
            }
        )
    return out


def board_data(w: Wording, printed: date, picture: bytes | None) -> dict[str, Any]:
    """Data of the board approval sheet of `w` [-] with the `picture` [-], `printed` that day."""
    plan, job = w.plan, w.work.ctx.job
    p = frame(
        w, "board", w.say("Sample board"), printed,
        w.say("Made, looked at and signed before the piece is poured. Both keep a copy."),
        (w.say("A fresh board is not cured: keep it off the skin and away from heat until it is "
               "hard."),),
    )  # fmt: skip
    if picture is not None:
        p["picture"] = photo_figure(picture, picture_alt(w))
    c = w.plan.faces[0]
    boards = [s for s in plan.surfaces if s.purpose == "board"]
    name = job.finish.name
    facts = [(w.say("Finish"), w.own(name, 80) if name else w.say("not named"))]
    facts += [
        (w.say("Board"), f"{plain(s.name, 40)}, {w.size(s.length_mm, s.width_mm)}") for s in boards
    ]
    if job.board is not None:
        air = Own(w.temperature(job.board.temperature - 273.15))
        facts.append((w.say("Poured at"), air if job.colour.vein_width is None else w.say(
            "{air}, veins {minutes} min after spreading", air=air,
            minutes=Own(w.fixed(job.board.vein_wait / 60)),
        )))  # fmt: skip
    elif c.vein_wait_min is not None:
        facts.append((w.say("Veins"), w.say("{minutes} min after spreading on the board",
                                            minutes=Own(w.fixed(job.mix.vein_wait / 60)))))  # fmt: skip
    if c.vein_wait_min is not None:
        facts.append((w.say("On the piece"), w.say(
            "veins {wait} after spreading: {why}",
            wait=Own(w.with_range(c.vein_wait_min, "min", 2)), why=Own(c.vein_wait_why),
        )))  # fmt: skip
    facts.append((w.say("Film"), _film(w, c)))
    if len(w.plan.faces) > 1:
        facts.append((w.say("Over it"), _film(w, w.plan.faces[-1])))
    gloss = w.say("matte topcoat" if job.topcoat is not None else "gloss of the flood")
    facts.append((w.say("Gloss"), gloss))
    p["facts"] = [(a, plain(b, 260)) for a, b in facts]
    p["shades"] = shades_of(w)
    p["swatch_note"] = w.say(
        "Swatches are reckoned and printed: only the board shows the colour. Agree it in the light "
        "of the place where the piece will be."
    )
    p["differ"] = _differ(w)
    veined = job.colour.vein_width is not None
    p["agree"] = w.listed(a for a in AGREE if veined or "veins" not in a)
    return p


AGREE = ("colours", "shares of the colours", "how fine the veins are",
         "how lively the pattern is", "gloss or matte", "edges and corners")  # fmt: skip


def _film(w: Wording, c: Any) -> str:
    return w.say("{film} of {resin}", film=Own(w.with_range(c.film_mm, "mm")),
                 resin=Own(c.resin_name))  # fmt: skip


def _differ(w: Wording) -> list[str]:
    c = w.plan.faces[0]
    out = [
        w.say(
            "The pattern is poured, not printed: same shades, shares and moves, never the same "
            "drawing."
        )
    ]
    wide = w.work.ctx.job.colour.vein_width
    if wide is not None:
        out.append(w.say(
            "Veins are meant to end about {width} wide; the moment they are laid is known only to "
            "the range above, and width follows it.", width=Own(w.length(1e3 * wide)),
        ))  # fmt: skip
    primer = w.work.ctx.job.primer
    dark = primer is not None and primer.tint == "dark"
    out.append(w.say(
        "The film may be {range} thick; a thin shade looks darker where it is thinner over a dark "
        "primer."
        if dark
        else "The film may be {range} thick; where it is thinner, more of the ground shows.",
        range=Own(w.film_range(c.film_mm)),
    ))  # fmt: skip
    if c.edge_film_mm is not None:
        out.append(w.say(
            "On turned-down edges the film is thinner, {range}, and the pattern runs downwards.",
            range=Own(w.film_range(c.edge_film_mm)),
        ))  # fmt: skip
    out.append(w.say("Small bubbles, a hair or a speck in a square metre are usual (common "
                     "practice); agree here what is not."))  # fmt: skip
    return [plain(t, 300) for t in out]


def picture_alt(w: Wording) -> str:
    """What the picture of the finish shows [-], in the words of `w` [-]."""
    shades = ", ".join(
        f"{shade_name(w, s.shade)} {100 * s.share:.0f} %" for s in w.work.ctx.job.colour.shades
    )
    name = w.work.ctx.job.finish.name
    return w.say(
        "Computed picture of {name}: {shades}. The poured piece will differ.",
        name=Own(name) if name else w.say("the finish"),
        shades=Own(shades or w.say("clear resin")),
    )
