"""What the matcher makes small: colour, load and hiding of a palette at one film."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.colorant import Colorant
from pourwright.colour.colorimetry import to_lab, weights, xyz_to_lab
from pourwright.colour.finish import Finish
from pourwright.colour.recipe import Recipe, shade_from_recipe
from pourwright.colour.shade import BLACK_CARD, WHITE_CARD, Undercoat
from pourwright.colour.stack import stack_reflectance
from pourwright.colour.twoflux import film_twin

Floats = NDArray[np.float64]


class Problem:
    """Residuals of one palette: fast twin plus the engine's correction.

    Parameters
    ----------
    pastes : sequence of Colorant [m2/kg]
        The palette.
    target : ndarray [-]
        Lab, shape (3,), or spectrum, shape (31,).
    film : float [m]
        Cured film thickness.
    undercoat : Undercoat [-]
        The primer.
    finish : Finish [-]
        Top surface.
    density : float [kg/m3]
        Of the cured resin.
    max_load : float [kg/kg]
        Most paste.
    goal : float or None [-]
        Contrast ratio to reach.
    light, observer : str [-]
        For which the target is meant.
    """

    def __init__(
        self,
        pastes: Sequence[Colorant],
        target: Floats,
        film: float,
        undercoat: Undercoat,
        finish: Finish,
        density: float,
        max_load: float,
        goal: float | None,
        light: str,
        observer: str,
    ) -> None:
        self.pastes = list(pastes)
        self.k = np.array([c.k for c in pastes])
        self.s = np.array([c.s for c in pastes])
        self.volume = np.array([1 / c.density for c in pastes])
        self.target, self.film, self.finish, self.density = target, film, finish, density
        self.most = np.array([min(max_load, c.load_limit or max_load) for c in pastes])
        self.max_load, self.goal, self.light, self.observer = max_load, goal, light, observer
        grounds = [undercoat.inside]
        if goal is not None:
            grounds += [WHITE_CARD.inside, BLACK_CARD.inside]
        self.grounds = np.array(grounds)
        self.spectral = target.size == 31
        w = weights(light, observer)
        self.weights = w
        self.root = np.sqrt(w.sum(axis=1)) * 60
        self.target_lab = to_lab(target, light, observer) if self.spectral else target
        self.offset: Floats = np.zeros((len(grounds), 31))
        self.wall = 1.0

    def seen(self, doses: Floats) -> Floats:
        """Reflectance over each ground, doses of shape (..., pastes)."""
        v = 1 / self.density + doses @ self.volume
        kx = (doses @ self.k) * (self.film / v[..., None])
        sx = (doses @ self.s) * (self.film / v[..., None])
        r = film_twin(kx[..., None, :], sx[..., None, :], self.grounds, self.finish.n)
        return np.maximum(r + self.finish.veil + self.offset, 1e-6)

    def correct(self, doses: Floats) -> None:
        """Make twin and engine agree at these doses."""
        exact = np.array(
            [
                stack_reflectance([(self.shade(doses), self.film)], Undercoat("g", g), self.finish)
                for g in self.grounds
            ]
        )
        self.offset = np.zeros_like(exact)
        self.offset = exact - self.seen(doses)

    def shade(self, doses: Floats) -> Any:
        d = {c.id: float(v) for c, v in zip(self.pastes, doses)}
        recipe = Recipe("match", "Match", d, {c.id: c for c in self.pastes})
        return shade_from_recipe(recipe, self.density)

    def residuals(self, logs: Floats) -> Floats:
        """Shape (..., residuals) for log doses of shape (..., pastes)."""
        doses = np.exp(logs)
        r = self.seen(doses)
        lab = xyz_to_lab(r[..., 0, :] @ self.weights, self.light, self.observer)
        if self.spectral:
            parts = [(r[..., 0, :] - self.target) * self.root, 0.3 * (lab - self.target_lab)]
        else:
            parts = [lab - self.target_lab]
        load = doses.sum(axis=-1)
        parts.append(self.wall * 60 * np.maximum(load / self.max_load - 0.999, 0.0)[..., None])
        if self.goal is not None:
            y = r[..., 1:, :] @ self.weights[:, 1]
            short = np.maximum(self.goal + 2e-4 - y[..., 1] / y[..., 0], 0)
            parts.append(self.wall * 300 * short[..., None])
        parts.append(0.012 * np.log1p(doses / 1e-4))
        return np.concatenate(parts, axis=-1)

    def short(self, logs: Floats) -> float:
        """How far contrast stays below its goal [-]."""
        y = self.seen(np.exp(logs))[1:] @ self.weights[:, 1]
        return float((self.goal or 0.0) - y[1] / y[0])

    def value(self, logs: Floats) -> Floats:
        return self.residuals(logs)

    def slope(self, logs: Floats) -> Floats:
        h = 2e-3
        m = logs.size
        points = np.concatenate([logs + h * np.eye(m), logs - h * np.eye(m)])
        r = self.residuals(points)
        return ((r[:m] - r[m:]) / (2 * h)).T
