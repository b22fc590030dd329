"""What a resin would write on its data sheet: the forward model of the fit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.crossing import at_time, rises_to
from pourwright.cure.cup import Cup, cup_stack
from pourwright.cure.in_air import follow_air
from pourwright.cure.layer import peak_by_sample
from pourwright.cure.march import march, resample
from pourwright.cure.resin import Resin
from pourwright.cure.sheet import CUP_KINDS, FILM_TIMES, HDT_UNDER_TG_K, SheetLine
from pourwright.cure.viscosity import base_viscosity, conversion_at_thickening

_Array = NDArray[np.float64]

CLOSE_OVER_K = 8.0  # Tg over the room at which recoat has closed at the latest, as in `windows`
SETTLED_K_DAY = 0.5  # rise of Tg per day under which a film counts as fully cured; own criterion


def predict(resin: Resin, lines: Sequence[SheetLine], cup: Cup | None = None) -> _Array:
    """The figures that a resin would show, one column per line.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    lines : sequence of SheetLine [-]
        What is asked; their values only set how long is looked.
    cup : Cup or None [-]
        Cup of the sheet's test; None is a plastic cup as deep as wide on a rack.

    Returns
    -------
    array [s, K, Pa s or J/kg]
        Shape (n, len(lines)). A stage not reached in the time looked at gets a longer time that
        grows smoothly with what is missing, so that a fit can still find its way.
    """
    out = np.empty((resin.count, len(lines)))
    for at, line in enumerate(lines):
        if line.kind == "viscosity":
            out[:, at] = base_viscosity(
                line.temperature_K, resin.viscosity_25, resin.flow_energy, resin.flow_freeze
            )
        elif line.kind == "heat":
            out[:, at] = resin.heat
    cups = [i for i, x in enumerate(lines) if x.kind in CUP_KINDS]
    if cups:
        _cups(resin, lines, cups, cup or Cup(base_share=1.0), out)
    films = [i for i, x in enumerate(lines) if x.kind in FILM_TIMES or x.kind in ("tg", "hdt")]
    if films:
        _films(resin, lines, films, out)
    return out


def _cups(
    resin: Resin, lines: Sequence[SheetLine], which: list[int], cup: Cup, out: _Array
) -> None:
    """All cups of the sheet in one march: samples times distinct cups."""
    n = resin.count
    keys = sorted({(lines[i].temperature_K, lines[i].mass_kg) for i in which})
    many = resin.take(np.tile(np.arange(n), len(keys)))
    temps = np.repeat([k[0] for k in keys], n)
    masses = np.repeat([k[1] for k in keys], n)
    times = [lines[i].value for i in which if lines[i].kind != "peak"]
    hot = any(lines[i].kind == "peak" for i in which)
    guess = 1.0 / float(np.median(many.rate(np.full(many.count, 0.3), temps)))
    end = float(np.clip(4.0 * max(times, default=2.0 * guess), 3600.0, 40 * 86400.0))
    if hot:
        end = max(end, 3.0 * guess)
    stack = cup_stack(many, masses, cup)
    run = march(
        stack,
        many,
        np.zeros_like,
        0.0,
        end,
        first_temps=np.tile(temps, (2, 1)),
        air_offset=temps,
        tolerance=5e-5,
        tolerance_K=0.1,
        longest_step_s=end / 30,
        stop_at_gel=not hot,
    )
    grid = np.concatenate([[0.0], np.geomspace(end / 2000, end, 240)])
    alpha, temp = resample(run, many.count, grid, ("conversion", "temperature"))
    peak = peak_by_sample(run, run.temperature, many.count)
    stages = {
        "cup_gel": many.gel,
        "pot_life": conversion_at_thickening(2.0, many.gel, many.thick_a, many.thick_b),
    }
    for i in which:
        line = lines[i]
        part = slice((j := keys.index((line.temperature_K, line.mass_kg))) * n, (j + 1) * n)
        if line.kind == "peak":
            out[:, i] = peak[part]
        elif line.kind == "cup_warm":
            rise = np.maximum.accumulate(temp[part] - temps[part][:, None], axis=1)
            late = end * (1.0 + np.clip(10.0 - rise[:, -1], 0.0, None) / 10.0)
            when = rises_to(grid, rise, 10.0)
            out[:, i] = np.where(np.isfinite(when), when, late)
        else:
            goal = stages[line.kind][part]
            out[:, i] = _reached(grid, alpha[part], goal)


def _films(resin: Resin, lines: Sequence[SheetLine], which: list[int], out: _Array) -> None:
    """All films of the sheet in one sweep: samples times distinct temperatures."""
    n = resin.count
    keys = sorted({lines[i].temperature_K for i in which})
    many = resin.take(np.tile(np.arange(n), len(keys)))
    temps = np.repeat(keys, n)
    full = any(lines[i].kind == "full_cure" for i in which)
    longest = max(
        [4.0 * lines[i].value for i in which if lines[i].kind in FILM_TIMES]
        + [lines[i].cured_s for i in which if lines[i].kind in ("tg", "hdt")]
    )
    end = max(longest, 14 * 86400.0) if full else max(longest, 3600.0)
    grid = np.unique(
        np.concatenate([[0.0], np.geomspace(end / 5000, end, 260), [14 * 86400.0] * full])
    )
    alpha, _ = follow_air(many, lambda _: 0.0, grid, 0.0, temps, tolerance=3e-5, with_flow=False)
    for i in which:
        line = lines[i]
        j = keys.index(line.temperature_K)
        rows = alpha[j * n : (j + 1) * n]
        if line.kind in ("tg", "hdt"):
            tg = resin.tg(at_time(grid, rows, line.cured_s))
            out[:, i] = tg - (HDT_UNDER_TG_K if line.kind == "hdt" else 0.0)
            continue
        if line.kind == "full_cure":
            tg = resin.tg(rows)
            rise = np.diff(tg, axis=1) / np.diff(grid) * 86400.0
            middle = np.sqrt(np.maximum(grid[:-1], grid[1] / 2) * grid[1:])
            late = np.maximum.accumulate(rise[:, ::-1], axis=1)[:, ::-1]  # the peak is behind
            out[:, i] = rises_to(middle, -np.log(np.maximum(late, 1e-9)), -np.log(SETTLED_K_DAY))
            out[:, i] = np.where(np.isfinite(out[:, i]), out[:, i], 1.5 * grid[-1])
            continue
        goal = {
            "film_gel": resin.gel,
            "tack_free": resin.tack,
            "recoat_open": resin.recoat_open,
            "recoat_close": resin.recoat_close,
        }[line.kind]
        out[:, i] = _reached(grid, rows, goal)
        if line.kind == "recoat_close":
            glass = resin.tg(rows) - line.temperature_K
            out[:, i] = np.minimum(out[:, i], _reached(grid, glass + 100.0, CLOSE_OVER_K + 100.0))


def _reached(grid: _Array, rows: _Array, goal: Any) -> _Array:
    """When rows reach their goal [s]; past the end, longer the more is missing."""
    when = rises_to(grid, rows, goal, steady=True)
    missing = np.clip(goal - rows[:, -1], 0.0, None) / goal
    return np.where(np.isfinite(when), when, grid[-1] * np.exp(4.0 * missing))
