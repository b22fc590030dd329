"""Handover and care: heat, cutting and cleaning limits reckoned for this job, and its dates."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from pourwright.calc import Spread
from pourwright.endure.heat import PANS, effusivity, hottest_pan
from pourwright.papers.cups import shade_name
from pourwright.papers.frame import frame, long_day, pretty, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show
from pourwright.plan.result import CoatPlan

ROOM_K = 295.15
CURED = {"coating": "cured-coating", "art": "cured-art", "casting": "cured-casting"}
THINGS = (
    ("stainless pan", "stainless"),
    ("cast-iron pan", "cast iron"),
    ("glass dish", "glass"),
    ("stoneware mug or plate", "ceramic"),
)
STEPS = (
    ("handle", "careful hands: moving, trimming, no weight"),
    ("light_use", "light use: cups on coasters, wiping with a damp cloth; no heat, no soaking"),
)


def care_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the handover and care sheet of `work` [-], `printed` [-] that day."""
    plan = work.plan
    u = units_of(work)
    p = frame(
        work, "care", "Handover and care", printed,
        "",
        ("Hot pans mark it, knives cut it. Food may touch it only where the supplier of this "
         "resin states so in writing for this mix and cure. Sanding or cutting it later makes "
         "harmful dust: extraction, fitted mask.",),
    )  # fmt: skip
    last = plan.coats[-1]
    p["serve"] = long_day(plan.serve) if plan.serve else "not reached"
    p["serve_note"] = (
        "the careful (95 %) day, for the air as planned; a colder room makes it later"
        if plan.serve
        else "not within two weeks in this air: warm the room and ask again"
    )
    p["until"] = _until(work, last)
    soft = _softest(plan.coats)
    limits = _pans(work, soft)
    p["heat"] = plain(
        f"A week after the pour the film begins to soften at about {show.temperature(soft[1], u)} "
        f"({show.temperature(soft[0], u)} to {show.temperature(soft[2], u)}); it rises a little "
        "as the resin goes on curing, and a warm post-cure raises it more. Under something hot it "
        "prints, dulls or sticks. " + _trivet(work),
        700,
    )
    p["pans"] = [
        {
            "what": name,
            "limit": f"{show.temperature(hot, u)} ({show.temperature(low, u)} to "
            f"{show.temperature(high, u)})",
        }
        for name, (low, hot, high) in limits
    ]
    p["groups"] = [
        {"title": "Cutting", "say": [
            "Never: it is no cutting board. A knife leaves a groove that holds dirt. Use a board "
            "with feet that do not scratch.",
        ]},
        {"title": "Cleaning", "say": _cleaning(work)},
        {"title": "Water, sun and load", "say": _wear(work)},
        {"title": "If it is damaged", "say": [
            "Fine scratches in gloss can be polished; deeper ones are sanded matt all over and "
            "flooded again. Keep this sheet: it names the resin and the shades.",
            "White marks after wet or heat often go by themselves in a few days in a dry room.",
        ]},
    ]  # fmt: skip
    p["made"] = _made(work)
    p["fields"] = ["client, name and signature", "maker, name and signature", "date",
                   "remarks at handover"]  # fmt: skip
    return p


def _until(work: Working, last: CoatPlan) -> list[dict[str, str]]:
    end = work.timed.spread_end(last.id)
    out = []
    for key, what in STEPS:
        w = next((x for x in last.windows if x.key == key), None)
        if w is None or w.opens_h is None:
            out.append({"from": "not reached in this air", "what": what})
            continue
        when = work.ctx.hours.moment(end + w.opens_h.p95 * 3600.0)
        hours = f"{show.span(w.opens_h)} h after the pour"
        out.append({"from": f"{show.day(when.isoformat())}, {when:%H:%M} ({hours})", "what": what})
    full = show.day(work.plan.serve) if work.plan.serve else "not reached in this air"
    out.append({"from": full, "what": "full use, within the limits below"})
    return out


def _softest(coats: list[CoatPlan]) -> tuple[float, float, float]:
    found = [c.tg_week_degC for c in coats if c.tg_week_degC is not None]
    if not found:
        return 35.0, 45.0, 60.0
    s = min(found, key=lambda t: t.p05)
    return s.p05, s.p50, s.p95


def _pans(
    work: Working, soft: tuple[float, float, float]
) -> list[tuple[str, tuple[float, float, float]]]:
    """Hottest thing that may be set down bare [degC], from the softening point [degC]."""
    top = work.ctx.catalogue.get(work.plan.coats[-1].resin)
    film = work.ctx.catalogue.get(CURED.get(str(top.facts.get("set_class")), "cured-coating"))
    b_film = float(effusivity(film["k_W_mK"], film["density_kg_m3"], film["cp_J_kgK"]))
    limit = np.maximum(np.array(soft) + 273.15, ROOM_K)
    out = []
    for name, pan in THINGS:
        hot = hottest_pan(limit, float(effusivity(*PANS[pan])), b_film, ROOM_K) - 273.15
        out.append((name, (float(hot[0]), float(hot[1]), float(hot[2]))))
    return out


def _trivet(work: Working) -> str:
    for c in work.plan.checks:
        if c.name == "endure.heat.pan":
            found = [r for r in c.remedies if "trivet" in r]
            if found:
                return f"Always a trivet under pots and pans. Reckoned: {pretty(found[0])}"
    return "Always a thick trivet under pots and pans."


def _cleaning(work: Working) -> list[str]:
    out = [
        "Soft cloth, lukewarm water, a drop of washing-up liquid; dry it afterwards.",
        "No scourers, no powder, no solvent, no bleach, no oven cleaner; wipe up wine, oil, "
        "vinegar and colourings soon.",
    ]
    if work.ctx.job.topcoat is not None:
        out.append("The matte topcoat shines where it is rubbed: wipe, do not polish.")
    return out


def _wear(work: Working) -> list[str]:
    out = ["Sunlight yellows resin slowly, clear and white first; a blind helps more than a wax."]
    for c in work.plan.checks:
        if c.name == "endure.heat.film":
            u = units_of(work)
            band = c.spread or Spread(p05=c.value, p50=c.value, p95=c.value)
            out.append(
                f"Shut up in the sun its surface gets to about {show.temperature(c.value, u)} "
                f"({show.temperature(band.p05, u)} to {show.temperature(band.p95, u)}), "
                + ("over" if c.passed != "yes" else "under")
                + " what it bears: "
                + ("shade it, and leave nothing standing on it then." if c.passed != "yes"
                   else "still, leave nothing heavy standing on it then.")
            )  # fmt: skip
            break
    out.append("No standing water along joints and cut-outs; sealant at sink and wall is looked "
               "at every year.")  # fmt: skip
    out.append("Nobody stands, kneels or sits on it; heavy machines on feet with wide pads.")
    return out


def _made(work: Working) -> list[tuple[str, str]]:
    job, cat = work.ctx.job, work.ctx.catalogue
    out = [("Core", cat.get(job.core.material).name)]
    for c in work.plan.coats:
        shades = ", ".join(dict.fromkeys(shade_name(work, q.shade) for q in c.cups))
        out.append((c.title, f"{c.resin_name}, {show.with_range(c.film_mm, 'mm')}; {shades}"))
    if job.topcoat is not None:
        out.append(("Topcoat", cat.get(job.topcoat.material).name))
    out.append(("Products and lots", "see the job record"))
    return [(a, plain(b, 240)) for a, b in out]
