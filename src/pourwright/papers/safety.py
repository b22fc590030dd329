"""The safety page: what the data sheets must confirm, gear, air, flame, exotherm, disposal."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.papers.frame import frame, resin_text, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show

LAST = (
    "This page is no risk assessment and no training. The safety data sheets of the products in "
    "use, local codes and licensed practice come first.",
)


def safety_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the safety page of `work` [-], `printed` [-] that day."""
    p = frame(
        work, "safety", "Safety", printed,
        "Hang it by the door. Everyone on the job reads it before the first cup is mixed.", LAST,
    )  # fmt: skip
    p["confirm"] = _confirm(work)
    p["groups"] = [
        {"title": title, "say": say} for title, say in (
            ("Skin, eyes and lungs", _gear()),
            ("Fresh air", _air(work)),
            ("Torch and heat", _torch(work)),
            ("Cups that heat themselves", _exotherm(work)),
            ("Dust", _dust(work)),
            ("Lifting and carrying", _weight(work)),
            ("Left-overs and waste", _waste()),
            ("Work for licensed hands", _licensed(work)),
            ("If something happens", _first_aid()),
        ) if say
    ]  # fmt: skip
    p["fields"] = [
        "fire extinguisher stands at", "eye wash and first aid stand at",
        "assembly point and way out", "emergency number, and this address",
        "nearest hospital", "read and understood, signatures",
    ]  # fmt: skip
    return p


def _confirm(work: Working) -> list[dict[str, str]]:
    u = units_of(work)
    t = show.temperature
    out = []
    for c in work.plan.coats:
        facts = work.ctx.catalogue.get(c.resin).facts
        low, high = facts.get("air_degC", [15, 30])
        out += [
            (f"{c.title}: {resin_text(c.resin_name, c.ratio)}", ""),
            (
                "Mix ratio",
                f"{c.ratio} by volume, 100 : {100 * c.b_total_g / c.a_total_g:.0f} by mass",
            ),
            ("Out of the cup within", f"{c.pour_within_min.p05:.0f} min, full cup"),
            ("Film in one pour", f"{c.film_mm.p95:.2f} mm at most here"),
            ("Air while it is soft", f"{t(low, u)} to {t(high, u)} for the class"),
            ("Time to the next coat", _recoat(c)),
        ]
    out.append(("All of it", ""))
    last = work.plan.coats[-1]
    out.append(("Full cure, heat it bears, food contact",
                f"softens from {t(_softest(work), u)}; food contact not assumed"))  # fmt: skip
    out.append(("Gloves and mask by material and type", "not reckoned: take the sheet's"))
    if work.ctx.job.topcoat is not None:
        out.append(("Topcoat on this resin, and its vapour", f"on {last.resin_name}"))
    return [{"what": plain(a, 120), "here": plain(b, 120)} for a, b in out]


def _left_standing(low_g: float, high_g: float) -> str:
    """What a forgotten cup may do, by the range of what is safe [g]; the lower end counts."""
    if low_g < 10.0:
        return (
            "Leave no cup standing: in the worst case a few grams can heat themselves until they "
            f"smoke, in the best {high_g:.0f} g."
        )
    return (
        f"Left standing, a cup above about {low_g:.0f} to {high_g:.0f} g can heat itself until it "
        "smokes; take the lower figure."
    )


def _recoat(c: Any) -> str:
    w = next((x for x in c.windows if x.key == "recoat"), None)
    if w is None or w.opens_h is None:
        return "not reached: sand"
    end = f" to {w.closes_h.p05:.0f} h" if w.closes_h is not None else " h"
    if w.closes_h is not None and round(w.closes_h.p05) <= round(w.opens_h.p95):
        return "no sure window: sand"
    return f"from {w.opens_h.p95:.0f}{end}"


def _softest(work: Working) -> float:
    found = [c.tg_week_degC.p05 for c in work.plan.coats if c.tg_week_degC is not None]
    return min(found) if found else 40.0


def _gear() -> list[str]:
    return [
        "Resin and hardener sensitise skin, for life: thick nitrile gloves changed at every splash "
        "and by time, covered arms, goggles. Never clean skin with solvent: soap, water, a wipe.",
        "The glove and mask that the safety data sheet names beat every rule of thumb.",
        "No food, drink or smoking where resin is open. Wash hands before a break.",
        "Whoever has ever had a rash from resin stays out of the room.",
    ]


def _air(work: Working) -> list[str]:
    out = ["Fresh air all the time that resin is wet, without a draught over the surface."]
    vapour = [h.check for h in work.plan.holds if h.key == "vapour"]
    for c in vapour:
        unit = f" {c.unit}" if c.unit else ""
        out.append(
            plain(f"Reckoned for the topcoat: {c.title}: {c.value:.3g}{unit}, {c.sense} "
                  f"{c.limit:.3g}{unit}. {c.remedies[0] if c.remedies else ''}", 400)
        )  # fmt: skip
    if vapour:
        out.append("Solvent vapour is heavier than air and burns: no flame, spark or smoking; "
                   "respirator with the cartridges the sheet names; nobody sleeps in the room.")  # fmt: skip
    if work.ctx.job.site.kind == "boat":
        out.append("In a boat vapour lies in the bilge: air it from below, and keep flame, heater "
                   "and bilge electrics off until it is aired.")  # fmt: skip
    if work.ctx.job.site.kind in ("boat", "vehicle"):
        out.append("Nobody sleeps on board while the resin is soft or the topcoat dries. A "
                   "flueless heater is no heater for this: it brings damp and carbon monoxide.")  # fmt: skip
    return out


def _torch(work: Working) -> list[str]:
    torch = any(s.kind == "torch" for d in work.plan.days for s in d.steps)
    if not torch:
        return []
    out = [
        "A torch is an open flame: no solvent, gas, aerosol or charging battery about; extinguisher "
        "at hand; one pass, always moving; look back after half an hour.",
        "Keep it away from tape, sheeting, hair, sleeves. A heat gun is the calmer choice.",
    ]
    core = work.ctx.catalogue.get(work.ctx.job.core.material)
    if "foam" in core.id or "xps" in core.id:
        out.append(f"{core.name} softens and burns: no flame near bare foam or its edges.")
    return out


def _exotherm(work: Working) -> list[str]:
    out = []
    for c in work.plan.coats:
        biggest = max((q.total_g for q in c.cups), default=0.0)
        out.append(
            f"{c.title}: the largest cup is {biggest:.0f} g and is poured out within "
            f"{c.pour_within_min.p05:.0f} min (range {show.span(c.pour_within_min)}). "
            + _left_standing(c.safe_cup_g.p05, c.safe_cup_g.p95)
        )
    out.append("A cup that gets warm: outdoors at once, on sand or stone, poured out thin, nobody "
               "leans over it, never water into it, never a lid.")  # fmt: skip
    return out


def _dust(work: Working) -> list[str]:
    return [
        "Board dust and dust of half-cured resin: extract at the tool, wear a fitted P2 or P3 "
        "mask, vacuum, never sweep. Never sand green resin.",
    ]


def _weight(work: Working) -> list[str]:
    w = work.plan.weight
    if w is None:
        return []
    u = units_of(work)
    heavy = max(w.pieces_kg.items(), key=lambda kv: kv[1].p95)
    out = [
        f"Heaviest piece: {plain(heavy[0], 60)}, {show.mass(heavy[1].p50, u)} (up to "
        f"{show.mass(heavy[1].p95, u)}); all pieces {show.mass(w.total_kg.p50, u)} (up to "
        f"{show.mass(w.total_kg.p95, u)}). Carry long pieces on edge, with two."
    ]
    kind = work.ctx.job.site.kind
    if kind in ("boat", "vehicle"):
        what = "trim, heel and freeboard" if kind == "boat" else "axle and total weights"
        out.append(f"On a {kind} weight moves {what}: see the checks, and let a qualified "
                   "person confirm them.")  # fmt: skip
    return out


def _waste() -> list[str]:
    return [
        "Liquid resin, hardener and their wipes are hazardous waste: collect, label, bring to the "
        "collecting point the local code names. Nothing goes down a drain or overboard.",
        "Left-over mix cures spread thin on a tray, outdoors on stone; once hard and cold it goes "
        "where the data sheet and the local code say.",
        "Solvent and oil rags can light themselves: into a closed metal bin with water.",
    ]


def _licensed(work: Working) -> list[str]:
    out = [
        "Gas, mains electricity, hobs, sockets and fixed lights: a licensed installer takes them "
        "off and puts them back.",
    ]
    kind = work.ctx.job.site.kind
    if kind == "boat":
        out.append("A gas hob and its locker on a boat: a fitter licensed for boats, with a "
                   "tightness test before use. Stability after heavy work: a surveyor.")  # fmt: skip
    if kind == "vehicle":
        out.append("Belted seats, load-bearing parts, gas and axle weights of a vehicle: a "
                   "licensed converter and the testing body.")  # fmt: skip
    upright = any(s.lie != "horizontal" for s in work.plan.surfaces)
    if upright:
        out.append("Sealing behind and below panels of a wet room: by the local code, by someone "
                   "licensed for it; resin is no tanking.")  # fmt: skip
    return out


def _first_aid() -> list[str]:
    return [
        "Eyes: rinse with water for fifteen minutes, lids open, then to a doctor with the data "
        "sheet. Skin: wipe off, soap and water, stop work when it itches.",
        "Dizzy or coughing: out into fresh air. Fire: out, door shut, call; resin smoke is "
        "poisonous. Small flames: powder or carbon dioxide, never water on burning solvent.",
    ]
