"""Film and run-off on free edges, for the amounts: from the edge engine at this job's flow left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pourwright.cure import Resin, film_history
from pourwright.film import Fluid
from pourwright.film.edge import EdgeProfile
from pourwright.film.edge import edge_film as engine_edge_film
from pourwright.mix import Uncertain
from pourwright.plan.context import Context
from pourwright.plan.job import Coat

POINTS = 9
"""Quantiles of flow left, film and hanging bead that are run through the edge engine [-]."""
LOOK_S = 30 * 3600.0
FINE_M = 1e-3


@dataclass(frozen=True)
class EdgeFilm:
    """What stays on the edge strip on average [m] and what falls off [m3/m], with ranges."""

    film: Uncertain
    run_off: Uncertain
    profile: EdgeProfile
    flow_left: tuple[float, float, float]


def edge_film(ctx: Context, spec: Coat, resin: Resin, start_s: float) -> EdgeFilm | None:
    """Film on free edges and run-off for one coat.

    Parameters
    ----------
    ctx : Context [-]
        The job.
    spec : Coat [SI]
        The coat.
    resin : Resin [SI]
        Samples of its constants.
    start_s : float [s]
        When it is mixed; resin is pushed over the edge as much later as the job file says, or at
        once.

    Returns
    -------
    EdgeFilm or None [m, m3/m]
        None when no edge is free. Ranges run over flow left and the bead that hangs.
    """
    profile = main_profile(ctx)
    if profile is None:
        return None
    after = ctx.job.edges.push_after or 0.0
    film = film_history(resin, ctx.air, start_s, spec.film, None, LOOK_S)
    flow = film.flow_left_at(start_s + after)
    levels = np.linspace(0.05, 0.95, POINTS)
    flows = np.quantile(flow, levels)
    rng_order = np.random.default_rng(ctx.job.seed).permutation(POINTS)
    hanging = np.linspace(1.0, 3.0, POINTS)[rng_order]
    fluid = Fluid(float(np.median(resin.density)), float(np.median(resin.surface_tension)))
    mean, fell = [], []
    for f, hang in zip(flows, hanging):
        wipes = [0.2 * f] if ctx.job.edges.wipe_underneath else []
        done = engine_edge_film(
            profile, spec.film, float(f), fluid, hanging=float(hang), wipes=wipes, fine=FINE_M
        )
        strip = done.part >= 1
        mean.append(float(np.sum(done.h[-1, strip] * done.ds[strip]) / np.sum(done.ds[strip])))
        fell.append(float(done.run_off[-1]))
    return EdgeFilm(
        _three(mean), _three(fell), profile, (float(flows[0]), float(np.median(flow)),
                                              float(flows[-1])),
    )  # fmt: skip


def _three(values: list[float]) -> Uncertain:
    low, mid, high = np.quantile(values, [0.05, 0.5, 0.95])
    return Uncertain(float(mid), float(low), float(high))


def main_profile(ctx: Context) -> EdgeProfile | None:
    """Section of the job's most common free edge [m], None when there is none; `ctx` is the job."""
    runs: dict[tuple[float, float, float], float] = {}
    widths: dict[tuple[float, float, float], float] = {}
    for s in ctx.survey.surfaces:
        for e in s.edges:
            if e.kind != "free" or s.purpose == "board":
                continue
            key = (e.profile.round_over, e.profile.drop, e.profile.lip)
            runs[key] = runs.get(key, 0.0) + e.run * s.count
            widths[key] = max(widths.get(key, 0.0), s.areas.face / max(e.run, 1e-6))
    if not runs:
        return None
    radius, drop, lip = max(runs, key=lambda k: runs[k])
    top = min(widths[radius, drop, lip], 0.6)
    return EdgeProfile(
        top=max(top, 0.02),
        radius=radius,
        face=max(drop - radius, 0.0),
        underside=lip,
    )
