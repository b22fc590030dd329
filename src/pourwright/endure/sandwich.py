"""Sandwich panels: skin wrinkling, pressure on a soft core, the classic sag formula."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pourwright.endure.layers import Floats
from pourwright.errors import InputError


def wrinkling_stress(
    skin: ArrayLike, core: ArrayLike, core_shear: ArrayLike, factor: float = 0.5
) -> Floats:
    """Compressive stress at which a thin skin wrinkles on a soft core.

    Parameters
    ----------
    skin : float or array [Pa]
        Young's modulus of the skin.
    core, core_shear : float or array [Pa]
        Young's and shear modulus of the core.
    factor : float [-]
        0.5 for practical use (0.8 in theory).

    Returns
    -------
    array [Pa]

    Notes
    -----
    0.5 (Ef Ec Gc)^(1/3), Allen 1969 and sandwich handbooks (from memory).
    """
    product = np.asarray(skin, float) * np.asarray(core, float) * np.asarray(core_shear, float)
    return factor * np.cbrt(product)


def local_pressure(
    load: float,
    radius: float,
    skin: ArrayLike,
    skin_modulus: ArrayLike,
    core: ArrayLike,
    core_modulus: ArrayLike,
    poisson: ArrayLike = 0.3,
) -> Floats:
    """Highest pressure on the core under a foot, a hob's corner or a clamp.

    Parameters
    ----------
    load : float [N]
        Force.
    radius : float [m]
        Radius of the round patch it acts on.
    skin : float or array [m]
        Thickness of what lies over the core.
    skin_modulus : float or array [Pa]
        Its Young's modulus.
    core : float or array [m]
        Core thickness.
    core_modulus : float or array [Pa]
        Its modulus across the face.
    poisson : float or array [-]
        Poisson's ratio of the skin.

    Returns
    -------
    array [Pa]
        Never more than the bare contact pressure.

    Raises
    ------
    InputError
        A radius not above 0.

    Notes
    -----
    Plate on an elastic bed, concentrated load: p = P/(8 l2), l4 = D c/Ec (Timoshenko and
    Woinowsky-Krieger, chapter 8, from memory).
    """
    if not radius > 0.0:
        raise InputError("patch radius", radius, "above 0 m", "Use 0.03 for a heel of a hand.")
    d = np.asarray(skin_modulus, float) * np.asarray(skin, float) ** 3
    d = d / (12.0 * (1.0 - np.asarray(poisson, float) ** 2))
    bed = np.asarray(core_modulus, float) / np.asarray(core, float)
    return np.minimum(load / 8.0 * np.sqrt(bed / d), load / (np.pi * radius**2))


def sandwich_sag(
    load: float, span: float, width: float, skin: float, skin_modulus: float, core: float,
    core_modulus: float, core_shear: float,
) -> float:  # fmt: skip
    """Mid-span sag of a sandwich strip by the classic sandwich formula.

    Parameters
    ----------
    load : float [N]
        Point load at the middle.
    span, width : float [m]
        Distance between supports; width.
    skin : float [m]
        Thickness of each of the two skins.
    skin_modulus : float [Pa]
        Young's modulus of the skins.
    core : float [m]
        Core thickness.
    core_modulus, core_shear : float [Pa]
        Young's and shear modulus of the core.

    Returns
    -------
    float [m]

    Notes
    -----
    Allen 1969: D = Ef b tf d2/2 + Ef b tf3/6 + Ec b c3/12, U = G b d2/c, d = c + tf;
    P L3/48D + P L/4U.
    """
    d = core + skin
    stiff = skin_modulus * width * (skin * d**2 / 2.0 + skin**3 / 6.0)
    stiff += core_modulus * width * core**3 / 12.0
    u = core_shear * width * d**2 / core
    return load * span**3 / (48.0 * stiff) + load * span / (4.0 * u)
