"""Registry of calculations (ground floor): one place where every engine question is registered.

Map
---
- `base`      `CalcInput`, `CalcValue`, `Spread`, `CalcResult`: the contract of DESIGN.md 4.
- `registry`  `calculation` (decorator), `get`, `names`, `run`: found lazily by the room in a name.
- `sources`   `Source` and its marks (published, common practice, from memory, user, computed).
- `sampling`  common random numbers: the same seed and name give the same draws everywhere.
- `check`     `Check`: a value against a limit, with verdict, source, caution and remedies.
- `docs`      reference pages and JSON schemas written from the registry.
"""

from pourwright.calc.base import CalcInput, CalcResult, CalcValue, Spread
from pourwright.calc.registry import Calculation, calculation, get, names, run
from pourwright.calc.sampling import Draws, spread_of
from pourwright.calc.sources import Source, common_practice, computed, from_memory, published

__all__ = [
    "CalcInput",
    "CalcResult",
    "CalcValue",
    "Calculation",
    "Draws",
    "Source",
    "Spread",
    "calculation",
    "common_practice",
    "computed",
    "from_memory",
    "get",
    "names",
    "published",
    "run",
    "spread_of",
]
