"""Compiled line sweep of the 2-D film solver: one direction, many lines side by side.

A sweep solves, along every line of cells of one direction, the implicit step

    h_i - h0_i + phi_(i+1) - phi_i = 0,   phi_f = -a_f (p_f - p_(f-1)),
    p_i = G (h_i + b_i) - g lap_i(h + b) - surface tension x S_i

with a_f = dtau M_f / dx^2, G = rho g, g = gamma / dx^2, lap the three-point sum along the line over
open faces, and S the second derivative in the other direction, known beforehand. phi is the depth
[m] that crosses a face during the step. M is the mean of h^3 / 3 of both cells, at most eight times
that of the cell the liquid leaves.

Faces: 1 open, 0 closed, 2 and up free edges; at a free face `a` is below 0 and stands for an
outflow of -a h from the cell beside it.

Lines are taken `LANES` at a time with the lane as the fastest index, so that the elimination runs
in vector registers. Work space is one flat array: row after row, WORK blocks of LANES values;
every index is unsigned and one base plus a constant, which lets the compiler see that the blocks
of a row never overlap. Cell i sits in row i + 2, face f (below cell f) in row f + 1; the rows
around them stay zero.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

LANES = 32
WORK = 7
DRY = 1e-30  # a cell thinner than this gives nothing [m]
KEEP = 0.05  # share of a cell's depth that one sweep can never take away

_U = np.uint64
_0, _1, _L = _U(0), _U(1), _U(LANES)
_ROW = _U(WORK * LANES)


def _at(block: int, row: int) -> np.uint64:
    return _U((row * WORK + block) * LANES)


# h before, a_f, known pressure step, open face, then three blocks used in turn:
# P known pressure, alpha, depth through faces; R mobility, beta, limiter; B bed, solution
_H0, _H1, _H2, _H3 = (_at(0, r) for r in range(4))
_A1, _A2 = (_at(1, r) for r in (1, 2))
_E1, _E2 = (_at(2, r) for r in (1, 2))
_O0, _O1, _O2, _O3 = (_at(3, r) for r in range(4))
_P0, _P1, _P2, _P3 = (_at(4, r) for r in range(4))
_R0, _R1, _R2, _R3 = (_at(5, r) for r in range(4))
_B0, _B1, _B2, _B3, _B4 = (_at(6, r) for r in range(5))

_options: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "nsz", "arcp"},
}
_part = njit(**_options)


@_part
def _clear(W, n):
    """Zero the padding rows and, for a last group with idle lanes, everything."""
    for k in range(_0, _ROW * _U(2)):
        W[k] = 0.0
    end = (n + _U(2)) * _ROW
    for k in range(end, end + _ROW * _U(2)):
        W[k] = 0.0
    for v in range(_L):
        W[_ROW * (n + _1) + _O1 + v] = 0.0


@_part
def _load(W, offset, n, m, src, base, step_n, step_l, factor):
    """Copy cells (or cells times a factor) into the block at `offset`."""
    for i in range(n):
        r = i * _ROW + offset
        at = base + i * step_n
        if m == _L and step_l == _1:
            for v in range(_L):
                W[r + v] = factor * src[at + v]
        else:
            for v in range(m):
                W[r + v] = factor * src[at + v * step_l]
            for v in range(m, _L):
                W[r + v] = 0.0


@_part
def _store(W, offset, n, m, dst, base, step_n, step_l):
    """Copy the block at `offset` out to cells or faces."""
    for i in range(n):
        r = i * _ROW + offset
        at = base + i * step_n
        if m == _L and step_l == _1:
            for v in range(_L):
                dst[at + v] = W[r + v]
        else:
            for v in range(m):
                dst[at + v * step_l] = W[r + v]


@_part
def _load_faces(W, n, m, code, base, face_n, face_l):
    """Open faces as 1.0, others as 0.0."""
    for f in range(n + _1):
        r = f * _ROW + _O1
        at = base + f * face_n
        for v in range(m):
            W[r + v] = 1.0 if code[at + v * face_l] == 1 else 0.0
        for v in range(m, _L):
            W[r + v] = 0.0


@_part
def _add_bed(W, n, G, g):
    """Add the bed's part of the pressure to P: weight and bending along this line."""
    for i in range(n):
        r = i * _ROW
        for v in range(_L):
            b = W[r + _B2 + v]
            W[r + _P2 + v] += G * b - g * (
                W[r + _O2 + v] * (W[r + _B3 + v] - b) - W[r + _O1 + v] * (b - W[r + _B1 + v])
            )


@_part
def _faces(W, n, G, scale):
    """Known pressure step and a_f at every face."""
    for f in range(n + _1):
        r = f * _ROW
        for v in range(_L):
            hl = W[r + _H1 + v]
            hr = W[r + _H2 + v]
            known = W[r + _P2 + v] - W[r + _P1 + v]
            cl = hl * hl * hl
            cr = hr * hr * hr
            donor = cl if G * (hr - hl) + known < 0.0 else cr
            mean = 0.5 * (cl + cr)
            cap = 8.0 * donor
            W[r + _E1 + v] = known
            W[r + _A1 + v] = W[r + _O1 + v] * scale * (mean if mean < cap else cap)


@_part
def _ease(W, n):
    """Multiply a_f by the mean relative mobility (in R) of its two cells."""
    for f in range(n + _1):
        r = f * _ROW
        for v in range(_L):
            W[r + _A1 + v] *= 0.5 * (W[r + _R1 + v] + W[r + _R2 + v])


@_part
def _solve(W, n, G, g):
    """Five-band elimination: alpha in P, beta in R, the solution in B."""
    for v in range(_L):
        W[_P0 + v] = 0.0
        W[_P1 + v] = 0.0
        W[_R0 + v] = 0.0
        W[_R1 + v] = 0.0
        W[_B0 + v] = 0.0
        W[_B1 + v] = 0.0
    for i in range(n):
        r = i * _ROW
        for v in range(_L):
            af = W[r + _A1 + v]
            an = W[r + _A2 + v]
            a0 = af if af > 0.0 else 0.0
            a1 = an if an > 0.0 else 0.0
            om = W[r + _O0 + v]
            o0 = W[r + _O1 + v]
            o1 = W[r + _O2 + v]
            o2 = W[r + _O3 + v]
            ag0 = a0 * g
            ag1 = a1 * g
            aw0 = a0 * (G + 2.0 * g)
            aw1 = a1 * (G + 2.0 * g)
            e = ag0 * om
            c = -aw0 - ag0 * om - ag1 * o0
            d = 1.0 + aw0 + ag0 * o1 + aw1 + ag1 * o0 + ((a0 - af) + (a1 - an))
            u = -aw1 - ag1 * o2 - ag0 * o1
            y = W[r + _H2 + v] + a1 * W[r + _E2 + v] - a0 * W[r + _E1 + v]
            al2 = W[r + _P0 + v]
            al1 = W[r + _P1 + v]
            be2 = W[r + _R0 + v]
            be1 = W[r + _R1 + v]
            c -= al2 * e
            inv = 1.0 / (d - be2 * e - al1 * c)
            W[r + _P2 + v] = (u - be1 * c) * inv
            W[r + _R2 + v] = ag1 * o2 * inv
            W[r + _B2 + v] = (y - W[r + _B0 + v] * e - W[r + _B1 + v] * c) * inv
    end = n * _ROW
    for v in range(_L):
        W[end + _B2 + v] = 0.0
        W[end + _B3 + v] = 0.0
    for j in range(n):
        r = (n - _1 - j) * _ROW
        for v in range(_L):
            W[r + _B2 + v] -= W[r + _P2 + v] * W[r + _B3 + v] + W[r + _R2 + v] * W[r + _B4 + v]
    for v in range(_L):
        W[_B0 + v] = 0.0
        W[_B1 + v] = 0.0


@_part
def _flux(W, n, G, g):
    """Depth through every face, from the solution, into P."""
    for f in range(n + _1):
        r = f * _ROW
        for v in range(_L):
            a = W[r + _A1 + v]
            open_a = a if a > 0.0 else 0.0
            step = W[r + _B2 + v] - W[r + _B1 + v]
            bend = (
                W[r + _O2 + v] * (W[r + _B3 + v] - W[r + _B2 + v])
                - 2.0 * step
                + W[r + _O0 + v] * (W[r + _B1 + v] - W[r + _B0 + v])
            )
            W[r + _P1 + v] = -open_a * (G * step - g * bend + W[r + _E1 + v]) + (a - open_a) * step


@_part
def _outflow(W, n, thin, share, greatest):
    """Share of its depth that leaves each cell, into R; note the largest."""
    for i in range(n):
        r = i * _ROW
        for v in range(_L):
            h = W[r + _H2 + v]
            right = W[r + _P2 + v]
            left = -W[r + _P1 + v]
            out = (right if right > 0.0 else 0.0) + (left if left > 0.0 else 0.0)
            q = out / (h if h > DRY else DRY)
            q = 1e30 if (h <= DRY) & (out > 0.0) else q
            W[r + _R2 + v] = q
            seen = q if h > thin else 0.0
            share[v] = seen if seen > share[v] else share[v]
            greatest[v] = q if q > greatest[v] else greatest[v]


@_part
def _limit(W, n):
    """Shrink outflows so that no cell loses more than 1 - KEEP of its depth."""
    for v in range(_L):
        W[_R1 + v] = 0.0
        W[n * _ROW + _R2 + v] = 0.0
    for i in range(n):
        r = i * _ROW
        for v in range(_L):
            q = W[r + _R2 + v]
            factor = (1.0 - KEEP) / (q if q > 1.0 - KEEP else 1.0 - KEEP)
            W[r + _R2 + v] = factor if W[r + _H2 + v] > DRY else 0.0
    for f in range(n + _1):
        r = f * _ROW
        for v in range(_L):
            p = W[r + _P1 + v]
            below = W[r + _R1 + v]
            above = W[r + _R2 + v]
            W[r + _P1 + v] = p * (below if p > 0.0 else above)


@_part
def _update(W, n, most):
    """New depth from old depth and fluxes, into B; note the largest change."""
    for i in range(n):
        r = i * _ROW
        for v in range(_L):
            left = W[r + _P1 + v]
            right = W[r + _P2 + v]
            # nothing comes in through a free face: the cell outside stays empty
            lost = left if left < 0.0 else 0.0
            left = lost if W[r + _A1 + v] < 0.0 else left
            lost = right if right > 0.0 else 0.0
            right = lost if W[r + _A2 + v] < 0.0 else right
            gain = left - right
            W[r + _B2 + v] = W[r + _H2 + v] + gain
            size = gain if gain > 0.0 else -gain
            most[v] = size if size > most[v] else most[v]


@_part
def _bend(W, n, w):
    """Second derivative along the line of what is in B, into P."""
    for i in range(n):
        r = i * _ROW
        for v in range(_L):
            b = W[r + _B2 + v]
            W[r + _P2 + v] = w * (
                W[r + _O2 + v] * (W[r + _B3 + v] - b) - W[r + _O1 + v] * (b - W[r + _B1 + v])
            )


@_part
def _add_bed_level(W, n, m, bed, base, step_n, step_l):
    """Turn film in B into level: add the bed."""
    for i in range(n):
        r = i * _ROW + _B2
        at = base + i * step_n
        for v in range(m):
            W[r + v] += bed[at + v * step_l]


@njit(cache=True, **_options)
def sweep(
    n, lanes, step_n, step_l, face_n, face_l, first, last,
    h0, code, cross, bed, ease, free_start, free_face, free_k,
    dtau, dx, weight, tension, thin, final,
    h_out, phi_out, lap_out, work,
):  # fmt: skip
    """Sweep the line groups first..last-1; returns the largest outflow share and |dh| [-, m]."""
    W = work
    n = _U(n)
    lanes = _U(lanes)
    step_n = _U(step_n)
    step_l = _U(step_l)
    face_n = _U(face_n)
    face_l = _U(face_l)
    G = weight
    g = tension / (dx * dx)
    share = np.zeros(LANES)
    most = np.zeros(LANES)
    greatest = np.zeros(LANES)
    for group in range(_U(first), _U(last)):
        l0 = group * _L
        m = min(_L, lanes - l0)
        base = l0 * step_l
        fbase = l0 * face_l
        _clear(W, n)
        _load(W, _H2, n, m, h0, base, step_n, step_l, 1.0)
        _load_faces(W, n, m, code, fbase, face_n, face_l)
        if cross.size > 1:
            _load(W, _P2, n, m, cross, base, step_n, step_l, -tension)
        else:
            for i in range(n):
                for v in range(_L):
                    W[i * _ROW + _P2 + v] = 0.0
        if bed.size > 1:
            _load(W, _B2, n, m, bed, base, step_n, step_l, 1.0)
            _add_bed(W, n, G, g)
        _faces(W, n, G, dtau / (3.0 * dx * dx))
        if ease.size > 1:
            _load(W, _R2, n, m, ease, base, step_n, step_l, 1.0)
            _ease(W, n)
        for v in range(m):
            for k in range(free_start[l0 + v], free_start[l0 + v + _1]):
                W[_U(free_face[k]) * _ROW + _A1 + v] = -free_k[k] * dtau
        _solve(W, n, G, g)
        if final:
            _flux(W, n, G, g)
            greatest[:] = 0.0
            _outflow(W, n, thin, share, greatest)
            if greatest.max() > 1.0 - KEEP:
                _limit(W, n)
            _update(W, n, most)
            _store(W, _P1, n + _1, m, phi_out, fbase, face_n, face_l)
            _store(W, _B2, n, m, h_out, base, step_n, step_l)
        if lap_out.size > 1:
            if bed.size > 1:
                _add_bed_level(W, n, m, bed, base, step_n, step_l)
            _bend(W, n, 1.0 / (dx * dx))
            _store(W, _P2, n, m, lap_out, base, step_n, step_l)
    return share.max(), most.max()
