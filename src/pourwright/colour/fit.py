"""Joint fit of absorption and scattering per dose from drawdowns over black and white card."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.bands import NB, as_bands
from pourwright.colour.fresnel import saunderson, saunderson_inverse
from pourwright.colour.nstream import G_DEFAULT, coat_operators, streams, view
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]
_LOW, _HIGH = np.log(1e-5), np.log(400.0)
_GRID = 56
_NOISE = 0.01
"""Scatter of the cube root of reflectance that is not film weight [-]; ten bands count as one
independent reading of it."""


@dataclass(frozen=True, eq=False)
class Drawdown:
    """One film drawn over known cards.

    Parameters
    ----------
    name : str [-]
        Shown name.
    doses : mapping of str to float [kg/m2]
        Mass per area of each component (or a mass fraction, if areas are unknown but equal).
    cards : sequence of ndarray [-]
        Reflectance in air of the bare cards, each shape (31,), specular excluded.
    films : sequence of ndarray [-]
        Reflectance of the film over each card, same order.
    """

    name: str
    doses: Mapping[str, float]
    cards: Sequence[Floats]
    films: Sequence[Floats]

    def __post_init__(self) -> None:
        if not self.doses or len(self.cards) != len(self.films) or not self.cards:
            raise InputError(
                self.name or "drawdown",
                f"{len(self.cards)} cards, {len(self.films)} films",
                "each film needs its card, and at least one component a dose",
                "Measure the bare card beside every film.",
            )
        for i, (c, f) in enumerate(zip(self.cards, self.films)):
            as_bands(c, f"{self.name}.cards[{i}]", 0.0, 1.0)
            as_bands(f, f"{self.name}.films[{i}]", 0.0, 1.0)


@lru_cache(maxsize=4)
def _film_splines(n: float) -> tuple[Any, Any, Any]:
    """Splines over (log K X, log S X) of a, b, c in R(rho) = a + b rho/(1 - c rho)."""
    from scipy.interpolate import RectBivariateSpline

    st = streams(n, 6)
    grid = np.linspace(_LOW, _HIGH, _GRID)
    kk, ss = (np.exp(v).ravel() for v in np.meshgrid(grid, grid, indexing="ij"))
    rc, tc = coat_operators(kk / 2, ss * (4 / 3) / (1 - G_DEFAULT), 1.0, st, G_DEFAULT)
    white = np.outer(st.scale, st.scale) / np.sum(st.scale**2)
    eye = np.eye(st.mu.size)
    out = []
    for rho in (0.0, 0.5, 1.0):
        b = rho * white
        out.append(view(rc + tc @ np.linalg.solve(eye - b @ rc, b @ tc), st))
    a = out[0]
    lo, hi = np.maximum(out[1] - a, 1e-14), np.maximum(out[2] - a, 2e-14)
    # lo = .5 b/(1-.5c), hi = b/(1-c)
    c = np.clip((hi - 2 * lo) / (hi - lo), 0.0, 0.999)
    b2 = hi * (1 - c)

    def spline(v: Floats) -> Any:
        return RectBivariateSpline(grid, grid, v.reshape(_GRID, _GRID))

    return spline(np.log(a)), spline(np.log(b2)), spline(c)


def film_over(kx: Floats, sx: Floats, rho: Floats, n: float) -> Floats:
    """Reflectance of films over diffuse backgrounds, from splines of the N-stream engine.

    Parameters
    ----------
    kx, sx : ndarray [-]
        Absorption and scattering depth, 1e-5 to 400 (clipped), any shape.
    rho : ndarray [-]
        Background inside the film.
    n : float [-]
        Refractive index.

    Returns
    -------
    ndarray [-]
        Same shape, specular excluded.
    """
    sa, sb, sc = _film_splines(n)
    u = np.clip(np.log(np.maximum(kx, 1e-300)), _LOW, _HIGH)
    v = np.clip(np.log(np.maximum(sx, 1e-300)), _LOW, _HIGH)
    a, b = np.exp(sa.ev(u, v)), np.exp(sb.ev(u, v))
    return a + b * rho / (1 - sc.ev(u, v) * rho)


@dataclass(frozen=True, eq=False)
class FittedSet:
    """Components fitted together.

    Parameters
    ----------
    k, s : dict of str to ndarray [m2/kg]
        Per dose unit, each shape (31,).
    n : float [-]
        Refractive index used.
    card_specular : float [-]
        Share of surface reflection assumed in the measured cards.
    model : str [-]
        "streams" or "two-flux".
    thickness : dict of str to float [-]
        Fitted relative film weight of each training drawdown.
    """

    k: dict[str, Floats]
    s: dict[str, Floats]
    n: float
    card_specular: float = 0.0
    model: str = "streams"
    thickness: dict[str, float] = field(default_factory=dict)

    def predict(self, doses: Mapping[str, float], card: Floats) -> Floats:
        """Reflectance of a mix over a card.

        Parameters
        ----------
        doses : mapping of str to float [kg/m2]
            Dose of each component, in the unit of the fit.
        card : ndarray [-]
            Reflectance of the bare card in air, shape (31,).

        Returns
        -------
        ndarray [-]
            Shape (31,), specular excluded.

        Raises
        ------
        InputError
            A component was not in the fit.
        """
        kx, sx = np.zeros(NB), np.zeros(NB)
        for name, dose in doses.items():
            if name not in self.k:
                raise InputError(
                    name,
                    dose,
                    say("fitted are {names}", names=", ".join(sorted(self.k))),
                    "Use one of them.",
                )
            kx = kx + dose * self.k[name]
            sx = sx + dose * self.s[name]
        rho = _inside(np.asarray(card, dtype=float), self.n, self.card_specular)
        if self.model == "two-flux":
            from pourwright.colour.km import km_over

            return saunderson(km_over(kx, sx, 1.0, rho), self.n)
        return film_over(kx, sx, rho, self.n)

    def film_weight(
        self, doses: Mapping[str, float], card: Floats, film: Floats, spread: float = 0.1
    ) -> float:
        """Relative weight of a film, from its reading over one card.

        Parameters
        ----------
        doses : mapping of str to float [kg/m2]
            Dose of each component in a film of weight 1.
        card : ndarray [-]
            Reflectance of the bare card in air, shape (31,).
        film : ndarray [-]
            Reflectance of the film over that card, shape (31,).
        spread : float [-]
            Standard deviation of log film weight between films, above 0.

        Returns
        -------
        float [-]
            Most likely weight, 0.3 to 3; near 1 where the film hides and the reading cannot tell.

        Raises
        ------
        InputError
            A component was not in the fit.
        """
        from scipy.optimize import minimize_scalar

        seen = np.cbrt(as_bands(film, "film", 0.0, 1.0))

        def cost(log_weight: float) -> float:
            scaled = {c: dose * np.exp(log_weight) for c, dose in doses.items()}
            miss = np.cbrt(np.maximum(self.predict(scaled, card), 1e-12)) - seen
            return float(miss @ miss / _NOISE**2 * 10 / NB + (log_weight / spread) ** 2)

        return float(np.exp(minimize_scalar(cost, bounds=(-1.1, 1.1), method="bounded").x))


def _inside(card: Floats, n: float, specular: float) -> Floats:
    return np.clip(saunderson_inverse(np.maximum(card, specular * 0.0401), n, specular), 1e-4, 1)


def fit_drawdowns(
    drawdowns: Sequence[Drawdown],
    *,
    n: float = 1.5,
    known: Mapping[str, tuple[Floats, Floats]] | None = None,
    start: Mapping[str, tuple[float, float]] | None = None,
    ridge: float = 1e-3,
    weight_spread: float = 0.0,
    card_specular: float = 0.0,
    model: str = "streams",
    rounds: int = 3,
) -> FittedSet:
    """Absorption and scattering per dose of every component of a set of drawdowns.

    Parameters
    ----------
    drawdowns : sequence of Drawdown [kg/m2]
        At least one film per unknown component, better several strengths and mixes with white.
    n : float [-]
        Refractive index of the films.
    known : mapping [m2/kg]
        Components whose k and s are given and stay fixed.
    start : mapping [m2/kg]
        Starting k and s for some components.
    ridge : float [-]
        Pull of log k and log s towards their start; keeps undetermined ones finite.
    weight_spread : float [-]
        Standard deviation of log film weight between drawdowns; 0 trusts the doses.
    card_specular : float [-]
        Share of surface reflection in the measured cards (0: excluded).
    model : str [-]
        "streams" (N-stream engine) or "two-flux" (Kubelka-Munk with Saunderson).
    rounds : int [-]
        Alternations between spectra and film weights when `weight_spread` is above 0.

    Returns
    -------
    FittedSet [m2/kg]
        Per-dose k and s. Least squares on cube roots of reflectance, log parameters, each band
        on its own; uses SciPy.

    Raises
    ------
    InputError
        No drawdowns.
    """
    if not drawdowns:
        raise InputError("drawdowns", 0, "at least one film", "Measure a drawdown.")
    known = dict(known or {})
    names = sorted({c for d in drawdowns for c, v in d.doses.items() if v > 0} - set(known))
    rows = [(i, j) for i, d in enumerate(drawdowns) for j in range(len(d.cards))]
    dose = np.array([[drawdowns[i].doses.get(c, 0.0) for c in names] for i, _ in rows])
    seen = np.array([drawdowns[i].films[j] for i, j in rows])
    rho = np.array([_inside(np.asarray(drawdowns[i].cards[j]), n, card_specular) for i, j in rows])
    base_k = np.zeros((len(rows), NB))
    base_s = np.zeros((len(rows), NB))
    for c, (kc, sc) in known.items():
        amount = np.array([drawdowns[i].doses.get(c, 0.0) for i, _ in rows])[:, None]
        base_k += amount * kc
        base_s += amount * sc
    which = np.array([i for i, _ in rows])
    weight = np.ones(len(drawdowns))
    typical = np.array([np.max(dose[:, c]) for c in range(len(names))]) if names else np.ones(0)
    init = np.log(
        np.array([(start or {}).get(c, (1.0 / t, 1.0 / t)) for c, t in zip(names, typical)])
    ).reshape(-1, 2)
    logs = np.repeat(np.concatenate([init[:, 0], init[:, 1]])[None, :], NB, axis=0)
    prior = logs.copy()
    for turn in range(rounds if weight_spread > 0 else 1):
        w = weight[which]
        for b in range(NB):
            logs[b] = _fit_band(
                dose * w[:, None],
                base_k[:, b] * w,
                base_s[:, b] * w,
                rho[:, b],
                np.cbrt(seen[:, b]),
                logs[b] if turn or b == 0 else logs[b - 1],
                prior[b],
                ridge,
                n,
                model,
            )
        if weight_spread > 0:
            weight = _fit_weights(
                dose,
                base_k,
                base_s,
                rho,
                np.cbrt(seen),
                logs,
                which,
                weight,
                weight_spread,
                n,
                model,
            )
    m = len(names)
    return FittedSet(
        {c: np.exp(logs[:, i]) for i, c in enumerate(names)} | {c: v[0] for c, v in known.items()},
        {c: np.exp(logs[:, m + i]) for i, c in enumerate(names)}
        | {c: v[1] for c, v in known.items()},
        n,
        card_specular,
        model,
        {d.name: float(v) for d, v in zip(drawdowns, weight)},
    )


def _forward(kx: Floats, sx: Floats, rho: Floats, n: float, model: str) -> Floats:
    if model == "two-flux":
        from pourwright.colour.km import km_over

        return saunderson(km_over(kx, sx, 1.0, rho), n)
    return film_over(kx, sx, rho, n)


def _fit_band(
    dose: Floats,
    base_k: Floats,
    base_s: Floats,
    rho: Floats,
    target: Floats,
    guess: Floats,
    prior: Floats,
    ridge: float,
    n: float,
    model: str,
) -> Floats:
    from scipy.optimize import least_squares

    m = dose.shape[1]

    def value(p: Floats) -> tuple[Floats, Floats, Floats]:
        e = np.exp(p)
        kx, sx = base_k + dose @ e[:m], base_s + dose @ e[m:]
        return kx, sx, np.cbrt(np.maximum(_forward(kx, sx, rho, n, model), 1e-12))

    def residual(p: Floats) -> Floats:
        return np.concatenate([value(p)[2] - target, np.sqrt(ridge) * 0.1 * (p - prior)])

    def slope(p: Floats) -> Floats:
        kx, sx, at = value(p)
        h = 1e-4
        dk = (np.cbrt(_forward(kx * (1 + h), sx, rho, n, model)) - at) / (h * kx)
        ds = (np.cbrt(_forward(kx, sx * (1 + h), rho, n, model)) - at) / (h * sx)
        e = np.exp(p)
        top = np.concatenate([dk[:, None] * dose * e[:m], ds[:, None] * dose * e[m:]], axis=1)
        return np.concatenate([top, np.sqrt(ridge) * 0.1 * np.eye(2 * m)])

    lo, hi = prior - 11.0, prior + 11.0
    fit = least_squares(
        residual, np.clip(guess, lo + 1e-6, hi - 1e-6), jac=slope, bounds=(lo, hi), xtol=1e-7
    )
    return fit.x


def _fit_weights(
    dose: Floats,
    base_k: Floats,
    base_s: Floats,
    rho: Floats,
    target: Floats,
    logs: Floats,
    which: NDArray[np.int64],
    weight: Floats,
    spread: float,
    n: float,
    model: str,
) -> Floats:
    """Relative film weight of each drawdown, one Gauss-Newton pass of three steps."""
    m = dose.shape[1]
    e = np.exp(logs)
    kx0, sx0 = base_k + dose @ e[:, :m].T, base_s + dose @ e[:, m:].T
    lw = np.log(weight)
    for _ in range(3):
        w = np.exp(lw)[which][:, None]
        at = np.cbrt(_forward(kx0 * w, sx0 * w, rho, n, model))
        up = np.cbrt(_forward(kx0 * w * 1.001, sx0 * w * 1.001, rho, n, model))
        j = (up - at) / np.log(1.001)
        num = np.bincount(which, ((target - at) * j).sum(1), lw.size) / _NOISE**2
        den = np.bincount(which, (j * j).sum(1), lw.size) / _NOISE**2
        lw = lw + (num - lw * NB / spread**2 / 10) / (den + NB / spread**2 / 10)
    return np.exp(lw - lw.mean())
