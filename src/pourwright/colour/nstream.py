"""N-stream radiative transfer in coats: the engine every reported number comes from.

Light inside the film is followed along a handful of directions each way. A homogeneous coat is
solved exactly for those directions (two real symmetric matrix functions per band, one for even
and one for odd lighting), coats are added by the rule of adding, the undercoat is a diffuser and
the surface reflects after Fresnel. In the basis scaled by sqrt(2 mu w) every operator is
symmetric, which is reciprocity, and a coat without absorption returns all light.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial.legendre import legval
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.fresnel import N_RESIN, check_index, fresnel, surface_terms
from pourwright.errors import InputError

Floats = NDArray[np.float64]

G_DEFAULT = 0.6
"""Mean cosine of scattering of pigments in resin [-]; only the reduced scattering matters much."""

_PROBE = 1e-9  # weight of the extra direction that only looks (refracted 45 degrees)
_FLOOR = 1e-14  # optical depth below which a coat is clear


@dataclass(frozen=True)
class Streams:
    """Directions of the model: cosines mu, weights w, scaling, Fresnel reflectance [-]."""

    mu: Floats
    w: Floats
    scale: Floats
    surface: Floats
    normal: int
    oblique: int
    n: float


def _gauss(m: int, a: float, b: float) -> tuple[Floats, Floats]:
    x, w = np.polynomial.legendre.leggauss(m)
    return a + (b - a) * (x + 1) / 2, w * (b - a) / 2


def _radau(m: int, a: float, b: float) -> tuple[Floats, Floats]:
    """Gauss-Radau nodes on (a, b] that include b."""
    # interior nodes: roots of (P_{m-1} + P_m)/(1+x) mirrored to include +1
    c = np.zeros(m + 1)
    c[m - 1], c[m] = 1.0, 1.0
    roots = np.sort(np.polynomial.legendre.legroots(c).real)
    x = -roots[::-1]
    x[-1] = 1.0
    p = legval(-x, np.eye(m)[m - 1])
    w = (1 + x) / (m * p) ** 2
    w[-1] = 2.0 / m**2
    return a + (b - a) * (x + 1) / 2, w * (b - a) / 2


@lru_cache(maxsize=32)
def streams(n: float = N_RESIN, half: int = 4) -> Streams:
    """Directions for a film of index `n`.

    Parameters
    ----------
    n : float [-]
        Refractive index of the film over the outside; 1 means no surface.
    half : int [-]
        Directions beyond and within the critical angle, each way; 2 to 16. 4 is the default of
        the engine, 8 its check.

    Returns
    -------
    Streams [-]
        Gauss nodes on (0, mu_c), Radau nodes on (mu_c, 1] with mu = 1 among them, and one
        direction of vanishing weight at the refracted 45 degrees for 45/0 viewing.
    """
    n = check_index(n)
    if not 2 <= half <= 16:
        raise InputError("half", half, "2 to 16 directions", "Use 4.")
    if n > 1.0:
        mu_c = float(np.sqrt(1 - 1 / n**2))
        m1, w1 = _gauss(half, 0.0, mu_c)
        m2, w2 = _radau(half, mu_c, 1.0)
        mu, w = np.concatenate([m1, m2]), np.concatenate([w1, w2])
    else:
        mu, w = _radau(2 * half, 0.0, 1.0)
    probe = float(np.sqrt(1 - 0.5 / n**2))
    mu, w = np.append(mu, probe), np.append(w, _PROBE)
    scale = np.sqrt(2 * mu * w)
    if n > 1.0:
        # few nodes integrate the steep Fresnel curve near mu_c poorly: scale what they let
        # through so that diffuse light meets exactly the surface it should
        through = 1 - fresnel(mu, 1 / n)
        inner = slice(half, 2 * half - 1)
        flux = scale**2
        wanted = 1 - surface_terms(n)[2] - flux[2 * half - 1] * through[2 * half - 1]
        through[inner] *= wanted / np.sum(flux[inner] * through[inner])
        surface = 1 - through
    else:
        surface = np.zeros_like(mu)
    return Streams(mu, w, scale, surface, 2 * half - 1, 2 * half, n)


@lru_cache(maxsize=64)
def _phase(n: float, half: int, g: float) -> tuple[Floats, Floats, float]:
    """sqrt(w w') p++ and p+- of Henyey-Greenstein after delta-M, and the cut-off fraction."""
    st = streams(n, half)
    terms = 2 * half
    f = g**terms
    chi = (g ** np.arange(terms) - f) / (1 - f)
    p = np.array([legval(st.mu, np.eye(terms)[i]) for i in range(terms)])
    coef = (2 * np.arange(terms) + 1) * chi
    forward = np.einsum("l,li,lj->ij", coef, p, p)
    back = np.einsum("l,li,lj->ij", coef * (-1.0) ** np.arange(terms), p, p)
    # symmetric renormalisation so that a grain without absorption loses no light
    d = np.ones_like(st.mu)
    for _ in range(60):
        d /= np.sqrt(0.5 * d * ((forward + back) @ (st.w * d)))
    rw = np.sqrt(st.w) * d
    return forward * np.outer(rw, rw), back * np.outer(rw, rw), f


def coat_operators(
    mu_a: ArrayLike, mu_s: ArrayLike, x: ArrayLike, st: Streams, g: float = G_DEFAULT
) -> tuple[Floats, Floats]:
    """Reflection and transmission operators of homogeneous coats.

    Parameters
    ----------
    mu_a, mu_s : array_like [1/m]
        Absorption and scattering coefficient, any equal shape.
    x : array_like [m]
        Thickness, broadcast against them.
    st : Streams [-]
        Directions, from `streams`.
    g : float [-]
        Mean cosine of scattering, Henyey-Greenstein, -0.9 to 0.95.

    Returns
    -------
    tuple of 2 ndarrays [-]
        Shape (..., directions, directions), in the flux-scaled symmetric basis. Source: discrete
        ordinates (Chandrasekhar 1960) with delta-M scaling (Wiscombe 1977), solved by even and
        odd modes.
    """
    a, s, x = np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in (mu_a, mu_s, x)))
    half = (st.mu.size - 1) // 2
    pf, pb, f = _phase(st.n, half, round(float(g), 6))
    depth_a, depth_s = a * x, s * x * (1 - f)
    depth_a = np.where(depth_a + depth_s < _FLOOR, _FLOOR, depth_a)
    ext = (depth_a + depth_s)[..., None, None]
    sca = depth_s[..., None, None]
    im = 1 / np.sqrt(st.mu)
    eye = np.eye(st.mu.size)
    mm = np.outer(im, im)
    odd = (ext * eye - 0.5 * sca * (pf - pb)) * mm  # acts on the net stream
    even = (ext * eye - 0.5 * sca * (pf + pb)) * mm  # acts on the total stream
    low = np.linalg.cholesky(odd)
    low_t = np.swapaxes(low, -1, -2)
    lam2, v = np.linalg.eigh(low_t @ even @ low)
    lam = np.sqrt(np.maximum(lam2, 0.0))
    th = np.tanh(0.5 * lam)
    e = low @ v
    gm = np.linalg.inv(np.swapaxes(e, -1, -2))
    thick = np.where(lam > 1e-8, th / np.maximum(lam, 1e-300), 0.5)
    z_even = (gm * (lam * th)[..., None, :]) @ np.swapaxes(gm, -1, -2)
    z_odd = (e * thick[..., None, :]) @ np.swapaxes(e, -1, -2)
    inv_even = np.linalg.inv(eye + z_even)
    inv_odd = np.linalg.inv(eye + z_odd)
    # R+T = 2/(1+Zeven) - 1 ; R-T = 1 - 2/(1+Zodd)
    return inv_even - inv_odd, inv_even + inv_odd - eye


def stack_operator(
    mu_a: ArrayLike,
    mu_s: ArrayLike,
    x: ArrayLike,
    background: ArrayLike,
    st: Streams,
    g: float = G_DEFAULT,
) -> Floats:
    """Reflection operator, just below the surface, of coats over a diffuse background.

    Parameters
    ----------
    mu_a, mu_s : array_like [1/m]
        Shape (coats, bands), bottom coat first.
    x : array_like [m]
        Thickness of each coat, shape (coats,).
    background : array_like [-]
        Diffuse reflectance inside the film below the lowest coat, shape (bands,).
    st : Streams [-]
        Directions.
    g : float [-]
        Mean cosine of scattering.

    Returns
    -------
    ndarray [-]
        Shape (bands, directions, directions). Source: adding, van de Hulst 1980.
    """
    rho = np.asarray(background, dtype=float)
    r = rho[..., None, None] * np.outer(st.scale, st.scale) / np.sum(st.scale**2)
    mu_a, mu_s = np.asarray(mu_a, float), np.asarray(mu_s, float)
    if mu_a.shape[0] == 0:
        return r
    depth = np.asarray(x, float)[:, None]
    ops_r, ops_t = coat_operators(mu_a, mu_s, depth, st, g)
    eye = np.eye(st.mu.size)
    for rc, tc in zip(ops_r, ops_t):
        r = rc + tc @ np.linalg.solve(eye - r @ rc, r @ tc)
    return r


def view(r: Floats, st: Streams, geometry: str = "diffuse") -> Floats:
    """Reflectance seen from outside, surface reflection left out.

    Parameters
    ----------
    r : ndarray [-]
        Reflection operator below the surface, shape (..., directions, directions).
    st : Streams [-]
        Directions.
    geometry : str [-]
        ``diffuse``: light at the normal, all returned light (as an instrument with a sphere,
        specular excluded); ``45/0``: light at 45 degrees, seen at the normal.

    Returns
    -------
    ndarray [-]
        Reflectance factor, shape (...).
    """
    eye = np.eye(st.mu.size)
    rs = r * st.surface[None, :]
    if geometry == "diffuse":
        source = np.zeros(st.mu.size)
        j = st.normal
        source[j] = (1 - st.surface[j]) / st.scale[j]
        up = np.linalg.solve(eye - rs, (r @ source)[..., None])[..., 0]
        return up @ ((1 - st.surface) * st.scale)
    if geometry == "45/0":
        j, i = st.oblique, st.normal
        source = np.zeros(st.mu.size)
        source[j] = (1 - st.surface[j]) / st.scale[j]
        up = np.linalg.solve(eye - rs, (r @ source)[..., None])[..., 0]
        # radiance leaving along the normal, per unit flux, times pi (scale^2 = 2 mu w)
        return up[..., i] / st.scale[i] * (1 - st.surface[i]) / st.n**2
    raise InputError("geometry", geometry, "it is 'diffuse' or '45/0'", "Choose one of the two.")
