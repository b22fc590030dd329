"""What was learned, written as a product file that overrides the catalogue.

A product file holds independent ranges; the posterior's unknowns are correlated (fast with a small
ratio looks like slow with a large one). The ranges written are those independent ones from which
the times that a plan needs come out as uncertain as from the posterior itself: bounded least
squares on the variances of a set of figures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.catalogue import Material
from pourwright.cure.fit import STEP
from pourwright.cure.forward import predict
from pourwright.cure.kinetics import time_horie
from pourwright.cure.prior import EARLY, NAMES, PRIORS, Prior
from pourwright.cure.sheet import SheetLine, is_log
from pourwright.record.posterior import KEYS, Z95, P, Posterior

_Array = NDArray[np.float64]

# names of what a product file holds, in the order of the unknowns: the rate in place of the early
# time, the heat per epoxide in place of the heat per mass
RATE, HEAT = "k2_25C_per_s", "heat_per_epoxide_J_mol"
CUP_WEIGHT = 1.7
KEEP = 0.02  # weight that keeps each range near its own width [-]
HARD = {  # what the catalogue would refuse beyond [unit of the property]
    "gel_conversion": (0.45, 0.75),
    "tack_conversion": (0.3, 0.97),
    "recoat_open_conversion": (0.3, 0.9),
    "recoat_close_conversion": (0.35, 0.99),
    "tg_bend": (0.15, 1.0),
}


@dataclass(frozen=True)
class Learned:
    """One property as learned: middle, 5 and 95 % points [unit of its key]."""

    key: str
    value: float
    low: float
    high: float
    log: bool


def figures_of_a_plan() -> list[SheetLine]:
    """The figures [SI] whose spread the written ranges must keep: what a plan reads off a resin."""
    out: list[SheetLine] = []
    for degc in (12.0, 19.0, 26.0, 33.0):
        k = degc + 273.15
        out += [
            SheetLine("cup_gel", 3600.0, k, 0.5),
            SheetLine("film_gel", 4 * 3600.0, k),
            SheetLine("tack_free", 5 * 3600.0, k),
            SheetLine("recoat_close", 9 * 3600.0, k),
        ]
    out += [SheetLine("viscosity", 1.0, 291.15), SheetLine("viscosity", 0.7, 299.15)]
    return out


def learned_properties(post: Posterior, material: Material) -> list[Learned]:
    """The properties of a product file for this shop's next lot; those nothing was learned of are
    left to the catalogue.

    Parameters
    ----------
    post : Posterior [-]
        From `posterior.learn`, of one shop.
    material : Material [-]
        What it was learned from; gives the heat per epoxide that goes with the heat per mass.

    Returns
    -------
    list of Learned [unit of each key]
    """
    mean, cov = post.next_lot()
    theta, logs = _to_file(post.prior, mean, material)
    sd = np.sqrt(_independent(post.prior, mean, cov, theta, material))
    before = np.sqrt(np.diag(post.next_lot_prior()))
    out = []
    for i, key in enumerate(_keys()):
        moved = abs(mean[i]) > 0.05 * before[i]
        if not moved and sd[i] > 0.95 * before[i] * post.prior.sd[i] and key != RATE:
            continue
        low, high = theta[i] - Z95 * sd[i], theta[i] + Z95 * sd[i]
        mid = theta[i]
        if logs[i]:
            low, mid, high = math.exp(low), math.exp(mid), math.exp(high)
        if key in HARD:
            low, mid, high = (float(np.clip(v, *HARD[key])) for v in (low, mid, high))
        out.append(Learned(key, float(mid), float(low), float(high), bool(logs[i])))
    return out


def _keys() -> list[str]:
    named = {"early": RATE, "heat": HEAT}
    return [named.get(n) or KEYS[n] for n in NAMES]


def _to_file(prior: Prior, u: _Array, material: Material) -> tuple[_Array, list[bool]]:
    """Unknowns as the file has them: (logarithms of) properties, and which are logarithms."""
    x = prior.mean + prior.sd * u
    theta = x.copy()
    i, j = NAMES.index("early"), NAMES.index("ratio")
    ratio = math.exp(x[j])
    theta[i] = math.log(float(time_horie(EARLY, ratio, 1.0))) - x[i]
    h = NAMES.index("heat")
    # heat per mass is proportional to heat per epoxide at given equivalent weights
    theta[h] = x[h] + math.log(
        material.prop(HEAT).value / float(prior.base.heat[0]) if HEAT in material else 1.0
    )
    return theta, [PRIORS[k][1] for k in range(P)]


def _from_file(prior: Prior, theta: _Array, material: Material) -> _Array:
    """The inverse of `_to_file`, rows of shape (n, p) to standardised unknowns."""
    x = np.array(theta, dtype=float, ndmin=2)
    i, j, h = NAMES.index("early"), NAMES.index("ratio"), NAMES.index("heat")
    ratio = np.exp(x[:, j])
    x[:, i] = np.log(np.asarray(time_horie(EARLY, ratio, np.ones_like(ratio)))) - x[:, i]
    if HEAT in material:
        x[:, h] -= math.log(material.prop(HEAT).value / float(prior.base.heat[0]))
    return np.asarray((x - prior.mean) / prior.sd)


def _independent(
    prior: Prior, mean: _Array, cov: _Array, theta: _Array, material: Material
) -> _Array:
    """Variances of independent properties that keep the figures' spread, shape (p,)."""
    from scipy.optimize import lsq_linear

    lines = figures_of_a_plan()
    steps = np.where([PRIORS[k][1] for k in range(P)], 0.02, 0.02 * prior.sd)
    shift = np.vstack([np.diag(steps), -np.diag(steps)])
    by_file = predict(prior.resin(_from_file(prior, theta + shift, material)), lines)
    u_shift = np.vstack([STEP * np.eye(P), -STEP * np.eye(P)])
    by_u = predict(prior.resin(mean + u_shift), lines)
    log = np.array([is_log(x) for x in lines])

    def scale(x: _Array) -> _Array:
        return np.where(log, np.log(np.maximum(x, 1e-12)), x)

    g = ((scale(by_file[:P]) - scale(by_file[P:])) / (2 * steps[:, None])).T
    ju = ((scale(by_u[:P]) - scale(by_u[P:])) / (2 * STEP)).T
    wanted = np.einsum("tp,pq,tq->t", ju, cov, ju)
    # variances of the file's properties taken one by one: none is written wider than it is known
    t_u = np.linalg.inv((_from_file(prior, theta + np.diag(steps), material) - mean).T / steps)
    alone = np.einsum("pi,ij,pj->p", t_u, cov, t_u)
    share = (g**2) * alone / np.maximum(wanted[:, None], 1e-12)
    # near to its own width, unless the figures ask for less; evenly, not by a few alone
    keep = np.sqrt(KEEP) * np.eye(P)
    # one cup stands beside three stages of a film at each temperature
    weight = np.array([CUP_WEIGHT if x.kind == "cup_gel" else 1.0 for x in lines])
    found = lsq_linear(
        np.vstack([share * weight[:, None], keep]),
        np.concatenate([weight, np.diag(keep)]),
        bounds=(0.02, 1.0),
        method="bvls",
    ).x
    # films in ordinary rooms keep their whole spread: the rate carries what is missing there
    rooms = [
        k for k, x in enumerate(lines) if x.kind not in ("cup_gel", "viscosity")
        and 285.0 < x.temperature_K < 303.0
    ]  # fmt: skip
    i = NAMES.index("early")
    missing = 1.0 - float((share[rooms] @ found).mean())
    found[i] = np.clip(found[i] + max(missing, 0.0) / float(share[rooms, i].mean()), 0.02, 1.0)
    return np.asarray(found * alone)


def product_table(
    material: Material, learned: list[Learned], facts: dict[str, Any], note: str
) -> dict[str, Any]:
    """One ``[[material]]`` table for a product file.

    Parameters
    ----------
    material : Material [-]
        What it overrides: the same id, so that jobs need not change.
    learned : list of Learned [unit of each key]
        The properties.
    facts : dict [-]
        Kept under ``facts.learned``: jobs, evidence, when.
    note : str [-]
        A sentence for people.

    Returns
    -------
    dict [-]
        Plain data for a TOML file.
    """
    source = f"learned from this shop's records: {facts.get('evidence', '')}"
    properties: dict[str, Any] = {}
    for x in learned:
        if x.key not in material.properties:
            continue
        entry: dict[str, Any] = {
            "value": _short(x.value), "low": _short(min(x.low, x.value)),
            "high": _short(max(x.high, x.value)), "mark": "computed", "source": source,
        }  # fmt: skip
        if x.log:
            entry["log"] = True
        properties[x.key] = entry
    return {
        "id": material.id,
        "notes": [note],
        "facts": {"learned": facts},
        "properties": properties,
    }


def _short(x: float) -> float:
    return float(f"{x:.5g}")
