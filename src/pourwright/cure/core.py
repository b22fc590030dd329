"""The boards under a film, and the line of cells that film and boards make for the solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from pourwright.cure.cells import Stack
from pourwright.cure.resin import Resin
from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.catalogue.model import Material


@dataclass(frozen=True, slots=True)
class CoreLayer:
    """One layer under the film.

    Parameters
    ----------
    thickness_m : float [m]
        Thickness, above 0.
    conductivity : float [W/(m K)]
        Thermal conductivity, above 0.
    density : float [kg/m3]
        Density, above 0.
    heat_capacity : float [J/(kg K)]
        Specific heat capacity, above 0.
    """

    thickness_m: float
    conductivity: float
    density: float
    heat_capacity: float

    def __post_init__(self) -> None:
        for name, low, high in (
            ("thickness_m", 1e-5, 2.0),
            ("conductivity", 1e-3, 500.0),
            ("density", 5.0, 25e3),
            ("heat_capacity", 100.0, 6000.0),
        ):
            value = getattr(self, name)
            if not low <= value <= high:
                raise InputError(
                    f"core.{name}",
                    value,
                    say("it must lie between {low:g} and {high:g}", low=low, high=high),
                    "Take it from the board's data sheet.",
                )

    @classmethod
    def from_material(cls, material: Material, thickness_m: float) -> CoreLayer:
        """A catalogue core of a thickness [m]; needs k_W_mK, cp_J_kgK and density_kg_m3."""
        return cls(thickness_m, material["k_W_mK"], material["density_kg_m3"], material["cp_J_kgK"])


def layer_stack(
    resin: Resin, thickness_m: float, core: Sequence[CoreLayer], cells: int, under_W_m2K: float
) -> Stack:
    """Cells of a film on a layered core, for `march`.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    thickness_m : float [m]
        Film.
    core : sequence of CoreLayer [-]
        Layers below, uppermost first; () insulates the film's underside.
    cells : int [-]
        Cells through the film.
    under_W_m2K : float [W/(m2 K)]
        From the core's underside to the air.

    Returns
    -------
    Stack [J/(m2 K), W/(m2 K), J/m2]
        Finite volumes, conductances through half cells in series.
    """
    n = resin.count
    dx = thickness_m / cells
    film_c = resin.density * resin.heat_capacity * dx
    capacity = [film_c] * cells
    half = [dx / 2 / resin.conductivity] * cells
    for number, layer in enumerate(core):
        parts = 5 if number == 0 else 3
        grade = 1.5 ** np.arange(parts) if number == 0 else np.ones(parts)
        for d in layer.thickness_m * grade / grade.sum():
            capacity.append(np.full(n, layer.density * layer.heat_capacity * d))
            half.append(np.full(n, d / 2 / layer.conductivity))
    links = [1.0 / (1.0 / np.maximum(resin.film_coefficient, 1e-9) + half[0])]
    links += [1.0 / (a + b) for a, b in pairwise(half)]
    below = under_W_m2K if core else 0.0
    links.append(
        np.zeros(n) if below == 0 else np.broadcast_to(1.0 / (1.0 / below + half[-1]), (n,))
    )
    heat = np.tile(resin.density * resin.heat * dx, (cells, 1))
    return Stack(np.stack(capacity), np.stack(links), heat, cells)
