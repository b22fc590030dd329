"""Work rows of the compiled line sweep: where things lie, and copying cells in and out.

Lines are taken `LANES` at a time with the lane as the fastest index, so that the elimination runs
in vector registers. Work space is one flat array: row after row, `WORK` blocks of `LANES` values;
every index is unsigned and one base plus a constant, which lets the compiler see that the blocks
of a row never overlap. Cell i sits in row i + 2, face f (below cell f) in row f + 1; the rows
around them stay zero.

Blocks: H film before; A mobility of a face times step over dx^2 (below 0 at a free face); Q known
part of the depth through a face, then all of it; L first upper band of the elimination, then the
new film (before it, relative mobility); U second upper band, then second differences; S known
pressure, right-hand side, solution; O open face (1, 0, or below 0 for a free face).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

LANES = 32
WORK = 7

U64 = np.uint64
ZERO, ONE, TWO, MANY = U64(0), U64(1), U64(2), U64(LANES)
ROW = U64(WORK * LANES)


def _at(block: int, row: int) -> np.uint64:
    return U64((row * WORK + block) * LANES)


H2, H3 = (_at(0, r) for r in (2, 3))
A1, A2 = (_at(1, r) for r in (1, 2))
Q1, Q2 = (_at(2, r) for r in (1, 2))
L0, L1, L2, L3 = (_at(3, r) for r in range(4))
U0, U1, U2, U3 = (_at(4, r) for r in range(4))
S0, S1, S2, S3 = (_at(5, r) for r in range(4))
O0, O1, O2, O3 = (_at(6, r) for r in range(4))

OPTIONS: dict[str, Any] = {
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "nsz", "arcp", "nnan"},
}
part = njit(**OPTIONS)


@part
def clear(W, n):
    """Zero the rows around n cells, and face 0."""
    for k in range(ZERO, ROW * TWO):
        W[k] = 0.0
    end = (n + TWO) * ROW
    for k in range(end, end + ROW * U64(4)):
        W[k] = 0.0
    for v in range(MANY):
        W[ROW * (n + ONE) + O1 + v] = 0.0


@part
def load(W, offset, i0, i1, m, src, base, step_n, step_l):
    """Copy cells i0..i1-1 of m lanes into the block at `offset`; idle lanes get zeros."""
    if step_l == ONE:
        for i in range(i0, i1):
            r = i * ROW + offset
            at = base + i * step_n
            if m == MANY:
                for v in range(MANY):
                    W[r + v] = src[at + v]
            else:
                for v in range(m):
                    W[r + v] = src[at + v]
    else:
        for v in range(m):
            at = base + v * step_l
            r = offset + v
            for i in range(i0, i1):
                W[r + i * ROW] = src[at + i]
    if m < MANY:
        for i in range(i0, i1):
            for v in range(m, MANY):
                W[i * ROW + offset + v] = 0.0


@part
def store(W, offset, i0, i1, m, dst, base, step_n, step_l):
    """Copy rows i0..i1-1 of the block at `offset` out to cells or faces."""
    if step_l == ONE:
        for i in range(i0, i1):
            r = i * ROW + offset
            at = base + i * step_n
            if m == MANY:
                for v in range(MANY):
                    dst[at + v] = W[r + v]
            else:
                for v in range(m):
                    dst[at + v] = W[r + v]
    else:
        for v in range(m):
            at = base + v * step_l
            r = offset + v
            for i in range(i0, i1):
                dst[at + i] = W[r + i * ROW]


@part
def load_open(W, n, m, code, base, face_n, face_l, whole, first, always):
    """Open faces as 1.0, others as 0.0, beside every cell that is not whole, or everywhere."""
    for f in range(n + ONE):
        need = always
        for s in range(4):
            j = np.int64(f) + s - 2
            if j < 0 or j >= np.int64(n) or whole[first + U64(j)] == 0:
                need = True
        if need:
            r = f * ROW + O1
            at = base + f * face_n
            for v in range(m):
                W[r + v] = 1.0 if code[at + v * face_l] == 1 else 0.0
            for v in range(m, MANY):
                W[r + v] = 0.0


@part
def bend(W, i0, i1, w, source, whole, first):
    """w times the second difference of the block at `source` for cells i0..i1-1, into U."""
    for i in range(i0, i1):
        r = i * ROW
        j = r + source
        if whole[first + i] == 1:
            for v in range(MANY):
                W[r + U2 + v] = w * (W[j + ROW + v] - 2.0 * W[j + v] + W[j - ROW + v])
        else:
            for v in range(MANY):
                b = W[j + v]
                low = W[r + O1 + v]
                high = W[r + O2 + v]
                low = low if low > 0.0 else 0.0
                high = high if high > 0.0 else 0.0
                W[r + U2 + v] = w * (high * (W[j + ROW + v] - b) - low * (b - W[j - ROW + v]))
