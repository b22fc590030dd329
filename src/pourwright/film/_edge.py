"""Compiled 1-D film over an edge profile: finite volumes, Newton's method, exact mass.

Time steps: the two-stage, second-order, L-stable diagonally implicit Runge-Kutta method with share
1 - 1/sqrt(2) (Alexander 1977, SIAM J. Numer. Anal. 14, 1006; from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

SHARE = 1.0 - np.sqrt(0.5)  # L-stable two-stage implicit Runge-Kutta of second order
MOST_TRIES = 6000  # ordinary cases take 50 to 600

_options: dict[str, Any] = {"cache": True, "nogil": True, "error_model": "numpy"}


@njit(**_options)
def _depth(zeta, kappa):
    """Film h from volume per area zeta = h + kappa h^2 / 2."""
    if kappa <= 0.0:
        return zeta
    return 2.0 * zeta / (1.0 + np.sqrt(1.0 + 2.0 * kappa * zeta))


@njit(**_options)
def run_edge(
    ds, gap, elevation, cosine, kappa, hang, h_start, ease, ease_until,
    ends, wipe, weight, tension, hold, open_end, change,
    h_out, gone_out, held_out, arc_first, arc_last, thinnest_out,
):  # fmt: skip
    """March the film to each flow in `ends`; fills the output arrays, returns steps taken.

    ds (n,) cell lengths; gap (n+1,) distances of centres; elevation, cosine, kappa (n,) at cells;
    hang (n,) 1.0 where liquid hangs below the face; wipe (len(ends),) 1 where the
    hanging part is wiped after that end; hold: volume per length that can hang; open_end 1 if the
    profile stops at the lower end of the face and liquid falls off there.
    """
    n = ds.size
    h = h_start.copy()
    zeta = np.empty(n)
    for i in range(n):
        zeta[i] = h[i] + 0.5 * kappa[i] * h[i] * h[i]
    p = np.empty(n)
    M = np.zeros(n + 1)
    slope = np.zeros(n + 1)  # pressure gradient
    wa = np.zeros(n + 1)  # weights of cells f-2, f-1, f, f+1 in the film at face f
    wb = np.zeros(n + 1)
    wc = np.zeros(n + 1)
    wd = np.zeros(n + 1)
    flux = np.zeros(n + 1)
    dM = np.zeros(n + 1)
    m_face = np.ones(n + 1)
    alpha = np.zeros(n + 2)
    beta = np.zeros(n + 2)
    delta = np.zeros(n + 2)
    trial = np.empty(n)
    znew = np.empty(n)
    base = np.empty(n)
    early = np.zeros(n + 1)
    a_lo = np.empty(n)
    a_mid = np.empty(n)
    a_hi = np.empty(n)
    gone = 0.0
    bead = 0.0
    tau = 0.0
    dt = 1e-4 if ends.size == 0 else min(1e-3, 1e-3 * ends[-1])
    steps = 0
    tries = 0
    for k in range(ends.size):
        while tau < ends[k] * (1.0 - 1e-13):
            target = ends[k]
            eased = tau < ease_until * (1.0 - 1e-13)
            if eased:
                target = min(target, ease_until)
            left = target - tau
            # a film that keeps refusing is forced on, thin cells protected, rather than hang
            floor = 1e-9
            if tries > MOST_TRIES:
                floor = 1e-3 * ends[-1]
                dt = max(dt, floor)
            tries += 1
            step = left if dt >= left else (0.5 * left if dt > 0.5 * left else dt)
            part = SHARE * step
            for f in range(1, n):
                m_face[f] = 0.5 * (ease[f - 1] + ease[f]) if eased else 1.0
            m_face[n] = ease[n - 1] if eased else 1.0
            for i in range(n):
                trial[i] = h[i]
                base[i] = zeta[i]
            bad = False
            for stage in range(2):
                for _ in range(3):
                    big = 0.0
                    for i in range(n):
                        lo = (trial[i] - trial[i - 1]) / gap[i] if i > 0 else 0.0
                        hi = (trial[i + 1] - trial[i]) / gap[i + 1] if i < n - 1 else 0.0
                        w = 1.0 + kappa[i] * trial[i]
                        p[i] = (
                            weight * (elevation[i] + trial[i] * cosine[i])
                            + tension * kappa[i] / w
                            - tension * (hi - lo) / ds[i]
                        )
                        a_lo[i] = -tension / (ds[i] * gap[i]) if i > 0 else 0.0
                        a_hi[i] = -tension / (ds[i] * gap[i + 1]) if i < n - 1 else 0.0
                        a_mid[i] = (
                            weight * cosine[i]
                            - tension * kappa[i] * kappa[i] / (w * w)
                            - a_lo[i]
                            - a_hi[i]
                        )
                    for f in range(1, n):
                        slope[f] = (p[f] - p[f - 1]) / gap[f]
                        # film at the face: two thirds linear between the cells beside it, one
                        # third from the two upstream; never beyond those beside it, and never
                        # more than twice the donor's, so that a thin spot does not run dry
                        down = slope[f] < 0.0
                        up = f - 1 if down else f
                        on = f if down else f - 1
                        far = up - 1 if down else up + 1
                        if far < 0 or far >= n:
                            far = up
                        t = ds[up] / (ds[up] + ds[on])
                        x = ds[up] / (ds[up] + ds[far]) / 3.0
                        w_on = 2.0 / 3.0 * t
                        w_up = 1.0 - w_on + x
                        hf = w_up * trial[up] + w_on * trial[on] - x * trial[far]
                        lo = min(trial[up], trial[on])
                        hi = max(trial[up], trial[on])
                        if hf < lo or hf > hi:
                            w_up, w_on, x = 1.0 - t, t, 0.0
                            hf = w_up * trial[up] + w_on * trial[on]
                        if hf > 2.0 * trial[up]:
                            w_up, w_on, x = 2.0, 0.0, 0.0
                            hf = 2.0 * trial[up]
                        wa[f] = 0.0
                        wd[f] = 0.0
                        if down:
                            wb[f] = w_up
                            wc[f] = w_on
                        else:
                            wb[f] = w_on
                            wc[f] = w_up
                        if far == f - 2:
                            wa[f] = -x
                        elif far == f + 1:
                            wd[f] = -x
                        elif down:  # no cell further up: the donor stands in for it
                            wb[f] -= x
                        else:
                            wc[f] -= x
                        kf = 0.5 * (kappa[f - 1] + kappa[f])
                        M[f] = m_face[f] * hf * hf * hf * (1.0 + 0.5 * kf * hf) / 3.0
                        dM[f] = m_face[f] * hf * hf * (1.0 + 2.0 / 3.0 * kf * hf)
                        flux[f] = -M[f] * slope[f]
                    if open_end:
                        he = trial[n - 1]
                        flux[n] = m_face[n] * weight * he * he * he / 3.0
                        dM[n] = m_face[n] * weight * he * he
                    # J delta = -r, five bands, solved as it is assembled
                    for i in range(n):
                        e = 0.0
                        c = 0.0
                        d = ds[i] * (1.0 + kappa[i] * trial[i])
                        u = 0.0
                        b = 0.0
                        r = ds[i] * (
                            trial[i] + 0.5 * kappa[i] * trial[i] * trial[i] - base[i]
                        ) + part * (flux[i + 1] - flux[i])
                        if i > 0:  # minus flux at face i
                            q = part * M[i] / gap[i]
                            t = part * dM[i] * slope[i]
                            e -= -q * (-a_lo[i - 1]) - t * wa[i]
                            c -= -q * (a_lo[i] - a_mid[i - 1]) - t * wb[i]
                            d -= -q * (a_mid[i] - a_hi[i - 1]) - t * wc[i]
                            u -= -q * a_hi[i] - t * wd[i]
                        if i < n - 1:  # plus flux at face i + 1
                            q = part * M[i + 1] / gap[i + 1]
                            t = part * dM[i + 1] * slope[i + 1]
                            c += -q * (-a_lo[i]) - t * wa[i + 1]
                            d += -q * (a_lo[i + 1] - a_mid[i]) - t * wb[i + 1]
                            u += -q * (a_mid[i + 1] - a_hi[i]) - t * wc[i + 1]
                            b += -q * a_hi[i + 1] - t * wd[i + 1]
                        elif open_end:
                            d += part * dM[n]
                        al2 = alpha[i - 2] if i > 1 else 0.0
                        be2 = beta[i - 2] if i > 1 else 0.0
                        de2 = delta[i - 2] if i > 1 else 0.0
                        al1 = alpha[i - 1] if i > 0 else 0.0
                        be1 = beta[i - 1] if i > 0 else 0.0
                        de1 = delta[i - 1] if i > 0 else 0.0
                        c -= al2 * e
                        inv = 1.0 / (d - be2 * e - al1 * c)
                        alpha[i] = (u - be1 * c) * inv
                        beta[i] = b * inv
                        delta[i] = (-r - de2 * e - de1 * c) * inv
                    delta[n] = 0.0
                    delta[n + 1] = 0.0
                    for j in range(n):
                        i = n - 1 - j
                        delta[i] -= alpha[i] * delta[i + 1] + beta[i] * delta[i + 2]
                    # linearised fluxes: depth moves by these and nothing else
                    for f in range(1, n):
                        dp = a_lo[f] * delta[f - 1] + a_mid[f] * delta[f] + a_hi[f] * delta[f + 1]
                        dq = a_mid[f - 1] * delta[f - 1] + a_hi[f - 1] * delta[f]
                        if f > 1:
                            dq += a_lo[f - 1] * delta[f - 2]
                        flux[f] += -M[f] * (dp - dq) / gap[f] - dM[f] * slope[f] * (
                            wa[f] * (delta[f - 2] if f > 1 else 0.0)
                            + wb[f] * delta[f - 1]
                            + wc[f] * delta[f]
                            + wd[f] * delta[f + 1]
                        )
                    if open_end:
                        flux[n] += dM[n] * delta[n - 1]
                    for i in range(n):
                        znew[i] = base[i] - part * (flux[i + 1] - flux[i]) / ds[i]
                        if not znew[i] > 0.0:
                            bad = True
                        trial[i] = _depth(max(znew[i], 0.0), kappa[i])
                        big = max(big, abs(delta[i]) / (h[i] + 1e-6))
                    if bad or big < 1e-6:
                        break
                if bad:
                    break
                if stage == 0:
                    for i in range(n):
                        base[i] = zeta[i] - (step - part) * (flux[i + 1] - flux[i]) / ds[i]
                    for f in range(n + 1):
                        early[f] = flux[f]
            for f in range(n + 1):  # mean flux of the whole step
                flux[f] = (1.0 - SHARE) * early[f] + SHARE * flux[f]
            if bad and step > floor:
                dt = 0.3 * step
                continue
            if bad:  # too thin to step: shrink outflows, which keeps the mass exact
                for i in range(n):
                    out = step * (max(flux[i + 1], 0.0) + max(-flux[i], 0.0)) / ds[i]
                    trial[i] = min(1.0, 0.95 * zeta[i] / max(out, 1e-300))
                for f in range(n + 1):
                    if f > 0 and flux[f] > 0.0:
                        flux[f] *= trial[f - 1]
                    elif f < n and flux[f] < 0.0:
                        flux[f] *= trial[f]
                for i in range(n):
                    znew[i] = zeta[i] - step * (flux[i + 1] - flux[i]) / ds[i]
                    trial[i] = _depth(znew[i], kappa[i])
            top = 0.0
            for i in range(n):
                top = max(top, h[i])
            over = 0.0
            for i in range(n):
                over = max(over, abs(trial[i] - h[i]) / (h[i] + 0.05 * top))
            over /= change
            if over > 1.5 and step > floor:
                dt = step * max(0.2, 0.8 / over)
                continue
            for i in range(n):
                h[i] = trial[i]
                zeta[i] = max(znew[i], 0.0)
            if open_end:
                bead += step * flux[n]
            tau = target if step == left else tau + step
            grow = min(1.5, 0.9 / max(over, 1e-30))
            dt = max(dt, step * grow) if (step < dt and over < 0.6) else step * grow
            steps += 1
            # what hangs below the face can only be so much; the rest falls
            if open_end:
                if bead > hold:
                    gone += bead - hold
                    bead = hold
            else:
                total = 0.0
                for i in range(n):
                    total += hang[i] * zeta[i] * ds[i]
                if total > hold:
                    keep = hold / total
                    for i in range(n):
                        if hang[i] > 0.0:
                            lost = hang[i] * zeta[i] * (1.0 - keep)
                            zeta[i] -= lost
                            gone += lost * ds[i]
                            h[i] = _depth(zeta[i], kappa[i])
        if wipe[k] > 0.0:
            gone += bead
            bead = 0.0
            for i in range(n):
                if hang[i] > 0.0 and not open_end:
                    lost = max(zeta[i] - 2e-5, 0.0) * hang[i]
                    zeta[i] -= lost
                    gone += lost * ds[i]
                    h[i] = _depth(zeta[i], kappa[i])
        held = bead
        thinnest = 1e30
        for i in range(n):
            h_out[k, i] = h[i]
            if not open_end:
                held += hang[i] * zeta[i] * ds[i]
            if arc_first <= i <= arc_last:
                thinnest = min(thinnest, h[i])
        gone_out[k] = gone
        held_out[k] = held
        thinnest_out[k] = thinnest
    return steps
