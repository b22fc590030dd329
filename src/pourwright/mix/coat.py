"""One coat from areas to cups: volumes, over-mix against the risk, batches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from pourwright.calc import Draws
from pourwright.mix.batch import BatchPlan, Crew, Limits
from pourwright.mix.batches import plan_batches
from pourwright.mix.cups import Measuring
from pourwright.mix.ratio import ResinRatio
from pourwright.mix.shades import Shade
from pourwright.mix.short import OverMix, over_mix
from pourwright.mix.volume import CoatPiece, CoatVolume, Loss, Uncertain, coat_volume, sample_need


class Areas(Protocol):
    """What a survey tells of one piece: areas [m2] and the run of its free edges [m]."""

    @property
    def flat(self) -> float:
        """Face to pour, without what lies over round-overs [m2]."""

    @property
    def strip(self) -> float:
        """Edge strips laid flat [m2]."""

    @property
    def free_run(self) -> float:
        """Length of free edges [m]."""


@dataclass(frozen=True, slots=True)
class CoatPlan:
    """Volume, over-mix and batches of one coat [m3, kg, s]."""

    volume: CoatVolume
    over: OverMix
    batches: BatchPlan

    @property
    def factor(self) -> float:
        """Over-mix in use [-]: never below 1."""
        return max(self.over.factor, 1.0)


def coat_piece(
    name: str,
    areas: Areas,
    film: Uncertain,
    edge_film: Uncertain,
    run_off: Uncertain,
    count: int = 1,
    board: bool = False,
) -> CoatPiece:
    """A surveyed surface under a coat.

    Parameters
    ----------
    name : str [-]
    areas : Areas [m2, m]
        Of one piece, as `survey.measure_surface` gives them.
    film, edge_film : Uncertain [m]
        Wet film on the face and mean film left on the edge strip.
    run_off : Uncertain [m3/m]
        What drips off per length of free edge, e.g. from `film.edge`.
    count : int [-]
    board : bool [-]
        True for a sample board.

    Returns
    -------
    piece : CoatPiece [m2, m]
        The face counts without the part over round-overs, which is in the strip already.
    """
    return CoatPiece(
        name, areas.flat, areas.strip, areas.free_run, film, edge_film, run_off, count, board
    )


def plan_coat(
    coat: str,
    pieces: Sequence[CoatPiece],
    shades: Sequence[Shade],
    ratio: ResinRatio,
    limits: Limits,
    crew: Crew | None = None,
    loss: Loss | None = None,
    measuring: Measuring | None = None,
    risk: float = 0.05,
    draws: Draws | None = None,
    vein_wait: float = 900.0,
    prefix: str = "",
) -> CoatPlan:
    """Volume, over-mix and batches of a coat that agree with one another.

    Parameters
    ----------
    coat : str [-]
    pieces : sequence of CoatPiece [m2, m]
    shades : sequence of Shade [-]
    ratio : ResinRatio [-]
    limits : Limits [s, kg, m3]
    crew : Crew or None [-, s]
    loss : Loss or None [-, m3]
    measuring : Measuring or None [kg, m3]
    risk : float [-]
        Accepted chance of running short of this coat.
    draws : Draws or None [-]
        Seed 1 with 4000 samples when left out.
    vein_wait : float [s]
    prefix : str [-]
        Put before the numbers of its batches.

    Returns
    -------
    plan : CoatPlan [m3, kg, s]
        The loss per cup depends on the cups, the cups on the over-mix and that on the loss; they
        are repeated until the number of cups stands, and at most 8 times.

    Raises
    ------
    InputError
        As `plan_batches` and `over_mix`.
    """
    draws, loss = draws or Draws(1, 4000), loss or Loss()
    factor, seen = 1.0, -1
    for _ in range(8):
        batches = plan_batches(
            coat,
            pieces,
            shades,
            ratio,
            limits,
            crew,
            loss,
            measuring,
            factor,
            vein_wait,
            prefix,
        )
        cups = len(batches.cups)
        if cups == seen:
            break
        seen = cups
        volume = coat_volume(coat, pieces, loss, cups, draws)
        over = over_mix(volume.mixed, sample_need(coat, pieces, loss, cups, draws), risk)
        factor = max(over.factor, 1.0)
    return CoatPlan(volume, over, batches)
