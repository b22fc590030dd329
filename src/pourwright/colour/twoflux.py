"""Tables that make two-flux theory agree with the N-stream engine.

For a film with absorption depth K X and scattering depth S X the engine gives the reflectance
over black and over white. The two-flux film that gives the same two, through the same Saunderson
surface, has other depths; this table holds them. In a stack the depths are added up from the
surface downwards and each coat gets what it adds to the table's value: its absorption at the
scattering of all down to its own, its scattering at their absorption. One coat over black or white
comes out exact; elsewhere it is close, and tests/colour/test_render.py holds how close.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.fresnel import N_RESIN, saunderson_inverse
from pourwright.colour.km import km_from_two_backgrounds
from pourwright.colour.nstream import G_DEFAULT, coat_operators, streams, view

K_TOP, S_TOP = 12.0, 60.0
NODES_K, NODES_S = 72, 72


@lru_cache(maxsize=8)
def equivalent_depths(n: float = N_RESIN) -> NDArray[np.float32]:
    """Equivalent two-flux depths on a grid of true depths.

    Parameters
    ----------
    n : float [-]
        Refractive index of the film.

    Returns
    -------
    ndarray [-]
        Shape (NODES_K, NODES_S, 2): equivalent K X and S X at K X = K_TOP (i/(NODES_K-1))^2 and
        S X = S_TOP (j/(NODES_S-1))^2. About 0.2 s the first time for an index.
    """
    st = streams(n, 4)
    kx = K_TOP * (np.arange(NODES_K) / (NODES_K - 1)) ** 2
    sx = S_TOP * (np.arange(NODES_S) / (NODES_S - 1)) ** 2
    kk, ss = (v.ravel() for v in np.meshgrid(kx, sx, indexing="ij"))
    rc, tc = coat_operators(kk / 2, ss * (4 / 3) / (1 - G_DEFAULT), 1.0, st, G_DEFAULT)
    white = np.outer(st.scale, st.scale) / np.sum(st.scale**2)
    eye = np.eye(st.mu.size)
    seen = []
    for rho in (0.0, 0.9):
        b = rho * white
        seen.append(
            saunderson_inverse(view(rc + tc @ np.linalg.solve(eye - b @ rc, b @ tc), st), n)
        )
    ke, se = km_from_two_backgrounds(seen[0], np.maximum(seen[1], seen[0]), 0.0, 0.9)
    grid = np.stack([ke, se], axis=-1).reshape(NODES_K, NODES_S, 2)
    # where the film hides completely only K/S is known: keep depths from falling back
    grid[..., 0] = np.maximum.accumulate(np.maximum(grid[..., 0], 0.0), axis=0)
    grid[..., 1] = np.maximum.accumulate(np.maximum(grid[..., 1], 0.0), axis=1)
    return np.ascontiguousarray(grid, dtype=np.float32)


def film_twin(
    kx: NDArray[np.float64],
    sx: NDArray[np.float64],
    background: NDArray[np.float64],
    n: float = N_RESIN,
) -> NDArray[np.float64]:
    """Reflectance in air of single films by the table: the engine's fast twin.

    Parameters
    ----------
    kx, sx : ndarray [-]
        True absorption and scattering depth, any shape (..., bands).
    background : ndarray [-]
        Diffuse reflectance inside below the film.
    n : float [-]
        Refractive index of the film.

    Returns
    -------
    ndarray [-]
        Specular excluded. Equal to the engine over black and over 0.90 at the table's nodes.
    """
    from pourwright.colour.fresnel import saunderson
    from pourwright.colour.km import km_over

    flat_k, flat_s = _flat(n)
    ku, su = np.minimum(kx, K_TOP), np.minimum(sx, S_TOP)
    u = np.sqrt(ku) * ((NODES_K - 1) / K_TOP**0.5)
    v = np.sqrt(su) * ((NODES_S - 1) / S_TOP**0.5)
    i = np.minimum(u.astype(int), NODES_K - 2)
    j = np.minimum(v.astype(int), NODES_S - 2)
    u -= i
    v -= j
    at = i * NODES_S + j
    depth = []
    for flat in (flat_k, flat_s):
        low = flat[at]
        low += v * (flat[at + 1] - low)
        high = flat[at + NODES_S]
        high += v * (flat[at + NODES_S + 1] - high)
        low += u * (high - low)
        depth.append(low)
    ke, se = depth[0] + (kx - ku), depth[1] + (sx - su)
    return saunderson(km_over(ke, se, 1.0, background), n)


@lru_cache(maxsize=8)
def _flat(n: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    table = equivalent_depths(n).astype(float)
    return table[..., 0].ravel(), table[..., 1].ravel()
