"""Spans, overhangs and point loads of a build-up, short and long term; bending frequency."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from pourwright.endure.layers import (
    Floats,
    Layer,
    batch_of,
    bending_stiffness,
    check_layers,
    shear_stiffness,
    stack,
)
from pourwright.errors import InputError

GRAVITY = 9.80665  # [m/s2]


@dataclass(frozen=True)
class Section:
    """A strip of a build-up, ready for statics; stiffnesses are worked out when asked for.

    Attributes
    ----------
    thickness, modulus, shear_modulus : array, shape (layers, ...) [m], [Pa], [Pa]
        From the face to the back.
    lasting : array, shape (layers, ...) [-]
        Share of a layer's stiffness that is left under lasting load.
    mass : array [kg/m]
        Mass per length.
    width : float [m]
        Width.
    """

    thickness: Floats
    modulus: Floats
    shear_modulus: Floats
    lasting: Floats
    mass: Floats
    width: float

    @cached_property
    def bending(self) -> Floats:
        """Bending stiffness EI over the whole width [N m2]."""
        return bending_stiffness(self.thickness, self.modulus)[0] * self.width

    @cached_property
    def shear(self) -> Floats:
        """Transverse shear stiffness over the whole width [N]."""
        return shear_stiffness(self.thickness, self.modulus, self.shear_modulus) * self.width

    @cached_property
    def bending_long(self) -> Floats:
        """Bending stiffness for lasting load [N m2]."""
        return bending_stiffness(self.thickness, self.modulus * self.lasting)[0] * self.width

    @cached_property
    def shear_long(self) -> Floats:
        """Transverse shear stiffness for lasting load [N]."""
        e, g = self.modulus * self.lasting, self.shear_modulus * self.lasting
        return shear_stiffness(self.thickness, e, g) * self.width


def section(layers: Sequence[Layer], width: float, soft_films: bool = False) -> Section:
    """Bending and shear stiffness and mass of a strip.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.
    width : float [m]
        Width of the strip that carries the load.
    soft_films : bool [-]
        True when the films are near or above their softening point under the lasting load: they
        then count as weight only.

    Returns
    -------
    Section [m, Pa, kg/m]

    Raises
    ------
    InputError
        Unusable layers or a width not above 0.

    Notes
    -----
    Transformed section; creep by layer, E/(1 + k_def) (EN 1995-1-1, effective modulus).
    """
    check_layers(layers)
    if not 0.0 < width < 100.0:
        raise InputError("width", width, "above 0 and below 100 m", "Give the panel's width.")
    batch = batch_of(layers)
    t, e, g = (stack(layers, f, batch) for f in ("thickness", "modulus", "shear"))
    lasting = 1.0 / (1.0 + stack(layers, "creep", batch))
    if soft_films:
        lasting[[x.role == "coat" for x in layers]] *= 1e-6
    density = stack(layers, "density", batch)
    return Section(t, e, g, lasting, (density * t).sum(axis=0) * width, width)


def sag_span(
    part: Section,
    span: ArrayLike,
    load: float = 0.0,
    spread: ArrayLike = 0.0,
    lasting: bool = False,
) -> Floats:
    """Sag at mid-span of a simply supported strip.

    Parameters
    ----------
    part : Section [N m2, N]
        The strip.
    span : float or array [m]
        Distance between supports.
    load : float [N]
        Point load at the middle.
    spread : float or array [N/m]
        Load per length (own weight: mass times gravity).
    lasting : bool [-]
        Long-term stiffness.

    Returns
    -------
    array [m]

    Notes
    -----
    P L3/48EI + P L/4U + 5 w L4/384EI + w L2/8U (statics; shear part Allen 1969).
    """
    ei = part.bending_long if lasting else part.bending
    u = part.shear_long if lasting else part.shear
    w, span = np.asarray(spread, dtype=float), np.asarray(span, dtype=float)
    point = load * span**3 / (48.0 * ei) + load * span / (4.0 * u)
    return point + 5.0 * w * span**4 / (384.0 * ei) + w * span**2 / (8.0 * u)


def sag_overhang(
    part: Section,
    reach: ArrayLike,
    load: float = 0.0,
    spread: ArrayLike = 0.0,
    lasting: bool = False,
) -> Floats:
    """Sag at the tip of an overhang that is held firmly at its root.

    Parameters
    ----------
    part : Section [N m2, N]
        The strip.
    reach : float or array [m]
        Overhang beyond the last support.
    load : float [N]
        Point load at the tip.
    spread : float or array [N/m]
        Load per length.
    lasting : bool [-]
        Long-term stiffness.

    Returns
    -------
    array [m]

    Notes
    -----
    P L3/3EI + P L/U + w L4/8EI + w L2/2U (statics). A root that can tip sags more.
    """
    ei = part.bending_long if lasting else part.bending
    u = part.shear_long if lasting else part.shear
    w, reach = np.asarray(spread, dtype=float), np.asarray(reach, dtype=float)
    point = load * reach**3 / (3.0 * ei) + load * reach / u
    return point + w * reach**4 / (8.0 * ei) + w * reach**2 / (2.0 * u)


def layer_stress(layers: Sequence[Layer], width: float, moment: ArrayLike) -> Floats:
    """Highest bending stress in each layer.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.
    width : float [m]
        Width that carries the moment.
    moment : float or array [N m]
        Bending moment.

    Returns
    -------
    array, shape (layers, ...) [Pa]
        Magnitude at the layer's outer side from the neutral axis.

    Notes
    -----
    sigma = E M z/EI (transformed section, statics).
    """
    batch = batch_of(layers)
    t, e = stack(layers, "thickness", batch), stack(layers, "modulus", batch)
    ei, axis = bending_stiffness(t, e)
    above = np.cumsum(t, axis=0)
    top = above[-1] - above + t - axis
    z = np.maximum(np.abs(top), np.abs(top - t))
    return e * z * np.abs(np.asarray(moment, float)) / (ei * width)


def core_shear_stress(layers: Sequence[Layer], width: float, force: ArrayLike) -> Floats:
    """Highest shear stress in each core layer.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.
    width : float [m]
        Width that carries the force.
    force : float or array [N]
        Shear force.

    Returns
    -------
    array, shape (layers, ...) [Pa]
        1.5 V/A for one layer; close to V/(b d) in the core of a sandwich.

    Notes
    -----
    tau = V S(z)/(EI b), looked at on both sides of each layer and on the neutral axis (statics).
    """
    batch = batch_of(layers)
    t, e = stack(layers, "thickness", batch), stack(layers, "modulus", batch)
    ei, axis = bending_stiffness(t, e)
    above = np.cumsum(t, axis=0)
    top = above[-1] - above + t - axis
    bottom = top - t
    before = np.cumsum(e * t * 0.5 * (top + bottom), axis=0) - e * t * 0.5 * (top + bottom)
    z = np.clip(0.0, bottom, top)  # the neutral axis when it lies inside
    s = np.maximum.reduce([np.abs(before + e * 0.5 * (top**2 - x**2)) for x in (top, z, bottom)])
    return s * np.abs(np.asarray(force, float)) / (ei * width)


def first_frequency(part: Section, span: ArrayLike, added: ArrayLike = 0.0) -> Floats:
    """First bending frequency of a simply supported strip.

    Parameters
    ----------
    part : Section [N m2, N, kg/m]
        The strip.
    span : float or array [m]
        Distance between supports.
    added : float or array [kg/m]
        Mass per length that rides on it.

    Returns
    -------
    array [Hz]

    Raises
    ------
    InputError
        A span not above 0.

    Notes
    -----
    (pi/2) sqrt(EI/(m L4)), lowered for shear by 1/sqrt(1 + pi2 EI/(U L2)) (Timoshenko beam to
    first order).
    """
    span = np.asarray(span, dtype=float)
    if np.any(~(span > 0.0)):
        raise InputError("span", float(np.min(span)), "above 0 m", "Measure between supports.")
    m = part.mass + np.asarray(added, float)
    slender = np.sqrt(part.bending / (m * span**4))
    soft = 1.0 + np.pi**2 * part.bending / (part.shear * span**2)
    return np.pi / 2.0 * slender / np.sqrt(soft)


def plate_centre_sag(
    side: float, other: float, stiffness: ArrayLike, pressure: ArrayLike, terms: int = 25
) -> Floats:
    """Sag at the middle of a rectangular plate resting on all four edges.

    Parameters
    ----------
    side, other : float [m]
        The two sides.
    stiffness : float or array [N m]
        Plate stiffness E t3/(12 (1 - nu2)).
    pressure : float or array [Pa]
        Even load.
    terms : int [-]
        Odd terms of Navier's series in each direction.

    Returns
    -------
    array [m]
        0.0040624 q a4/D for a square.

    Raises
    ------
    InputError
        Sides not above 0.

    Notes
    -----
    Navier's double series (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells).
    """
    if not (side > 0.0 and other > 0.0):
        raise InputError("plate", min(side, other), "above 0 m", "Give both sides.")
    odd = 2 * np.arange(terms) + 1
    m, n = np.meshgrid(odd, odd, indexing="ij")
    sign = np.sin(m * np.pi / 2.0) * np.sin(n * np.pi / 2.0)
    total = np.sum(sign / (m * n * ((m / side) ** 2 + (n / other) ** 2) ** 2))
    return 16.0 * np.asarray(pressure, float) / (np.pi**6 * np.asarray(stiffness, float)) * total
