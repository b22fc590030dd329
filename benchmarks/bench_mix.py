"""Timings of `survey` and `mix`: the galley's surfaces, one coat, sets to buy.

Ratios are against a named peer in the same run: shapely for areas, enumeration of every count for
the sets. One thread. Best of several.
"""

from __future__ import annotations

import itertools
import math
import os
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

ROOT = Path(__file__).parents[1]


def best(f: Callable[[], Any], times: int = 7) -> float:
    """Best wall time of several runs [s]."""
    out = math.inf
    for _ in range(times):
        start = time.perf_counter()
        f()
        out = min(out, time.perf_counter() - start)
    return out


def main() -> None:
    """Print the table."""
    from shapely import Polygon

    from pourwright.calc import Draws
    from pourwright.mix import (
        Crew,
        Limits,
        SetSize,
        Shade,
        Uncertain,
        choose_sets,
        coat_piece,
        plan_coat,
        resin_ratio,
    )
    from pourwright.survey import SurfaceSpec, build_survey, make_outline, measure_surface
    from pourwright.survey.outline import rectangle
    from pourwright.survey.paths import path_area, path_points
    from pourwright.survey.plan_view import draw_plan

    raw = tomllib.loads((ROOT / "examples/parts/galley_surfaces.toml").read_text())["surfaces"]
    specs = [SurfaceSpec.model_validate(s) for s in raw]
    survey = build_survey(specs)
    rounded = make_outline(rectangle(2.1, 0.6), 0.05)
    exact = best(lambda: path_area(rounded.path), 200)
    chords = best(lambda: Polygon(path_points(rounded.path, 1e-8)).area, 50)

    film, edge, off = Uncertain.of(0.95e-3, 0.1), Uncertain.of(0.3e-3, 0.3), Uncertain.of(6e-5, 0.4)
    pieces = [
        coat_piece(s.name, s.areas, film, edge, off, s.count, s.purpose == "board")
        for s in survey.surfaces
    ]
    shades = [Shade("sea", 0.55), Shade("slate", 0.37), Shade("copper", 0.08, "vein")]
    ratio = resin_ratio(1130, 970, by_volume=(2, 1))

    def coat() -> None:
        plan_coat("colour", pieces, shades, ratio, Limits(1500, 0.6), Crew(2), draws=Draws(1, 4000))

    packs = [
        SetSize("1.5 L", 1e-3, 0.5e-3, 48),
        SetSize("4.5 L", 3e-3, 1.5e-3, 119),
        SetSize("15 L", 10e-3, 5e-3, 359),
        SetSize("B only", 0.0, 1e-3, 30),
    ]
    need_a, need_b = 57e-3, 29.5e-3

    def enumerate_sets() -> float:
        tops = [
            max(
                math.ceil(need_a / s.a - 1e-9) if s.a else 0,
                math.ceil(need_b / s.b - 1e-9) if s.b else 0,
            )
            for s in packs
        ]
        least = math.inf
        for counts in itertools.product(*(range(t + 1) for t in tops)):
            a = sum(n * s.a for n, s in zip(counts, packs))
            b = sum(n * s.b for n, s in zip(counts, packs))
            if a >= need_a - 1e-12 and b >= need_b - 1e-12:
                least = min(least, sum(n * (s.price or 0) for n, s in zip(counts, packs)))
        return least

    solved = best(lambda: choose_sets(need_a, need_b, packs), 5)
    listed = best(enumerate_sets, 1)
    assert choose_sets(need_a, need_b, packs).cost == enumerate_sets()
    rows = [
        ("exact area of a rounded rectangle", exact, f"{chords / exact:.1f} x faster than shapely"),
        ("galley surfaces checked and joined", best(lambda: build_survey(specs)), ""),
        ("areas of one surface", best(lambda: measure_surface(survey["leg-a"]), 50), ""),
        ("plan view of the galley", best(lambda: draw_plan(survey).svg(), 3), ""),
        ("one coat: volume, over-mix, batches", best(coat, 5), "4000 samples"),
        ("sets to buy, 4 sizes, 57 L", solved, f"{listed / solved:.1f} x faster than enumeration"),
    ]
    print("one thread, best of several")
    for name, seconds, note in rows:
        print(f"{name:38s} {seconds * 1e3:10.3f} ms   {note}")


if __name__ == "__main__":
    main()
