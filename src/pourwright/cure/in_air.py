"""Films thin enough to stay at air temperature: thousands of samples abreast, shared steps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.cells import Cells, Stack
from pourwright.cure.resin import Resin

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

BLOCK = 2048  # samples worked on at once, so that they stay in the processor's cache

# Dormand and Prince 1980, J. Comput. Appl. Math. 6, 19; dense output after Hairer, Norsett and
# Wanner 1993 (coefficients from memory, order checked in the tests)
_C = (0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0)
_A = (
    (),
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
    (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
)
_E = (71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40)
_D = (
    -12715105075 / 11282082432,
    0.0,
    87487479700 / 32700410799,
    -10690763975 / 1880347072,
    701980252875 / 199316789632,
    -1453857185 / 822651844,
    69997945 / 29380423,
)


def follow_air(
    resin: Resin,
    air: Callable[[Any], Any],
    times: _Array,
    first_conversion: Floats = 0.0,
    offset: Floats = 0.0,
    *,
    kinks: _Array | tuple[float, ...] = (),
    tolerance: float = 2e-6,
    with_flow: bool = True,
    longest_step_s: float = np.inf,
) -> tuple[_Array, _Array]:
    """Conversion and flow of resin that has exactly the air's temperature.

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    air : callable [K]
        Temperature as a function of time [s].
    times : array [s]
        Increasing times wanted, shape (k,).
    first_conversion : float or array [-]
        Conversion at the first time, shape () or (n,).
    offset : float or array [K]
        Added to the temperature, shape () or (n,).
    kinks : array [s]
        Times that no step may jump over.
    tolerance : float [-]
        Error allowed in conversion per step, of the worst sample.
    with_flow : bool [-]
        False leaves out the flow (returned as zeros), for speed.
    longest_step_s : float [s]
        Longest step; keep it under about two hours where the air follows day and night, whose
        bends an error estimate can miss.

    Returns
    -------
    tuple of array [- and 1/Pa]
        Conversion and integral of dt/viscosity since the first time, shape (n, k) each.

    Source: fifth-order Runge-Kutta of Dormand and Prince 1980 in the variable z of `march`.
    """
    n = resin.count
    alpha = np.empty((n, times.size))
    flow = np.zeros((n, times.size))
    first = np.broadcast_to(np.asarray(first_conversion, dtype=float), (n,))
    off = np.broadcast_to(np.asarray(offset, dtype=float), (n,))
    stack = Stack(np.ones((1, 1)), np.zeros((2, 1)), np.ones((1, 1)), 1)
    stops = np.append(np.asarray(kinks, dtype=float), times[-1])
    stops = np.unique(stops[(stops > times[0]) & (stops <= times[-1])])
    for lo in range(0, n, BLOCK):
        idx = np.arange(lo, min(lo + BLOCK, n))
        block = _Block(Cells(stack, resin, idx, 1, n), air, off[idx], with_flow)
        here = slice(lo, lo + idx.size)
        block.run(first[idx], times, stops, (tolerance, longest_step_s), alpha[here], flow[here])
    return alpha, flow


class _Block:
    """A block of samples on its way through the times."""

    def __init__(
        self, work: Cells, air: Callable[[Any], Any], offset: _Array, with_flow: bool
    ) -> None:
        self.w = work
        self.air = air
        self.offset: Any = offset if offset.any() else 0.0
        self.with_flow = with_flow
        self.phi: Any = 0.0

    def run(
        self,
        first: _Array,
        times: _Array,
        stops: _Array,
        limits: tuple[float, float],
        alpha: _Array,
        flow: _Array,
    ) -> None:
        w = self.w
        tolerance, longest = limits
        z = first / (w.b * (1.0 - np.minimum(first, 1 - 1e-12)))
        cap = np.where(w.excess < 0, (1 - 1e-12) / np.maximum(-w.excess, 1e-12), np.inf)
        capped = bool(np.isfinite(cap).any())
        f = np.zeros_like(z)
        t, done = float(times[0]), 1
        alpha[:, 0], flow[:, 0] = w.b * z / (1.0 + w.b * z), 0.0
        factors = self.factors(t)
        k, p = [self.rate(z, factors)], [self.phi]
        dt = float(min(0.05 / max(float(k[0].max()), 1e-12), times[-1] - t))
        wet = self.with_flow
        while done < times.size:
            left = float(stops[np.searchsorted(stops, t, side="right")]) - t
            h = left if dt >= 0.999999 * left else (dt if dt < 0.5 * left else 0.5 * left)
            del k[1:], p[1:]
            for s in range(1, 7):
                y = z + h * sum(c * g for c, g in zip(_A[s], k, strict=True) if c)
                if s != 6:  # the last stage is at the same time as the one before
                    factors = self.factors(t + _C[s] * h)
                k.append(self.rate(y, factors))
                p.append(self.phi)
            new = np.minimum(y, cap) if capped else y
            error = h * np.abs(sum(e * g for e, g in zip(_E, k, strict=True) if e))
            worst = float((error * w.b / (1.0 + w.b * np.maximum(z, 0.0)) ** 2).max()) / tolerance
            if not np.isfinite(worst) or (worst > 1.0 and h > 1e-3):
                dt = h * (0.2 if not np.isfinite(worst) else max(0.2, 0.9 * worst**-0.2))
                continue
            until = t + h if h < left else t + left
            ask = int(np.searchsorted(times, until + 1e-9 * max(abs(until), 1.0), side="right"))
            x = np.clip((times[done:ask] - t) / h, 0.0, 1.0)
            if x.size:
                dense = _dense(z, new, h, k, x)
                if capped:
                    dense = np.minimum(dense, cap[:, None])
                dense = np.maximum(dense, z[:, None])
                bz = w.b[:, None] * dense
                alpha[:, done:ask] = bz / (1.0 + bz)
            if wet:
                f_new = f + h * sum(c * g for c, g in zip(_A[6], p, strict=False) if c)
                if x.size:
                    flow[:, done:ask] = np.clip(
                        _dense(f, f_new, h, p, x), f[:, None], f_new[:, None]
                    )
                f = f_new
            z, t, done = new, until, ask
            if wet and float((w.b * z / (1.0 + w.b * z) / w.gel).min()) >= 1.0:
                wet = self.with_flow = False  # all gelled: flow has ended
                flow[:, done:] = f[:, None]
            k, p = [k[6]], [p[6]]
            dt = min(h * float(np.clip(0.9 * max(worst, 1e-9) ** -0.2, 0.2, 5.0)), longest)

    def factors(self, time: float) -> tuple[Any, ...]:
        """What depends on temperature only, at one time."""
        w = self.w
        temp = self.air(time) + self.offset
        k1 = np.exp(w.ln1 - w.act1 / temp)
        k2 = k1 * w.ratio if w.one_energy else np.exp(w.ln2 - w.act2 / temp)
        phi = np.exp(-w.vft / np.maximum(temp - w.freeze, 5.0) - w.ln_eta) if self.with_flow else 0
        return k1, k2, phi, temp + w.lead

    def rate(self, z: _Array, factors: tuple[Any, ...]) -> _Array:
        """dz/dt [1/s]; leaves the fluidity [1/(Pa s)] in `phi`."""
        w = self.w
        k1, k2, phi, lead = factors
        a = w.b * z
        a = a / (1.0 + a)
        g = k1 + k2 * a
        if not w.balanced:
            g = g * np.maximum(1.0 + w.excess * z, 0.0)
        if w.glassy:
            over = (w.tg0 + w.tg_span * a / (1.0 - w.tg_slope * a) - lead) / w.width
            g = g / (1.0 + np.exp(np.minimum(over, 300.0)))
        self.phi = phi
        if self.with_flow:
            left = 1.0 - a / w.gel
            if float(left.max()) <= 1e-9:
                self.phi = np.zeros_like(a)
            else:
                thin = np.exp(np.log(np.maximum(left, 1e-30)) * (w.ta + w.tb * a))
                self.phi = np.where(left > 1e-9, thin * phi, 0.0)
        return g


def _dense(y0: _Array, y1: _Array, h: float, k: list[_Array], x: _Array) -> _Array:
    """Values at the parts x of a step, fourth order, shape (n, len(x))."""
    rise = y1 - y0
    r3 = h * k[0] - rise
    r4 = rise - h * k[6] - r3
    r5 = h * sum(d * g for d, g in zip(_D, k, strict=True) if d)
    x = x[None, :]
    u = 1.0 - x
    return y0[:, None] + x * (
        rise[:, None] + u * (r3[:, None] + x * (r4[:, None] + u * np.asarray(r5)[:, None]))
    )
