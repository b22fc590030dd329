"""How fast the cure engine is, as ratios against scipy's LSODA in the same run.

Run: .venv/bin/python benchmarks/bench_cure.py
Both sides run on one thread and are timed in processor seconds, so that a busy machine disturbs
neither side much. The LSODA loop is timed on a few dozen samples and scaled to 10 000.
"""

from __future__ import annotations

import math
import time

import numpy as np
from scipy.integrate import solve_ivp

from pourwright.calc.sampling import Draws
from pourwright.catalogue import Catalogue
from pourwright.cure import (
    AirHistory,
    CoreLayer,
    Resin,
    cup_history,
    film_history,
    pour_within,
    windows,
)
from pourwright.cure.board import Pour, match_board
from pourwright.cure.in_air import follow_air

DAY = 86400.0
AIR = AirHistory.day_and_night(286.15, 292.15)
START = 10 * 3600.0
PEERS = 36


def best_of(times: int, call):  # type: ignore[no-untyped-def]
    out, best = None, math.inf
    for _ in range(times):
        began = time.process_time()
        out = call()
        best = min(best, time.process_time() - began)
    return best, out


def peer(resin: Resin, i: int, rtol: float, times: np.ndarray):  # type: ignore[no-untyped-def]
    """One sample by LSODA: plain floats, dense output, stages as events at the step ends."""
    p = {k: float(getattr(resin, k)[i]) for k in (
        "k1", "k2", "e1", "gel", "thick_a", "thick_b", "tg_start", "tg_end", "tg_bend",
        "glass_lead", "glass_width", "tack", "recoat_open", "recoat_close", "viscosity_25",
        "flow_energy", "flow_freeze")}  # fmt: skip
    gas, gap = 8.314462618, 298.15 - p["flow_freeze"]
    vft = p["flow_energy"] / gas * (gap / 298.15) ** 2
    span = (p["tg_end"] - p["tg_start"]) * p["tg_bend"]
    air_t, air_x = np.append(AIR.times_s, DAY), np.append(AIR.temps_K, AIR.temps_K[0])
    exp, log = math.exp, math.log

    def rhs(t: float, y: np.ndarray) -> tuple[float, float]:
        temp = float(np.interp(t % DAY, air_t, air_x))
        a = min(float(y[0]), 1.0)
        k = exp(-p["e1"] / gas * (1 / temp - 1 / 298.15))
        tg = p["tg_start"] + span * a / (1 - (1 - p["tg_bend"]) * a)
        slow = 1 / (1 + exp(min((tg - temp - p["glass_lead"]) / p["glass_width"], 300.0)))
        rate = k * (p["k1"] + p["k2"] * a) * (1 - a) ** 2 * slow
        left = 1 - a / p["gel"]
        if left <= 1e-9:
            return rate, 0.0
        base = p["viscosity_25"] * exp(vft * (1 / (temp - p["flow_freeze"]) - 1 / gap))
        return rate, exp(log(left) * (p["thick_a"] + p["thick_b"] * a)) / base

    run = solve_ivp(rhs, (times[0], times[-1]), [0.0, 0.0], "LSODA", times, rtol=rtol, atol=rtol)
    marks = [np.interp(p[k], run.y[0], times) for k in ("gel", "tack", "recoat_open")]
    return run.y, marks


def main() -> None:
    print(
        "cure engine, one thread, CPU seconds, best of several; peer: scipy solve_ivp LSODA, a loop"
    )
    material = Catalogue().get("resin-colour-1to1-uv")
    many = Resin.from_material(material, Draws(1, 10_000))
    few = many.take(slice(0, PEERS))
    times = START + np.linspace(0.0, DAY, 289)
    exact, _ = follow_air(few, AIR.at, times, tolerance=1e-11, longest_step_s=900.0)
    error_ours = np.abs(
        film_history(few, AIR, START, 0.001, None, DAY, times_s=times).conversion - exact
    ).max()
    for rtol in (1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6):
        error = max(np.abs(peer(few, i, rtol, times)[0][0] - exact[i]).max() for i in range(PEERS))
        if error < 1e-4:
            break

    def ours():  # type: ignore[no-untyped-def]
        return windows(film_history(many, AIR, START, 0.001, None, DAY))

    t_ours = t_peer = math.inf
    for _ in range(5):  # turn about, so that a busy machine is busy for both
        t_ours = min(t_ours, best_of(1, ours)[0])
        t_peer = min(
            t_peer, best_of(1, lambda: [peer(few, i, rtol, times) for i in range(PEERS)])[0]
        )
    scaled = t_peer / PEERS * 10_000
    print(f"10 000 films of 24 h with windows     {t_ours:8.3f} s   error {error_ours:.1e}")
    print(
        f"  LSODA, {PEERS} runs scaled to 10 000    {scaled:8.1f} s   error {error:.1e} at rtol "
        f"{rtol:g} (no windows beyond three stages)"
    )
    print(f"  ratio                               {scaled / t_ours:8.0f} x")

    core = (CoreLayer(0.018, 0.17, 750.0, 1700.0),)
    resin = Resin.from_material(material, Draws(1, 300))

    def plan():  # type: ignore[no-untyped-def]
        cup = cup_history(resin, AIR, START - 600.0, 0.7)
        pour = pour_within(resin, AIR, START - 600.0, 0.7, history=cup)
        colour = film_history(resin, AIR, START, 0.001, core)
        flood = film_history(resin, AIR, START + DAY, 0.001)
        board = Pour(AirHistory.constant(291.15), 0.001, cup_kg=0.1)
        site = Pour(AIR, 0.001, START - 600.0, 600.0, 0.7)
        return (
            windows(colour, cup=cup, pour=pour),
            windows(flood),
            match_board(resin, board, 900.0, site),
        )

    t_plan, _ = best_of(6, plan)
    print(f"one plan's cure work, 300 samples     {t_plan:8.3f} s   (limit 0.3 s)")

    print("cost against samples (film of 24 h in air, s per 1000 samples) and against days")
    for n in (1000, 2000, 4000, 8000):
        part = many.take(slice(0, n))
        t, _ = best_of(
            2, lambda part=part: film_history(part, AIR, START, 0.001, None, DAY, times_s=times)
        )
        print(f"  {n:6d} samples                      {1000 * t / n:8.4f} s")
    for days in (2, 4, 8, 16):
        grid = START + np.linspace(0.0, days * DAY, 50)
        t, _ = best_of(
            2,
            lambda d=days, g=grid: film_history(
                many.take(slice(0, 1000)), AIR, START, 0.001, None, d * DAY, times_s=g
            ),
        )
        print(f"  {days:6d} days, per day                {t / days:8.4f} s")


if __name__ == "__main__":
    main()
