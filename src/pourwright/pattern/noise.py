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


@nb.njit(cache=True, inline="always")
def _corners(ix, iy, key, slot, spots, slopes):
    """Fill a slot's slopes at a lattice cell's corners, two noises each, unless they are there."""
    if spots[slot, 0] != ix or spots[slot, 1] != iy or spots[slot, 2] != key:
        spots[slot, 0] = ix
        spots[slot, 1] = iy
        spots[slot, 2] = key
        low = np.uint64(0xFFFF)
        for c in range(4):
            bits = _hash(ix + (c & 1), iy + (c >> 1), key)
            for q in range(4):
                slopes[slot, 4 * q + c] = np.float64((bits >> np.uint64(16 * q)) & low) - 32767.5


@nb.njit(cache=True)
def lattice_memory(slots):
    """Memory for noises asked at places next to each other.

    Parameters
    ----------
    slots : int [-]
        How many lattice cells are kept.

    Returns
    -------
    tuple of arrays [-]
        Which cells (slots, 3) and their slopes (slots, 16), for `near_noise` and `add_noises`.
    """
    spots = np.full((slots, 3), np.int64(-(2**62)))
    return spots, np.zeros((slots, 16))


@nb.njit(cache=True, fastmath={"contract"})
def near_noise(x, y, key, slot, spots, slopes):
    """`noise`, quicker where the place before lay in the same lattice cell.

    Parameters
    ----------
    x, y : float [-]
        Place, in wavelengths.
    key : int [-]
        Which noise.
    slot : int [-]
        Where its lattice cell is kept.
    spots, slopes : array [-]
        From `lattice_memory`.

    Returns
    -------
    float [-]
        As `noise`.
    """
    fx = math.floor(x)
    fy = math.floor(y)
    dx = x - fx
    dy = y - fy
    u = dx * dx * dx * (dx * (dx * 6.0 - 15.0) + 10.0)
    v = dy * dy * dy * (dy * (dy * 6.0 - 15.0) + 10.0)
    s = slot
    _corners(np.int64(fx), np.int64(fy), key, s, spots, slopes)
    a = slopes[s, 0] * dx + slopes[s, 4] * dy
    b = slopes[s, 1] * (dx - 1.0) + slopes[s, 5] * dy
    c = slopes[s, 2] * dx + slopes[s, 6] * (dy - 1.0)
    d = slopes[s, 3] * (dx - 1.0) + slopes[s, 7] * (dy - 1.0)
    lo = a + u * (b - a)
    hi = c + u * (d - c)
    return _UNIT * (lo + v * (hi - lo))


@nb.njit(cache=True, fastmath={"contract"})
def add_noises(x, y, key, strength, m, out, slot, spots, slopes):
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
    slot : int [-]
        First of the (m + 1) // 2 slots where their lattice cells are kept.
    spots, slopes : array [-]
        From `lattice_memory`.
    """
    fx = math.floor(x)
    fy = math.floor(y)
    dx = x - fx
    dy = y - fy
    u = dx * dx * dx * (dx * (dx * 6.0 - 15.0) + 10.0)
    v = dy * dy * dy * (dy * (dy * 6.0 - 15.0) + 10.0)
    strength *= _UNIT
    ex = dx - 1.0
    ey = dy - 1.0
    w3 = strength * u * v
    w1 = strength * u - w3
    w2 = strength * v - w3
    w0 = strength - w1 - w2 - w3
    a0, a1, a2, a3 = w0 * dx, w1 * ex, w2 * dx, w3 * ex
    b0, b1, b2, b3 = w0 * dy, w1 * dy, w2 * ey, w3 * ey
    for h in range((m + 1) // 2):
        s = slot + h
        _corners(np.int64(fx), np.int64(fy), key + 202 * h, s, spots, slopes)
        one = (a0 * slopes[s, 0] + a1 * slopes[s, 1]) + (a2 * slopes[s, 2] + a3 * slopes[s, 3])
        one += (b0 * slopes[s, 4] + b1 * slopes[s, 5]) + (b2 * slopes[s, 6] + b3 * slopes[s, 7])
        out[2 * h] += one
        if 2 * h + 1 < m:
            one = a0 * slopes[s, 8] + a1 * slopes[s, 9] + a2 * slopes[s, 10] + a3 * slopes[s, 11]
            one += b0 * slopes[s, 12] + b1 * slopes[s, 13] + b2 * slopes[s, 14] + b3 * slopes[s, 15]
            out[2 * h + 1] += one


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


@nb.njit(cache=True)
def near_sum(x, y, key, octaves, gain, slot, spots, slopes):
    """`noise_sum`, quicker where the place before lay in the same lattice cells.

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
    slot : int [-]
        First of as many slots as octaves.
    spots, slopes : array [-]
        From `lattice_memory`.

    Returns
    -------
    float [-]
        The sum.
    """
    total = 0.0
    amp = 1.0
    f = 1.0
    for o in range(octaves):
        at_x, at_y = x * f + 17.3 * o, y * f - 9.1 * o
        total += amp * near_noise(at_x, at_y, key + 7919 * o, slot + o, spots, slopes)
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
