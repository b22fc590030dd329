"""Hot things on the surface: contact temperature, and a hot pan over time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.endure.diffuse import Floats, between_cells, cell_widths, modes
from pourwright.endure.layers import Layer, check_layers
from pourwright.errors import InputError
from pourwright.words import Between, say

# conductivity [W/(m K)], density [kg/m3], heat capacity [J/(kg K)]; handbook values from memory
PANS: dict[str, tuple[float, float, float]] = {
    "stainless": (15.0, 7900.0, 500.0),
    "cast iron": (50.0, 7200.0, 450.0),
    "aluminium": (220.0, 2700.0, 900.0),
    "glass": (1.0, 2500.0, 820.0),
    "ceramic": (1.4, 2300.0, 880.0),
}

CORK = 0.045  # conductivity of cork [W/(m K)], from memory
_PLATE = 6  # cells of the pan's base


def effusivity(conductivity: ArrayLike, density: ArrayLike, heat: ArrayLike) -> Floats:
    """Thermal effusivity: how strongly a body imposes its temperature on what it touches.

    Parameters
    ----------
    conductivity : float or array [W/(m K)]
        Thermal conductivity.
    density : float or array [kg/m3]
        Density.
    heat : float or array [J/(kg K)]
        Heat capacity.

    Returns
    -------
    array [J/(m2 K s^0.5)]

    Notes
    -----
    b = sqrt(k rho c) (Carslaw and Jaeger; Baehr and Stephan).
    """
    k, rho, c = (np.asarray(a, float) for a in (conductivity, density, heat))
    return np.sqrt(k * rho * c)


def contact_temperature(
    first: ArrayLike, hot: ArrayLike, second: ArrayLike, cool: ArrayLike
) -> Floats:
    """Temperature that two thick bodies take at once where they touch.

    Parameters
    ----------
    first, second : float or array [J/(m2 K s^0.5)]
        Effusivities.
    hot, cool : float or array [K]
        Their temperatures before.

    Returns
    -------
    array [K]
        Stainless steel at 180 degC on epoxy at 22: 168.9 degC.

    Notes
    -----
    (b1 T1 + b2 T2)/(b1 + b2) (Carslaw and Jaeger; Baehr and Stephan); perfect contact.
    """
    b1, b2 = np.asarray(first, float), np.asarray(second, float)
    return (b1 * np.asarray(hot, float) + b2 * np.asarray(cool, float)) / (b1 + b2)


def hottest_pan(limit: ArrayLike, pan: ArrayLike, film: ArrayLike, room: ArrayLike) -> Floats:
    """Hottest pan that leaves the surface under a limit at first touch.

    Parameters
    ----------
    limit : float or array [K]
        Highest surface temperature.
    pan, film : float or array [J/(m2 K s^0.5)]
        Effusivities of pan and film.
    room : float or array [K]
        Temperature of the surface before.

    Returns
    -------
    array [K]

    Notes
    -----
    `contact_temperature` turned round.
    """
    b1, b2 = np.asarray(pan, float), np.asarray(film, float)
    return np.asarray(limit, float) + b2 / b1 * (np.asarray(limit, float) - np.asarray(room))


@dataclass(frozen=True, slots=True)
class PanHeat:
    """A hot pan set down on a build-up.

    Attributes
    ----------
    time : array, shape (k,) [s]
        Moments looked at.
    surface : array, shape (..., k) [K]
        Film's surface under the pan.
    joint : array, shape (..., k) [K]
        Joint between the last coat and what carries it.
    surface_peak, joint_peak : array, shape (...) [K]
        Their highest values.
    """

    time: Floats
    surface: Floats
    joint: Floats
    surface_peak: Floats
    joint_peak: Floats


def hot_pan(
    layers: Sequence[Layer],
    pan: str,
    pan_temperature: float,
    plate: float = 0.005,
    room: float = 295.15,
    duration: float = 600.0,
    contact: ArrayLike = 0.0,
    trivet: ArrayLike = 0.0,
    loss: float = 10.0,
) -> PanHeat:
    """Temperatures of surface and joint while a hot pan stands on a build-up.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back; fields may be samples, shape (n,).
    pan : str [-]
        One of `PANS`.
    pan_temperature : float [K]
        Pan's base when set down.
    plate : float [m]
        Thickness of the pan's base.
    room : float [K]
        Temperature of everything else.
    duration : float [s]
        How long it stands.
    contact : float or array [m2 K/W]
        Contact resistance under the base: 0 perfect, about 1e-4 a flat base.
    trivet : float or array [m]
        Thickness of a cork trivet under it (0.045 W/(m K), from memory).
    loss : float [W/(m2 K)]
        Heat lost from the pan's top and the board's back.

    Returns
    -------
    PanHeat [s, K]

    Raises
    ------
    InputError
        An unknown pan, or values out of range.

    Notes
    -----
    Fourier's law through plate, coats and core, finite volumes (`diffuse`); no heat is spread
    sideways, so a small pan is a little cooler.
    """
    check_layers(layers)
    if pan not in PANS:
        raise InputError(
            "pan", pan, say("one of {names}", names=", ".join(PANS)), "Choose the nearest one."
        )
    for field, x, low, high, unit in (
        ("pan temperature", pan_temperature - 273.15, 0.0, 400.0, "degC"),
        ("pan base", plate * 1000.0, 0.1, 60.0, "mm"),
        ("standing time", duration, 1.0, 86400.0, "s"),
        ("trivet", 1000.0 * float(np.max(trivet)), 0.0, 100.0, "mm"),
    ):
        if not low <= x <= high:
            raise InputError(
                field, x, say("{span:g}", span=Between(low, high, unit)), "Correct it."
            )
    films = [layer for layer in layers if layer.role == "coat"]
    rest = [layer for layer in layers if layer.role != "coat"]
    k_pan, rho_pan, c_pan = PANS[pan]
    Row = tuple[Floats, int, float, ArrayLike, ArrayLike]
    rows: list[Row] = [(np.asarray(plate), _PLATE, 1.0, k_pan, rho_pan * c_pan)]
    for group, count, growth in ((films, 14, 1.25), (rest, 16, 1.2)):
        for i, layer in enumerate(group):
            n = count if len(group) == 1 else max(3, count // len(group))
            hold = np.asarray(layer.density, float) * np.asarray(layer.heat, float)
            thick = np.asarray(layer.thickness, float)
            rows.append((thick, n, growth if i == 0 else 1.1, layer.conductivity, hold))
    extra = np.asarray(contact, float) + np.asarray(trivet, float) / CORK
    batch = np.broadcast_shapes(
        extra.shape,
        *[np.broadcast_shapes(np.shape(r[0]), np.shape(r[3]), np.shape(r[4])) for r in rows],
    )
    dx = np.concatenate(
        [np.broadcast_to(cell_widths(t, n, g), (*batch, n)) for t, n, g, _, _ in rows], axis=-1
    )

    def per_cell(values: list[ArrayLike]) -> Floats:
        parts = [
            np.broadcast_to(np.asarray(v, float)[..., None], (*batch, r[1]))
            for v, r in zip(values, rows)
        ]
        return np.concatenate(parts, axis=-1)

    k, c = per_cell([r[3] for r in rows]), per_cell([r[4] for r in rows])
    gap = np.zeros((*batch, dx.shape[-1] - 1))
    gap[..., _PLATE - 1] = extra
    found = modes(dx, k, c, loss, room, loss, room, gap)
    start = np.full((*batch, dx.shape[-1]), room)
    start[..., :_PLATE] = pan_temperature
    time = np.geomspace(min(0.5, duration), duration, 40)
    state = found.at(time, start)
    surface = between_cells(state, dx, k, found, _PLATE - 1)[1]
    last = _PLATE - 1 + sum(r[1] for r in rows[1 : 1 + len(films)])
    joint = between_cells(state, dx, k, found, last)[0] if rest and films else surface
    return PanHeat(time, surface, joint, surface.max(axis=-1), joint.max(axis=-1))
