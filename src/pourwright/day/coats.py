"""A poured coat as the day sees it: batches, clock, the lags read off it, sanding in between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.day.model import After, Before, Lag, Step, scaled
from pourwright.words import say


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


def clock_lag(coat: ResinCoat, name: str) -> Lag:
    """From the end of spreading of `coat` [-] until what its clock calls `name` [-], in [s]."""

    def lag(finish_s: float) -> Spread:
        clock = coat.clock(finish_s)
        return getattr(clock, name)

    return lag


def opens_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until bonding without sanding opens [s]."""
    return clock_lag(coat, "recoat_opens")


def closes_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until bonding without sanding closes [s]."""
    return clock_lag(coat, "recoat_closes")


def handle_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until it can be handled [s]."""
    return clock_lag(coat, "handle")


def light_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until light use [s]."""
    return clock_lag(coat, "light_use")


def sand_step(coat: ResinCoat, area_m2: float) -> Step:
    """Sanding `coat` matt over `area_m2` [m2] where its window has closed [s]."""
    return Step(
        f"{coat.id}-sand",
        say("Sand the {coat:l}", coat=coat.title),
        "sand",
        scaled(5.0, 8.0, 12.0, area_m2, 10.0),
        say="the window for bonding without sanding closes before the crew is back: "
        "sand matt all over, vacuum, wipe with the cleaner the data sheet names.",
        after=(After(coat.end_step, handle_lag(coat), "hard enough to sand"),),
        cautions=("Never sand green resin: its dust sensitises. Extract, gloves, mask.",),
    )


def onto(was: ResinCoat, area_m2: float) -> tuple[After, tuple[Before, ...]]:
    """What the pour on a coat waits for, and until when it may begin.

    Parameters
    ----------
    was : ResinCoat [s]
        The coat below.
    area_m2 : float [m2]
        What is sanded where its window has closed before the crew is back.

    Returns
    -------
    tuple of After and tuple of Before [s]
    """
    return After(was.end_step, opens_lag(was), "the coat below bonds without sanding"), (
        Before(was.end_step, closes_lag(was), "it bonds without sanding", sand_step(was, area_m2)),
    )
