"""Mix ratio: A and B by volume and by mass, pigment inside its load limit, measuring error.

Volumes add on mixing (the contraction of a fresh epoxy mix is well under 1 %, common practice).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.calc import Draws, Spread

DISAGREE_SHARE = 0.02
"""Ratios by volume and by mass that differ by more than this are reported [-] (common practice:
data sheets round to whole parts)."""


@dataclass(frozen=True, slots=True)
class ResinRatio:
    """How A and B go together: volume of A per volume of B [-] and densities [kg/m3]."""

    a_per_b_volume: float
    density_a: float
    density_b: float
    stated_by: str = "volume"
    warnings: tuple[str, ...] = ()

    @property
    def a_per_b_mass(self) -> float:
        """Mass of A per mass of B [-]."""
        return self.a_per_b_volume * self.density_a / self.density_b

    @property
    def density(self) -> float:
        """Density of the fresh mix [kg/m3], volumes adding."""
        r = self.a_per_b_volume
        return (r * self.density_a + self.density_b) / (r + 1)

    @property
    def volume_share_a(self) -> float:
        """Volume of A per volume of mix [-]."""
        return self.a_per_b_volume / (1 + self.a_per_b_volume)


@dataclass(frozen=True, slots=True)
class Portion:
    """What goes into a cup: A, B [m3, kg] and pigment pastes by name [kg, m3]."""

    a_volume: float
    b_volume: float
    a_mass: float
    b_mass: float
    pigments: dict[str, float]
    pigment_volume: float

    @property
    def pigment_mass(self) -> float:
        """All pigment pastes together [kg]."""
        return math.fsum(self.pigments.values())

    @property
    def resin_mass(self) -> float:
        """A and B together [kg]."""
        return self.a_mass + self.b_mass

    @property
    def mass(self) -> float:
        """Everything in the cup [kg]."""
        return self.resin_mass + self.pigment_mass

    @property
    def volume(self) -> float:
        """Everything in the cup [m3]."""
        return self.a_volume + self.b_volume + self.pigment_volume


@dataclass(frozen=True, slots=True)
class Pigment:
    """A pigment paste: name, mass per mass of mixed resin [-], its limit [-], density [kg/m3].

    `limit` is the load that the resin's or the paste's data sheet allows; None if not stated.
    """

    name: str
    load: float
    limit: float | None = None
    density: float = 1300.0


def resin_ratio(
    density_a: float,
    density_b: float,
    by_volume: tuple[float, float] | None = None,
    by_mass: tuple[float, float] | None = None,
) -> ResinRatio:
    """The ratio from parts by volume, by mass, or both.

    Parameters
    ----------
    density_a, density_b : float [kg/m3]
        600 to 2500.
    by_volume : (float, float) or None [-]
        Parts of A and of B by volume.
    by_mass : (float, float) or None [-]
        Parts of A and of B by mass. When both are given the mass counts, since a scale reads
        finer than a cup; a disagreement beyond 2 % is a warning.

    Returns
    -------
    ratio : ResinRatio [-], [kg/m3]

    Raises
    ------
    InputError
        No ratio given, parts not above zero, more than 20 to 1, densities out of range.
    """
    for name, value in (("density_a", density_a), ("density_b", density_b)):
        if not (math.isfinite(value) and 600 <= value <= 2500):
            raise InputError(
                f"ratio.{name}",
                f"{value:.6g} kg/m3",
                "it is from 600 kg/m3 to 2500 kg/m3",
                "Take it from the data sheet, e.g. 1.15 kg/L.",
            )
    if by_volume is None and by_mass is None:
        raise InputError(
            "ratio",
            None,
            "the mix ratio is needed, by volume or by mass",
            "Give by_volume = [2, 1] or by_mass = [100, 44] as the data sheet states it.",
        )
    for name, parts in (("by_volume", by_volume), ("by_mass", by_mass)):
        if parts is None:
            continue
        if not all(math.isfinite(p) and p > 0 for p in parts) or not (
            1 / 20 <= parts[0] / parts[1] <= 20
        ):
            raise InputError(
                f"ratio.{name}",
                f"{parts[0]:g} : {parts[1]:g}",
                "both parts are above 0 and no more than 20 to 1 apart",
                "Give the parts of A, then of B, as the data sheet states them.",
            )
    warnings: list[str] = []
    from_mass = by_mass[0] / by_mass[1] * density_b / density_a if by_mass else math.nan
    if by_volume is None:
        return ResinRatio(from_mass, density_a, density_b, "mass")
    from_volume = by_volume[0] / by_volume[1]
    if by_mass is None:
        return ResinRatio(from_volume, density_a, density_b, "volume")
    gap = from_volume / from_mass - 1
    if abs(gap) > DISAGREE_SHARE:
        warnings.append(
            say(
                "The ratio by volume {va:g} : {vb:g} and by mass {ma:g} : "
                "{mb:g} disagree by {gap:.1f} % at the stated densities; the mass is used. Ask "
                "the supplier which one holds.",
                va=by_volume[0],
                vb=by_volume[1],
                ma=by_mass[0],
                mb=by_mass[1],
                gap=abs(gap) * 100,
            )
        )
    return ResinRatio(from_mass, density_a, density_b, "mass", tuple(warnings))


def portion(volume: float, ratio: ResinRatio, pigments: tuple[Pigment, ...] = ()) -> Portion:
    """A, B and pigment paste for a cup of a given volume.

    Parameters
    ----------
    volume : float [m3]
        Everything in the cup, pigment paste included.
    ratio : ResinRatio [-]
    pigments : tuple of Pigment [-]

    Returns
    -------
    portion : Portion [m3], [kg]
        Exact: A + B + pigment add up to the cup by volume and by mass.

    Raises
    ------
    InputError
        A volume below zero, or a pigment load beyond its limit.
    """
    if not (math.isfinite(volume) and volume >= 0):
        raise InputError(
            "cup", f"{volume * 1e6:.6g} mL", "a cup holds 0 mL or more", "Check the amount."
        )
    per_kg = 1 / ratio.density
    for p in pigments:
        if p.limit is not None and p.load > p.limit * (1 + 1e-9):
            raise InputError(
                f"pigment {p.name}, load",
                f"{p.load * 100:.3g} %",
                say("at most {limit:.3g} % of the mixed resin by mass", limit=p.limit * 100),
                "Use a stronger paste or a lower load; too much paste upsets cure and flow.",
            )
        if not (math.isfinite(p.load) and 0 <= p.load <= 0.5):
            raise InputError(
                f"pigment {p.name}, load",
                f"{p.load * 100:.3g} %",
                "it is from 0 % to 50 % of the mixed resin by mass",
                "Give it as a share, e.g. 3 %.",
            )
        per_kg += p.load / p.density
    resin = volume / per_kg
    b_mass = resin / (1 + ratio.a_per_b_mass)
    a_mass = resin - b_mass
    masses = {p.name: p.load * resin for p in pigments}
    return Portion(
        a_volume=a_mass / ratio.density_a,
        b_volume=b_mass / ratio.density_b,
        a_mass=a_mass,
        b_mass=b_mass,
        pigments=masses,
        pigment_volume=math.fsum(p.load * resin / p.density for p in pigments),
    )


@dataclass(frozen=True, slots=True)
class RatioError:
    """How far a measured cup may be off the ratio.

    `low`, `high` [-]: relative error of A : B in the worst case; `range`: 5/50/95 % points [-]
    when the errors are independent, None without draws.
    """

    low: float
    high: float
    range: Spread | None


def ratio_error(
    a: float,
    b: float,
    error_a: float,
    error_b: float,
    left_in_jug_a: float = 0.0,
    left_in_jug_b: float = 0.0,
    draws: Draws | None = None,
    name: str = "cup",
) -> RatioError:
    """Range of the relative error of A : B from how A and B were measured.

    Parameters
    ----------
    a, b : float [any one unit of volume or of mass]
        Amounts wanted.
    error_a, error_b : float [same unit]
        Half width of what reading mark or scale may be off; half a division at best.
    left_in_jug_a, left_in_jug_b : float [same unit]
        Most that may stay behind in a measuring jug; from 0 to this is missing.
    draws : Draws or None [-]
        Samples for the range: reading errors and residues even over their widths.
    name : str [-]
        Stream name of the samples.

    Returns
    -------
    error : RatioError [-]
        +0.02 means 2 % too much A for the B. Exact bounds; independent even errors in the range.

    Raises
    ------
    InputError
        Amounts not above zero, errors below zero, or errors as large as the amount.
    """
    for label, amount, error, left in (
        ("a", a, error_a, left_in_jug_a),
        ("b", b, error_b, left_in_jug_b),
    ):
        if not (math.isfinite(amount) and amount > 0):
            raise InputError(label, amount, "the amount is above 0", "Give the amount wanted.")
        if not (error >= 0 and left >= 0 and error + left < amount):
            raise InputError(
                f"error_{label}",
                error,
                say(
                    "reading error and residue are 0 or more and together below the {amount:.4g} measured",
                    amount=amount,
                ),
                "Use a finer scale or a larger cup.",
            )
    low = (1 - (error_a + left_in_jug_a) / a) / (1 + error_b / b) - 1
    high = (1 + error_a / a) / (1 - (error_b + left_in_jug_b) / b) - 1
    spread = None
    if draws is not None:
        from pourwright.calc import spread_of

        real_a = (
            a
            + error_a * (2 * draws.uniform(f"{name}-a") - 1)
            - left_in_jug_a * draws.uniform(f"{name}-jug-a")
        )
        real_b = (
            b
            + error_b * (2 * draws.uniform(f"{name}-b") - 1)
            - left_in_jug_b * draws.uniform(f"{name}-jug-b")
        )
        spread = spread_of(real_a / real_b / (a / b) - 1)
    return RatioError(low, high, spread)
