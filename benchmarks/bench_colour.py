"""Speed of colour: stacks, thickness maps, matching, import, and spectra to Lab against a peer.

Run:  python benchmarks/bench_colour.py      (single-threaded numpy; pictures on one and two threads)
"""

from __future__ import annotations

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import subprocess
import sys
import time
import warnings
from collections.abc import Callable

import numpy as np

from pourwright.colour import (
    MapLayer,
    demo_shade,
    match,
    primer,
    render_map,
    shade_report,
    stack_reflectance,
    stack_reflectance_km,
    to_lab,
)
from pourwright.colour.recipe import demo_recipe


def best(f: Callable[[], object], times: int = 7) -> float:
    """Shortest of several runs [s]."""
    f()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        f()
        taken.append(time.perf_counter() - start)
    return min(taken)


def import_time(code: str) -> float:
    """Shortest of five fresh processes running `code` [s], less an empty one's start."""

    def run(text: str) -> float:
        taken = []
        for _ in range(5):
            start = time.perf_counter()
            subprocess.run([sys.executable, "-W", "ignore", "-c", text], check=True)
            taken.append(time.perf_counter() - start)
        return min(taken)

    return run(code) - run("pass")


def main() -> None:
    rows: list[tuple[str, float, str]] = []
    ground = primer("dark-primer")
    coats = [(demo_shade(i), 8e-4) for i in ("slate", "sea-green", "grey-green-wash")]
    engine = best(lambda: stack_reflectance(coats, ground), 40)
    rows.append(("3 coats, 31 bands, N-stream 4+4", engine, "goal 0.005"))
    fine = best(lambda: stack_reflectance(coats, ground, half=8), 15)
    rows.append(("the same, 8+8 directions", fine, f"{fine / engine:.1f} x the 4+4"))
    twin = best(lambda: stack_reflectance_km(coats, ground), 40)
    rows.append(("the same, two-flux", twin, f"{engine / twin:.1f} x faster than the engine"))

    rng = np.random.default_rng(1)
    size = (1000, 1000)
    x = (2e-3 * rng.random(size)).astype(np.float32)
    sea, slate, copper = (demo_shade(i) for i in ("sea-green", "slate", "copper"))
    share = rng.dirichlet([1, 1, 0.3], size).transpose(2, 0, 1).astype(np.float32)
    maps = {
        "1 shade": [MapLayer([sea], x)],
        "1 clear tint": [MapLayer([demo_shade("grey-green-wash")], x)],
        "3 shades mixed, flakes": [MapLayer([sea, slate, copper], x, share)],
        "3 translucent layers": [MapLayer([demo_shade("grey-green-wash")], x / 9)] * 3,
    }
    for name, layers in maps.items():
        for threads in (1, 2):
            t = best(lambda m=layers, k=threads: render_map(m, ground, threads=k), 4)
            rows.append((f"1 Mpx map, {name}, {threads} thread(s)", t, "goal 0.5 for one shade"))

    t = best(lambda: match([62, -18, 8], contrast=0.98), 5)
    rows.append(("match, 11 pastes, contrast 0.98", t, "goal 0.3"))
    t = best(lambda: match([90, 0, 100], contrast=0.98, film=3e-4), 5)
    rows.append(("match out of reach, with its reasons", t, "goal 0.3"))
    t = best(lambda: shade_report(demo_recipe("sea-green"), batches=[1.0]), 3)
    rows.append(("full shade report", t, ""))

    spectra = rng.random((1_000_000, 31))
    own = best(lambda: to_lab(spectra), 3)
    rows.append(("1e6 spectra to Lab", own, ""))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            import colour

            shape = colour.SpectralShape(400, 700, 10)
            cmf = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].copy().align(shape)
            light = colour.SDS_ILLUMINANTS["D65"].copy().align(shape)
            white = colour.CCS_ILLUMINANTS["CIE 1964 10 Degree Standard Observer"]["D65"]

            def peer() -> object:
                xyz = colour.msds_to_XYZ(spectra, cmf, light, method="Integration", shape=shape)
                return colour.XYZ_to_Lab(xyz / 100, white)

            other = best(peer, 3)
        rows.append(("the same by colour-science", other, f"{other / own:.1f} x ours"))
    except ImportError:
        print("colour-science is not installed: no peer for spectra to Lab")
    rows.append(("import pourwright.colour", import_time("import pourwright.colour"), "goal 0.3"))
    rows.append(("import numpy, its share of it", import_time("import numpy"), ""))
    print(
        f"{os.cpu_count()} cores; numpy on {os.environ['OMP_NUM_THREADS']} thread; best of several"
    )
    for name, seconds, note in rows:
        print(f"{name:44s} {seconds:9.5f} s   {note}")


if __name__ == "__main__":
    main()
