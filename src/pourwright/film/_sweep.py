"""Compiled line sweep of the 2-D film solver: one direction, many lines side by side.

A sweep solves, along every line of cells of one direction, the implicit step

    h_i - h0_i + phi_(i+1) - phi_i = 0,   phi_f = -a_f (p_f - p_(f-1)),
    p_i = G h_i - g lap_i(h) + s_i

with a_f = dtau M_f / dx^2, G = rho g, g = gamma / dx^2, lap the three-point sum along the line over
open faces, and s the pressure known beforehand: bending in the other direction, and the bed. phi
is the depth [m] that crosses a face during the step. M is the mean of h^3 / 3 between the films of
both cells, (h_r^4 - h_l^4) / (12 (h_r - h_l)), for which weight alone gives the very flux between
them (Kirchhoff's transformation); at most eight times that of the cell the liquid leaves.

Faces: 1 open, 0 closed, 2 and up free edges; at a free face `a` is below 0 and stands for an
outflow of -a h from the cell beside it. A cell is *whole* where the four nearest faces of its line
are open in all lanes: there the elimination needs no face weights.

The elimination walks up the line in chunks, loading as it goes, and the solution walks down it,
storing as it goes, so that the work rows pass the cache twice.
"""

from __future__ import annotations

from numba import njit

from pourwright.film._rows import (
    A1,
    A2,
    H2,
    H3,
    L0,
    L1,
    L2,
    L3,
    MANY,
    O0,
    O1,
    O2,
    O3,
    ONE,
    OPTIONS,
    Q1,
    Q2,
    ROW,
    S0,
    S1,
    S2,
    S3,
    TWO,
    U0,
    U1,
    U2,
    U3,
    U64,
    ZERO,
    bend,
    clear,
    load,
    load_open,
    part,
    store,
)  # fmt: skip

DRY = 1e-30  # a cell thinner than this gives nothing [m]
KEEP = 0.05  # share of a cell's depth that one sweep never takes away
CHUNK = U64(32)


@part
def _face_whole(W, r, G, scale):
    """Mobility and known flow at the face above a cell, all faces open."""
    for v in range(MANY):
        hl = W[r + H2 + v]
        hr = W[r + H3 + v]
        known = W[r + S3 + v] - W[r + S2 + v]
        down = G * (hr - hl) + known < 0.0
        donor = hl if down else hr
        mean = 0.25 * (hl + hr) * (hl * hl + hr * hr)
        cap = 8.0 * donor * donor * donor
        a = scale * (mean if mean < cap else cap)
        W[r + A2 + v] = a
        W[r + Q2 + v] = a * known


@part
def _face_any(W, r, G, scale, eased):
    """The same with closed and free faces, and relative mobility in L."""
    for v in range(MANY):
        hl = W[r + H2 + v]
        hr = W[r + H3 + v]
        o = W[r + O2 + v]
        known = W[r + S3 + v] - W[r + S2 + v]
        down = G * (hr - hl) + known < 0.0
        donor = hl if down else hr
        mean = 0.25 * (hl + hr) * (hl * hl + hr * hr)
        cap = 8.0 * donor * donor * donor
        ease = 0.5 * (W[r + L2 + v] + W[r + L3 + v]) if eased else 1.0
        a = (o if o > 0.0 else 0.0) * ease * scale * (mean if mean < cap else cap)
        W[r + Q2 + v] = a * known
        W[r + A2 + v] = a + (o if o < 0.0 else 0.0)


@part
def _down_whole(W, r, G, g):
    """One row of the five-band elimination, all faces open."""
    for v in range(MANY):
        a0 = W[r + A1 + v]
        a1 = W[r + A2 + v]
        ag0 = a0 * g
        ag1 = a1 * g
        b0 = a0 * G + 3.0 * ag0
        b1 = a1 * G + 3.0 * ag1
        y = W[r + H2 + v] + W[r + Q2 + v] - W[r + Q1 + v]
        al2 = W[r + L0 + v]
        al1 = W[r + L1 + v]
        be2 = W[r + U0 + v]
        be1 = W[r + U1 + v]
        c = -(b0 + ag1) - al2 * ag0
        inv = 1.0 / (1.0 + b0 + b1 - be2 * ag0 - al1 * c)
        W[r + L2 + v] = -(b1 + ag0 + be1 * c) * inv
        W[r + U2 + v] = ag1 * inv
        W[r + S2 + v] = (y - W[r + S0 + v] * ag0 - W[r + S1 + v] * c) * inv


@part
def _down_any(W, r, G, g):
    """One row of the five-band elimination, with closed and free faces."""
    for v in range(MANY):
        af = W[r + A1 + v]
        an = W[r + A2 + v]
        a0 = af if af > 0.0 else 0.0
        a1 = an if an > 0.0 else 0.0
        om = W[r + O0 + v]
        o0 = W[r + O1 + v]
        o1 = W[r + O2 + v]
        o2 = W[r + O3 + v]
        om = om if om > 0.0 else 0.0
        o0 = o0 if o0 > 0.0 else 0.0
        o1 = o1 if o1 > 0.0 else 0.0
        o2 = o2 if o2 > 0.0 else 0.0
        ag0 = a0 * g
        ag1 = a1 * g
        aw0 = a0 * (G + 2.0 * g)
        aw1 = a1 * (G + 2.0 * g)
        e = ag0 * om
        c = -aw0 - ag0 * om - ag1 * o0
        d = 1.0 + aw0 + ag0 * o1 + aw1 + ag1 * o0 + ((a0 - af) + (a1 - an))
        u = -aw1 - ag1 * o2 - ag0 * o1
        y = W[r + H2 + v] + W[r + Q2 + v] - W[r + Q1 + v]
        al2 = W[r + L0 + v]
        al1 = W[r + L1 + v]
        be2 = W[r + U0 + v]
        be1 = W[r + U1 + v]
        c -= al2 * e
        inv = 1.0 / (d - be2 * e - al1 * c)
        W[r + L2 + v] = (u - be1 * c) * inv
        W[r + U2 + v] = ag1 * o2 * inv
        W[r + S2 + v] = (y - W[r + S0 + v] * e - W[r + S1 + v] * c) * inv


@part
def _up_whole(W, r, G, g):
    """Solution of cell k-2, depth through face k, new film of cell k; counts cells left too low."""
    bad = 0
    for v in range(MANY):
        s1 = W[r + S1 + v]
        s2 = W[r + S2 + v]
        s0 = W[r + S0 + v] - W[r + L0 + v] * s1 - W[r + U0 + v] * s2
        step = s2 - s1
        bend = (W[r + S3 + v] - s2) - 2.0 * step + (s1 - s0)
        phi = -(W[r + A1 + v] * (G * step - g * bend) + W[r + Q1 + v])
        h = W[r + H2 + v]
        new = h + (phi - W[r + Q2 + v])
        W[r + S0 + v] = s0
        W[r + Q1 + v] = phi
        W[r + L2 + v] = new
        spare = new - KEEP * h
        bad += 1 if spare < 0.0 else 0
    return bad


@part
def _up_any(W, r, G, g):
    """The same with closed and free faces."""
    bad = 0
    for v in range(MANY):
        s1 = W[r + S1 + v]
        s2 = W[r + S2 + v]
        s0 = W[r + S0 + v] - W[r + L0 + v] * s1 - W[r + U0 + v] * s2
        step = s2 - s1
        o2 = W[r + O2 + v]
        o0 = W[r + O0 + v]
        o2 = o2 if o2 > 0.0 else 0.0
        o0 = o0 if o0 > 0.0 else 0.0
        bend = o2 * (W[r + S3 + v] - s2) - 2.0 * step + o0 * (s1 - s0)
        a = W[r + A1 + v]
        open_a = a if a > 0.0 else 0.0
        phi = (a - open_a) * step - open_a * (G * step - g * bend) - W[r + Q1 + v]
        W[r + S0 + v] = s0
        W[r + Q1 + v] = phi
        right = W[r + Q2 + v]
        # nothing comes in through a free face: the cell outside stays empty
        left = (phi if phi < 0.0 else 0.0) if a < 0.0 else phi
        right = (right if right > 0.0 else 0.0) if W[r + A2 + v] < 0.0 else right
        h = W[r + H2 + v]
        new = h + (left - right)
        W[r + L2 + v] = new
        spare = new - KEEP * h
        bad += 1 if spare < 0.0 else 0
    return bad


@part
def _limit(W, n):
    """Shrink outflows of cells left too low, and of those that then are; new depth into L."""
    for i in range(n + TWO):
        for v in range(MANY):
            W[i * ROW + U1 + v] = 1.0
    for turn in range(8):
        bad = False
        for i in range(n):
            r = i * ROW
            for v in range(MANY):
                h = W[r + H2 + v]
                if W[r + U2 + v] == 1.0 and (W[r + L2 + v] < KEEP * h or turn == 7):
                    right = W[r + Q2 + v]
                    left = -W[r + Q1 + v]
                    out = max(right, 0.0) + max(left, 0.0)
                    if out > (1.0 - KEEP) * h:
                        W[r + U2 + v] = (1.0 - KEEP) * h / out if h > DRY else 0.0
                        bad = True
        if not bad:
            break
        for i in range(n):
            r = i * ROW
            for v in range(MANY):
                left = W[r + Q1 + v]
                right = W[r + Q2 + v]
                left *= W[r + U1 + v] if left > 0.0 else W[r + U2 + v]
                right *= W[r + U2 + v] if right > 0.0 else W[r + U3 + v]
                if W[r + A1 + v] < 0.0 and left > 0.0:
                    left = 0.0
                if W[r + A2 + v] < 0.0 and right < 0.0:
                    right = 0.0
                W[r + L2 + v] = W[r + H2 + v] + (left - right)
    for f in range(n + ONE):
        r = f * ROW
        for v in range(MANY):
            p = W[r + Q1 + v]
            W[r + Q1 + v] = p * (W[r + U1 + v] if p > 0.0 else W[r + U2 + v])


@njit(cache=True, **OPTIONS)
def sweep(
    n_all, lanes, step_n, step_l, face_n, face_l, low, high, whole, first, last,
    h0, code, cross, known, ease, free_start, free_face, free_k,
    dtau, dx, weight, tension, final,
    h_out, phi_out, cross_out, work,
):  # fmt: skip
    """Sweep the line groups first..last-1; returns how many groups had to be limited.

    `cross` is the pressure by bending in the other direction (size 1: none), `known` that of the
    bed, `cross_out` takes what this direction's bending means for the other one. Without `final`
    only `cross_out` is filled.
    """
    W = work
    lanes = U64(lanes)
    step_n = U64(step_n)
    step_l = U64(step_l)
    face_n = U64(face_n)
    face_l = U64(face_l)
    G = weight
    g = tension / (dx * dx)
    scale = dtau / (3.0 * dx * dx)
    eased = ease.size > 1
    limited = 0
    for group in range(U64(first), U64(last)):
        if high[group] <= low[group]:
            continue
        lo = U64(low[group])
        n = U64(high[group]) - lo
        l0 = group * MANY
        m = min(MANY, lanes - l0)
        base = l0 * step_l + lo * step_n
        fbase = l0 * face_l + lo * face_n
        kbase = group * U64(n_all) + lo
        clear(W, n)
        load_open(W, n, m, code, fbase, face_n, face_l, whole, kbase, eased)
        for v in range(m):
            for k in range(free_start[l0 + v], free_start[l0 + v + ONE]):
                W[(U64(free_face[k]) - lo) * ROW + O1 + v] = -free_k[k] * dtau
        for v in range(MANY):
            o = W[O1 + v]
            W[A1 + v] = o if o < 0.0 else 0.0
            W[Q1 + v] = 0.0
        done = ZERO
        for i0 in range(ZERO, n, CHUNK):
            i1 = min(n, i0 + CHUNK)
            load(W, H2, i0, i1, m, h0, base, step_n, step_l)
            if cross.size > 1:
                load(W, S2, i0, i1, m, cross, base, step_n, step_l)
            else:
                for i in range(i0, i1):
                    for v in range(MANY):
                        W[i * ROW + S2 + v] = 0.0
            if known.size > 1:
                load(W, L2, i0, i1, m, known, base, step_n, step_l)
                for i in range(i0, i1):
                    for v in range(MANY):
                        W[i * ROW + S2 + v] += W[i * ROW + L2 + v]
            if eased:
                load(W, L2, i0, i1, m, ease, base, step_n, step_l)
            end = i1 if i1 == n else i1 - ONE
            for i in range(done, end):
                r = i * ROW
                if whole[kbase + i] == 1 and not eased:
                    _face_whole(W, r, G, scale)
                    _down_whole(W, r, G, g)
                else:
                    _face_any(W, r, G, scale, eased)
                    _down_any(W, r, G, g)
            done = end
        for v in range(MANY):
            W[n * ROW + L2 + v] = 0.0
            W[n * ROW + L3 + v] = 0.0
        bad = 0
        top = n + TWO
        bent = n
        while top > ZERO:
            k0 = top - CHUNK if top > CHUNK else ZERO
            for j in range(top - k0):
                at = top - ONE - j
                if at < n and whole[kbase + at] == 1:
                    bad += _up_whole(W, at * ROW, G, g)
                else:
                    bad += _up_any(W, at * ROW, G, g)
            if final:
                store(W, Q1, k0, min(top, n + ONE), m, phi_out, fbase, face_n, face_l)
                store(W, L2, k0, min(top, n), m, h_out, base, step_n, step_l)
            if cross_out.size > 1:
                # the cell above the last one solved still waits for its neighbour
                k1 = k0 + ONE if k0 > ZERO else ZERO
                if bent > k1:
                    source = L2 if final else S2
                    bend(W, k1, bent, -tension / (dx * dx), source, whole, kbase)
                    store(W, U2, k1, bent, m, cross_out, base, step_n, step_l)
                    bent = k1
            top = k0
        if final and bad > 0:
            _limit(W, n)
            limited += 1
            store(W, Q1, ZERO, n + ONE, m, phi_out, fbase, face_n, face_l)
            store(W, L2, ZERO, n, m, h_out, base, step_n, step_l)
            if cross_out.size > 1:
                bend(W, ZERO, n, -tension / (dx * dx), L2, whole, kbase)
                store(W, U2, ZERO, n, m, cross_out, base, step_n, step_l)
    return limited
