"""What the calculations of this room share: their inputs, and how these become resin and air."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, field_validator

from pourwright.calc import (
    CalcInput,
    CalcValue,
    Draws,
    Source,
    Spread,
    computed,
    from_memory,
    published,
)
from pourwright.calc import common_practice as practice
from pourwright.catalogue import Catalogue
from pourwright.cure.core import CoreLayer
from pourwright.cure.history import AirHistory
from pourwright.cure.reaction_heat import heat_of_mix
from pourwright.cure.resin import HIGHEST_K, LOWEST_K, Resin
from pourwright.cure.sheet import Kind, SheetLine
from pourwright.errors import InputError
from pourwright.words import Between, say

_Array = NDArray[np.float64]

KELVIN = 273.15

HORIE = from_memory(
    "Horie, Hiura, Sawada, Mita, Kambe 1970, J. Polym. Sci. A-1 8, 1357: (k1 + k2 a)(1 - a)(B - a)"
)
ENERGIES = published(
    "activation energies 44 to 70 kJ/mol: Riccardi et al. 1984; Barral et al. 1995, J. Appl. Polym."
    " Sci. 56, 1029; others in docs/cure.md"
)
THICKENING = from_memory("Castro and Macosko 1982, AIChE J. 28, 250: (ag/(ag - a))^(A + B a)")
GLASS = from_memory("Pascault and Williams 1990, J. Polym. Sci. B 28, 85: DiBenedetto relation")
GEL = published("gel by Flory and Stockmayer, delayed by loops: Tanaka, Stanford and Stepto 2009")
TACK = published("tack-free at a conversion of at least 0.60: Bashir 2023, Coatings 13, 592")
BALANCE = computed("heat balance of a cup or a layer, solved by pourwright.cure.march")
CONSTRUCTED = from_memory("rates of the generic classes are constructed, not a product")
CUP_CHECK = practice("cup release check")

EXOTHERM = (
    "Exotherm: mixed resin heats itself in a cup or a deep pour and may boil, smoke or burn. Pour "
    "out in time, never leave a full cup; the product's data sheet limits batch and depth."
)
SENSITISER = (
    "Uncured resin and hardener sensitise skin: gloves, ventilation, and the safety data sheet."
)
SOFT = "A film off-ratio stays soft whatever the clock says: test it before the next coat."
SERVICE = (
    "Hot pans, food contact and wet rooms: only as the product's data sheet and local rules allow, "
    "and only after full cure."
)
FLAME = (
    "Torch: open flame only with solvents and fresh vapour gone, the room aired and an "
    "extinguisher at hand; never dwell on one spot."
)


class SheetFigure(CalcInput):
    """One figure of a data sheet or shop log; give the key that fits its kind."""

    kind: Kind = Field(description="what the figure is")
    time_h: float | None = Field(default=None, gt=0, description="for times; text like '45 min'")
    reads_degC: float | None = Field(default=None, description="for peak, Tg and HDT")
    viscosity_mPa_s: float | None = Field(default=None, gt=0, description="for viscosity")
    heat_J_g: float | None = Field(default=None, gt=0, description="for heat of reaction")
    eew_g_mol: float | None = Field(default=None, gt=0, description="or EEW of part A, for heat")
    ahew_g_mol: float | None = Field(default=None, gt=0, description="and AHEW of part B")
    at_degC: float = Field(default=25.0, description="air temperature at which it holds")
    mass_g: float = Field(default=100.0, gt=0, description="mass in the cup, for cup figures")
    cured_d: float = Field(default=7.0, gt=0, description="cure before Tg or HDT was measured")
    spread_share: float | None = Field(
        default=None, gt=0, description="one standard deviation as a share [-]; usual if left out"
    )
    label: str = Field(default="", max_length=80, description="as you know the line")

    def line(self) -> SheetLine:
        """The figure in SI units."""
        value: float | None
        if self.kind == "viscosity":
            value = None if self.viscosity_mPa_s is None else self.viscosity_mPa_s / 1000.0
            need = "viscosity_mPa_s"
        elif self.kind in ("peak", "tg", "hdt"):
            value = None if self.reads_degC is None else self.reads_degC + KELVIN
            need = "reads_degC"
        elif self.kind == "heat":
            need = "heat_J_g, or eew_g_mol and ahew_g_mol"
            value = None if self.heat_J_g is None else self.heat_J_g * 1000.0
            if self.eew_g_mol is not None and self.ahew_g_mol is not None:
                value = float(heat_of_mix(self.eew_g_mol / 1000.0, self.ahew_g_mol / 1000.0))
        else:
            value = None if self.time_h is None else self.time_h * 3600.0
            need = "time_h"
        if value is None:
            raise InputError(
                f"sheet.{self.kind}",
                None,
                say("it needs {need}", need=need),
                say("Add {need} to this figure.", need=need),
            )
        return SheetLine(
            self.kind, value, self.at_degC + KELVIN, self.mass_g / 1000.0,
            self.cured_d * 86400.0, self.spread_share, self.label,
        )  # fmt: skip


class ResinInput(CalcInput):
    """Which resin: a class or product of the catalogue, narrowed by figures of its data sheet."""

    resin: str = Field(
        default="resin-coating-1to1", max_length=60, description="catalogue id of the resin"
    )
    sheet: list[SheetFigure] = Field(
        default_factory=list, max_length=40, description="figures of its data sheet, if known"
    )
    seed: int = Field(default=1, ge=0, le=10**9, description="of the common random numbers")
    sample_count: int = Field(default=200, ge=20, le=5000, description="number of samples [-]")

    def draws(self) -> Draws:
        """Common random numbers of this input."""
        return Draws(self.seed, self.sample_count)

    def samples(self) -> Resin:
        """The resin as samples."""
        material = Catalogue().get(self.resin)
        if material.kind != "resin":
            raise InputError(
                "resin",
                self.resin,
                say("it is a {kind}, not a mixed resin", kind=material.kind),
                "Name a resin.",
            )
        if not self.sheet:
            return Resin.from_material(material, self.draws())
        from pourwright.cure.fit import fit_sheet

        return fit_sheet([x.line() for x in self.sheet], material).samples(self.draws())


class AirInput(ResinInput):
    """Air: one temperature, or one per hour."""

    air_degC: float = Field(
        default=20.0, ge=-20, le=60, description="air temperature, if not hourly"
    )
    hourly_degC: list[float] = Field(
        default_factory=list, max_length=1000, description="air temperature each hour from hour 0"
    )
    repeat_day: bool = Field(default=False, description="24 hourly values that repeat each day")
    at_h: float = Field(
        default=0.0, ge=0, le=5000, description="hour of that list at which the resin is mixed"
    )
    air_error_K: float = Field(
        default=0.0, ge=0, le=10, description="forecast error, one standard deviation"
    )

    @field_validator("hourly_degC")
    @classmethod
    def _possible(cls, values: list[float]) -> list[float]:
        if any(not -20 <= v <= 60 for v in values):
            raise ValueError("each hour lies between -20 and 60 degC")
        return values

    def history(self) -> AirHistory:
        """The air as a history."""
        if not self.hourly_degC:
            if self.repeat_day:
                raise InputError(
                    "repeat_day", True, "it needs 24 hourly values", "Add them as hourly_degC."
                )
            return AirHistory.constant(self.air_degC + KELVIN)
        if self.repeat_day and len(self.hourly_degC) != 24:
            raise InputError(
                "hourly_degC",
                f"{len(self.hourly_degC)} values",
                "a repeating day has 24 hourly values",
                "Give 24, or leave repeat_day out.",
            )
        kelvin = [v + KELVIN for v in self.hourly_degC]
        return AirHistory.hourly(kelvin, 0.0, self.repeat_day)

    @property
    def start_s(self) -> float:
        """When the resin is mixed or poured [s]."""
        return self.at_h * 3600.0

    def offset(self) -> Any:
        """Samples of the forecast's error [K]."""
        if self.air_error_K == 0:
            return 0.0
        return self.air_error_K * self.draws().normal("cure.air_error")

    def notes(self) -> list[str]:
        """Warnings about the air."""
        air = self.history().at(self.start_s + np.linspace(0.0, 2 * 86400.0, 97))
        if air.min() < LOWEST_K or air.max() > HIGHEST_K:
            return [
                say(
                    "Air of {air:.0f}: the cure model is meant for {meant:g}.",
                    air=Between(air.min() - KELVIN, air.max() - KELVIN, "degC"),
                    meant=Between(5, 40, "degC"),
                )
            ]
        return []


class CorePart(CalcInput):
    """One board under the film."""

    core: str = Field(max_length=60, description="catalogue id of a core, e.g. mdf")
    thickness_mm: float = Field(gt=0, le=500, description="its thickness")

    def layer(self) -> CoreLayer:
        """The board in SI units."""
        return CoreLayer.from_material(Catalogue().get(self.core), self.thickness_mm / 1000.0)


class Moment(CalcValue):
    """A stage and when it comes, after the pour."""

    name: str
    after_h: float | None = Field(description="middle; none if not reached in the time looked at")
    early_h: float | None = Field(description="5 % point")
    late_h: float | None = Field(description="95 % point; none if not surely reached")


def hours(values: _Array, start_s: float = 0.0, cap_s: float = np.inf) -> Spread | None:
    """5/50/95 % points [h] of times [s] since `start_s`; None when mostly not reached."""
    v = np.asarray(values, dtype=float) - start_s
    if np.mean(np.isfinite(v)) <= 0.5:
        return None
    v = np.where(np.isfinite(v), v, cap_s if np.isfinite(cap_s) else v[np.isfinite(v)].max())
    return points(v / 3600.0)


def points(values: _Array) -> Spread:
    """5/50/95 % points of finite values [any unit]."""
    p = np.quantile(np.asarray(values, dtype=float), [0.05, 0.5, 0.95])
    return Spread(p05=float(p[0]), p50=float(p[1]), p95=float(p[2]))


def moment(name: str, values: _Array, start_s: float) -> Moment:
    """A stage from samples of its time [s]."""
    v = np.asarray(values, dtype=float) - start_s
    v = np.sort(v) / 3600.0

    def at(share: float) -> float | None:
        x = float(v[min(int(share * v.size), v.size - 1)])
        return x if np.isfinite(x) else None

    return Moment(name=name, after_h=at(0.5), early_h=at(0.05), late_h=at(0.95))


def sources_of(*listed: Source) -> tuple[Source, ...]:
    """Sources [-], with the mark of the generic classes at the end."""
    return (*listed, CONSTRUCTED)


Choice = Literal["clean", "tacky", "soft", "streaks"]
