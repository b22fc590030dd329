"""A plan and its record as plain tables, the same for CSV, XLSX and any other reader."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from pourwright.calc import Spread
from pourwright.plan import Plan
from pourwright.plan.text import own_reader, said_plan
from pourwright.record.book import Record
from pourwright.words import Reader

Cell = str | int | float | bool | date | datetime | None


@dataclass(frozen=True)
class Table:
    """A table: name, unit-suffixed heads, rows of plain cells."""

    name: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def plan_tables(plan: Plan, record: Record | None = None) -> list[Table]:
    """Everything of a plan that is a table.

    Parameters
    ----------
    plan : Plan [unit-suffixed keys]
        The plan; its sentences are told in the language and units of its job, headings and keys
        stay as they are for the programs that read them.
    record : Record or None [-]
        What happened; adds its entries.

    Returns
    -------
    list of Table [units by head]
        Uncertain values stand in three columns: low, middle and high (5, 50 and 95 % points).
    """
    reader = own_reader(plan)
    if reader != Reader():
        plan = said_plan(plan, reader.language, reader.units)
    out = [_about(plan)]
    out.append(_of("surfaces", [
        {
            "surface": s.name, "purpose": s.purpose, "lie": s.lie, "count": s.count,
            "length_mm": s.length_mm, "width_mm": s.width_mm, "face_m2": s.face_m2,
            "strip_m2": s.strip_m2, "poured_m2": s.poured_m2, "free_run_m": s.free_run_m,
        }
        for s in plan.surfaces
    ]))  # fmt: skip
    out.append(_of("coats", [
        {
            "coat": c.title, "resin": c.resin_name, "ratio": c.ratio,
            **_three("film", "mm", c.film_mm), **_three("need", "mL", c.need_mL),
            "mix_mL": c.mix_total_mL, "a_g": c.a_total_g, "b_g": c.b_total_g,
            **_three("pour_within", "min", c.pour_within_min), **_three("gel", "min", c.gel_min),
        }
        for c in plan.coats
    ]))  # fmt: skip
    pastes = sorted({p for c in plan.coats for q in c.cups for p in q.pastes_g})
    out.append(_of("cups", [
        {
            "coat": c.title, "batch": q.batch, "cup": q.id, "label": q.label,
            "shade": q.shade, "role": q.role,
            "a_g": q.a_g, "b_g": q.b_g, **{f"{p}_g": q.pastes_g.get(p) for p in pastes},
            "total_g": q.total_g, "mix_at_min": q.mix_at_min, "pour_by_min": q.pour_by_min,
        }
        for c in plan.coats for q in c.cups
    ]))  # fmt: skip
    out.append(_of("windows", [
        {
            "coat": c.title, "window": w.label, **_three("opens", "h", w.opens_h),
            **_three("closes", "h", w.closes_h), "criterion": w.criterion,
        }
        for c in plan.coats for w in c.windows
    ]))  # fmt: skip
    out.append(_of("purchases", [
        {
            "resin": p.resin, "set": p.set_names.get(k, k), "count": n, "need_a_mL": p.need_a_mL,
            "need_b_mL": p.need_b_mL, "left_a_mL": p.left_a_mL, "left_b_mL": p.left_b_mL,
            "cost_of_all": p.cost, "currency": p.currency,
        }
        for p in plan.purchases for k, n in p.sets.items()
    ]))  # fmt: skip
    out.append(_of("steps", [
        {
            "step": s.id, "title": s.title, "kind": s.kind,
            "starts": datetime.fromisoformat(s.starts), "ends": datetime.fromisoformat(s.ends),
            **_three("work", "min", s.work_min), "waited_for": s.waited_for,
            "holds": ", ".join(s.holds), "say": s.say, "caution": " ".join(s.cautions),
            "done": s.done,
        }
        for d in plan.days for s in d.steps
    ]))  # fmt: skip
    out.append(_of("holds", [
        {
            "step": h.step, "hold": h.key, "what": h.check.title, "value": h.check.value,
            "sense": h.check.sense, "limit": h.check.limit, "unit": h.check.unit,
            "chance": h.check.chance, "met": h.check.passed, "source": h.check.source,
        }
        for h in plan.holds
    ]))  # fmt: skip
    if plan.cut is not None:
        out.append(_of("core_parts", [
            {
                "part": p.name, "length_mm": p.length_mm, "width_mm": p.width_mm,
                "thickness_mm": p.thickness_mm, "quantity": p.quantity, "role": p.role,
                "mass_kg": p.mass_kg, "note": p.note,
            }
            for p in plan.cut.pieces
        ]))  # fmt: skip
    if record is not None:
        out.append(_of("record", [_entry(e) for e in record.standing()]))
    return [t for t in out if t.rows]


def _about(plan: Plan) -> Table:
    rows: list[tuple[Cell, ...]] = [
        ("job", plan.name),
        ("revision", plan.provenance.job_revision),
        ("job_sha256", plan.provenance.job_sha256),
        ("pourwright", plan.provenance.pourwright),
        ("finish", datetime.fromisoformat(plan.finish)),
    ]
    rows += [("caution", c) for c in plan.cautions]
    rows += [("warning", w) for w in plan.warnings]
    return Table("about", ("what", "value"), tuple(rows))


def _entry(entry: Any) -> dict[str, Cell]:
    data = entry.model_dump(mode="json", exclude_none=True)
    at, kind = datetime.fromisoformat(data.pop("at")), data.pop("kind")
    ident = data.pop("id")
    if kind == "logger":
        data = {"readings": len(entry.minutes), "columns": entry.columns}
    words = "; ".join(f"{k} {v}" for k, v in data.items() if v not in ("", [], {}))
    return {"entry": ident, "at": at, "kind": kind, "says": words}


def _of(name: str, rows: list[dict[str, Any]]) -> Table:
    head = tuple(rows[0]) if rows else ()
    return Table(name, head, tuple(tuple(r[h] for h in head) for r in rows))


def _three(key: str, unit: str, s: Spread | None) -> dict[str, float | None]:
    return {
        f"{key}_low_{unit}": None if s is None else s.p05,
        f"{key}_{unit}": None if s is None else s.p50,
        f"{key}_high_{unit}": None if s is None else s.p95,
    }
