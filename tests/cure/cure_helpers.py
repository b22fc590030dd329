"""Resins built from stated constants, for the tests of this room."""

from __future__ import annotations

from typing import Any

import numpy as np

from pourwright.cure.resin import Resin

# C-COAT, C-CAST, C-PEA: constructed constant sets (docs/cure.md), not products
SETS: dict[str, dict[str, float]] = {
    "C-COAT": {"k1": 1.75e-5, "k2": 3.5e-4, "e1": 58.6e3, "e2": 58.6e3},
    "C-CAST": {"k1": 2.0e-6, "k2": 4.0e-5, "e1": 57.0e3, "e2": 57.0e3},
    "C-PEA": {"k1": 5.0e-5, "k2": 0.0, "e1": 70.0e3, "e2": 70.0e3},
}


def resin(name: str = "C-COAT", n: int = 1, **changes: Any) -> Resin:
    """A resin of the constant sets with ideal gel, no vitrification, H 368 J/g, h 10 W/(m2 K)."""
    values: dict[str, Any] = {
        **SETS[name],
        "balance": 1.0,
        "heat": 368e3,
        "density": 1100.0,
        "heat_capacity": 1900.0,
        "conductivity": 0.2,
        "viscosity_25": 1.0,
        "flow_energy": 6e4,
        "flow_freeze": 0.0,
        "gel": 3**-0.5,
        "thick_a": 1.5,
        "thick_b": 1.0,
        "tg_start": 238.15,
        "tg_end": 348.15,
        "tg_bend": 0.45,
        "glass_lead": 1e6,
        "glass_width": 4.0,
        "tack": 0.60,
        "recoat_open": 0.55,
        "recoat_close": 0.82,
        "surface_tension": 0.036,
        "film_coefficient": 10.0,
        **changes,
    }
    values["k1"] = np.broadcast_to(np.asarray(values["k1"], dtype=float), (n,)).copy()
    return Resin(**{k: np.atleast_1d(np.asarray(v, dtype=float)) for k, v in values.items()})


def varied(n: int, seed: int = 7, **changes: Any) -> Resin:
    """n resins scattered about C-COAT, with vitrification."""
    rng = np.random.default_rng(seed)
    energy = 57e3 + 5e3 * rng.standard_normal(n)
    return resin(
        "C-COAT",
        n,
        **{
            "k1": 1.75e-5 * np.exp(0.4 * rng.standard_normal(n)),
            "k2": 3.5e-4 * np.exp(0.2 * rng.standard_normal(n)),
            "e1": energy,
            "e2": energy,
            "glass_lead": 2.0,
            "glass_width": 3.0,
            "tg_end": 333.0,
            "viscosity_25": np.exp(0.3 * rng.standard_normal(n)),
            **changes,
        },
    )
