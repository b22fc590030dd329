"""The dimensions a job is measured in: SI unit, accepted range and an example of each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from pourwright.errors import worded
from pourwright.quantities.units import NONE, Vector


@dataclass(frozen=True, slots=True)
class Dimension:
    """One dimension.

    Parameters
    ----------
    name : str [-]
        Its name, with underscores.
    vector : tuple of int [-]
        Powers of length, mass, time, temperature, amount, angle.
    si : str [-]
        The SI unit of its floats.
    written : str [-]
        The unit of `exact` text, in which files are written.
    low, high : float [si]
        Accepted range of a single value.
    example : str [-]
        A text that is accepted, for error messages.
    single : bool [-]
        True if only one unit, not a product or quotient, is accepted.
    """

    name: str
    vector: Vector
    si: str
    written: str
    low: float
    high: float
    example: str
    single: bool = True

    @property
    def words(self) -> str:
        """The name in plain words [-]."""
        return self.name.replace("_", " ")

    @property
    def a_or_an(self) -> str:
        """The name with its article [-], for sentences."""
        if not self.name:
            return f"a value in {self.si}"
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.words}"

    @property
    def as_example(self) -> str:
        """What to do with a text that is none of these [-]."""
        return worded("Write it as {example}.", example=self.example)


def _table() -> tuple[Dimension, ...]:
    d, big = Dimension, 1e30
    tau = 2 * math.pi
    return (
        d("length", (1, 0, 0, 0, 0, 0), "m", "mm", -1e4, 1e4, "'610 mm' or '24 1/8 in'"),
        d("area", (2, 0, 0, 0, 0, 0), "m2", "m2", 0, 1e6, "'1.26 m2' or '7.3 ft2'"),
        d("volume", (3, 0, 0, 0, 0, 0), "m3", "mL", 0, 1e3, "'650 mL' or '22 fl oz'"),
        d("mass", (0, 1, 0, 0, 0, 0), "kg", "g", 0, 1e6, "'720 g' or '1 lb 9 oz'"),
        d("temperature", (0, 0, 0, 1, 0, 0), "K", "degC", 0, 2e3, "'13 degC' or '68 degF'"),
        d("temperature_difference", (0, 0, 0, 1, 0, 0), "K", "K", -2e3, 2e3, "'3 K' or '5 degF'"),
        d("time", (0, 0, 1, 0, 0, 0), "s", "min", 0, 4e9, "'45 min' or '1 h 20 min'"),
        d("density", (-3, 1, 0, 0, 0, 0), "kg/m3", "kg/m3", 0, 3e4, "'1.1 kg/L'", False),
        d("viscosity", (-1, 1, -1, 0, 0, 0), "Pa s", "mPa s", 0, 1e12, "'900 mPa s'", False),
        d("coverage", (1, 0, 0, 0, 0, 0), "m3/m2", "L/m2", 0, 1, "'1 L/m2', '3 fl oz/ft2'", False),
        d("area_mass", (-2, 1, 0, 0, 0, 0), "kg/m2", "g/m2", 0, 1e4, "'120 g/m2'", False),
        d("line_volume", (2, 0, 0, 0, 0, 0), "m3/m", "mL/m", 0, 10, "'60 mL/m'", False),
        d("angle", (0, 0, 0, 0, 0, 1), "rad", "deg", -tau, tau, "'0.4 deg' or '5 mm/m'", False),
        d("share", NONE, "1", "%", 0, 1, "'35 %' or 0.35", False),
        d("percentage", NONE, "1", "%", -1e9, 1e9, "'65 %'", False),
        d("ratio", NONE, "1", "", -1e9, 1e9, "'0.5'", False),
        d("volume_rate", (3, 0, -1, 0, 0, 0), "m3/s", "mL/min", 0, 1e3, "'900 mL/min'", False),
        d("mass_rate", (0, 1, -1, 0, 0, 0), "kg/s", "g/min", 0, 1e3, "'900 g/min'", False),
        d("speed", (1, 0, -1, 0, 0, 0), "m/s", "m/s", -1e4, 1e4, "'0.2 m/s'", False),
        d("frequency", (0, 0, -1, 0, 0, 0), "1/s", "1/h", 0, 1e12, "'6 1/h'", False),
        d("pressure", (-1, 1, -2, 0, 0, 0), "Pa", "Pa", -1e13, 1e13, "'3 GPa' or '600 psi'", False),
        d("force", (1, 1, -2, 0, 0, 0), "N", "N", -1e12, 1e12, "'500 N'", False),
        d("energy", (2, 1, -2, 0, 0, 0), "J", "J", -1e18, 1e18, "'450 kJ'", False),
        d("power", (2, 1, -3, 0, 0, 0), "W", "W", -1e15, 1e15, "'1.5 kW'", False),
        d("surface_tension", (0, 1, -2, 0, 0, 0), "N/m", "mN/m", -big, big, "'38 mN/m'", False),
    )


@cache
def dimensions() -> dict[str, Dimension]:
    """All named dimensions [-] by name."""
    return {d.name: d for d in _table()}


def dimension(name: str) -> Dimension:
    """The dimension called `name` [-]; raises `KeyError` for a name that is none (a bug)."""
    aliases = {
        "duration": "time",
        "film": "coverage",
        "rate": "volume_rate",
        "percent": "percentage",
    }
    return dimensions()[aliases.get(name, name)]
