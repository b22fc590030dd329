"""When each move happens: mix age or flow left, checked against order and gel."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.errors import InputError
from pourwright.pattern.clock import FlowClock
from pourwright.pattern.score import LAYING, Score, Torch
from pourwright.words import Amount, say


@dataclass(frozen=True)
class Slot:
    """One move in time: flow left at its start and at its end [1/Pa], start as mix age [min]."""

    index: int
    start: float
    end: float
    minute: float


def schedule(score: Score, clock: FlowClock) -> list[Slot]:
    """The moves of a score in flow left.

    Parameters
    ----------
    score : Score [-]
        Its moves.
    clock : FlowClock [min, 1/Pa]
        Flow left over mix age.

    Returns
    -------
    list of Slot [1/Pa, min]
        One per move, in order.

    Raises
    ------
    InputError
        A move at or after gel, before the move ahead of it, or with more flow left than the resin
        ever had.
    """
    slots: list[Slot] = []
    now = clock.minutes[0]
    for i, move in enumerate(score.moves):
        field = f"score.moves[{i}]"
        start = now
        if move.at_min is not None:
            start, field = move.at_min, field + ".at_min"
            shown: object = move.at_min
        elif move.at_flow_left is not None:
            field += ".at_flow_left"
            shown = move.at_flow_left
            if move.at_flow_left > clock.flow_left[0] * (1 + 1e-9):
                raise InputError(
                    field,
                    move.at_flow_left,
                    say("this resin starts with {left:.0f} 1/Pa", left=clock.flow_left[0]),
                    "Use a smaller flow left, a thinner resin or a warmer room.",
                )
            start = clock.minute_at(move.at_flow_left)
        else:
            shown = f"{move.do} at {start:.1f} min"
        if start >= clock.gel_min:
            raise InputError(
                field,
                shown,
                say("the resin gels at {at:.1f}", at=Amount(clock.gel_min, "min")),
                "Make this move earlier, or use a slower resin.",
            )
        if start < now - 1e-6:
            raise InputError(
                field,
                shown,
                say("the move ahead of it lasts until {at:.1f}", at=Amount(now, "min")),
                "Put the moves in order or shorten the one ahead.",
            )
        start = max(start, now)
        end = start + move.takes_s / 60
        if end > clock.gel_min and isinstance(move, (*LAYING, Torch)):
            raise InputError(
                f"score.moves[{i}].takes_s",
                move.takes_s,
                say("the move would end after gel at {at:.1f}", at=Amount(clock.gel_min, "min")),
                "Start it earlier or make it shorter.",
            )
        end = min(end, clock.gel_min)
        slots.append(Slot(i, clock.left_at(start), clock.left_at(end), start))
        now = end
    return slots
