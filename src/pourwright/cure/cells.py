"""One sweep of the solver: cells of resin and core in a line, all samples abreast.

The method is the third-order additive Runge-Kutta pair ARK3(2)4L[2]SA of Kennedy and Carpenter
2003, Appl. Numer. Math. 44, 139 (coefficients from memory; their order conditions and the order
seen in practice are checked in the tests): conduction implicit, cure explicit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.kinetics import T25, R
from pourwright.cure.resin import Resin

_Array = NDArray[np.float64]

G = 1767732205903 / 4055673282236
EXPLICIT = (
    (),
    (1767732205903 / 2027836641118,),
    (5535828885825 / 10492691773637, 788022342437 / 10882634858940),
    (
        6485989280629 / 16251701735622,
        -4246266847089 / 9704473918619,
        10755448449292 / 10357097424841,
    ),
)
WEIGHTS = (
    1471266399579 / 7840856788654,
    -4482444167858 / 7529755066697,
    11266239266428 / 11593286722821,
    G,
)
IMPLICIT = (
    (),
    (G,),
    (2746238789719 / 10658868560708, -640167445237 / 6845629431997),
    WEIGHTS[:3],
)
WEIGHTS_2 = (
    2756255671327 / 12835298489170,
    -10771552573575 / 22201958757719,
    9247589265047 / 10645013368117,
    2193209047091 / 5459859503100,
)
TIMES = (0.0, 1767732205903 / 2027836641118, 0.6, 1.0)


@dataclass(frozen=True)
class Stack:
    """Cells in a line, the first `reacting` of them resin; arrays of shape (c, n) or (c, 1).

    Parameters
    ----------
    capacity : array [J/(m2 K) or J/K]
        Heat capacity of each cell.
    links : array [W/(m2 K) or W/K]
        Conductance above each cell and, last, below the last; shape (c + 1, n) or (c + 1, 1). The
        first and last lead to the air; 0 is insulated.
    heat : array [J/m2 or J]
        Heat of reaction of each resin cell per unit of conversion, shape (reacting, n or 1).
    reacting : int [-]
        Number of resin cells.
    """

    capacity: _Array
    links: _Array
    heat: _Array
    reacting: int


class Cells:
    """Constants of the samples still running, laid out for one sweep."""

    def __init__(
        self, stack: Stack, resin: Resin, idx: NDArray[np.intp], cells: int, n: int
    ) -> None:
        def pick(a: _Array) -> _Array:
            return np.ascontiguousarray(np.broadcast_to(a, (a.shape[0], n))[:, idx])

        self.capacity = pick(stack.capacity)
        self.links = pick(stack.links)
        self.heat = pick(stack.heat)
        self.nr = stack.reacting
        self.cells = cells
        r = resin
        self.b = r.balance[idx]
        self.excess = self.b - 1.0
        self.balanced = bool(np.all(self.excess == 0.0))
        # ln k = ln k25 + E/(R T25) - (E/R)/T
        self.ln1 = np.log(r.k1[idx]) + r.e1[idx] / R / T25
        self.act1 = r.e1[idx] / R
        self.ln2 = np.log(np.maximum(r.k2[idx], 1e-300)) + r.e2[idx] / R / T25
        self.act2 = r.e2[idx] / R
        self.one_energy = bool(np.array_equal(r.e1, r.e2))
        self.ratio = r.k2[idx] / r.k1[idx]
        self.gel, self.ta, self.tb = r.gel[idx], r.thick_a[idx], r.thick_b[idx]
        gap = T25 - r.flow_freeze[idx]
        self.freeze = r.flow_freeze[idx]
        self.vft = r.flow_energy[idx] / R * (gap / T25) ** 2
        self.ln_eta = np.log(r.viscosity_25[idx]) - self.vft / gap
        self.tg0 = r.tg_start[idx]
        self.tg_span = (r.tg_end[idx] - self.tg0) * r.tg_bend[idx]
        self.tg_slope = 1.0 - r.tg_bend[idx]
        self.lead, self.width = r.glass_lead[idx], r.glass_width[idx]
        self.glassy = bool(np.any(self.lead < 1e5))

    def conversion(self, z: _Array) -> _Array:
        bz = self.b * z
        return bz / (1.0 + bz)

    def rates(self, z: _Array, temps: _Array) -> tuple[_Array, _Array, _Array]:
        """dz/dt (nr, n), mean fluidity (n,) and conversion (nr, n)."""
        t = temps[: self.nr]
        a = self.conversion(z)
        if self.one_energy:
            g = np.exp(self.ln1 - self.act1 / t) * (1.0 + self.ratio * a)
        else:
            g = np.exp(self.ln1 - self.act1 / t) + a * np.exp(self.ln2 - self.act2 / t)
        if not self.balanced:
            g = g * np.maximum(1.0 + self.excess * z, 0.0)
        if self.glassy:
            over = (self.tg0 + self.tg_span * a / (1.0 - self.tg_slope * a) - t - self.lead) / (
                self.width
            )
            g = g / (1.0 + np.exp(np.minimum(over, 300.0)))
        left = 1.0 - a / self.gel
        log_left = np.log(np.maximum(left, 1e-30))
        eta = self.vft / np.maximum(t - self.freeze, 5.0) + self.ln_eta
        phi = np.where(left > 1e-9, np.exp(log_left * (self.ta + self.tb * a) - eta), 0.0)
        if self.nr > 1:
            phi = phi.mean(axis=0)
        else:
            phi = phi[0]
        return g, phi, a

    def flux(self, temps: _Array, air: _Array) -> tuple[_Array, _Array]:
        """Heat into each cell (c, n), and heat out to the air (n,)."""
        ends = np.empty((self.cells + 1, temps.shape[1]))
        ends[0] = air - temps[0]
        ends[-1] = temps[-1] - air
        if self.cells > 1:
            ends[1:-1] = temps[:-1] - temps[1:]
        ends *= self.links
        return ends[:-1] - ends[1:], ends[-1] - ends[0]

    def step(
        self,
        z: _Array,
        w: _Array,
        temps: _Array,
        t: _Array,
        h: _Array,
        air: Callable[[_Array], _Array],
        rates: tuple[_Array, _Array, _Array],
    ) -> tuple[_Array, ...]:
        nr = self.nr
        solve = self._factor(h)
        g_all, phi_all, f_all, o_all = [rates[0]], [rates[1]], [], []
        f, o = self.flux(temps, air(t))
        f_all.append(f)
        o_all.append(o)
        for s in (1, 2, 3):
            z_s = z.copy()
            for c, g in zip(EXPLICIT[s], g_all, strict=True):
                z_s += (c * h) * g
            rhs = w.copy()
            for c, f in zip(IMPLICIT[s], f_all, strict=True):
                rhs += (c * h) * f
            a_s = self.conversion(z_s)
            rhs[:nr] += self.heat * a_s
            air_s = air(t + TIMES[s] * h)
            temps_s = solve(rhs, air_s)
            f, o = self.flux(temps_s, air_s)
            g, phi, _ = self.rates(z_s, temps_s)
            g_all.append(g)
            phi_all.append(phi)
            f_all.append(f)
            o_all.append(o)
        z_new, w_new = z.copy(), w.copy()
        d_z, d_w = np.zeros_like(z), np.zeros_like(w)
        d_flow, d_out = np.zeros_like(h), np.zeros_like(h)
        e_flow = np.zeros_like(h)
        for i in range(4):
            b, e = WEIGHTS[i] * h, (WEIGHTS[i] - WEIGHTS_2[i]) * h
            z_new += b * g_all[i]
            w_new += b * f_all[i]
            d_z += e * g_all[i]
            d_w += e * f_all[i]
            d_flow += b * phi_all[i]
            e_flow += e * phi_all[i]
            d_out += b * o_all[i]
        z_new = np.maximum(z_new, z)
        if self.excess.size and np.any(self.excess < 0):
            z_new = np.where(
                self.excess < 0,
                np.minimum(z_new, (1 - 1e-12) / np.maximum(-self.excess, 1e-12)),
                z_new,
            )
        a_new = self.conversion(z_new)
        t_new = w_new.copy()
        t_new[:nr] += self.heat * a_new
        t_new /= self.capacity
        e_a = np.abs(d_z) * self.b / (1.0 + self.b * z_new) ** 2
        d_t = np.abs(d_w) / self.capacity
        d_t[:nr] += self.heat * e_a / self.capacity[:nr]
        return z_new, w_new, t_new, d_flow, d_out, e_a.max(axis=0), d_t.max(axis=0)

    def _factor(self, h: _Array) -> Callable[[_Array, _Array], _Array]:
        """Solver of (C - h G A) T = rhs for this step, a tridiagonal sweep over the cells."""
        gh = G * h
        up = self.links * gh
        diag = self.capacity + up[:-1] + up[1:]
        if self.cells == 1:
            inverse = 1.0 / diag[0]
            both = up[0] + up[1]
            return lambda rhs, air: ((rhs[0] + both * air) * inverse)[None, :]
        c = self.cells
        beta = np.empty_like(diag)
        gamma = np.empty_like(diag)
        beta[0] = 1.0 / diag[0]
        for i in range(1, c):
            gamma[i] = up[i] * beta[i - 1]
            beta[i] = 1.0 / (diag[i] - up[i] * gamma[i])

        def solve(rhs: _Array, air: _Array) -> _Array:
            x = rhs.copy()
            x[0] += up[0] * air
            x[-1] += up[c] * air
            for i in range(1, c):
                x[i] += gamma[i] * x[i - 1]
            x[-1] *= beta[-1]
            for i in range(c - 2, -1, -1):
                x[i] *= beta[i]
                x[i] += gamma[i + 1] * x[i + 1]
            return x

        return solve

    def record(
        self,
        idx: NDArray[np.intp],
        t: _Array,
        z: _Array,
        temps: _Array,
        flow: _Array,
        rates: tuple[_Array, _Array, _Array],
        air: _Array,
    ) -> tuple[_Array, ...]:
        nr = self.nr
        g, phi, a = rates
        rate = g * self.b / (1.0 + self.b * z) ** 2
        into, _ = self.flux(temps, air)
        cap = self.capacity[:nr].sum(axis=0)
        t_rate = (into[:nr].sum(axis=0) + (self.heat * rate).sum(axis=0)) / cap
        mean_t = (temps[:nr] * self.capacity[:nr]).sum(axis=0) / cap
        return (
            idx.astype(float),
            t.copy(),
            a.mean(axis=0),
            rate.mean(axis=0),
            mean_t,
            t_rate,
            flow.copy(),
            phi.copy(),
            temps[nr // 2].copy(),
            temps[nr - 1].copy(),
        )
