"""Timings of the pattern: whole galley from score to PNG, and each kernel against the memory.

Run: python benchmarks/bench_pattern.py [--fine] [--kernels]. Ratios are against named peers in the
same run: the film solver alone on the same surface for the same flow, and the measured memory
bandwidth (a = b + s c over arrays beyond the caches, same threads). Bytes are the least that a kernel
must move per cell: every array it reads or writes counted once. A busy machine slows everything
alike: processor seconds are given beside the clock's.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numba as nb
import numpy as np

from pourwright.pattern import Surface, picture_sheet, pour, read_score, save_png
from pourwright.pattern.domain import make_domain
from pourwright.pattern.flow import Flow, _gather
from pourwright.pattern.threads import share_out, workers

SCORE = Path(__file__).parent.parent / "examples" / "scores" / "galley.toml"
GPU_BYTES = 1.0e12  # memory of a mid-range graphics card [B/s]; from memory, cards span 0.3 to 3e12
GPU_SHARE = 0.6  # of it that stencil codes reach; common practice


def galley() -> Surface:
    """The galley top of the demo: two legs, sink cut-out, turned-down front edge [m]."""
    ring = [(0, 0), (2.1, 0), (2.1, 1.81), (1.54, 1.81), (1.54, 0.6), (0, 0.6)]
    sink = [(0.5, 0.12), (0.95, 0.12), (0.95, 0.5), (0.5, 0.5)]
    return Surface(ring, [sink], (3, 4), 0.04, (0.0, 0.0), "galley", 0.006)


@nb.njit(nogil=True)
def _triad(a, b, c, s):
    for i in range(a.size):
        a[i] = b[i] + s * c[i]


def best_of(work: Callable[[], object], times: int = 5) -> float:
    """Least seconds of several runs."""
    least = 1e9
    for _ in range(times):
        t = time.perf_counter()
        work()
        least = min(least, time.perf_counter() - t)
    return least


def triad(size: int = 20_000_000) -> float:
    """Bytes per second of a = b + s c, shared out as the kernels are [B/s]."""
    a, b, c = (np.ones(size) for _ in range(3))

    def run() -> None:
        share_out(size, lambda i, j: _triad(a[i:j], b[i:j], c[i:j], 3.0))

    run()
    return 24 * size / best_of(run)


def kernels(speed: float) -> None:
    """Bytes per cell and share of the measured bandwidth of every kernel."""
    from pourwright.colour.recipe import demo_shade
    from pourwright.colour.recipe import primer as primer_of
    from pourwright.colour.render import MapLayer, map_reflectance_xyz
    from pourwright.pattern import bake, carry, maps, trace
    from pourwright.pattern.lay import spots
    from pourwright.pattern.picture import bands_for, to_screen

    ny = nx = 900
    layers, pairs, cell = 7, 19, 0.004
    rng = np.random.default_rng(1)
    wet = np.ones((ny, nx), bool)
    layer_of = np.sort(rng.integers(0, layers, pairs))
    v = 1e-4 * (0.5 + rng.random((pairs, ny, nx)))
    qx = np.zeros((ny, nx + 1))
    qy = np.zeros((ny + 1, nx))
    qx[:, 1:-1] = 1e-6 * rng.normal(size=(ny, nx - 1))
    qy[1:-1] = 1e-6 * rng.normal(size=(ny - 1, nx))
    gone, over = np.zeros((ny, nx)), np.zeros((2, ny, nx))
    r = np.zeros((layers, ny, nx))
    u = np.zeros((layers, 2, ny, nx), np.float32)
    shear = np.zeros((layers, 4, ny, nx), np.float32)
    smear = np.zeros((layers, 6, ny, nx), np.float32)
    out = np.zeros_like(v)
    m = rng.normal(size=(layers, 2, ny, nx)).astype(np.float32) * 0.01
    new, new_smear = np.empty_like(m), np.empty_like(smear)
    flat = 0.5 * cell * rng.random((2, ny, nx))
    cells = ny * nx
    n = 400_000
    xs = np.sort(rng.random(n)) * nx * cell
    ys = rng.random(n) * 0.02 + 1.0
    back = [np.empty(n), np.empty(n), np.empty((n, 6)), np.empty(n)]
    played = pour(read_score(SCORE), galley(), 0.001, cell=0.008)
    lines = played.layers[1]
    px, py, foot = rng.random(n) * 2.1, rng.random(n) * 0.01 + 0.3, spots(n, 0.001)
    px.sort()
    bake.corrections(played)
    raster = 1.0 + (np.arange(n) % 1000) * 0.001, 0.1 + (np.arange(n) // 1000) * 0.001
    ink = [demo_shade(name) for name in ("sea-green", "slate")]
    below = primer_of("dark-primer")
    mixed = rng.dirichlet([0.5, 0.5], n).T.astype(np.float32)[:, None, :]
    film = [(1e-4 + 4e-4 * rng.random((1, n))).astype(np.float32) for _ in range(2)]
    coloured = [MapLayer(ink, t, mixed) for t in film]
    few = bands_for(list(ink), below, None)
    xyz = rng.random((n, 3)).astype(np.float32)
    film_x, film_y = rng.random((ny, nx + 1)), rng.random((ny + 1, nx))
    code_x, code_y = np.ones((ny, nx + 1), np.uint8), np.ones((ny + 1, nx), np.uint8)
    free = np.zeros((0, 5), np.int64)
    gx, gy = np.zeros((ny // 2, nx // 2 + 1)), np.zeros((ny // 2 + 1, nx // 2))
    gather_off = np.zeros((ny // 2, nx // 2)), np.zeros((2, ny // 2, nx // 2))

    def rows(work: Callable[[int, int], object]) -> Callable[[], object]:
        return lambda: share_out(ny, work, 64)

    def each(work: Callable[[int], object]) -> Callable[[], object]:
        def some(a: int, b: int) -> None:
            for k in range(a, b):
                work(k)

        return lambda: share_out(layers, some, 1)

    def spots_of(work: Callable[[slice], object]) -> Callable[[], object]:
        return lambda: share_out(n, lambda a, b: work(slice(a, b)))

    where = (0.0, 0.0, cell)
    table: list[tuple[str, Callable[[], object], int, int]] = [
        ("split of the flow in depth (carry.rates)",
         rows(lambda a, b: carry.rates(v, layer_of, layers, 0.0, qx, qy, over, wet, cell, r, u,
                                       shear, 3e-4, a, b)),
         cells, 8 * pairs + 33 + layers * (8 + 8 + 32)),
        ("exact volumes (carry.move_volumes)",
         rows(lambda a, b: carry.move_volumes(v, r, layer_of, qx, qy, gone, wet, out, cell, a, b)),
         cells, 16 * pairs + 8 * layers + 25),
        ("backward maps (maps.move_maps)",
         each(lambda k: maps.move_maps(m[k], u[k], wet, cell, new[k])), cells, layers * 24 + 1),
        ("smear carried along (maps.move_fields)",
         each(lambda k: maps.move_fields(smear[k], u[k], wet, cell, new_smear[k])),
         cells, layers * (8 + 48) + 1),
        ("blade shear (carry.add_smear), one thread",
         lambda: carry.add_smear(v, layer_of, layers, 0.6, *flat, 3e-4, wet, smear),
         cells, 8 * pairs + 17 + layers * 48),
        ("film faces gathered (flow), one thread",
         lambda: _gather(film_x, film_y, code_x, code_y, 2, cell, free, gx, gy, *gather_off),
         cells, 18 + 4),
        ("look back, per pixel and layer (trace)",
         spots_of(lambda s: trace.trace_back(m[0], smear[0], *where, xs[s], ys[s], 0.001,
                                             *[b[s] for b in back])), n, 16 + 8 * 9),
        ("recipe of ribbons, per pixel (recipe)", lambda: lines.at(px, py, foot), n,
         16 + 48 + 1 + 8 * 5),
        ("whole look-up, per pixel (bake.look_up)",
         lambda: bake.look_up(played, *raster, 0.001), n,
         16 + sum(16 + 4 * len(layer.shades) for layer in played.layers) + 24),
        ("colour of 2 layers of 2 shades, per pixel",
         lambda: map_reflectance_xyz(coloured, below, shape=(1, n), bands=few), n,
         2 * (4 + 4 + 8) + 12),
        ("screen colours, per pixel", lambda: to_screen(xyz[None]), n, 12 + 3),
    ]  # fmt: skip
    print(f"kernels on {ny} x {nx} cells, {layers} layers, {pairs} pairs; {n} pixels")
    print(f"{'kernel':44s} {'ns':>7s} {'bytes':>6s} {'GB/s':>6s} {'of memory':>9s}  on a card")
    for name, run, count, size in table:
        run()
        ns = best_of(run, 3) / count * 1e9
        rate = size / ns * 1e9
        card = size / (GPU_BYTES * GPU_SHARE) * 1e9
        print(
            f"{name:44s} {ns:7.1f} {size:6d} {rate / 1e9:6.1f} {100 * rate / speed:8.0f} %"
            f"  {card:.2f} ns"
        )
    print(
        f"card: bytes/({GPU_BYTES * GPU_SHARE / 1e9:.0f} GB/s). What only counts bytes could run at "
        "that pace; the recipe does some 1500 operations a pixel and needs about 0.3 ns of a card "
        "doing 5e12 a second, the colour some 1000 (2 layers, 8 bands, 60 each) and 0.2 ns."
    )


def film_alone(cell: float, flow: float) -> tuple[float, int]:
    """Seconds and steps of the film solver on a rippled film of the galley, no colours."""
    from pourwright.film import Fluid

    domain = make_domain(galley(), cell)
    f = Flow(domain, Fluid(), 1, domain.shape)
    x, y = domain.centres()
    f.add(0.001 + 0.0005 * np.sin(x / 0.02) * np.sin(y / 0.03))
    t = time.perf_counter()
    steps = f.run(flow, lambda dt, part: None)
    return time.perf_counter() - t, steps


def whole(fine: bool, repeat: int) -> None:
    """The galley from score to PNG, with what of it is the film's."""
    from pourwright.colour.recipe import demo_shade, primer
    from pourwright.colour.shade import CLEAR
    from pourwright.pattern import player

    score = read_score(SCORE)
    shades = {n: demo_shade(n) for n in ("sea-green", "slate", "copper")} | {"clear": CLEAR}
    below = primer("dark-primer")
    spent = {"carry": 0.0}
    carry = player.Player.carry

    def timed(self, *args, **more):
        t = time.process_time()
        carry(self, *args, **more)
        spent["carry"] += time.process_time() - t

    player.Player.carry = timed  # type: ignore[method-assign]
    small = Surface([(0, 0), (0.3, 0), (0.3, 0.2), (0, 0.2)], (), (1,), 0.02)
    picture_sheet(pour(score, small, 0.001, cell=0.005), shades, below)
    print("film 1 mm; s = clock, ps = processor seconds of all threads")
    print(
        "cell mm  pixel mm  steps   pour s    ps  carry ps  picture s    ps  PNG s  all s    ps"
        "  memory GB"
    )
    asked = [(0.004, 0.0015), (0.004, 0.001), (0.002, 0.001), *([(0.001, 0.001)] if fine else [])]
    for cell, pixel in asked:
        best = None
        for _ in range(repeat if cell > 0.0015 else 1):
            spent["carry"] = 0.0
            marks = [(time.perf_counter(), time.process_time())]
            played = pour(score, galley(), 0.001, cell=cell)
            marks.append((time.perf_counter(), time.process_time()))
            sheet = picture_sheet(played, shades, below, pixel=pixel)
            marks.append((time.perf_counter(), time.process_time()))
            with tempfile.TemporaryDirectory() as folder:
                save_png(sheet, Path(folder) / "galley.png", pixel)
            marks.append((time.perf_counter(), time.process_time()))
            found = (np.diff(np.array(marks), axis=0), spent["carry"], played)
            if best is None or found[0][:, 1].sum() < best[0][:, 1].sum():
                best = found
        assert best is not None
        d, carried, played = best
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        print(
            f"{cell * 1e3:7.1f} {pixel * 1e3:9.1f} {played.steps:6d}"
            f" {d[0, 0]:8.1f} {d[0, 1]:5.1f} {carried:9.1f}"
            f" {d[1, 0]:10.1f} {d[1, 1]:5.1f} {d[2, 0]:6.1f} {d[:, 0].sum():6.1f}"
            f" {d[:, 1].sum():5.1f} {memory:10.2f}"
        )
        worst = max(abs(v) for v in played.balance().values())
        alone, n = film_alone(cell, 5.0)
        print(
            f"         worst gap of a shade's volume {worst:.1e}; film solver alone "
            f"{alone / n * 1e3:.1f} ms a step, the pour {d[0, 0] / played.steps * 1e3:.1f}"
        )


def main() -> None:
    """Print the tables."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--fine", action="store_true", help="also the 1 mm film (minutes)")
    ask.add_argument("--kernels", action="store_true", help="only the kernels")
    ask.add_argument("--repeat", type=int, default=3)
    args = ask.parse_args()
    speed = triad()
    print(f"threads {workers()}, memory {speed / 1e9:.1f} GB/s (a = b + s c)")
    kernels(speed)
    if not args.kernels:
        whole(args.fine, args.repeat)


if __name__ == "__main__":
    main()
