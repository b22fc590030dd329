"""Axisymmetric conduction with cure in a cup: the check of the lumped model, one sample at a time.

Same enthalpy form and Runge-Kutta pair as `march`, on a grid of rings. Report the centre and the
mass mean, never the hottest cell: a heat front that reaches a poorly cooled wall overshoots the
adiabatic temperature there, because heat spreads and matter does not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.cells import EXPLICIT, IMPLICIT, WEIGHTS, WEIGHTS_2, Cells, G, Stack
from pourwright.cure.resin import Resin
from pourwright.errors import InputError

_Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class CupConduction:
    """Conduction in a cup of resin; arrays of shape (k,) over the steps.

    Parameters
    ----------
    times_s : array [s]
        Times of the steps.
    centre_K, mean_K : array [K]
        Temperature of the innermost cell and mass mean.
    centre_conversion, mean_conversion : array [-]
        Likewise.
    closure : float [-]
        Energy imbalance over the heat of reaction.
    """

    times_s: _Array
    centre_K: _Array
    mean_K: _Array
    centre_conversion: _Array
    mean_conversion: _Array
    closure: float

    def gel_times(self, gel: float) -> tuple[float, float]:
        """When centre and mean conversion pass `gel` [-], in [s]; infinity if they do not."""
        out = []
        for a in (self.centre_conversion, self.mean_conversion):
            out.append(float(np.interp(gel, a, self.times_s)) if a[-1] >= gel else np.inf)
        return out[0], out[1]


def cup_conduction(
    resin: Resin,
    mass_kg: float,
    air_K: float,
    duration_s: float,
    *,
    height_over_width: float = 1.0,
    rings: int = 20,
    layers: int = 40,
    start_K: float | None = None,
    loss_W_m2K: float | None = None,
    tolerance: float = 1e-4,
    stop_when_cured: bool = True,
) -> CupConduction:
    """Temperature and conversion in a cylinder of resin that conducts and does not convect.

    Parameters
    ----------
    resin : Resin [SI]
        Its first sample is used.
    mass_kg : float [kg]
        Mass, above 0.
    air_K : float [K]
        Steady air.
    duration_s : float [s]
        How long to look.
    height_over_width : float [-]
        Shape.
    rings, layers : int [-]
        Cells along the radius and the height.
    start_K : float or None [K]
        Temperature of the fresh mix; None is the air's.
    loss_W_m2K : float or None [W/(m2 K)]
        From every face to the air; None is the resin's film coefficient.
    tolerance : float [-]
        Error allowed in conversion per step.
    stop_when_cured : bool [-]
        Stop when the mean conversion passes 0.999 and the mean temperature falls.

    Returns
    -------
    CupConduction [SI]
        Before gel a real cup convects, so truth lies between this and the lumped model.

    Raises
    ------
    InputError
        A mass that is not above 0.

    Source: heat conduction with reaction, finite volumes; see docs/cure.md.
    """
    from scipy.sparse import coo_matrix, diags
    from scipy.sparse.linalg import splu

    if not mass_kg > 0:
        raise InputError("mass_kg", mass_kg, "it must be more than 0", "Give the mass of the mix.")
    one = resin.take(slice(0, 1))
    rho, cp, k = float(one.density[0]), float(one.heat_capacity[0]), float(one.conductivity[0])
    h = float(one.film_coefficient[0]) if loss_W_m2K is None else loss_W_m2K
    width = (4.0 * mass_kg / rho / (np.pi * height_over_width)) ** (1.0 / 3.0)
    radius, height = width / 2, width * height_over_width
    edge = np.linspace(0.0, radius, rings + 1)
    dr, dz = radius / rings, height / layers
    ring = np.pi * (edge[1:] ** 2 - edge[:-1] ** 2)  # areas seen from above [m2]
    number = np.arange(rings * layers, dtype=np.intp).reshape(rings, layers)
    n = rings * layers
    volume = np.repeat(ring * dz, layers)
    rows, cols, vals = [], [], []

    def join(a: NDArray[np.intp], b: NDArray[np.intp], g: _Array) -> None:
        rows.extend([a, b, a, b])
        cols.extend([b, a, a, b])
        vals.extend([g, g, -g, -g])

    side = 2 * np.pi * edge[1:-1] * dz * k / dr
    join(number[:-1].ravel(), number[1:].ravel(), np.repeat(side, layers))
    join(number[:, :-1].ravel(), number[:, 1:].ravel(), np.repeat(ring * k / dz, layers - 1))
    loss = np.zeros(n)
    wall = 2 * np.pi * radius * dz / (1.0 / h + dr / 2 / k) if h > 0 else 0.0
    loss[number[-1]] += wall
    face = ring / (1.0 / h + dz / 2 / k) if h > 0 else 0.0 * ring
    loss[number[:, 0]] += face
    loss[number[:, -1]] += face
    matrix = coo_matrix(
        (np.concatenate(vals), (np.concatenate(rows), np.concatenate(cols))), shape=(n, n)
    ).tocsc() - diags(loss)
    capacity = rho * cp * volume
    heat = rho * float(one.heat[0]) * volume
    work = Cells(
        Stack(np.ones((1, 1)), np.zeros((2, 1)), np.ones((1, 1)), 1), one, np.zeros(1, int), 1, 1
    )

    def rate(z: _Array, t: _Array) -> _Array:
        g, _, _ = work.rates(z[None, :], t[None, :])
        return np.asarray(g[0])

    temps = np.full(n, air_K if start_K is None else start_K)
    z = np.zeros(n)
    w = capacity * temps
    w_first, out_heat = float(w.sum()), 0.0
    t, dt, solver, solver_h = 0.0, 2.0, None, 0.0
    share = volume / volume.sum()
    middle = int(number[0, layers // 2])
    log = []

    def note() -> None:
        a = work.conversion(z)
        log.append((t, temps[middle], share @ temps, a[middle], share @ a))

    note()
    while t < duration_s:
        # steps on a ladder of factor sqrt 2, so that one factorisation serves many steps
        h_step = 2.0 ** (np.floor(2 * np.log2(dt)) / 2)
        h_step = min(h_step, duration_s - t)
        if solver is None or h_step != solver_h:
            solver = splu((diags(capacity) - h_step * G * matrix).tocsc())
            solver_h = h_step
        g_all = [rate(z, temps)]
        flux = matrix @ temps + loss * air_K
        f_all, o_all = [flux], [float(loss @ (temps - air_K))]
        for s in (1, 2, 3):
            z_s = z + h_step * sum(c * g for c, g in zip(EXPLICIT[s], g_all, strict=True))
            rhs = w + h_step * sum(c * f for c, f in zip(IMPLICIT[s], f_all, strict=True))
            rhs = rhs + heat * work.conversion(z_s) + h_step * G * loss * air_K
            t_s = solver.solve(rhs)
            g_all.append(rate(z_s, t_s))
            f_all.append(matrix @ t_s + loss * air_K)
            o_all.append(float(loss @ (t_s - air_K)))
        d_z = h_step * sum((a - b) * g for a, b, g in zip(WEIGHTS, WEIGHTS_2, g_all, strict=True))
        z_new = np.maximum(z + h_step * sum(a * g for a, g in zip(WEIGHTS, g_all, strict=True)), z)
        error = float((np.abs(d_z) / (1.0 + z_new) ** 2).max()) / tolerance
        if error > 1.0 and h_step > 1e-3:
            dt = h_step * max(0.25, 0.85 * error ** (-1 / 3))
            continue
        z = z_new
        w = w + h_step * sum(a * f for a, f in zip(WEIGHTS, f_all, strict=True))
        out_heat += h_step * sum(a * o for a, o in zip(WEIGHTS, o_all, strict=True))
        temps = (w + heat * work.conversion(z)) / capacity
        t += h_step
        dt = h_step * min(2.0, 0.85 * max(error, 1e-6) ** (-1 / 3))
        note()
        if stop_when_cured and log[-1][4] > 0.999 and log[-1][2] < log[-2][2]:
            break
    table = np.asarray(log).T
    closure = abs(float(w.sum()) + out_heat - w_first) / float(heat.sum())
    return CupConduction(table[0], table[1], table[2], table[3], table[4], closure)
