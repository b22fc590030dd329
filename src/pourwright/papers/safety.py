"""The safety page: what the data sheets must confirm, gear, air, flame, exotherm, disposal."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.papers.frame import frame, resin_text
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.plan.result import CoatPlan
from pourwright.words import Own

LAST = (
    "This page is no risk assessment and no training. The safety data sheets of the products in "
    "use, local codes and licensed practice come first.",
)


def safety_data(w: Wording, printed: date) -> dict[str, Any]:
    """Data of the safety page of `w` [-], `printed` [-] that day."""
    p = frame(
        w, "safety", w.say("Safety"), printed,
        w.say("Hang it by the door. Everyone on the job reads it before the first cup is mixed."),
        tuple(w.listed(LAST)),
    )  # fmt: skip
    p["confirm"] = _confirm(w)
    p["groups"] = [
        {"title": title, "say": say} for title, say in (
            (w.say("Skin, eyes and lungs"), w.listed(GEAR)),
            (w.say("Fresh air"), _air(w)),
            (w.say("Torch and heat"), _torch(w)),
            (w.say("Cups that heat themselves"), _exotherm(w)),
            (w.say("Dust"), w.listed(DUST)),
            (w.say("Lifting and carrying"), _weight(w)),
            (w.say("Left-overs and waste"), w.listed(WASTE)),
            (w.say("Work for licensed hands"), _licensed(w)),
            (w.say("If something happens"), w.listed(FIRST_AID)),
        ) if say
    ]  # fmt: skip
    p["fields"] = w.listed(FIELDS)
    return p


def _confirm(w: Wording) -> list[dict[str, str]]:
    out = []
    for name in dict.fromkeys(c.resin for c in w.plan.coats):
        coats = [c for c in w.plan.coats if c.resin == name]
        c = coats[0]
        low, high = w.work.ctx.catalogue.get(name).facts.get("air_degC", [15, 30])
        titles = ", ".join(c.title for c in coats)
        minutes = [w.fixed(c.pour_within_min.p05) for c in coats]
        out += [
            (f"{titles}: {resin_text(w, c.resin_name, c.ratio)}", ""),
            (
                w.say("Mix ratio"),
                w.say("{ratio} by volume, 100 : {mass} by mass", ratio=Own(c.ratio),
                      mass=Own(w.fixed(100 * c.b_total_g / c.a_total_g))),
            ),
            (
                w.say("Out of the cup within"),
                w.say("{minutes} min, full cup", minutes=Own(_each(minutes))),
            ),
            (
                w.say("Film in one pour"),
                w.say("{film} at most here", film=Own(_film(w, max(x.film_mm.p95 for x in coats)))),
            ),
            (
                w.say("Air while it is soft"),
                w.say("{low} to {high} for the class", low=Own(w.temperature(low)),
                      high=Own(w.temperature(high))),
            ),
*_next(w, coats),
        ]  # fmt: skip
    out.append((w.say("All of it"), ""))
    out.append((w.say("Full cure, heat it bears, food contact"),
                w.say("softens from {degrees}; food contact not assumed",
                      degrees=Own(w.temperature(_softest(w))))))  # fmt: skip
    out.append((w.say("Gloves and mask by material and type"),
                w.say("not reckoned: take the sheet's")))  # fmt: skip
    if w.work.ctx.job.topcoat is not None:
        last = Own(w.plan.faces[-1].resin_name)
        out.append(
            (w.say("Topcoat on this resin, and its vapour"), w.say("on {resin}", resin=last))
        )
    return [{"what": plain(a, 120), "here": plain(b, 120)} for a, b in out]


def _next(w: Wording, coats: list[CoatPlan]) -> list[tuple[str, str]]:
    """What comes after coats of one resin: the next one, or being turned over on the backs."""
    last = [c for c in coats if c.side == "back" and not any(x.key == "recoat" for x in c.windows)]
    out = []
    if again := [_recoat(w, c) for c in coats if c not in last]:
        out.append((w.say("Time to the next coat"), _each(again)))
    for c in last:
        handle = next((x for x in c.windows if x.key == "handle"), None)
        if handle is None or handle.opens_h is None:
            told = w.say("not reached: warm the room")
        else:
            told = w.say("from {opens} h", opens=Own(w.fixed(handle.opens_h.p95)))
        out.append((w.say("Time until it may be handled"), told))
    return out


def _each(told: list[str]) -> str:
    """What holds for each of some coats [-], once where it is the same."""
    return " / ".join(dict.fromkeys(told))


def _film(w: Wording, mm: float) -> str:
    return f"{w.fixed(mm / 0.0254)} mil" if w.units == "us" else f"{w.fixed(mm, 2)} mm"


def _left_standing(w: Wording, low_g: float, high_g: float) -> str:
    """What a forgotten cup may do, by the range of what is safe [g]; the lower end counts."""
    if low_g < 10.0:
        return w.say(
            "Leave no cup standing: in the worst case a few grams can heat themselves until they "
            "smoke, in the best {high} g.",
            high=Own(w.fixed(high_g)),
        )
    return w.say(
        "Left standing, a cup above about {low} to {high} g can heat itself until it smokes; take "
        "the lower figure.",
        low=Own(w.fixed(low_g)),
        high=Own(w.fixed(high_g)),
    )


def _recoat(w: Wording, c: CoatPlan) -> str:
    window = next((x for x in c.windows if x.key == "recoat"), None)
    if window is None or window.opens_h is None:
        return w.say("not reached: sand")
    opens = Own(w.fixed(window.opens_h.p95))
    if window.closes_h is None:
        return w.say("from {opens} h", opens=opens)
    if round(window.closes_h.p05) <= round(window.opens_h.p95):
        return w.say("no sure window: sand")
    closes = Own(w.fixed(window.closes_h.p05))
    return w.say("from {opens} to {closes} h", opens=opens, closes=closes)


def _softest(w: Wording) -> float:
    found = [c.tg_week_degC.p05 for c in w.plan.faces if c.tg_week_degC is not None]
    return min(found) if found else 40.0


GEAR = (
    "Resin and hardener sensitise skin, for life: thick nitrile gloves changed at every splash "
    "and by time, covered arms, goggles. Never clean skin with solvent: soap, water, a wipe.",
    "The glove and mask that the safety data sheet names beat every rule of thumb.",
    "No food, drink or smoking where resin is open. Wash hands before a break.",
    "Whoever has ever had a rash from resin stays out of the room.",
)
DUST = (
    "Board dust and dust of half-cured resin: extract at the tool, wear a fitted P2 or P3 "
    "mask, vacuum, never sweep. Never sand green resin.",
)
WASTE = (
    "Liquid resin, hardener and their wipes are hazardous waste: collect, label, bring to the "
    "collecting point the local code names. Nothing goes down a drain or overboard.",
    "Left-over mix cures spread thin on a tray, outdoors on stone; once hard and cold it goes "
    "where the data sheet and the local code say.",
    "Solvent and oil rags can light themselves: into a closed metal bin with water.",
)
FIRST_AID = (
    "Eyes: rinse with water for fifteen minutes, lids open, then to a doctor with the data "
    "sheet. Skin: wipe off, soap and water, stop work when it itches.",
    "Dizzy or coughing: out into fresh air. Fire: out, door shut, call; resin smoke is "
    "poisonous. Small flames: powder or carbon dioxide, never water on burning solvent.",
)
FIELDS = (
    "fire extinguisher stands at", "eye wash and first aid stand at",
    "assembly point and way out", "emergency number, and this address",
    "nearest hospital", "read and understood, signatures",
)  # fmt: skip


def _air(w: Wording) -> list[str]:
    out = [w.say("Fresh air all the time that resin is wet, without a draught over the surface.")]
    vapour = [h.check for h in w.plan.holds if h.key == "vapour"]
    for c in vapour:
        out.append(plain(w.say(
            "Reckoned for the topcoat: {title}: {value}, {sense} {limit}. {remedy}",
            title=Own(c.title), value=Own(_with_unit(w, c.value, c.unit)), sense=c.sense,
            limit=Own(_with_unit(w, c.limit, c.unit)),
            remedy=Own(c.remedies[0] if c.remedies else ""),
        ), 400))  # fmt: skip
    if vapour:
        out.append(w.say(
            "Solvent vapour is heavier than air and burns: no flame, spark or smoking; respirator "
            "with the cartridges the sheet names; nobody sleeps in the room."))  # fmt: skip
    kind = w.work.ctx.job.site.kind
    if kind == "boat":
        out.append(w.say("In a boat vapour lies in the bilge: air it from below, and keep flame, "
                         "heater and bilge electrics off until it is aired."))  # fmt: skip
    if kind in ("boat", "vehicle"):
        out.append(w.say(
            "Nobody sleeps on board while the resin is soft or the topcoat dries. A flueless heater "
            "is no heater for this: it brings damp and carbon monoxide."))  # fmt: skip
    return out


def _with_unit(w: Wording, value: float, unit: str) -> str:
    return f"{w.number(f'{value:.3g}')} {w.text(unit)}".strip()


def _torch(w: Wording) -> list[str]:
    torch = any(s.kind == "torch" for d in w.plan.days for s in d.steps)
    if not torch:
        return []
    out = [
        w.say("A torch is an open flame: no solvent, gas, aerosol or charging battery about; "
              "extinguisher at hand; one pass, always moving; look back after half an hour."),
        w.say("Keep it away from tape, sheeting, hair, sleeves. A heat gun is the calmer choice."),
    ]  # fmt: skip
    core = w.work.ctx.catalogue.get(w.work.ctx.job.core.material)
    if "foam" in core.id or "xps" in core.id:
        out.append(w.say("{core} softens and burns: no flame near bare foam or its edges.",
                         core=core.name))  # fmt: skip
    return out


def _exotherm(w: Wording) -> list[str]:
    out = []
    for c in w.plan.coats:
        biggest = max((q.total_g for q in c.cups), default=0.0)
        poured = w.say(
            "{coat}: the largest cup is {mass} g and is poured out within {within} min (range "
            "{range}).",
            coat=Own(c.title),
            mass=Own(w.fixed(biggest)),
            within=Own(w.fixed(c.pour_within_min.p05)),
            range=Own(w.span(c.pour_within_min)),
        )
        out.append(f"{poured} {_left_standing(w, c.safe_cup_g.p05, c.safe_cup_g.p95)}")
    out.append(w.say("A cup that gets warm: outdoors at once, on sand or stone, poured out thin, "
                     "nobody leans over it, never water into it, never a lid."))  # fmt: skip
    return out


def _weight(w: Wording) -> list[str]:
    weight = w.plan.weight
    if weight is None:
        return []
    heavy = max(weight.pieces_kg.items(), key=lambda kv: kv[1].p95)
    out = [
        w.say(
            "Heaviest piece: {piece}, {mass} (up to {most}); all pieces {total} (up to {top}). "
            "Carry long pieces on edge, with two.",
            piece=w.own(heavy[0], 60),
            mass=Own(w.mass(heavy[1].p50)),
            most=Own(w.mass(heavy[1].p95)),
            total=Own(w.mass(weight.total_kg.p50)),
            top=Own(w.mass(weight.total_kg.p95)),
        )
    ]
    kind = w.work.ctx.job.site.kind
    if kind in ("boat", "vehicle"):
        out.append(w.say(
            "On a boat weight moves trim, heel and freeboard: see the checks, and let a qualified "
            "person confirm them." if kind == "boat" else
            "On a vehicle weight moves axle and total weights: see the checks, and let a qualified "
            "person confirm them."))  # fmt: skip
    return out


def _licensed(w: Wording) -> list[str]:
    out = [
        w.say("Gas, mains electricity, hobs, sockets and fixed lights: a licensed installer takes "
              "them off and puts them back."),
    ]  # fmt: skip
    kind = w.work.ctx.job.site.kind
    if kind == "boat":
        out.append(w.say("A gas hob and its locker on a boat: a fitter licensed for boats, with a "
                         "tightness test before use. Stability after heavy work: a surveyor."))  # fmt: skip
    if kind == "vehicle":
        out.append(w.say("Belted seats, load-bearing parts, gas and axle weights of a vehicle: a "
                         "licensed converter and the testing body."))  # fmt: skip
    upright = any(s.lie != "horizontal" for s in w.plan.surfaces)
    if upright:
        out.append(w.say("Sealing behind and below panels of a wet room: by the local code, by "
                         "someone licensed for it; resin is no tanking."))  # fmt: skip
    return out
