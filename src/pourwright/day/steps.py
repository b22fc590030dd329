"""The usual steps of a job, from its build-up: what follows what, and what each waits for.

Working times are common practice for one crew of two, as ranges; the plan scales them with areas,
lengths and counts, and the record later replaces them with the shop's own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.day.backs import BackSteps, back_steps
from pourwright.day.coats import ResinCoat, handle_lag, light_lag, onto
from pourwright.day.model import After, Before, Lag, Step, fixed_lag, minutes, scaled
from pourwright.day.pour import pour_steps
from pourwright.day.prepare import (
    Amounts,
    BoardPlan,
    PrimerPlan,
    board_steps,
    build_steps,
    primer_steps,
    ready_steps,
)
from pourwright.words import say


@dataclass(frozen=True)
class TopcoatPlan:
    """A brushed or rolled topcoat: number of coats [-] and lags [s]."""

    title: str
    coats: int
    between: Lag
    solvent: bool
    dry: Lag


@dataclass(frozen=True)
class JobSteps:
    """Everything the usual steps need to know about a job.

    `ready` [-] says that the core is made: nothing is cut; without primer the old coat is sanded.
    `back` [-] is what is poured on the backs before anything is done to the faces.
    """

    amounts: Amounts
    primer: PrimerPlan | None
    coats: tuple[ResinCoat, ...]
    topcoat: TopcoatPlan | None
    glue_lag: Lag
    serve: Callable[[float], Spread]
    board: BoardPlan | None = None
    ready: bool = False
    back: BackSteps | None = None


def job_steps(job: JobSteps) -> list[Step]:
    """All the steps of a job in order of importance.

    Parameters
    ----------
    job : JobSteps [-]
        Build-up and clocks of the job.

    Returns
    -------
    list of Step [s]
    """
    a = job.amounts
    steps = [] if job.ready else build_steps(a, job.glue_lag)
    if job.ready and job.primer is None:
        steps = ready_steps(a)
    last = (After(steps[-1].id),) if steps else ()
    if job.back is not None:
        steps += back_steps(job.back, job.primer, last)
        last = (After(steps[-1].id),)
    made = steps[-1].id if job.back is not None else "round-over"
    if job.board is not None:
        steps += board_steps(job.board, job.primer, None if job.ready else After("core-cut"))
    if job.primer is not None:
        steps += primer_steps(a, job.primer, None if job.ready else made)
        last = (After(f"primer-{job.primer.coats}", job.primer.dry, job.primer.dry_text),)
    steps.append(
        Step(
            "mask",
            "Mask, level and protect",
            "mask",
            scaled(4.0, 6.0, 9.0, a.edge_m + a.joint_m, 20.0),
            say="Tape below the free edges for drips, dam walls and cut-outs, sheet the floor, "
            "level the tops and check with a long level both ways.",
            after=last,
            hold=("level",),
        )
    )
    previous = "mask"
    last_coat = job.coats[-1]
    for k, coat in enumerate(job.coats):
        link = After(previous)
        before: tuple[Before, ...] = ()
        if k == 0 and job.board is not None:
            steps[-1] = steps[-1].later(After("board-agree", why="the client agreed the board"))
        if k:
            link, before = onto(job.coats[k - 1], a.area_m2)
        group = pour_steps(coat, link, before)
        steps += group
        previous = group[-1].id
    dry: tuple[After, ...] = ()
    if job.topcoat is not None:
        steps += _topcoat_steps(job, previous)
        previous = steps[-1].id
        dry = (After(previous, job.topcoat.dry, "topcoat dry enough to handle"),)
    steps.append(
        Step(
            "unmask",
            "Unmask and trim drips",
            "finish",
            scaled(3.0, 4.0, 7.0, a.edge_m + a.joint_m, 10.0),
            say="Pull the tape, cut or sand the drip line under the edge, clean up.",
            after=(
                *(dry or (After(previous),)),
                After(last_coat.end_step, handle_lag(last_coat), "it can be handled"),
            ),
            cautions=("Fresh resin dust sensitises: wet-sand or extract, gloves and mask on.",),
        )
    )
    steps.append(
        Step(
            "handover",
            "Hand over",
            "handover",
            minutes(30, 45, 60),
            say="Walk round with the client, hand over the care sheet, note the date of full use.",
            after=(After("unmask"), After(last_coat.end_step, light_lag(last_coat), "light use")),
        )
    )
    return steps


def _topcoat_steps(job: JobSteps, previous: str) -> list[Step]:
    assert job.topcoat is not None
    out: list[Step] = []
    coat = job.coats[-1]
    link = After(coat.end_step, handle_lag(coat), "the coat below is hard enough to sand")
    airing = (
        "A topcoat gives off vapour and its hardener can harm the lungs; sanding makes dust: air the "
        "room, wear the mask and gloves the data sheet names, no flame while it dries."
    )
    vapour = (
        "Solvent vapour: no flame or torch, ventilate by the numbers on the air page, "
        "and wear what the data sheet asks for."
    )
    for k in range(1, job.topcoat.coats + 1):
        out.append(
            Step(
                f"topcoat-{k}",
                say("{title}, coat {k}", title=job.topcoat.title, k=k),
                "topcoat",
                scaled(5.0, 7.0, 10.0, job.amounts.area_m2, 20.0),
                say="Sand matt all over, vacuum, tack off, then one thin even coat."
                if k == 1
                else "One more thin coat in the other direction.",
                after=(link,),
                hold=("dew-point", "vapour") if job.topcoat.solvent else ("dew-point",),
                cautions=(vapour,) if job.topcoat.solvent else (airing,),
            )
        )
        link = After(f"topcoat-{k}", job.topcoat.between, "topcoat dry")
    return out


__all__ = [
    "Amounts",
    "JobSteps",
    "PrimerPlan",
    "ResinCoat",
    "TopcoatPlan",
    "build_steps",
    "fixed_lag",
    "job_steps",
    "primer_steps",
    "ready_steps",
]
