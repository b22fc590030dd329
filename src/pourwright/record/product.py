"""What was learned, written as a product file that overrides the catalogue.

The posterior's unknowns are correlated (fast with a small ratio looks like slow with a large one).
The file holds each property's own range and, beside them, the correlation; a plan draws them
jointly (`cure.joint`), so that its times are as uncertain as the posterior says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Draws
from pourwright.catalogue import Material
from pourwright.cure.kinetics import time_horie
from pourwright.cure.prior import EARLY, NAMES, PRIORS, Prior
from pourwright.record.posterior import KEYS, Z95, P, Posterior

_Array = NDArray[np.float64]

# names of what a product file holds, in the order of the unknowns: the rate in place of the early
# time, the heat per epoxide in place of the heat per mass
RATE, HEAT = "k2_25C_per_s", "heat_per_epoxide_J_mol"
SAMPLES = 2000
GOES_WITH = 0.02  # correlation under which two properties count as unrelated [-]
HARD = {  # what the catalogue would refuse beyond [unit of the property]
    "gel_conversion": (0.45, 0.75),
    "tack_conversion": (0.3, 0.97),
    "recoat_open_conversion": (0.3, 0.9),
    "recoat_close_conversion": (0.35, 0.99),
    "tg_bend": (0.15, 1.0),
}


@dataclass(frozen=True)
class Learned:
    """One property as learned: middle, 5 and 95 % points [unit of its key].

    `with_others` [-] is its correlation with all unknowns, in the order of `cure.prior.NAMES`.
    """

    key: str
    value: float
    low: float
    high: float
    log: bool
    with_others: tuple[float, ...] = ()


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
    spread = _file_covariance(post.prior, mean, cov, material)
    sd = np.sqrt(np.diag(spread))
    together = spread / np.outer(sd, sd)
    before = np.sqrt(np.diag(post.next_lot_prior()))
    out = []
    for i, key in enumerate(_keys()):
        moved = abs(mean[i]) > 0.05 * before[i] or sd[i] < 0.95 * before[i] * post.prior.sd[i]
        related = np.abs(np.delete(together[i], i)).max() > GOES_WITH
        if not moved and not related and key != RATE:
            continue
        low, high = theta[i] - Z95 * sd[i], theta[i] + Z95 * sd[i]
        mid = theta[i]
        if logs[i]:
            low, mid, high = math.exp(low), math.exp(mid), math.exp(high)
        if key in HARD:
            low, mid, high = (float(np.clip(v, *HARD[key])) for v in (low, mid, high))
        row = tuple(float(x) for x in together[i])
        out.append(Learned(key, float(mid), float(low), float(high), bool(logs[i]), row))
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


def _file_covariance(prior: Prior, mean: _Array, cov: _Array, material: Material) -> _Array:
    """Covariance (p, p) of the file's properties (of their logarithms), by sampling: the rate bends
    with the ratio."""
    draws = Draws(1, SAMPLES)
    z = np.stack([draws.normal(f"record.file.{n}") for n in NAMES], axis=1)
    u = mean + z @ np.linalg.cholesky(cov + 1e-12 * np.eye(P)).T
    return np.cov(np.stack([_to_file(prior, row, material)[0] for row in u]), rowvar=False)


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
    written = [x for x in learned if x.key in material.properties]
    for x in written:
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
        "facts": {"learned": {**facts, **_joint(written)}},
        "properties": properties,
    }


def _joint(learned: list[Learned]) -> dict[str, Any]:
    """The correlation of the properties, for ``facts.learned``: nothing when there is none."""
    if len(learned) < 2 or not all(x.with_others for x in learned):
        return {}
    at = {key: i for i, key in enumerate(_keys())}
    lower = [
        round(max(-0.9999, min(0.9999, x.with_others[at[y.key]])), 4)
        for k, x in enumerate(learned)
        for y in learned[:k]
    ]
    return {"joint": {"keys": [x.key for x in learned], "lower": lower}}


def _short(x: float) -> float:
    return float(f"{x:.5g}")
