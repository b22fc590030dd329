"""What recorded jobs teach: kinetics of each resin, losses, run-off, working times; before, after.

Learning starts each time from the catalogue and all records given, so nothing is counted twice.
It never touches a job, a plan or a record: it writes a product file that new jobs may name under
`products`, and new job files. Taking the file out of `products` undoes it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from pourwright.calc import Draws, Spread, spread_of
from pourwright.catalogue import Catalogue, Material
from pourwright.catalogue import load as load_catalogue
from pourwright.cure import Resin
from pourwright.cure.forward import predict
from pourwright.cure.sheet import SheetLine
from pourwright.record.looks import DoneJob, sights_of
from pourwright.record.posterior import Posterior, group_sights, learn, own_prior
from pourwright.record.product import Learned, learned_properties, product_table
from pourwright.record.rates import Rate, Seen, learn_rate
from pourwright.record.sights import Sight
from pourwright.words import Amount, Own, say

SAMPLES = 300
STRAINED = 3.0  # chi-square per figure above which records and class fight [-]
CUP_KG = 0.5
RUN_OFF = {
    "colour": "colour coat: run-off over that computed",
    "flood": "flood coat: run-off over that computed",
}


@dataclass(frozen=True)
class Figure:
    """A time that a finisher cares for, before and after learning [s]."""

    title: str
    before: Spread
    after: Spread


@dataclass(frozen=True)
class ResinLesson:
    """What was learned of one resin: evidence in counts, figures at `degC` [degC], properties."""

    resin: str
    name: str
    degC: float
    jobs: int
    lots: int
    looks: int
    figures: tuple[Figure, ...]
    properties: tuple[Learned, ...]
    strain: float
    warnings: tuple[str, ...]
    table: dict[str, object]


@dataclass(frozen=True)
class Lessons:
    """All lessons of a set of jobs."""

    jobs: tuple[str, ...]
    resins: tuple[ResinLesson, ...]
    rates: tuple[Rate, ...]
    notes: tuple[str, ...] = field(default=())

    def rate(self, key: str) -> Rate | None:
        """The rate called `key` [-], None when nothing was seen of it."""
        return next((r for r in self.rates if r.key == key and r.seen), None)


def lessons_of(jobs: Sequence[DoneJob]) -> Lessons:
    """What recorded `jobs` [-] teach.

    Returns
    -------
    Lessons [SI]
        Resins with at least one look; rates with at least one job.
    """
    jobs = [untaught(j) for j in jobs]
    base = _base_catalogue(jobs)
    by_resin: dict[str, list[Sight]] = {}
    jobs_of: dict[str, set[str]] = {}
    notes: list[str] = []
    for j in jobs:
        changed = j.record.changed_by_hand()
        if changed:
            notes.append(
                say(
                    "{job}: entries {names} were changed outside Pourwright.",
                    job=Own(j.name),
                    names=Own(", ".join(changed[:5])),
                )
            )
        for resin, sights in sights_of(j).items():
            by_resin.setdefault(resin, []).extend(sights)
            jobs_of.setdefault(resin, set()).add(j.name)
    resins = tuple(
        _resin_lesson(base.get(r, "resin"), s, len(jobs_of[r])) for r, s in sorted(by_resin.items())
    )
    return Lessons(
        tuple(j.name for j in jobs), resins, tuple(r for r in _rates(jobs) if r.seen), tuple(notes)
    )


def untaught(done: DoneJob) -> DoneJob:
    """A recorded job `done` [-] held against the plan it would have had without learned values.

    So that a rate learned before is not counted again, nor taken as what was usual.
    """
    from pathlib import Path

    from pourwright.plan import work_out
    from pourwright.plan.load import job_from
    from pourwright.record.account import coat_accounts
    from pourwright.record.untaught import put_back

    job = done.planned.ctx.job
    if job.learned is None:
        return done
    doc = job.to_document()
    put_back(doc, job.learned.was)
    work = work_out(job_from(doc), Path(done.planned.ctx.folder))
    return replace(done, planned=work, accounts=coat_accounts(work, done.record))


def _base_catalogue(jobs: Sequence[DoneJob]) -> Catalogue:
    """The catalogue without anything learned before: evidence is counted once."""
    files = []
    for j in jobs:
        for name in j.planned.ctx.job.products:
            path = (j.planned.ctx.folder / name).resolve()
            known = load_catalogue([path])
            if path not in files and not any(
                "learned" in m.facts for k in known.kinds() for m in known.of_kind(k)
            ):
                files.append(path)
    return load_catalogue(files)


def _resin_lesson(material: Material, sights: list[Sight], jobs: int) -> ResinLesson:
    groups = group_sights(sights)
    post = learn(own_prior(material), groups)
    properties = learned_properties(post, material)
    kelvin = float(
        np.mean([s.air.mean(s.mixed_s, s.mixed_s + max(s.middle_s, 3600.0)) for s in sights])
    )
    evidence = (
        f"{len(sights)} stage{'s' if len(sights) != 1 else ''} seen, {len(groups)} "
        f"lot{'s' if len(groups) != 1 else ''}, {jobs} job{'s' if jobs != 1 else ''}"
    )
    strain = float(post.strain[0]) / len(sights)
    warnings = []
    if strain > STRAINED:
        at = int(np.argmax(np.abs(post.residuals[0])))
        worst = [s for g in groups for s in g.sights][at]
        warnings.append(
            say(
                "{resin}: the looks strain what is known of this class; '{look}' fits "
                "worst. Check thermometer, times and ratio before you rely on it.",
                resin=material.name,
                look=worst.label,
            )
        )
    span = max(s.air.mean(s.mixed_s, s.mixed_s + 3600.0) for s in sights) - min(
        s.air.mean(s.mixed_s, s.mixed_s + 3600.0) for s in sights
    )
    if span < 3.0:
        warnings.append(
            say(
                "{resin}: all looks were near {air:.0f}; in a much colder or "
                "warmer room the times stay as uncertain as the class.",
                resin=material.name,
                air=Amount(kelvin - 273.15, "degC"),
            )
        )
    facts = {"jobs": jobs, "looks": len(sights), "lots": len(groups), "evidence": evidence}
    note = (
        f"Rate and stages learned from this shop's own records ({evidence}). Take this file out of "
        "a job's products to undo it. The product's data sheet stays in force."
    )
    table = product_table(material, properties, facts, note)
    return ResinLesson(
        material.id, material.name, kelvin - 273.15, jobs, len(groups), len(sights),
        _figures(material, post, table, kelvin), tuple(properties), strain, tuple(warnings), table,
    )  # fmt: skip


def _figures(
    material: Material, post: Posterior, table: dict[str, object], kelvin: float
) -> tuple[Figure, ...]:
    lines = [
        (
            say("cup of {cup:.0f} gels", cup=Amount(CUP_KG * 1e3, "g")),
            SheetLine("cup_gel", 3600.0, kelvin, CUP_KG),
        ),
        ("film gels", SheetLine("film_gel", 4 * 3600.0, kelvin)),
        ("film is tack-free", SheetLine("tack_free", 5 * 3600.0, kelvin)),
        ("next coat bonds from", SheetLine("recoat_open", 4 * 3600.0, kelvin)),
        ("and until", SheetLine("recoat_close", 9 * 3600.0, kelvin)),
    ]
    draws = Draws(1, SAMPLES)
    was = predict(Resin.from_material(material, draws), [x for _, x in lines])
    now = predict(Resin.from_material(as_material(material, table), draws), [x for _, x in lines])
    return tuple(
        Figure(title, spread_of(was[:, k]), spread_of(now[:, k]))
        for k, (title, _) in enumerate(lines)
    )


def as_material(material: Material, table: dict[str, object]) -> Material:
    """`material` [-] with a learned `table` [-] over it, as a product file would give it."""
    from pourwright.catalogue.parse import properties_of

    facts = table.get("facts")
    return replace(
        material,
        properties={**material.properties, **properties_of(table, material.id, "user", "records")},
        facts={**material.facts, **(facts if isinstance(facts, dict) else {})},
        origin="user",
    )


def _rates(jobs: Sequence[DoneJob]) -> list[Rate]:
    out: list[Rate] = []
    # what stays in a cup
    seen = [
        Seen(max(a.left_per_cup_m3 * 1e6, 0.2), 0.25 / math.sqrt(max(a.weighed, 1)),
             f"{j.name}, {a.coat}")
        for j in jobs for a in j.accounts if a.left_per_cup_m3 is not None
    ]  # fmt: skip
    before = _cup_loss_before(jobs)
    if before is not None:
        out.append(learn_rate("loss.per_cup_mL", "stays in a cup", "mL", before, seen))
    seen = [
        Seen(max(a.tools / a.mixed * 100, 0.05), 0.2, f"{j.name}, {a.coat}")
        for j in jobs for a in j.accounts if a.tools is not None
    ]  # fmt: skip
    share = jobs[0].planned.ctx.job.mix.loss.build().share
    out.append(
        learn_rate(
            "loss.share_percent", "stays on tools and floor, of all mixed", "%",
            Spread(p05=100 * share.low, p50=100 * share.value, p95=100 * share.high), seen,
        )
    )  # fmt: skip
    for coat in ("colour", "flood"):
        ran = []
        for j in jobs:
            for a in j.accounts:
                plan = next(c for c in j.planned.plan.coats if c.id == a.coat)
                if a.coat == coat and a.ran_off is not None and plan.run_off_mL > 0:
                    boards = plan.boards_mL / max(plan.face_mL + plan.edge_mL, 1e-9)
                    expected = plan.run_off_mL * (1 - min(boards, 0.9))
                    ran.append(
                        Seen(max(a.ran_off / a.density * 1e6 / expected, 0.02), 0.15, j.name)
                    )
        out.append(
            learn_rate(
                f"run_off.{coat}", RUN_OFF[coat], "-",
                Spread(p05=0.6, p50=1.0, p95=1.4), ran,
            )
        )  # fmt: skip
    return out + _paces(jobs)


def _cup_loss_before(jobs: Sequence[DoneJob]) -> Spread | None:
    from pourwright.plan.coats import cup_loss

    found = []
    for j in jobs:
        spec = j.planned.ctx.job.mix.loss
        for c in j.planned.timed.poured:
            u = (
                spec.build().per_cup
                if spec.per_cup is not None
                else cup_loss(j.planned.ctx, c.resin, c.ratio, c.start_s)
            )
            found.append((u.low * 1e6, u.value * 1e6, u.high * 1e6))
    if not found:
        return None
    low, mid, high = np.mean(found, axis=0)
    return Spread(p05=float(low), p50=float(mid), p95=float(high)) if low > 0 else None


def _paces(jobs: Sequence[DoneJob]) -> list[Rate]:
    """Working time over the planned one, by kind of step."""
    from pourwright.record.happened import steps_done

    seen: dict[str, list[Seen]] = {}
    prior: dict[str, list[tuple[float, float]]] = {}
    for j in jobs:
        done = steps_done(j.record)
        sums: dict[str, list[float]] = {}
        for d in j.planned.plan.days:
            for s in d.steps:
                if s.id not in done or s.kind in ("leave", "agree") or s.work_min.p50 <= 0:
                    continue
                real = (done[s.id][1] - done[s.id][0]) / 60.0
                if s.kind == "board":  # its wait before the veins is no work
                    continue
                t = sums.setdefault(s.kind, [0.0, 0.0, 0.0])
                t[0] += real
                t[1] += s.work_min.p50
                t[2] += 1
                prior.setdefault(s.kind, []).append(
                    (s.work_min.p05 / s.work_min.p50, s.work_min.p95 / s.work_min.p50)
                )
        for kind, (real, planned, n) in sums.items():
            if real > 0:
                seen.setdefault(kind, []).append(Seen(real / planned, 0.15 / math.sqrt(n), j.name))
    out = []
    for kind, values in sorted(seen.items()):
        low, high = np.mean(prior[kind], axis=0)
        out.append(
            learn_rate(
                f"pace.{kind}", say("time for steps of kind '{kind}' over that planned", kind=kind), "-",
                Spread(p05=float(low), p50=1.0, p95=float(high)), values,
            )
        )  # fmt: skip
    return out
