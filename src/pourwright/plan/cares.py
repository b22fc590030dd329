"""The three things that need most care on a job, ranked from its own numbers."""

from __future__ import annotations

from datetime import datetime

from pourwright.calc.check import Check
from pourwright.plan.result import Care, CoatPlan, Plan
from pourwright.words import Amount, Between, joined, say

UNSURE, FAILED = 55.0, 90.0
FOR_GOOD = (
    "endure.weight",
    "endure.axle",
    "endure.nose",
    "endure.tow",
    "endure.bow.cure",
)
"""Checks whose failing no later step mends: they go before all other checks."""
SMALL_CUP_G = 50.0


def three_cares(plan: Plan) -> list[Care]:
    """The three heaviest of all cares of a `plan` [-].

    Weights (0 to 100) say how soon and how dearly a slip is paid: a hold point that fails 90, one
    that is unsure 55, and for times the share of the room to move that the plan already uses.
    """
    found = [*_holds(plan), *_checks(plan)]
    for c in plan.coats:
        found += _coat(c)
    found += _between(plan)
    found += _service(plan)
    found.sort(key=lambda care: -care.weight)
    out: list[Care] = []
    for care in found:
        if care.title not in {c.title for c in out}:
            out.append(care)
        if len(out) == 3:
            break
    return out


def _holds(plan: Plan) -> list[Care]:
    worst: dict[str, Care] = {}
    for h in plan.holds:
        if h.check.name.startswith("endure."):
            continue  # ranked among the checks below
        care = _of_check(h.check, 0.0)
        if care and (h.key not in worst or worst[h.key].weight < care.weight):
            worst[h.key] = care
    return list(worst.values())


def _checks(plan: Plan) -> list[Care]:
    """Endurance; a hot pan is left out here: the answer is always a trivet, and it is said."""
    return [
        care
        for c in plan.checks
        if not c.name.startswith("endure.heat.pan")
        and (care := _of_check(c, 2.0 if c.name.startswith(FOR_GOOD) else -10.0))
    ]


def _of_check(c: Check, shift: float) -> Care | None:
    if c.passed == "yes":
        return None
    weight = (FAILED if c.passed == "no" else UNSURE) + shift
    stands = say(
        "{value} ({moment}), wanted {sense} {limit}."
        if c.moment
        else "{value}, wanted {sense} {limit}.",
        value=_figure(c.value, c.unit),
        moment=c.moment,
        sense=c.sense,
        limit=_figure(c.limit, c.unit),
    )
    return Care(
        title=say("{what:u}", what=c.title),
        text=joined(" ", (stands, *c.remedies[:1])),
        weight=weight,
    )


def _figure(value: float, unit: str) -> str:
    """Three figures, or whole units from a thousand up: no powers of ten on a shop's paper."""
    return say("{amount:.0f}" if abs(value) >= 1000 else "{amount:.3g}", amount=Amount(value, unit))


def _coat(c: CoatPlan) -> list[Care]:
    out = []
    fields = [b for b in c.batches if b.kind == "field"]
    if fields:
        used = max(b.pour_end_min - b.start_min for b in fields)
        share = used / max(c.pour_within_min.p05, 1.0)
        out.append(
            Care(
                title=say("{coat}: empty the cups in time", coat=c.title),
                text=say(
                    "A full cup gives {within:.0f}; the largest batch needs {used:.0f} from "
                    "first mix to last pour. {forgotten}",
                    within=Between(c.pour_within_min.p05, c.pour_within_min.p95, "min"),
                    used=Amount(used, "min"),
                    forgotten=forgotten(c),
                ),
                weight=min(30.0 + 60.0 * share, 95.0),
            )
        )
    if not c.feasible:
        out.append(
            Care(
                title=say("{coat}: batches do not fit", coat=c.title),
                text="No batch size keeps the pour-out time; cool the resin, add a mixer, or use a "
                "slower resin.",
                weight=99.0,
            )
        )
    if c.vein_wait_min is not None:
        w = c.vein_wait_min
        wide = (w.p95 - w.p05) / max(w.p50, 1.0)
        out.append(
            Care(
                title="Wait for the veins",
                text=say(
                    "Drizzle {wait:.0f} after spreading ends (range {low:.0f} to {high:.0f}; "
                    "{why}). Try one thread on the board's edge first.",
                    wait=Amount(w.p50, "min"),
                    low=w.p05,
                    high=w.p95,
                    why=c.vein_wait_why,
                ),
                weight=min(45.0 + 15.0 * wide, 80.0),
            )
        )
    return out


def forgotten(c: CoatPlan) -> str:
    """What happens to a cup of coat `c` that is left standing [-]."""
    if c.safe_cup_g.p05 < 1.0:
        return "No working cup may be left standing: it heats itself and can smoke."
    if c.safe_cup_g.p05 < SMALL_CUP_G:
        return say(
            "No working cup may be left standing full: it heats itself and can smoke. What is left "
            "in it stays cool up to about {mass:.0f} ({low:.0f} to {high:.0f} g); spread more thin.",
            mass=Amount(c.safe_cup_g.p05, "g"),
            low=c.safe_cup_g.p05,
            high=c.safe_cup_g.p95,
        )
    return say(
        "A cup above about {mass:.0f} that is left standing can heat itself until it smokes.",
        mass=Amount(c.safe_cup_g.p05, "g"),
    )


def _between(plan: Plan) -> list[Care]:
    out = []
    for c in plan.coats[:-1]:
        w = next((x for x in c.windows if x.key == "recoat"), None)
        if w is None or w.opens_h is None:
            continue
        if w.closes_h is not None and w.closes_h.p05 > w.opens_h.p95:
            text = say(
                "The next coat bonds without sanding from {opens:.0f} to {closes:.0f} after the "
                "pour, in nine cases of ten. Test with a fingertip in a glove: no print, no "
                "string.",
                opens=Amount(w.opens_h.p95, "h"),
                closes=Amount(w.closes_h.p05, "h"),
            )
            weight = 40.0 + 30.0 * w.opens_h.p95 / w.closes_h.p05
        else:
            text = "No sure moment to bond without sanding: plan to sand matt before the next coat."
            weight = 65.0
        out.append(
            Care(title=say("Between {coat:l} and the next", coat=c.title), text=text, weight=weight)
        )
    return out


def _service(plan: Plan) -> list[Care]:
    if plan.serve is None:
        return [
            Care(
                title="It may stay soft",
                text="Full service is not reached within two weeks in this air: warm the room "
                "before it is used.",
                weight=75.0,
            )
        ]
    late = datetime.fromisoformat(plan.serve) - datetime.fromisoformat(plan.finish)
    days = late.total_seconds() / 86400
    if days < 2:
        return []
    return [
        Care(
            title="Go easy after handover",
            text=say(
                "Handed over, but full service comes about {days:.0f} days later: tell the client "
                "no heat, no soaking, no weights until then.",
                days=days,
            ),
            weight=min(25.0 + 3.0 * days, 60.0),
        )
    ]
