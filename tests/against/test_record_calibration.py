"""Ranges that learning states hold at their nominal rate, on simulated shops.

A hundred shops are invented from the priors themselves: a product within its class, a shop's own
bent, two lots, and looks with the eye's error. The 90 % ranges of what is learned must then hold
the truth in 90 of 100 cases (calibration of Bayesian computation: S. R. Cook, A. Gelman and D. B.
Rubin 2006, J. Comput. Graph. Stat. 15, 675; from memory).

Tolerance: with n independent shops and a true rate of 0.9 the share of hits is binomial; the bounds
are its 0.1 and 99.9 % points, so a right program fails once in 500 runs of a new seed, and the seed
is fixed. The figures of one shop are correlated, so each is tested by itself.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from pourwright.calc import Draws
from pourwright.catalogue import get
from pourwright.cure import AirHistory, Resin
from pourwright.cure.prior import NAMES
from pourwright.record.lessons import as_material
from pourwright.record.posterior import (
    LOT,
    SHOP,
    Group,
    P,
    Posterior,
    _spread,
    figures,
    group_sights,
    learn,
    own_prior,
)
from pourwright.record.product import learned_properties, product_table
from pourwright.record.sights import EYE, Sight, show

SHOPS = 100
MATERIAL = get("resin-colour-1to1-uv", "resin")
AIR = AirHistory.day_and_night(293.15, 299.15)
Z95 = 1.6448536
ASKED = (
    Sight("tack_free", 9 * 3600.0, 2e4, 2e4, AIR, film_m=0.0011),
    Sight("film_gel", 9 * 3600.0, 2e4, 2e4, AirHistory.constant(288.15), film_m=0.0011),
    Sight("cup_gel", 9 * 3600.0, 4e3, 4e3, AirHistory.constant(291.15), 0.5),
)


@pytest.fixture(scope="module")
def shops() -> tuple[Posterior, np.ndarray]:
    """The posteriors of all shops, and the true unknowns of each one's next lot."""
    prior = own_prior(MATERIAL)
    sights = [
        Sight("cup_gel", 9 * 3600.0, 4e3, 4e3, AIR, 0.3, lot="a"),
        Sight("tack_free", 9 * 3600.0, 2e4, 2e4, AIR, film_m=0.0011, lot="a"),
        Sight("film_gel", 33 * 3600.0, 2e4, 2e4, AIR, film_m=0.0011, lot="b"),
    ]
    groups = group_sights(sights)
    rng = np.random.default_rng(2027)
    w = rng.normal(size=(SHOPS, P + len(SHOP) + 2 * len(LOT)))
    seen = []
    for g in groups:
        times = figures(prior, g, w @ _spread(prior, groups, g).T)
        eye = np.array([EYE[s.stage] for s in g.sights])
        noted = times * np.exp(rng.normal(size=times.shape) * eye)
        seen.append(np.stack([noted, noted], axis=-1))
    lot = np.array([LOT.get(n, 0.0) for n in NAMES]) / prior.sd
    truth = w @ _spread(prior, groups, None).T + rng.normal(size=(SHOPS, P)) * lot
    return learn(prior, groups, seen), truth


def in_bounds(hits: int, n: int = SHOPS) -> bool:
    low, high = binom.ppf([0.001, 0.999], n, 0.9)
    return bool(low <= hits <= high)


def one_shop(post: Posterior, k: int) -> Posterior:
    pick = slice(k, k + 1)
    return Posterior(
        post.prior, post.groups, post.best[pick], post.covariance[pick], post.residuals[pick],
        post.strain[pick],
    )  # fmt: skip


@pytest.mark.parametrize("name", ["early", "ratio", "energy", "gel", "tack", "film_coefficient"])
def test_unknowns_lie_within_their_ranges(shops: tuple[Posterior, np.ndarray], name: str) -> None:
    post, truth = shops
    i = NAMES.index(name)
    hits = 0
    for k in range(SHOPS):
        mean, cov = post.next_lot(k)
        hits += abs(truth[k, i] - mean[i]) < Z95 * np.sqrt(cov[i, i])
    assert in_bounds(hits), hits


def test_times_lie_within_their_ranges(shops: tuple[Posterior, np.ndarray]) -> None:
    post, truth = shops
    right = figures(post.prior, Group("next", ASKED), truth)
    hits = np.zeros(len(ASKED), dtype=int)
    for k in range(SHOPS):
        said = show(post.draws(Draws(k, 200), k), ASKED)
        low, high = np.quantile(said, [0.05, 0.95], axis=0)
        hits += (low <= right[k]) & (right[k] <= high)
    assert all(in_bounds(int(h)) for h in hits), hits


def test_times_from_the_product_file_lie_within_their_ranges(
    shops: tuple[Posterior, np.ndarray],
) -> None:
    """Through what a plan really reads: ranges and correlation from the file. Forty shops, for
    speed."""
    post, truth = shops
    n = 40
    right = figures(post.prior, Group("next", ASKED), truth[:n])
    hits = np.zeros(len(ASKED), dtype=int)
    for k in range(n):
        table = product_table(MATERIAL, learned_properties(one_shop(post, k), MATERIAL), {}, "")
        resin = Resin.from_material(as_material(MATERIAL, table), Draws(k, 200))
        low, high = np.quantile(show(resin, ASKED), [0.05, 0.95], axis=0)
        hits += (low <= right[k]) & (right[k] <= high)
    assert all(in_bounds(int(h), n) for h in hits), hits


def test_the_file_keeps_what_goes_together(shops: tuple[Posterior, np.ndarray]) -> None:
    """A file drawn without its correlation states much wider times than the posterior; with it,
    the same within the noise of 4000 draws: the standard error of a 90 % width of n draws is near
    1/sqrt(n) of it, 1.6 %; two of them differ, so three such errors make 7 %."""
    post, _ = shops
    one = one_shop(post, 0)
    table = product_table(MATERIAL, learned_properties(one, MATERIAL), {}, "")
    alone = {**table, "facts": {"learned": {}}}
    draws = Draws(5, 4000)

    def widths(resin: Resin) -> np.ndarray:
        low, high = np.quantile(np.log(show(resin, ASKED)), [0.05, 0.95], axis=0)
        return np.asarray(high - low)

    real = widths(one.draws(draws))
    joint = widths(Resin.from_material(as_material(MATERIAL, table), draws))
    apart = widths(Resin.from_material(as_material(MATERIAL, alone), draws))
    assert np.all(np.abs(joint / real - 1) < 0.07), joint / real
    assert np.all(apart > 1.2 * real), apart / real


def test_learning_narrows(shops: tuple[Posterior, np.ndarray]) -> None:
    """Calibrated ranges could still be useless: the rate's must shrink to under a third."""
    post, _ = shops
    i = NAMES.index("early")
    before = np.sqrt(post.next_lot_prior()[i, i])
    after = [np.sqrt(post.next_lot(k)[1][i, i]) for k in range(SHOPS)]
    assert np.median(after) < before / 3
