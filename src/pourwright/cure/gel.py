"""Where the network forms: gel conversion, junctions and sol of a stepwise epoxy-amine network."""

from __future__ import annotations

from typing import Any

import numpy as np

from pourwright.errors import InputError
from pourwright.words import say

Floats = Any  # float or array of floats


def gel_conversion(
    balance: Floats = 1.0, amine_functionality: Floats = 4.0, epoxide_functionality: Floats = 2.0
) -> Floats:
    """Epoxide conversion at gel for an ideal stepwise network.

    Parameters
    ----------
    balance : float or array [-]
        B, amine hydrogens per epoxide group, above 0.
    amine_functionality, epoxide_functionality : float or array [-]
        Group-weighted mean functionalities f and g, above 1.

    Returns
    -------
    float or array [-]
        sqrt(B/((f-1)(g-1))); NaN where it would pass min(1, B), i.e. the mix never gels.

    Raises
    ------
    InputError
        A balance or functionality out of its limits.

    Source: Flory 1941; Stockmayer 1943 (from memory). Loops delay real gels beyond this (Tanaka,
    Stanford and Stepto 2009), so Pourwright takes 0.60 +- 0.03 where the sheet is silent.
    """
    b = np.asarray(balance, dtype=float)
    f = np.asarray(amine_functionality, dtype=float)
    g = np.asarray(epoxide_functionality, dtype=float)
    _above("balance", b, 0.0, "Give amine hydrogens per epoxide group, 1 at the exact ratio.")
    _above("amine_functionality", f, 1.0, "Give the group-weighted mean, 4 for a diamine.")
    _above("epoxide_functionality", g, 1.0, "Give the group-weighted mean, 2 for a diepoxide.")
    a = np.sqrt(b / ((f - 1.0) * (g - 1.0)))
    return np.where(a <= np.minimum(1.0, b) * (1 + 1e-12), a, np.nan)[()]


def weighted_functionality(functionalities: Floats, amounts: Floats) -> float:
    """Group-weighted mean functionality of a blend.

    Parameters
    ----------
    functionalities : array [-]
        Functionality of each species, shape (k,); a monofunctional diluent has 1.
    amounts : array [mol]
        Amount of each, shape (k,).

    Returns
    -------
    float [-]
        Sum f^2 n / sum f n.

    Source: Macosko and Miller 1976, Macromolecules 9, 199 (from memory).
    """
    f, n = np.asarray(functionalities, dtype=float), np.asarray(amounts, dtype=float)
    return float((f**2 * n).sum() / (f * n).sum())


def gel_with_diluent(diluent_share: Floats, balance: Floats = 1.0) -> Floats:
    """Gel conversion when part of the epoxide groups sit on a monofunctional diluent.

    Parameters
    ----------
    diluent_share : float or array [-]
        Share x of all epoxide groups on the diluent, 0 to below 1.
    balance : float or array [-]
        B, amine hydrogens per epoxide group, above 0.

    Returns
    -------
    float or array [-]
        sqrt(B/(3 (1 - x))); NaN where the mix never gels.

    Source: `gel_conversion` with g = 2 - x.
    """
    return gel_conversion(balance, 4.0, 2.0 - np.asarray(diluent_share, dtype=float))


def gel_unequal_amine(second_over_first: float) -> float:
    """Gel conversion at the exact ratio when the amine's second hydrogen is slower or faster.

    Parameters
    ----------
    second_over_first : float [-]
        Ratio of rate constants per hydrogen, secondary over primary; 1 for equal, at least 0.

    Returns
    -------
    float [-]
        0.618 at 0, 0.5774 at 1, towards 0.5 for large ratios.

    Raises
    ------
    InputError
        A negative ratio.

    Source: derived: dn0 = -2 n0, dn1 = 2 n0 - r n1 in the primary amine's clock; gel when
    n2 + 2 x^2 = 1 with n2 the share of nitrogen fully reacted. Measured ratios 0.65 and 0.45:
    Girard-Reydet et al. 1995, Macromolecules 28, 7599.
    """
    r = float(second_over_first)
    if not r >= 0:
        raise InputError(
            "second_over_first",
            r,
            "it must be at least 0",
            "Give the secondary rate constant over the primary one, per hydrogen.",
        )

    def shares(u: float) -> tuple[float, float]:
        # u runs from 1 down; for slow second hydrogens it is n0^(r/2), so that it still moves
        # when the primary amine is gone, otherwise n0 itself
        n0 = u if r >= 1.0 else (u ** (2.0 / r) if r > 0 else 0.0)
        late = u if r < 1.0 else n0 ** (r / 2.0)
        n1 = -n0 * np.log(n0) if abs(r - 2.0) < 1e-9 else 2.0 * (late - n0) / (2.0 - r)
        n2 = 1.0 - n0 - n1
        return n2, 0.5 * (n1 + 2.0 * n2)

    lo, hi = 1e-15, 1.0
    for _ in range(100):
        mid = 0.5 * (lo + hi)
        n2, x = shares(mid)
        if n2 + 2.0 * x * x > 1.0:
            lo = mid
        else:
            hi = mid
    return float(shares(0.5 * (lo + hi))[1])


def network(conversion: Floats, balance: Floats = 1.0) -> tuple[Floats, Floats, Floats]:
    """How complete an A4 + B2 network is: finite-chain chance, junctions and sol.

    Parameters
    ----------
    conversion : float or array [-]
        Epoxide conversion, 0 to min(1, B).
    balance : float or array [-]
        B, amine hydrogens per epoxide group, above 0.

    Returns
    -------
    tuple of float or array [-]
        P, the chance that looking out along an amine arm leads to a finite piece; X, the share of
        amines that are junctions of three or four strands; S, the mole share of amines in the sol,
        P^4. Before gel P = 1, X = 0, S = 1.

    Source: Miller and Macosko 1976, Macromolecules 9, 206 (from memory):
    P = sqrt(1/(pA pE) - 3/4) - 1/2, X = (1-P)^4 + 4 P (1-P)^3.
    """
    pe = np.asarray(conversion, dtype=float)
    pa = pe / np.asarray(balance, dtype=float)
    product = np.maximum(pa * pe, 1e-300)
    p = np.clip(np.sqrt(np.maximum(1.0 / product - 0.75, 0.0)) - 0.5, 0.0, 1.0)
    x = (1 - p) ** 4 + 4 * p * (1 - p) ** 3
    return p[()], x[()], (p**4)[()]


def sol_fraction(
    conversion: Floats, balance: Floats, epoxide_weight: Floats, amine_weight: Floats
) -> Floats:
    """Mass share of cured resin that is not tied into the network (can be washed out).

    Parameters
    ----------
    conversion : float or array [-]
        Epoxide conversion, 0 to min(1, B).
    balance : float or array [-]
        B, amine hydrogens per epoxide group, above 0.
    epoxide_weight, amine_weight : float or array [kg/mol]
        Equivalent weights EEW and AHEW (0.190 kg/mol is 190 g/eq).

    Returns
    -------
    float or array [-]
        Mass of amines and epoxies with no path to the network, over the whole mass.

    Source: Miller and Macosko 1976 (from memory): sol amines P^4, sol epoxies Q^2 with
    Q = 1 - pE + pE P^3 seen from an epoxide.
    """
    p, _, amines = network(conversion, balance)
    pe = np.asarray(conversion, dtype=float)
    q = 1.0 - pe + pe * np.asarray(p) ** 3
    mass_e = np.asarray(epoxide_weight, dtype=float)
    mass_a = np.asarray(balance, dtype=float) * amine_weight
    return ((amines * mass_a + q**2 * mass_e) / (mass_a + mass_e))[()]


def _above(field: str, value: Any, limit: float, remedy: str) -> None:
    if not np.all(np.asarray(value) > limit):
        raise InputError(field, value, say("it must be more than {limit:g}", limit=limit), remedy)
