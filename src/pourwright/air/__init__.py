"""Air: dew point, board moisture, blush, solvent vapour in a small cabin (engine floor).

Map
---
- `psychro`  saturation pressure, dew point, humidity ratio, humidity at another temperature.
- `margin`   surface margin above the dew point over the whole soft time, and its worst moment.
- `blush`    a blush risk score pinned to the two measured humidities, with its band.
- `wood`     moisture equilibrium of wood and boards, movement, conditioning time.
- `vapour`   well-mixed room: one-off, steady and first-order sources, purge, fresh air.
- `limits`   exposure and flammable limits as data with agency and year.
- `cabin`    a drying coat in a cabin against those limits; the torch sentence.
- `checks`   all of this as `Check`s for the day's hold points.
- `calcs`    the registered calculations, in `calc_*` by topic.

Every function takes SI floats or arrays: K, Pa, kg, m3, s, fractions.
"""

from pourwright.air.blush import BlushRisk, blush_risk
from pourwright.air.cabin import (
    CabinAir,
    Solvent,
    cabin_air,
    solvent_mass,
    torch_statement,
    vapour_checks,
)
from pourwright.air.checks import (
    blush_check,
    board_moisture_check,
    margin_checks,
    window_check,
)
from pourwright.air.limits import Limit, limit_of, listed_limits
from pourwright.air.margin import SurfaceMargin, closed_room_humidity, surface_margin
from pourwright.air.psychro import (
    dew_point,
    humidity_at,
    humidity_for_margin,
    humidity_ratio,
    saturation_pressure,
    vapour_pressure,
)
from pourwright.air.wood import (
    board_moisture,
    conditioning_time,
    moisture_diffusivity,
    waiting_time,
    wood_moisture,
)

__all__ = [
    "BlushRisk",
    "CabinAir",
    "Limit",
    "Solvent",
    "SurfaceMargin",
    "blush_check",
    "blush_risk",
    "board_moisture",
    "board_moisture_check",
    "cabin_air",
    "closed_room_humidity",
    "conditioning_time",
    "dew_point",
    "humidity_at",
    "humidity_for_margin",
    "humidity_ratio",
    "limit_of",
    "listed_limits",
    "margin_checks",
    "moisture_diffusivity",
    "saturation_pressure",
    "solvent_mass",
    "surface_margin",
    "torch_statement",
    "vapour_checks",
    "vapour_pressure",
    "waiting_time",
    "window_check",
    "wood_moisture",
]
