"""What a job file says about quantities: films, losses, cups, crew, shades, sets, as models."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, model_validator

from pourwright.errors import InputError
from pourwright.mix.batch import Crew, Limits
from pourwright.mix.cups import Measuring
from pourwright.mix.ratio import Pigment, ResinRatio, resin_ratio
from pourwright.mix.sets import SetSize
from pourwright.mix.shades import Role, Shade
from pourwright.mix.volume import Loss, Uncertain
from pourwright.quantities.fields import (
    Coverage,
    Density,
    Duration,
    LineVolume,
    Mass,
    Mix,
    Money,
    QuantityModel,
    Rate,
    Share,
    Volume,
)
from pourwright.words import say

Name = Annotated[str, Field(min_length=1, max_length=40)]


def _ranged(value: float, band: tuple[float, float] | None, spread: float, field: str) -> Uncertain:
    if band is None:
        return Uncertain.of(value, spread)
    if not band[0] <= value <= band[1]:
        raise InputError(
            f"{field}_range",
            f"{band[0]:.6g}, {band[1]:.6g}",
            say("low and high lie round the value of {value:.6g} (SI units)", value=value),
            "Correct the range, or leave it out.",
        )
    return Uncertain(value, band[0], band[1])


class AmountSpec(QuantityModel):
    """How much of a coat lies where.

    `film` is the wet film on the face, as a thickness or a coverage ("0.95 mm", "3 fl oz/ft2");
    `edge_film` the mean film left on edge strips; `run_off` what drips off per length of free
    edge. The two last are computed from the resin when left out. A range is [low, high], the 5
    and 95 % points; without one 10 % to either side for the film, 30 % for the edge and 40 % for
    the run-off (common practice, order of magnitude).
    """

    film: Coverage
    film_range: tuple[Coverage, Coverage] | None = None
    edge_film: Coverage | None = None
    edge_film_range: tuple[Coverage, Coverage] | None = None
    run_off: LineVolume | None = None
    run_off_range: tuple[LineVolume, LineVolume] | None = None

    def films(
        self,
        edge_film: Uncertain | None = None,
        run_off: Uncertain | None = None,
    ) -> tuple[Uncertain, Uncertain, Uncertain]:
        """Film [m], edge film [m] and run-off [m3/m]; the arguments stand in for what is unsaid."""
        film = _ranged(self.film, self.film_range, 0.10, "film")
        if self.edge_film is not None:
            edge_film = _ranged(self.edge_film, self.edge_film_range, 0.30, "edge_film")
        if self.run_off is not None:
            run_off = _ranged(self.run_off, self.run_off_range, 0.40, "run_off")
        return film, edge_film or film, run_off or Uncertain.of(0.0)


class LossSpec(QuantityModel):
    """What never reaches the surface: a share of all that is mixed, and fixed amounts.

    Defaults are common practice: 5 %, 10 mL in brush or spreader per coat. Without a range the
    share runs from 0.4 to 2 times its value (5 %: 2 to 10 %), the others 50 % to either side.
    Without `per_cup` the plan computes what stays on the wall of each cup.
    """

    share: Share = 0.05
    share_range: tuple[Share, Share] | None = None
    per_cup: Volume | None = None
    per_cup_range: tuple[Volume, Volume] | None = None
    per_coat: Volume = 10e-6
    per_coat_range: tuple[Volume, Volume] | None = None

    def build(self, per_cup: Uncertain | None = None) -> Loss:
        """The losses [-, m3]; `per_cup` [m3] stands in when the job says nothing."""
        if self.per_cup is not None:
            per_cup = _ranged(self.per_cup, self.per_cup_range, 0.5, "per_cup")
        share = Uncertain(self.share, 0.4 * self.share, min(2.0 * self.share, 0.94))
        if self.share_range is not None:
            share = _ranged(self.share, self.share_range, 0.0, "share")
        return Loss(
            share,
            per_cup or Uncertain.of(0.0),
            _ranged(self.per_coat, self.per_coat_range, 0.5, "per_coat"),
        )


class CupSpec(QuantityModel):
    """Cups and scales at hand.

    `vessel` is the usable filling of the largest mixing cup, `largest` a ceiling on the mass in
    one cup (the plan computes a safe one from the resin and takes the smaller), `least` the
    smallest cup that mixes true. Divisions: `scale_step` of the scale, `mark` of the cup,
    `paste_step` of the fine scale for pigment.
    """

    vessel: Volume = 2e-3
    largest: Mass | None = None
    least: Volume = 30e-6
    measure_by: Literal["mass", "volume"] = "mass"
    scale_step: Mass = 1e-3
    mark: Volume = 10e-6
    paste_step: Mass = 0.1e-3

    def measuring(self) -> Measuring:
        """How amounts are read [kg, m3]."""
        return Measuring(self.measure_by, self.scale_step, self.mark, self.paste_step)

    def limits(
        self,
        pour_within_s: float,
        largest_cup_kg: float,
        spread_within_s: float = math.inf,
        wet_edge_within_s: float = math.inf,
    ) -> Limits:
        """Limits of a batch from these cups and from the resin's times [s] and safe mass [kg]."""
        largest = largest_cup_kg if self.largest is None else min(self.largest, largest_cup_kg)
        return Limits(
            pour_within_s, largest, self.vessel, self.least, spread_within_s, wet_edge_within_s
        )


class CrewSpec(QuantityModel):
    """Who works: people, time to mix one cup, pouring rate, time to spread one square metre.

    `clear_first`: A and B of a batch are mixed clear in as few buckets as are safe, shared out to
    the cups and tinted there (`tint_time` each); otherwise each cup is mixed on its own.

    Defaults are common practice in order of magnitude; time your own.
    """

    people: int = Field(default=1, ge=1, le=20)
    mix_time: Duration = 240.0
    pour_rate: Rate = 1e-3 / 60
    spread_time: Duration = 150.0
    clear_first: bool = False
    tint_time: Duration = 60.0

    def build(self) -> Crew:
        """The crew [-, s, m3/s, m2/s]."""
        if not self.spread_time > 0:
            raise InputError(
                "crew.spread_time", self.spread_time, "it is above 0 min", "Time your own."
            )
        return Crew(
            self.people,
            self.mix_time,
            self.pour_rate,
            1 / self.spread_time,
            self.clear_first,
            self.tint_time,
        )


class PasteSpec(QuantityModel):
    """A pigment paste in a shade: `load` by mass of mixed resin, its `limit` by the data sheet."""

    name: Name
    load: Share
    limit: Share | None = None
    density: Density = 1300.0

    def build(self) -> Pigment:
        """The pigment [-, kg/m3]."""
        return Pigment(self.name, self.load, self.limit, self.density)


class ShadePartSpec(QuantityModel):
    """A shade's part in a coat: `share` of the poured volume, role, pastes."""

    shade: Name
    share: Share
    role: Role = "field"
    pastes: list[PasteSpec] = Field(default_factory=list, max_length=12)

    def build(self) -> Shade:
        """The shade [-]."""
        return Shade(self.shade, self.share, self.role, tuple(p.build() for p in self.pastes))


class ResinRatioSpec(QuantityModel):
    """The mix ratio as the data sheet states it, by volume or by mass or both, and densities.

    `by_volume = "2:1"`, `by_mass = "100:43"`; parts of A first.
    """

    by_volume: Mix | None = None
    by_mass: Mix | None = None
    density_a: Density
    density_b: Density

    @model_validator(mode="after")
    def _basis(self) -> ResinRatioSpec:
        for name, ratio in (("volume", self.by_volume), ("mass", self.by_mass)):
            if ratio is not None and ratio.basis not in ("", name):
                raise InputError(
                    f"by_{name}",
                    str(ratio),
                    say("the text says by {basis}", basis=ratio.basis),
                    say("Write it under by_{basis}.", basis=ratio.basis),
                )
        return self

    def build(self) -> ResinRatio:
        """The checked ratio [-, kg/m3]."""
        volume, mass = (
            None if r is None else (float(r.a), float(r.b)) for r in (self.by_volume, self.by_mass)
        )
        return resin_ratio(self.density_a, self.density_b, volume, mass)


class SetSpec(QuantityModel):
    """A purchasable pack: A and B by volume or by mass, price, order rules."""

    name: Name
    a: Volume | None = None
    b: Volume | None = None
    a_mass: Mass | None = None
    b_mass: Mass | None = None
    price: Money | None = None
    least_order: int = Field(default=1, ge=1, le=100_000)
    most: int | None = Field(default=None, ge=0, le=100_000)

    def build(self, ratio: ResinRatio) -> SetSize:
        """The pack [m3, money]; masses by the ratio's densities."""
        return SetSize(
            self.name,
            _either(self.a, self.a_mass, ratio.density_a, f"set {self.name}, a"),
            _either(self.b, self.b_mass, ratio.density_b, f"set {self.name}, b"),
            None if self.price is None else float(self.price.amount),
            self.least_order,
            self.most,
        )


class ResinStock(QuantityModel):
    """A and B of one resin on the shelf and still within their date, by volume or by mass."""

    a: Volume | None = None
    b: Volume | None = None
    a_mass: Mass | None = None
    b_mass: Mass | None = None

    def build(self, ratio: ResinRatio) -> tuple[float, float]:
        """A and B in stock [m3]."""
        return (
            _either(self.a, self.a_mass, ratio.density_a, "stock, a"),
            _either(self.b, self.b_mass, ratio.density_b, "stock, b"),
        )


class StockSpec(ResinStock):
    """What is on the shelf, used first: of the job's first resin, or of each by its id (`of`)."""

    of: dict[str, ResinStock] = Field(default_factory=dict, max_length=20)

    def of_resin(self, resin: str, ratio: ResinRatio, first: bool) -> tuple[float, float]:
        """A and B of `resin` [m3]; `ratio` [-, kg/m3] gives densities, `first` [-] says whether it
        is the job's first resin, which the plain keys mean."""
        if resin in self.of:
            return self.of[resin].build(ratio)
        return self.build(ratio) if first else (0.0, 0.0)


def _either(volume: float | None, mass: float | None, density: float, field: str) -> float:
    if volume is not None and mass is not None:
        raise InputError(field, volume, "it is given by volume and by mass", "Keep one of the two.")
    if mass is not None:
        return mass / density
    return volume or 0.0


class MixSpec(QuantityModel):
    """How this job is mixed: cups, crew, losses, accepted risk of running short of a coat."""

    cups: CupSpec = CupSpec()
    crew: CrewSpec = CrewSpec()
    loss: LossSpec = LossSpec()
    risk: Share = 0.05
    vein_wait: Duration = 900.0
    stock: StockSpec = StockSpec()
