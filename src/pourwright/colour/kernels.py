"""Compiled loops of the picture renderer; imported only when a picture is drawn."""

from __future__ import annotations

import numpy as np
from numba import njit

from pourwright.colour.twoflux import K_TOP, S_TOP

_KT, _ST = np.float32(K_TOP), np.float32(S_TOP)
_ONE, _ZERO, _TWO = np.float32(1.0), np.float32(0.0), np.float32(2.0)
_SMALL = np.float32(1e-12)
_FAR = np.float32(60.0)
_THIN = np.float32(1e-9)  # metres of film that are none; smaller numbers would lose their meaning
_FEW = np.float32(1e-6)
LANES = 32  # the 31 bands and an empty one: an even count vectorises, and falls into pairs


@njit(cache=True, nogil=True, fastmath=True, error_model="numpy", inline="always")
def _exp_neg(x):
    """exp(-x) for x >= 0 to 3e-6, in arithmetic that vectorises."""
    y = min(x, np.float32(40.0)) * np.float32(-1.0 / 64.0)
    p = _ONE + y * (
        _ONE
        + y
        * (
            np.float32(0.5)
            + y * (np.float32(1 / 6) + y * (np.float32(1 / 24) + y * np.float32(1 / 120)))
        )
    )
    p = p * p
    p = p * p
    p = p * p
    p = p * p
    p = p * p
    return p * p


@njit(cache=True, nogil=True, fastmath=True, error_model="numpy", inline="always")
def _cell(u, v, flat, rows, cols):
    """A table at coordinates u, v: bilinear."""
    one = np.int32(1)
    two = np.int32(2)
    i = max(min(np.int32(u), rows - two), np.int32(0))
    m = max(min(np.int32(v), cols - two), np.int32(0))
    u -= np.float32(i)
    v -= np.float32(m)
    at = i * cols + m
    a0 = flat[at] + v * (flat[at + one] - flat[at])
    a1 = flat[at + cols] + v * (flat[at + cols + one] - flat[at + cols])
    return a0 + u * (a1 - a0)


@njit(cache=True, nogil=True, fastmath=True, error_model="numpy")
def layered_xyz(
    thick,
    frac,
    glint,
    first,
    k,
    s,
    area,
    colour,
    through,
    below,
    weight,
    table,
    k1,
    k2,
    veil,
    out,
):
    """X, Y, Z of pixels by two-flux adding from the top down, with equivalent depths.

    Parameters
    ----------
    thick : ndarray [m]
        Thickness, shape (layers, pixels), bottom layer first.
    frac, glint : ndarray [-]
        Shares, shape (shades, pixels), and flake brightness, shape (layers, pixels).
    first : ndarray [-]
        Where each layer's shades begin, shape (layers + 1,).
    k, s : ndarray [1/m]
        Two-flux coefficients, shape (shades, bands).
    area : ndarray [1/m]
        Flake area per volume, shape (shades,).
    colour, through : ndarray [-]
        Flake reflectance and transmittance, shape (shades, bands).
    below : ndarray [-]
        Undercoat inside, shape (bands,).
    weight : ndarray [-]
        Tristimulus weights, shape (bands, 3).
    table : ndarray [-]
        From `twoflux.equivalent_depths`.
    k1, k2, veil : float [-]
        Surface terms and the matte veil.
    out : ndarray [-]
        X, Y, Z, shape (pixels, 3), written.
    """
    layers, count = thick.shape
    nb = k.shape[1]
    rows, cols = np.int32(table.shape[1]), np.int32(table.shape[2])
    flat_k = table[0].reshape(rows * cols)
    flat_s = table[1].reshape(rows * cols)
    row_scale = np.float32(rows - 1) / np.sqrt(_KT)
    col_scale = np.float32(cols - 1) / np.sqrt(_ST)
    kc = np.zeros(nb, np.float32)
    sc = np.zeros(nb, np.float32)
    un = np.zeros(nb, np.float32)
    vn = np.zeros(nb, np.float32)
    uo = np.zeros(nb, np.float32)
    vo = np.zeros(nb, np.float32)
    ko = np.zeros(nb, np.float32)
    so = np.zeros(nb, np.float32)
    dk = np.zeros(nb, np.float32)
    ds = np.zeros(nb, np.float32)
    dke = np.zeros(nb, np.float32)
    dse = np.zeros(nb, np.float32)
    rf = np.zeros(nb, np.float32)
    rb = np.zeros(nb, np.float32)
    tt = np.zeros(nb, np.float32)
    fr = np.zeros(nb, np.float32)
    ft = np.zeros(nb, np.float32)
    for p in range(count):
        for b in range(nb):
            kc[b] = _ZERO
            sc[b] = _ZERO
            un[b] = _ZERO
            vn[b] = _ZERO
            rf[b] = _ZERO
            rb[b] = _ZERO
            tt[b] = _ONE
        light = _ONE
        above = False
        for li in range(layers):
            layer = layers - 1 - li
            x = thick[layer, p]
            if x < _THIN:
                continue
            for b in range(nb):
                dk[b] = _ZERO
                ds[b] = _ZERO
            flakes = _ZERO
            for j in range(first[layer], first[layer + 1]):
                f = frac[j, p] * x
                if f > _ZERO:
                    for b in range(nb):
                        dk[b] += f * k[j, b]
                        ds[b] += f * s[j, b]
                    flakes += f * area[j]
            halves = 1
            at_share = _ONE
            if flakes > _FEW:
                halves = 2
                at_share = np.float32(0.5)
                if flakes > np.float32(0.01):
                    at_share = _ONE / flakes - _ONE / (np.exp(min(flakes, _FAR)) - _ONE)
                for b in range(nb):
                    dk[b] *= at_share
                    ds[b] *= at_share
                    fr[b] = _ZERO
                    ft[b] = _ZERO
                for j in range(first[layer], first[layer + 1]):
                    f = frac[j, p] * x * area[j] / flakes
                    if f > _ZERO:
                        for b in range(nb):
                            fr[b] += f * colour[j, b]
                            ft[b] += f * through[j, b]
                covered = _ONE - np.exp(-flakes)
                shine = glint[layer, p]
                for b in range(nb):
                    fr[b] = min(covered * shine * fr[b], covered)
                    ft[b] = _ONE - covered + covered * ft[b]
            for part in range(halves):
                if part == 1:
                    rest = (_ONE - at_share) / at_share
                    for b in range(nb):
                        dk[b] *= rest
                        ds[b] *= rest
                for b in range(nb):
                    uo[b] = un[b]
                    vo[b] = vn[b]
                    ko[b] = max(kc[b] - _KT, _ZERO)
                    so[b] = max(sc[b] - _ST, _ZERO)
                    kc[b] += dk[b]
                    sc[b] += ds[b]
                    un[b] = np.sqrt(min(kc[b], _KT)) * row_scale
                    vn[b] = np.sqrt(min(sc[b], _ST)) * col_scale
                for b in range(nb):
                    kn = _cell(un[b], vn[b], flat_k, rows, cols) + max(kc[b] - _KT, _ZERO)
                    sn = _cell(un[b], vn[b], flat_s, rows, cols) + max(sc[b] - _ST, _ZERO)
                    if above:
                        # what this layer adds: absorption at the scattering down to it,
                        # scattering at the absorption down to it
                        kn -= _cell(uo[b], vn[b], flat_k, rows, cols) + ko[b]
                        sn -= _cell(un[b], vo[b], flat_s, rows, cols) + so[b]
                    dke[b] = max(kn, _ZERO)
                    dse[b] = max(sn, _ZERO)
                above = True
                for b in range(nb):
                    kx = dke[b]
                    sx = dse[b]
                    al = np.sqrt(kx * (kx + _TWO * sx)) + np.float32(1e-6)
                    q = _exp_neg(al)
                    e = q * q
                    t = (_ONE - e) / ((_ONE + e) * al)
                    d = _ONE / (_ONE + (kx + sx) * t)
                    r = sx * t * d
                    tr = _TWO * q / (_ONE + e) * d
                    w = _ONE / (_ONE - rb[b] * r)
                    rf[b] += tt[b] * tt[b] * r * w
                    rb[b] = r + tr * tr * rb[b] * w
                    tt[b] = tt[b] * tr * w
                if flakes > _FEW and part == 0:
                    for b in range(nb):
                        w = _ONE / (_ONE - rb[b] * fr[b])
                        rf[b] += tt[b] * tt[b] * fr[b] * w
                        rb[b] = fr[b] + ft[b] * ft[b] * rb[b] * w
                        tt[b] = tt[b] * ft[b] * w
            light = _ZERO
            for b in range(nb):
                light = max(light, tt[b])
            if light < np.float32(3e-3):
                break
        xx = _ZERO
        yy = _ZERO
        zz = _ZERO
        gain = (_ONE - k1) * (_ONE - k2)
        for b in range(nb):
            r = rf[b] + tt[b] * tt[b] * below[b] / (_ONE - rb[b] * below[b])
            r = gain * r / (_ONE - k2 * r) + veil
            xx += r * weight[b, 0]
            yy += r * weight[b, 1]
            zz += r * weight[b, 2]
        out[p, 0] = xx
        out[p, 1] = yy
        out[p, 2] = zz


@njit(cache=True, nogil=True, error_model="numpy")
def xyz_to_srgb8(xyz, matrix, codes, out):
    """8-bit sRGB of X, Y, Z, brought into gamut at equal luminance.

    Parameters
    ----------
    xyz : ndarray [-]
        Shape (pixels, 3).
    matrix : ndarray [-]
        Linear R, G, B from X, Y, Z.
    codes : ndarray [-]
        Code of light at 4097 steps of its root.
    out : ndarray [-]
        Shape (pixels, 3), written.
    """
    top = np.float32(4096.0)
    for p in range(xyz.shape[0]):
        x, y, z = xyz[p, 0], xyz[p, 1], xyz[p, 2]
        r = matrix[0, 0] * x + matrix[0, 1] * y + matrix[0, 2] * z
        g = matrix[1, 0] * x + matrix[1, 1] * y + matrix[1, 2] * z
        b = matrix[2, 0] * x + matrix[2, 1] * y + matrix[2, 2] * z
        low = min(r, min(g, b))
        high = max(r, max(g, b))
        if low < _ZERO or high > _ONE:
            yc = min(max(y, _ZERO), _ONE)
            t = _ONE
            if low < _ZERO:
                t = min(t, yc / max(yc - low, _SMALL))
            if high > _ONE:
                t = min(t, (_ONE - yc) / max(high - yc, _SMALL))
            r = yc + t * (r - yc)
            g = yc + t * (g - yc)
            b = yc + t * (b - yc)
        # written so that not-a-number ends at black, never outside the table
        r = min(r, _ONE) if r > _ZERO else _ZERO
        g = min(g, _ONE) if g > _ZERO else _ZERO
        b = min(b, _ONE) if b > _ZERO else _ZERO
        out[p, 0] = codes[np.int32(np.sqrt(r) * top + np.float32(0.5))]
        out[p, 1] = codes[np.int32(np.sqrt(g) * top + np.float32(0.5))]
        out[p, 2] = codes[np.int32(np.sqrt(b) * top + np.float32(0.5))]
