"""A shade is pigments dosed into clear resin; an undercoat is what lies below the coats."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.bands import NB, as_bands
from pourwright.colour.fresnel import saunderson_inverse
from pourwright.errors import InputError

Floats = NDArray[np.float64]


def _clear() -> Floats:
    return np.zeros(NB)


@dataclass(frozen=True, eq=False)
class Shade:
    """Optics of one shade, per metre of cured film.

    Parameters
    ----------
    id, name : str [-]
        Short id and the name shown.
    k, s : ndarray [1/m]
        Two-flux absorption and scattering, shape (31,). The N-stream engine uses
        mu_a = k/2 and mu_s (1-g) = 4 s/3 (Gate 1974).
    flake_area : float [1/m]
        Flake area per volume of film (flake area per surface area and metre of thickness).
    flake_colour : ndarray [-]
        Reflectance of a flake, shape (31,).
    flake_through : ndarray [-]
        Transmittance of a flake, shape (31,): 0 for metal, 1 - flake_colour for pearl.
    flake_spread_deg : float [deg]
        Standard deviation of the flakes' tilt.
    confidence : str [-]
        A calibrated drawdowns, B library scaled by a swatch, C library only.
    """

    id: str
    name: str
    k: Floats = field(default_factory=_clear)
    s: Floats = field(default_factory=_clear)
    flake_area: float = 0.0
    flake_colour: Floats = field(default_factory=_clear)
    flake_through: Floats = field(default_factory=_clear)
    flake_spread_deg: float = 12.0
    confidence: str = "C"

    def __post_init__(self) -> None:
        for key in ("k", "s", "flake_colour", "flake_through"):
            top = 1.0 if key.startswith("flake") else np.inf
            object.__setattr__(self, key, as_bands(getattr(self, key), f"shade.{key}", 0.0, top))
        if not (np.isfinite(self.flake_area) and self.flake_area >= 0):
            raise InputError(
                "shade.flake_area", self.flake_area, "0 or more", "Give the flake area per volume."
            )


CLEAR = Shade("clear", "Clear resin", confidence="A")
"""Clear resin: no colour of its own."""


@dataclass(frozen=True, eq=False)
class Undercoat:
    """What lies below the lowest coat.

    Parameters
    ----------
    name : str [-]
        Shown name.
    inside : ndarray [-]
        Diffuse reflectance as light inside the film meets it, shape (31,).
    """

    name: str
    inside: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "inside", as_bands(self.inside, "undercoat.inside", 0.0, 1.0))

    @classmethod
    def from_measured(cls, name: str, reflectance: ArrayLike, n: float = 1.5) -> Undercoat:
        """Undercoat from its reflectance in air.

        Parameters
        ----------
        name : str [-]
            Shown name.
        reflectance : array_like [-]
            Reflectance in air, specular excluded: one number or 31.
        n : float [-]
            Refractive index of the undercoat's binder.

        Returns
        -------
        Undercoat [-]
            Wetting out removes the undercoat's own surface, so a white of 0.80 in air acts as
            0.93 below the resin (Saunderson 1942).
        """
        measured = as_bands(reflectance, "undercoat.reflectance", 0.0, 1.0)
        return cls(name, np.clip(saunderson_inverse(measured, n), 0.0, 1.0))


WHITE_CARD = Undercoat.from_measured("white card", 0.80)
"""White of a hiding chart, 0.80 in air (ISO 6504-1 tables use 0.80)."""
BLACK_CARD = Undercoat.from_measured("black card", 0.01)
"""Black of a hiding chart, at most 0.01 in air (ASTM D2805)."""
