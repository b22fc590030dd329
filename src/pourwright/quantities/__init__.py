"""Measured quantities: read, keep and write (ground floor).

Map
---
- `units`       the allow-list of units with exact factors.
- `dimensions`  what can be measured: SI unit, file unit, accepted range.
- `locales`     decimal and thousands marks by language.
- `scan`        characters to numbers: one pass, no patterns, nothing evaluated.
- `unit_text`   unit expressions such as ``US fl oz/ft2`` or ``W/(m K)``.
- `reader`      `read`, `read_as`, `understand`: strict text to SI floats.
- `nearest`     the nearest known unit for a word that is none.
- `writer`      `exact`: the shortest text that reads back as the same float.
- `display`     `write` and `spoken`: text for people on the shop floor.
- `inches`      the nearest 1/16 or 1/32 on a tape, with the error that makes.
- `money`       decimal money with ISO 4217 codes and rounding rules.
- `prices`      prices by measure, "EUR 38.00/L".
- `ratio`       mix ratios with their basis.
- `coverage`    film thickness, volume per area, area per volume, total.
- `fields`      pydantic field types of the job file (imported on its own: it loads pydantic).
- `limits`      limits of such fields, stated as text.
- `suffix`      unit suffixes of keys.
"""

from pourwright.quantities.display import spoken, write
from pourwright.quantities.inches import on_tape
from pourwright.quantities.reader import Reading, read, read_as, understand
from pourwright.quantities.suffix import suffix_unit, to_suffix_unit
from pourwright.quantities.writer import exact

__all__ = [
    "Reading",
    "exact",
    "on_tape",
    "read",
    "read_as",
    "spoken",
    "suffix_unit",
    "to_suffix_unit",
    "understand",
    "write",
]
