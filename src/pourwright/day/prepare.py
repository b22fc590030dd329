"""What comes before the pour: core, an old coat made ready, the sample board, primer.

Working times are common practice for one crew of two.
"""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.day.model import After, Lag, Step, minutes, scaled
from pourwright.day.pour import MIX_CAUTION
from pourwright.words import Amount, say


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
class BoardPlan:
    """The sample board: its cups [-] and mass [kg], the wait before its veins [s] (None without
    veins), its curing lag until it can be judged [s]."""

    cups: int
    mass_kg: float
    vein_wait_s: float | None
    hard: Lag


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
            scaled(2.0, 3.0, 5.0, amounts.parts + 0.5 * amounts.cut_m, 25.0),
            say=say(
                "Cut {parts} parts by the cut plan; mark each with its name. Keep the drop-outs: one "
                "of them is the sample board.",
                parts=amounts.parts,
            ),
            cautions=(dust,),
            hold=("board-moisture",),
        ),
        Step(
            "core-glue",
            "Glue up edges and joints",
            "build",
            scaled(4.0, 6.0, 9.0, amounts.strips, 15.0),
            say="Glue the strips and fronts on, clamp, wipe squeeze-out. Check the top is flat.",
            after=(After("core-cut"),),
        ),
        Step(
            "round-over",
            "Round over the free edges",
            "build",
            scaled(2.0, 3.0, 5.0, amounts.edge_m, 15.0),
            say="Rout the round-over on every free edge, fill pits, sand smooth, vacuum.",
            after=(After("core-glue", glue_lag, "glue and filler hard"),),
            cautions=(dust,),
        ),
    ]


def ready_steps(amounts: Amounts) -> list[Step]:
    """What is done first on a piece that is there already, with an old coat on it.

    Parameters
    ----------
    amounts : Amounts [m2]
        What sets the length of the work.

    Returns
    -------
    list of Step [s]
        Sanding matt and cleaning; working times are common practice.
    """
    return [
        Step(
            "ready-sand",
            "Sand the old coat matt",
            "sand",
            scaled(6.0, 9.0, 14.0, amounts.area_m2, 12.0),
            say="Sand to an even matt without shine, to sound resin round the fault, edges too; "
            "vacuum, wipe with the cleaner the data sheet names, let it dry.",
            cautions=("Never sand green resin: its dust sensitises. Extract, gloves, mask.",),
        )
    ]


def board_steps(
    board: BoardPlan, primer: PrimerPlan | None, after: After | None = None
) -> list[Step]:
    """The sample board: primed, poured like the job, judged when hard.

    Parameters
    ----------
    board : BoardPlan [kg, s]
        Cups, vein wait and curing lag.
    primer : PrimerPlan or None [-]
        Primer of the job, used on the board too.
    after : After or None [s]
        What the board waits for; None: nothing.

    Returns
    -------
    list of Step [s]
        The colour coat of the job waits for the last one.
    """
    steps: list[Step] = []
    wait, mass = board.vein_wait_s or 0.0, Amount(board.mass_kg * 1e3, "g")
    if board.vein_wait_s is None:
        said = say(
            "{cups} cups, {mass:.0f} in all. Same shares, same moves. Write down air temperature "
            "and times: the job is matched to them.",
            cups=board.cups,
            mass=mass,
        )
    else:
        said = say(
            "{cups} cups, {mass:.0f} in all. Same shares, same moves; veins {vein_wait:.0f} "
            "after spreading. Write down air temperature and times: the job is matched to them.",
            cups=board.cups,
            mass=mass,
            vein_wait=Amount(wait / 60, "min"),
        )
    links = (after,) if after is not None else ()
    if primer is not None:
        for k in range(1, primer.coats + 1):
            steps.append(
                Step(
                    f"board-prime-{k}",
                    say("Prime the sample board, coat {k}", k=k),
                    "prime",
                    minutes(5, 7, 12),
                    say="Same primer as the job, one thin coat.",
                    after=links,
                )
            )
            links = (After(f"board-prime-{k}", primer.dry, primer.dry_text),)
    steps.append(
        Step(
            "board-pour",
            "Pour the sample board",
            "board",
            Spread(p05=1500 + wait, p50=2100 + wait, p95=3000 + wait),
            say=said,
            after=links,
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


def primer_steps(amounts: Amounts, primer: PrimerPlan, first_after: str | None) -> list[Step]:
    """Primer coats with a light sanding between.

    Parameters
    ----------
    amounts : Amounts [m, m2, -]
        What sets the length of the work.
    primer : PrimerPlan [-]
        Number of coats and drying lag.
    first_after : str or None [-]
        The step after which priming may start; None: nothing.

    Returns
    -------
    list of Step [s]
        Two coats with light sanding between are common practice.
    """
    steps: list[Step] = []
    previous = (After(first_after),) if first_after is not None else ()
    for k in range(1, primer.coats + 1):
        steps.append(
            Step(
                f"primer-{k}",
                say("Primer coat {k}", k=k),
                "prime",
                scaled(3.0, 4.0, 6.0, amounts.area_m2, 10.0),
                say="Roll a thin even coat, edges first; no bare core may show."
                if k == 1
                else "Second thin coat, across the first.",
                after=previous,
                hold=("dew-point",),
            )
        )
        if k < primer.coats:
            steps.append(
                Step(
                    f"primer-sand-{k}",
                    "Sand lightly",
                    "sand",
                    scaled(2.0, 3.0, 5.0, amounts.area_m2, 8.0),
                    say="Knock the nibs off with fine paper, vacuum, wipe dry.",
                    after=(After(f"primer-{k}", primer.dry, primer.dry_text),),
                    cautions=("Wear a mask: paint dust.",),
                )
            )
            previous = (After(f"primer-sand-{k}"),)
    return steps
