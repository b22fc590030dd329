"""Common random numbers: uncertain inputs drawn so that equal seeds give equal answers.

Each uncertain input has its own stream, keyed by seed and name, so adding one input never moves
the draws of another, and two variants of a job differ only by what was changed.
"""

from __future__ import annotations

import hashlib

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.calc.base import Spread

Z95 = 1.6448536269514722  # standard normal 95 % point [-]


class Draws:
    """Stratified draws of uncertain inputs for one seed.

    Parameters
    ----------
    seed : int [-]
        Any integer; same seed, same draws.
    count : int [-]
        Number of samples per input.
    """

    def __init__(self, seed: int, count: int) -> None:
        self.seed = int(seed)
        self.count = int(count)

    def uniform(self, name: str) -> NDArray[np.float64]:
        """Stratified uniform draws in (0, 1) [-] for the input `name`, shape (count,)."""
        digest = hashlib.sha256(f"{self.seed}:{name}".encode()).digest()
        rng = np.random.default_rng(np.frombuffer(digest, dtype=np.uint32))
        jitter = rng.random(self.count)
        return (rng.permutation(self.count) + jitter) / self.count

    def normal(self, name: str) -> NDArray[np.float64]:
        """Stratified standard normal draws [-] for the input `name`, shape (count,)."""
        return _normal_quantile(self.uniform(name))

    def between(
        self, name: str, low: float, value: float, high: float, log: bool = False
    ) -> NDArray[np.float64]:
        """Draws whose 5, 50 and 95 % points are `low`, `value`, `high` [unit of value].

        A split normal; with ``log`` a split lognormal (all three must be above 0).
        Shape (count,).
        """
        z = self.normal(name)
        if log:
            c, a, b = np.log(value), np.log(low), np.log(high)
            return np.exp(c + z * np.where(z < 0, c - a, b - c) / Z95)
        return value + z * np.where(z < 0, value - low, high - value) / Z95


def _normal_quantile(u: NDArray[np.float64]) -> NDArray[np.float64]:
    from scipy.special import ndtri

    return ndtri(np.clip(u, 1e-12, 1 - 1e-12))


def spread_of(values: ArrayLike, weights: ArrayLike | None = None) -> Spread:
    """The 5, 50 and 95 % points of `values` [any unit], with `weights` [-] if given."""
    a = np.asarray(values, dtype=float).ravel()
    if weights is None:
        p = np.quantile(
            a, [0.05, 0.5, 0.95], method="inverted_cdf" if not np.all(np.isfinite(a)) else "linear"
        )
    else:
        order = np.argsort(a)
        w = np.asarray(weights, dtype=float).ravel()[order]
        c = (np.cumsum(w) - 0.5 * w) / w.sum()
        p = np.interp([0.05, 0.5, 0.95], c, a[order])
    return Spread(p05=float(p[0]), p50=float(p[1]), p95=float(p[2]))
