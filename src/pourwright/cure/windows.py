"""Windows: from when to when the film allows each thing, each by a criterion that is stated."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.crossing import rises_to
from pourwright.cure.layer import FilmHistory
from pourwright.cure.limits import (
    BOLD,
    FINE,
    Limits,
    Thread,
    bulk_drift,
    check_thread,
    level_flow_of,
    vein_flows,
)
from pourwright.cure.milestones import settled, tg_passes
from pourwright.cure.viscosity import conversion_at_thickening
from pourwright.film.fluid import Fluid
from pourwright.film.laws import flow_to_keep
from pourwright.words import Amount, joined, say

if TYPE_CHECKING:
    from pourwright.calc.base import Spread
    from pourwright.cure.cup import CupHistory
    from pourwright.cure.pot import PourLimit

_Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Window:
    """One window; times in seconds on the clock of the air history, one per sample.

    Parameters
    ----------
    key : str [-]
        Short name for programs.
    label : str [-]
        In the finisher's words.
    start_s, end_s : array [s]
        Start and end, shape (n,); infinite where not reached within the time looked at. An end of
        infinity with ``open_ended`` means that the window simply stays open.
    start_text, end_text : str [-]
        The criteria.
    open_ended : bool [-]
        True if it has no end by its nature.
    looked_until_s : float [s]
        End of the time looked at.
    """

    key: str
    label: str
    start_s: _Array
    end_s: _Array
    start_text: str
    end_text: str
    open_ended: bool = False
    looked_until_s: float = float("inf")

    @property
    def criterion(self) -> str:
        """Start and end criterion in one line [-]."""
        if not self.end_text:
            return say("from {start_text} on", start_text=self.start_text)
        return say(
            "from {start_text} until {end_text}", start_text=self.start_text, end_text=self.end_text
        )

    @property
    def reached(self) -> float:
        """Share of samples in which the window opens within the time looked at [-]."""
        return float(np.mean(np.isfinite(self.start_s)))

    @property
    def empty(self) -> float:
        """Share of samples in which it closes before it opens [-]: there is no such moment."""
        return float(np.mean(self.end_s <= self.start_s))

    def start(self) -> Spread | None:
        """Start [s] as 5/50/95 % points; None when fewer than half of the samples get there."""
        return finite_spread(self.start_s, self.looked_until_s)

    def end(self) -> Spread | None:
        """End [s] as 5/50/95 % points; None when open-ended or mostly not reached."""
        return None if self.open_ended else finite_spread(self.end_s, self.looked_until_s)

    def safe(self) -> tuple[float, float] | None:
        """Start and end [s] that hold in 90 % of cases: late start, early end; None if none."""
        start, end = self.start(), self.end()
        if start is None:
            return None
        last = float("inf") if self.open_ended else (end.p05 if end else self.looked_until_s)
        return (start.p95, last) if start.p95 < last else None


def windows(
    film: FilmHistory,
    *,
    limits: Limits | None = None,
    veins: Sequence[Thread] = (BOLD, FINE),
    cup: CupHistory | None = None,
    pour: PourLimit | None = None,
) -> dict[str, Window]:
    """All windows of a film, in the order in which they come.

    Parameters
    ----------
    film : FilmHistory [SI]
        From `film_history`.
    limits : Limits or None [-]
        What the finisher asks for; None takes the usual values.
    veins : sequence of Thread [-]
        Veins to drizzle.
    cup : CupHistory or None [-]
        The cup it is poured from, for the start of the pour window.
    pour : PourLimit or None [-]
        From `pour_within`, for its end.

    Returns
    -------
    dict of str to Window [s]
        ``pour`` (if given), ``level``, ``spread``, ``vein-...``, ``edges``, ``hands_off``,
        ``recoat``, ``sand_first``, ``handle``, ``light_use``, ``full_service``. Never NaN.

    Source: levelling Orchard 1962; edges Jeffreys 1930; veins derived in `film.vein`; tack-free at
    a conversion of 0.60 and more, Bashir 2023, Coatings 13, 592; recoat limits are our own
    proposal, to be set from the data sheet; handle, use and service are common practice.
    """
    lim = limits or Limits()
    r = film.resin
    n = r.count
    start, until = film.start_s, film.end_s
    begin = np.full(n, start)
    never = np.full(n, np.inf)
    fluid = Fluid(float(np.median(r.density)), float(np.median(r.surface_tension)))
    out: dict[str, Window] = {}

    def put(
        key: str, label: str, first: _Array, last: _Array, why: str, to: str, open_: bool = False
    ) -> None:
        out[key] = Window(key, label, first, last, why, to, open_, until)

    if cup is not None and pour is not None:
        mixed = np.full(n, cup.start_s)
        put("pour", "pour out of the cup", mixed, mixed + pour.within_s, "mixed", pour.criterion)

    level = level_flow_of(film.thickness_m, lim.mark_m, lim.kept, fluid)
    marks = film.when_flow_left(level)
    put(
        "level",
        "marks level",
        begin,
        marks,
        "the pour",
        say(
            "marks {mark:.3g} apart would keep {kept:.0%} of their height (flow left {level:.3g} "
            "1/Pa)",
            mark=Amount(lim.mark_m * 1000, "mm"),
            kept=lim.kept,
            level=level,
        ),
    )
    thick = rises_to(
        film.times_s,
        film.conversion,
        conversion_at_thickening(lim.spread_thicker, r.gel, r.thick_a, r.thick_b),
        steady=True,
    )
    put(
        "spread",
        "spread",
        begin,
        np.minimum(thick, marks),
        "the pour",
        say(
            "marks no longer level, or cure has made it {times:g} times as thick",
            times=lim.spread_thicker,
        ),
    )
    still = level_flow_of(film.thickness_m, lim.settle_m, math.exp(-1.0), fluid)
    for thread in veins:
        check_thread(thread)
        opens, closes = vein_flows(thread, film.thickness_m, fluid)
        drift = 0.5 * (thread.target_m - thread.width_m)
        used = still * max(math.log(max(bulk_drift(lim, 0.0) / drift, 1e-9)), 0.0)
        calm = film.when_flow_used(used)
        narrow = begin if np.isinf(opens) else film.when_flow_left(opens)
        mm = say("{width:g}", width=Amount(thread.target_m * 1000, "mm"))
        why = say(
            "the pour has come to rest: it drags a vein by under {more:.2g} more",
            more=Amount(drift * 1000, "mm"),
        )
        if np.isfinite(opens):
            thin = say(
                ", and a {width:g} thread ends no wider than {mm} (flow left {level:.3g} 1/Pa)",
                width=Amount(thread.width_m * 1000, "mm"),
                mm=mm,
                level=opens,
            )
            why = joined("", (why, thin))
        put(
            f"vein-{thread.target_m * 1000:g}mm",
            say("veins end {mm}", mm=mm),
            np.maximum(calm, narrow),
            film.when_flow_left(closes),
            why,
            say(
                "three quarters of a thread would stay proud of the film (flow left {level:.3g} "
                "1/Pa)",
                level=closes,
            ),
        )
    keep = float(flow_to_keep(lim.edge_film_m, lim.edge_drop_m, 1.0, fluid))
    short = level_flow_of(film.thickness_m, 0.005, 0.1, fluid)
    put(
        "edges",
        "edges",
        film.when_flow_left(keep),
        film.when_flow_left(min(short, keep)),
        say(
            "{film:.2g} would stay {drop:.3g} down the edge (flow left {level:.3g} 1/Pa)",
            film=Amount(lim.edge_film_m * 1000, "mm"),
            drop=Amount(lim.edge_drop_m * 1000, "mm"),
            level=keep,
        ),
        say("brush marks {mark:g} apart would keep a tenth of their height", mark=Amount(5, "mm")),
    )
    tack = film.when_conversion(r.tack)
    put(
        "hands_off",
        "hands off",
        np.minimum(marks, tack),
        tack,
        "marks no longer level",
        "tack-free (conversion at least 0.60)",
    )
    opens_s = film.when_conversion(r.recoat_open)
    closes_s = np.minimum(film.when_conversion(r.recoat_close), tg_passes(film, lim.close_over_K))
    put(
        "recoat",
        "bonds without sanding",
        opens_s,
        closes_s,
        "the film carries a coat (recoat-open conversion)",
        say(
            "too few groups are left to bond (recoat-close conversion), or it has turned to "
            "glass (Tg {over:g} over the film's temperature)",
            over=Amount(lim.close_over_K, "K"),
        ),
    )
    glassy = tg_passes(film, lim.handle_over_K)
    sandable = np.maximum(closes_s, glassy)
    put(
        "sand_first",
        "sand first",
        sandable,
        never,
        "recoat has closed and Tg has passed the film's temperature, so that it sands to dust",
        "the next coat",
        True,
    )
    put(
        "handle",
        "handle",
        np.maximum(glassy, tack),
        never,
        say("tack-free and hard: its glass transition has passed the film's temperature")
        if lim.handle_over_K == 0.0
        else say(
            "tack-free, and Tg {over:g} over the film's temperature",
            over=Amount(lim.handle_over_K, "K"),
        ),
        "",
        True,
    )
    use = np.maximum(tg_passes(film, lim.use_over_K), tack)
    put(
        "light_use",
        "light use",
        use,
        never,
        say("Tg {over:g} over the film's temperature", over=Amount(lim.use_over_K, "K")),
        "",
        True,
    )
    full = np.maximum(settled(film, lim.settled_K_day), use)
    put(
        "full_service",
        "full service",
        full,
        never,
        say(
            "Tg rises by less than {rise:g} per day, after light use",
            rise=Amount(lim.settled_K_day, "K"),
        ),
        "",
        True,
    )
    return out


def finite_spread(values: _Array, cap: float) -> Spread | None:
    """5/50/95 % points of times of which some may never come.

    Parameters
    ----------
    values : array [s]
        Times, infinite where not reached.
    cap : float [s]
        End of the time looked at, which stands in for those.

    Returns
    -------
    Spread or None [s]
        None if half or more are not reached.
    """
    from pourwright.calc.sampling import spread_of

    v = np.asarray(values, dtype=float)
    if np.mean(np.isfinite(v)) <= 0.5:
        return None
    return spread_of(np.where(np.isfinite(v), v, max(cap, float(v[np.isfinite(v)].max()))))


def window_notes(found: dict[str, Window]) -> list[str]:
    """Plain sentences on windows that do not open, or not surely.

    Parameters
    ----------
    found : dict of str to Window [s]
        From `windows`.

    Returns
    -------
    list of str [-]
        For the warnings.
    """
    notes: list[Any] = []
    for w in found.values():
        if w.key.startswith("vein-") and w.reached <= 0.5:
            notes.append(
                say(
                    "Veins {width:g} wide: the pour does not come to rest while it still flows, so "
                    "a vein laid in it would be dragged along; lay veins in a thicker coat.",
                    width=Amount(float(w.key[5:-2]), "mm"),
                )
            )
        elif w.reached <= 0.5:
            notes.append(say("'{label}' is not reached within the time looked at.", label=w.label))
        elif not w.open_ended and w.empty > 0.5:
            notes.append(
                say("'{label}': it closes before it opens; there is no such moment.", label=w.label)
            )
        elif w.reached < 0.95:
            notes.append(
                say(
                    "'{label}' is not reached within the time looked at in {share:.0%} of cases.",
                    label=w.label,
                    share=1 - w.reached,
                )
            )
    return notes
