"""What a client is told of a job: the pieces, the days, the price and what the top bears."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from fastapi import Request

from pourwright.store.jobs import JobState
from pourwright.store.pictures import PictureLine
from pourwright.web import deps
from pourwright.web.pages import marks
from pourwright.web.pages.asked import asked
from pourwright.web.pages.forms import get
from pourwright.web.pages.render import Planned, show_for, words_of
from pourwright.web.pages.show import Show
from pourwright.words import Reader

PRICE_WAIT_S = 2.5
"""How long the page waits for a price that is still being reckoned [s]."""


def planned_as(request: Request, job: JobState) -> Planned | None:
    """The plan of exactly this revision of `job` [-] in the words of `request`; None without it."""
    store = deps.store(request)
    last = store.kept.last_plan(job.id)
    if last is None or last[0] != job.revision:
        return None
    plan = json.loads(last[1])
    phrases = store.kept.last_plan(job.id, "phrases")
    units = "us" if get(plan["job"], "show.units") == "us" else "metric"
    made = Planned("", None, None, None, None, Reader(words_of(request).language, units),
                   json.loads(phrases[1]) if phrases else {},
                   frozenset({plan["name"], *(s["name"] for s in plan["surfaces"])}))  # fmt: skip
    return replace(made, plan=made.say(plan))


def showing(request: Request, job: JobState, picture_at: str) -> dict[str, Any]:
    """What is shown of `job` [-] to a client: its newest picture, shades, pieces, days, care.

    `picture_at` [-] is the address of a picture with ``{name}`` in it.
    """
    store = deps.store(request)
    show = show_for(request, job)
    now = planned_as(request, job)
    plan = now.plan if now else None
    shots = [
        {"src": picture_at.format(name=p.name), "scene": p.scene, "seed": p.seed,
         "wide": p.wide, "high": p.high}
        for p in best_pictures(store.pictures.of_job(job.id), job.revision)
    ]  # fmt: skip
    drawn = store.kept.last_plan(job.id, "surfaces.svg") if now and plan else None
    return {
        "finish_name": get(job.document, "finish.name", ""),
        "about": job.document.get("about", ""),
        "picture": shots[0] if shots else None,
        "more_pictures": shots[1:4],
        "strip_svg": marks.strip_svg(marks.colours_of(plan)) if plan else "",
        "shown_shades": shades(plan, show) if plan else [],
        "plan_facts": facts(plan, show) if plan else [],
        "pieces": pieces(plan, show) if plan else [],
        "surfaces_svg": now.say_svg(drawn[1].decode("utf-8")) if now and drawn else "",
        "days": days(plan, show) if plan else [],
        "bears": bears(plan, show) if plan else [],
    }


def best_pictures(found: Iterable[PictureLine], revision: int) -> list[PictureLine]:
    """One picture a scene among those `found` of a `revision` [-]: the picked one, else the newest.

    Scenes in the order they were first drawn; the board only when nothing else was drawn.
    """
    mine = [p for p in found if p.revision == revision and p.sort in ("view", "sheet")]
    mine = [p for p in mine if p.sort == "view"] or mine
    scenes: dict[str, PictureLine] = {}
    for p in sorted(mine, key=lambda p: p.at):
        scenes.setdefault(p.scene, p)
    out = []
    for scene in scenes:
        these = [p for p in mine if p.scene == scene]
        out.append(max(these, key=lambda p: (str(p.about.get("picked", "")), p.at)))
    return out


def shades(plan: Mapping[str, Any], show: Show) -> list[dict[str, Any]]:
    """Shades of a `plan` with colour and share [-], clear resin too, as `show` writes; 600 wide."""
    known = {s["id"]: s for s in plan["shades"]}
    out, at = [], 0.0
    for part in plan["job"]["colour"]["shades"]:
        share = float(str(part.get("share") or "0").rstrip("% "))
        shade = known.get(part["shade"])
        out.append({
            "name": shade["name"] if shade else show.words("finish.clear"),
            "share": show.number(share),
            "colour": marks.over_primer(shade) if shade else marks.primer_colour(plan),
            "clear": shade is None, "at": round(6 * at, 1), "wide": round(6 * share, 1),
        })  # fmt: skip
        at += share
    return out


def facts(plan: Mapping[str, Any], show: Show) -> list[dict[str, str]]:
    """Area and dates of a `plan` [unit-suffixed keys] for a client, written as `show` says."""
    w = show.words
    out = [{"label": w("client.poured"), "value": show.area(plan["totals"]["poured"])},
           {"label": w("client.handover"), "value": show.day(plan["finish"])}]  # fmt: skip
    if plan["serve"]:
        out.append({"label": w("client.serve"), "value": show.day(plan["serve"])})
    return out


def pieces(plan: Mapping[str, Any], show: Show) -> list[dict[str, str]]:
    """The pieces of a `plan` [unit-suffixed keys] that stay with the client, as `show` writes."""
    return [
        {
            "name": s["name"][:1].upper() + s["name"][1:],
            "count": f"{s['count']} × " if s["count"] > 1 else "",
            "size": f"{show.length(s['length_mm'])} × {show.length(s['width_mm'])}",
        }
        for s in plan["surfaces"] if s["purpose"] != "board"
    ]  # fmt: skip


def days(plan: Mapping[str, Any], show: Show) -> list[dict[str, str]]:
    """The days of a `plan` [ISO dates] that a client wants to know, in order, as `show` writes."""
    w = show.words

    def first(*kinds: str) -> str:
        return next((d["date"] for d in plan["days"] for s in d["steps"] if s["kind"] in kinds), "")

    pours = [d["date"] for d in plan["days"] if any(s["kind"] == "pour" for s in d["steps"])]
    found = [
        (plan["days"][0]["date"] if plan["days"] else "", "start"),
        (first("agree"), "agree"), (pours[0] if pours else "", "pour"),
        (plan["finish"] or "", "handover"), (plan["serve"] or "", "serve"),
    ]  # fmt: skip
    return [
        {"iso": iso[:10], "day": show.day(iso), "what": w(f"client.{key}"),
         "say": w(f"client.{key}_say")}
        for iso, key in found if iso
    ]  # fmt: skip


def bears(plan: Mapping[str, Any], show: Show) -> list[dict[str, str]]:
    """What the finished top of a `plan` bears and what not, in a few words, as `show` writes."""
    w = show.words
    out = [{"title": w("client.heat"), "say": _heat(plan, show)}]
    for key in ("knife", "food", "water", "sun"):
        out.append({"title": w(f"client.{key}"), "say": w(f"client.{key}_say")})
    return out


def _heat(plan: Mapping[str, Any], show: Show) -> str:
    """What heat the top bears: the hottest pan of its own check, else where its film softens."""
    for c in plan["checks"]:
        if c["name"] == "endure.heat.pan" and c["remedies"]:
            return f"{c['remedies'][0]} {show.words('client.heat_trivet')}"
    soft = [c["tg_week_degC"] for c in plan["coats"] if c.get("tg_week_degC")]
    if not soft:
        return show.words("client.heat_trivet")
    low = min(soft, key=lambda s: float(s["p05"]))
    return show.words("client.heat_say", middle=show.temperature(low["p50"]),
                      low=show.temperature(low["p05"]), high=show.temperature(low["p95"]))  # fmt: skip


def _sold_as(text: str, show: Show) -> str:
    """A line of the offer `text` [-] in the reader's words."""
    from pourwright.price.reckon import SALE

    group = next((g for g, words in SALE.items() if words == text), "")
    return show.words(f"client.sale_{group}") if show.words.has(f"client.sale_{group}") else text


async def price(request: Request, job: JobState, show: Show) -> dict[str, Any] | None:
    """What `job` [-] is offered for [currency], as `show` writes; None when it states no prices.

    ``ready`` is false while it is still being reckoned. Costs and mark-up never come here.
    """
    if get(job.document, "price") is None or planned_as(request, job) is None:
        return None
    found = await asked(request, job, "money", {"spent": {}}, wait_s=PRICE_WAIT_S)
    if found.data is None:
        return {"ready": False} if found.task else None
    m = found.data
    words = show.words

    def money(amount: str) -> str:
        return show.money(float(amount), m["currency"])

    tax = float(m["tax"])
    return {
        "ready": True,
        "gross": show.fixed(float(m["gross"]), 2), "currency": m["currency"],
        "tax": words("client.tax", tax=get(job.document, "price.tax", ""), amount=money(m["tax"]),
                     name=get(job.document, "price.tax_name", "")) if tax else "",
        "lines": [{"what": _sold_as(x["what"], show), "net": money(x["net"])} for x in m["sale"]],
        "stages": [{"what": x["what"], "amount": money(x["amount"])} for x in m["stages"]],
        "options": [
            {"name": x["name"], "gross": money(x["gross"]), "finish": show.day(x["finish"]),
             "more": ("+" if float(x["difference"]) > 0 else "") + money(x["difference"])}
            for x in m["options"] if float(x["difference"])
        ],
        "without": list(get(job.document, "price.not_included", []) or []),
    }  # fmt: skip
