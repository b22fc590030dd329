"""Faults: every cause has words and a remedy; worse numbers raise the share of their cause."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest

from pourwright.errors import InputError
from pourwright.plan import plan_job, read_job, write_job
from pourwright.quantities.fields import si
from pourwright.record import DoneJob, Record, faults_of, judge, repair_job
from pourwright.record.account import coat_accounts
from pourwright.record.entries import FAULTS, FaultEntry, LoggerEntry, ReadingEntry, StepEntry
from pourwright.record.evidence import Evidence
from pourwright.record.faults import Verdict, fault_tables
from pourwright.record.happened import as_happened

NOW = datetime(2027, 8, 14, 7, 0)


def fault(name: str, **more: str) -> FaultEntry:
    return FaultEntry(at=NOW, fault=name, **more)  # type: ignore[arg-type]


def share(verdict: Verdict, key: str) -> float:
    return next(c.share for c in verdict.causes if c.key == key)


def with_record(done: DoneJob, record: Record) -> DoneJob:
    from dataclasses import replace

    from pourwright.plan.context import Context

    real, _ = as_happened(done.planned.ctx.job, record)
    return replace(
        done, record=record, air=Context(real, done.planned.ctx.folder),
        accounts=coat_accounts(done.planned, record),
    )  # fmt: skip


def changed(done: DoneJob, kind: str, key: str, value: str, **update: object) -> DoneJob:
    """The job with one entry corrected."""
    entry = next(e for e in done.record.of_kind(kind) if getattr(e, key) == value)
    new = entry.model_copy(update={**update, "instead_of": entry.id, "id": ""})
    return with_record(done, done.record.add(new))


def test_the_list_is_the_trades_and_complete() -> None:
    tables = fault_tables()
    assert {"soft spot", "fish eye", "blush", "crater", "drip", "dust", "bow"} <= set(FAULTS)
    for f in tables["fault"]:
        assert f["repair"] in tables["repairs"]
        assert len(f["causes"]) >= 3
        for c in f["causes"]:
            assert c["weight"] > 0 and c["says"] and c["next"].endswith(".")
            assert not c["sign"] or hasattr(Evidence, f"_{c['sign']}"), c["sign"]


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_gets_a_ranked_verdict(cafe: DoneJob, name: str) -> None:
    v = judge(cafe, fault(name))
    assert sum(c.share for c in v.causes) == pytest.approx(1.0)
    assert [c.share for c in v.causes] == sorted((c.share for c in v.causes), reverse=True)
    assert v.remedy and v.cautions and "data sheet" in v.cautions[0]


def test_the_recorded_day_is_read_rightly(cafe: DoneJob) -> None:
    """The crater: torched a minute after spreading. The soft spot: a cup 10 % off its ratio."""
    found = {v.fault.fault: v for v in faults_of(cafe)}
    assert found["crater"].causes[0].key == "torch-before-bubbles-up"
    soft = found["soft spot"].causes[0]
    assert soft.key == "off-ratio" and "10.0 %" in soft.evidence and "flood/1D" in soft.evidence


def test_a_right_cup_clears_the_ratio(cafe: DoneJob) -> None:
    soft = fault("soft spot", coat="flood", cup="flood/1D")
    right = changed(cafe, "cup", "cup", "flood/1D", b=0.422)
    worse = changed(cafe, "cup", "cup", "flood/1D", b=0.340)
    was = share(judge(cafe, soft), "off-ratio")
    assert share(judge(right, soft), "off-ratio") < 0.2 < was
    assert share(judge(worse, soft), "off-ratio") > was


def test_short_stirring_counts(cafe: DoneJob) -> None:
    soft = fault("soft spot", coat="flood", cup="flood/2A")
    short = changed(cafe, "cup", "cup", "flood/2A", mixing=40.0)
    assert judge(short, soft).causes[0].key == "not-mixed-through"
    assert share(judge(short, soft), "not-mixed-through") > share(
        judge(cafe, soft), "not-mixed-through"
    )


def test_the_cup_release_check_counts(cafe: DoneJob) -> None:
    soft = fault("soft spot", coat="flood", cup="flood/1D")
    assert "tacky" in judge(cafe, soft).causes[0].evidence
    clean = changed(cafe, "check", "cup", "flood/1D", release="clean")
    streaks = changed(cafe, "check", "cup", "flood/1D", release="streaks")
    assert share(judge(clean, soft), "off-ratio") < share(judge(cafe, soft), "off-ratio")
    assert share(judge(streaks, soft), "not-mixed-through") > share(
        judge(cafe, soft), "not-mixed-through"
    )


def test_a_late_torch_clears_the_torch(cafe: DoneJob) -> None:
    crater = fault("crater", coat="flood")
    late = changed(
        cafe, "step", "step", "flood-torch",
        at=datetime(2027, 8, 13, 8, 52), ended=datetime(2027, 8, 13, 8, 55),
    )  # fmt: skip
    key = "torch-before-bubbles-up"
    assert share(judge(late, crater), key) < 0.5 * share(judge(cafe, crater), key)


def test_a_cold_damp_night_explains_blush(cafe: DoneJob) -> None:
    blush = fault("blush", coat="flood")
    minutes = [15.0 * k for k in range(80)]
    night = LoggerEntry(
        at=datetime(2027, 8, 13, 8, 5), minutes=minutes, degC=[14.0] * 80,
        humidity_percent=[93.0] * 80,
    )  # fmt: skip
    bare = Record(job=cafe.record.job, start=cafe.record.start).add(
        *[e for e in cafe.record.standing() if e.kind not in ("logger", "reading")], night
    )
    cold = with_record(cafe, bare)
    dry, wet = judge(cafe, blush), judge(cold, blush)
    assert share(wet, "near-dew-point") > share(dry, "near-dew-point")
    assert wet.causes[0].key in ("near-dew-point", "damp-air")
    assert "dew point" in next(c for c in wet.causes if c.key == "near-dew-point").evidence


def test_recoat_after_its_window_explains_lifting_unless_sanded(cafe: DoneJob) -> None:
    lifting = fault("lifting", coat="flood")
    sanded = judge(cafe, lifting)
    assert "sanded" in next(c for c in sanded.causes if c.key == "recoat-closed").evidence
    sand = next(e for e in cafe.record.of_kind("step") if e.step == "colour-sand")
    from pourwright.record.entries import StruckEntry

    bare = with_record(cafe, cafe.record.add(StruckEntry(at=NOW, of=sand.id, why="not sanded")))
    assert share(judge(bare, lifting), "recoat-closed") > share(sanded, "recoat-closed")
    assert judge(bare, lifting).causes[0].key == "recoat-closed"


def test_no_record_leaves_the_usual_frequencies(cafe: DoneJob) -> None:
    empty = with_record(cafe, Record(job=cafe.record.job, start=cafe.record.start))
    v = judge(empty, fault("fish eye"))
    weights = {c["key"]: c["weight"] for f in fault_tables()["fault"] if f["name"] == "fish eye"
               for c in f["causes"]}  # fmt: skip
    total = sum(weights.values())
    for c in v.causes:
        assert c.evidence == "" and c.share == pytest.approx(weights[c.key] / total)


class TestRepair:
    def test_it_floods_the_piece_with_the_fault_and_can_be_planned(
        self, cafe: DoneJob, cafe_folder: Path
    ) -> None:
        old = cafe.planned.ctx.job
        start = date(2027, 8, 23)
        made = repair_job(
            old, judge(cafe, fault("soft spot", surface="bar-2", coat="flood")), start
        )
        assert read_job(write_job(made)) == made
        assert [s.name for s in made.surfaces] == ["bar-2"]
        kinds = {e.kind for es in made.surfaces[0].edges.values() for e in es}
        assert "joint" not in kinds and "wall" in kinds
        assert made.colour.resin == old.flood.resin and not made.colour.shades  # type: ignore[union-attr]
        assert "scrape" in made.about and made.board is None
        assert made.primer is None and made.core.ready
        assert made.repair is not None and made.repair.job == old.name
        plan = plan_job(made, cafe_folder)
        steps = [s.id for d in plan.days for s in d.steps]
        assert steps[:2] == ["ready-sand", "mask"]
        assert not {"core-cut", "core-glue", "round-over", "primer-1", "board-pour"} & set(steps)
        assert "colour-mix-1" in steps and "topcoat-1" in steps
        assert plan.cut is None and not any(p.name == "primer" for p in plan.paints)
        flood = next(c for c in cafe.planned.plan.coats if c.id == "flood")
        assert 0 < plan.coats[0].face_mL < flood.face_mL

    def test_an_unknown_surface_is_named(self, cafe: DoneJob) -> None:
        v = judge(cafe, fault("crater", surface="bar-9"))
        with pytest.raises(InputError, match="bar-1"):
            repair_job(cafe.planned.ctx.job, v, date(2027, 8, 23))


def test_entries_used_here_are_what_people_type() -> None:
    assert StepEntry(at=NOW, step="mask").ended is None
    assert ReadingEntry(at=NOW, temperature=si(293.15)).humidity is None
