"""The usual steps of a job, from its build-up: what follows what, and what each waits for.

Working times are common practice for one crew of two, as ranges; the plan scales them with areas,
lengths and counts, and the record later replaces them with the shop's own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.day.model import After, Before, Lag, Step, fixed_lag, minutes
from pourwright.day.pour import MIX_CAUTION, CoatClock, PourBatch, VeinPlan, pour_steps

H = 3600.0


@dataclass(frozen=True)
class Amounts:
    """What sets the length of the work: areas [m2], lengths [m] and counts [-]."""

    area_m2: float
    edge_m: float
    joint_m: float
    parts: int
    cut_m: float
    strips: int
    surfaces: int


@dataclass(frozen=True)
class PrimerPlan:
    """Primer coats: how many [-], drying time of one coat as a lag [s]."""

    coats: int
    dry: Lag
    dry_text: str


@dataclass(frozen=True)
class ResinCoat:
    """A poured coat: its name, batches, veins, and the clock that gives its windows."""

    id: str
    title: str
    batches: tuple[PourBatch, ...]
    clock: Callable[[float], CoatClock]
    veins: VeinPlan | None = None
    push_edges: bool = False
    hold: tuple[str, ...] = ()

    @property
    def end_step(self) -> str:
        """Id [-] of the step at whose end the coat's clock starts: the last spreading."""
        return f"{self.id}-spread-{len(self.batches)}"


@dataclass(frozen=True)
class TopcoatPlan:
    """A brushed or rolled topcoat: number of coats [-] and lags [s]."""

    title: str
    coats: int
    between: Lag
    solvent: bool


@dataclass(frozen=True)
class BoardPlan:
    """The sample board: its cups [-] and mass [kg], the wait before its veins [s], its curing lag
    until it can be judged [s]."""

    cups: int
    mass_kg: float
    vein_wait_s: float
    hard: Lag


@dataclass(frozen=True)
class JobSteps:
    """Everything the usual steps need to know about a job."""

    amounts: Amounts
    primer: PrimerPlan | None
    coats: tuple[ResinCoat, ...]
    topcoat: TopcoatPlan | None
    glue_lag: Lag
    serve: Callable[[float], Spread]
    board: BoardPlan | None = None


def _scaled(low: float, mid: float, high: float, amount: float, fixed: float) -> Spread:
    return minutes(fixed + low * amount, fixed + mid * amount, fixed + high * amount)


def build_steps(amounts: Amounts, glue_lag: Lag) -> list[Step]:
    """Core, glue, round-over and filling.

    Parameters
    ----------
    amounts : Amounts [m, m2, -]
        What sets the length of the work.
    glue_lag : callable [s -> s]
        How long glue and filler need before they can be worked.

    Returns
    -------
    list of Step [s]
        Working times are common practice.
    """
    dust = "Board dust harms the lungs: extract at the tool, wear a fitted P2 or P3 mask."
    return [
        Step(
            "core-cut",
            "Cut the core",
            "build",
            _scaled(2.0, 3.0, 5.0, amounts.parts + 0.5 * amounts.cut_m, 25.0),
            say=f"Cut {amounts.parts} parts by the cut plan; mark each with its name. "
            "Keep the drop-outs: one of them is the sample board.",
            cautions=(dust,),
            hold=("board-moisture",),
        ),
        Step(
            "core-glue",
            "Glue up edges and joints",
            "build",
            _scaled(4.0, 6.0, 9.0, amounts.strips, 15.0),
            say="Glue the strips and fronts on, clamp, wipe squeeze-out. Check the top is flat.",
            after=(After("core-cut"),),
        ),
        Step(
            "round-over",
            "Round over the free edges",
            "build",
            _scaled(2.0, 3.0, 5.0, amounts.edge_m, 15.0),
            say="Rout the round-over on every free edge, fill pits, sand smooth, vacuum.",
            after=(After("core-glue", glue_lag, "glue and filler hard"),),
            cautions=(dust,),
        ),
    ]


def board_steps(board: BoardPlan, primer: PrimerPlan | None) -> list[Step]:
    """The sample board: primed, poured like the job, judged when hard.

    Parameters
    ----------
    board : BoardPlan [kg, s]
        Cups, vein wait and curing lag.
    primer : PrimerPlan or None [-]
        Primer of the job, used on the board too.

    Returns
    -------
    list of Step [s]
        The colour coat of the job waits for the last one.
    """
    steps: list[Step] = []
    link = After("core-cut")
    if primer is not None:
        for k in range(1, primer.coats + 1):
            steps.append(
                Step(
                    f"board-prime-{k}",
                    f"Prime the sample board, coat {k}",
                    "prime",
                    minutes(5, 7, 12),
                    say="Same primer as the job, one thin coat.",
                    after=(link,),
                )
            )
            link = After(f"board-prime-{k}", primer.dry, primer.dry_text)
    steps.append(
        Step(
            "board-pour",
            "Pour the sample board",
            "board",
            Spread(
                p05=1500 + board.vein_wait_s,
                p50=2100 + board.vein_wait_s,
                p95=3000 + board.vein_wait_s,
            ),
            say=f"{board.cups} cups, {board.mass_kg * 1e3:.0f} g in all. Same shares, same moves; "
            f"veins {board.vein_wait_s / 60:.0f} min after spreading. Write down air temperature "
            "and times: the job is matched to them.",
            after=(link,),
            cautions=(MIX_CAUTION,),
        )
    )
    steps.append(
        Step(
            "board-agree",
            "Agree the look on the board",
            "agree",
            minutes(15, 25, 40),
            say="Client signs the back of the board. Keep a copy with the job.",
            after=(After("board-pour", board.hard, "the board is hard"),),
            hold=("board",),
        )
    )
    return steps


def primer_steps(amounts: Amounts, primer: PrimerPlan, first_after: str) -> list[Step]:
    """Primer coats with a light sanding between.

    Parameters
    ----------
    amounts : Amounts [m, m2, -]
        What sets the length of the work.
    primer : PrimerPlan [-]
        Number of coats and drying lag.
    first_after : str [-]
        The step after which priming may start.

    Returns
    -------
    list of Step [s]
        Two coats with light sanding between are common practice.
    """
    steps: list[Step] = []
    previous = After(first_after)
    for k in range(1, primer.coats + 1):
        steps.append(
            Step(
                f"primer-{k}",
                f"Primer coat {k}",
                "prime",
                _scaled(3.0, 4.0, 6.0, amounts.area_m2, 10.0),
                say="Roll a thin even coat, edges first; no bare core may show."
                if k == 1
                else "Second thin coat, across the first.",
                after=(previous,),
                hold=("dew-point",),
            )
        )
        if k < primer.coats:
            steps.append(
                Step(
                    f"primer-sand-{k}",
                    "Sand lightly",
                    "sand",
                    _scaled(2.0, 3.0, 5.0, amounts.area_m2, 8.0),
                    say="Knock the nibs off with fine paper, vacuum, wipe dry.",
                    after=(After(f"primer-{k}", primer.dry, primer.dry_text),),
                    cautions=("Wear a mask: paint dust.",),
                )
            )
            previous = After(f"primer-sand-{k}")
    return steps


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
    steps = build_steps(a, job.glue_lag)
    if job.board is not None:
        steps += board_steps(job.board, job.primer)
    last = After("round-over")
    if job.primer is not None:
        steps += primer_steps(a, job.primer, "round-over")
        last = After(f"primer-{job.primer.coats}", job.primer.dry, job.primer.dry_text)
    steps.append(
        Step(
            "mask",
            "Mask, level and protect",
            "mask",
            _scaled(4.0, 6.0, 9.0, a.edge_m + a.joint_m, 20.0),
            say="Tape below the free edges for drips, dam walls and cut-outs, sheet the floor, "
            "level the tops and check with a long level both ways.",
            after=(last,),
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
            was = job.coats[k - 1]
            link = After(was.end_step, _opens(was), "the coat below bonds without sanding")
            before = (
                Before(was.end_step, _closes(was), "it bonds without sanding", _sand(was, a)),
            )
        group = pour_steps(
            coat.id,
            coat.title,
            coat.batches,
            coat.clock,
            coat.veins,
            coat.push_edges,
            coat.hold,
            link,
            before,
        )
        steps += group
        previous = group[-1].id
    if job.topcoat is not None:
        steps += _topcoat_steps(job, previous)
        previous = steps[-1].id
    steps.append(
        Step(
            "unmask",
            "Unmask and trim drips",
            "finish",
            _scaled(3.0, 4.0, 7.0, a.edge_m + a.joint_m, 10.0),
            say="Pull the tape, cut or sand the drip line under the edge, clean up.",
            after=(
                After(previous),
                After(last_coat.end_step, _handle(last_coat), "it can be handled"),
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
            after=(After("unmask"), After(last_coat.end_step, _light(last_coat), "light use")),
        )
    )
    return steps


def _topcoat_steps(job: JobSteps, previous: str) -> list[Step]:
    assert job.topcoat is not None
    out: list[Step] = []
    coat = job.coats[-1]
    link = After(coat.end_step, _handle(coat), "the coat below is hard enough to sand")
    vapour = (
        "Solvent vapour: no flame or torch, ventilate by the numbers on the air page, "
        "and wear what the data sheet asks for."
    )
    for k in range(1, job.topcoat.coats + 1):
        out.append(
            Step(
                f"topcoat-{k}",
                f"{job.topcoat.title}, coat {k}",
                "topcoat",
                _scaled(5.0, 7.0, 10.0, job.amounts.area_m2, 20.0),
                say="Sand matt all over, vacuum, tack off, then one thin even coat."
                if k == 1
                else "One more thin coat in the other direction.",
                after=(link,),
                hold=("dew-point", "vapour") if job.topcoat.solvent else ("dew-point",),
                cautions=(vapour,) if job.topcoat.solvent else (),
            )
        )
        link = After(f"topcoat-{k}", job.topcoat.between, "topcoat dry")
    return out


def _lag(coat: ResinCoat, name: str) -> Lag:
    def lag(finish_s: float) -> Spread:
        clock = coat.clock(finish_s)
        return getattr(clock, name)

    return lag


def _opens(coat: ResinCoat) -> Lag:
    return _lag(coat, "recoat_opens")


def _closes(coat: ResinCoat) -> Lag:
    return _lag(coat, "recoat_closes")


def _handle(coat: ResinCoat) -> Lag:
    return _lag(coat, "handle")


def _light(coat: ResinCoat) -> Lag:
    return _lag(coat, "light_use")


def _sand(coat: ResinCoat, amounts: Amounts) -> Step:
    return Step(
        f"{coat.id}-sand",
        f"Sand the {coat.title.lower()}",
        "sand",
        _scaled(5.0, 8.0, 12.0, amounts.area_m2, 10.0),
        say="the window for bonding without sanding closes before the crew is back: "
        "sand matt all over, vacuum, wipe with the cleaner the data sheet names.",
        after=(After(coat.end_step, _handle(coat), "hard enough to sand"),),
        cautions=("Never sand green resin: its dust sensitises. Extract, gloves, mask.",),
    )


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
]
