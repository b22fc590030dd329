"""Seeded smooth noise in the plane (numba): the same seed gives the same field anywhere."""

from __future__ import annotations

import hashlib
import math

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


@nb.njit(cache=True, inline="always")
def _hash(ix, iy, key):
    """64 well-mixed bits for a lattice point."""
    a = np.uint64(ix) * np.uint64(0x9E3779B97F4A7C15)
    a += np.uint64(iy) * np.uint64(0xC2B2AE3D27D4EB4F)
    a += np.uint64(key) * np.uint64(0x165667B19E3779F9)
    a ^= a >> np.uint64(31)
    a *= np.uint64(0xD6E8FEB86659FD93)
    a ^= a >> np.uint64(32)
    a *= np.uint64(0xD6E8FEB86659FD93)
    return a ^ (a >> np.uint64(29))


@nb.njit(cache=True, inline="always")
def _slope(bits, first, dx, dy):
    """Gradient of 16 bits each way, from bit `first` on, times the offset."""
    low = np.uint64(0xFFFF)
    gx = np.float64((bits >> np.uint64(first)) & low) - 32767.5
    gy = np.float64((bits >> np.uint64(first + 16)) & low) - 32767.5
    return gx * dx + gy * dy


_UNIT = 1.6 / 32767.5  # for a standard deviation of 0.28


@nb.njit(cache=True, fastmath={"contract"})
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
    fx = math.floor(x)
    fy = math.floor(y)
    ix = np.int64(fx)
    iy = np.int64(fy)
    dx = x - fx
    dy = y - fy
    u = dx * dx * dx * (dx * (dx * 6.0 - 15.0) + 10.0)
    v = dy * dy * dy * (dy * (dy * 6.0 - 15.0) + 10.0)
    a = _slope(_hash(ix, iy, key), 0, dx, dy)
    b = _slope(_hash(ix + 1, iy, key), 0, dx - 1.0, dy)
    c = _slope(_hash(ix, iy + 1, key), 0, dx, dy - 1.0)
    d = _slope(_hash(ix + 1, iy + 1, key), 0, dx - 1.0, dy - 1.0)
    lo = a + u * (b - a)
    hi = c + u * (d - c)
    return _UNIT * (lo + v * (hi - lo))


@nb.njit(cache=True, fastmath={"contract"})
def add_noises(x, y, key, strength, m, out):
    """Add `m` independent noises of one place and unit wavelength, two from each hash.

    Parameters
    ----------
    x, y : float [-]
        Place, in wavelengths.
    key : int [-]
        Which noises.
    strength : float [-]
        Factor on them.
    m : int [-]
        How many.
    out : array [-]
        Added to, (m,) or longer.
    """
    fx = math.floor(x)
    fy = math.floor(y)
    ix = np.int64(fx)
    iy = np.int64(fy)
    dx = x - fx
    dy = y - fy
    u = dx * dx * dx * (dx * (dx * 6.0 - 15.0) + 10.0)
    v = dy * dy * dy * (dy * (dy * 6.0 - 15.0) + 10.0)
    strength *= _UNIT
    for j in range(0, m, 2):
        h00 = _hash(ix, iy, key + 101 * j)
        h10 = _hash(ix + 1, iy, key + 101 * j)
        h01 = _hash(ix, iy + 1, key + 101 * j)
        h11 = _hash(ix + 1, iy + 1, key + 101 * j)
        for q in range(min(2, m - j)):
            a = _slope(h00, 32 * q, dx, dy)
            b = _slope(h10, 32 * q, dx - 1.0, dy)
            c = _slope(h01, 32 * q, dx, dy - 1.0)
            d = _slope(h11, 32 * q, dx - 1.0, dy - 1.0)
            lo = a + u * (b - a)
            hi = c + u * (d - c)
            out[j + q] += strength * (lo + v * (hi - lo))


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
