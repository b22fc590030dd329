"""The job record as a form: planned values, and room for what really happened."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np

from pourwright.papers.cups import read_text, shade_name
from pourwright.papers.frame import frame, photo_figure
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.plan import show
from pourwright.plan.result import CoatPlan
from pourwright.record.entries import FAULTS
from pourwright.words import Own
from pourwright.words.said import first_up

MOST_PHOTOS = 6
PHOTO_PX = 1100
"""Longest side of a photograph [px]: 300 dots an inch across half a page."""
FIELDS = ("crew", "scale, last checked", "thermometer and hygrometer")


def record_data(
    w: Wording, printed: date, photos: Sequence[tuple[str, bytes]] = ()
) -> dict[str, Any]:
    """Data of the job record of `w` [-], `printed` [-] that day.

    `photos` [-] are the place before the work: what each shows, and the picture itself.
    """
    plan, work = w.plan, w.work
    p = frame(
        w, "record", w.say("Job record"), printed,
        w.say("Fill it in as it happens, in ink. What is written here teaches the next plan."),
        (w.say("A fault near food, heat, gas or electricity is reported to the client at once."),),
    )  # fmt: skip
    p["fields"] = w.listed(FIELDS)
    lots = [w.text(work.ctx.catalogue.get(q.resin).name) for q in plan.purchases]
    lots += [f"{x.name}" for x in plan.paints]
    p["lots"] = [plain(first_up(x), 70) for x in lots]
    p["air"] = [
        {
            "day": w.day(d.date),
            "plan": w.say("{low} to {high}, {humidity} %", low=Own(w.temperature(d.air_low_degC)),
                          high=Own(w.temperature(d.air_high_degC)),
                          humidity=Own(w.fixed(d.humidity_percent))),
        }
        for d in plan.days
    ]  # fmt: skip
    p["cups"] = [
        {
            "id": q.label,
            "shade": shade_name(w, q.shade),
            "a": read_text(w, q.read_a, q),
            "b": read_text(w, q.read_b, q),
        }
        for c in plan.coats
        for q in c.cups
    ]
    p["steps"] = [
        {"time": f"{w.day(s.starts)} {show.clock(s.starts)}", "title": plain(first_up(s.title), 70)}
        for d in plan.days
        for s in d.steps
    ]
    p["checks"] = [{"what": plain(a, 80), "plan": plain(b, 80)} for a, b in _checks(w)]
    p["faults"] = w.listed(("none", *FAULTS))
    p["looks"] = [look for c in plan.coats for look in _looks(w, c)]
    p["weighed"] = [c.title for c in plan.coats]
    p["photos"] = [_photo(w, k, *x) for k, x in enumerate(photos[:MOST_PHOTOS], 1)]
    return p


def _photo(w: Wording, number: int, shows: str, picture: bytes) -> dict[str, Any]:
    caption = f"{number}. {plain(shows, 120)}".rstrip()
    if shows:
        alt = w.say("The place as found: {name}", name=w.own(shows, 120))
    else:
        alt = w.say("The place as found, photograph {n}", n=number)
    return {"caption": caption, "figure": photo_figure(picture, alt, PHOTO_PX)}


def _checks(w: Wording) -> list[tuple[str, str]]:
    coats, site = w.plan.coats, w.work.ctx.job.site
    out = [
        (w.say("{coat}: cup release", coat=Own(c.title)), w.say("clean and hard")) for c in coats
    ]
    out += [
        (w.say("{coat}: hardness", coat=Own(c.title)), w.say("no print of a fingernail"))
        for c in coats
        if c.tg_week_degC is not None
    ]
    if site.wood_moisture is not None:
        measured = w.say("{moisture} % as measured",
                         moisture=Own(w.number(f"{site.wood_moisture:g}")))  # fmt: skip
        out.append((w.say("Board moisture"), measured))
    if any(c.vein_wait_min for c in coats):
        wide = next(c.spec.vein_width for c in w.work.timed.coats if c.spec.vein_width)
        out.append((w.say("Vein width, five places"), w.length(wide * 1e3)))
    out.append((w.say("Bow along the longest piece"), w.say("see the checks")))
    return out


def _looks(w: Wording, c: CoatPlan) -> list[dict[str, str]]:
    """What is looked at while a coat cures: stage, and the clock times it is expected between."""
    end = w.work.timed.spread_end(c.id)
    history = w.work.timed.history(c.id)
    film, moment = history.film, w.work.ctx.hours.moment

    def between(times: Any) -> str:
        low, high = np.quantile(times, [0.05, 0.95], method="inverted_cdf")
        if not np.isfinite(high):
            if not np.isfinite(low):
                return ""
            return w.say("from {clock} on", clock=Own(show.clock(moment(low).isoformat())))
        a, b = moment(low).isoformat(), moment(high).isoformat()
        later = "" if a[:10] == b[:10] else f"{w.day(b)} "
        return w.say("{low} to {high}", low=Own(f"{w.day(a)} {show.clock(a)}"),
                     high=Own(f"{later}{show.clock(b)}"))  # fmt: skip

    within = c.pour_within_min
    boards = {q for b in c.batches if b.kind == "board" for q in b.cups}
    cup = next((q.label for q in c.cups if q.role == "field" and q.id not in boards), "")
    coat = Own(c.title)
    return [
        {"what": w.say("{cup}: weighed rest in the cup gelled", cup=Own(cup)),
         "plan": w.say("{minutes} min after mixing or later", minutes=Own(w.fixed(within.p50)))},
        {"what": w.say("{coat}: film gelled, no thread pulls", coat=coat),
         "plan": between(film.gel_time)},
        {"what": w.say("{coat}: tack-free to a dry glove", coat=coat),
         "plan": between(film.when_conversion(film.resin.tack))},
        {"what": w.say("{coat}: hardness, Shore D", coat=coat),
         "plan": w.say("the day after {day}", day=Own(w.day(moment(end).isoformat())))},
    ]  # fmt: skip
