"""What a shop's looks say of a resin: class, product, shop and lot, fitted together.

Unknowns are standardised: p for the product (the priors of `cure.prior`), s for what is peculiar to
this shop (its thermometer, its eye for gel and tack, its cups), l for each lot. A lot's resin is

    x = mean + sd u + SHOP s + LOT l,   u, s, l ~ N(0, 1)

Maximum a posteriori by damped Gauss-Newton, Laplace's normal approximation for the range. Several
shops with the same sights are solved abreast (the calibration test does a hundred).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Draws
from pourwright.catalogue import Material
from pourwright.cure import Resin
from pourwright.cure.fit import STEP
from pourwright.cure.forward import predict
from pourwright.cure.kinetics import time_horie
from pourwright.cure.prior import EARLY, NAMES, PRIORS, Prior, prior_for
from pourwright.cure.sheet import SheetLine, is_log
from pourwright.record.sights import EYE, Sight, misfit, show

_Array = NDArray[np.float64]
P = len(NAMES)
Z95 = 1.6448536269514722

# how far a shop, and a lot, lie from the product, one sd in the unknown's own unit (logarithm where
# the prior has one); own values in the order of batch tolerances on certificates, from memory
SHOP = {"early": 0.08, "gel": 0.01, "tack": 0.015, "film_coefficient": 0.10, "viscosity_25": 0.08}
LOT = {"early": 0.06, "viscosity_25": 0.08}
STEPS = 40


@dataclass(frozen=True)
class Group:
    """Sights of one lot, or lines of a data sheet (`lot` None): they share one resin."""

    lot: str | None
    sights: tuple[Sight, ...] = ()
    lines: tuple[SheetLine, ...] = ()

    @property
    def count(self) -> int:
        """Number of figures [-]."""
        return len(self.sights) + len(self.lines)


@dataclass(frozen=True, eq=False)
class Posterior:
    """A resin as a shop has come to know it.

    Parameters
    ----------
    prior : Prior [-]
        What it started from.
    groups : tuple of Group [-]
        The evidence.
    best : array [-]
        Likeliest standardised unknowns, shape (shops, q).
    covariance : array [-]
        Shape (shops, q, q).
    residuals : array [-]
        Of the figures in their own sd, shape (shops, n).
    strain : array [-]
        Misfit plus distance from the prior, chi-square, shape (shops,).
    """

    prior: Prior
    groups: tuple[Group, ...]
    best: _Array
    covariance: _Array
    residuals: _Array
    strain: _Array

    def next_lot(self, shop: int = 0) -> tuple[_Array, _Array]:
        """Mean (p,) and covariance (p, p) [-] of the unknowns of this shop's next lot."""
        a = _spread(self.prior, self.groups, None)
        lot = np.array([LOT.get(n, 0.0) for n in NAMES]) / self.prior.sd
        return a @ self.best[shop], a @ self.covariance[shop] @ a.T + np.diag(lot**2)

    def next_lot_prior(self) -> _Array:
        """Covariance (p, p) [-] of the unknowns of the shop's next lot before any evidence."""
        a = _spread(self.prior, self.groups, None)
        lot = np.array([LOT.get(n, 0.0) for n in NAMES]) / self.prior.sd
        return np.asarray(a @ a.T + np.diag(lot**2))

    def draws(self, draws: Draws, shop: int = 0) -> Resin:
        """Resins of the shop's next lot [SI], `draws.count` of them."""
        mean, cov = self.next_lot(shop)
        z = np.stack([draws.normal(f"record.learn.{n}") for n in NAMES], axis=1)
        return self.prior.resin(mean + z @ np.linalg.cholesky(cov + 1e-12 * np.eye(P)).T)


def own_prior(material: Material) -> Prior:
    """The prior of learning.

    Parameters
    ----------
    material : Material [-]
        A generic class, or a user's own product from its data sheet.

    Returns
    -------
    Prior [-]
        Means and standard deviations of the unknowns: the material's own ranges; but the rate of a
        generic class is taken as wide as `cure.prior_for` has it, since the product in the shop may
        be any of the class or near it.
    """
    wide = prior_for(material)
    mean, sd = wide.mean.copy(), wide.sd.copy()
    for i, (name, log, _, _) in enumerate(PRIORS):
        key = KEYS.get(name)
        if key is None or key not in material.properties:
            continue
        p = material.prop(key)
        if log:
            mean[i] = np.log(p.value)
            sd[i] = max((np.log(p.high) - np.log(p.low)) / (2 * Z95), 1e-3)
        else:
            mean[i], sd[i] = p.value, max((p.high - p.low) / (2 * Z95), 1e-3 * abs(p.value))
    # the time to early conversion: k2 and the ratio together
    k2, ratio = material.prop("k2_25C_per_s"), material.prop("k1_over_k2")
    at = NAMES.index("early")
    mean[at] = np.log(float(time_horie(EARLY, k2.value * ratio.value, k2.value)))
    slopes = [
        np.log(float(time_horie(EARLY, k2.value * r, k2.value))) for r in (ratio.low, ratio.high)
    ]
    own = float(np.hypot(np.log(k2.high / k2.low), slopes[0] - slopes[1])) / (2 * Z95)
    if material.origin != "catalogue":
        sd[at] = max(own, 1e-3)
    if "heat_per_epoxide_J_mol" in material.properties and "heat_J_kg" not in material.properties:
        at = NAMES.index("heat")
        p = material.prop("heat_per_epoxide_J_mol")
        sd[at] = max(np.log(p.high / p.low) / (2 * Z95), 1e-3)
    return Prior(wide.base, mean, sd)


KEYS = {
    "ratio": "k1_over_k2",
    "energy": "activation_energy_J_mol",
    "film_coefficient": "film_coefficient_W_m2K",
    "gel": "gel_conversion",
    "tack": "tack_conversion",
    "recoat_open": "recoat_open_conversion",
    "recoat_close": "recoat_close_conversion",
    "viscosity_25": "viscosity_25C_Pa_s",
    "flow_energy": "flow_energy_J_mol",
    "tg_end": "tg_full_K",
    "tg_bend": "tg_bend",
    "thick_a": "thickening_exponent",
    "glass_lead": "glass_lead_K",
}
"""Unknown to the property that holds it; rate and heat are made of several."""


def group_sights(sights: Sequence[Sight], sheet: Sequence[SheetLine] = ()) -> tuple[Group, ...]:
    """Evidence by lot: `sights` [-] of each lot together, the data `sheet` [SI] on its own."""
    by_lot: dict[str, list[Sight]] = {}
    for s in sights:
        by_lot.setdefault(s.lot, []).append(s)
    out = [Group(lot, tuple(v)) for lot, v in sorted(by_lot.items())]
    return (Group(None, (), tuple(sheet)), *out) if sheet else tuple(out)


def _spread(prior: Prior, groups: Sequence[Group], group: Group | None) -> _Array:
    """Matrix from all unknowns to those of one group's resin, shape (p, q)."""
    lots = [g.lot for g in groups if g.lot is not None]
    n_shop, n_lot = len(SHOP), len(LOT)
    a = np.zeros((P, P + n_shop + n_lot * len(lots)))
    a[:, :P] = np.eye(P)
    if group is not None and group.lot is None:
        return a
    for k, (name, width) in enumerate(SHOP.items()):
        i = NAMES.index(name)
        a[i, P + k] = width / prior.sd[i]
    if group is not None:
        at = P + n_shop + n_lot * lots.index(str(group.lot))
        for k, (name, width) in enumerate(LOT.items()):
            i = NAMES.index(name)
            a[i, at + k] = width / prior.sd[i]
    return a


def figures(prior: Prior, group: Group, u: _Array) -> _Array:
    """What resins at standardised unknowns `u` (n, p) [-] would show: shape (n, count) [SI].

    `prior` and `group` say of what.
    """
    resin = prior.resin(u)
    parts = []
    if group.sights:
        parts.append(show(resin, group.sights))
    if group.lines:
        parts.append(predict(resin, group.lines))
    return np.hstack(parts)


def _misfit(group: Group, found: _Array, seen: _Array) -> _Array:
    """Residuals (..., n) of figures against what was seen (..., n, 2)."""
    k = len(group.sights)
    eye = np.array([EYE[s.stage] for s in group.sights])
    parts = []
    if k:
        parts.append(misfit(found[..., :k], seen[..., :k, 0], seen[..., :k, 1], eye))
    if group.lines:
        value = np.array([x.value for x in group.lines])
        sigma = np.array([x.sigma for x in group.lines])
        log = np.array([is_log(x) for x in group.lines])
        rest = found[..., k:]
        gap = np.where(log, np.log(np.maximum(rest, 1e-12) / value), rest - value)
        parts.append(gap / sigma)
    return np.concatenate(parts, axis=-1)


def _seen(group: Group) -> _Array:
    rows = [(s.before_s, s.after_s) for s in group.sights]
    rows += [(x.value, x.value) for x in group.lines]
    return np.array(rows, dtype=float)


def learn(prior: Prior, groups: Sequence[Group], seen: Sequence[_Array] | None = None) -> Posterior:
    """The likeliest resin of a shop, and how sure it is.

    Parameters
    ----------
    prior : Prior [-]
        From `own_prior`.
    groups : sequence of Group [-]
        Evidence by lot, from `group_sights`; empty leaves the prior.
    seen : sequence of array or None [s]
        For several shops with the same sights: per group the looks (before, after), shape
        (shops, count, 2). None takes those of the sights themselves, one shop.

    Returns
    -------
    Posterior [-]

    Source: hierarchical maximum a posteriori; damped Gauss-Newton (Levenberg 1944, Marquardt 1963);
    Laplace's approximation (Tierney and Kadane 1986, from memory).
    """
    groups = tuple(g for g in groups if g.count)
    looks = [np.asarray(x, float) for x in seen] if seen is not None else [
        _seen(g)[None] for g in groups
    ]  # fmt: skip
    maps = [_spread(prior, groups, g) for g in groups]
    shops = looks[0].shape[0] if looks else 1
    q = maps[0].shape[1] if maps else P + len(SHOP)
    w = np.zeros((shops, q))
    w[:, 0] = _first_rate(prior, groups, looks, shops)

    def evaluate(w: _Array, which: NDArray[np.intp]) -> tuple[_Array, _Array]:
        """Residuals (m, n) and Jacobian (m, n, q) of the shops picked."""
        rows, slopes = [], []
        shift = np.vstack([np.zeros((1, P)), STEP * np.eye(P), -STEP * np.eye(P)])
        for g, a, look in zip(groups, maps, looks, strict=True):
            points = (w @ a.T)[:, None, :] + shift[None]
            found = figures(prior, g, points.reshape(-1, P)).reshape(len(w), 2 * P + 1, -1)
            r = _misfit(g, found, look[which][:, None])
            rows.append(r[:, 0])
            du = (r[:, 1 : P + 1] - r[:, P + 1 :]) / (2 * STEP)
            slopes.append(np.einsum("spn,pq->snq", du, a))
        return np.concatenate(rows, axis=1), np.concatenate(slopes, axis=1)

    everyone = np.arange(shops)
    if not groups:
        return Posterior(prior, groups, w, np.eye(q)[None], np.zeros((shops, 0)), np.zeros(shops))
    r, jac = evaluate(w, everyone)
    cost = (r**2).sum(1) + (w**2).sum(1)
    damp = np.full(shops, 1e-3)
    busy = np.ones(shops, dtype=bool)
    for _ in range(STEPS):
        go = np.flatnonzero(busy)
        if not go.size:
            break
        j = jac[go]
        curve = np.einsum("snp,snq->spq", j, j) + np.eye(q)
        slope = np.einsum("snq,sn->sq", j, r[go]) + w[go]
        step = np.linalg.solve(curve + damp[go, None, None] * np.eye(q), -slope[..., None])[..., 0]
        size = np.abs(step).max(1)
        step *= np.minimum(1.0, 2.0 / np.maximum(size, 1e-12))[:, None]
        new = w[go] + step
        r_new, j_new = evaluate(new, go)
        c_new = (r_new**2).sum(1) + (new**2).sum(1)
        good = c_new <= cost[go] + 1e-9
        at = go[good]
        busy[at] = (cost[at] - c_new[good]) > 1e-3
        w[at], r[at], jac[at], cost[at] = new[good], r_new[good], j_new[good], c_new[good]
        damp[at] = np.maximum(damp[at] / 5.0, 1e-6)
        damp[go[~good]] *= 10.0
        busy[go[~good]] = damp[go[~good]] < 1e6
    curve = np.einsum("snp,snq->spq", jac, jac) + np.eye(q)
    return Posterior(prior, groups, w, np.linalg.inv(curve), r, cost)


def _first_rate(
    prior: Prior, groups: Sequence[Group], looks: Sequence[_Array], shops: int
) -> _Array:
    """A rough start: the rate that makes the times right on average [-], shape (shops,)."""
    gaps = []
    for g, look in zip(groups, looks, strict=True):
        if not g.sights:
            continue
        expected = show(prior.resin(np.zeros((1, P))), g.sights)[0]
        lo, hi = look[:, : len(g.sights), 0], look[:, : len(g.sights), 1]
        ok = (lo > 0) & np.isfinite(hi)
        middle = np.sqrt(np.where(ok, lo, expected) * np.where(ok, hi, expected))
        gaps.append(np.log(middle / expected))
    if not gaps:
        return np.zeros(shops)
    return np.clip(np.median(np.concatenate(gaps, axis=1), axis=1) / prior.sd[0], -3.0, 3.0)


def shops_lot(sight: Sight, lot: str) -> Sight:
    """`sight` [-] moved to another `lot` [-]."""
    return replace(sight, lot=lot)
