"""Hold points before the saw: the board's moisture, and what no later step mends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pourwright.air import (
    board_moisture,
    board_moisture_check,
    moisture_diffusivity,
    waiting_time,
)
from pourwright.air.psychro import Floats
from pourwright.calc import spread_of
from pourwright.calc.check import Check
from pourwright.catalogue import Material
from pourwright.plan.context import Context
from pourwright.plan.hold_limits import limit
from pourwright.words import Amount, Between, say

UNMEASURED = (0.05, 0.08, 0.12)
"""Moisture of a board that nobody measured, 5, 50 and 95 % [-] (8 +-3 % when made: trade guide)."""
METER = 0.01
"""How well a moisture meter reads a board [-] (common practice)."""
DAY_S = 86400.0
BEFORE_THE_SAW = ("endure.weight", "endure.lift")
"""Checks that hold the saw even when they are met: what is cut too heavy stays so."""
LATER = ("endure.heat", "endure.heel.pour")
"""Checks that no other board mends before the saw starts: a trivet, shade, a level boat."""


def saw_checks(checks: Sequence[Check]) -> list[Check]:
    """What must stand before the core is cut.

    Parameters
    ----------
    checks : sequence of Check [units of each check]
        Weight and endurance of the job as it is planned.

    Returns
    -------
    list of Check [units of each check]
        Weight and carrying, and every answer on weight, shape and load that is not a plain yes:
        once the board is cut, a change of it costs a sheet.
    """
    return [
        c
        for c in checks
        if not c.name.startswith(LATER) and (c.passed != "yes" or c.name in BEFORE_THE_SAW)
    ]


def board_checks(ctx: Context) -> list[Check]:
    """Checks of the board's moisture before the first coat.

    Parameters
    ----------
    ctx : Context [-]
        The job; a foam or a core that is made already gives none.

    Returns
    -------
    list of Check [%]
        Dry enough, and near the place of use; with a drying forecast for the air of the shop.
    """
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    if core.get("swell_per_mc", 0.0) == 0.0 or ctx.job.core.ready:
        return []
    site, draws = ctx.job.site, ctx.draws
    share = _draw(ctx, core, "emc_share", 1.0)
    shop = ctx.forecast.mean(0.0, DAY_S)
    settles = board_moisture(shop, site.air.humidity, share)
    use = settles
    if site.use is not None:
        use = board_moisture(site.use.temperature, site.use.humidity, share)
    if site.wood_moisture is None:
        now = draws.between("plan.board_moisture", *UNMEASURED)
        said = [say("Nobody has measured it: put a moisture meter on the board.")]
    else:
        read = site.wood_moisture / 100.0
        now = np.maximum(read + METER / 1.645 * draws.normal("plan.board_moisture"), 0.002)
        said = []
    diffusivity = moisture_diffusivity(
        _draw(ctx, core, "vapour_mu", 20.0), core["density_kg_m3"], shop, site.air.humidity, share
    )
    near = limit(ctx, "criterion-board", "near_percent") / 100.0
    most = limit(ctx, "criterion-board", "most_percent") / 100.0
    waits = waiting_time(now, use, settles, near, ctx.job.core.thickness, diffusivity)
    return board_moisture_check(now, use, near, most, first=[*said, *_forecast(waits, settles)])


def _forecast(waits: Floats, settles: Floats) -> list[str]:
    """What waiting in this air would do, in words; nothing when the board is right already."""
    if float(np.mean(waits == 0.0)) >= 0.95:
        return []
    ends = 100.0 * float(np.median(settles))
    if float(np.mean(np.isfinite(waits))) < 0.5:
        return [
            say(
                "This air settles the board at {ends:.1f} %: waiting alone will not do; bring the "
                "air nearer to that of the place of use.",
                ends=ends,
            )
        ]
    days = spread_of(np.minimum(waits, 400 * DAY_S) / DAY_S)
    return [
        say(
            "On battens in this air, both faces free, it takes about {days:.0f} ({span:.0f}).",
            days=Amount(max(days.p50, 0.5), "d"),
            span=Between(days.p05, days.p95, "d"),
        )
    ]


def _draw(ctx: Context, core: Material, key: str, default: float) -> Floats:
    if key not in core.properties:
        return np.asarray(default)
    prop = core.prop(key)
    if prop.low == prop.high:
        return np.asarray(prop.value)
    return np.asarray(prop.sample(ctx.draws, f"{core.id}.{key}"))
