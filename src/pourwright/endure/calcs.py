"""The endurance calculations: importing this registers them all.

`endure.bow`, `endure.edge`, `endure.moisture` in `calc_bow`; `endure.span`, `endure.twist` in
`calc_load`; `endure.heat` in `calc_heat`; `endure.weight`, `endure.axle` in `calc_weight`;
`endure.heel` in `calc_boat`.
"""

from __future__ import annotations

from pourwright.endure.calc_boat import heel_calc
from pourwright.endure.calc_bow import bow_calc, edge_calc, moisture_calc
from pourwright.endure.calc_heat import heat_calc
from pourwright.endure.calc_load import span_calc, twist_calc
from pourwright.endure.calc_weight import axle_calc, weight_calc

__all__ = [
    "axle_calc",
    "bow_calc",
    "edge_calc",
    "heat_calc",
    "heel_calc",
    "moisture_calc",
    "span_calc",
    "twist_calc",
    "weight_calc",
]
