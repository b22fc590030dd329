"""What changes in a plan between two versions of a job, in a finisher's figures."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.plan import Plan


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
            Change(f"{c.title}: mixed", "L", c.mix_total_mL / 1e3, d.mix_total_mL / 1e3),
            Change(f"{c.title}: batches", "-", float(len(c.batches)), float(len(d.batches))),
            Change(f"{c.title}: out of the cup in", "min", c.pour_within_min, d.pour_within_min),
            Change(f"{c.title}: film gels after", "min", c.gel_min, d.gel_min),
            Change(f"{c.title}: veins after", "min", c.vein_wait_min, d.vein_wait_min),
            *(
                Change(f"{c.title}: next coat bonds {word}", "h",
                       getattr(_window(c), key), getattr(_window(d), key))
                for word, key in (("from", "opens_h"), ("until", "closes_h"))
            ),
        ]  # fmt: skip
    sets = {
        p.resin: ", ".join(f"{n} x {p.set_names[k]}" for k, n in p.sets.items())
        for p in was.purchases
    }
    for p in now.purchases:
        text = ", ".join(f"{n} x {p.set_names[k]}" for k, n in p.sets.items())
        out.append(Change(f"Buy for {p.resin}", "", sets.get(p.resin, ""), text))
    out.append(Change("Hours of work", "h", _work_h(was), _work_h(now)))
    out.append(Change("Done on", "", was.finish[:10], now.finish[:10]))
    return [c for c in out if not c.same]


def _window(coat: object) -> object:
    return next(w for w in coat.windows if w.key == "recoat")  # type: ignore[attr-defined]


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
