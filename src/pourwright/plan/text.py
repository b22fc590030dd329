"""The plan as a document in Markdown, readable as plain text."""

from __future__ import annotations

from pourwright.plan import show
from pourwright.plan.cares import forgotten
from pourwright.plan.result import CoatPlan, Plan
from pourwright.plan.text_build import (
    answered_well,
    coupon_lines,
    reader_of,
    to_change,
    weight_lines,
)
from pourwright.words import LANGUAGES, Reader, said_model


def plan_markdown(plan: Plan) -> str:
    """The whole `plan` [-] as Markdown text in the job's units."""
    units = plan.job["show"]["units"]
    if units == "us":
        plan = said_plan(plan, units=units)
    out = [f"# {plan.name}", ""]
    out.append(
        f"Revision {plan.provenance.job_revision}, planned with seed {plan.provenance.seed}. "
        "Ranges are 5 and 95 % points. The product's data sheet decides over every number here."
    )
    out += ["", "## Three things that need most care", ""]
    out += [f"{k}. **{c.title}.** {c.text}" for k, c in enumerate(plan.cares, 1)]
    out += to_change(plan)
    out += _surfaces(plan, units)
    for c in plan.coats:
        out += _coat(c, units)
    out += _buy(plan, units)
    out += _days(plan, units)
    out += _holds(plan, units)
    out += _rest(plan, units)
    out += ["", "## Cautions", ""] + [f"- {c}" for c in plan.cautions]
    if plan.warnings:
        out += ["", "## Warnings", ""] + [f"- {w}" for w in plan.warnings]
    out += ["", "## What this rests on", ""] + [f"- {s}" for s in plan.provenance.sources]
    out += [
        f"- {ident}: {source}"
        for ident, sources in plan.provenance.materials.items()
        for source in sources[:12]
    ]
    out.append(
        f"- job sha256 {plan.provenance.job_sha256[:16]}, Pourwright {plan.provenance.pourwright}"
    )
    return "\n".join(out) + "\n"


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(c.replace("|", "/") for c in cells) + " |"


def _table(head: list[str], rows: list[list[str]]) -> list[str]:
    return ["", _row(head), _row(["---"] * len(head)), *[_row(r) for r in rows]]


def said_plan(plan: Plan, language: str = "en", units: str = "metric") -> Plan:
    """The `plan` [-] with its sentences in another `language` [-] and in `units` [-].

    Names of the job and its surfaces are the user's own and stay.
    """
    own = {plan.name, *(s.name for s in plan.surfaces)}
    return said_model(plan, Reader(language, units), own)


def language_of(plan: Plan) -> str:
    """The language that the job of a `plan` [-] asks for, English where there is none of it."""
    code = str(plan.job["show"]["language"]).replace("_", "-").partition("-")[0].lower()
    return code if code in LANGUAGES else "en"


def own_reader(plan: Plan) -> Reader:
    """Who the job of a `plan` [-] is written for: its language and units."""
    return Reader(language_of(plan), str(plan.job["show"]["units"]))


def _surfaces(plan: Plan, units: str) -> list[str]:
    if units == "us":
        rows = [
            [
                s.name,
                f"{show.length(s.length_mm, units)} x {show.length(s.width_mm, units)}",
                show.measured(s.face_m2, "m2", units),
                show.measured(s.strip_m2, "m2", units),
                show.measured(s.free_run_m, "m", units),
                ", ".join(f"{k} {show.measured(v, 'm', units)}" for k, v in s.runs_m.items()),
            ]
            for s in plan.surfaces
        ]
        head = ["surface", "size", "face", "edge strip", "free edge", "runs"]
        return ["", "## Surfaces", *_table(head, rows)]
    rows = [
        [
            s.name,
            f"{s.length_mm:.0f} x {s.width_mm:.0f}",
            f"{s.face_m2:.3f}",
            f"{s.strip_m2:.3f}",
            f"{s.free_run_m:.2f}",
            ", ".join(f"{k} {v:.2f}" for k, v in s.runs_m.items()),
        ]
        for s in plan.surfaces
    ]
    head = ["surface", "size mm", "face m2", "edge strip m2", "free edge m", "runs m"]
    return ["", "## Surfaces", *_table(head, rows)]


def _coat(c: CoatPlan, units: str) -> list[str]:
    out = ["", f"## {c.title}: {c.resin_name}", ""]
    where = "Face"
    if c.side == "back":
        where = "Backs"
        out += ["Poured before the faces, pieces face down, clear and plain; it ends flush at every "
                "edge. The pieces are turned over when it can be handled.", ""]  # fmt: skip
    out.append(
        f"Film {show.with_range(c.film_mm, 'mm', units=units)}. {where} "
        f"{show.volume(c.face_mL, units)}, edges {show.volume(c.edge_mL, units)}, "
        f"run-off {show.volume(c.run_off_mL, units)}, loss "
        f"{show.volume(c.loss_mL, units)}; need {show.volume(c.need_mL.p50, units)} "
        f"({show.volume(c.need_mL.p05, units)} to {show.volume(c.need_mL.p95, units)}). Mix "
        f"**{show.volume(c.mix_total_mL, units)}** (x{c.over_mix:.2f}); chance of running short "
        f"{100 * c.short_risk:.0f} %. A {c.a_total_g:.0f} g, B {c.b_total_g:.0f} g, {c.ratio} by "
        "volume."
    )
    out.append("")
    out.append(
        f"A full cup must be poured out within **{c.pour_within_min.p05:.0f} min** (range "
        f"{show.span(c.pour_within_min)}; {c.pour_within_why}). {forgotten(c)}"
    )
    out += [f"> Caution: {w}" for w in c.cautions]
    if c.vein_wait_min is not None:
        out += ["", f"Veins: drizzle {show.with_range(c.vein_wait_min, 'min', 2)} after spreading "
                f"ends; {c.vein_wait_why}."]  # fmt: skip
        if c.vein_wait_by_flow_left_min is not None:
            out[-1] += (
                " By flow left alone it would be "
                f"{show.with_range(c.vein_wait_by_flow_left_min, 'min', 2)}."
            )
    rows = [
        [
            q.batch,
            q.label or q.id,
            q.shade,
            f"{q.read_a:.0f} {q.read_by}",
            f"{q.read_b:.0f} {q.read_by}",
            f"{q.a_mL:.0f}",
            f"{q.b_mL:.0f}",
            ", ".join(f"{k} {g:.1f}" for k, g in q.pastes_g.items()) or "none",
        ]
        for q in c.cups
    ]
    out += _table(["batch", "cup", "shade", "A", "B", "A mL", "B mL", "paste g"], rows)
    rows = [
        [
            w.label,
            show.span(w.opens_h) if w.opens_h else "not reached",
            show.span(w.closes_h) if w.closes_h else "",
            w.criterion,
        ]
        for w in c.windows
    ]
    out += ["", "Windows, hours after spreading ends:"]
    out += _table(["window", "opens h", "closes h", "criterion"], rows)
    return out


def _buy(plan: Plan, units: str) -> list[str]:
    out = ["", "## To buy", ""]
    for p in plan.purchases:
        sets = ", ".join(f"{n} x {p.set_names[k]}" for k, n in p.sets.items()) or "nothing"
        cost = f"; about {p.cost:.2f} {p.currency} (illustrative prices)" if p.cost else ""
        out.append(
            f"- {p.resin}: {sets}{cost}. Left over: A {show.volume(p.left_a_mL, units)}, "
            f"B {show.volume(p.left_b_mL, units)}."
        )
    out += [
        f"- {p.name}: {p.coats} coats, {show.volume(p.need_mL.p95, units)} "
        f"(likely {show.volume(p.need_mL.p50, units)}); dry in {show.span(p.dry_h)} h."
        for p in plan.paints
    ]
    return out


def _days(plan: Plan, units: str) -> list[str]:
    out: list[str] = []
    for d in plan.days:
        out += [
            "",
            f"## {show.day(d.date)}: air {show.temperature(d.air_low_degC, units)} to "
            f"{show.temperature(d.air_high_degC, units)}, humidity {d.humidity_percent:.0f} %",
            "",
        ]
        for s in d.steps:
            out.append(f"- **{show.clock(s.starts)}** {s.title}. {s.say}")
            out += [f"  - hold: {h}" for h in s.holds]
            out += [f"  - caution: {c}" for c in s.cautions]
    return out


def _holds(plan: Plan, units: str) -> list[str]:
    rows = [
        [
            h.step,
            h.check.title,
            show.measured(h.check.value, h.check.unit, units),
            f"{h.check.sense} {show.measured(h.check.limit, h.check.unit, units)}",
            h.check.passed,
            h.check.remedies[0] if h.check.remedies else "",
            h.check.source,
        ]
        for h in plan.holds
    ]
    head = ["before", "what", "now", "limit", "met", "what to do", "source"]
    return ["", "## Hold points", *_table(head, rows)]


def _cuts(m: float, units: str) -> str:
    return show.measured(m, "m", units) if units == "us" else f"{m:.1f} m"


def _rest(plan: Plan, units: str) -> list[str]:
    out: list[str] = []
    if plan.checks:
        rows = [
            [
                c.title,
                show.measured(c.value, c.unit, units),
                f"{c.sense} {show.measured(c.limit, c.unit, units)}",
                c.passed,
                c.remedies[0] if c.remedies else "",
                c.caution,
            ]
            for c in plan.checks
        ]
        head = ["endurance", "value", "limit", "met", "what to change", "caution"]
        out += ["", "## Weight and endurance", *_table(head, rows)]
    if plan.weight is not None:
        out += weight_lines(plan.weight, units)
    if plan.coupon is not None:
        out += ["", *coupon_lines(plan.coupon, reader_of(plan))]
    out += answered_well(plan)
    if plan.cut is not None:
        c = plan.cut
        bought = [f"{n} x {c.sheet_names[k]}" for k, n in c.sheets.items()]
        sheets = ", ".join([*bought, *(f"{n} x {k} (yours)" for k, n in c.own_sheets.items())])
        out += ["", "## Core", "", f"{c.parts} parts on {sheets}; {c.used_percent:.0f} % used, at "
                f"least {c.bound_sheets} needed (gap {c.gap_percent:.0f} %), "
                f"{_cuts(c.cut_m, units)} of cuts."]  # fmt: skip
        out += [f"- {j}" for j in (*c.joints, *c.off_cuts, *c.notes)]
    return out
