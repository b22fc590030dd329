"""What changes in a plan between two versions of a job, in a finisher's figures."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.plan import Plan
from pourwright.plan.result import CoatPlan, PurchasePlan, WindowPlan
from pourwright.words import joined, say


@dataclass(frozen=True)
class Change:
    """One figure of a plan before and after, with its range where it is uncertain.

    `before`, `after` are [unit] numbers or spreads, or text; None where a plan has no such figure.
    """

    title: str
    unit: str
    before: Spread | float | str | None
    after: Spread | float | str | None

    @property
    def same(self) -> bool:
        """Whether nothing changed [-]."""
        return self.before == self.after


def plan_changes(was: Plan, now: Plan) -> list[Change]:
    """What a plan says differently.

    Parameters
    ----------
    was, now : Plan [unit-suffixed keys]
        Before and after, of the same job.

    Returns
    -------
    list of Change [min, h, L, -]
        Coat by coat: how much is mixed, how soon the cup must be empty, when the film gels, when
        the next coat bonds; then sets to buy, hours of work and the last day. What stays the same
        is left out.
    """
    out: list[Change] = []
    after = {c.id: c for c in now.coats}
    for c in was.coats:
        d = after.get(c.id)
        if d is None:
            continue
        out += [
            Change(say("{coat}: mixed", coat=c.title), "L", c.mix_total_mL / 1e3, d.mix_total_mL / 1e3),
            Change(say("{coat}: batches", coat=c.title), "-", float(len(c.batches)), float(len(d.batches))),
            Change(say("{coat}: out of the cup in", coat=c.title), "min", c.pour_within_min,
                   d.pour_within_min),
            Change(say("{coat}: film gels after", coat=c.title), "min", c.gel_min, d.gel_min),
            Change(say("{coat}: veins after", coat=c.title), "min", c.vein_wait_min, d.vein_wait_min),
            *(
                Change(title, "h", getattr(_window(c), key, None), getattr(_window(d), key, None))
                for title, key in (
                    (say("{coat}: next coat bonds from", coat=c.title), "opens_h"),
                    (say("{coat}: next coat bonds until", coat=c.title), "closes_h"),
                )
            ),
        ]  # fmt: skip
    sets = {p.resin: _sets(p) for p in was.purchases}
    for p in now.purchases:
        title = say("Buy for {resin}", resin=p.resin)
        out.append(Change(title, "", sets.get(p.resin, ""), _sets(p)))
    out.append(Change("Hours of work", "h", _work_h(was), _work_h(now)))
    out.append(Change("Done on", "", was.finish[:10], now.finish[:10]))
    return [c for c in out if not c.same]


def _sets(p: PurchasePlan) -> str:
    return joined(", ", (say("{n} x {name}", n=n, name=p.set_names[k]) for k, n in p.sets.items()))


def _window(coat: CoatPlan) -> WindowPlan | None:
    """When the next coat bonds on `coat` [-]; None on a back film that nothing comes over."""
    return next((w for w in coat.windows if w.key == "recoat"), None)


def _work_h(plan: Plan) -> Spread:
    """Working times of all steps added up [h]: a crew is slow, or fast, all day."""
    steps = [s.work_min for d in plan.days for s in d.steps]
    return Spread(
        p05=sum(s.p05 for s in steps) / 60.0,
        p50=sum(s.p50 for s in steps) / 60.0,
        p95=sum(s.p95 for s in steps) / 60.0,
    )


def changes_document(changes: list[Change]) -> list[dict[str, object]]:
    """`changes` as plain JSON data [unit beside each]."""

    def plain(x: Spread | float | str | None) -> object:
        return x.model_dump() if isinstance(x, Spread) else x

    return [
        {"title": c.title, "unit": c.unit, "before": plain(c.before), "after": plain(c.after)}
        for c in changes
    ]
