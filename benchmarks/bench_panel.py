"""Cut plans: time and sheets used, against rectpack in the same run, one thread.

Sheets used is counted as whole sheets plus the used share of the emptiest one, pieces and sheets
both with the kerf added, so that plans with the same number of sheets can be told apart.
"""

from __future__ import annotations

import subprocess
import sys
import time
from itertools import product
from pathlib import Path

import numpy as np
import rectpack

from pourwright.panel import METHODS, Part, Saw, Sheet, cut_plan, faults

HERE = Path(__file__).parent
KERF = 3.2e-3
SHEET = Sheet("full", 2.44, 1.22)

GALLEY = [
    Part("leg a", 2.1, 0.6),
    Part("leg b", 1.25, 0.56),
    Part("table", 0.9, 0.6),
    Part("turn-down a", 2.1, 0.04),
    Part("turn-down b", 1.25, 0.04),
    Part("strip a", 2.1, 0.08, 2),
    Part("strip b", 1.25, 0.08, 2),
    Part("cross strip", 0.52, 0.08, 6),
    Part("board", 0.3, 0.25),
]

GUILLOTINE = [
    getattr(rectpack, f"Guillotine{fit}{split}")
    for fit, split in product(
        ("Baf", "Blsf", "Bssf"), ("Las", "Llas", "Maxas", "Minas", "Sas", "Slas")
    )
]
FREE = [
    getattr(rectpack, name)
    for name in (
        "MaxRectsBl", "MaxRectsBssf", "MaxRectsBaf", "MaxRectsBlsf",
        "SkylineBl", "SkylineMwf", "SkylineMwfl", "SkylineBlWm", "SkylineMwfWm",
    )
]  # fmt: skip
SORTS = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI)
BINS = (rectpack.PackingBin.BFF, rectpack.PackingBin.BBF)


def pieces(seed: int, n: int = 200) -> list[Part]:
    """Random pieces of a fit-out, 100 to 900 by 100 to 600 mm."""
    rng = np.random.default_rng(seed)
    return [
        Part(f"p{i}", float(rng.integers(100, 900)) * 1e-3, float(rng.integers(100, 600)) * 1e-3)
        for i in range(n)
    ]


def peer(parts: list[Part], algorithms) -> tuple[float, float, str]:
    """Best of rectpack: sheets used, seconds for all its runs, name of the best."""
    best, name = 1e9, ""
    start = time.perf_counter()
    width, height = round((2.44 + KERF) * 1e6), round((1.22 + KERF) * 1e6)
    for algorithm, sort, bins in product(algorithms, SORTS, BINS):
        packer = rectpack.newPacker(pack_algo=algorithm, sort_algo=sort, bin_algo=bins)
        for p in parts:
            packer.add_rect(round((p.length + KERF) * 1e6), round((p.width + KERF) * 1e6))
        packer.add_bin(width, height, count=40)
        packer.pack()
        if sum(len(b) for b in packer) < len(parts):
            continue
        fills = sorted(sum(r.width * r.height for r in b) / (width * height) for b in packer)
        used = len(fills) - 1 + fills[0]
        if used < best:
            best, name = used, algorithm.__name__
    return best, time.perf_counter() - start, name


def ours(parts: list[Part], method: str) -> tuple[float, float, float, float]:
    """Sheets used, area bound, gap and seconds of one plan."""
    start = time.perf_counter()
    plan = cut_plan(parts, [SHEET], Saw(KERF, method), time_limit=9.5)  # type: ignore[arg-type]
    seconds = time.perf_counter() - start
    assert faults(plan, parts) == []
    sheet = (2.44 + KERF) * (1.22 + KERF)
    fills = sorted(
        sum((p.length + KERF) * (p.width + KERF) for p in s.placements) / sheet for s in plan.sheets
    )
    return len(fills) - 1 + fills[0], sum(fills), plan.gap, seconds


def main() -> None:
    """Print the tables."""
    print("one thread; the first run of each method also loads compiled code")
    print("\ngalley, 17 pieces: best of 3, s (target under 1 s)")
    for method in METHODS:
        times = []
        for _ in range(3):
            start = time.perf_counter()
            plan = cut_plan(GALLEY, [SHEET], Saw(KERF, method))  # type: ignore[arg-type]
            times.append(time.perf_counter() - start)
        state = "proven" if plan.proven else f"gap {100 * plan.gap:.0f} %"
        print(f"  {method:12s} {min(times):6.2f} s   {len(plan.sheets)} sheets, {state}")
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); import bench_panel as b; import time; "
        "s = time.perf_counter(); b.cut_plan(b.GALLEY, [b.SHEET]); "
        "print(time.perf_counter() - s)"
    )
    fresh = [
        float(subprocess.run([sys.executable, "-W", "ignore", "-c", code, str(HERE)],
                             capture_output=True, text=True, check=True).stdout)
        for _ in range(3)
    ]  # fmt: skip
    print(f"  fresh process, libraries and compiled code loaded on the way: {min(fresh):.2f} s")
    print("\n200 pieces, five jobs (target: within 5 % of area, under 10 s, never above the peer)")
    print(f"  {'job':3s} {'method':11s} {'ours':>7s} {'area':>7s} {'over':>6s} {'peer':>7s} "
          f"{'ratio':>6s} {'s':>5s} {'peer s':>6s}  peer's best")  # fmt: skip
    worst = 0.0
    for seed in range(5):
        parts = pieces(seed)
        for method, algorithms in (("three-stage", GUILLOTINE), ("router", FREE + GUILLOTINE)):
            used, area, _, seconds = ours(parts, method)
            other, peer_s, name = peer(parts, algorithms)
            worst = max(worst, used / other)
            print(
                f"  {seed:3d} {method:11s} {used:7.3f} {area:7.3f} {100 * (used / area - 1):5.1f}% "
                f"{other:7.3f} {used / other:6.3f} {seconds:5.1f} {peer_s:6.1f}  {name}"
            )
    print(f"  largest ratio to the peer: {worst:.3f} (below 1: fewer sheets)")


if __name__ == "__main__":
    main()
