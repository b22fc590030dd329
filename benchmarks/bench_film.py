"""Speed of the film engine, against named peers in the same run.

Run ``python benchmarks/bench_film.py [--quick]``. Every time is the best of several, compilation
excluded (said where it is not). Peers: py-pde's own adaptive explicit solver on the same levelling
problem, scipy's sparse LU on one implicit step, and the memory bandwidth of this machine measured
by a triad in this process. Ratios survive a busy or another machine; seconds do not.
"""

from __future__ import annotations

import argparse
import itertools
import math
import os
import resource
import threading
import time
import warnings

import numpy as np

from pourwright import film
from pourwright.film import EdgeProfile, FilmGrid, FilmSolver, StepControl

LENGTH, WIDTH = 3.0, 0.6


def ribbons(dx: float, length: float = LENGTH, seed: int = 1) -> np.ndarray:
    """A flood coat of 0.25 mm with a dozen wavy ribbons of 4 mm, evened for a flow of 0.5."""
    rng = np.random.default_rng(seed)
    y = (np.arange(round(WIDTH / dx)) + 0.5) * dx
    x = (np.arange(round(length / dx)) + 0.5) * dx
    h = np.full((y.size, x.size), 2.5e-4)
    for _ in range(12):
        middle = rng.uniform(0.05, 0.55) + rng.uniform(0.02, 0.08) * np.sin(
            x * rng.uniform(2, 6) + rng.uniform(0, 6)
        )
        h += 4e-3 * np.clip(1 - ((y[:, None] - middle) / 0.02) ** 2, 0, None)
    return h


def triad(threads: int, megabytes: float = 400.0) -> float:
    """Bandwidth of a = b + s c [byte/s], float64, write-allocate not counted."""
    from numba import njit

    @njit(nogil=True, fastmath=True)
    def add(a, b, c, s):
        for i in range(a.size):
            a[i] = b[i] + s * c[i]

    n = int(megabytes * 1e6 / 24)
    a, b, c = np.zeros(n), np.ones(n), np.ones(n)
    add(a[:8], b[:8], c[:8], 2.0)
    cut = [n * t // threads for t in range(threads + 1)]
    best = math.inf
    for _ in range(7):
        jobs = [
            threading.Thread(target=add, args=(a[i:j], b[i:j], c[i:j], 2.0))
            for i, j in itertools.pairwise(cut)
        ]
        begin = time.perf_counter()
        for job in jobs:
            job.start()
        for job in jobs:
            job.join()
        best = min(best, time.perf_counter() - begin)
    return 24.0 * n / best


def kernels(threads: int, bandwidth: float, sizes: list[float]) -> None:
    """Time and traffic of one solve's three sweeps. Bytes per cell, with write-allocate: predictor
    reads h and a face code and writes one array; the two sweeps as counted below."""
    traffic = {"predictor": 8 + 1 + 16, "first sweep": 17 + 48, "second sweep": 17 + 32}
    print(f"\nsweeps, {threads} thread(s), triad {bandwidth / 1e9:.1f} GB/s")
    print("cell mm  sweep          ms      ns/cell  byte/cell   GB/s  of triad")
    for mm in sizes:
        dx = mm * 1e-3
        h = ribbons(dx)
        solver = FilmSolver(FilmGrid(np.ones(h.shape, dtype=bool), dx), threads=threads)
        state = solver.start(h)
        solver.advance(state, 0.01)
        flat = state.h.ravel()
        none = np.zeros(1)
        fx, fy = solver._flux[0]
        calls = {
            "predictor": (1, flat, none, 0.1, False, none, fy, solver._cross),
            "first sweep": (0, flat, solver._cross, 0.1, True, solver._mid, fx, solver._cross),
            "second sweep": (1, solver._mid, solver._cross, 0.1, True, solver._big, fy, none),
        }
        whole = 0.0
        for name, args in calls.items():
            best = math.inf
            for _ in range(9):
                begin = time.perf_counter()
                solver._sweep(*args)
                best = min(best, time.perf_counter() - begin)
            whole += best
            rate = traffic[name] * h.size / best
            print(
                f"{mm:7g}  {name:13s} {1e3 * best:7.2f} {1e9 * best / h.size:9.2f}"
                f" {traffic[name]:9d} {rate / 1e9:8.1f} {rate / bandwidth:8.0%}"
            )
        total = sum(traffic.values())
        rate = total * h.size / whole
        print(
            f"{mm:7g}  {'one solve':13s} {1e3 * whole:7.2f} {1e9 * whole / h.size:9.2f}"
            f" {total:9d} {rate / 1e9:8.1f} {rate / bandwidth:8.0%}"
        )
    moved = 3 * sum(traffic.values()) + 120
    print(
        f"On a GPU, by arithmetic only: a step is three solves and an extrapolation, {moved} byte"
        f" per cell, {moved * 1.8:.0f} MB for 1.8 M cells (1 mm): {moved * 1.8e-3:.1f} ms at"
        " 1 TB/s if every sweep streams at full bandwidth."
    )


def pours(threads: int, sizes: list[float]) -> None:
    print(f"\nwhole pour, {LENGTH} x {WIDTH} m, flow 1500, {threads} thread(s)")
    print("cell mm  cells     solves refused  seconds   cpu s  volume error  memory MB")
    for mm in sizes:
        h = ribbons(mm * 1e-3)
        solver = FilmSolver(FilmGrid(np.ones(h.shape, dtype=bool), mm * 1e-3), threads=threads)
        solver.advance(solver.start(h), 1e-5)
        best = cpu = math.inf
        for _ in range(3 if mm >= 2 else 1):
            state = solver.start(h)
            begin, worked = time.perf_counter(), time.process_time()
            solver.advance(state, 1500.0)
            best = min(best, time.perf_counter() - begin)
            cpu = min(cpu, time.process_time() - worked)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3  # peak of this process
        print(
            f"{mm:7g}  {h.size:8d} {state.solves:6d} {state.rejected:8d} {best:8.2f} {cpu:8.2f}"
            f" {state.h.sum() / h.sum() - 1:13.1e} {memory:10.0f}",
            flush=True,
        )


def coarse(h: np.ndarray, by: int) -> np.ndarray:
    ny, nx = h.shape
    return h.reshape(ny // by, by, nx // by, by).mean(axis=(1, 3))


def against_pde(mm: float, flow: float, length: float, tolerances: list[float]) -> None:
    """Work and error of both solvers on one problem: ribbons levelling, same cells, same start.

    Error: L2 of h over that of its unevenness, against cells of half the size and small steps, so
    that both solvers answer for their cells and for their steps. Seconds are processor seconds of
    the whole process (py-pde takes more threads from 256 x 256 cells on), ours on one thread;
    compiling is left out for both. py-pde: its compiled adaptive Euler, for which an error below
    that of its cells is nearly free; its Runge-Kutta was slower here at every tolerance tried, its
    implicit solvers iterate to a fixed point and so keep to explicit steps.
    """
    try:
        import pde
    except ImportError:
        print("py-pde is not installed: skipped")
        return
    dx = mm * 1e-3
    by = 2
    fine = FilmSolver(FilmGrid(np.ones(ribbons(dx / by, length).shape, dtype=bool), dx / by))
    begin_fine = fine.advance(fine.start(ribbons(dx / by, length)), 0.5).h
    gentle = StepControl(error=2e-4)
    reference = coarse(fine.advance(fine.start(begin_fine), flow, gentle).h, by)
    start = coarse(begin_fine, by)
    spread = float(np.linalg.norm(reference - reference.mean()))

    ours = []
    solver = FilmSolver(FilmGrid(np.ones(start.shape, dtype=bool), dx), threads=1)
    for asked in (0.1, 0.05, 0.03, 0.02, 0.015, 0.01, 0.005):
        best = math.inf
        for _ in range(4):
            state = solver.start(start)
            begin = time.process_time()
            solver.advance(state, flow, StepControl(error=asked))
            best = min(best, time.process_time() - begin)
        error = float(np.linalg.norm(state.h - reference)) / spread
        ours.append((asked, state.solves, best, error, state.h.sum() / start.sum() - 1))

    rhs = f"{film.RESIN.weight} * h - {film.RESIN.surface_tension} * laplace(h)"
    equation = pde.PDE(
        {"h": f"divergence(h**3 / 3 * gradient({rhs}))"},
        bc={"derivative": 0},
        bc_ops={"h:divergence": {"normal_value": 0}},
    )
    ny, nx = start.shape
    grid = pde.CartesianGrid([[0, ny * dx], [0, nx * dx]], (ny, nx))
    theirs = []
    for tolerance in tolerances:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            peer = pde.EulerSolver(equation, backend="numba", adaptive=True, tolerance=tolerance)
            stepper = peer.make_stepper(pde.ScalarField(grid, start), dt=1e-4)  # compiles
            field = pde.ScalarField(grid, start.copy())
            begin = time.process_time()
            stepper(field, 0.0, flow)
            spent = time.process_time() - begin
        error = float(np.linalg.norm(field.data - reference)) / spread
        volume = field.data.sum() / start.sum() - 1
        theirs.append((tolerance, peer.info["steps"], spent, error, volume))

    print(f"\nlevelling, {mm:g} mm cells, {ny} x {nx}, flow {flow:g}; processor seconds")
    print("solver          asked    steps   seconds    error     volume")
    for name, rows in (("this", ours), ("py-pde Euler", theirs)):
        for asked, steps, seconds, error, volume in rows:
            print(f"{name:14s} {asked:7g} {steps:8d} {seconds:9.3f} {error:9.1e} {volume:9.0e}")
    for asked, _, seconds, error, _ in theirs:
        as_good = [r for r in ours if r[3] <= error]
        if as_good:
            least = min(as_good, key=lambda r: r[2])
            print(
                f"to py-pde's error at {asked:g}, {error:.1e}: {seconds / least[2]:.0f} times"
                f" faster (asked {least[0]:g}, error {least[3]:.1e})",
                flush=True,
            )


def against_splu(threads: int, mm: float = 4.0) -> None:
    """One implicit step as one sparse matrix, factorised and solved by scipy's SuperLU."""
    from scipy.sparse import diags_array, eye_array, kron
    from scipy.sparse.linalg import splu

    dx = mm * 1e-3
    h = ribbons(dx)
    ny, nx = h.shape

    def second(n: int):
        main = np.full(n, -2.0)
        main[[0, -1]] = -1.0
        return diags_array([np.ones(n - 1), main, np.ones(n - 1)], offsets=[-1, 0, 1]) / dx**2

    lap = kron(eye_array(ny), second(nx)) + kron(second(ny), eye_array(nx))
    pressure = film.RESIN.weight * eye_array(h.size) - film.RESIN.surface_tension * lap
    matrix = (eye_array(h.size) - 0.1 * float((h**3).mean()) / 3 * (lap @ pressure)).tocsc()
    begin = time.perf_counter()
    splu(matrix).solve(h.ravel())
    theirs = time.perf_counter() - begin
    solver = FilmSolver(FilmGrid(np.ones(h.shape, dtype=bool), dx), threads=threads)
    state = solver.start(h)
    solver.advance(state, 0.01)
    flat = state.h.ravel()
    ours = math.inf
    for _ in range(9):
        begin = time.perf_counter()
        solver._solve(flat, solver._big, 0.1, True, solver._flux[0])
        ours = min(ours, time.perf_counter() - begin)
    print(
        f"\none implicit step, {mm:g} mm, {h.size} cells: sparse LU {theirs:.2f} s, this"
        f" {1e3 * ours:.2f} ms, ratio {theirs / ours:.0f}"
    )


def edges() -> None:
    profile = EdgeProfile(0.6, 6e-3, 34e-3)
    flows = np.geomspace(200, 1500, 20)
    film.edge_run_off(profile, 3e-3, flows[:1])
    best = math.inf
    for _ in range(5):
        begin = time.thread_time()
        film.edge_run_off(profile, 3e-3, flows)
        best = min(best, time.thread_time() - begin)
    print(
        f"\nedge run-off, 20 draws: {1e3 * best:.0f} ms of one thread's processor time (target 300 ms)"
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="4 and 2 mm only, no peers")
    parser.add_argument("--peer", action="store_true", help="py-pde at 4 mm, and nothing else")
    parser.add_argument("--long", action="store_true", help="py-pde at 2 mm (minutes) and no more")
    given = parser.parse_args()
    if given.peer or given.long:
        if given.peer:
            against_pde(4.0, 1500.0, 1.5, [1e-4, 1e-6])  # until gel
            against_pde(4.0, 20.0, 1.5, [1e-4, 1e-6])
        if given.long:
            against_pde(2.0, 1500.0, 0.6, [1e-6])
        return
    threads = min(len(os.sched_getaffinity(0)), 8)
    begin = time.perf_counter()
    solver = FilmSolver(FilmGrid(np.ones((4, 4), dtype=bool), 1e-3))
    solver.advance(solver.start(np.full((4, 4), 1e-3)), 1.0)
    print(f"first use, compiled or from cache: {time.perf_counter() - begin:.1f} s")
    print(f"{threads} threads; load of the machine {os.getloadavg()[0]:.1f} at the start")
    sizes = [4.0, 2.0] if given.quick else [4.0, 2.0, 1.0]
    pours(threads, sizes)  # first, so that the memory is that of the pours
    kernels(threads, triad(threads), sizes)
    edges()
    against_splu(threads)
    if not given.quick:
        against_pde(4.0, 1500.0, 1.5, [1e-4, 1e-6])


if __name__ == "__main__":
    main()
