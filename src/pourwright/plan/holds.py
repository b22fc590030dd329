"""Hold points of the day: air, dew point, blush, board moisture, vapour, level, each as a check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pourwright.air import (
    Solvent,
    blush_check,
    blush_risk,
    board_moisture_check,
    cabin_air,
    limit_of,
    margin_checks,
    surface_margin,
    vapour_checks,
    window_check,
    wood_moisture,
)
from pourwright.calc.check import Check
from pourwright.film import thickest_that_stays
from pourwright.plan.context import Context
from pourwright.plan.days import Timed

STEP_S = 900.0
LEVEL_RULE = 0.002
"""Most a top may be out of level: 2 mm in a metre [-] (common practice)."""
ALLOWED_SAG_M = 0.005
"""How far an upright film may run before it gels [m] (common practice)."""
ALLOWED_THIN_M = 0.05
"""Length below the upper edge that may thin [m] (common practice)."""
CABIN_VOLUME_M3 = {"building": 40.0, "boat": 25.0, "vehicle": 10.0}
"""Room volume taken when the job file gives none [m3] (order of magnitude)."""
AIR_CHANGES_PER_H = 2.0


@dataclass(frozen=True)
class Hold:
    """A hold point: which steps wait for it, and its check."""

    key: str
    step: str
    check: Check


def hold_points(ctx: Context, timed: Timed) -> list[Hold]:
    """All computed hold points of a job on the clock.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    timed : Timed [s]
        Its coats and schedule.

    Returns
    -------
    list of Hold [units of each check]
    """
    out = [*_board(ctx)]
    for c in timed.coats:
        start = timed.schedule.of(f"{c.id}-mix-1").start_s
        out += _air(ctx, c.id, start, _soft_until(timed, c.id, start))
    for p in timed.schedule.placed:
        if p.step.kind == "prime":
            checks = _margin(ctx, p.start_s, p.finish_s + 2 * 3600.0)
            out += [Hold("dew-point", p.id, c) for c in checks[:1]]
    out += _level(ctx)
    out += _upright(ctx, timed)
    out += _vapour(ctx, timed)
    return out


def _soft_until(timed: Timed, coat: str, start_s: float) -> float:
    end = timed.spread_end(coat)
    tack = timed.clocks[coat].at(end).windows["hands_off"].end()
    return max(tack.p95 if tack is not None else end + 24 * 3600.0, start_s + 3600.0)


def _histories(
    ctx: Context, start_s: float, end_s: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    t = np.arange(start_s, end_s + STEP_S, STEP_S)
    air = np.asarray(ctx.air.at(t))
    return t, air, ctx.humidity_at(t), air - ctx.job.site.air.surface_below_air


def _margin(ctx: Context, start_s: float, end_s: float) -> list[Check]:
    t, air, humidity, surface = _histories(ctx, start_s, end_s)
    return margin_checks(
        surface_margin(t, air, np.clip(humidity, 0.02, 1.0), surface), say=_moment(ctx)
    )


def _moment(ctx: Context) -> Callable[[float], str]:
    """Says a time since the first midnight as weekday and clock time."""
    return lambda t: f"{ctx.hours.moment(t):%a %H:%M}"


def _air(ctx: Context, coat: str, start_s: float, end_s: float) -> list[Hold]:
    t, air, humidity, surface = _histories(ctx, start_s, end_s)
    first = f"{coat}-mix-1"
    margin = surface_margin(t, air, np.clip(humidity, 0.02, 1.0), surface)
    found = margin_checks(margin, say=_moment(ctx))
    holds = [Hold("dew-point", first, found[0]), Hold("humidity", first, found[1])]
    holds += [Hold("air", first, c) for c in window_check(air)]
    risk = blush_risk(np.clip(margin.surface_humidity, 0.0, 1.0), margin.surface, margin.time)
    holds.append(Hold("blush", first, blush_check(risk)))
    return holds


def _board(ctx: Context) -> list[Hold]:
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    moisture = ctx.job.site.wood_moisture
    if moisture is None or core.get("swell_per_mc", 0.0) == 0.0:
        return []
    use = ctx.job.site.air
    middle = ctx.forecast.mean(0.0, 86400.0)
    share = core.get("emc_share", 1.0)
    at_use = float(np.asarray(wood_moisture(middle, use.humidity))) * share
    return [
        Hold("board-moisture", "core-cut", c)
        for c in board_moisture_check(moisture / 100.0, at_use)
    ]


def _level(ctx: Context) -> list[Hold]:
    check = Check.of(
        "survey.level",
        "slope of the surfaces as the site stands",
        1e3 * np.tan(ctx.job.site.tilt),
        "mm/m",
        1e3 * LEVEL_RULE,
        "at most",
        "at most 2 mm in a metre when poured; wedge the piece level, not the boat",
        "common practice; what a slope does is in film.tilt [common practice]",
        remedies=(f"Wedge the low side up by {1e3 * np.tan(ctx.job.site.tilt):.1f} mm per metre.",),
    )
    return [Hold("level", "mask", check)]


def _upright(ctx: Context, timed: Timed) -> list[Hold]:
    """What a coat poured on an upright face may be, if it is not coated lying flat."""
    upright = [s for s in ctx.survey.surfaces if s.lie == "upright" and s.purpose != "board"]
    if not upright or ctx.job.site.coat_flat:
        return []
    out = []
    for c in timed.coats:
        film = timed.history(c.id).film
        flow = film.flow_left[:, 0]
        stays = np.asarray(thickest_that_stays(flow, ALLOWED_SAG_M, ALLOWED_THIN_M))
        wanted = flow * (stays / c.film.value) ** 2
        when = film.when_flow_left(wanted) - film.start_s
        late = float(np.median(when[np.isfinite(when)])) / 3600 if np.isfinite(when).any() else 0.0
        out.append(
            Hold(
                "upright",
                f"{c.id}-mix-1",
                Check.of(
                    f"film.upright.{c.id}",
                    f"{c.title.lower()} on upright faces",
                    c.film.value * 1e3,
                    "mm",
                    stays * 1e3,
                    "at most",
                    "an upright film may sag 5 mm before it gels",
                    "Jeffreys 1930 draining film, see docs/film.md [from memory]",
                    remedies=(
                        "Coat it lying flat and hang it when hard (set coat_flat = true), or roll "
                        f"it on when it has thickened, about {late:.1f} h after mixing.",
                    ),
                ),
            )
        )
    return out


def _vapour(ctx: Context, timed: Timed) -> list[Hold]:
    top = ctx.job.topcoat
    if top is None:
        return []
    lacquer = ctx.material(top.material, "topcoat", "topcoat.material")
    share = lacquer.get("solvent_mass_fraction", 0.0)
    area = ctx.survey.totals("surface")["poured"]
    mass = area * lacquer["coverage_L_m2"] * 1e-3 * lacquer["density_kg_m3"] * share
    solvents = []
    for name, part in dict(lacquer.facts.get("solvents", {})).items():
        limit = limit_of(ctx.material(name, "limit", f"{lacquer.id}.solvents"))
        solvents.append(Solvent(limit, mass * part))
    if not solvents or mass <= 0:
        return []
    volume = ctx.job.site.room_volume or CABIN_VOLUME_M3[ctx.job.site.kind]
    draws = ctx.draws
    rate = draws.between("vapour-rate", 1.0 / 3600, 3.0 / 3600, 8.0 / 3600, log=True)
    mixing = draws.between("vapour-mixing", 2.0, 4.0, 6.0, log=True)
    air = cabin_air(solvents, volume, AIR_CHANGES_PER_H / 3600, rate, np.maximum(mixing, 1.0))
    return [Hold("vapour", "topcoat-1", c) for c in vapour_checks(air, "limits.toml")]
