"""The air's calculations: importing this registers them all.

`air.dew_point` and `air.blush` live in `calc_surface`, `air.wood_moisture` in `calc_board`,
`air.vapour` in `calc_vapour`.
"""

from __future__ import annotations

from pourwright.air.calc_board import wood_calc
from pourwright.air.calc_surface import blush_calc, dew_point_calc
from pourwright.air.calc_vapour import vapour_calc

__all__ = ["blush_calc", "dew_point_calc", "vapour_calc", "wood_calc"]
