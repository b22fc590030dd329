"""Timings of the pattern: whole galley at several cells, look-up and picture, memory.

Run: python benchmarks/bench_pattern.py [--fine]. Ratios are against a named peer in the same run:
the film solver alone on the same surface for the same flow (no colours carried), and the measured
memory bandwidth (numpy triad). Best of several; a busy machine slows everything alike.
"""

from __future__ import annotations

import argparse
import resource
import time
from pathlib import Path

import numpy as np

from pourwright.pattern import Surface, pour, read_score
from pourwright.pattern.domain import make_domain
from pourwright.pattern.flow import Flow
from pourwright.pattern.picture import reflect_xyz
from pourwright.pattern.threads import workers

SCORE = Path(__file__).parent.parent / "examples" / "scores" / "galley.toml"


def galley() -> Surface:
    """The galley top of the demo: two legs, sink cut-out, turned-down front edge [m]."""
    ring = [(0, 0), (2.1, 0), (2.1, 1.81), (1.54, 1.81), (1.54, 0.6), (0, 0.6)]
    sink = [(0.5, 0.12), (0.95, 0.12), (0.95, 0.5), (0.5, 0.5)]
    return Surface(ring, [sink], (3, 4), 0.04, (0.0, 0.007), "galley")


def triad(size: int = 40_000_000) -> float:
    """Bytes per second of a = b + s c with numpy [B/s], best of five."""
    b, c = np.ones(size, np.float32), np.ones(size, np.float32)
    a = np.empty_like(b)
    best = 1e9
    for _ in range(5):
        t = time.perf_counter()
        np.multiply(c, 3.0, out=a)
        np.add(a, b, out=a)
        best = min(best, time.perf_counter() - t)
    return 5 * 4 * size / best


def film_alone(cell: float, flow: float) -> tuple[float, int]:
    """Seconds and steps of the film solver on a rippled film of the galley, no colours."""
    from pourwright.film import Fluid

    domain = make_domain(galley(), cell)
    f = Flow(domain, Fluid(), 1, domain.shape)
    x, y = domain.centres()
    f.add(0.003 + 0.0015 * np.sin(x / 0.02) * np.sin(y / 0.03))
    t = time.perf_counter()
    steps = f.run(flow, lambda dt, part: None)
    return time.perf_counter() - t, steps


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--fine", action="store_true", help="also the 1 mm film (minutes when busy)")
    ask.add_argument("--repeat", type=int, default=3)
    args = ask.parse_args()
    score = read_score(SCORE)
    pour(
        score, Surface([(0, 0), (0.3, 0), (0.3, 0.2), (0, 0.2)], (), (1,), 0.02), 0.003, cell=0.005
    )
    print(f"threads {workers()}, triad {triad() / 1e9:.1f} GB/s")
    print("cell mm  carry mm  steps  seconds  processor s  ms/step  film alone ms/step  ratio")
    played = None
    for cell in (0.004, 0.002, *((0.001,) if args.fine else ())):
        best = (1e9, 1e9)
        for _ in range(args.repeat if cell > 0.0015 else 1):
            t, c = time.perf_counter(), time.process_time()
            played = pour(score, galley(), 0.003, cell=cell)
            best = min(best, (time.perf_counter() - t, time.process_time() - c))
        alone, n = film_alone(cell, 5.0)
        per, solo = best[0] / played.steps * 1e3, alone / n * 1e3
        print(
            f"{cell * 1e3:7.1f} {played.grid.cell * 1e3:9.1f} {played.steps:6d} {best[0]:8.1f}"
            f" {best[1]:12.1f} {per:8.2f} {solo:19.2f} {per / solo:6.2f}"
        )
        worst = max(abs(v) for v in played.balance().values())
        print(f"         worst gap of a shade's volume {worst:.1e}")
    assert played is not None
    from pourwright.colour.recipe import demo_shade, primer
    from pourwright.colour.shade import CLEAR

    shades = {n: demo_shade(n) for n in ("sea-green", "slate", "copper")} | {"clear": CLEAR}
    best = 1e9
    for _ in range(args.repeat):
        played.sharpen = None
        t = time.perf_counter()
        xyz = reflect_xyz(played, shades, primer("dark-primer"), pixel=0.001)
        best = min(best, time.perf_counter() - t)
    n = xyz.shape[0] * xyz.shape[1]
    print(
        f"picture at 1 mm: {best:.1f} s for {n / 1e6:.1f} million pixels ({best / n * 1e6:.2f} us each)"
    )
    print(f"largest memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6:.2f} GB")


if __name__ == "__main__":
    main()
