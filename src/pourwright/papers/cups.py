"""Cup cards, the mixing table, and batch labels."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.papers.frame import frame, pretty, resin_text, units_of
from pourwright.papers.pastes import how_to_dilute, overdrawn, paste_words
from pourwright.papers.plain import plain
from pourwright.papers.qr import code
from pourwright.plan import Working, show
from pourwright.plan.result import CoatPlan, CupPlan

ROLES = {"field": "", "vein": "veins", "accent": "accent"}


def shade_name(work: Working, ident: str) -> str:
    """The name of a shade [-] as people say it; `work` is the plan, `ident` its id [-]."""
    if ident == "clear":
        return "Clear"
    return work.ctx.catalogue.get(ident).name


def cups_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the mixing table and the cup cards of `work` [-], `printed` [-] that day."""
    p = frame(
        work, "cups", "Cups", printed,
        "What goes into each cup. Read the scale or the cup as its line says; stir the colour "
        "into A before B is added.",
        tuple(dict.fromkeys(c for coat in work.plan.coats for c in coat.cautions)),
    )  # fmt: skip
    p["coats"] = [_table(work, c) for c in work.plan.coats]
    p["cards"] = [_card(work, c, q) for c in work.plan.coats for q in c.cups]
    return p


def _table(work: Working, c: CoatPlan) -> dict[str, Any]:
    units = units_of(work)
    scale = show.ML_PER_US_FL_OZ if units == "us" else 1.0
    digits = 2 if units == "us" else 0
    return {
        "title": c.title,
        "unit": "fl oz" if units == "us" else "mL",
        "summary": f"{resin_text(c.resin_name, c.ratio)}. Mix {show.volume(c.mix_total_mL, units)} "
        f"in all; needed {show.volume(c.need_mL.p50, units)} "
        f"({show.volume(c.need_mL.p05, units)} to {show.volume(c.need_mL.p95, units)}). Empty "
        f"every cup within {c.pour_within_min.p05:.0f} min of mixing (range "
        f"{show.span(c.pour_within_min)} min).",
        "cups": [
            {
                "batch": q.batch,
                "id": q.id,
                "shade": shade_name(work, q.shade),
                "a_volume": f"{q.a_mL / scale:.{digits}f}",
                "b_volume": f"{q.b_mL / scale:.{digits}f}",
                "a_read": _read(q.read_a, q),
                "b_read": _read(q.read_b, q),
                "paste": paste_words(work, q),
                "off": "" if q.off_ratio_percent is None
                else f"{q.off_ratio_percent.p05:.1f} to {q.off_ratio_percent.p95:.1f} %",
            }
            for q in c.cups
        ],
        "notes": _notes(c, units),
        "warn": overdrawn(c),
    }  # fmt: skip


def _read(x: float, q: CupPlan) -> str:
    """What is read on the scale or cup [g or mL], as fine as small cups need."""
    digits = 0 if max(q.read_a, q.read_b) >= 20 else 1
    return f"{x:.{digits}f} {q.read_by}"


def _notes(c: CoatPlan, units: str) -> list[str]:
    out = []
    for b in c.batches:
        if b.kind == "field":
            area = f"{b.area_m2 * 10.7639:.1f} ft2" if units == "us" else f"{b.area_m2:.2f} m2"
            out.append(
                f"Batch {b.name}: {', '.join(b.where)}, {area}, poured from minute "
                f"{b.pour_start_min:.0f} to {b.pour_end_min:.0f}."
            )
    thin = how_to_dilute(c)
    if thin:
        made = "; ".join(f"1:{n} is {how}" for n, how in thin.items())
        out.append(f"Pre-dilutions, mixed beforehand and stirred well: {made}. The A on card and "
                   "table is already less by the A they bring.")  # fmt: skip
    if c.vein_wait_min is not None:
        out.append(
            f"Veins {show.with_range(c.vein_wait_min, 'min', 2)} after spreading ends: "
            f"{c.vein_wait_why}."
        )
    return [plain(pretty(t), 400) for t in out]


def _card(work: Working, c: CoatPlan, q: CupPlan) -> dict[str, Any]:
    role = ROLES.get(q.role, q.role)
    name = shade_name(work, q.shade)
    return {
        "id": q.id,
        "shade": plain(f"{name}, {role}" if role else name, 40),
        "coat": c.title,
        "batch": q.batch,
        "a": _read(q.read_a, q),
        "b": _read(q.read_b, q),
        "paste": plain(paste_words(work, q), 140),
        "order": ("A, colour, stir, then B" if q.pastes_g else "A, then B")
        + "; stir two minutes, scrape wall and bottom, stir again",
        "by": f"{min(q.pour_by_min - q.mix_at_min, c.pour_within_min.p05):.0f} min after mixing; "
        f"in all {q.total_g:.0f} g. A full cup heats itself: never leave it standing.",
        "job": f"{plain(work.plan.name, 46)}, revision {work.plan.provenance.job_revision}",
        "qr": code(work, f"cup {c.id} {q.id}"),
    }


def labels_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the batch labels of `work` [-], `printed` [-] that day."""
    p = frame(
        work, "labels", "Batch labels", printed,
        "For each batch one for the cup kept as the release check (when it lets go clean and hard, "
        "the next coat may go on) and one for what is left over.",
        ("Label what is left over, and never seal a jar that is still warm: it heats itself and "
         "can burst. Left-overs cure spread thin on a tray, outdoors.",),
    )  # fmt: skip
    out = []
    for c in work.plan.coats:
        day = next((d.date for d in work.plan.days for s in d.steps
                    if s.id.startswith(f"{c.id}-mix")), work.plan.days[0].date)  # fmt: skip
        for b in c.batches:
            cups = [q for q in c.cups if q.batch == b.name]
            shades = ", ".join(dict.fromkeys(shade_name(work, q.shade) for q in cups))
            on = _board_day(work) if b.kind == "board" else day
            out += [
                {
                    "name": f"Batch {b.name}",
                    "use": use,
                    "coat": f"{c.title}, {show.day(on)}",
                    "what": plain(f"{shades}; {show.volume(b.volume_mL, units_of(work))}", 70),
                    "day": f"{plain(work.plan.name, 34)}, rev. {work.plan.provenance.job_revision}",
                    "qr": code(work, f"batch {c.id} {b.name}"),
                }
                for use in ("kept cup", "left over")
            ]
    p["labels"] = out
    return p


def _board_day(work: Working) -> str:
    return next((d.date for d in work.plan.days for s in d.steps if s.kind == "board"),
                work.plan.days[0].date)  # fmt: skip
