"""What other boards would mend, in words: under a weight limit, out of a sag or a bow."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pourwright.calc.check import Check
from pourwright.plan.other_boards import Board
from pourwright.words import Amount, joined, say


def fixes_for(
    boards: Sequence[Board], limit: float, wide: float, film: float, deep: float = 0.0
) -> list[str]:
    """Changes that bring the weight under its limit, the mildest first.

    Parameters
    ----------
    boards : sequence of Board [kg]
        From `boards_of`.
    limit : float [kg]
        Highest weight.
    wide : float [-]
        How much more than its middle value the weight may be (95 % over 50 %).
    film : float [kg/mm]
        What a millimetre of film on all pieces weighs.
    deep : float [mm]
        How thick the film is; at most half of it is thought away.

    Returns
    -------
    list of str [-]
        Sentences with weight, sag and bow; what would then fail is said. When no board does it, the
        lightest and what is still missing.
    """
    mine = next(b for b in boards if b.own)
    enough = [b for b in boards if b.mass * wide <= limit and not b.own]
    need = (mine.mass * wide - limit) / film if film > 0.0 else np.inf
    values = {"mass": Amount(film / 10, "kg"), "need": Amount(float(np.ceil(10 * need)) / 10, "mm")}
    thinner = (
        say(
            "Each tenth of a millimetre less film saves {mass:.2f}: {need:.1f} less is enough.",
            **values,
        )
        if need <= 0.5 * deep
        else say("Each tenth of a millimetre less film saves {mass:.2f}.", mass=values["mass"])
    )
    if not enough:
        best = min(boards, key=lambda b: b.change)
        if best.own:
            return [say("No lighter board is listed: a thinner film, or smaller pieces."), thinner]
        over = best.mass * wide - limit
        left = over - 0.5 * deep * film * (0.5 if best.sealed else 1.0)
        short = (
            say(
                "No board is enough, not even with half the film: {more:.1f} more must come off by "
                "smaller or fewer pieces, or the limit must rise.",
                more=Amount(left, "kg"),
            )
            if left > 0.0
            else say(
                "No board alone is enough: {more:.1f} more must come off, by a thinner film, "
                "smaller pieces, or leaving something else out.",
                more=Amount(over, "kg"),
            )
        )
        return [_told(best, mine), short, thinner]

    def harm(b: Board) -> tuple[int, bool, float]:
        worse = (b.stiff > max(1.0, mine.stiff) + 1e-9) + (b.bent > max(1.0, mine.bent) + 1e-9)
        return worse, b.material.id != mine.material.id, -b.mass

    chosen: list[Board] = []
    for b in sorted(enough, key=harm):
        if (b.material.id, b.sealed) not in {(c.material.id, c.sealed) for c in chosen}:
            chosen.append(b)
    told = [_told(b, mine) for b in chosen[:2]]
    # a little less film comes before a board that brings a new trouble
    return [thinner, *told] if need <= 0.25 * deep and harm(chosen[0])[0] else [*told, thinner]


def with_boards(
    checks: Sequence[Check],
    boards: Sequence[Board],
    most: float | None = None,
    balanced: float | None = None,
) -> list[Check]:
    """Checks of sag and bow with the nearest sold board that passes put first.

    Parameters
    ----------
    checks : sequence of Check [mm]
        Of the job on its own board.
    boards : sequence of Board [kg, m]
        From `boards_of`.
    most : float or None [kg]
        Heaviest that all pieces may be; boards beyond it are not proposed.
    balanced : float or None [kg]
        What all pieces would weigh with coated backs, from `balanced_mass`: beyond `most` the
        advice to coat them says so.

    Returns
    -------
    list of Check [mm]
        Where a check does not pass, the lightest board of the same kind that does, or else of
        another kind, judged by its middle value times the range of the job's own board.
    """
    out = [
        _with_board(c, boards, most) if c.name in _READS and c.passed != "yes" and boards else c
        for c in checks
    ]
    if most is None or balanced is None or balanced <= most:
        return out
    return [_too_heavy(c, most, balanced) for c in out]


def _too_heavy(c: Check, most: float, balanced: float) -> Check:
    """A bow's remedy of a film on the back, with the weight limit it breaks."""
    if not c.name.startswith("endure.bow"):
        return c
    told = say(
        "But with such backs all pieces weigh up to {mass:.1f}, and {limit:g} is the limit.",
        mass=Amount(balanced, "kg"),
        limit=Amount(most, "kg"),
    )
    rows = [
        joined(" ", (r, told)) if str(r).startswith(("Coat the back", "Seal the back as")) else r
        for r in c.remedies
    ]
    return c.model_copy(update={"remedies": tuple(rows)})


_READS = {
    "endure.span.load": lambda b: (b.sag, b.sag_limit),
    "endure.bow.cure": lambda b: (b.bow, b.bow_limit),
    "endure.bow.cold": lambda b: (b.bow, b.bow_limit),
}


def _with_board(c: Check, boards: Sequence[Board], most: float | None) -> Check:
    mine = next(b for b in boards if b.own)
    wide = 1.0
    if c.spread is not None and c.value > 0:
        wide = max(1.0, c.spread.p95 / c.value)
    good = []
    for b in boards:
        if most is not None and b.mass > most:
            continue
        value, limit = _READS[c.name](b)
        others_hold = b.stiff <= max(1.0, mine.stiff) and b.bent <= max(1.0, mine.bent)
        if not b.own and value * wide <= limit and others_hold:
            good.append(b)
    if not good:
        return c
    best = min(good, key=lambda b: (b.material.id != mine.material.id, b.mass))
    what = _told_sag(best) if c.name == "endure.span.load" else _told_bow(best)
    return c.model_copy(update={"remedies": (what, *c.remedies)})


def _told_sag(b: Board) -> str:
    return say(
        "{board} instead: it sags {sag:.1f} and may {sag_limit:.1f}; all pieces then weigh "
        "{mass:.1f}.",
        board=b.label,
        sag=Amount(1e3 * b.sag, "mm"),
        sag_limit=Amount(1e3 * b.sag_limit, "mm"),
        mass=Amount(b.mass, "kg"),
    )


def _told_bow(b: Board) -> str:
    return say(
        "{board} instead: it bows {bow:.1f} and may {bow_limit:.1f}; all pieces then weigh "
        "{mass:.1f}.",
        board=b.label,
        bow=Amount(1e3 * b.bow, "mm"),
        bow_limit=Amount(1e3 * b.bow_limit, "mm"),
        mass=Amount(b.mass, "kg"),
    )


def _told(b: Board, mine: Board) -> str:
    values = {
        "board": b.label,
        "mass": Amount(b.mass, "kg"),
        "less": Amount(abs(b.change), "kg"),
        "sag": Amount(1e3 * b.sag, "mm"),
        "sag_limit": Amount(1e3 * b.sag_limit, "mm"),
        "bow": Amount(1e3 * b.bow, "mm"),
        "bow_limit": Amount(1e3 * b.bow_limit, "mm"),
    }
    soft = b.stiff > max(1.0, mine.stiff)
    if soft and b.bent > max(1.0, mine.bent):
        return say(
            "{board} instead: {mass:.1f} ({less:.1f} less), but it sags {sag:.1f} (may "
            "{sag_limit:.1f}) and bows {bow:.1f} (may {bow_limit:.1f}): bearers closer, and screwed "
            "down flat.",
            **values,
        )
    if soft:
        return say(
            "{board} instead: {mass:.1f} ({less:.1f} less), but too soft: it sags {sag:.1f} and "
            "may {sag_limit:.1f}; then put bearers closer.",
            **values,
        )
    if b.bent > max(1.0, mine.bent):
        return say(
            "{board} instead: {mass:.1f} ({less:.1f} less), but it bows {bow:.1f} and may "
            "{bow_limit:.1f}; then coat the back alike.",
            **values,
        )
    return say(
        "{board} instead: {mass:.1f} ({less:.1f} less); it sags {sag:.1f} (may {sag_limit:.1f}) "
        "and bows {bow:.1f} (may {bow_limit:.1f}).",
        **values,
    )
