"""What is known of a resin before its data sheet is read: the unknowns and their priors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.kinetics import time_horie
from pourwright.cure.resin import Resin

if TYPE_CHECKING:
    from pourwright.catalogue.model import Material

_Array = NDArray[np.float64]

# unknown, whether its logarithm is meant, prior mean (None: the class's) and standard deviation.
# "early" is the time to a conversion of 0.25 at 25 degC, which sheets pin down far better than k2.
PRIORS: tuple[tuple[str, bool, float | None, float], ...] = (
    ("early", True, None, 1.0),
    ("ratio", True, float(np.log(0.05)), 0.9),
    ("energy", False, 57e3, 6e3),
    ("heat", True, None, 0.12),
    ("film_coefficient", True, float(np.log(10.0)), 0.26),
    ("gel", False, 0.60, 0.03),
    ("tack", False, 0.64, 0.03),
    ("recoat_open", False, 0.58, 0.04),
    ("recoat_close", False, 0.82, 0.04),
    ("viscosity_25", True, None, 0.5),
    ("flow_energy", False, 68e3, 7e3),
    ("tg_end", False, None, 8.0),
    ("tg_bend", False, 0.45, 0.07),
    ("thick_a", True, float(np.log(1.8)), 0.25),
    ("glass_lead", False, 2.0, 2.0),
)
NAMES = tuple(p[0] for p in PRIORS)
EARLY = 0.25  # conversion whose time at 25 degC is the first unknown [-]


@dataclass(frozen=True, eq=False)
class Prior:
    """Means [unit of each unknown, or of its logarithm] and standard deviations of the unknowns."""

    base: Resin
    mean: _Array
    sd: _Array

    def resin(self, u: _Array) -> Resin:
        """Resins at standardised unknowns `u` [-] of shape (k, p)."""
        u = np.clip(np.atleast_2d(u), -6.0, 6.0)
        x = self.mean + self.sd * u
        v: dict[str, Any] = {
            name: np.exp(x[:, i]) if PRIORS[i][1] else x[:, i] for i, name in enumerate(NAMES)
        }
        early, ratio, energy = v.pop("early"), v.pop("ratio"), v.pop("energy")
        k2 = np.asarray(time_horie(EARLY, ratio, np.ones_like(ratio))) / early
        gel = np.clip(v.pop("gel"), 0.45, 0.75)
        opens = np.clip(v.pop("recoat_open"), 0.3, 0.9)
        bend = np.clip(v.pop("tg_bend"), 0.15, 1.0)
        return self.base.with_values(
            k1=k2 * ratio,
            k2=k2,
            e1=energy,
            e2=energy,
            gel=gel,
            tack=np.clip(np.maximum(v.pop("tack"), gel + 0.005), 0.0, 0.97),
            recoat_open=opens,
            recoat_close=np.clip(np.maximum(v.pop("recoat_close"), opens + 0.02), 0.0, 0.99),
            tg_bend=bend,
            **v,
        )


def prior_for(material: Material) -> Prior:
    """The prior around a class of resins.

    Parameters
    ----------
    material : Material [-]
        The class nearest to the product; gives what no sheet tells (densities, conductivity) and
        the middle of rate, heat, viscosity and final Tg.

    Returns
    -------
    Prior [-]
        Means and standard deviations of `PRIORS`.

    Source: energies and conversions as listed in docs/cure.md; rate within a factor of about 3 and
    viscosity within 1.6 are our own widths.
    """
    base = Resin.from_material(material)
    mean, sd = [], []
    for name, log, middle, width in PRIORS:
        if middle is None:
            if name == "early":
                value = float(time_horie(EARLY, base.k1[0], base.k2[0]))
            else:
                value = float(getattr(base, name)[0])
            middle = float(np.log(value)) if log else value
        mean.append(middle)
        sd.append(width)
    return Prior(base, np.array(mean), np.array(sd))
