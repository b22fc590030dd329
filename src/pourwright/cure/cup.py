"""Resin standing in a cup or bucket: it heats itself, thickens sooner than a film, may run away."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.cells import Stack
from pourwright.cure.crossing import at_time
from pourwright.cure.history import AirHistory, check_temperature
from pourwright.cure.layer import peak_by_sample
from pourwright.cure.march import march, reaches, resample
from pourwright.cure.resin import Resin
from pourwright.errors import InputError
from pourwright.words import say

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

EXOTHERM_CAUTION = (
    "Mixed resin heats itself in a cup. Past its working time a cup can boil, smoke and burn: pour "
    "out in time, spread left-overs thin on a tray outdoors on sand or stone, never seal, stack or "
    "bin a warm cup. The product's data sheet and its stated batch limits come first."
)


@dataclass(frozen=True, slots=True)
class Cup:
    """A round cup or bucket, as its resin fills it.

    Parameters
    ----------
    height_over_width : float [-]
        Depth of the resin over its width; 1 is the hottest shape, 0.2 a tray.
    width_m : float or None [m]
        Inner width, which then sets the depth; None lets `height_over_width` hold at any mass.
    wall_m : float [m]
        Wall thickness.
    wall_conductivity : float [W/(m K)]
        Thermal conductivity of the wall.
    wall_density : float [kg/m3]
        Density of the wall.
    wall_heat_capacity : float [J/(kg K)]
        Specific heat capacity of the wall.
    base_share : float [-]
        Share of the base that gives heat off: 1 on a wire rack, 0.5 on a bench, 0 on foam.
    narrowest_m : float [m]
        Width below which no cup of the kind goes: less resin lies flat in it. 0 shrinks the cup
        with the mass, down to a thimble.
    """

    height_over_width: float = 1.0
    width_m: float | None = None
    wall_m: float = 0.0008
    wall_conductivity: float = 0.2
    wall_density: float = 920.0
    wall_heat_capacity: float = 1900.0
    base_share: float = 0.5
    narrowest_m: float = 0.0

    def __post_init__(self) -> None:
        for name, low, high in (
            ("height_over_width", 0.005, 10.0),
            ("width_m", 0.01, 2.0),
            ("narrowest_m", 0.0, 2.0),
            ("wall_m", 1e-5, 0.05),
            ("wall_conductivity", 0.01, 500.0),
            ("wall_density", 10.0, 2e4),
            ("wall_heat_capacity", 100.0, 5000.0),
            ("base_share", 0.0, 1.0),
        ):
            value = getattr(self, name)
            if value is not None and not low <= value <= high:
                raise InputError(
                    f"cup.{name}",
                    value,
                    say("it must lie between {low:g} and {high:g}", low=low, high=high),
                    "Measure the cup that you mix in.",
                )

    def kept(self, volume: float) -> Cup:
        """This cup for a volume [m3], its width kept when less than that is left in it."""
        if self.width_m is not None:
            return self
        width = (4.0 * volume / (np.pi * self.height_over_width)) ** (1.0 / 3.0)
        return replace(self, narrowest_m=float(width))

    def areas(self, volume: Floats) -> tuple[Floats, Floats]:
        """Free top area and wetted wall area that gives off heat [m2] for a volume [m3]."""
        v = np.asarray(volume, dtype=float)
        if self.width_m is None:
            width = (4.0 * v / (np.pi * self.height_over_width)) ** (1.0 / 3.0)
            width = np.maximum(width, self.narrowest_m)
            height = 4.0 * v / (np.pi * width**2)
        else:
            width = np.full_like(v, self.width_m)
            height = 4.0 * v / (np.pi * width**2)
        top = np.pi / 4.0 * width**2
        return top, np.pi * width * height + self.base_share * top


@dataclass(frozen=True, eq=False)
class CupHistory:
    """History of resin in a cup; arrays of shape (n samples, k times) unless said.

    Parameters
    ----------
    times_s : array [s]
        Times on the clock of the air history, shape (k,); the first is the end of mixing.
    temperature : array [K]
        Mean temperature of the resin.
    conversion : array [-]
        Mean epoxide conversion.
    flow_left : array [1/Pa]
        Flow left if it stayed in the cup.
    gel_time : array [s]
        When it gels, shape (n,); infinite if not within the time looked at.
    peak : array [K]
        Highest mean temperature, shape (n,).
    peak_time : array [s]
        When, shape (n,).
    mass_kg : array [kg]
        Mass of resin, shape (n,).
    resin : Resin [SI]
        The samples.
    closure : float [-]
        Largest energy imbalance over the heat of reaction.
    """

    times_s: _Array
    temperature: _Array
    conversion: _Array
    flow_left: _Array
    gel_time: _Array
    peak: _Array
    peak_time: _Array
    mass_kg: _Array
    resin: Resin
    closure: float

    @cached_property
    def viscosity(self) -> _Array:
        """Viscosity of the resin [Pa s], infinite from gel on, shape (n, k)."""
        return np.asarray(self.resin.viscosity(self.conversion, self.temperature))

    @property
    def start_s(self) -> float:
        """End of mixing [s]."""
        return float(self.times_s[0])

    def state_at(self, time_s: Floats) -> tuple[_Array, _Array]:
        """Conversion [-] and temperature [K] at one time or one per sample [s], shape (n,)."""
        return (
            at_time(self.times_s, self.conversion, time_s),
            at_time(self.times_s, self.temperature, time_s),
        )


def cup_times(start_s: float, duration_s: float) -> _Array:
    """Times at which a cup is looked at: half minutes for 2 h, then ever coarser.

    Parameters
    ----------
    start_s, duration_s : float [s]
        End of mixing, and how long to look.

    Returns
    -------
    array [s]
        Increasing times from start to start + duration.
    """
    parts = [
        np.arange(0.0, 7200.0, 30.0),
        np.arange(7200.0, 6 * 3600.0, 120.0),
        np.arange(6 * 3600.0, max(duration_s, 6 * 3600.0) + 1.0, 900.0),
    ]
    t = np.concatenate(parts)
    return start_s + np.append(t[t < duration_s - 1e-6], duration_s)


def cup_stack(resin: Resin, mass_kg: Floats, cup: Cup) -> Stack:
    """Two cells, resin and wall, for `march`.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    mass_kg : float or array [kg]
        Mass of resin, shape () or (n,).
    cup : Cup [-]
        Its shape and wall.

    Returns
    -------
    Stack [J/K, W/K, J]
        Resin well mixed (it convects until it is thick), wall in series with still air.
    """
    n = resin.count
    mass = np.broadcast_to(np.asarray(mass_kg, dtype=float), (n,))
    top, wall = cup.areas(mass / resin.density)
    half = cup.wall_m / 2 / cup.wall_conductivity
    h = resin.film_coefficient
    capacity = np.stack(
        [
            mass * resin.heat_capacity,
            np.maximum(wall * cup.wall_m * cup.wall_density * cup.wall_heat_capacity, 1e-9),
        ]
    )
    links = np.stack([h * top, wall / half, wall / (half + 1.0 / np.maximum(h, 1e-9))])
    return Stack(capacity, links, (mass * resin.heat)[None, :], 1)


def cup_history(
    resin: Resin,
    air: AirHistory,
    start_s: float,
    mass_kg: Floats,
    cup: Cup | None = None,
    duration_s: float = 6 * 3600.0,
    *,
    times_s: _Array | None = None,
    first_conversion: Floats = 0.0,
    start_K: Floats | None = None,
    air_offset_K: Floats = 0.0,
) -> CupHistory:
    """Temperature, conversion and viscosity of resin standing in a cup.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    air : AirHistory [K over s]
        Air temperature.
    start_s : float [s]
        End of mixing, on the clock of `air`.
    mass_kg : float or array [kg]
        Mass of resin, 0.1 g to 1000 kg, shape () or (n,).
    cup : Cup or None [-]
        Shape and wall; None is a plastic cup as deep as wide on a bench.
    duration_s : float [s]
        How long to look.
    times_s : array or None [s]
        Times wanted, increasing from `start_s`; None takes `cup_times`.
    first_conversion : float or array [-]
        Conversion at the start.
    start_K : float or array or None [K]
        Temperature of the fresh mix; None is the air's.
    air_offset_K : float or array [K]
        Added to the air's temperature.

    Returns
    -------
    CupHistory [SI]
        Lumped model; its gel times run 4 to 9 % longer than the conduction model's mean and up to
        15 % longer than the centre's (see `conduction`).

    Raises
    ------
    InputError
        A mass, temperature or duration that cannot be.

    Source: lumped balance m c dT/dt = m H da/dt - losses; see docs/cure.md.
    """
    check_mass(mass_kg)
    if not 1.0 <= duration_s <= 60 * 86400.0:
        raise InputError(
            "duration_s", duration_s, "look for between 1 s and 60 days", "Check the unit."
        )
    n = resin.count
    times = cup_times(start_s, duration_s) if times_s is None else np.asarray(times_s, float)
    air0 = air.at(start_s) + np.asarray(air_offset_K, dtype=float)
    first = air0 if start_K is None else np.asarray(start_K, dtype=float)
    check_temperature("start_K", first)
    temps = np.stack(
        [np.broadcast_to(first, (n,)), np.broadcast_to(0.5 * (first + air0), (n,))]
    ).astype(float)
    end = float(times[-1])
    run = march(
        cup_stack(resin, mass_kg, cup or Cup()),
        resin,
        air.at,
        float(times[0]),
        end,
        first_temps=temps,
        first_conversion=first_conversion,
        air_offset=air_offset_K,
        kinks=air.kinks(float(times[0]), end),
        tolerance=1e-5,
        tolerance_K=0.05,
    )
    alpha, temp, flow = resample(run, n, times, ("conversion", "temperature", "flow"))
    peak = peak_by_sample(run, run.temperature, n)
    at_peak = np.flatnonzero(run.temperature == peak[run.sample])
    peak_time = np.full(n, end)
    peak_time[run.sample[at_peak[::-1]]] = run.time[at_peak[::-1]]
    return CupHistory(
        times,
        temp,
        alpha,
        np.where(alpha < resin.gel[:, None], flow[:, -1:] - flow, 0.0),
        reaches(run, n, resin.gel),
        peak,
        peak_time,
        np.broadcast_to(np.asarray(mass_kg, dtype=float), (n,)),
        resin,
        float(run.closure.max()),
    )


def check_mass(mass_kg: Floats) -> None:
    """Refuse masses that no cup or bucket holds.

    Parameters
    ----------
    mass_kg : float or array [kg]
        Mass of A and B together.

    Returns
    -------
    None [-]
        If every mass lies between 0.1 g and 1000 kg.

    Raises
    ------
    InputError
        Otherwise.
    """
    m = np.asarray(mass_kg, dtype=float)
    if not np.all((m >= 1e-4) & (m <= 1000.0)):
        raise InputError(
            "mass_kg",
            float(m) if m.ndim == 0 else "these masses",
            "a batch weighs between 0.1 g and 1000 kg",
            "Give the mass of A and B together.",
        )
