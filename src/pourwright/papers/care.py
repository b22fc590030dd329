"""Handover and care: heat, cutting and cleaning limits reckoned for this job, and its dates."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from pourwright.calc import Spread
from pourwright.endure.heat import PANS, effusivity, hottest_pan
from pourwright.papers.cups import shade_name
from pourwright.papers.frame import frame, pretty
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.plan.result import CoatPlan
from pourwright.words import Own

ROOM_K = 295.15
CURED = {"coating": "cured-coating", "art": "cured-art", "casting": "cured-casting"}
THINGS = (
    ("stainless pan", "stainless"),
    ("cast-iron pan", "cast iron"),
    ("glass dish", "glass"),
    ("stoneware mug or plate", "ceramic"),
)
WALL_THINGS = (
    ("steel pipe or rail that touches it", "stainless"),
    ("glass that touches it", "glass"),
)
"""What may touch an upright panel [-]."""
STEPS = (
    ("handle", "careful hands: moving, trimming, no weight"),
    ("light_use", "light use: cups on coasters, wiping with a damp cloth; no heat, no soaking"),
)
WALL_STEPS = (
    ("handle", "careful hands: moving, trimming, no weight"),
    ("light_use", "light use: hung in place, wiped with a damp cloth; no shower, no steam"),
)
FIELDS = ("client, name and signature", "maker, name and signature", "date", "remarks at handover")


def care_data(w: Wording, printed: date) -> dict[str, Any]:
    """Data of the handover and care sheet of `w` [-], `printed` [-] that day."""
    plan = w.plan
    wall = upright(w)
    p = frame(
        w, "care", w.say("Handover and care"), printed, "",
        (w.say(
            "It is no waterproofing: joints, sealant and what lies behind keep the water out, by the "
            "local code. Hot water softens it. Drilling or sanding it later makes harmful dust: "
            "extraction, fitted mask."
            if wall
            else "Hot pans mark it, knives cut it. Food may touch it only where the supplier of this "
            "resin states so in writing for this mix and cure. Sanding or cutting it later makes "
            "harmful dust: extraction, fitted mask."),),
    )  # fmt: skip
    p["serve"] = w.long_day(plan.serve) if plan.serve else w.say("not reached")
    p["serve_note"] = w.say(
        "the careful (95 %) day, for the air as planned; a colder room makes it later"
        if plan.serve
        else "not within two weeks in this air: warm the room and ask again"
    )
    p["until"] = _until(w, w.plan.faces[-1], WALL_STEPS if wall else STEPS)
    soft = _softest(w.plan.faces)
    limits = _pans(w, soft, WALL_THINGS if wall else THINGS)
    if wall:
        limits.insert(0, ("water running over it", soft))
    p["pans_note"] = w.say(
        "Hottest it may be, so that the face stays under its softening point: water for as long as "
        "it runs, a thing at first touch."
        if wall
        else "Hottest thing that may be set down bare, so that the face stays under its softening "
        "point at first touch:"
    )
    remedy = w.say("Keep the hot jet off it and rinse cooler; a resin or a post-cure that its data "
                   "sheet gives for hot water is the remedy.") if wall else _trivet(w)  # fmt: skip
    p["heat"] = plain(
        w.say(
            "A week after the pour the film begins to soften at about {middle} ({low} to {high}); "
            "it rises a little as the resin goes on curing, and a warm post-cure raises it more. "
            "Under something hot it prints, dulls or sticks. {remedy}",
            middle=Own(w.temperature(soft[1])),
            low=Own(w.temperature(soft[0])),
            high=Own(w.temperature(soft[2])),
            remedy=Own(remedy),
        ),
        700,
    )
    p["pans"] = [
        {
            "what": w.text(name),
            "limit": w.say("{middle} ({low} to {high})", middle=Own(w.temperature(hot)),
                           low=Own(w.temperature(low)), high=Own(w.temperature(high))),
        }
        for name, (low, hot, high) in limits
    ]  # fmt: skip
    p["groups"] = [
        {"title": w.say("Drilling and cutting"), "say": [
            w.say("Holes for fittings with a sharp bit, slowly, the dust extracted; seal every hole "
                  "and cut edge before the fitting goes on (common practice)."),
        ]} if wall else {"title": w.say("Cutting"), "say": [
            w.say("Never: it is no cutting board. A knife leaves a groove that holds dirt. Use a "
                  "board with feet that do not scratch."),
        ]},
        {"title": w.say("Cleaning"), "say": _cleaning(w, wall)},
        {"title": w.say("Water, sun and load"), "say": _wear(w, wall)},
        {"title": w.say("If it is damaged"), "say": [
            w.say("Fine scratches in gloss can be polished; deeper ones are sanded matt all over "
                  "and flooded again. Keep this sheet: it names the resin and the shades."),
            w.say("White marks after wet or heat often go by themselves in a few days in a dry "
                  "room."),
        ]},
    ]  # fmt: skip
    p["made"] = _made(w)
    p["fields"] = w.listed(FIELDS)
    return p


def upright(w: Wording) -> bool:
    """Whether every piece of the job `w` [-] stands upright, so that nothing is set down on it."""
    pieces = [s for s in w.work.ctx.survey.surfaces if s.purpose != "board"]
    return bool(pieces) and all(s.lie == "upright" for s in pieces)


def _until(w: Wording, last: CoatPlan, steps: tuple[tuple[str, str], ...]) -> list[dict[str, str]]:
    end = w.work.timed.spread_end(last.id)
    out = []
    never = w.say("not reached in this air")
    for key, what in steps:
        window = next((x for x in last.windows if x.key == key), None)
        if window is None or window.opens_h is None:
            out.append({"from": never, "what": w.text(what)})
            continue
        when = w.work.ctx.hours.moment(end + window.opens_h.p95 * 3600.0)
        out.append(
            {
                "from": w.say(
                    "{day}, {clock} ({hours} h after the pour)",
                    day=Own(w.day(when.isoformat())),
                    clock=Own(f"{when:%H:%M}"),
                    hours=Own(w.span(window.opens_h)),
                ),
                "what": w.text(what),
            }
        )
    full = w.day(w.plan.serve) if w.plan.serve else never
    out.append({"from": full, "what": w.say("full use, within the limits below")})
    return out


def _softest(coats: list[CoatPlan]) -> tuple[float, float, float]:
    found = [c.tg_week_degC for c in coats if c.tg_week_degC is not None]
    if not found:
        return 35.0, 45.0, 60.0
    s = min(found, key=lambda t: t.p05)
    return s.p05, s.p50, s.p95


def _pans(
    w: Wording, soft: tuple[float, float, float], things: tuple[tuple[str, str], ...]
) -> list[tuple[str, tuple[float, float, float]]]:
    """Hottest thing that may be set down bare [degC], from the softening point [degC]."""
    catalogue = w.work.ctx.catalogue
    top = catalogue.get(w.plan.faces[-1].resin)
    film = catalogue.get(CURED.get(str(top.facts.get("set_class")), "cured-coating"))
    b_film = float(effusivity(film["k_W_mK"], film["density_kg_m3"], film["cp_J_kgK"]))
    limit = np.maximum(np.array(soft) + 273.15, ROOM_K)
    out = []
    for name, pan in things:
        hot = hottest_pan(limit, float(effusivity(*PANS[pan])), b_film, ROOM_K) - 273.15
        out.append((name, (float(hot[0]), float(hot[1]), float(hot[2]))))
    return out


def _trivet(w: Wording) -> str:
    for planned, said in zip(w.work.plan.checks, w.plan.checks, strict=True):
        if planned.name == "endure.heat.pan":
            pairs = zip(planned.remedies, said.remedies, strict=True)
            found = [r for english, r in pairs if "trivet" in english]
            if found:
                return w.say("Always a trivet under pots and pans. Reckoned: {remedy}",
                             remedy=Own(pretty(found[0])))  # fmt: skip
    return w.say("Always a thick trivet under pots and pans.")


def _cleaning(w: Wording, wall: bool) -> list[str]:
    out = [
        w.say("Soft cloth, lukewarm water, a drop of washing-up liquid; dry it afterwards."),
        w.say(
            "No scourers, no powder, no solvent, no bleach, no limescale remover; wipe dry and air "
            "the room after every shower."
            if wall
            else "No scourers, no powder, no solvent, no bleach, no oven cleaner; wipe up wine, oil, "
            "vinegar and colourings soon."
        ),
    ]
    if w.work.ctx.job.topcoat is not None:
        out.append(w.say("The matte topcoat shines where it is rubbed: wipe, do not polish."))
    return out


def _wear(w: Wording, wall: bool) -> list[str]:
    out = [
        w.say(
            "Sunlight yellows resin slowly, clear and white first; a blind helps more than a wax."
        )
    ]
    for c in w.plan.checks:
        if c.name == "endure.heat.film":
            band = c.spread or Spread(p05=c.value, p50=c.value, p95=c.value)
            out.append(
                w.say(
                    "Shut up in the sun its surface gets to about {middle} ({low} to {high}), under "
                    "what it bears: still, leave nothing heavy standing on it then."
                    if c.passed == "yes"
                    else "Shut up in the sun its surface gets to about {middle} ({low} to {high}), "
                    "over what it bears: shade it, and leave nothing standing on it then.",
                    middle=Own(w.temperature(c.value)),
                    low=Own(w.temperature(band.p05)),
                    high=Own(w.temperature(band.p95)),
                )
            )
            break
    out.append(w.say("No standing water along joints and cut-outs; sealant at sink and wall is "
                     "looked at every year."))  # fmt: skip
    out.append(w.say(
        "Nobody leans hard on it, and nothing hangs from it without a fixing into what is behind."
        if wall
        else "Nobody stands, kneels or sits on it; heavy machines on feet with wide pads."
    ))  # fmt: skip
    return out


def _made(w: Wording) -> list[tuple[str, str]]:
    job, cat = w.work.ctx.job, w.work.ctx.catalogue
    out = [(w.say("Core"), w.text(cat.get(job.core.material).name))]
    for c in w.plan.coats:
        shades = ", ".join(dict.fromkeys(shade_name(w, q.shade) for q in c.cups))
        out.append((c.title, f"{c.resin_name}, {w.with_range(c.film_mm, 'mm')}; {shades}"))
    if job.topcoat is not None:
        out.append((w.say("Topcoat"), w.text(cat.get(job.topcoat.material).name)))
    out.append((w.say("Products and lots"), w.say("see the job record")))
    return [(a, plain(b, 240)) for a, b in out]
