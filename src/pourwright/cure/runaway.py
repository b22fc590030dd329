"""How much resin may stand together: the largest safe cup, and the classical critical numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.cup import Cup, cup_stack
from pourwright.cure.history import check_temperature
from pourwright.cure.kinetics import R
from pourwright.cure.layer import peak_by_sample
from pourwright.cure.march import march
from pourwright.cure.pot import pour_within
from pourwright.cure.resin import Resin
from pourwright.errors import InputError
from pourwright.words import Amount, say

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

SMALLEST_KG, LARGEST_KG = 0.001, 50.0  # what is searched [kg]


@dataclass(frozen=True, eq=False)
class SafeCup:
    """The largest cup that may be forgotten; arrays of shape (n,).

    Parameters
    ----------
    mass_kg : array [kg]
        Largest mass that stays under the limit if left to cure in the cup: 0 where even
        `SMALLEST_KG` passes it, `LARGEST_KG` where the largest searched does not.
    limit_K : float [K]
        Temperature that it must not pass.
    criterion : str [-]
        In words.
    """

    mass_kg: _Array
    limit_K: float
    criterion: str


def peak_if_left(
    resin: Resin,
    air_K: float,
    mass_kg: Floats,
    cup: Cup | None = None,
    start_K: float | None = None,
) -> _Array:
    """Highest mean temperature of a cup left to cure.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    air_K : float [K]
        Steady air temperature.
    mass_kg : float or array [kg]
        Mass, shape () or (n,).
    cup : Cup or None [-]
        Shape and wall.
    start_K : float or None [K]
        Temperature of the fresh mix; None is the air's.

    Returns
    -------
    array [K]
        Shape (n,).
    """
    n = resin.count
    first = np.full((2, n), air_K if start_K is None else start_K)
    # the hottest moment comes before the slowest sample has gelled in air: twice that is enough
    rate = resin.k1 + 0.3 * resin.k2
    slow = np.exp(resin.e2 / R * (1.0 / air_K - 1.0 / 298.15))
    duration = float(np.clip(8.0 * np.max(slow / rate), 4 * 3600.0, 40 * 86400.0))
    run = march(
        cup_stack(resin, mass_kg, cup or Cup()),
        resin,
        lambda t: np.full(t.shape, air_K),
        0.0,
        duration,
        first_temps=first,
        tolerance=1e-4,
        tolerance_K=0.5,
        longest_step_s=duration / 20,
    )
    return peak_by_sample(run, run.temperature, n)


def largest_safe_cup(
    resin: Resin,
    air_K: float,
    cup: Cup | None = None,
    *,
    rise_K: float = 20.0,
    start_K: float | None = None,
    rounds: int = 3,
) -> SafeCup:
    """The largest mass that can be left in its cup without running away.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    air_K : float [K]
        Steady air temperature.
    cup : Cup or None [-]
        Shape and wall.
    rise_K : float [K]
        Warming over the air that is allowed. The threshold is sharp: between 20 K and boiling lies
        little mass.
    start_K : float or None [K]
        Temperature of the fresh mix; None is the air's.
    rounds : int [-]
        Rounds of eight masses each; three find the mass to about 1 %.

    Returns
    -------
    SafeCup [kg]
        Per sample. Plan with the 5 % point.

    Raises
    ------
    InputError
        A temperature or rise that cannot be.

    Notes
    -----
    Not a limit on what may be mixed: see `pot.pour_within`. For a fast coating resin the answer is
    what lies a few millimetres deep in its cup: no working cup may be forgotten full. Give a `cup`
    with its width kept (`Cup.kept`), or small masses are looked at in a thimble, which is hotter.

    Source: own lumped model.
    """
    check_temperature("air_K", air_K)
    if not 1.0 <= rise_K <= 150.0:
        raise InputError("rise_K", rise_K, "it must be 1 to 150 K", "20 K is usual.")
    n = resin.count
    lo, hi = np.full(n, math.log(SMALLEST_KG)), np.full(n, math.log(LARGEST_KG))
    width = 8
    many = resin.take(np.repeat(np.arange(n), width))
    for turn in range(rounds):
        part = np.linspace(0.0, 1.0, width) if turn == 0 else np.arange(1, width + 1) / (width + 1)
        logs = lo[:, None] + (hi - lo)[:, None] * part
        peak = peak_if_left(many, air_K, np.exp(logs).ravel(), cup, start_K).reshape(n, width)
        over = peak > air_K + rise_K
        first = np.where(over.any(axis=1), over.argmax(axis=1), width)
        grid = np.hstack([lo[:, None], logs, hi[:, None]])
        rows = np.arange(n)
        if turn == 0:
            never, always = first == width, first == 0
        lo, hi = grid[rows, first], grid[rows, np.minimum(first + 1, width + 1)]
    mass = np.exp(0.5 * (lo + hi))
    mass = np.where(always, 0.0, np.where(never, LARGEST_KG, mass))
    return SafeCup(
        mass,
        air_K + rise_K,
        say(
            "left in the cup to cure, its mean warms no more than {rise:g} over the air",
            rise=Amount(rise_K, "K"),
        ),
    )


def longest_lasting_batch(
    resin: Resin,
    air_K: float,
    minutes: float,
    cup: Cup | None = None,
    *,
    surely: float = 0.95,
    thicker: float = 2.0,
    warmer_K: float = 10.0,
) -> float:
    """The largest batch that can still be poured for a given time.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    air_K : float [K]
        Steady air temperature.
    minutes : float [min]
        Time needed from the end of mixing to the last of the pour.
    cup : Cup or None [-]
        Shape and wall.
    surely : float [-]
        Share of samples that must last.
    thicker : float [-]
        As in `pour_within`.
    warmer_K : float [K]
        As in `pour_within`.

    Returns
    -------
    float [kg]
        Mass by bisection to 2 %: 0 if even `SMALLEST_KG` does not last, `LARGEST_KG` if that does.

    Raises
    ------
    InputError
        A time or share out of range.
    """
    from pourwright.cure.history import AirHistory

    check_temperature("air_K", air_K)
    if not 0.1 <= minutes <= 1e5:
        raise InputError("minutes", minutes, "it must be 0.1 to 100000 min", "Check the unit.")
    if not 0.5 <= surely <= 0.999:
        raise InputError("surely", surely, "it must be 0.5 to 0.999", "0.95 is usual.")
    air = AirHistory.constant(air_K)
    masses = np.geomspace(SMALLEST_KG, LARGEST_KG, 13)

    def lasts(mass: float) -> bool:
        limit = pour_within(resin, air, 0.0, mass, cup, thicker=thicker, warmer_K=warmer_K)
        return float(np.mean(limit.within_s >= minutes * 60.0)) >= surely

    if not lasts(masses[0]):
        return 0.0
    if lasts(masses[-1]):
        return LARGEST_KG
    lo, hi = math.log(masses[0]), math.log(masses[-1])
    while hi - lo > 0.02:
        mid = 0.5 * (lo + hi)
        if lasts(math.exp(mid)):
            lo = mid
        else:
            hi = mid
    return math.exp(lo)


def frank_kamenetskii(
    energy: Floats,
    temperature: Floats,
    heat: Floats,
    density: Floats,
    peak_rate: Floats,
    length: Floats,
    conductivity: Floats,
) -> Floats:
    """Frank-Kamenetskii number of resin conducting its heat to a cold wall.

    Parameters
    ----------
    energy : float or array [J/mol]
        Activation energy.
    temperature : float or array [K]
        Wall temperature.
    heat : float or array [J/kg]
        Heat of reaction.
    density : float or array [kg/m3]
        Density.
    peak_rate : float or array [1/s]
        Rate of conversion at the wall temperature: the highest on the way, not the initial one,
        which is unsafe for autocatalytic cure.
    length : float or array [m]
        Half thickness of a slab, radius of a cylinder or sphere.
    conductivity : float or array [W/(m K)]
        Thermal conductivity.

    Returns
    -------
    float or array [-]
        delta = (E/R T^2)(rho H rate L^2/k); compare with `critical_delta`.

    Source: Frank-Kamenetskii 1955.
    """
    return energy / (R * temperature**2) * density * heat * peak_rate * length**2 / conductivity


def critical_delta(shape: Literal["slab", "cylinder", "sphere"]) -> tuple[float, float]:
    """Critical Frank-Kamenetskii number of a shape, computed from its own equation.

    Parameters
    ----------
    shape : str [-]
        ``slab`` (half thickness), ``cylinder`` or ``sphere`` (radius).

    Returns
    -------
    tuple of float [-]
        delta at criticality and the dimensionless centre temperature there.

    Raises
    ------
    InputError
        Another shape.

    Source: Frank-Kamenetskii 1955: 0.88, 2.00, 3.32; here the largest delta for which
    u'' + (j/x) u' + delta e^u = 0, u(1) = 0 has a solution, by similarity and a fine scan.
    """
    power = {"slab": 0, "cylinder": 1, "sphere": 2}.get(shape)
    if power is None:
        raise InputError(
            "shape", shape, "it must be slab, cylinder or sphere", "Take the one nearest to yours."
        )
    # with u(0) = U and s = x sqrt(delta e^U): v = u - U solves v'' + (j/s) v' + e^v = 0, v(0) = 0;
    # u(1) = 0 where v(s1) = -U, so delta = s1^2 e^v(s1): the maximum over s1 is critical
    h, s = 2e-3, 2e-3
    v, p = -s * s / (2 * (power + 1)), -s / (power + 1)

    def slope(s: float, v: float, p: float) -> tuple[float, float]:
        return p, -math.exp(v) - power * p / s

    values = []
    while s < 12.0:
        a = slope(s, v, p)
        b = slope(s + h / 2, v + h / 2 * a[0], p + h / 2 * a[1])
        c = slope(s + h / 2, v + h / 2 * b[0], p + h / 2 * b[1])
        d = slope(s + h, v + h * c[0], p + h * c[1])
        v += h / 6 * (a[0] + 2 * b[0] + 2 * c[0] + d[0])
        p += h / 6 * (a[1] + 2 * b[1] + 2 * c[1] + d[1])
        s += h
        values.append((s * s * math.exp(v), -v))
    # the sphere's curve spirals: its first maximum is the critical one
    i = next(k for k in range(1, len(values) - 1) if values[k + 1][0] < values[k][0])
    (y0, c0), (y1, c1), (y2, c2) = values[i - 1], values[i], values[i + 1]
    x = 0.5 * (y0 - y2) / (y0 - 2 * y1 + y2)
    best = y1 - 0.25 * (y0 - y2) * x
    centre = c1 + 0.5 * (c2 - c0) * x
    return best, centre


def semenov_number(
    energy: Floats, temperature: Floats, heat: Floats, peak_rate: Floats, loss: Floats
) -> Floats:
    """Semenov number of well-mixed resin in a cup.

    Parameters
    ----------
    energy : float or array [J/mol]
        Activation energy.
    temperature : float or array [K]
        Air temperature.
    heat : float or array [J/kg]
        Heat of reaction.
    peak_rate : float or array [1/s]
        Highest isothermal rate at that temperature.
    loss : float or array [W/(kg K)]
        h A/m.

    Returns
    -------
    float or array [-]
        psi = (E/R T^2)(H rate/loss); above 1/e it runs away if the rate lasts.

    Source: Semenov 1928 (from memory).
    """
    return energy / (R * temperature**2) * heat * peak_rate / loss
