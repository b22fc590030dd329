"""A torch pass: a short pulse of heat that lends the film extra flow and costs a little cure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.resin import Resin
from pourwright.errors import InputError

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

TORCH_CAUTION = (
    "Open flame: no solvent, alcohol or fresh vapour near, air the room first, keep the flame "
    "moving and an extinguisher at hand. A torch that lingers burns resin and frees toxic smoke."
)


@dataclass(frozen=True, eq=False)
class TorchPass:
    """What one pass does; arrays of shape (n,).

    Parameters
    ----------
    extra_flow : array [1/Pa]
        Flow gained over the same time at the film's own temperature.
    extra_conversion : array [-]
        Conversion gained likewise.
    lasts_s : float [s]
        Time over which it was counted.
    """

    extra_flow: _Array
    extra_conversion: _Array
    lasts_s: float


def torch_pass(
    resin: Resin, conversion: Floats, temperature: Floats, rise_K: float, fade_s: float
) -> TorchPass:
    """Extra flow and extra cure of a pass that warms the film.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    conversion : float or array [-]
        Conversion before the pass, shape () or (n,).
    temperature : float or array [K]
        Film temperature before it, shape () or (n,).
    rise_K : float [K]
        Rise of the film's mean temperature, 0 to 150.
    fade_s : float [s]
        Time in which the rise fades to 1/e, as the film passes it on; about (rho c h)/(2 k/d) on a
        core, a minute or less for 1 mm.

    Returns
    -------
    TorchPass [1/Pa and -]
        Integrals over five fading times by 16-point Gauss quadrature of fluidity and rate at the
        pulse, less those without it; conversion is held while integrating (extra cure under 0.02).

    Raises
    ------
    InputError
        A rise or fading time out of its limits.

    Source: flow left, DESIGN; exponential fading is our own simplification. For the full answer
    give the pass to `film_history`, which conducts it away.
    """
    if not 0.0 <= rise_K <= 150.0:
        raise InputError(
            "rise_K", rise_K, "it must be 0 to 150 K", "Hotter, the film burns: move the torch on."
        )
    if not 0.1 <= fade_s <= 3600.0:
        raise InputError("fade_s", fade_s, "it must be 0.1 to 3600 s", "15 to 60 s is usual.")
    n = resin.count
    a = np.broadcast_to(np.asarray(conversion, dtype=float), (n,))
    t0 = np.broadcast_to(np.asarray(temperature, dtype=float), (n,))
    x, w = np.polynomial.legendre.leggauss(16)
    lasts = 5.0 * fade_s
    times, weights = 0.5 * lasts * (x + 1.0), 0.5 * lasts * w
    flow, cure = np.zeros(n), np.zeros(n)
    for t, weight in zip(times, weights, strict=True):
        hot = t0 + rise_K * np.exp(-t / fade_s)
        flow += weight * (resin.fluidity(a, hot) - resin.fluidity(a, t0))
        cure += weight * (resin.rate(a, hot) - resin.rate(a, t0))
    return TorchPass(flow, cure, lasts)
