"""What every part of a plan shares: the job, its materials, its survey, its air and its draws."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Draws
from pourwright.catalogue import Catalogue, Material
from pourwright.catalogue import load as load_catalogue
from pourwright.cure import AirHistory
from pourwright.day import WorkHours
from pourwright.errors import InputError
from pourwright.plan.job import Job
from pourwright.survey import Survey, build_survey
from pourwright.words import say

DAY_S = 86400.0
FADE_S = 12 * 3600.0
"""How fast a measured difference from the forecast fades [s] (common practice: half a day)."""
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True)
class Context:
    """One job being planned; everything is computed when first asked for.

    `folder` [-] is where the job file stands, for the files it names.
    """

    job: Job
    folder: Path = Path()

    @cached_property
    def catalogue(self) -> Catalogue:
        """Generic materials with the user's own products over them."""
        return load_catalogue([self.folder / p for p in self.job.products])

    @cached_property
    def forgotten(self) -> dict[str, tuple[float, float, float]]:
        """Kept answers of `coats.safe_if_forgotten` [kg], by resin."""
        return {}

    @cached_property
    def draws(self) -> Draws:
        """Common random numbers of this job."""
        return Draws(self.job.seed, self.job.samples)

    @cached_property
    def survey(self) -> Survey:
        """The checked surfaces."""
        return build_survey(self.job.surfaces)

    @cached_property
    def hours(self) -> WorkHours:
        """When the crew works."""
        h = self.job.site.hours
        return WorkHours(
            h.from_,
            h.to,
            tuple(sorted(WEEKDAYS.index(d) for d in h.weekdays)),
            self.job.site.start,
            frozenset((d - self.job.site.start).days for d in self.job.site.lost),
        )

    @cached_property
    def forecast(self) -> AirHistory:
        """Air temperature over time [K], seconds since the first midnight, as forecast."""
        air = self.job.site.air
        if not air.hourly:
            assert air.coolest is not None and air.warmest is not None
            return AirHistory.day_and_night(
                air.coolest, air.warmest, air.coolest_at, air.warmest_at
            )
        points = sorted((p.day * DAY_S + p.at, p.temperature) for p in air.hourly)
        times = np.array([p[0] for p in points])
        if np.any(np.diff(times) <= 0):
            raise InputError(
                "site.air.hourly", "these points", "each moment stands once", "Remove the doubles."
            )
        one_day = times[-1] - times[0] < DAY_S
        return AirHistory(times, np.array([p[1] for p in points]), DAY_S if one_day else None)

    @cached_property
    def air(self) -> AirHistory:
        """The forecast, corrected by what the thermometer showed."""
        read = sorted((m.day * DAY_S + m.at, m.temperature) for m in self.job.site.measured)
        if not read:
            return self.forecast
        return self.forecast.with_readings(
            [r[0] for r in read], [r[1] for r in read], fade_s=FADE_S
        )

    def humidity_at(self, times_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Relative humidity [-] at `times_s` [s]: hourly points, or the vapour of a plain day.

        A plain day keeps the water vapour that its stated humidity means at its mean temperature.
        """
        from pourwright.air import humidity_at

        air = self.job.site.air
        given = sorted(
            (p.day * DAY_S + p.at, p.humidity) for p in air.hourly if p.humidity is not None
        )
        if given:
            period = DAY_S if given[-1][0] - given[0][0] < DAY_S else None
            return np.interp(
                times_s,
                np.array([g[0] for g in given]),
                np.array([g[1] for g in given], dtype=float),
                period=period,
            )
        mean = self.forecast.mean(0.0, DAY_S)
        return np.minimum(humidity_at(mean, air.humidity, self.air.at(times_s)), 1.0)

    @cached_property
    def primer_name(self) -> str:
        """The primer as it is bought [-]: its name, and the tint this job asks for; "" without one.

        Raises
        ------
        InputError
            A material that is no primer.
        """
        primer = self.job.primer
        if primer is None:
            return ""
        m = self.material(primer.material, "primer", "primer.material")
        if m.origin != "catalogue" or m.facts.get("tint") == "clear":
            return m.name
        t = primer.tint
        return say(
            "{name}, tinted white"
            if t == "white"
            else "{name}, tinted sand"
            if t == "sand"
            else "{name}, tinted grey"
            if t == "grey"
            else "{name}, tinted dark",
            name=m.name,
        )

    def material(self, ident: str, kind: str, field: str) -> Material:
        """Material `ident` [-] of `kind`, its place in the job file being `field`."""
        return self.catalogue.get(ident, kind, field)
