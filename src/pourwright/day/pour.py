"""The minutes of a pour: batches one after another, spreading, edges, torch, veins, hands off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.day.model import After, Before, Lag, Step, minutes
from pourwright.words import Amount, say


@dataclass(frozen=True)
class CoatClock:
    """What a coat can do after it was poured; all lags [s] from the end of spreading.

    `torch` when bubbles are up and flow is left to close over them; `veins` the wait before fine
    veins; `hands_off` when nothing may touch it; `edges` until when edges may be pushed over;
    `recoat_opens`, `recoat_closes` bonding without sanding; `handle`, `light_use`, `serve`.
    """

    torch: Spread
    veins: Spread
    edges: Spread
    hands_off: Spread
    recoat_opens: Spread
    recoat_closes: Spread
    handle: Spread
    light_use: Spread
    serve: Spread


@dataclass(frozen=True)
class PourBatch:
    """One batch as the crew meets it: cups [-], mass [kg], area covered [m2], limits [s]."""

    id: str
    cups: int
    mass_kg: float
    area_m2: float
    pour_within_s: Spread
    what: str
    mix_s: Spread
    spread_s: Spread


@dataclass(frozen=True)
class VeinPlan:
    """Veins: how wide they shall end [m] and what is drizzled, in words."""

    width_m: float
    what: str


TORCH_CAUTION = (
    "Open flame: never with solvent, aerosol or gas about, never near foam or tape for long; "
    "extinguisher at hand; a heat gun is the calmer choice."
)
MIX_CAUTION = (
    "Resin and hardener sensitise skin: gloves and eyes covered. A full cup heats itself: pour it "
    "out in time, spread left-overs thin on scrap outdoors. The data sheet decides."
)


def batch_steps(
    coat_id: str,
    title: str,
    batches: tuple[PourBatch, ...],
    hold: tuple[str, ...],
    link: After,
    before: tuple[Before, ...],
) -> list[Step]:
    """Mixing and spreading of every batch of a coat, one after another in one go.

    Parameters
    ----------
    coat_id, title : str [-]
        Id and name of the coat.
    batches : tuple of PourBatch [kg, m2, s]
        In the order in which they are mixed.
    hold : tuple of str [-]
        Hold points before the first batch is mixed.
    link : After [s]
        What the pour waits for.
    before : tuple of Before [s]
        Windows that must still be open.

    Returns
    -------
    list of Step [s]
        The last one spreads the last batch.
    """
    group = f"pour-{coat_id}"
    steps: list[Step] = []
    previous = link
    for k, b in enumerate(batches):
        steps.append(
            Step(
                f"{coat_id}-mix-{k + 1}",
                say("{title}: mix batch {batch}", title=title, batch=b.id),
                "mix",
                b.mix_s,
                say=say(
                    "{cups} cups, {mass:.2f} in all: {what} Mix each 2 minutes, scrape sides and bottom, "
                    "stir again two or three times.",
                    cups=b.cups,
                    mass=Amount(b.mass_kg, "kg"),
                    what=b.what,
                ),
                after=(previous,),
                before=before if k == 0 else (),
                together=group,
                hold=hold if k == 0 else (),
                cautions=(MIX_CAUTION,),
            )
        )
        steps.append(
            Step(
                f"{coat_id}-spread-{k + 1}",
                say("{title}: pour and spread batch {batch}", title=title, batch=b.id),
                "pour",
                b.spread_s,
                say=say(
                    "About {area:.2f}. Out of the cups within {within:.0f} of mixing.",
                    area=Amount(b.area_m2, "m2"),
                    within=Amount(b.pour_within_s.p05 / 60, "min"),
                ),
                after=(After(f"{coat_id}-mix-{k + 1}"),),
                together=group,
            )
        )
        previous = After(f"{coat_id}-spread-{k + 1}")
    return steps


def pour_steps(
    coat_id: str,
    title: str,
    batches: tuple[PourBatch, ...],
    clock: Callable[[float], CoatClock],
    veins: VeinPlan | None,
    push_edges: bool,
    hold: tuple[str, ...],
    link: After,
    before: tuple[Before, ...],
) -> list[Step]:
    """The steps of pouring one coat, all in one go.

    Parameters
    ----------
    coat_id, title : str [-]
        Id and name of the coat.
    batches : tuple of PourBatch [kg, m2, s]
        In the order in which they are mixed.
    clock : callable [s -> CoatClock]
        From the clock time at which spreading ends to the coat's windows.
    veins : VeinPlan or None [m]
        Fine veins drizzled after a wait.
    push_edges : bool [-]
        Whether resin is pushed over free edges.
    hold : tuple of str [-]
        Hold points before the first batch is mixed.
    link : After [s]
        What the pour waits for.
    before : tuple of Before [s]
        Windows that must still be open.

    Returns
    -------
    list of Step [s]
        The last one is ``<coat_id>-leave``.
    """
    group = f"pour-{coat_id}"
    steps = batch_steps(coat_id, title, batches, hold, link, before)
    previous = After(steps[-1].id)
    end = previous.step
    if push_edges:
        steps.append(
            Step(
                f"{coat_id}-edges",
                say("{title}: push over the edges", title=title),
                "edges",
                minutes(4, 6, 10),
                say="Push a little resin over every free edge with a gloved finger or brush and "
                "cover the drop; wipe the lip underneath.",
                after=(After(end),),
                together=group,
            )
        )
        previous = After(f"{coat_id}-edges")
    steps.append(
        Step(
            f"{coat_id}-torch",
            say("{title}: torch bubbles", title=title),
            "torch",
            minutes(2, 4, 6),
            say="One quick pass, flame moving, a hand's length above; then look from the side.",
            after=(previous, After(end, _lag(clock, "torch"), "bubbles have risen", False)),
            together=group,
            cautions=(TORCH_CAUTION,),
        )
    )
    previous = After(f"{coat_id}-torch")
    if veins is not None:
        steps.append(
            Step(
                f"{coat_id}-veins",
                say("{title}: drizzle the veins", title=title),
                "veins",
                minutes(4, 7, 10),
                say=say(
                    "{what} Drizzled now they end about {width:.0f} wide.",
                    what=veins.what,
                    width=Amount(veins.width_m * 1e3, "mm"),
                ),
                after=(previous, After(end, _lag(clock, "veins"), "veins stay fine", False)),
                together=group,
            )
        )
        previous = After(f"{coat_id}-veins")
    steps.append(
        Step(
            f"{coat_id}-leave",
            say("{title}: last look, then walk away", title=title),
            "leave",
            minutes(3, 5, 8),
            say="Pick out hairs and insects, wipe drips below the edge, close the doors, leave.",
            after=(previous,),
            together=group,
        )
    )
    return steps


def _lag(clock: Callable[[float], CoatClock], name: str) -> Lag:
    def lag(finish_s: float) -> Spread:
        return getattr(clock(finish_s), name)

    return lag
