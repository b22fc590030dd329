"""The one-page part of plan.md: what to change, weights, other boards, the coupon."""

from __future__ import annotations

from pourwright.plan import show
from pourwright.plan.figures import span, with_span
from pourwright.plan.result import Advice, CouponPlan, Plan, WeightPlan
from pourwright.words import Reader, say

NEAR_BOARDS = 8
"""Other boards listed beside the job's own [-]."""


def reader_of(plan: Plan) -> Reader:
    """Who a `plan` is written for in its own document [-]: English in the job's units."""
    return Reader("en", plan.job["show"]["units"])


def to_change(plan: Plan) -> list[str]:
    """Lines of plan.md on what fails or is unsure in `plan` [-], with what to change."""
    weak = [a for a in plan.advice if a.passed != "yes"]
    out = ["", "## What to change", ""]
    if not weak:
        return [*out, "Nothing: weight, shape, strength, heat and air all stand as planned."]
    for a in weak:
        out += _answer(a, reader_of(plan))
    good = sum(a.passed == "yes" for a in plan.advice)
    return [*out, "", f"{good} other questions are answered well; they stand further below."]


def _answer(a: Advice, reader: Reader) -> list[str]:
    verdict = "not met" if a.passed == "no" else "not sure"
    out = [f"- **{reader.text(a.asks)}** ({verdict}) {reader.text(a.answer)}"]
    out += [f"  - {reader.text(d)}" for d in a.do]
    if a.caution:
        out.append(f"  - Caution: {reader.text(a.caution)}")
    return out


def answered_well(plan: Plan) -> list[str]:
    """Lines of plan.md on what stands well in `plan` [-]."""
    reader = reader_of(plan)
    out = ["", "## Answered well", ""]
    for a in plan.advice:
        if a.passed == "yes":
            caution = f" Caution: {reader.text(a.caution)}" if a.caution else ""
            out.append(f"- {reader.text(a.asks)} {reader.text(a.answer)}{caution}")
    return out


def weight_lines(w: WeightPlan, units: str) -> list[str]:
    """Lines of plan.md on weights `w` in `units` [-]."""
    out = ["", f"Weight in all {show.mass(w.total_kg.p50, units)} ({_kg(w, units)})."]
    if w.change_kg is not None:
        more = "more" if w.change_kg.p50 > 0 else "less"
        out.append(
            f"What comes out weighs {show.mass(w.out_kg, units)}: in the end it is "
            f"{show.mass(abs(w.change_kg.p50), units)} {more}."
        )
    out += [f"- {n}: {show.mass(s.p50, units)}" for n, s in w.pieces_kg.items()]
    out += [f"- the same in {name}: {show.mass(kg, units)}" for name, kg in w.compared.items()]
    if w.rests:
        out += ["", "| rests on | before | change | after | allowed | still free |",
                "| --- | --- | --- | --- | --- | --- |"]  # fmt: skip
        for r in w.rests:
            cells = (r.before_kg, r.change_kg.p50, r.after_kg.p50, r.limit_kg, r.spare_kg)
            out.append(f"| {r.name} | " + " | ".join(show.mass(x, units) for x in cells) + " |")
        assert w.left_kg is not None
        side = "left" if w.left_kg >= 0 else "right"
        out += ["", f"{show.mass(abs(w.left_kg), units)} more on the {side} wheels. The plate and a "
                "weighbridge decide."]  # fmt: skip
    if w.boards:
        out += ["", "The same pieces on other boards (middle values; sag under the point load, bow "
                "after cure or in the cold store):", "",
                "| board | in all | change | sags | may | bows | may |",
                "| --- | --- | --- | --- | --- | --- | --- |"]  # fmt: skip
        for b in nearest(w):
            out.append(
                f"| {show.length(b.thickness_mm, units)} {b.name} | {show.mass(b.mass_kg, units)} | "
                f"{show.mass(b.change_kg, units)} | {_mm(b.sag_mm, units)} | "
                f"{_mm(b.sag_limit_mm, units)} | {_mm(b.bow_mm, units)} | "
                f"{_mm(b.bow_limit_mm, units)} |"
            )
    return out


def nearest(w: WeightPlan) -> list:
    """The job's own board and those nearest to it in weight, lightest first [-], from `w`."""
    near = sorted(w.boards, key=lambda b: abs(b.change_kg))[: NEAR_BOARDS + 1]
    return sorted(near, key=lambda b: b.mass_kg)


def _mm(mm: float, units: str) -> str:
    return show.measured(mm, "mm", units) if units == "us" else f"{mm:.1f} mm"


def _kg(w: WeightPlan, units: str) -> str:
    return f"{show.mass(w.total_kg.p05, units)} to {show.mass(w.total_kg.p95, units)}"


def coupon_lines(c: CouponPlan, reader: Reader) -> list[str]:
    """Lines on what a measured strip `c` changed, for a `reader` [-]."""
    told = say(
        "Your strip shows {own} shrinkage that bows (one standard deviation {sd:.3f} %); the class "
        "would be {range}. {piece} then bows {after} instead of {before}, and may {limit}.",
        own=with_span(c.own_percent.p50, c.own_percent, "%"),
        sd=c.sd_percent,
        range=span(c.class_percent, "%"),
        piece=c.piece,
        after=with_span(c.bow_after_mm.p50, c.bow_after_mm, "mm"),
        before=with_span(c.bow_before_mm.p50, c.bow_before_mm, "mm"),
        limit=with_span(c.limit_mm, None, "mm"),
    )
    return [reader.text(told), *[reader.text(n) for n in c.notes]]
