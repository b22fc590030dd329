"""A poured coat as the day sees it: batches, clock, the lags read off it, sanding in between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.day.model import After, Lag, Step
from pourwright.day.pour import CoatClock, PourBatch, VeinPlan
from pourwright.day.prepare import scaled
from pourwright.words import say


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


def _lag(coat: ResinCoat, name: str) -> Lag:
    def lag(finish_s: float) -> Spread:
        clock = coat.clock(finish_s)
        return getattr(clock, name)

    return lag


def opens_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until bonding without sanding opens [s]."""
    return _lag(coat, "recoat_opens")


def closes_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until bonding without sanding closes [s]."""
    return _lag(coat, "recoat_closes")


def handle_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until it can be handled [s]."""
    return _lag(coat, "handle")


def light_lag(coat: ResinCoat) -> Lag:
    """From the end of spreading of `coat` [-] until light use [s]."""
    return _lag(coat, "light_use")


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
