"""The minutes of a pour: batches one after another, spreading, edges, torch, veins, hands off."""

from __future__ import annotations

from pourwright.day.coats import ResinCoat, clock_lag
from pourwright.day.model import After, Before, Step, minutes
from pourwright.words import Amount, say

TORCH_CAUTION = (
    "Open flame: never with solvent, aerosol or gas about, never near foam or tape for long; "
    "extinguisher at hand; a heat gun is the calmer choice."
)
MIX_CAUTION = (
    "Resin and hardener sensitise skin: gloves and eyes covered. A full cup heats itself: pour it "
    "out in time, spread left-overs thin on scrap outdoors. The data sheet decides."
)


def batch_steps(coat: ResinCoat, link: After, before: tuple[Before, ...]) -> list[Step]:
    """Mixing and spreading of every batch of a coat, one after another in one go.

    Parameters
    ----------
    coat : ResinCoat [kg, m2, s]
        Its batches in the order in which they are mixed, and what must hold before the first.
    link : After [s]
        What the pour waits for.
    before : tuple of Before [s]
        Windows that must still be open.

    Returns
    -------
    list of Step [s]
        The last one spreads the last batch.
    """
    group = f"pour-{coat.id}"
    steps: list[Step] = []
    previous = link
    for k, b in enumerate(coat.batches):
        steps.append(
            Step(
                f"{coat.id}-mix-{k + 1}",
                say("{title}: mix batch {batch}", title=coat.title, batch=b.id),
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
                hold=coat.hold if k == 0 else (),
                cautions=(MIX_CAUTION,),
            )
        )
        steps.append(
            Step(
                f"{coat.id}-spread-{k + 1}",
                say("{title}: pour and spread batch {batch}", title=coat.title, batch=b.id),
                "pour",
                b.spread_s,
                say=say(
                    "About {area:.2f}. Out of the cups within {within:.0f} of mixing.",
                    area=Amount(b.area_m2, "m2"),
                    within=Amount(b.pour_within_s.p05 / 60, "min"),
                ),
                after=(After(f"{coat.id}-mix-{k + 1}"),),
                together=group,
            )
        )
        previous = After(f"{coat.id}-spread-{k + 1}")
    return steps


def pour_steps(coat: ResinCoat, link: After, before: tuple[Before, ...]) -> list[Step]:
    """The steps of pouring one coat on the faces, all in one go.

    Parameters
    ----------
    coat : ResinCoat [kg, m2, s]
        Its batches, its clock, its veins, and whether resin is pushed over free edges.
    link, before : After, tuple of Before [s]
        As in `batch_steps`.

    Returns
    -------
    list of Step [s]
        The last one is ``<coat.id>-leave``.
    """
    group = f"pour-{coat.id}"
    steps = batch_steps(coat, link, before)
    previous = After(steps[-1].id)
    end = previous.step
    if coat.push_edges:
        steps.append(
            Step(
                f"{coat.id}-edges",
                say("{title}: push over the edges", title=coat.title),
                "edges",
                minutes(4, 6, 10),
                say="Push a little resin over every free edge with a gloved finger or brush and "
                "cover the drop; wipe the lip underneath.",
                after=(After(end),),
                together=group,
            )
        )
        previous = After(f"{coat.id}-edges")
    steps.append(
        Step(
            f"{coat.id}-torch",
            say("{title}: torch bubbles", title=coat.title),
            "torch",
            minutes(2, 4, 6),
            say="One quick pass, flame moving, a hand's length above; then look from the side.",
            after=(previous, After(end, clock_lag(coat, "torch"), "bubbles have risen", False)),
            together=group,
            cautions=(TORCH_CAUTION,),
        )
    )
    previous = After(f"{coat.id}-torch")
    if coat.veins is not None:
        steps.append(
            Step(
                f"{coat.id}-veins",
                say("{title}: drizzle the veins", title=coat.title),
                "veins",
                minutes(4, 7, 10),
                say=say(
                    "{what} Drizzled now they end about {width:.0f} wide.",
                    what=coat.veins.what,
                    width=Amount(coat.veins.width_m * 1e3, "mm"),
                ),
                after=(previous, After(end, clock_lag(coat, "veins"), "veins stay fine", False)),
                together=group,
            )
        )
        previous = After(f"{coat.id}-veins")
    steps.append(
        Step(
            f"{coat.id}-leave",
            say("{title}: last look, then walk away", title=coat.title),
            "leave",
            minutes(3, 5, 8),
            say="Pick out hairs and insects, wipe drips below the edge, close the doors, leave.",
            after=(previous,),
            together=group,
        )
    )
    return steps
