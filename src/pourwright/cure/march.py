"""The solver behind every history: cells of resin and core in a line, air at both ends.

State per cell is enthalpy less heat of reaction, w = C T - H a, so the reaction never appears in
the energy equation and energy closes to round-off; conversion is carried as z, a = B z/(1 + B z),
in which the cure equation dz/dt = (1 + (B-1) z)(k1 + k2 a) is mild at any temperature. Conduction
is taken implicitly and cure explicitly (see `cells`). Every sample takes its own steps.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.cells import Cells, Stack
from pourwright.cure.resin import Resin

_Array = NDArray[np.float64]


COLUMNS = (
    "time", "conversion", "conversion_rate", "temperature", "temperature_rate", "flow", "fluidity",
    "centre", "base",
)  # fmt: skip


@dataclass(frozen=True)
class March:
    """What the solver went through: accepted steps of all samples, sorted by sample and time.

    Values are resin means unless said; arrays of shape (k,).
    """

    sample: NDArray[np.intp]
    time: _Array  # [s]
    conversion: _Array  # [-]
    conversion_rate: _Array  # [1/s]
    temperature: _Array  # mean of the resin [K]
    temperature_rate: _Array  # [K/s]
    flow: _Array  # integral of dt/viscosity [1/Pa]
    fluidity: _Array  # its rate [1/(Pa s)]
    centre: _Array  # temperature of the middle resin cell [K]
    base: _Array  # temperature of the lowest resin cell [K]
    heat_out: _Array  # heat given to the air so far, per sample at its end [J/m2 or J], (n,)
    closure: _Array  # |energy in - out - stored| over heat of reaction, (n,) [-]
    steps: int  # sweeps of the solver
    last_z: _Array  # final z of the resin cells, (reacting, n)
    last_temps: _Array  # final temperatures, (c, n) [K]


def march(
    stack: Stack,
    resin: Resin,
    air: Callable[[_Array], _Array],
    start_s: float,
    end_s: float,
    *,
    first_temps: _Array,
    first_conversion: Any = 0.0,
    air_offset: Any = 0.0,
    kinks: Sequence[float] | _Array = (),
    pulses: Sequence[tuple[float, float]] = (),
    tolerance: float = 5e-6,
    tolerance_K: float = 0.02,
    first_step_s: float = 5.0,
    longest_step_s: float = 7200.0,
    stop_at_gel: bool = False,
    most_sweeps: int = 20000,
) -> March:
    """Follow temperature, conversion and flow of a stack of cells.

    Parameters
    ----------
    stack : Stack [SI]
        Cells; heat per area for layers, absolute for a cup.
    resin : Resin [SI]
        n samples.
    air : callable [K]
        Air temperature as a function of times [s] of shape (n,), returning (n,).
    start_s, end_s : float [s]
        From when to when.
    first_temps : array [K]
        Temperatures at the start, shape (c, n).
    first_conversion : float or array [-]
        Conversion at the start, shape () or (n,).
    air_offset : float or array [K]
        Added to the air's temperature, shape () or (n,).
    kinks : array [s]
        Times that no step may jump over.
    pulses : sequence of (float, float) [s and J/m2]
        Heat put into the uppermost resin cells at a time (a torch pass), spread over all of them.
    tolerance : float [-]
        Error allowed in conversion per step.
    tolerance_K : float [K]
        Error allowed in temperature per step.
    first_step_s, longest_step_s : float [s]
        First and longest step.
    stop_at_gel : bool [-]
        Stop a sample when its mean conversion passes gel.
    most_sweeps : int [-]
        Give up after this many sweeps.

    Returns
    -------
    March [SI]
        Every accepted step.

    Raises
    ------
    RuntimeError
        The steps ran out: a bug, not a user's error.
    """
    n, nr = resin.count, stack.reacting
    cells = stack.capacity.shape[0]
    idx = np.arange(n)
    offset = np.broadcast_to(np.asarray(air_offset, dtype=float), (n,))

    def air_here(time: _Array) -> _Array:
        return air(time) + offset

    work = Cells(stack, resin, idx, cells, n)
    temps = np.broadcast_to(first_temps, (cells, n)).astype(float).copy()
    a0 = np.broadcast_to(np.asarray(first_conversion, dtype=float), (n,))
    z = np.tile(a0 / (resin.balance * (1.0 - np.minimum(a0, 1 - 1e-12))), (nr, 1))
    flow = np.zeros(n)
    out = np.zeros(n)
    t = np.full(n, float(start_s))
    dt = np.full(n, min(first_step_s, max(end_s - start_s, 1e-9)))
    stops = np.unique(
        np.concatenate(
            [
                np.asarray(kinks, dtype=float),
                np.asarray([p[0] for p in pulses], dtype=float),
                [end_s],
            ]
        )
    )
    stops = stops[(stops > start_s) & (stops <= end_s)]
    if stops.size == 0 or stops[-1] < end_s:
        stops = np.append(stops, end_s)
    heat_at = dict(pulses)
    pulse_in = np.zeros(n)
    for when, joule in pulses:
        if when <= start_s and when > start_s - 1e-9:
            temps[:nr] += joule / work.capacity[:nr].sum(axis=0)
            pulse_in += joule
    w = work.capacity * temps
    w[:nr] -= work.heat * work.conversion(z)
    w_first = w.sum(axis=0) - 0.0
    records: list[tuple[_Array, ...]] = []
    rates = work.rates(z, temps)
    records.append(work.record(idx, t, z, temps, flow, rates, air_here(t)))
    full = {
        "out": np.zeros(n),
        "w0": w_first.copy(),
        "w1": np.zeros(n),
        "pulse": np.zeros(n),
        "z": np.zeros((nr, n)),
        "T": np.zeros((cells, n)),
    }
    sweeps = 0
    while idx.size:
        sweeps += 1
        if sweeps > most_sweeps:
            raise RuntimeError("the cure history did not finish within its steps")
        stop = stops[np.minimum(np.searchsorted(stops, t, side="right"), stops.size - 1)]
        left = stop - t
        h = np.where(dt >= left * 0.999999, left, np.where(dt > 0.5 * left, 0.5 * left, dt))
        new = work.step(z, w, temps, t, h, air_here, rates)
        z_new, w_new, t_new, d_flow, d_out, error_a, error_t = new
        error = np.maximum(error_a / tolerance, error_t / tolerance_K)
        error = np.where(np.isfinite(error), error, 1e6)
        good = (error <= 1.0) | (h <= 1e-4)
        grow = np.clip(0.9 * np.maximum(error, 1e-9) ** (-1.0 / 3.0), 0.2, 4.0)
        dt = np.minimum(np.where(good, np.maximum(h, dt * 0.5), h) * grow, longest_step_s)
        if not good.all():
            keep = good
            z = np.where(keep, z_new, z)
            w = np.where(keep, w_new, w)
            temps = np.where(keep, t_new, temps)
            flow = flow + np.where(keep, d_flow, 0.0)
            out = out + np.where(keep, d_out, 0.0)
            t = np.where(keep, np.where(h == left, stop, t + h), t)
        else:
            z, w, temps = z_new, w_new, t_new
            flow = flow + d_flow
            out = out + d_out
            t = np.where(h == left, stop, t + h)
        rates = work.rates(z, temps)
        records.append(work.record(idx, t, z, temps, flow, rates, air_here(t)))
        if heat_at:
            hit = _pulse(work, heat_at, t, good, w, temps, pulse_in, end_s)
            if hit:
                rates = work.rates(z, temps)
                records.append(work.record(idx, t, z, temps, flow, rates, air_here(t)))
        done = t >= end_s
        if stop_at_gel:
            done |= work.conversion(z).mean(axis=0) >= work.gel
        if done.any():
            gone = idx[done]
            full["out"][gone] = out[done]
            full["w0"][gone] = w_first[done]
            full["w1"][gone] = w.sum(axis=0)[done]
            full["pulse"][gone] = pulse_in[done]
            full["z"][:, gone] = z[:, done]
            full["T"][:, gone] = temps[:, done]
            live = ~done
            idx, t, dt, flow, out = idx[live], t[live], dt[live], flow[live], out[live]
            z, w, temps, w_first = z[:, live], w[:, live], temps[:, live], w_first[live]
            pulse_in, offset = pulse_in[live], offset[live]
            if not idx.size:
                break
            work = Cells(stack, resin, idx, cells, n)
            rates = work.rates(z, temps)
    table = [np.concatenate([r[i] for r in records]) for i in range(len(records[0]))]
    order = np.lexsort((table[1], table[0]))
    table = [c[order] for c in table]
    total = np.maximum(np.broadcast_to(stack.heat, (nr, n)).sum(axis=0), 1e-30)
    closure = np.abs(full["w1"] + full["out"] - full["w0"] - full["pulse"]) / total
    named = dict(zip(COLUMNS, table[1:], strict=True))
    return March(
        sample=table[0].astype(np.intp),
        heat_out=full["out"],
        closure=closure,
        steps=sweeps,
        last_z=full["z"],
        last_temps=full["T"],
        **named,
    )


def _pulse(
    work: Cells,
    heat_at: dict[float, float],
    t: _Array,
    good: NDArray[np.bool_],
    w: _Array,
    temps: _Array,
    pulse_in: _Array,
    end_s: float,
) -> bool:
    """Put a torch pass into the samples that have just arrived at it; arrays change in place."""
    hit = False
    nr = work.nr
    for when, joule in heat_at.items():
        here = good & (t == when) & (t < end_s)
        if here.any():
            hit = True
            total = work.capacity[:nr].sum(axis=0)
            w[:nr] += np.where(here, joule * work.capacity[:nr] / total, 0.0)
            temps[:nr] += np.where(here, joule / total, 0.0)
            pulse_in += np.where(here, joule, 0.0)
    return hit


def resample(run: March, count: int, times: _Array, which: Sequence[str]) -> tuple[_Array, ...]:
    """Values of a march at shared times, by cubic Hermite or straight lines between its steps.

    Parameters
    ----------
    run : March [SI]
        From `march`.
    count : int [-]
        Number of samples n.
    times : array [s]
        Increasing times, shape (k,); each sample's last value holds after its end.
    which : sequence of str [-]
        Of ``conversion``, ``temperature``, ``flow`` (cubic), ``centre``, ``base`` (straight).

    Returns
    -------
    tuple of array [unit of each value]
        Shape (n, k) each.
    """
    t_all, s_all = run.time, run.sample
    # of equal times the last is a left end and the first a right end (a torch pass is a jump)
    is_left = np.ones(t_all.size, dtype=bool)
    is_left[:-1] = (t_all[1:] != t_all[:-1]) | (s_all[1:] != s_all[:-1])
    left = np.flatnonzero(is_left)
    t, s = t_all[left], s_all[left]
    low = float(min(t.min(), times[0])) - 1.0
    span = float(max(t.max(), times[-1])) - low + 1.0
    ask = (times[None, :] - low) + np.arange(count)[:, None] * span
    first = np.searchsorted(s, np.arange(count), side="left")
    last = np.searchsorted(s, np.arange(count), side="right") - 1
    found = np.searchsorted((t - low) + s * span, ask.ravel(), side="right") - 1
    j = left[
        np.clip(found.reshape(ask.shape), first[:, None], np.maximum(last - 1, first)[:, None])
    ]
    k = np.minimum(j + 1, left[last][:, None])
    h = np.maximum(t_all[k] - t_all[j], 1e-300)
    x = np.clip((times[None, :] - t_all[j]) / h, 0.0, 1.0)
    slopes = {
        "conversion": run.conversion_rate,
        "temperature": run.temperature_rate,
        "flow": run.fluidity,
    }
    out = []
    for name in which:
        y = getattr(run, name)
        if name in slopes:
            d = slopes[name]
            left_d, right_d = d[j], d[k]
            if name == "temperature":
                # its slope may be stiff: hold it to what keeps the curve between its ends
                mean = (y[k] - y[j]) / h
                left_d = np.clip(left_d, np.minimum(3 * mean, 0), np.maximum(3 * mean, 0))
                right_d = np.clip(right_d, np.minimum(3 * mean, 0), np.maximum(3 * mean, 0))
            x2, x3 = x * x, x * x * x
            v = (
                (2 * x3 - 3 * x2 + 1) * y[j]
                + (x3 - 2 * x2 + x) * h * left_d
                + (3 * x2 - 2 * x3) * y[k]
                + (x3 - x2) * h * right_d
            )
            if name != "temperature":  # rising values stay between their ends
                v = np.clip(v, y[j], np.maximum(y[j], y[k]))
        else:
            v = y[j] * (1 - x) + y[k] * x
        out.append(v)
    return tuple(out)


def reaches(run: March, count: int, level: Any) -> _Array:
    """When the mean conversion of each sample reaches a level, between the solver's own steps.

    Parameters
    ----------
    run : March [SI]
        From `march`.
    count : int [-]
        Number of samples n.
    level : float or array [-]
        Conversion, shape () or (n,).

    Returns
    -------
    array [s]
        First time at or above the level on the cubic Hermite curve of its step, infinity where not
        reached, shape (n,).
    """
    goal = np.broadcast_to(np.asarray(level, dtype=float), (count,))
    over = np.flatnonzero(run.conversion >= goal[run.sample])
    out = np.full(count, np.inf)
    if over.size == 0:
        return out
    which, first = np.unique(run.sample[over], return_index=True)
    k = over[first]
    j = np.maximum(k - 1, 0)
    j = np.where(run.sample[j] == which, j, k)
    h = run.time[k] - run.time[j]
    y0, y1, d0, d1 = (
        run.conversion[j], run.conversion[k], h * run.conversion_rate[j], h * run.conversion_rate[k],
    )  # fmt: skip
    lo, hi = np.zeros(k.size), np.ones(k.size)
    for _ in range(40):
        x = 0.5 * (lo + hi)
        y = (
            (2 * x**3 - 3 * x**2 + 1) * y0
            + (x**3 - 2 * x**2 + x) * d0
            + (3 * x**2 - 2 * x**3) * y1
            + (x**3 - x**2) * d1
        )
        high = y >= goal[which]
        hi, lo = np.where(high, x, hi), np.where(high, lo, x)
    out[which] = run.time[j] + hi * h
    return out
