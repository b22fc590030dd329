"""The galley plan: accounts close, one change moves just what it should, same seed same plan."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from pourwright.plan import Working, load_job, plan_job, read_job, work_out
from pourwright.plan.result import Plan

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def changed(text: str, *pairs: tuple[str, str]) -> Plan:
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return plan_job(read_job(text), EXAMPLES)


def test_volumes_close(galley: Working) -> None:
    for c in galley.plan.coats:
        cups = sum(q.a_mL + q.b_mL for q in c.cups)
        pastes = sum(sum(q.pastes_g.values()) for q in c.cups)
        assert c.a_total_mL + c.b_total_mL == pytest.approx(cups, rel=1e-9)
        assert c.mix_total_mL >= cups * (1 - 1e-12)
        assert c.mix_total_mL - cups <= pastes  # pastes are heavier than 1 g/mL
        batches = sum(b.volume_mL for b in c.batches)
        assert batches == pytest.approx(c.mix_total_mL, rel=1e-9)
        assert {q.id for q in c.cups} == {i for b in c.batches for i in b.cups}
        assert c.need_mL.p05 < c.need_mL.p50 < c.need_mL.p95
        assert c.mix_total_mL > c.need_mL.p50


def test_bought_covers_what_is_mixed(galley: Working) -> None:
    for p in galley.plan.purchases:
        mixed_a = sum(c.a_total_mL for c in galley.plan.coats if c.resin == p.resin)
        assert p.need_a_mL == pytest.approx(mixed_a)
        assert p.left_a_mL >= -1e-6 and p.left_b_mL >= -1e-6


def test_masses_follow_from_volumes_and_densities(galley: Working) -> None:
    for c, poured in zip(galley.plan.coats, galley.timed.poured, strict=True):
        for q in c.cups:
            assert q.a_g == pytest.approx(q.a_mL * poured.ratio.density_a / 1000)
            assert q.b_g == pytest.approx(q.b_mL * poured.ratio.density_b / 1000)


def test_every_limit_is_kept(galley: Working) -> None:
    for c in galley.plan.coats:
        assert c.feasible
        for b in c.batches:
            assert b.margin_min >= 0
        vessel = galley.ctx.job.mix.cups.vessel * 1e6
        assert all(q.a_mL + q.b_mL <= vessel * 1.001 for q in c.cups)


def test_days_are_in_order_and_within_hours(galley: Working) -> None:
    steps = [s for d in galley.plan.days for s in d.steps]
    starts = [datetime.fromisoformat(s.starts) for s in steps]
    assert starts == sorted(starts)
    for s in steps:
        assert 8 <= datetime.fromisoformat(s.starts).hour < 18
        assert datetime.fromisoformat(s.starts).weekday() != 6
    order = [s.id for s in steps]
    for before, after in (
        ("core-cut", "core-glue"),
        ("primer-1", "primer-sand-1"),
        ("primer-2", "mask"),
        ("board-agree", "colour-mix-1"),
        ("colour-leave", "flood-mix-1"),
        ("flood-leave", "handover"),
    ):
        assert order.index(before) < order.index(after)


def test_three_cares_hold_points_cautions_and_sources(galley: Working) -> None:
    plan = galley.plan
    assert len(plan.cares) == 3
    assert len({c.title for c in plan.cares}) == 3
    assert any("data sheet" in c for c in plan.cautions)
    assert {h.step for h in plan.holds} <= {s.id for d in plan.days for s in d.steps}
    assert plan.provenance.materials["resin-coating-1to1"]
    assert len(plan.provenance.job_sha256) == 64


def test_same_seed_same_plan(galley: Working) -> None:
    again = work_out(load_job(EXAMPLES / "galley.toml"), EXAMPLES).plan
    assert again.model_dump(mode="json") == galley.plan.model_dump(mode="json")


def test_plan_json_is_plain_and_reads_back(galley: Working) -> None:
    text = json.dumps(galley.plan.model_dump(mode="json", by_alias=True), allow_nan=False)
    assert Plan.model_validate(json.loads(text)) == galley.plan


def test_colder_boat_slows_the_resin_and_leaves_areas_alone(
    galley: Working, galley_text: str
) -> None:
    cold = changed(galley_text, ('coolest = "13 degC", warmest = "19 degC"',
                                 'coolest = "8 degC", warmest = "13 degC"'))  # fmt: skip
    assert cold.surfaces == galley.plan.surfaces
    for now, was in zip(cold.coats, galley.plan.coats, strict=True):
        assert now.gel_min is not None and was.gel_min is not None
        assert now.gel_min.p50 > 1.3 * was.gel_min.p50
        assert now.pour_within_min.p50 > was.pour_within_min.p50
        assert now.face_mL == was.face_mL
    assert cold.finish > galley.plan.finish


def test_deeper_edge_changes_strip_and_edge_amounts_only(galley: Working, galley_text: str) -> None:
    deep = changed(galley_text, ('drop = "40 mm"', 'drop = "60 mm"'))
    for now, was in zip(deep.surfaces, galley.plan.surfaces, strict=True):
        assert now.face_m2 == was.face_m2
        assert now.runs_m == was.runs_m
    legs = {s.name: s for s in deep.surfaces}
    were = {s.name: s for s in galley.plan.surfaces}
    for name in ("leg-a", "leg-b"):
        run = legs[name].runs_m["free"]
        assert legs[name].strip_m2 - were[name].strip_m2 == pytest.approx(0.020 * run, rel=0.02)
    assert legs["table"].strip_m2 == were["table"].strip_m2
    for now, was in zip(deep.coats, galley.plan.coats, strict=True):
        assert now.face_mL == pytest.approx(was.face_mL, rel=1e-12)
        if now.side == "face":
            assert now.edge_mL > was.edge_mL
        else:  # a film on the back ends flush: nothing of it lies on an edge
            assert now.edge_mL == was.edge_mL == 0.0


def test_ratio_stated_in_the_job_file_wins(galley: Working, galley_text: str) -> None:
    now = changed(
        galley_text,
        ('[flood]\nresin = "resin-coating-1to1"',
         '[flood]\nresin = "resin-coating-1to1"\nratio = "2:1"'),
    )  # fmt: skip
    flood = now.faces[1]
    assert flood.a_total_mL / flood.b_total_mL == pytest.approx(2.0, rel=1e-6)
    assert now.faces[0].a_total_mL == galley.plan.faces[0].a_total_mL


def test_other_resin_ratio_changes_a_and_b_not_the_sum(galley: Working, tmp_path: Path) -> None:
    products = tmp_path / "products.toml"
    products.write_text(
        '[[material]]\nid = "resin-coating-1to1"\n[material.facts]\nratio_by_volume = "3:2"\n',
        encoding="utf-8",
    )
    text = (EXAMPLES / "galley.toml").read_text(encoding="utf-8")
    text = text.replace("seed = 17", f'seed = 17\nproducts = ["{products}"]')
    now = plan_job(read_job(text), EXAMPLES)
    was = galley.plan
    flood, flooded = now.faces[1], was.faces[1]
    assert flood.a_total_mL / flood.b_total_mL == pytest.approx(1.5, rel=1e-6)
    assert flooded.a_total_mL / flooded.b_total_mL == pytest.approx(1.0, rel=1e-6)
    # what stays on a cup's wall hangs on the mix's density, which the ratio changes a little
    assert flood.mix_total_mL == pytest.approx(flooded.mix_total_mL, rel=1e-3)
    assert now.faces[0].a_total_mL == was.faces[0].a_total_mL


def test_measured_temperature_replans_what_follows(galley: Working, galley_text: str) -> None:
    pour = next(s for d in galley.plan.days for s in d.steps if s.id == "colour-mix-1")
    day = datetime.fromisoformat(pour.starts).date() - galley.ctx.job.site.start
    warm = changed(
        galley_text,
        ("wood_moisture = 9.0",
         f'measured = [{{ day = {day.days}, at = "08:00", temperature = "26 degC" }}]'),
    )  # fmt: skip
    assert warm.faces[0].pour_within_min.p50 < galley.plan.faces[0].pour_within_min.p50


def test_steps_that_happened_stay(galley: Working) -> None:
    job = load_job(EXAMPLES / "galley.toml")
    done = {"core-cut": (9 * 3600.0, 12 * 3600.0)}
    plan = plan_job(job, EXAMPLES, done=done)
    step = next(s for d in plan.days for s in d.steps if s.id == "core-cut")
    assert step.done and step.starts.endswith("09:00:00")


def test_progress_is_told_and_can_cancel() -> None:
    class Stop(Exception):
        pass

    told: list[float] = []

    def tell(share: float, _words: str) -> None:
        told.append(share)
        if share > 0.2:
            raise Stop

    with pytest.raises(Stop):
        plan_job(load_job(EXAMPLES / "galley.toml"), EXAMPLES, tell=tell)
    assert told == sorted(told)
