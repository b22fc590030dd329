"""Hold points, endurance checks and what all of it rests on."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.calc.check import Check
from pourwright.papers.frame import frame, pretty
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.words import Own
from pourwright.words.reader import PRETTY


def checks_data(w: Wording, printed: date) -> dict[str, Any]:
    """Data of the sheet of checks of `w` [-], `printed` [-] that day."""
    plan = w.plan
    cautions = list(dict.fromkeys(c.caution for c in plan.checks if c.caution))
    p = frame(
        w, "checks", w.say("Hold points and checks"), printed, "",
        tuple(pretty(c) for c in cautions),
    )  # fmt: skip
    p["change"], p["well"] = _advice(w)
    steps = {s.id: s for d in plan.days for s in d.steps}
    p["holds"] = [
        _row(w, h.check, w.say("before: {step}",
                               step=Own(steps[h.step].title if h.step in steps else h.step)))
        for h in plan.holds
    ]  # fmt: skip
    above = {(h.check.name, h.check.title, h.check.value) for h in plan.holds}
    rest = [c for c in plan.checks if (c.name, c.title, c.value) not in above]
    p["endure"] = [_row(w, c, c.moment) for c in rest]
    p["endure_note"] = (
        w.say("What must be true before the core is cut stands among the hold points.")
        if len(rest) < len(plan.checks)
        else ""
    )
    p["weights"], p["compared"] = [], []
    if plan.weight is not None:
        p["weights"] = [(plain(n, 60), w.mass_range(s)) for n, s in plan.weight.pieces_kg.items()]
        p["weights"].append((w.say("All pieces"), w.mass_range(plan.weight.total_kg)))
        p["compared"] = [
            (w.say("the same in {board}", board=n), w.mass(kg))
            for n, kg in plan.weight.compared.items()
        ]
    p["warnings"] = [plain(pretty(t), 600) for t in plan.warnings]
    p["sources"] = [plain(s, 300) for s in _sources(w)]
    return p


def _advice(w: Wording) -> tuple[list[dict[str, Any]], list[dict[str, str]]]:
    """What fails or is unsure with what to change, worst first; and what stands well."""
    change, well = [], []
    for a in w.plan.advice:
        asks, answer = plain(pretty(a.asks), 160), plain(pretty(a.answer), 300)
        if a.passed == "yes":
            well.append({"asks": asks, "answer": answer})
            continue
        change.append(
            {
                "asks": asks,
                "answer": answer,
                "met": a.passed,
                "do": [plain(pretty(d), 300) for d in a.do],
                "caution": plain(pretty(a.caution), 300),
            }
        )
    return change, well


def _row(w: Wording, c: Check, when: str) -> dict[str, str]:
    unit = "" if w.units == "us" else PRETTY.get(c.unit, c.unit)

    def said(value: float) -> str:
        if w.units == "us":
            return w.measured(value, c.unit)
        return f"{w.sig(value)} {w.text(unit)}".strip()

    spread = ""
    if c.spread is not None and c.spread.p05 != c.spread.p95:
        spread = (
            w.both(said(c.spread.p05), said(c.spread.p95))
            if w.units == "us"
            else w.span(c.spread, 3)
        )
    title = pretty(c.title[0].upper() + c.title[1:])
    return {
        "name": plain(title, 160),
        "when": plain(pretty(when), 120),
        "value": said(c.value),
        "range": spread,
        "limit": f"{w.text(c.sense)} {said(c.limit)}",
        "met": c.passed,
        "todo": plain(pretty(" ".join(c.remedies[:2])), 420) if c.passed != "yes" else "",
        "source": plain(pretty(cited(w, c.source)), 420),
    }


def cited(w: Wording, source: str) -> str:
    """A source [-] with its mark in brackets; what is said in words is in the reader's language."""
    body, bracket, mark = source.rpartition(" [")
    if not bracket or not mark.endswith("]"):
        return w.text(source)
    return f"{w.text(body)} [{w.text(mark[:-1])}]"


def _sources(w: Wording) -> list[str]:
    p = w.work.plan.provenance
    out = [cited(w, s) for s in p.sources]
    for ident, held in p.materials.items():
        marks: dict[str, int] = {}
        for s in held:
            mark = s[s.rfind("[") + 1 : -1] if s.endswith("]") else "unmarked"
            marks[mark] = marks.get(mark, 0) + 1
        said = ", ".join(f"{n} {w.text(m)}" for m, n in marks.items())
        out.append(f"{ident}: {said}")
    out.append(w.say("every source of a material is named in plan.md and in the catalogue"))
    out.append(
        w.say(
            "Pourwright {version}, seed {seed}, {samples} samples, job {mark}",
            version=Own(p.pourwright),
            seed=Own(p.seed),
            samples=Own(p.samples),
            mark=Own(p.job_sha256),
        )
    )
    return out
