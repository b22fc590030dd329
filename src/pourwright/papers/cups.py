"""Cup cards, the mixing table, and batch labels."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.papers.frame import frame, pretty, resin_text
from pourwright.papers.pastes import how_to_dilute, overdrawn, paste_words
from pourwright.papers.plain import plain
from pourwright.papers.qr import code
from pourwright.papers.wording import Wording
from pourwright.plan import show
from pourwright.plan.result import CoatPlan, CupPlan
from pourwright.words import Listed, Own

ROLES = {"field": "", "vein": "veins", "accent": "accent"}


def shade_name(w: Wording, ident: str) -> str:
    """The name of a shade [-] as people say it; `w` is the wording, `ident` its id [-]."""
    if ident == "clear":
        return w.say("Clear")
    return w.text(w.work.ctx.catalogue.get(ident).name)


def cups_data(w: Wording, printed: date) -> dict[str, Any]:
    """Data of the mixing table and the cup cards of `w` [-], `printed` [-] that day."""
    p = frame(
        w, "cups", w.say("Cups"), printed,
        w.say("What goes into each cup. Read the scale or the cup as its line says; stir the colour "
              "into A before B is added."),
        tuple(dict.fromkeys(c for coat in w.plan.coats for c in coat.cautions)),
    )  # fmt: skip
    pairs = list(zip(w.plan.coats, w.work.plan.coats, strict=True))
    p["coats"] = [_table(w, said, planned) for said, planned in pairs]
    p["cards"] = [
        _card(w, said, q, label)
        for said, planned in pairs
        for q, label in zip(planned.cups, (x.label for x in said.cups), strict=True)
    ]
    return p


def _table(w: Wording, c: CoatPlan, planned: CoatPlan) -> dict[str, Any]:
    """The mixing table of a coat as it is said, and as `planned` for what is looked up in it."""
    us = w.units == "us"
    scale = show.ML_PER_US_FL_OZ if us else 1.0
    digits = 2 if us else 0
    return {
        "title": c.title,
        "unit": "fl oz" if us else "mL",
        "summary": w.say(
            "{resin}. Mix {mix} in all; needed {need} ({low} to {high}). Empty every cup within "
            "{within} min of mixing (range {range} min).",
            resin=Own(resin_text(w, c.resin_name, c.ratio)),
            mix=Own(w.volume(c.mix_total_mL)),
            need=Own(w.volume(c.need_mL.p50)),
            low=Own(w.volume(c.need_mL.p05)),
            high=Own(w.volume(c.need_mL.p95)),
            within=Own(w.fixed(c.pour_within_min.p05)),
            range=Own(w.span(c.pour_within_min)),
        ),
        "cups": [
            {
                "batch": q.batch,
                "id": label,
                "shade": shade_name(w, q.shade),
                "a_volume": w.fixed(q.a_mL / scale, digits),
                "b_volume": w.fixed(q.b_mL / scale, digits),
                "a_read": read_text(w, q.read_a, q),
                "b_read": read_text(w, q.read_b, q),
                "paste": paste_words(w, q),
                "off": "" if q.off_ratio_percent is None else w.say(
                    "{low} to {high}", low=Own(w.fixed(q.off_ratio_percent.p05, 1)),
                    high=Own(w.fixed(q.off_ratio_percent.p95, 1) + " %"),
                ),
            }
            for q, label in zip(planned.cups, (x.label for x in c.cups), strict=True)
        ],
        "notes": _notes(w, c, planned),
        "warn": overdrawn(w, planned),
    }  # fmt: skip


def read_text(w: Wording, x: float, q: CupPlan) -> str:
    """What is read on the scale or cup [g or mL] in the words of `w`: `x` as fine as the cup `q` needs."""
    digits = 0 if max(q.read_a, q.read_b) >= 20 else 1
    return f"{w.fixed(x, digits)} {q.read_by}"


def _notes(w: Wording, c: CoatPlan, planned: CoatPlan) -> list[str]:
    out = []
    for b in c.batches:
        if b.kind == "field":
            out.append(
                w.say(
                    "Batch {batch}: {where}, {area}, poured from minute {start} to {end}.",
                    batch=Own(b.name),
                    where=Own(", ".join(b.where)),
                    area=Own(w.area(b.area_m2)),
                    start=Own(w.fixed(b.pour_start_min)),
                    end=Own(w.fixed(b.pour_end_min)),
                )
            )
    thin = how_to_dilute(w, planned)
    if thin:
        made = [w.say("1:{n} is {how}", n=n, how=how) for n, how in thin.items()]
        out.append(w.say(
            "Pre-dilutions, mixed beforehand and stirred well: {made}. The A on card and table is "
            "already less by the A they bring.", made=Listed(made, "; "),
        ))  # fmt: skip
    if c.vein_wait_min is not None:
        out.append(
            w.say(
                "Veins {wait} after spreading ends: {why}.",
                wait=Own(w.with_range(c.vein_wait_min, "min", 2)),
                why=Own(c.vein_wait_why),
            )
        )
    return [plain(pretty(t), 400) for t in out]


def _card(w: Wording, c: CoatPlan, q: CupPlan, label: str) -> dict[str, Any]:
    role = w.text(ROLES.get(q.role, q.role))
    name = shade_name(w, q.shade)
    pour = min(q.pour_by_min - q.mix_at_min, c.pour_within_min.p05)
    order = w.say("A, colour, stir, then B" if q.pastes_g else "A, then B")
    return {
        "id": q.id,
        "mark": c.mark,
        "back": c.side == "back",
        "label": label,
        "shade": plain(f"{name}, {role}" if role else name, 40),
        "coat": c.title,
        "batch": q.batch,
        "a": read_text(w, q.read_a, q),
        "b": read_text(w, q.read_b, q),
        "paste": plain(paste_words(w, q), 140),
        "order": w.say(
            "{order}; stir two minutes, scrape wall and bottom, stir again", order=Own(order)
        ),
        "by": w.say(
            "{minutes} min after mixing; in all {mass} g. A full cup heats itself: never leave it "
            "standing.",
            minutes=Own(w.fixed(pour)),
            mass=Own(w.fixed(q.total_g)),
        ),
        "job": w.say("{job}, revision {revision}", job=w.own(w.plan.name, 46),
                     revision=w.plan.provenance.job_revision),
        "qr": code(w.work, f"cup {c.id} {q.id}"),
    }  # fmt: skip


def labels_data(w: Wording, printed: date) -> dict[str, Any]:
    """Data of the batch labels of `w` [-], `printed` [-] that day."""
    p = frame(
        w, "labels", w.say("Batch labels"), printed,
        w.say("For each batch one for the cup kept as the release check (when it lets go clean and "
              "hard, the next coat may go on) and one for what is left over."),
        (w.say("Label what is left over, and never seal a jar that is still warm: it heats itself "
               "and can burst. Left-overs cure spread thin on a tray, outdoors."),),
    )  # fmt: skip
    out = []
    for c in w.plan.coats:
        day = next((d.date for d in w.plan.days for s in d.steps
                    if s.id.startswith(f"{c.id}-mix")), w.plan.days[0].date)  # fmt: skip
        for b in c.batches:
            cups = [q for q in c.cups if q.batch == b.name]
            shades = ", ".join(dict.fromkeys(shade_name(w, q.shade) for q in cups))
            on = _board_day(w) if b.kind == "board" else day
            out += [
                {
                    "name": b.label,
                    "use": use,
                    "coat": c.title,
                    "what": plain(f"{w.day(on)}; {shades}; {w.volume(b.volume_mL)}", 84),
                    "day": w.say("{job}, rev.\u00a0{revision}", job=w.own(w.plan.name, 44),
                                 revision=w.plan.provenance.job_revision),
                    "qr": code(w.work, f"batch {c.id} {b.name}"),
                }
                for use in (w.say("kept cup"), w.say("left over"))
            ]  # fmt: skip
    p["labels"] = out
    return p


def _board_day(w: Wording) -> str:
    return next((d.date for d in w.plan.days for s in d.steps if s.kind == "board"),
                w.plan.days[0].date)  # fmt: skip
