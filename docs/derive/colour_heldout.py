"""Hold every mix of the open drawdowns out in turn and print how well the others predict it.

A mix is interpolated when other mixes of the same paints bracket its fractions, else extrapolated.
Paints alone are not held out: a paint whose full strength was never seen cannot be calibrated.

The weight of each film is not published, though it decides what a film that does not hide looks
like. So two errors are printed: with every film taken at the usual weight, and with its own
weight read from one card and the colour predicted over the other card, which was not looked at.

Run:  python docs/derive/colour_heldout.py FOLDER [two-flux]     (about two minutes)
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from colour_drawdowns import WEIGHT_SPREAD, read_drawdowns

from pourwright.colour.colorimetry import to_lab
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.fit import Drawdown, FittedSet, fit_drawdowns


def interpolated(film: Drawdown, films: list[Drawdown]) -> bool:
    """Whether other films of the same paints, one of them a mix, bracket this one's fractions."""
    paints = set(film.doses)
    first = min(paints)

    def share(f: Drawdown) -> float:
        return f.doses.get(first, 0.0) / sum(f.doses.values())

    others = [f for f in films if f.name != film.name and set(f.doses) <= paints]
    here = share(film)
    return (
        any(len(f.doses) > 1 for f in others)
        and any(share(f) < here for f in others)
        and any(share(f) > here for f in others)
    )


def over_the_other_card(fit: FittedSet, film: Drawdown) -> list[float]:
    """dE00 over black and over white, film weight from the reading over the other card."""
    out = []
    for here, other in ((0, 1), (1, 0)):
        weight = fit.film_weight(film.doses, film.cards[other], film.films[other], WEIGHT_SPREAD)
        doses = {c: v * weight for c, v in film.doses.items()}
        said = fit.predict(doses, film.cards[here])
        out.append(float(delta_e_2000(to_lab(said), to_lab(film.films[here]))))
    return out


def main() -> None:
    films = read_drawdowns(Path(sys.argv[1]))
    model = sys.argv[2] if len(sys.argv) > 2 else "streams"
    found: dict[tuple[bool, str], list[list[float]]] = {}
    for film in films:
        rest = [f for f in films if f.name != film.name]
        if len(film.doses) < 2 or not set(film.doses) <= {p for f in rest for p in f.doses}:
            continue
        fit = fit_drawdowns(rest, weight_spread=WEIGHT_SPREAD, model=model)
        e = [
            float(delta_e_2000(to_lab(fit.predict(film.doses, card)), to_lab(seen)))
            for card, seen in zip(film.cards, film.films, strict=True)
        ]
        kind = interpolated(film, films)
        found.setdefault((kind, "usual weight"), []).append(e)
        found.setdefault((kind, "own weight"), []).append(over_the_other_card(fit, film))
        print(
            f"{film.name}  {'between' if kind else 'beyond '}  black {e[0]:5.1f}  white {e[1]:5.1f}"
        )
    for (kind, weight), rows in found.items():
        a = np.array(rows)
        print(
            f"{'interpolated' if kind else 'extrapolated'} {len(a)}, {weight}: mean over"
            f" black {a[:, 0].mean():.2f}, white {a[:, 1].mean():.2f}, both {a.mean():.2f}, median"
            f" {np.median(a):.2f}, 90 % {np.quantile(a, 0.9):.2f}, worst {a.max():.1f}"
        )


if __name__ == "__main__":
    main()
