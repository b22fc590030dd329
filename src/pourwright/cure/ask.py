"""Which further figure of a data sheet would narrow an answer most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pourwright.cure.fit import STEP, SheetFit
from pourwright.cure.forward import predict
from pourwright.cure.sheet import SheetLine, is_log


@dataclass(frozen=True, slots=True)
class NextFigure:
    """A further figure and what it would do.

    Parameters
    ----------
    line : SheetLine [-]
        The figure to ask for, with the value expected.
    spread_now, spread_then : float [-]
        Standard deviation of the target's logarithm (or in K) before and after.
    """

    line: SheetLine
    spread_now: float
    spread_then: float


def next_figures(
    fit: SheetFit, target: SheetLine, candidates: Sequence[SheetLine] | None = None
) -> list[NextFigure]:
    """Which further figure would narrow a target most.

    Parameters
    ----------
    fit : SheetFit [-]
        From `fit_sheet`.
    target : SheetLine [-]
        What one wants to know, e.g. recoat on site; its value is not used.
    candidates : sequence of SheetLine or None [-]
        Figures that one could ask for; None takes usual ones, a second temperature among them.

    Returns
    -------
    list of NextFigure [-]
        Best first. Linear about the fit: reduction of variance by one more observation.

    Source: linear Gaussian experimental design (D. V. Lindley 1956, from memory).
    """
    ask = list(candidates) if candidates is not None else usual_candidates(fit, target)
    known = {(x.kind, round(x.temperature_K), x.mass_kg) for x in fit.sheet}
    ask = [x for x in ask if (x.kind, round(x.temperature_K), x.mass_kg) not in known]
    probe = [target, *ask]
    p = fit.best.size
    points = np.vstack([fit.best, fit.best + STEP * np.eye(p), fit.best - STEP * np.eye(p)])
    figures = predict(fit.prior.resin(points), probe)
    log = np.array([is_log(x) for x in probe])
    scale = np.where(log, np.log(np.maximum(figures, 1e-12)), figures)
    jac = ((scale[1 : p + 1] - scale[p + 1 :]) / (2 * STEP)).T
    cov = fit.covariance
    g = jac[0]
    now = float(g @ cov @ g)
    out = []
    for i, line in enumerate(ask, start=1):
        j = jac[i]
        cj = cov @ j
        then = now - float(g @ cj) ** 2 / (float(j @ cj) + line.sigma**2)
        expected = SheetLine(
            line.kind, float(figures[0, i]), line.temperature_K, line.mass_kg, line.cured_s,
            line.spread, line.label,
        )  # fmt: skip
        out.append(NextFigure(expected, now**0.5, max(then, 0.0) ** 0.5))
    return sorted(out, key=lambda x: x.spread_then)


def usual_candidates(fit: SheetFit, target: SheetLine) -> list[SheetLine]:
    """Figures that sheets give or a shop can time, for `next_figures`.

    Parameters
    ----------
    fit : SheetFit [-]
        From `fit_sheet`.
    target : SheetLine [-]
        What one wants to know; if it can be timed in a shop, it is no candidate itself.

    Returns
    -------
    list of SheetLine [SI]
        With the values that the fit expects.
    """
    cold, warm = 288.15, 298.15
    fresh = [
        SheetLine("cup_gel", 3600.0, cold, 0.1),
        SheetLine("cup_gel", 1800.0, warm, 0.1),
        SheetLine("tack_free", 20000.0, cold),
        SheetLine("tack_free", 10000.0, warm),
        SheetLine("recoat_open", 20000.0, warm),
        SheetLine("recoat_close", 40000.0, warm),
        SheetLine("peak", 400.0, warm, 0.1),
        SheetLine("viscosity", 1.0, warm),
        SheetLine("viscosity", 2.0, cold),
        SheetLine("tg", 320.0, warm),
        SheetLine("heat", 3e5),
    ]
    # long enough to be seen: take what the fit itself expects
    guess = predict(fit.resin, fresh)[0]
    out = []
    for line, value in zip(fresh, guess, strict=True):
        out.append(
            SheetLine(line.kind, float(np.clip(value, 11.0, 1e7)), line.temperature_K, line.mass_kg)
            if line.kind not in ("viscosity", "heat", "tg", "peak")
            else line
        )
    return out
