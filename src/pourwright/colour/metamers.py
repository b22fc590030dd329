"""Surfaces that share one colour: how far a recipe may part from a target known by Lab alone."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.bands import read_table
from pourwright.colour.colorimetry import lab_to_xyz, to_lab, to_xyz, weights, xyz_to_lab
from pourwright.colour.difference import delta_e_2000

Floats = NDArray[np.float64]
COUNT = 200
LEAST = 50
"""Fewest surfaces of a colour from which a spread is given [-]."""
_ROUNDS, _STEP, _CLOSE = 40, 1.5, 1e-5


@cache
def _surfaces() -> tuple[Floats, Floats]:
    """Mean, shape (31,), and scaled principal parts, shape (31, p), of log(R/(1-R)) [-]."""
    table = read_table("surfaces")
    parts = [v for k, v in table.items() if k.startswith("part")]
    return table["mean"], np.stack(parts, axis=1)


def metamers(
    lab: ArrayLike, light: str = "D65", observer: str = "10", count: int = COUNT, seed: int = 7
) -> Floats:
    """Reflectances that all have one colour and vary as paint films do.

    Parameters
    ----------
    lab : array_like [-]
        L*, a*, b*, shape (3,).
    light, observer : str [-]
        For which it is meant.
    count, seed : int [-]
        How many are drawn; same seed, same surfaces.

    Returns
    -------
    ndarray [-]
        Shape (n, 31), within 0 to 1; n is below `count` where a draw cannot be given the colour,
        and 0 for a colour that no surface has.

    Notes
    -----
    log(R/(1-R)) is drawn from the mean and covariance of 71 open paint films (Geldof et al. 2018,
    `docs/derive/colour_surfaces.py`); each draw is then moved to the nearest point, in the metric
    of that covariance, at which X, Y, Z are the target's (Gauss-Newton with multipliers). That
    conditions a Gaussian on a curved condition only nearly; how well it serves is in
    docs/colour.md.
    """
    goal = lab_to_xyz(np.asarray(lab, dtype=float), light, observer)
    w = weights(light, observer)
    mean, parts = _surfaces()
    drawn = np.random.default_rng(seed).standard_normal((count, parts.shape[1]))
    u = drawn.copy()
    for _ in range(_ROUNDS):
        r = _reflectance(mean + u @ parts.T)
        slope = (r * (1.0 - r))[:, None, :] * w.T[None] @ parts
        gap = goal - r @ w + np.einsum("nij,nj->ni", slope, u - drawn)
        square = slope @ np.swapaxes(slope, 1, 2) + 1e-12 * np.eye(3)
        pull = np.linalg.solve(square, gap[..., None])[..., 0]
        move = drawn + np.einsum("nij,ni->nj", slope, pull) - u
        far = np.abs(move).max(axis=1, keepdims=True)
        u = u + move * np.minimum(1.0, _STEP / np.maximum(far, 1e-12))
        if float(far.max()) < 1e-7:
            break
    r = _reflectance(mean + u @ parts.T)
    return r[np.abs(r @ w - goal).max(axis=1) < _CLOSE]


def _reflectance(logit: Floats) -> Floats:
    return 1.0 / (1.0 + np.exp(-np.clip(logit, -30.0, 30.0)))


def metamerism_spread(
    lab: ArrayLike,
    reflectance: ArrayLike,
    light: str = "D65",
    others: Sequence[str] = ("A", "LED-B3"),
    observer: str = "10",
) -> dict[str, tuple[float, float, float]]:
    """How far a recipe may part from a target of which only the colour is known.

    Parameters
    ----------
    lab : array_like [-]
        The target's L*, a*, b*, shape (3,).
    reflectance : array_like [-]
        The recipe's, shape (31,).
    light : str [-]
        The light for which the colour is meant.
    others : sequence of str [-]
        The test lights.
    observer : str [-]
        "2" or "10".

    Returns
    -------
    dict of str to tuple of float [-]
        For each test light the 5, 50 and 95 % points of the special metamerism index (CIE 15,
        multiplicative) between the recipe and the surfaces of `metamers`; empty where fewer than
        `LEAST` surfaces have the colour.
    """
    held = metamers(lab, light, observer)
    if len(held) < LEAST:
        return {}
    r = np.asarray(reflectance, dtype=float)
    ratio = to_xyz(held, light, observer) / np.maximum(to_xyz(r, light, observer), 1e-9)
    found = {}
    for other in others:
        fixed = xyz_to_lab(to_xyz(r, other, observer) * ratio, other, observer)
        parted = delta_e_2000(to_lab(held, other, observer), fixed)
        low, mid, high = np.quantile(parted, (0.05, 0.5, 0.95))
        found[other] = (float(low), float(mid), float(high))
    return found
