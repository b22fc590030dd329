"""A shop's own rates: losses, run-off, working times, each a logarithm learned job by job.

A rate r has a prior (middle and spread of its logarithm), each job shows one value of it, jobs of
one shop differ by `BETWEEN`. Normal on the logarithm throughout, so the answer is closed form:
precision adds, and the next job's range holds both what is not yet known and what differs from job
to job (A. Gelman et al. 2013, Bayesian Data Analysis, ch. 5, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.calc import Spread
from pourwright.errors import InputError

Z95 = 1.6448536269514722
BETWEEN = 0.20  # sd of a rate's logarithm from job to job in one shop [-] (own value, from memory)


@dataclass(frozen=True)
class Seen:
    """A rate as one job showed it: value [unit of the rate], sd of its logarithm [-], which job."""

    value: float
    sd: float
    job: str


@dataclass(frozen=True)
class Rate:
    """A rate before and after: spreads [unit] for the next job, and the evidence.

    `key` names it, `title` says it in words, `mean_sd` [-] is how well the shop's own middle is
    known.
    """

    key: str
    title: str
    unit: str
    before: Spread
    after: Spread
    mean_sd: float
    seen: tuple[Seen, ...]

    @property
    def factor(self) -> float:
        """After over before, of the middles [-]."""
        return self.after.p50 / self.before.p50


def learn_rate(
    key: str, title: str, unit: str, before: Spread, seen: Sequence[Seen], between: float = BETWEEN
) -> Rate:
    """A rate after what jobs have shown.

    Parameters
    ----------
    key, title, unit : str [-]
        Name, words and unit.
    before : Spread [unit]
        What is taken without evidence, above 0.
    seen : sequence of Seen [unit]
        One value per job, above 0.
    between : float [-]
        Standard deviation of the logarithm from job to job.

    Returns
    -------
    Rate [unit]
        Without evidence it is as before.

    Raises
    ------
    InputError
        Values that are not above 0.
    """
    if not before.p50 > 0 or any(not s.value > 0 or not s.sd >= 0 for s in seen):
        raise InputError(key, before.p50, "a rate is above 0", "Check the entries of the record.")
    if not seen:
        return Rate(key, title, unit, before, before, _sd(before), ())
    # the prior's spread is that of the next job: part of it is the difference between jobs
    wide = max(_sd(before), 0.1)
    own = math.sqrt(max(wide**2 - between**2, (0.5 * wide) ** 2))
    weight = 1.0 / own**2
    middle = weight * math.log(before.p50)
    for s in seen:
        w = 1.0 / (between**2 + s.sd**2)
        weight += w
        middle += w * math.log(s.value)
    middle /= weight
    mean_sd = math.sqrt(1.0 / weight)
    out = math.sqrt(mean_sd**2 + between**2)
    after = Spread(
        p05=math.exp(middle - Z95 * out), p50=math.exp(middle), p95=math.exp(middle + Z95 * out)
    )
    return Rate(key, title, unit, before, after, mean_sd, tuple(seen))


def _sd(s: Spread) -> float:
    if s.p05 <= 0:
        return math.log(max(s.p95 / s.p50, 1.0 + 1e-9)) / Z95
    return math.log(max(s.p95 / s.p05, 1.0 + 1e-9)) / (2 * Z95)
