"""One facade: `plan_job(job)` turns a job into a plan."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pourwright.plan.advice import advice_of
from pourwright.plan.backs import back_windows
from pourwright.plan.cares import three_cares
from pourwright.plan.coats import CLEAR
from pourwright.plan.colours import shade_plans, with_doses
from pourwright.plan.context import Context
from pourwright.plan.core import CorePlan, plan_core
from pourwright.plan.days import Timed, drying, plan_days
from pourwright.plan.endurance import back_notes, endurance
from pourwright.plan.finish import score_notes
from pourwright.plan.hold_board import saw_checks
from pourwright.plan.holds import Hold, hold_points
from pourwright.plan.job import Job
from pourwright.plan.report import (
    coat_plan,
    day_plans,
    paint_plans,
    purchase_plans,
    surface_plans,
)
from pourwright.plan.result import HoldPlan, Plan, Provenance
from pourwright.words import say

Tell = Callable[[float, str], None]

CAUTIONS = (
    "Resin and hardener sensitise skin for life: gloves, covered arms, goggles, fresh air. "
    "The product's data sheet decides over every number here.",
    "A full cup heats itself and can smoke or burn. Pour out in time; spread what is left thin on "
    "scrap, outdoors.",
    "A torch is an open flame: no solvent, gas, aerosol or charging battery about; extinguisher at "
    "hand; keep it away from foam.",
    "Cutting and sanding dust harms lungs, and dust of half-cured resin sensitises: extract and "
    "wear a fitted mask.",
    "Finished tops are no cutting boards and no rest for hot pans; food contact only where the "
    "supplier states it for this mix and cure.",
)


@dataclass(frozen=True)
class Working:
    """A plan with what it was computed from, for pictures and papers."""

    ctx: Context
    timed: Timed
    core: CorePlan
    holds: list[Hold]
    plan: Plan


def plan_job(
    job: Job,
    folder: str | Path = ".",
    done: dict[str, tuple[float, float]] | None = None,
    tell: Tell | None = None,
) -> Plan:
    """Plan a whole job.

    Parameters
    ----------
    job : Job [SI]
        From `load_job`.
    folder : str or Path [-]
        Where files that the job names are looked for.
    done : dict of str to (float, float) or None [s]
        Steps that really happened, with start and finish since the first midnight; the rest is
        planned round them.
    tell : callable or None [-]
        Told the share done (0 to 1) and words for it; may raise to cancel.

    Returns
    -------
    Plan [unit-suffixed keys]

    Raises
    ------
    InputError
        A value of the job that cannot be used.
    """
    return work_out(job, folder, done, tell).plan


def work_out(
    job: Job,
    folder: str | Path = ".",
    done: dict[str, tuple[float, float]] | None = None,
    tell: Tell | None = None,
) -> Working:
    """As `plan_job` (`job` [SI], `folder` [-], `done` [s], `tell` [-]), with all it used [-]."""
    say = tell or (lambda _share, _words: None)
    ctx = Context(job, Path(folder))
    say(0.02, "reading materials and surfaces")
    _ = ctx.survey
    say(0.1, "cutting the core")
    core = plan_core(ctx)
    say(0.3, "putting the job on the clock")
    timed = plan_days(
        ctx,
        core.parts,
        core.cut_m,
        done,
        lambda share, words: say(0.3 + 0.4 * share, words),
        core.strips_kg(ctx),
    )
    say(0.75, "checking air, weight and endurance")
    holds = hold_points(ctx, timed)
    checks, weight, coupon = endurance(ctx, timed, core)
    if core.summary is not None:
        holds += [Hold("build-up", "core-cut", c) for c in saw_checks(checks)]
    shades = shade_plans(ctx, timed.poured)
    told = [*ctx.survey.warnings, *score_notes(ctx), *timed.warnings, *_notes(timed)]
    if not timed.backs:
        told += back_notes(ctx, timed)
    plan = Plan(
        name=job.name,
        job=job.to_document(),
        surfaces=surface_plans(ctx),
        totals={k: round(v, 9) for k, v in ctx.survey.totals().items()},
        coats=with_doses([coat_plan(ctx, timed, c) for c in timed.poured], shades),
        shades=shades,
        purchases=purchase_plans(ctx, timed),
        paints=paint_plans(ctx),
        days=day_plans(ctx, timed, holds),
        holds=[HoldPlan(key=h.key, step=h.step, check=h.check) for h in holds],
        checks=checks,
        weight=weight,
        coupon=coupon,
        cut=core.summary,
        cares=[],
        finish=ctx.hours.moment(timed.schedule.finish_s).isoformat(),
        serve=_serve(ctx, timed),
        warnings=list(dict.fromkeys(told)),
        cautions=list(CAUTIONS),
        provenance=_provenance(ctx, timed),
    )
    advice = advice_of([*plan.checks, *(h.check for h in plan.holds)])
    plan = plan.model_copy(update={"cares": three_cares(plan), "advice": advice})
    say(1.0, "done")
    return Working(ctx, timed, core, holds, plan)


def _serve(ctx: Context, timed: Timed) -> str | None:
    """Moment of full use: the last coat of resin and the topcoat both hard."""
    last = timed.coats[-1]
    window = timed.history(last.id).windows["full_service"]
    start = window.start()
    if start is None:
        return None
    ready = start.p95
    top = ctx.job.topcoat
    if top is not None:
        lacquer = ctx.material(top.material, "topcoat", "topcoat.material")
        done = timed.schedule.of(f"topcoat-{top.coats}").finish_s
        ready = max(ready, done + 24.0 * drying(ctx, lacquer, "serve_d")(done).p95)
    return ctx.hours.moment(ready).isoformat()


def _notes(timed: Timed) -> list[str]:
    from pourwright.cure import window_notes

    out: list[str] = []
    for c in timed.poured:
        history = timed.history(c.id)
        if c.back:
            found = {k: w for k, w in history.windows.items() if k in back_windows(c.covered)}
        else:
            bare = c.spec.vein_width is None  # no veins are laid in it: whether they could is idle
            found = {k: w for k, w in history.windows.items() if not (bare and k[:5] == "vein-")}
        out += [say("{coat}: {note}", coat=c.title, note=n) for n in window_notes(found)]
        out += [say("{coat}: {note}", coat=c.title, note=n) for n in history.film.warnings]
    return out


def _provenance(ctx: Context, timed: Timed) -> Provenance:
    from importlib.metadata import version

    from pourwright import __version__

    document = json.dumps(ctx.job.to_document(), sort_keys=True, ensure_ascii=False)
    used = {c.material.id: c.material for c in timed.poured}
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    used[core.id] = core
    for part in (s for c in timed.coats for s in c.spec.shades if s.shade != CLEAR):
        shade = ctx.material(part.shade, "shade", "shades")
        used[shade.id] = shade
    if ctx.job.primer is not None:
        primer = ctx.material(ctx.job.primer.material, "primer", "primer.material")
        used[primer.id] = primer
    return Provenance(
        pourwright=__version__,
        made_of={name: version(name) for name in ("numpy", "scipy", "pydantic", "shapely")},
        job_sha256=hashlib.sha256(document.encode()).hexdigest(),
        job_revision=ctx.job.revision,
        seed=ctx.job.seed,
        samples=ctx.job.samples,
        materials={k: m.sources() for k, m in used.items()},
        sources=[
            "cure: Horie kinetics, Castro-Macosko viscosity, DiBenedetto glass transition; "
            "docs/cure.md [published]",
            "levelling: Orchard 1962; veins and edges: docs/film.md [published]",
            "dew point: ASHRAE Fundamentals 2017 ch. 1; margin rule: ISO 8502-4 by analogy "
            "[published]",
            "working times, drying of primers: common practice [common practice]",
        ],
    )
