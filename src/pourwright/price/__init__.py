"""Price (trades floor): what a job costs, what it is offered for, and what could change that.

Knows no job file and no plan: it is handed plain items, stints of work and the shop's own terms.

Map
---
- `spec`         the shop's terms as the job file states them (`PriceSpec`).
- `usual`        usual pack sizes and sundries, with illustrative prices (`usual.toml`).
- `items`        things bought or worn: purchase size, left-overs, price bands, currencies.
- `packs`        which tins or jars cover an amount.
- `sundries`     cups, gloves, tape, abrasives, blades: how many a job uses up.
- `labour`       hours from the stints of the day plan; no minute is charged twice.
- `rounding`     line and total rounding, shares that add up to the coin.
- `reckon`       the cost with its range, risk margin, mark-up, tax, stages.
- `whatif`       break-even, a day lost to the weather.
- `compare`      planned against actual.
"""

from pourwright.price.compare import Compared, compare
from pourwright.price.items import Item, PriceBand, band_of, exact_band
from pourwright.price.labour import DayLabour, Stint, labour_days
from pourwright.price.reckon import Reckoning, SaleLine, Terms, reckon
from pourwright.price.rounding import rounded_sum, share_out
from pourwright.price.spec import Option, PriceSpec, Stage
from pourwright.price.whatif import BreakEven, LostDay, break_even, lost_day

__all__ = [
    "BreakEven",
    "Compared",
    "DayLabour",
    "Item",
    "LostDay",
    "Option",
    "PriceBand",
    "PriceSpec",
    "Reckoning",
    "SaleLine",
    "Stage",
    "Stint",
    "Terms",
    "band_of",
    "break_even",
    "compare",
    "exact_band",
    "labour_days",
    "lost_day",
    "reckon",
    "rounded_sum",
    "share_out",
]
