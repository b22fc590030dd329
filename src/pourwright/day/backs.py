"""The backs first: pieces face down, their film poured plain, turned over when it is hard.

Working times are common practice for one crew of two.
"""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.day.coats import ResinCoat, handle_lag, onto
from pourwright.day.model import After, Before, Lag, Step, fixed_lag, minutes, scaled
from pourwright.day.pour import TORCH_CAUTION, batch_steps
from pourwright.day.prepare import PrimerPlan
from pourwright.words import Amount, say

HEAT_AFTER_S = 300.0
"""When bubbles are helped out of a back film, after spreading [s] (common practice)."""
SPARE_S = 900.0
"""Waited beyond the cautious end before turning [s]: hours are planned to the quarter."""


@dataclass(frozen=True)
class BackSteps:
    """What the films on the backs take: coats in order, area [m2], length to tape [m], pieces [-].

    `primed` [-] says whether the bare board is primed once; `heated` [-] holds the ids of coats
    whose bubbles do not rise out by themselves; `heaviest` [-] and `heaviest_kg` [kg] are the piece
    that weighs most when it is turned, `two` [-] says that it takes two people.
    """

    coats: tuple[ResinCoat, ...]
    area_m2: float
    edge_m: float
    pieces: int
    heaviest: str
    heaviest_kg: float
    two: bool
    primed: bool = False
    heated: frozenset[str] = frozenset()


def back_steps(back: BackSteps, primer: PrimerPlan | None, after: tuple[After, ...]) -> list[Step]:
    """The steps from the bare backs to the pieces lying face up again.

    Parameters
    ----------
    back : BackSteps [m2, m, kg]
        Coats, areas and the heaviest piece.
    primer : PrimerPlan or None [s]
        The job's primer, one coat of it where the backs are primed.
    after : tuple of After [s]
        What the first step waits for.

    Returns
    -------
    list of Step [s]
        The last one turns the pieces over; faces wait for it. It waits until the last film can be
        handled, by its cautious end.
    """
    steps: list[Step] = []
    links = after
    if back.primed and primer is not None:
        steps.append(
            Step(
                "back-prime",
                "Prime the backs",
                "prime",
                scaled(3.0, 4.0, 6.0, back.area_m2, 10.0),
                say="Pieces face down; roll one thin even coat on the backs so that the board "
                "breathes no bubbles into the film.",
                after=links,
                hold=("dew-point",),
            )
        )
        links = (After("back-prime", primer.dry, primer.dry_text),)
    steps.append(
        Step(
            "back-mask",
            "Lay face down, dam the edges, level",
            "mask",
            scaled(2.0, 3.0, 5.0, back.edge_m, 15.0),
            say="Faces down on clean level battens with soft strips under them. Vacuum the backs; "
            "tape a dam flush round every edge and cut-out, so that the film ends there without a "
            "lip. Check with a long level both ways.",
            after=links,
            hold=("level",),
        )
    )
    for k, coat in enumerate(back.coats):
        steps += _pour(back, k, coat, After(steps[-1].id))
    last = back.coats[-1]
    steps.append(
        Step(
            "back-turn",
            "Turn the pieces over",
            "turn",
            scaled(4.0, 6.0, 9.0, back.pieces, 10.0),
            say=say(
                "Pull the tape, scrape the edges flush. The heaviest is {piece}, about {mass:.0f}. "
                "Two people, one at each end: up on the long edge on soft padding, change grip, "
                "down on its back. Under it clean felt or foam strips and no grit: what lies on "
                "grit is scratched."
                if back.two
                else "Pull the tape, scrape the edges flush. The heaviest is {piece}, about "
                "{mass:.0f}; one person can turn it. Under it clean felt or foam "
                "strips and no grit: what lies on grit is scratched.",
                piece=back.heaviest,
                mass=Amount(back.heaviest_kg, "kg"),
            ),
            after=(
                After(steps[-1].id),
                After(last.end_step, _hard(last), "the film on the backs is hard"),
            ),
            hold=("cup-release",),
            cautions=(
                "Lift from the legs, gloves on, fingers clear of the padding; call the turn "
                "aloud. A piece that two cannot hold easily needs a third or a trestle.",
                "Fresh resin dust sensitises: scrape and wet-sand edges, or extract; gloves, mask.",
            ),
        )
    )
    return steps


def _hard(coat: ResinCoat) -> Lag:
    def lag(finish_s: float) -> Spread:
        found = handle_lag(coat)(finish_s)
        return Spread(p05=found.p05, p50=found.p50, p95=found.p95 + SPARE_S)

    return lag


def _pour(back: BackSteps, k: int, coat: ResinCoat, link: After) -> list[Step]:
    """One pour on the backs; after the first it waits for the window of the one before."""
    before: tuple[Before, ...] = ()
    if k:
        link, before = onto(back.coats[k - 1], back.area_m2)
    group = f"pour-{coat.id}"
    steps = batch_steps(coat, link, before)
    end = steps[-1].id
    if coat.id in back.heated:
        steps.append(
            Step(
                f"{coat.id}-torch",
                say("{title}: warm the bubbles out", title=coat.title),
                "torch",
                minutes(2, 4, 6),
                say="The film thickens before its bubbles are up: one quick pass, flame or hot air "
                "moving, a hand's length above. Not for looks, only where bubbles show.",
                after=(After(end, fixed_lag(HEAT_AFTER_S), "bubbles begin to rise", False),),
                together=group,
                cautions=(TORCH_CAUTION,),
            )
        )
    steps.append(
        Step(
            f"{coat.id}-leave",
            say("{title}: gauge it, then walk away", title=coat.title),
            "leave",
            minutes(3, 5, 8),
            say="Looks do not count here, an even film does: put a wet-film gauge into it near "
            "each corner and in the middle, pull it even, close the doors, leave.",
            after=(After(steps[-1].id),),
            together=group,
        )
    )
    return steps
