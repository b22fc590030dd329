"""What a batch is: its limits, the crew, its cups and times."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pourwright.mix.cups import Bucket, Cup
from pourwright.mix.shades import LEAST_CUP_M3
from pourwright.mix.stretches import Stretch


@dataclass(frozen=True, slots=True)
class Limits:
    """What bounds a batch.

    `pour_within` [s]: from B meeting A until the cup must be empty; `largest_cup` [kg]: the
    largest safe mass in one cup; `vessel` [m3]: usable filling of the largest cup at hand;
    `least_cup` [m3]: smallest cup that mixes true; `spread_within` [s]: from the first resin on
    the surface until a batch must be spread; `wet_edge_within` [s]: longest wait between the
    pours of neighbouring stretches.
    """

    pour_within: float
    largest_cup: float
    vessel: float = 2e-3
    least_cup: float = LEAST_CUP_M3
    spread_within: float = math.inf
    wet_edge_within: float = math.inf


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works: `people` [-]; `mix_time` [s] per cup, scraping and stirring included;
    `pour_rate` [m3/s] and `spread_rate` [m2/s] of the one who pours.

    With `clear_first` A and B of a batch are mixed clear in as few buckets as are safe, shared
    out to the cups and tinted there, `tint_time` [s] each; otherwise each cup is mixed apart.

    Defaults are common practice in order of magnitude; time your own.
    """

    people: int = 1
    mix_time: float = 240.0
    pour_rate: float = 1.0e-3 / 60
    spread_rate: float = 0.4 / 60
    clear_first: bool = False
    tint_time: float = 60.0

    @property
    def mixers(self) -> int:
        """How many mix at once [-]: all but the one who pours, at least one."""
        return max(1, self.people - 1)


@dataclass(frozen=True, slots=True)
class Batch:
    """What is mixed at once: stretches, cups and times [s] from the start of the coat.

    `start`: B meets A in the first cup; `pour_start`, `pour_end`: on the surface; `spread_end`.
    `ready`: all cups are mixed. `buckets` hold the clear mix where it is mixed first.
    `kind` is ``field``, ``vein`` (small cups laid later) or ``board`` (the sample board, poured
    on its own before the job; its times start from zero).
    """

    name: str
    kind: str
    stretches: tuple[Stretch, ...]
    cups: tuple[Cup, ...]
    start: float
    pour_start: float
    pour_end: float
    spread_end: float
    ready: float = 0.0
    buckets: tuple[Bucket, ...] = ()

    @property
    def net(self) -> float:
        """What its stretches take of all shades [m3]."""
        return math.fsum(s.net for s in self.stretches)

    @property
    def volume(self) -> float:
        """What is mixed [m3]."""
        return math.fsum(c.volume for c in self.cups)

    @property
    def margin(self) -> float:
        """Time left in the cup with the least [s]; below 0 the plan does not hold."""
        return min((c.pour_by for c in self.cups), default=math.inf) - self.pour_end


@dataclass(frozen=True, slots=True)
class BatchPlan:
    """All batches of a coat in order, boards first; `feasible` is False if a limit is broken."""

    coat: str
    batches: tuple[Batch, ...]
    feasible: bool
    warnings: tuple[str, ...]

    @property
    def cups(self) -> tuple[Cup, ...]:
        """All cups in order."""
        return tuple(c for b in self.batches for c in b.cups)

    @property
    def volume(self) -> float:
        """All that is mixed [m3]."""
        return math.fsum(c.volume for c in self.cups)

    @property
    def spare(self) -> float:
        """What the least practical cup adds [m3]."""
        return math.fsum(c.spare for c in self.cups)

    def totals(self) -> dict[str, float]:
        """A and B [m3 and kg] and pigment [kg] over all cups, exact."""
        keys = ("a_volume", "b_volume", "a_mass", "b_mass", "pigment_mass", "mass", "volume")
        return {k: math.fsum(getattr(c.portion, k) for c in self.cups) for k in keys}

    def shades(self) -> dict[str, float]:
        """Volume mixed per shade [m3]."""
        out: dict[str, float] = {}
        for c in self.cups:
            out[c.shade] = out.get(c.shade, 0.0) + c.volume
        return out
