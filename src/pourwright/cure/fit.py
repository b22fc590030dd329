"""A resin from its data sheet: the likeliest constants, their range, and what to ask next.

Maximum a posteriori by least squares with the priors appended, every unknown in units of its prior
standard deviation; Laplace's normal approximation for the range, checked by importance sampling in
the tests. All derivatives come from one vectorised run of the forward model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.forward import predict
from pourwright.cure.prior import NAMES, PRIORS, Prior, prior_for
from pourwright.cure.resin import Resin
from pourwright.cure.sheet import SheetLine, check_sheet, is_log, shown_value
from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.calc.sampling import Draws
    from pourwright.catalogue.model import Material

_Array = NDArray[np.float64]

STEP = 0.03  # of a prior standard deviation, for derivatives [-]
SURPRISE = 13.8  # chi-square of two lines at 1 in 1000 [-]
ALONE = 4.0  # by which a pair must be worse than its worse line alone to be a fight [-]


@dataclass(frozen=True, slots=True)
class LineFit:
    """How a line is met: its name, given and fitted figures [SI], and residual in its own sd."""

    name: str
    given: float
    fitted: float
    residual: float


@dataclass(frozen=True, eq=False)
class SheetFit:
    """A fitted resin.

    Parameters
    ----------
    prior : Prior [-]
        What it started from.
    best : array [-]
        Likeliest standardised unknowns, shape (p,).
    covariance : array [-]
        Of the standardised unknowns, shape (p, p).
    lines : tuple of LineFit [-]
        Given and fitted figures.
    sheet : tuple of SheetLine [-]
        What was given.
    strain : float [-]
        Misfit plus distance from the prior, chi-square; about the number of lines when all is well.
    """

    prior: Prior
    best: _Array
    covariance: _Array
    lines: tuple[LineFit, ...]
    sheet: tuple[SheetLine, ...]
    strain: float

    @property
    def resin(self) -> Resin:
        """The likeliest resin, one sample [SI]."""
        return self.prior.resin(self.best[None, :])

    def laplace(self, draws: Draws, widen: float = 1.0) -> _Array:
        """Standardised unknowns [-] from the normal approximation, shape (count, p)."""
        z = np.stack([draws.normal(f"cure.fit.{name}") for name in NAMES], axis=1)
        return np.asarray(self.best + widen * z @ np.linalg.cholesky(self.covariance).T)

    def weigh(self, u: _Array, widen: float = 1.0) -> _Array:
        """Importance weights [-] of draws from `laplace`, shape (k,), summing to 1."""
        r = _Model(self.prior, self.sheet).scaled(predict(self.prior.resin(u), self.sheet))
        away = np.linalg.solve(np.linalg.cholesky(self.covariance), (u - self.best).T) / widen
        log = -0.5 * ((r**2).sum(axis=1) + (u**2).sum(axis=1) - (away**2).sum(axis=0))
        w = np.exp(log - log.max())
        return np.asarray(w / w.sum())

    def unknowns(self, draws: Draws, pool: int = 4) -> _Array:
        """Standardised unknowns [-] from the posterior, shape (count, p).

        Parameters
        ----------
        draws : Draws [-]
            Common random numbers.
        pool : int [-]
            Draws from the normal approximation per sample kept; they are weighed by the exact
            posterior and picked by weight, which takes out most of what the approximation bends.
            0 leaves the approximation as it is.

        Returns
        -------
        array [-]
            Shape (draws.count, p).
        """
        from pourwright.calc.sampling import Draws as Sampler

        if pool == 0:
            return self.laplace(draws)
        wide = Sampler(draws.seed, draws.count * pool)
        u = self.laplace(wide, 1.15)
        w = np.minimum(self.weigh(u, 1.15), 8.0 / draws.count)
        marks = (np.arange(draws.count) + 0.5) / draws.count
        picked = np.searchsorted(np.cumsum(w) / w.sum(), marks)
        order = np.argsort(draws.uniform("cure.fit.order"))
        return u[np.minimum(picked, len(u) - 1)][order]

    def samples(self, draws: Draws, pool: int = 4) -> Resin:
        """Resins drawn from the posterior [SI], `draws.count` of them; see `unknowns`."""
        return self.prior.resin(self.unknowns(draws, pool))

    def spread(self, name: str) -> tuple[float, float, float]:
        """5, 50 and 95 % points of an unknown by name [its own unit]."""
        i = NAMES.index(name)
        mid = self.prior.mean[i] + self.prior.sd[i] * self.best[i]
        half = 1.6448536 * self.prior.sd[i] * float(np.sqrt(self.covariance[i, i]))
        out = np.array([mid - half, mid, mid + half])
        if PRIORS[i][1]:
            out = np.exp(out)
        return float(out[0]), float(out[1]), float(out[2])

    def expect(self, line: SheetLine, draws: Draws) -> _Array:
        """Samples of any figure [SI], shape (count,)."""
        return predict(self.samples(draws), [line])[:, 0]


def fit_sheet(
    lines: Sequence[SheetLine], material: Material | Prior, *, refuse: bool = True
) -> SheetFit:
    """The likeliest resin behind a data sheet.

    Parameters
    ----------
    lines : sequence of SheetLine [-]
        One or more figures.
    material : Material or Prior [-]
        The class nearest to the product, or a prior made from it.
    refuse : bool [-]
        True refuses a sheet whose lines fight; False fits it all the same.

    Returns
    -------
    SheetFit [SI]
        Likeliest constants with their range.

    Raises
    ------
    InputError
        No line, or two lines that cannot both hold, by name.

    Source: maximum a posteriori with Laplace's approximation; method as in Abali et al. 2021,
    Materials 14, 3853 (trust-region inverse analysis), priors as listed in docs/cure.md.
    """
    from scipy.optimize import least_squares

    sheet = tuple(lines)
    if not sheet:
        raise InputError(
            "sheet", "no figure", "at least one is needed", "Give a gel time with mass and degC."
        )
    check_sheet(sheet)
    prior = material if isinstance(material, Prior) else prior_for(material)
    model = _Model(prior, sheet)
    u = np.zeros(len(NAMES))
    # a rough start: shift the rate so that the times are right on average
    r0 = model.residuals(u)
    timed = [i for i, x in enumerate(sheet) if x.kind not in ("viscosity", "tg", "hdt", "heat")]
    shift = [r0[i] * sheet[i].sigma for i in timed if sheet[i].kind != "peak"]
    if shift:
        u[0] = float(np.clip(np.median(shift) / prior.sd[0], -4.0, 4.0))
    found = least_squares(
        lambda x: np.concatenate([model.residuals(x), x]),
        u,
        jac=lambda x: np.vstack([model.jacobian(x), np.eye(x.size)]),
        method="trf",
        x_scale=1.0,
        ftol=1e-4,
        xtol=1e-3,
        gtol=1e-4,
        max_nfev=30,
    )
    best = np.asarray(found.x)
    res, jac = model.residuals(best), model.jacobian(best)
    covariance = np.linalg.inv(jac.T @ jac + np.eye(best.size))
    strain = float(res @ res + best @ best)
    if refuse:
        _refuse_fights(sheet, res, res - jac @ best, jac, strain)
    fitted = predict(prior.resin(best[None, :]), sheet)[0]
    return SheetFit(
        prior,
        best,
        0.5 * (covariance + covariance.T),
        tuple(
            LineFit(x.name, x.value, float(f), float(r))
            for x, f, r in zip(sheet, fitted, res, strict=True)
        ),
        sheet,
        strain,
    )


class _Model:
    """Residuals and their derivatives at standardised unknowns."""

    def __init__(self, prior: Prior, lines: Sequence[SheetLine]) -> None:
        self.prior = prior
        self.lines = lines
        self.value = np.array([x.value for x in lines])
        self.sigma = np.array([x.sigma for x in lines])
        self.log = np.array([is_log(x) for x in lines])
        self.seen: tuple[bytes, _Array, _Array] | None = None

    def scaled(self, figures: _Array) -> _Array:
        safe = np.maximum(figures, 1e-12)
        gap = np.where(self.log, np.log(safe / self.value), figures - self.value)
        return np.asarray(gap / self.sigma)

    def both(self, u: _Array) -> tuple[_Array, _Array]:
        key = u.tobytes()
        if self.seen is None or self.seen[0] != key:
            p = u.size
            points = np.vstack([u, u + STEP * np.eye(p), u - STEP * np.eye(p)])
            r = self.scaled(predict(self.prior.resin(points), self.lines))
            self.seen = (key, r[0], ((r[1 : p + 1] - r[p + 1 :]) / (2 * STEP)).T)
        return self.seen[1], self.seen[2]

    def residuals(self, u: _Array) -> _Array:
        return self.both(u)[0]

    def jacobian(self, u: _Array) -> _Array:
        return self.both(u)[1]


def _refuse_fights(
    sheet: Sequence[SheetLine], res: _Array, gap: _Array, jac: _Array, strain: float
) -> None:
    """Refuse a sheet if two lines, or one line and the prior, cannot both hold.

    With residuals linear in the unknowns, a set of lines alone has chi-square g' (J J' + 1)^-1 g;
    where the model bends too much for that, the residuals left by the best fit tell.
    """
    from scipy.special import chdtri

    n = len(sheet)
    pull = jac @ jac.T
    cov = pull + np.eye(n)
    single = gap**2 / np.diag(cov)
    worst, pair = SURPRISE, None
    for i in range(n):
        for j in range(i + 1, n):
            sub = cov[np.ix_([i, j], [i, j])]
            chi = float(gap[[i, j]] @ np.linalg.solve(sub, gap[[i, j]]))
            # a fight: together far worse than either alone
            if chi > worst and chi - max(single[i], single[j]) > ALONE:
                worst, pair = chi, (i, j)
    if pair is None and strain > float(chdtri(n, 0.001)):
        worst = 3.0
        for i in range(n):
            for j in range(i + 1, n):
                against = res[i] * res[j] * pull[i, j] < 0
                if against and min(abs(res[i]), abs(res[j])) > 1.0:
                    both = abs(res[i]) + abs(res[j])
                    if both > worst:
                        worst, pair = both, (i, j)
    if pair is not None:
        a, b = sheet[pair[0]], sheet[pair[1]]
        raise InputError(
            a.name,
            shown_value(a),
            say(
                "it fights with '{other}' ({value}): no such resin has both",
                other=b.name,
                value=shown_value(b),
            ),
            say(
                "Check '{one}' and '{other}' on the sheet (unit, mass, temperature), or leave the "
                "doubtful one out.",
                one=a.name,
                other=b.name,
            ),
        )
    lone = int(np.argmax(single))
    if single[lone] > 2 * SURPRISE or (n == 1 and strain > 2 * SURPRISE):
        a = sheet[lone]
        raise InputError(
            a.name,
            shown_value(a),
            "it is far outside what this class of resins can do",
            "Check its unit, mass and temperature, or choose another class.",
        )
