"""What a poured coat can do and when: cure windows turned into the lags that the day needs."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Spread, spread_of
from pourwright.catalogue import Material
from pourwright.cure import (
    AirHistory,
    CoreLayer,
    FilmHistory,
    Resin,
    Thread,
    Window,
    film_history,
    windows,
)
from pourwright.cure.board import Pour, match_board
from pourwright.cure.live import Reading, correct
from pourwright.cure.movement import match_movement
from pourwright.day import CoatClock
from pourwright.film import Fluid, bubble_rise, level_rate
from pourwright.plan.coats import Poured
from pourwright.plan.context import DAY_S, Context

ROUND_S = 900.0
"""Clock times are rounded to this before a history is computed, so that few are [s]."""
LOOK_S = 14 * 86400.0
ROUGH_LOOK_S = 6 * 86400.0
"""How far a rough clock looks [s]: far enough for light use in a cold room."""
STANDS_S = 240.0
"""Time in the cup between mixing and pouring [s]: mixing itself (common practice)."""
BUBBLE_M = 60e-6
"""Radius of the smallest bubble that should be up before torching [m] (common practice)."""
NEVER_S = 30 * 86400.0
"""Stands for "not within the time looked at" in a lag [s]."""


@dataclass(frozen=True)
class BoardWait:
    """Waits on site that match the board [s]: by movement to come, and by flow left alone."""

    wait: Spread
    by_flow_left: Spread | None
    flow_left_decides: float


@dataclass
class CoatHistory:
    """A coat poured at some moment: its film, its windows and the lags read off them."""

    film: FilmHistory
    windows: dict[str, Window]
    clock: CoatClock
    veins_s: NDArray[np.float64] | None
    board_wait: BoardWait | None


@dataclass
class Clocks:
    """Histories of one coat by the clock time at which its spreading ends, computed once each."""

    ctx: Context
    coat: Poured
    thin: int = 1
    known: dict[int, CoatHistory] = field(default_factory=dict)

    def at(self, finish_s: float) -> CoatHistory:
        """The coat's history when spreading ends at `finish_s` [s since the first midnight]."""
        key = round(finish_s / ROUND_S)
        if key not in self.known:
            self.known[key] = self._make(key * ROUND_S)
        return self.known[key]

    @property
    def resin(self) -> Resin:
        """The samples in use: every `thin`-th one [-]."""
        return self.coat.resin.take(slice(0, None, self.thin))

    def clock(self, finish_s: float) -> CoatClock:
        """The lags [s] after `finish_s` [s], for the day's schedule."""
        return self.at(finish_s).clock

    @property
    def age_s(self) -> float:
        """Mean age of the resin when spreading ends [s]: half of the time from mix to spread."""
        fields = [b for b in self.coat.plan.batches.batches if b.kind == "field"]
        if not fields:
            return 0.0
        return 0.5 * (max(b.spread_end for b in fields) - min(b.start for b in fields))

    def _make(self, finish_s: float) -> CoatHistory:
        spec = self.coat.spec
        film = film_history(
            self.resin,
            self.ctx.air,
            finish_s - self.age_s,
            self.coat.film.value,
            core_layers(self.ctx),
            LOOK_S if self.thin == 1 else ROUGH_LOOK_S,
        )
        looks = looks_at(self.ctx, self.coat.id, finish_s)
        if looks:
            film = self._corrected(film, looks)
        threads = [Thread(spec.vein_thread, spec.vein_thread * 1e-3, 3 * spec.vein_thread)]
        if spec.vein_width is not None:
            threads.append(Thread(spec.vein_thread, spec.vein_thread * 1e-3, spec.vein_width))
        found = windows(film, veins=threads)
        wait = board_wait(self.ctx, self.coat, self.resin, self.age_s, finish_s, self.thin > 1)
        return CoatHistory(film, found, *self._lags(film, found, finish_s, wait), wait)

    def _corrected(self, film: FilmHistory, looks: list[Reading]) -> FilmHistory:
        """The film as the looks on the day show it: samples that agree with them count more."""
        found = correct(
            film.resin,
            self.ctx.air,
            film.start_s,
            film.thickness_m,
            readings=looks,
            core_layers=core_layers(self.ctx),
            duration_s=LOOK_S if self.thin == 1 else ROUGH_LOOK_S,
        )
        return replace(found.film, warnings=found.warnings)

    def _lags(
        self, film: FilmHistory, found: dict[str, Window], finish_s: float, wait: BoardWait | None
    ) -> tuple[CoatClock, NDArray[np.float64] | None]:
        def lag(samples: NDArray[np.float64]) -> Spread:
            after = np.where(np.isfinite(samples), samples - finish_s, NEVER_S)
            return spread_of(np.clip(after, 0.0, NEVER_S))

        veins = None
        if self.coat.spec.vein_width is not None:
            veins = found[f"vein-{self.coat.spec.vein_width * 1e3:g}mm"].start_s
        vein_lag = lag(veins) if veins is not None else lag(found["level"].start_s)
        if wait is not None:
            vein_lag = wait.wait
        return (
            CoatClock(
                torch=lag(bubbles_up(film, finish_s)),
                veins=vein_lag,
                edges=lag(found["edges"].end_s),
                hands_off=lag(found["hands_off"].start_s),
                recoat_opens=lag(found["recoat"].start_s),
                recoat_closes=lag(found["recoat"].end_s),
                handle=lag(found["handle"].start_s),
                light_use=lag(found["light_use"].start_s),
                serve=lag(found["full_service"].start_s),
            ),
            veins,
        )


def looks_at(ctx: Context, coat: str, from_s: float) -> list[Reading]:
    """What was seen of a poured coat, for its windows.

    Parameters
    ----------
    ctx : Context [-]
        The job, with looks under ``site.seen``.
    coat : str [-]
        Id of the coat.
    from_s : float [s]
        When its spreading ended; earlier looks are of something else.

    Returns
    -------
    list of Reading [SI]
        In order of time.
    """
    out = []
    for e in ctx.job.site.seen:
        t = e.day * DAY_S + e.at
        if e.coat != coat or t <= from_s:
            continue
        if e.shore_d is not None:
            out.append(Reading(t, "shore_d", e.shore_d))
        else:
            kind = "gelled" if e.stage == "film gel" else "tack_free"
            out.append(Reading(t, kind, bool(e.reached)))  # type: ignore[arg-type]
    return sorted(out, key=lambda r: r.time_s)


def bubbles_up(film: FilmHistory, from_s: float) -> NDArray[np.float64]:
    """When bubbles of `BUBBLE_M` have risen through the film [s], shape (n,).

    `film` is the history, `from_s` [s] the end of spreading. Stokes rise in the clock of flow
    left; a clean surface would be faster.
    """
    rise_per_flow = bubble_rise(BUBBLE_M, 1.0, fluid=fluid_of(film.resin))
    needed = film.thickness_m / rise_per_flow
    return film.when_flow_left(np.maximum(film.flow_left_at(from_s) - needed, 0.0))


def board_wait(
    ctx: Context, coat: Poured, resin: Resin, age_s: float, finish_s: float, rough: bool = False
) -> BoardWait | None:
    """The wait before veins on site that equals the sample board's [s].

    `ctx` and `coat` say how the board was poured; on site the samples `resin` are
    `age_s` [s] old on average when spreading ends at `finish_s` [s]. By equal
    movement still to come at the pattern's scale, with equal flow left beside it unless `rough`
    [-]; None without board or veins.
    """
    board = ctx.job.board
    if board is None or coat.spec.vein_width is None:
        return None
    film, stands = coat.film.value, min(age_s, STANDS_S)
    there = Pour(AirHistory.constant(board.temperature), film, stands_s=STANDS_S)
    here = Pour(ctx.air, film, mixed_s=finish_s - age_s, stands_s=stands)
    rate = float(level_rate(film, ctx.job.finish.scale, fluid_of(coat.resin)))
    same = match_movement(resin, there, board.vein_wait, here, rate)

    def lag(waits: NDArray[np.float64]) -> Spread:
        after = np.where(np.isfinite(waits), waits - (age_s - stands), NEVER_S)
        return spread_of(np.clip(after, 0.0, NEVER_S))

    if rough:
        return BoardWait(lag(same.wait_s), None, same.by_left)
    left = match_board(resin, there, board.vein_wait, here)
    return BoardWait(lag(same.wait_s), lag(left.wait_s), same.by_left)


def fluid_of(resin: Resin) -> Fluid:
    """Density and surface tension of a `resin`'s middle sample [kg/m3, N/m]."""
    return Fluid(float(np.median(resin.density)), float(np.median(resin.surface_tension)))


def core_layers(ctx: Context) -> tuple[CoreLayer, ...]:
    """The core of job `ctx` as layers for heat [SI]."""
    core = ctx.material(ctx.job.core.material, "core", "core.material")
    return (core_layer(core, ctx.job.core.thickness),)


def core_layer(core: Material, thickness_m: float) -> CoreLayer:
    """One layer of `core` material, `thickness_m` thick [m]."""
    return CoreLayer(
        thickness_m,
        core["k_W_mK"],
        core["density_kg_m3"],
        core["cp_J_kgK"],
    )
