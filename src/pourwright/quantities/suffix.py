"""Unit suffixes of keys: ``depth_mm`` is in millimetres, ``air_degC`` in degrees Celsius.

The suffix is what follows the last underscore group that names a unit; ``per`` becomes ``/``.
"""

from __future__ import annotations

from pourwright.errors import worded
from pourwright.quantities.dimensions import Dimension

# suffix -> unit text as the reader knows it; a key with no such suffix carries no unit.
SUFFIX_UNITS: dict[str, str] = {
    "m": "m",
    "mm": "mm",
    "um": "um",
    "mm2": "mm2",
    "m2": "m2",
    "m3": "m3",
    "mL": "mL",
    "L": "L",
    "g": "g",
    "kg": "kg",
    "s": "s",
    "min": "min",
    "h": "h",
    "d": "d",
    "degC": "degC",
    "K": "K",
    "percent": "%",
    "deg": "deg",
    "rad": "rad",
    "Pa": "Pa",
    "MPa": "MPa",
    "N": "N",
    "Pa_s": "Pa s",
    "mPa_s": "mPa s",
    "kg_m3": "kg/m3",
    "g_m2": "g/m2",
    "mL_m2": "mL/m2",
    "mL_m": "mL/m",
    "L_m2": "L/m2",
    "m2_L": "m2/L",
    "mil": "mil",
    "GPa": "GPa",
    "kN": "kN",
    "Nm": "N m",
    "Hz": "Hz",
    "per_h": "1/h",
    "per_K": "1/K",
    "N_m": "N/m",
    "N_mm": "N/mm",
    "N_m2": "N/m2",
    "kg_m": "kg/m",
    "kg_m2": "kg/m2",
    "g_m3": "g/m3",
    "mg_m3": "mg/m3",
    "g_L": "g/L",
    "g_kg": "g/kg",
    "m3_h": "m3/h",
    "W_m2": "W/m2",
    "W_m2K": "W/(m2 K)",
    "W_mK": "W/(m K)",
    "J_kgK": "J/(kg K)",
    "J_m2": "J/m2",
    "deg_m": "deg/m",
    "ppm": "ppm",
    "m2_s": "m2/s",
    "m2_min": "m2/min",
    "mL_min": "mL/min",
    "per_s": "1/s",
    "per_Pa": "1/Pa",
    "J_mol": "J/mol",
    "kJ_mol": "kJ/mol",
    "J_kg": "J/kg",
    "J_g": "J/g",
    "kg_mol": "kg/mol",
    "g_mol": "g/mol",
    "kJ_m2": "kJ/m2",
    "m2K_W": "m2 K/W",
    "K_d": "K/d",
    "K_min": "K/min",
    "Nm2": "N m2",
    "per_m": "1/m",
}


# further suffixes that keys of a job file may carry
JOB_SUFFIXES: dict[str, str] = {
    "cm": "cm", "in": "in", "ft": "ft", "mil": "mil", "um": "um", "ft2": "ft2", "in2": "in2",
    "gal": "US gal", "fl_oz": "US fl oz", "imp_fl_oz": "imp fl oz", "lb": "lb", "oz": "oz",
    "degF": "degF", "cP": "cP", "kPa": "kPa", "GPa": "GPa", "psi": "psi", "kg_L": "kg/L",
    "g_mL": "g/mL", "lb_ft3": "lb/ft3", "lb_gal": "lb/US gal", "fl_oz_ft2": "US fl oz/ft2",
    "mm_m": "mm/m", "in_ft": "in/ft", "mL_min": "mL/min", "L_min": "L/min", "g_min": "g/min",
    "ft2_gal": "ft2/US gal", "m2_L": "m2/L", "per_h": "1/h",
}  # fmt: skip


def suffix_unit(key: str) -> str | None:
    """The unit text [-] that a key's suffix names, or None; the longest suffix wins."""
    parts = key.split("_")
    for start in range(1, len(parts)):
        unit = SUFFIX_UNITS.get("_".join(parts[start:]))
        if unit is not None:
            return unit
    return None


def to_suffix_unit(key: str, text: str) -> float:
    """Measured text as a number in the unit of a key's suffix.

    Parameters
    ----------
    key : str [-]
        A key with a unit suffix, e.g. ``depth_mm``.
    text : str [-]
        Text such as "2 1/2 in"; read strictly.

    Returns
    -------
    float [unit of the suffix]
        The number.

    Raises
    ------
    InputError
        When the text is not a quantity of that kind.
    """
    from pourwright.quantities.reader import read_as

    unit = suffix_unit(key)
    assert unit is not None
    return read_as(text, unit, field=key)


def both_ways(dim: Dimension, name: str) -> str:
    """How a quantity is written in a file: as text, or as a number under a key with its unit.

    Parameters
    ----------
    dim : Dimension [-]
        What is measured.
    name : str [-]
        The field's key without a unit; "" where there is none.

    Returns
    -------
    str [-]
        The remedy of an error.
    """
    suffix = next((s for s, unit in SUFFIX_UNITS.items() if unit == dim.written), "")
    if suffix and name:
        return worded(
            "Write it with its unit, as {example} or give a number under the key '{key}'.",
            example=dim.example,
            key=f"{name}_{suffix}",
        )
    return worded("Write it with its unit, as {example}.", example=dim.example)
