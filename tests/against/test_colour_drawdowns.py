"""Predicting mixes that were held out of the open drawdowns.

Data: Geldof et al. 2018, Heritage Science 6:17 (CC0), a part of the set: 71 oil paint films over
black and white card with their mass fractions. Mixes are held out by eighths here, one at a
time in docs/derive/colour_heldout.py; a mix is interpolated when other mixes of the same paints
bracket its fractions. dE00 for D65, 10 degrees.
"""

from __future__ import annotations

import importlib
import sys
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from pourwright.colour.bands import read_table
from pourwright.colour.colorimetry import to_lab, to_xyz
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.fit import Drawdown, FittedSet, fit_drawdowns

DATA = Path(__file__).parents[3] / "shared" / "data"
pytestmark = pytest.mark.skipif(
    not (DATA / "paint-drawdowns-mixtures.tsv").is_file(),
    reason="open data folder is not beside this checkout",
)
SPREAD = 0.1


@lru_cache(maxsize=1)
def films() -> tuple[Drawdown, ...]:
    return tuple(derive("colour_drawdowns").read_drawdowns(DATA))


def error(fit: FittedSet, film: Drawdown) -> list[float]:
    """dE00 over black and over white."""
    return [
        float(delta_e_2000(to_lab(fit.predict(film.doses, card)), to_lab(seen)))
        for card, seen in zip(film.cards, film.films)
    ]


def held_out(name: str, **kw) -> list[float]:
    film = next(f for f in films() if f.name == name)
    return error(fit_drawdowns([f for f in films() if f.name != name], **kw), film)


def derive(name: str):
    """A derivation script of docs/derive, as a module."""
    folder = str(Path(__file__).parents[2] / "docs" / "derive")
    sys.path.insert(0, folder)
    try:
        return importlib.import_module(name)
    finally:
        sys.path.remove(folder)


def test_the_file_means_bare_card_by_b_and_film_over_it_by_ob() -> None:
    white = next(f for f in films() if f.name == "07A")
    black_card, white_card = white.cards
    assert to_xyz(black_card)[1] < 0.06 < to_xyz(white.films[0])[1]
    assert to_xyz(white_card)[1] > 0.8


@lru_cache(maxsize=1)
def dealt() -> dict[tuple[bool, str], np.ndarray]:
    """Every mix predicted without it: dealt by turns into eight hands, each held out in its turn.

    Nothing is picked: all mixes whose paints the other films show take part. Keys say whether a mix
    is interpolated and whether its film weight is the "usual" one or its "own", read over one card
    while the colour is predicted over the other. Errors of shape (mixes, 2): over black, over white.
    """
    every = films()
    mixes = [
        f
        for f in every
        if len(f.doses) > 1
        and set(f.doses) <= {p for other in every if other is not f for p in other.doses}
    ]
    found: dict[tuple[bool, str], list[list[float]]] = {}
    for hand in range(8):
        test = mixes[hand::8]
        rest = [f for f in every if f not in test]
        fit = fit_drawdowns(rest, weight_spread=SPREAD)
        for film in test:
            kind = derive("colour_heldout").interpolated(film, [*rest, film])
            found.setdefault((kind, "usual"), []).append(error(fit, film))
            own = derive("colour_heldout").over_the_other_card(fit, film)
            found.setdefault((kind, "own"), []).append(own)
    return {key: np.array(rows) for key, rows in found.items()}


def test_all_mixes_take_part() -> None:
    assert len(dealt()[True, "own"]) == 20
    assert len(dealt()[False, "own"]) == 32


def test_held_out_mixes_with_their_film_weight_known() -> None:
    """The aims of 2.5 and 4.5, where the film is known as a finisher knows it.

    With the shipped settings of the fit; what choosing them has to do with it: docs/colour.md.
    """
    assert dealt()[True, "own"].mean() <= 2.5
    assert dealt()[False, "own"].mean() <= 4.5


def test_held_out_mixes_of_the_usual_film_weight() -> None:
    """Without the weight the aim of 2.5 is missed, and docs/colour.md says so."""
    between, beyond = dealt()[True, "usual"], dealt()[False, "usual"]
    assert beyond.mean() <= 4.5
    # 3.0 is what is asked over black for nine 50:50 mixes that are not in this part of the set; all
    # twenty interpolated mixes are held to it over either card, films of other weight among them
    assert between.mean(axis=0).max() <= 3.0


def test_the_weight_of_a_thin_film_is_found() -> None:
    fit = fit_drawdowns(films(), weight_spread=SPREAD)
    doses = {"barium-sulphate": 0.86, "bone-black": 0.008}
    card = films()[0].cards[1]
    seen = fit.predict({c: 1.2 * v for c, v in doses.items()}, card)
    assert 1.1 < fit.film_weight(doses, card, seen, 0.1) <= 1.2  # pulled a little towards 1
    hiding = {"vermillion": 1.4}
    black = films()[0].cards[0]
    told = fit.film_weight(hiding, black, fit.predict(hiding, black), 0.1)
    assert abs(told - 1.0) < 0.01


def test_two_constants_beat_one_by_four_times() -> None:
    def one_constant(name: str) -> list[float]:
        """K/S of the masstones over white mixed by mass (Duncan's rule on ratios)."""
        film = next(f for f in films() if f.name == name)
        total = 0.0
        for paint, share in film.doses.items():
            pure = next(f for f in films() if set(f.doses) == {paint})
            r = pure.films[1]
            total = total + share / sum(film.doses.values()) * (1 - r) ** 2 / (2 * r)
        r = 1 + total - np.sqrt(total * (total + 2))
        return [float(delta_e_2000(to_lab(r), to_lab(seen))) for seen in film.films]

    names = ["04B", "09D", "11D", "13B", "15B"]
    names = [
        n
        for n in names
        if all(
            any(set(f.doses) == {p} for f in films())
            for p in next(f for f in films() if f.name == n).doses
        )
    ]
    assert len(names) >= 3
    two = np.mean([held_out(n, weight_spread=SPREAD) for n in names])
    one = np.mean([one_constant(n) for n in names])
    assert one >= 4 * two


def test_all_films_in_training() -> None:
    fit = fit_drawdowns(films(), weight_spread=SPREAD)
    e = np.array([error(fit, f) for f in films()])
    # what this model reaches on films it has seen, mean of both cards 2.0 (docs/colour.md); 2.3
    # leaves room for another version of the least-squares solver
    assert e.mean() < 2.3


def test_calibrated_two_flux_comes_as_close_as_the_engine() -> None:
    # coefficients fitted through two-flux theory take up most of its bias, so on paints it must
    # come within 0.2 dE00 of the engine; a larger gap would mean that one of the fits is broken
    means = []
    for model in ("streams", "two-flux"):
        fit = fit_drawdowns(films(), model=model)
        means.append(np.mean([error(fit, f) for f in films()]))
    assert abs(means[0] - means[1]) < 0.2


def test_shipped_table_is_this_fit() -> None:
    fit = fit_drawdowns(films(), weight_spread=SPREAD)
    t = read_table("drawdowns")
    ratios = [fit.s["zinc-white"] / t["zinc-white/s"]]
    for name in ("ultramarine-blue", "bone-black", "cobalt-blue"):
        strong = t[f"{name}/k"] > 0.3 * t[f"{name}/k"].max()
        ratios.append((fit.k[name] / t[f"{name}/k"])[strong])
    # one factor, the anchored film weight, for all bands and paints; five digits are stored, 2 %
    # leaves room for another version of the solver
    every = np.concatenate(ratios)
    assert np.ptp(every) < 0.02 * every.mean()
