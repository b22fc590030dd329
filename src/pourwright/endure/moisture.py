"""Moisture bow of a board that is sealed better on one face than on the other, over time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.endure.bow import bow_over
from pourwright.endure.diffuse import Floats, cell_widths, modes
from pourwright.endure.layers import Layer, check_layers, curvature_weights
from pourwright.errors import InputError

AIR_PERMEABILITY = 2.0e-10  # water vapour in still air [kg/(m s Pa)], ISO 10456 (from memory)
STILL_AIR = 0.01  # surface resistance as metres of still air [m], from memory


def still_air_metres(thickness: ArrayLike, resistance: ArrayLike) -> Floats:
    """Vapour resistance of a film as metres of still air.

    Parameters
    ----------
    thickness : float or array [m]
        Film thickness.
    resistance : float or array [-]
        Resistance factor mu.

    Returns
    -------
    array [m]
        3 mm of epoxy (mu 10 000): 30 m; 18 mm of MDF (mu 20): 0.36 m.

    Notes
    -----
    sd = mu t (ISO 10456).
    """
    return np.asarray(thickness, float) * np.asarray(resistance, float)


@dataclass(frozen=True, slots=True)
class MoistureBow:
    """Bow of a board over the time after its air has changed.

    Attributes
    ----------
    time : array, shape (k,) [s]
        Moments after the change.
    bow : array, shape (..., k) [m]
        Bow over the length; positive when the poured face is hollow.
    peak : array, shape (...) [m]
        Largest bow in size, with its sign.
    peak_time : array, shape (...) [s]
        When.
    final : array, shape (...) [m]
        At the last moment.
    mean_change : array, shape (..., k) [-]
        Mean rise of the core's moisture content.
    """

    time: Floats
    bow: Floats
    peak: Floats
    peak_time: Floats
    final: Floats
    mean_change: Floats


def moisture_bow(
    layers: Sequence[Layer],
    length: float,
    change: ArrayLike,
    slope: ArrayLike,
    resistance: ArrayLike,
    saturation: ArrayLike,
    face_sd: ArrayLike,
    back_sd: ArrayLike,
    duration: float = 180 * 86400.0,
    cells: int = 16,
) -> MoistureBow:
    """Bow over time after a step of the air's humidity on both sides of a coated board.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back, one core among them; fields may be samples.
    length : float [m]
        Span over which the bow is read.
    change : float or array [-]
        Step of relative humidity, e.g. 0.25 from 40 to 65 %.
    slope : float or array [-]
        Slope of the sorption curve dM/dRH (see `air.wood.moisture_slope`).
    resistance : float or array [-]
        Vapour resistance factor mu of the core.
    saturation : float or array [Pa]
        Saturation pressure at the board's temperature.
    face_sd, back_sd : float or array [m]
        Resistance of the films on each face as metres of still air, 0 for bare.
    duration : float [s]
        How long to follow it.
    cells : int [-]
        Cells through the core.

    Returns
    -------
    MoistureBow [s, m, -]

    Raises
    ------
    InputError
        No or several cores, or values out of range.

    Notes
    -----
    Fick's law in relative humidity through the core, films as surface resistances; strain of each
    cell is swell times its moisture change; curvature by the general laminate, films included.
    Plane, elastic; wood creeps, so the real bow after months is smaller.
    """
    check_layers(layers)
    cores = [i for i, x in enumerate(layers) if x.role == "core"]
    if len(cores) != 1:
        raise InputError("build-up", len(cores), "exactly one core", "Mark one layer as the core.")
    if not 0.0 < duration < 1e10 or cells < 4:
        raise InputError("duration", duration, "above 0 s, 4 cells or more", "Correct it.")
    core = layers[cores[0]]
    mu, ps = np.asarray(resistance, float), np.asarray(saturation, float)
    if np.any(~(mu > 0)) or np.any(~(np.asarray(slope, float) > 0)):
        raise InputError(
            f"{core.name}.resistance", float(np.min(mu)), "mu and slope above 0", "See its sheet."
        )
    permeability = AIR_PERMEABILITY * ps
    t, rho = np.asarray(core.thickness, float), np.asarray(core.density, float)
    dx = cell_widths(t, cells)
    conduct = (permeability / mu)[..., None] * np.ones(cells)
    hold = (rho * np.asarray(slope, float))[..., None] * np.ones(cells)

    def skin(sd: ArrayLike) -> Floats:
        return permeability / (np.asarray(sd, float) + STILL_AIR)

    step = np.asarray(change, dtype=float)
    found = modes(dx, conduct, hold, skin(face_sd), 1.0, skin(back_sd), 1.0)
    day = 86400.0
    time = np.geomspace(min(0.05 * day, duration / 2), duration, 32)
    share = found.at(time, np.zeros(cells))  # (..., k, cells), 0 to 1
    moisture = share * (step * np.asarray(slope, float))[..., None, None]
    bows = _profile_bow(layers, cores[0], dx, moisture, length)
    at = np.argmax(np.abs(bows), axis=-1)
    return MoistureBow(
        time=time,
        bow=bows,
        peak=np.take_along_axis(bows, at[..., None], axis=-1)[..., 0],
        peak_time=time[at],
        final=bows[..., -1],
        mean_change=moisture.mean(axis=-1),
    )


def _profile_bow(
    layers: Sequence[Layer], core: int, dx: Floats, moisture: Floats, length: float
) -> Floats:
    """Bow [m] for moisture profiles, shape (..., k, cells)."""
    cells = moisture.shape[-1]
    batch = moisture.shape[:-2]
    t, e = [], []
    for i, layer in enumerate(layers):
        stiff = np.asarray(layer.modulus, float) / (1.0 - np.asarray(layer.poisson, float))
        if i != core:
            t.append(np.broadcast_to(np.asarray(layer.thickness, float), batch))
            e.append(np.broadcast_to(stiff, batch))
            continue
        t += [np.broadcast_to(dx[..., j], batch) for j in range(cells)]
        e += [np.broadcast_to(stiff, batch)] * cells
    weights = curvature_weights(np.stack(t), np.stack(e))[core : core + cells]
    swell = np.asarray(layers[core].swell, float)
    bend = np.einsum("...kc,c...->...k", moisture, weights) * swell[..., None]
    return bow_over(bend, length)


def back_seal_needed(
    layers: Sequence[Layer],
    length: float,
    limit: float,
    change: float,
    slope: float,
    resistance: float,
    saturation: float,
    face_sd: float,
) -> float | None:
    """Vapour resistance that the back needs so that the moisture bow stays under a limit.

    Parameters
    ----------
    layers : sequence of Layer [-]
        Middle values, from the face to the back.
    length, limit : float [m]
        Span, and largest bow.
    change, slope : float [-]
        Step of humidity and slope of the sorption curve.
    resistance : float [-]
        mu of the core.
    saturation : float [Pa]
        Saturation pressure.
    face_sd : float [m]
        Resistance of the face's films.

    Returns
    -------
    float or None [m]
        As metres of still air; 0 when bare is good enough; None when even a back as tight as the
        face leaves more (then the films' own restraint bows it: balance the back).

    Raises
    ------
    InputError
        As `moisture_bow`.

    Notes
    -----
    Bisection of `moisture_bow` on the logarithm of the resistance.
    """

    def peak(sd: float) -> float:
        return abs(
            float(
                moisture_bow(
                    layers, length, change, slope, resistance, saturation, face_sd, sd
                ).peak
            )
        )

    if peak(0.0) <= limit:
        return 0.0
    low, high = 1e-3, max(face_sd, 2e-3)
    if peak(high) > limit:
        return None
    for _ in range(24):
        mid = (low * high) ** 0.5
        low, high = (mid, high) if peak(mid) > limit else (low, mid)
    return high
