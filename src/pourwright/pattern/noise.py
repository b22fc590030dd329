"""Seeded smooth noise in the plane (numba): the same seed gives the same field anywhere."""

from __future__ import annotations

import hashlib

import numba as nb
import numpy as np


def stream(seed: int, name: str) -> np.random.Generator:
    """A random generator of its own.

    Parameters
    ----------
    seed : int [-]
        Seed.
    name : str [-]
        Stable name of the stream.

    Returns
    -------
    Generator [-]
        Same seed and name, same numbers.
    """
    digest = hashlib.sha256(f"{seed}:{name}".encode()).digest()
    return np.random.default_rng(np.frombuffer(digest, dtype=np.uint32))


def stream_key(seed: int, name: str) -> int:
    """A key for the noise functions.

    Parameters
    ----------
    seed : int [-]
        Seed.
    name : str [-]
        Stable name of the stream.

    Returns
    -------
    int [-]
        0 to 2^31 - 1.
    """
    digest = hashlib.sha256(f"{seed}:{name}".encode()).digest()
    return int.from_bytes(digest[:4], "little") & 0x7FFFFFFF


@nb.njit(cache=True)
def _gradient(ix, iy, key, dx, dy):
    low = np.uint64(0xFFFFFFFF)
    a = (np.uint64(ix) * np.uint64(0x9E3779B1)) & low
    a ^= (np.uint64(iy) * np.uint64(0x85EBCA77)) & low
    a ^= (np.uint64(key) * np.uint64(0xC2B2AE3D)) & low
    a ^= a >> np.uint64(15)
    a = (a * np.uint64(0x2C1B3C6D)) & low
    a ^= a >> np.uint64(12)
    a = (a * np.uint64(0x297A2D39)) & low
    a ^= a >> np.uint64(15)
    gx = np.float64(a & np.uint64(0xFFFF)) / 32767.5 - 1.0
    gy = np.float64(a >> np.uint64(16)) / 32767.5 - 1.0
    return gx * dx + gy * dy


@nb.njit(cache=True)
def noise(x, y, key):
    """Gradient noise of unit wavelength.

    Parameters
    ----------
    x, y : float [-]
        Place, in wavelengths.
    key : int [-]
        Which noise.

    Returns
    -------
    float [-]
        About -1 to 1, mean 0, standard deviation 0.28.
    """
    fx = np.floor(x)
    fy = np.floor(y)
    ix = np.int64(fx)
    iy = np.int64(fy)
    dx = x - fx
    dy = y - fy
    u = dx * dx * dx * (dx * (dx * 6.0 - 15.0) + 10.0)
    v = dy * dy * dy * (dy * (dy * 6.0 - 15.0) + 10.0)
    a = _gradient(ix, iy, key, dx, dy)
    b = _gradient(ix + 1, iy, key, dx - 1.0, dy)
    c = _gradient(ix, iy + 1, key, dx, dy - 1.0)
    d = _gradient(ix + 1, iy + 1, key, dx - 1.0, dy - 1.0)
    lo = a + u * (b - a)
    hi = c + u * (d - c)
    return 1.6 * (lo + v * (hi - lo))


@nb.njit(cache=True)
def noise_sum(x, y, key, octaves, gain):
    """A sum of noises, each twice as fine as the one before.

    Parameters
    ----------
    x, y : float [-]
        Place, in wavelengths of the first.
    key : int [-]
        Which noise.
    octaves : int [-]
        How many.
    gain : float [-]
        Strength of each against the one before.

    Returns
    -------
    float [-]
        The sum.
    """
    total = 0.0
    amp = 1.0
    f = 1.0
    for o in range(octaves):
        total += amp * noise(x * f + 17.3 * o, y * f - 9.1 * o, key + 7919 * o)
        amp *= gain
        f *= 2.0
    return total


@nb.njit(cache=True, nogil=True)
def noise_field(xs, ys, key, octaves, gain):
    """`noise_sum` at many places.

    Parameters
    ----------
    xs, ys : array [-]
        Places, (n,).
    key : int [-]
        Which noise.
    octaves : int [-]
        How many.
    gain : float [-]
        Strength of each against the one before.

    Returns
    -------
    array [-]
        (n,).
    """
    out = np.empty(xs.size)
    for i in range(xs.size):
        out[i] = noise_sum(xs[i], ys[i], key, octaves, gain)
    return out
