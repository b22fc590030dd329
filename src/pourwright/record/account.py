"""Where the resin of a coat went: mixed = on the surface + ran off + cups + tools + left over."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.plan import Working
from pourwright.record.book import Record
from pourwright.record.entries import AccountEntry, CupEntry


@dataclass(frozen=True)
class CoatAccount:
    """The balance of one coat; masses [kg], None where nobody weighed.

    `cups` were recorded, `cups_planned` planned for the job (without those of the board),
    `weighed` had what stayed in them weighed. `on_surface` is what is left of `mixed` when all
    else is taken off; `film_m` [m] is the mean film on the face that it means, with `film_range`
    for what is not known of the edges. `density` [kg/m3].
    """

    coat: str
    resin: str
    density: float
    cups: int
    cups_planned: int
    weighed: int
    mixed: float
    in_cups: float | None
    ran_off: float | None
    tools: float | None
    left_over: float | None
    on_surface: float | None
    film_m: float | None
    film_range: tuple[float, float] | None
    film_planned_m: float

    @property
    def left_per_cup_m3(self) -> float | None:
        """What stayed in one cup on average [m3]."""
        if self.in_cups is None or not self.weighed:
            return None
        return self.in_cups / self.cups / self.density


def coat_accounts(work: Working, record: Record) -> list[CoatAccount]:
    """The accounts of all coats of which a cup was recorded.

    Parameters
    ----------
    work : Working [SI]
        The plan of the job.
    record : Record [-]
        What happened.

    Returns
    -------
    list of CoatAccount [kg, m]
        Cups of the sample board are not counted.
    """
    out = []
    cups = record.of_kind("cup")
    for planned, coat in zip(work.plan.coats, work.timed.poured, strict=True):
        board = {q for b in planned.batches if b.kind == "board" for q in b.cups}
        own: list[CupEntry] = [
            e for e in cups if e.coat == planned.id and e.cup.partition("/")[2] not in board
        ]
        if not own:
            continue
        mixed = sum(e.a + e.b + sum(e.pastes.values()) for e in own)
        known = [e.left for e in own if e.left is not None]
        # cups that were not weighed are taken like the mean of those that were
        in_cups = sum(known) / len(known) * len(own) if known else None
        entries: list[AccountEntry] = [e for e in record.of_kind("account") if e.coat == planned.id]
        ran_off = _sum([e.ran_off for e in entries])
        tools = _sum([e.tools for e in entries])
        left_over = _sum([e.left_over for e in entries])
        density = coat.ratio.density
        on_surface = film = None
        film_range = None
        if in_cups is not None and ran_off is not None:
            on_surface = mixed - in_cups - ran_off - (tools or 0.0) - (left_over or 0.0)
            net = planned.face_mL + planned.edge_mL
            pieces = [p for p in coat.pieces if not p.board]
            face = sum(p.count * p.flat for p in pieces)
            edges = sum(p.count * p.strip * p.edge_film.value for p in pieces)
            pastes = sum(sum(e.pastes.values()) for e in own)
            volume = (on_surface - pastes * on_surface / mixed) / density
            if face > 0 and net > 0:
                film = (volume - edges) / face
                low = (volume - 1.5 * edges) / face
                film_range = (low, (volume - 0.6 * edges) / face)
        out.append(
            CoatAccount(
                planned.id, planned.resin, density, len(own), len(planned.cups) - len(board),
                len(known), mixed, in_cups, ran_off, tools, left_over, on_surface, film,
                film_range, coat.film.value,
            )
        )  # fmt: skip
    return out


def _sum(values: list[float | None]) -> float | None:
    known = [v for v in values if v is not None]
    return sum(known) if known else None
