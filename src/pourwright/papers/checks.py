"""Hold points, endurance checks and what all of it rests on."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.calc.check import Check
from pourwright.papers.frame import frame, pretty, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show

UNITS = {"degC": "°C", "K": "K", "m2": "m²"}


def checks_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the sheet of checks of `work` [-], `printed` [-] that day."""
    plan = work.plan
    cautions = list(dict.fromkeys(c.caution for c in plan.checks if c.caution))
    p = frame(
        work, "checks", "Hold points and checks", printed, "", tuple(pretty(c) for c in cautions)
    )
    steps = {s.id: s for d in plan.days for s in d.steps}
    p["holds"] = [
        _row(h.check, f"before: {steps[h.step].title}" if h.step in steps else f"before: {h.step}")
        for h in plan.holds
    ]
    p["endure"] = [_row(c, c.moment) for c in plan.checks]
    p["weights"] = []
    u = units_of(work)
    if plan.weight is not None:
        total = plan.weight.total_kg
        p["weights"] = [
            (
                plain(n, 60),
                f"{show.mass(s.p50, u)} ({show.mass(s.p05, u)} to {show.mass(s.p95, u)})",
            )
            for n, s in plan.weight.pieces_kg.items()
        ]
        p["weights"].append(
            ("All pieces", f"{show.mass(total.p50, u)} ({show.mass(total.p05, u)} to "
             f"{show.mass(total.p95, u)})")
        )  # fmt: skip
        p["weights"] += [
            (f"the same in {n}", show.mass(kg, u)) for n, kg in plan.weight.compared.items()
        ]
    p["warnings"] = [plain(pretty(w), 600) for w in plan.warnings]
    p["sources"] = [plain(s, 300) for s in _sources(work)]
    return p


def _row(c: Check, when: str) -> dict[str, str]:
    unit = UNITS.get(c.unit, c.unit)
    spread = ""
    if c.spread is not None and c.spread.p05 != c.spread.p95:
        spread = f"{show.span(c.spread, 3)}"
    return {
        "name": plain(pretty(c.title[0].upper() + c.title[1:]), 160),
        "when": plain(pretty(when), 120),
        "value": f"{show.sig(c.value)} {unit}".strip(),
        "range": spread,
        "limit": f"{c.sense} {show.sig(c.limit)} {unit}".strip(),
        "met": c.passed,
        "todo": plain(pretty(" ".join(c.remedies[:2])), 420) if c.passed != "yes" else "",
        "source": plain(pretty(c.source), 420),
    }


def _sources(work: Working) -> list[str]:
    p = work.plan.provenance
    out = list(p.sources)
    for ident, cited in p.materials.items():
        marks: dict[str, int] = {}
        for s in cited:
            mark = s[s.rfind("[") + 1 : -1] if s.endswith("]") else "unmarked"
            marks[mark] = marks.get(mark, 0) + 1
        said = ", ".join(f"{n} {m}" for m, n in marks.items())
        out.append(f"{ident}: {said}")
    out.append("every source of a material is named in plan.md and in the catalogue")
    out.append(f"Pourwright {p.pourwright}, seed {p.seed}, {p.samples} samples, job {p.job_sha256}")
    return out
