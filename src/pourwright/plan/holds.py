"""Hold points of the day: air, dew point, blush, board moisture, vapour, level, each as a check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from pourwright.air import (
    blush_check,
    blush_risk,
    margin_checks,
    surface_margin,
    window_check,
)
from pourwright.air.checks import Soft
from pourwright.air.margin import SurfaceMargin
from pourwright.calc.check import Check
from pourwright.film import thickest_that_stays
from pourwright.plan.clocks import NEVER_S, ROUND_S
from pourwright.plan.context import Context
from pourwright.plan.days import Timed
from pourwright.plan.hold_board import board_checks
from pourwright.plan.hold_limits import limit, marked
from pourwright.plan.hold_vapour import vapour_holds
from pourwright.words import Amount, Moment, say

STEP_S = 900.0
ZERO = 273.15
LEVEL_READ = 0.0005
"""How well a long level reads a slope, 5 to 95 % [-] (common practice)."""
ALLOWED_SAG_M = 0.005
"""How far an upright film may run before it gels [m] (common practice)."""
ALLOWED_THIN_M = 0.05
"""Length below the upper edge that may thin [m] (common practice)."""


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
    for c in timed.poured:
        start = timed.schedule.of(f"{c.id}-mix-1").start_s
        what: Soft = "back" if c in timed.backs else "resin"
        out += _air(ctx, c.id, start, _soft_until(timed, c.id, start), what)
    for p in timed.schedule.placed:
        if p.step.kind in ("prime", "topcoat"):
            paint: Soft = "primer" if p.step.kind == "prime" else "topcoat"
            checks = _margin(ctx, p.start_s, p.finish_s + _dries(ctx, paint), paint)
            out += [Hold("dew-point", p.id, c) for c in checks[:1]]
    out += _level(ctx, ["back-mask", "mask"] if timed.backs else ["mask"])
    out += _turn(timed)
    out += _upright(ctx, timed)
    out += _vapour(ctx, timed)
    return [Hold(h.key, h.step, marked(ctx, h.check)) for h in out]


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


def _dries(ctx: Context, what: Soft) -> float:
    """How long a primer or topcoat stays wet [s], by its own entry."""
    job = ctx.job
    if what == "primer" and job.primer is not None:
        hours = ctx.material(job.primer.material, "primer", "primer.material").get("dry_h", 2.0)
    elif what == "topcoat" and job.topcoat is not None:
        hours = ctx.material(job.topcoat.material, "topcoat", "topcoat.material").get("dry_h", 4.0)
    else:
        hours = 2.0
    return 3600.0 * float(hours)


def _margin(ctx: Context, start_s: float, end_s: float, what: Soft) -> list[Check]:
    t, air, humidity, surface = _histories(ctx, start_s, end_s)
    return _judged(ctx, surface_margin(t, air, np.clip(humidity, 0.02, 1.0), surface), what)


def _judged(ctx: Context, margin: SurfaceMargin, what: Soft) -> list[Check]:
    """Margin and humidity against the rule as it stands for this job."""
    kelvin = limit(ctx, "rule-dew-point", "margin_K")
    humid = limit(ctx, "rule-dew-point", "humidity_percent") / 100.0
    return margin_checks(margin, kelvin, humid, at=_moment(ctx), what=what)


def _moment(ctx: Context) -> Callable[[float], str]:
    """Says a time since the first midnight as weekday and clock time."""
    return lambda t: say("{at}", at=Moment(ctx.hours.moment(t)))


def _air(ctx: Context, coat: str, start_s: float, end_s: float, what: Soft) -> list[Hold]:
    t, air, humidity, surface = _histories(ctx, start_s, end_s)
    first = f"{coat}-mix-1"
    margin = surface_margin(t, air, np.clip(humidity, 0.02, 1.0), surface)
    found = _judged(ctx, margin, what)
    holds = [Hold("dew-point", first, found[0]), Hold("humidity", first, found[1])]
    cold, hot = (limit(ctx, "criterion-window", k) for k in ("coldest_degC", "hottest_degC"))
    holds += [Hold("air", first, c) for c in window_check(air, cold + ZERO, hot + ZERO)]
    risk = blush_risk(np.clip(margin.surface_humidity, 0.0, 1.0), margin.surface, margin.time)
    holds.append(Hold("blush", first, blush_check(risk)))
    return holds


def _board(ctx: Context) -> list[Hold]:
    return [Hold("board-moisture", "core-cut", c) for c in board_checks(ctx)]


def _level(ctx: Context, steps: list[str]) -> list[Hold]:
    level = limit(ctx, "criterion-level", "slope_percent") / 100.0
    check = Check.of(
        "survey.level",
        "slope of the surfaces as the site stands",
        np.maximum(1e3 * (np.tan(ctx.job.site.tilt) + LEVEL_READ * np.linspace(-1, 1, 21)), 0.0),
        "mm/m",
        1e3 * level,
        "at most",
        say(
            "at most {slope:g} when poured; wedge the piece level, not the boat"
            if ctx.job.site.kind == "boat"
            else "at most {slope:g} when poured; wedge the piece level",
            slope=Amount(1e3 * level, "mm/m"),
        ),
        "common practice; what a slope does is in film.tilt [common practice]",
        caution="A wedged piece can slide: block it before anybody leans over wet resin.",
        remedies=(
            say(
                "Wedge the low side up by {rise:.1f}.",
                rise=Amount(1e3 * np.tan(ctx.job.site.tilt), "mm/m"),
            ),
        ),
    )
    return [Hold("level", step, check) for step in steps]


def _turn(timed: Timed) -> list[Hold]:
    """The film on the backs has cured as long as it takes until it can be handled."""
    if not timed.backs:
        return []
    last = timed.backs[-1]
    end = timed.spread_end(last.id)
    waited = timed.schedule.of("back-turn").start_s - end
    window = timed.history(last.id).windows["handle"]
    about = round(end / ROUND_S) * ROUND_S  # the quarter hour for which the history is kept
    hard = np.where(np.isfinite(window.start_s), window.start_s, about + NEVER_S) - about
    check = Check.of(
        "cure.back.hard",
        say("the film on the backs is hard before the pieces are turned"),
        waited / 3600.0,
        "h",
        np.maximum(hard, 0.0) / 3600.0,
        "at least",
        say("turned when it can be handled: {criterion}", criterion=window.start_text),
        "handling by conversion along the film's own temperature, see docs/cure.md [published]",
        caution=say("A thumb in a glove leaves no print, and the kept cup lets go clean and hard."),
        remedies=(
            say(
                "Wait until about {hours:.0f} after the pour, or warm the room gently.",
                hours=Amount(float(np.quantile(hard, 0.95)) / 3600.0, "h"),
            ),
        ),
    )
    return [Hold("back-hard", "back-turn", check)]


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
                    say("{coat:l} on upright faces", coat=c.title),
                    c.film.value * 1e3,
                    "mm",
                    stays * 1e3,
                    "at most",
                    say(
                        "an upright film may sag {sag:g} before it gels",
                        sag=Amount(1e3 * ALLOWED_SAG_M, "mm"),
                    ),
                    "Jeffreys 1930 draining film, see docs/film.md [from memory]",
                    caution="Hanging a coated panel takes two, gloves, and a film that is hard.",
                    remedies=(
                        say(
                            "Coat it lying flat and hang it when hard (set coat_flat = true), or "
                            "roll it on when it has thickened, about {late:.1f} after mixing.",
                            late=Amount(late, "h"),
                        ),
                    ),
                ),
            )
        )
    return out


def _vapour(ctx: Context, timed: Timed) -> list[Hold]:
    return [Hold(*row) for row in vapour_holds(ctx, timed)]
