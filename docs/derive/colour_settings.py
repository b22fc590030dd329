"""How much of the held-out figures hangs on settings that were chosen by looking at them.

Two settings of the drawdown fit were chosen by held-out errors: films equally thick or equally
heavy, and how freely a film's weight may vary. Here the mixes are dealt into eight groups; for each
group both settings are chosen by fourfold held-out error among the *other* groups' mixes alone, and
the group's own mixes are then predicted, each from all other films, with what was chosen. So no
mix has a say in the settings it is judged by.

Run:  python docs/derive/colour_settings.py FOLDER [group ...]     (about a minute a group of 0 to 7)
"""

from __future__ import annotations

import sys
from itertools import product
from pathlib import Path

import colour_drawdowns
import numpy as np
from colour_drawdowns import read_drawdowns
from colour_heldout import interpolated

from pourwright.colour.colorimetry import to_lab
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.fit import Drawdown, FittedSet, fit_drawdowns

GROUPS, FOLDS, SEED = 8, 4, 3
SPREADS = (0.0, 0.05, 0.1, 0.2)


def both_ways(folder: Path) -> dict[str, list[Drawdown]]:
    """The films with doses for equal thickness and for equal mass."""
    thick = read_drawdowns(folder)
    kept = colour_drawdowns.equal_thickness
    try:
        colour_drawdowns.equal_thickness = dict
        return {"equally thick": thick, "equally heavy": read_drawdowns(folder)}
    finally:
        colour_drawdowns.equal_thickness = kept


def errors(fit: FittedSet, film: Drawdown) -> list[float]:
    """dE00 over black and over white, film of the usual weight."""
    return [
        float(delta_e_2000(to_lab(fit.predict(film.doses, card)), to_lab(seen)))
        for card, seen in zip(film.cards, film.films, strict=True)
    ]


def other_card(fit: FittedSet, film: Drawdown, spread: float) -> list[float]:
    """The same with the film's weight read over the card that is not predicted."""
    out = []
    for here, other in ((0, 1), (1, 0)):
        w = fit.film_weight(film.doses, film.cards[other], film.films[other], spread)
        said = fit.predict({c: v * w for c, v in film.doses.items()}, film.cards[here])
        out.append(float(delta_e_2000(to_lab(said), to_lab(film.films[here]))))
    return out


def chosen(
    films: dict[str, list[Drawdown]], inner: list[str], shut: list[str]
) -> tuple[str, float]:
    """The settings with the least held-out error among mixes `inner`, mixes `shut` never seen."""
    score = {}
    for way, spread in product(films, SPREADS):
        found: list[float] = []
        for k in range(FOLDS):
            test = inner[k::FOLDS]
            fit = fit_drawdowns(
                [f for f in films[way] if f.name not in {*test, *shut}], weight_spread=spread
            )
            for film in films[way]:
                if film.name in test and set(film.doses) <= set(fit.k):
                    found += errors(fit, film)
        score[way, spread] = float(np.mean(found))
    return min(score, key=score.__getitem__)


def main() -> None:
    films = both_ways(Path(sys.argv[1]))
    first = films["equally thick"]
    mixes = [
        f.name
        for f in first
        if len(f.doses) > 1
        and set(f.doses) <= {p for other in first if other is not f for p in other.doses}
    ]
    order = [mixes[i] for i in np.random.default_rng(SEED).permutation(len(mixes))]
    groups = [order[i::GROUPS] for i in range(GROUPS)]
    found: dict[tuple[bool, str], list[list[float]]] = {}
    for g in [int(v) for v in sys.argv[2:]] or range(GROUPS):
        inner = [m for k, group in enumerate(groups) if k != g for m in group]
        way, spread = chosen(films, inner, groups[g])
        print(f"group {g}: {way}, weight spread {spread:g}", flush=True)
        for name in groups[g]:
            film = next(f for f in films[way] if f.name == name)
            rest = [f for f in films[way] if f.name != name]
            fit = fit_drawdowns(rest, weight_spread=spread)
            kind = interpolated(film, films[way])
            usual, own = errors(fit, film), other_card(fit, film, spread or 0.1)
            found.setdefault((kind, "usual weight"), []).append(usual)
            found.setdefault((kind, "own weight"), []).append(own)
            shown = " ".join(f"{v:.2f}" for v in (*usual, *own))
            print(f"  {name} {'between' if kind else 'beyond'} {shown}", flush=True)
    for (kind, weight), rows in sorted(found.items(), reverse=True):
        a = np.array(rows)
        print(
            f"{'interpolated' if kind else 'extrapolated'} {len(a)}, {weight}: mean {a.mean():.2f},"
            f" median {np.median(a):.2f}"
        )


if __name__ == "__main__":
    main()
