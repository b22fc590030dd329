"""How fast the endurance checks of a whole job are, and the air's history, against peers.

Run as a script with one thread (set OMP_NUM_THREADS=1); best of several rounds. Peers: one
scikit-fem plane-stress solve of a single bowed strip (no range, one load case), and psychrolib's
dew point called in a loop.
"""

from __future__ import annotations

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")

import time
from collections.abc import Callable

import numpy as np

from pourwright.air import surface_margin
from pourwright.air.psychro import dew_point
from pourwright.calc import Draws
from pourwright.catalogue import get
from pourwright.endure import Panel, Ply, Service, Shape, job_checks

ROUNDS = 7
LIMIT = 0.2  # all endurance checks of a job [s]


def best(
    f: Callable[[], object],
    rounds: int = ROUNDS,
    clock: Callable[[], float] = time.perf_counter,
) -> float:
    """Shortest time of one call [s], by the wall clock or another."""
    times = []
    for _ in range(rounds):
        start = clock()
        f()
        times.append(clock() - start)
    return min(times)


def galley() -> list[Panel]:
    """The galley's two legs and table, afloat and frozen in winter; new objects each time."""
    draws = Draws(1, 200)
    service = Service(
        solid=288.15, room=291.15, coldest=258.15, outside=303.15, sun=300.0, absorptance=0.85,
        humidity_change=0.15, twist=0.0175, shake=15.0,
    )  # fmt: skip
    plies = (
        Ply(get("cured-coating"), 0.0015, "coat", 0.15),
        Ply(get("cured-art"), 0.001, "coat", 0.2),
        Ply(get("cured-primer"), 0.0002, "coat", 0.2),
        Ply(get("mdf-moisture"), 0.018, "core"),
    )
    shapes = (
        Shape("leg a", 2.1, 0.6, span=0.8, overhang=0.2),
        Shape("leg b", 1.25, 0.56, span=0.7),
        Shape("table", 0.9, 0.6, span=0.8),
    )
    return [Panel(plies, s, service, draws) for s in shapes]


def one_strip() -> float:
    """A plane-stress bilayer strip by scikit-fem: the bow of one case, no range [m]."""
    import skfem as fem
    from skfem.helpers import ddot, sym_grad, trace
    from skfem.models.elasticity import lame_parameters

    mesh = fem.MeshQuad.init_tensor(
        np.linspace(0, 0.6, 121), np.concatenate([np.linspace(0, 0.018, 7), [0.0195, 0.021]])
    )
    basis = fem.Basis(mesh, fem.ElementVector(fem.ElementQuad2()))
    film = mesh.p[1, mesh.t].mean(axis=0) > 0.018
    lam, mu = lame_parameters(np.where(film, 2.9e9, 3e9), 0.3)
    lam = 2 * lam * mu / (lam + 2 * mu)
    flat = basis.with_element(fem.ElementQuad0())
    fields = {
        "lam": flat.interpolate(lam),
        "mu": flat.interpolate(mu),
        "eps": flat.interpolate(np.where(film, -1e-3, 0.0)),
    }

    @fem.BilinearForm
    def stiffness(u, v, w):
        return w.lam * trace(sym_grad(u)) * trace(sym_grad(v)) + 2 * w.mu * ddot(
            sym_grad(u), sym_grad(v)
        )

    @fem.LinearForm
    def free(v, w):
        return (w.lam * trace(sym_grad(v)) + 2 * w.mu * sym_grad(v)[0, 0]) * w.eps

    k = stiffness.assemble(basis, lam=fields["lam"], mu=fields["mu"])
    f = free.assemble(basis, **fields)
    left = basis.get_dofs(lambda x: np.isclose(x[0], 0.0)).all("u^1")
    node = basis.nodal_dofs[1, [np.argmin(np.hypot(*mesh.p))]]
    u = fem.solve(*fem.condense(k, f, D=np.concatenate([left, node])))
    return float(u[basis.nodal_dofs[1]].max())


def main() -> None:
    """Print the table."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    job_checks(galley())  # load what is lazy
    checks = sum(len(c) for c in job_checks(galley()).values())
    job = best(lambda: job_checks(galley()))
    busy = best(lambda: job_checks(galley()), clock=time.process_time)
    strip = best(one_strip, 3)
    celsius, humidity = np.linspace(5, 30, 2000), np.linspace(0.3, 0.95, 2000)
    ours = best(lambda: dew_point(celsius + 273.15, humidity))
    peer = best(
        lambda: [
            psychrolib.GetTDewPointFromRelHum(float(a), float(b)) for a, b in zip(celsius, humidity)
        ],
        3,
    )
    hours = np.arange(0, 48) * 3600.0
    air = 290 + 4 * np.sin(hours / 13750)
    history = best(lambda: surface_margin(hours, air, 0.6, air - 1.5))
    print("endurance and air, one thread, best of several")
    print(f"  {checks} checks of the galley, 200 samples each   {1e3 * job:8.1f} ms "
          f"(limit {1e3 * LIMIT:.0f} ms: {'met' if job < LIMIT else 'MISSED'})")  # fmt: skip
    print(f"    of which this process computes             {1e3 * busy:8.1f} ms")
    print(f"  one strip by scikit-fem, no range            {1e3 * strip:8.1f} ms "
          f"-> all checks cost {job / strip:.2f} of it")  # fmt: skip
    print(f"  2000 dew points                              {1e3 * ours:8.2f} ms")
    print(f"  2000 dew points by psychrolib in a loop      {1e3 * peer:8.2f} ms "
          f"-> {peer / ours:.0f} times ours")  # fmt: skip
    print(f"  48 h history of the surface margin           {1e3 * history:8.2f} ms")


if __name__ == "__main__":
    main()
