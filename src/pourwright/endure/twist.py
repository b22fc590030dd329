"""Twist of a panel fixed in a racking vehicle or a working hull."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.endure.layers import Floats, Layer, batch_of, check_layers, stack
from pourwright.errors import InputError


@dataclass(frozen=True, slots=True)
class TwistState:
    """A panel forced to follow a twisting frame.

    Attributes
    ----------
    surface_shear : array [-]
        Shear strain at the face.
    film_strain : array [-]
        Principal tensile strain of the face film.
    torque : array [N m]
        What the fixings must carry to twist the panel.
    corner_force : array [N]
        The same as a pull on one corner screw.
    """

    surface_shear: Floats
    film_strain: Floats
    torque: Floats
    corner_force: Floats


def twist(layers: Sequence[Layer], width: float, length: float, rate: ArrayLike) -> TwistState:
    """Strain of the film and load on the fixings when a panel follows a twist.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.
    width, length : float [m]
        Short and long side; they are swapped when given the other way round.
    rate : float or array [rad/m]
        Twist of the frame per length: 2 degrees per metre is 0.0349.

    Returns
    -------
    TwistState [-, N m, N]

    Raises
    ------
    InputError
        Unusable layers or sides.

    Notes
    -----
    Surface shear t theta', principal strain half of it; torque (G t3/3) b (1 - 0.63 t/b) theta'
    for one layer (Saint-Venant), for more layers 4 times the twisting stiffness of the laminate
    with the same end correction.
    """
    check_layers(layers)
    if not (width > 0.0 and length > 0.0):
        raise InputError("panel", min(width, length), "sides above 0 m", "Give both sides.")
    b = min(width, length)
    batch = batch_of(layers)
    t, g = stack(layers, "thickness", batch), stack(layers, "shear_plane", batch)
    above = np.cumsum(t, axis=0)
    total = above[-1]
    y = total - above + 0.5 * t
    axis = (g * t * y).sum(axis=0) / (g * t).sum(axis=0)
    d66 = (g * (t**3 / 12.0 + t * (y - axis) ** 2)).sum(axis=0)
    w = np.abs(np.asarray(rate, dtype=float))
    torque = 4.0 * d66 * b * np.maximum(1.0 - 0.63 * total / b, 0.2) * w
    face = 2.0 * (total - axis)
    return TwistState(
        surface_shear=face * w,
        film_strain=0.5 * face * w,
        torque=torque,
        corner_force=torque / b,
    )


def free_corner_lift(width: float, length: float, rate: float) -> float:
    """How far one corner must be free to move so that the panel is not twisted.

    Parameters
    ----------
    width, length : float [m]
        The panel's sides.
    rate : float [rad/m]
        Twist of the frame per length.

    Returns
    -------
    float [m]
        Play needed at the fourth fixing: fix three, slot the fourth.

    Notes
    -----
    Geometry: width x length x twist rate.
    """
    return abs(width * length * rate)
