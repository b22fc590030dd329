"""Layers of a build-up and the general laminate: forces, curvature and stress of n layers.

A build-up is listed from the poured face down to the back. Every field of a layer may be one
number or samples of shape (n,); stacks have shape (layers,) or (layers, n).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError
from pourwright.words import Amount, say

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a build-up.

    Attributes
    ----------
    name : str [-]
        What it is, as the user calls it.
    role : str [-]
        ``coat`` (poured or brushed), ``skin`` (structural facing), ``core`` or ``back``.
    thickness : float or array [m]
        Layer thickness.
    modulus : float or array [Pa]
        Young's modulus in the plane.
    density : float or array [kg/m3]
        Density.
    poisson : float or array [-]
        Poisson's ratio.
    shear : float or array [Pa]
        Shear modulus through the thickness.
    shear_plane : float or array [Pa]
        Shear modulus in the plane.
    expansion : float or array [1/K]
        Thermal expansion.
    shrinkage : float or array [-]
        Free contraction since the film became solid that creep has not relaxed.
    swell : float or array [-]
        Strain per unit of moisture content.
    creep : float or array [-]
        Creep factor k_def for lasting load.
    conductivity, heat : float or array [W/(m K)], [J/(kg K)]
        Thermal conductivity and heat capacity.
    service : float or array [K]
        Highest temperature in use: softening temperature of a film, limit of a board.
    strength : float or array [Pa]
        Bending or tensile strength in the plane.
    strain_break : float or array [-]
        Strain at break, for films.
    compress, core_shear, bond : float or array [Pa]
        Strength across the face in compression, in shear, and in tension.
    toughness : float or array [J/m2]
        Energy to peel the face.
    """

    name: str
    role: str
    thickness: ArrayLike
    modulus: ArrayLike
    density: ArrayLike = 0.0
    poisson: ArrayLike = 0.3
    shear: ArrayLike | None = None
    shear_plane: ArrayLike | None = None
    expansion: ArrayLike = 0.0
    shrinkage: ArrayLike = 0.0
    swell: ArrayLike = 0.0
    creep: ArrayLike = 0.0
    conductivity: ArrayLike = 0.2
    heat: ArrayLike = 1500.0
    service: ArrayLike = np.inf
    strength: ArrayLike = np.inf
    strain_break: ArrayLike = np.inf
    compress: ArrayLike = np.inf
    core_shear: ArrayLike = np.inf
    bond: ArrayLike = np.inf
    toughness: ArrayLike = np.inf

    def with_(self, **changes: ArrayLike | str) -> Layer:
        """The same layer with some fields changed [units of the fields]."""
        return replace(self, **changes)  # type: ignore[arg-type]

    def shear_modulus(self) -> Floats:
        """Shear modulus through the thickness [Pa]; isotropic when none is given."""
        if self.shear is not None:
            return np.asarray(self.shear, dtype=float)
        return np.asarray(self.modulus, float) / (2.0 * (1.0 + np.asarray(self.poisson, float)))

    def plane_shear(self) -> Floats:
        """Shear modulus in the plane [Pa]; isotropic when none is given."""
        if self.shear_plane is not None:
            return np.asarray(self.shear_plane, dtype=float)
        return np.asarray(self.modulus, float) / (2.0 * (1.0 + np.asarray(self.poisson, float)))


def check_layers(layers: Sequence[Layer]) -> None:
    """Refuse a build-up that no board can have.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.

    Raises
    ------
    InputError
        No layer, a thickness, stiffness or density that is negative, zero or not a number.
    """
    if not layers:
        raise InputError("build-up", 0, "it needs at least a core", "Add a core.")
    for layer in layers:
        rules = (
            ("thickness", layer.thickness, 0.0, True, "m", 1.0),
            ("modulus", layer.modulus, 0.0, True, "Pa", 1e13),
            ("density", layer.density, 0.0, False, "kg/m3", 3e4),
        )
        for field, value, floor, strict, unit, top in rules:
            a = np.asarray(value, dtype=float)
            low, high = (float(a.min()), float(a.max())) if a.size else (np.nan, np.nan)
            # a comparison with "not a number" is false, so it lands here too
            good = (low > floor if strict else low >= floor) and high <= top
            if not good:
                worst = low if high <= top else high
                raise InputError(
                    f"build-up.{layer.name}.{field}",
                    worst,
                    say("it must be above 0 and at most {top:g}", top=Amount(top, unit)),
                    "Correct it, or take the layer out.",
                )


_FIELDS = tuple(f.name for f in fields(Layer) if f.name not in ("name", "role"))


def batch_of(layers: Sequence[Layer], *more: ArrayLike) -> tuple[int, ...]:
    """Shape of the samples that some layers, and more values, share.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.
    more : float or array [any unit]
        Further values that go with them.

    Returns
    -------
    tuple of int [-]
        Empty when everything is a single number.
    """
    shapes = {np.shape(m) for m in more if not isinstance(m, float | int)}
    for x in layers:
        for f in _FIELDS:
            value = getattr(x, f)
            if value is not None and not isinstance(value, float | int):
                shapes.add(np.shape(value))
    return np.broadcast_shapes(*shapes) if shapes else ()


def stack(layers: Sequence[Layer], field: str, batch: tuple[int, ...] | None = None) -> Floats:
    """One field of all layers as an array.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.
    field : str [-]
        Name of the field; ``shear`` and ``shear_plane`` give the isotropic value when none is set.
    batch : tuple of int or None [-]
        Shape of the samples; that of all the layers' fields when None.

    Returns
    -------
    array, shape (layers, ...) [unit of the field]
    """
    shape = batch_of(layers) if batch is None else batch
    how = {"shear": Layer.shear_modulus, "shear_plane": Layer.plane_shear}.get(field)
    values = [how(x) if how else np.asarray(getattr(x, field), float) for x in layers]
    return np.stack([np.broadcast_to(v, shape) for v in values])


@dataclass(frozen=True, slots=True)
class Laminate:
    """The bent state of a laminate.

    Attributes
    ----------
    curvature : array [1/m]
        Positive when the poured face is hollow (edges lift), as a shrinking film makes it.
    strain : array [-]
        In-plane strain at the neutral reference height.
    force : array, shape (layers, ...) [N/m]
        Force per width carried by each layer, tension positive.
    stress_top, stress_bottom : array, shape (layers, ...) [Pa]
        Stress at the upper and lower side of each layer.
    centres : array, shape (layers, ...) [m]
        Height of each layer's middle above the back.
    """

    curvature: Floats
    strain: Floats
    force: Floats
    stress_top: Floats
    stress_bottom: Floats
    centres: Floats


def laminate(thickness: ArrayLike, stiffness: ArrayLike, free_strain: ArrayLike) -> Laminate:
    """Curvature and stress of bonded layers that want to take different lengths.

    Parameters
    ----------
    thickness : array, shape (layers, ...) [m]
        From the face to the back.
    stiffness : array, shape (layers, ...) [Pa]
        E for a narrow strip, E/(1 - nu) for a panel that is free to dish in both directions.
    free_strain : array, shape (layers, ...) [-]
        Strain each layer would take if it were free: shrinkage negative, swelling positive.

    Returns
    -------
    Laminate [1/m, -, N/m, Pa]

    Notes
    -----
    Plane sections stay plane: sum of forces and of moments over all layers is zero. For two
    layers it is Timoshenko's bimetal (J. Opt. Soc. Am. 11, 1925, 233-255). Bow must stay below
    about the panel's thickness; beyond, a panel may flip to a cylinder.
    """
    t, e, eps = np.broadcast_arrays(
        np.asarray(thickness, float), np.asarray(stiffness, float), np.asarray(free_strain, float)
    )
    above = np.cumsum(t, axis=0)
    total = above[-1]
    centres = total - above + 0.5 * t
    ea = e * t
    a = ea.sum(axis=0)
    zbar = (ea * centres).sum(axis=0) / a
    z = centres - zbar
    d = (e * (t**3 / 12.0 + t * z**2)).sum(axis=0)
    n0 = (ea * eps).sum(axis=0)
    m0 = (ea * eps * z).sum(axis=0)
    strain = n0 / a
    # a strain rising with height (face longer) bends the face outwards: negative curvature
    slope = m0 / d

    def stress(height: Floats) -> Floats:
        return e * (strain + slope * height - eps)

    return Laminate(
        curvature=-slope,
        strain=strain,
        force=ea * (strain + slope * z - eps),
        stress_top=stress(z + 0.5 * t),
        stress_bottom=stress(z - 0.5 * t),
        centres=centres,
    )


def curvature_weights(thickness: ArrayLike, stiffness: ArrayLike) -> Floats:
    """What a free strain of each layer does to the curvature of a laminate.

    Parameters
    ----------
    thickness : array, shape (layers, ...) [m]
        From the face to the back.
    stiffness : array, shape (layers, ...) [Pa]
        As in `laminate`.

    Returns
    -------
    array, shape (layers, ...) [1/m]
        Curvature is the sum of weight times free strain over the layers.

    Notes
    -----
    The same balance of forces and moments as `laminate`, without the stresses.
    """
    t, e = np.broadcast_arrays(np.asarray(thickness, float), np.asarray(stiffness, float))
    above = np.cumsum(t, axis=0)
    ea = e * t
    z = above[-1] - above + 0.5 * t
    z = z - (ea * z).sum(axis=0) / ea.sum(axis=0)
    d = (e * t**3 / 12.0 + ea * z**2).sum(axis=0)
    return -ea * z / d


def bending_stiffness(thickness: ArrayLike, modulus: ArrayLike) -> tuple[Floats, Floats]:
    """Bending stiffness per width of bonded layers, and the height of the neutral axis.

    Parameters
    ----------
    thickness : array, shape (layers, ...) [m]
        From the face to the back.
    modulus : array, shape (layers, ...) [Pa]
        Young's moduli.

    Returns
    -------
    tuple of two arrays [N m, m]
        Stiffness EI per width, and the neutral axis' height above the back.

    Notes
    -----
    Transformed section (statics): y = sum(E A y)/sum(E A).
    """
    t, e = np.broadcast_arrays(np.asarray(thickness, float), np.asarray(modulus, float))
    above = np.cumsum(t, axis=0)
    y = above[-1] - above + 0.5 * t
    axis = (e * t * y).sum(axis=0) / (e * t).sum(axis=0)
    return (e * (t**3 / 12.0 + t * (y - axis) ** 2)).sum(axis=0), axis


_GAUSS = np.polynomial.legendre.leggauss(3)


def shear_stiffness(thickness: ArrayLike, modulus: ArrayLike, shear: ArrayLike) -> Floats:
    """Transverse shear stiffness per width of bonded layers.

    Parameters
    ----------
    thickness : array, shape (layers, ...) [m]
        From the face to the back.
    modulus : array, shape (layers, ...) [Pa]
        Young's moduli.
    shear : array, shape (layers, ...) [Pa]
        Shear moduli through the thickness.

    Returns
    -------
    array [N/m]
        5/6 G t for one layer; close to G d2/c for a sandwich with thin stiff skins.

    Notes
    -----
    Energy of the shear stress that equilibrium asks for, tau = V S(z)/EI with S the first
    moment of E above z (elementary beam theory); exact integration layer by layer.
    """
    t, e, g = np.broadcast_arrays(
        np.asarray(thickness, float), np.asarray(modulus, float), np.asarray(shear, float)
    )
    ei, axis = bending_stiffness(t, e)
    above = np.cumsum(t, axis=0)
    top = above[-1] - above + t - axis  # upper side of each layer over the neutral axis
    centre = top - 0.5 * t
    before = np.cumsum(e * t * centre, axis=0) - e * t * centre
    flexibility = np.zeros_like(ei)
    for x, w in zip(*_GAUSS):
        z = centre + 0.5 * t * x
        s = before + e * 0.5 * (top**2 - z**2)
        flexibility = flexibility + (w * 0.5 * t * (s / ei) ** 2 / g).sum(axis=0)
    return 1.0 / flexibility
