"""Unit suffixes of keys: ``depth_mm`` is in millimetres, ``air_degC`` in degrees Celsius.

The suffix is what follows the last underscore group that names a unit; ``per`` becomes ``/``.
"""

from __future__ import annotations

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
}


def suffix_unit(key: str) -> str | None:
    """The unit text [-] that a key's suffix names, or None; the longest suffix wins."""
    parts = key.split("_")
    for start in range(1, len(parts)):
        unit = SUFFIX_UNITS.get("_".join(parts[start:]))
        if unit is not None:
            return unit
    return None


def to_suffix_unit(key: str, text: str) -> float:
    """`text` such as "2 1/2 in" read strictly, as a number in the unit of `key`'s suffix.

    Raises `InputError` when the text is not a quantity of that kind.
    """
    from pourwright.quantities.reader import read_as

    unit = suffix_unit(key)
    assert unit is not None
    return read_as(text, unit, field=key)
