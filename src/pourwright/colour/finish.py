"""The top of the film: gloss units, the paling of a matte top, and clear topcoats."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.fresnel import N_RESIN, check_index, fresnel, surface_terms
from pourwright.errors import InputError

N_GLOSS_STANDARD = 1.567
"""Index of the black glass that reads 100 gloss units (ISO 2813)."""


@dataclass(frozen=True)
class Finish:
    """The top surface of a panel.

    Parameters
    ----------
    n : float [-]
        Refractive index of the top film, 1.0 to 2.5.
    gloss_60 : float [-]
        Gloss units at 60 degrees: about 95 for a flawless flood coat, 10 or less for matte.
    """

    n: float = N_RESIN
    gloss_60: float = 95.0

    def __post_init__(self) -> None:
        check_index(self.n)
        if not 0.0 <= self.gloss_60 <= 120.0:
            raise InputError(
                "gloss_60",
                self.gloss_60,
                "0 to 120 gloss units",
                "Use 95 gloss, 25 satin, 8 matte.",
            )

    @property
    def veil(self) -> float:
        """Surface reflection scattered into all directions [-]: 0 glossy, near k1 dead matte."""
        return _veil(self.n, self.gloss_60)


@lru_cache(maxsize=256)
def _veil(n: float, gloss_60: float) -> float:
    if n == 1.0:
        return 0.0
    full = float(gloss_units(n, 60.0))
    return max(0.0, 1.0 - min(1.0, gloss_60 / full)) * surface_terms(n)[0]


def gloss_units(
    n: ArrayLike, angle_deg: ArrayLike, roughness: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Gloss of a film.

    Parameters
    ----------
    n : array_like [-]
        Refractive index of the film.
    angle_deg : array_like [deg]
        Angle of incidence: 20, 60 or 85 (use 20 above 70 units, 85 below 10; ASTM D523).
    roughness : array_like [m]
        Root-mean-square roughness, 0 to 2e-7.

    Returns
    -------
    ndarray [-]
        100 for smooth glass of index 1.567 (ISO 2813); roughness lowers it by
        exp(-(4 pi sigma cos(angle)/lambda)^2) at 550 nm (smooth-surface scattering theory).
    """
    mu = np.cos(np.radians(np.asarray(angle_deg, dtype=float)))
    f = fresnel(mu, np.asarray(n, dtype=float))
    ref = fresnel(mu, N_GLOSS_STANDARD)
    loss = np.exp(-((4 * np.pi * np.asarray(roughness, float) * mu / 550e-9) ** 2))
    return 100 * f / ref * loss
