"""What the film calculations share: resin input, draws of uncertain fluids, cautions, sources."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from pourwright.calc import CalcInput, Draws, Source, from_memory, published
from pourwright.film.fluid import Fluid

COUNT = 64
DATA_SHEET = "The product's data sheet, local codes and licensed practice come first."
RESIN_CAUTION = (
    "Uncured resin sensitises skin and airways: gloves, eye protection and fresh air until cured. "
    + DATA_SHEET
)
FLAME_CAUTION = (
    "A torch is an open flame: no solvent or its vapour, sheeting or paper near it, keep it "
    "moving, an extinguisher at hand, a fire watch after; a hot batch can run away. " + DATA_SHEET
)
FLUID_SOURCES: tuple[Source, ...] = (
    published(
        "Dearlove 1978, J. Appl. Polym. Sci. 22, 2509: epoxy surface tension 31-46 mN/m (abstract)"
    ),
    from_memory("density of unfilled mixed epoxy 1080 to 1160 kg/m3"),
)


class FilmInput(CalcInput):
    """What every film question needs of the resin."""

    flow_left_per_Pa: float = Field(
        gt=0, le=1e6, description="flow left at that moment, from cure.flow_left"
    )
    flow_error_percent: float = Field(
        default=35.0, ge=0, le=500, description="how uncertain flow left is"
    )
    density_kg_m3: float = Field(default=1100.0, ge=500, le=3000)
    surface_tension_N_m: float = Field(default=0.036, ge=0.01, le=0.1)
    seed: int = Field(default=1, description="same seed, same ranges")


class FluidDraws:
    """Draws of the uncertain fluid for one input."""

    def __init__(self, inp: FilmInput, count: int = COUNT) -> None:
        self.draws = Draws(inp.seed, count)
        f = 1 + inp.flow_error_percent / 100
        t = inp.flow_left_per_Pa
        self.flow: NDArray[np.float64] = self.draws.between("film.flow", t / f, t, t * f, log=True)
        rho, gamma = inp.density_kg_m3, inp.surface_tension_N_m
        self.density = self.draws.between("film.density", rho * 0.965, rho, rho * 1.035, log=True)
        self.tension = self.draws.between(
            "film.tension", gamma * 0.85, gamma, gamma * 1.17, log=True
        )

    def fluids(self) -> list[Fluid]:
        """One `Fluid` per draw."""
        return [
            Fluid(float(np.clip(r, 300, 5000)), float(np.clip(g, 1e-3, 0.5)))
            for r, g in zip(self.density, self.tension, strict=True)
        ]

    def film(self, film: float, error: float = 0.1) -> NDArray[np.float64]:
        """Draws of a film known to within `error` [-]."""
        return self.draws.between("film.film", film / (1 + error), film, film * (1 + error), True)


def fluid_of(inp: FilmInput) -> Fluid:
    """The fluid at its middle values."""
    return Fluid(inp.density_kg_m3, inp.surface_tension_N_m)
