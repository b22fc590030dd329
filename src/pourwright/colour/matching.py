"""Matching: which doses of which pastes give the wanted colour at this film over this primer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.colorant import Colorant
from pourwright.colour.colorimetry import to_lab
from pourwright.colour.difference import delta_e_2000, turned
from pourwright.colour.finish import Finish
from pourwright.colour.metamers import metamerism_spread
from pourwright.colour.problem import Problem
from pourwright.colour.recipe import RESIN_DENSITY, STOP_LOAD, Recipe, shade_from_recipe
from pourwright.colour.shade import BLACK_CARD, Undercoat
from pourwright.colour.spectrum import colour_shift, metamerism
from pourwright.colour.stack import stack_reflectance
from pourwright.colour.wanted import check_palette, check_target
from pourwright.errors import InputError
from pourwright.words import Listed, joined, say

Floats = NDArray[np.float64]

PALETTE = (
    "white-rutile",
    "black-carbon",
    "ochre",
    "red-oxide",
    "umber",
    "ultramarine",
    "viridian",
    "green-phthalo",
    "blue-phthalo",
    "yellow-organic",
    "magenta-quinacridone",
)
"""Pastes tried when none are named."""
REACHED = 1.0
"""dE00 up to which a target counts as reached."""
_MIN = 1e-7


@dataclass(frozen=True, eq=False)
class Match:
    """What the matcher found.

    Parameters
    ----------
    recipe : Recipe [kg/kg]
        Doses; load it into `dose_recipe`.
    reflectance : ndarray [-]
        Predicted, shape (31,), in air.
    lab, target_lab : ndarray [-]
        Predicted and wanted, for the light and observer asked for.
    de00 : float [-]
        Between them.
    contrast : float [-]
        Contrast ratio of the film in air.
    reached : bool [-]
        Whether de00 is at most `REACHED` and load and hiding goals hold.
    reason : str [-]
        Why not, and what would help; empty when reached.
    metamerism : dict of str to float [-]
        dE00 under each other light after the residual under the first is taken off
        (multiplicatively, CIE). For a Lab target the middle over surfaces that have that colour;
        empty where none has.
    metamerism_range : dict of str to (float, float, float) [-]
        For a Lab target: its 5, 50 and 95 % points over those surfaces. For a spectral one, empty.
    shift : dict of str to float [-]
        How far the recipe's own colour moves from D65 to each other light [dE00].
    """

    recipe: Recipe
    reflectance: Floats
    lab: Floats
    target_lab: Floats
    de00: float
    contrast: float
    reached: bool
    reason: str
    metamerism: dict[str, float] = field(default_factory=dict)
    metamerism_range: dict[str, tuple[float, float, float]] = field(default_factory=dict)
    shift: dict[str, float] = field(default_factory=dict)


def _solve(p: Problem, start: Floats, steps: int = 40) -> tuple[Floats, float]:
    from scipy.optimize import least_squares

    low, high = np.log(_MIN), np.log(np.maximum(p.most, 2e-7))
    fit = least_squares(
        p.value,
        np.clip(start, low + 1e-6, high - 1e-6),
        jac=p.slope,
        bounds=(low, high),
        max_nfev=steps,
        xtol=1e-6,
        ftol=1e-7,
    )
    return fit.x, 2 * float(fit.cost)


def _starts(m: int, max_load: float, count: int) -> list[Floats]:
    rng = np.random.default_rng(7)
    first = np.full(m, np.log(max_load / (4 * m)))
    return [first] + [
        np.log(max_load / 3) + np.log(rng.dirichlet(np.full(m, 0.6)) + 1e-4)
        for _ in range(count - 1)
    ]


def _polish(p: Problem, logs: Floats, rounds: int = 2) -> tuple[Floats, float]:
    cost = np.inf
    for _ in range(rounds):
        p.correct(np.exp(logs))
        logs, cost = _solve(p, logs)
    return logs, cost


def _de(p: Problem, logs: Floats) -> float:
    r = p.seen(np.exp(logs))[0]
    return float(delta_e_2000(to_lab(r, p.light, p.observer), p.target_lab))


def match(
    target: ArrayLike,
    palette: Sequence[str | Colorant] = PALETTE,
    *,
    film: float = 1.5e-3,
    undercoat: Undercoat = BLACK_CARD,
    finish: Finish | None = None,
    max_load: float = STOP_LOAD,
    contrast: float | None = None,
    resin_density: float = RESIN_DENSITY,
    light: str = "D65",
    observer: str = "10",
    fewest: bool = True,
    catalogue: Any = None,
    name: str = "Matched shade",
) -> Match:
    """Doses that come nearest to a wanted colour.

    Parameters
    ----------
    target : array_like [-]
        L*, a*, b* (3 numbers) or reflectance in air (31 numbers, specular excluded).
    palette : sequence of str or Colorant [-]
        1 to 12 pastes without flakes; one with a limit on its own sheet is kept to it.
    film : float [m]
        Cured film thickness, 10e-6 to 0.05.
    undercoat : Undercoat [-]
        The primer.
    finish : Finish [-]
        Top surface.
    max_load : float [kg/kg]
        Most paste per mixed resin, 1e-5 to 0.3.
    contrast : float [-]
        Contrast ratio to reach as well, or None.
    resin_density : float [kg/m3]
        Cured density.
    light, observer : str [-]
        For which the target is meant.
    fewest : bool [-]
        Drop pastes that are not needed.
    catalogue : Catalogue [-]
        With the user's own pastes.
    name : str [-]
        Of the recipe.

    Returns
    -------
    Match [kg/kg]
        Least squares on CIELAB (or weighted spectrum) with soft walls for load and hiding; the
        prediction is the N-stream engine's. Uses SciPy.

    Raises
    ------
    InputError
        Target, palette, film or limits out of range.
    """
    finish = finish or Finish()
    want = check_target(target)
    pastes = check_palette(palette, catalogue)
    if not 1e-5 <= film <= 0.05:
        raise InputError("film", film, "0.01 to 50 mm", "Give the cured film thickness.")
    if not 1e-5 <= max_load <= 0.3:
        raise InputError("max_load", max_load, "0.001 to 30 % paste by mass", "Use 6 %.")
    if contrast is not None and not 0.5 <= contrast <= 0.999:
        raise InputError("contrast", contrast, "a contrast ratio of 0.5 to 0.999", "Use 0.98.")

    def problem(chosen: Sequence[Colorant], load: float, goal: float | None) -> Problem:
        return Problem(
            chosen, want, film, undercoat, finish, resin_density, load, goal, light, observer
        )

    p = problem(pastes, max_load, contrast)
    best, cost = _search(p, 3)
    best, cost = _polish(p, best)
    if _de(p, best) > 0.3:
        for start in _starts(len(pastes), max_load, 6)[3:]:
            other, c = _solve(p, start)
            if c < cost:
                best, cost = other, c
    if fewest:
        p, best = _prune(p, best, problem, max_load, contrast)
    best, _ = _polish(p, best)
    while p.goal is not None and p.wall < 1e3 and p.short(best) > 2e-4:
        # far from the target the pull of colour moves a soft wall: the goal itself stays
        p.wall *= 10
        best, _ = _polish(p, best, 1)
    doses = np.exp(best)
    keep = doses > 3 * _MIN
    recipe = Recipe(
        "match",
        name,
        {c.id: float(v) for c, v, k in zip(p.pastes, doses, keep) if k},
        {c.id: c for c, k in zip(p.pastes, keep) if k},
        film,
    )
    if recipe.load > max_load:
        recipe = replace(
            recipe, doses={k: v * max_load / recipe.load for k, v in recipe.doses.items()}
        )
    found = _judge(recipe, p, undercoat, max_load, contrast)
    if not found.reached:
        found = replace(found, reason=_reason(found, p, best, problem, max_load, contrast))
    return found


def _search(p: Problem, count: int) -> tuple[Floats, float]:
    best, cost = np.zeros(0), np.inf
    for start in _starts(len(p.pastes), p.max_load, count):
        x, c = _solve(p, start)
        if c < cost:
            best, cost = x, c
        if cost < 0.05:
            break
    return best, cost


def _prune(
    p: Problem, logs: Floats, problem: Any, max_load: float, goal: float | None
) -> tuple[Problem, Floats]:
    """Take pastes out one by one while the colour stays."""
    base = _de(p, logs)
    allowed = max(base + 0.05, 0.08)

    def cost_of(q: Problem, x: Floats) -> float:
        r = q.residuals(x)
        return float(np.sum(r[: -len(q.pastes)] ** 2))

    limit = cost_of(p, logs) + 0.02
    while len(p.pastes) > 1:
        doses = np.exp(logs)
        r0 = p.residuals(logs)
        effect = []
        for i in range(len(doses)):
            less = logs.copy()
            less[i] = np.log(_MIN)
            effect.append(float(np.sum((p.residuals(less) - r0) ** 2)))
        done = True
        for i in np.argsort(effect)[:3]:
            rest = [c for j, c in enumerate(p.pastes) if j != i]
            q = problem(rest, max_load, goal)
            q.offset = p.offset
            x, _ = _solve(q, np.delete(logs, i), 25)
            if _de(q, x) <= allowed and cost_of(q, x) <= limit:
                p, logs, done = q, x, False
                break
        if done:
            break
    return p, logs


def _judge(
    recipe: Recipe, p: Problem, undercoat: Undercoat, max_load: float, goal: float | None
) -> Match:
    from pourwright.colour.contrast import contrast_over

    shade = shade_from_recipe(recipe, p.density)
    r = stack_reflectance([(shade, p.film)], undercoat, p.finish)
    lab = to_lab(r, p.light, p.observer)
    de = float(delta_e_2000(lab, p.target_lab))
    cr = contrast_over(shade, p.film, p.finish)
    ok = de <= REACHED and recipe.load <= max_load * 1.0001 and (goal is None or cr >= goal)
    others = [x for x in ("D65", "A", "LED-B3") if x != p.light]
    if p.spectral:
        meta, wide = {x: metamerism(p.target, r, p.light, x, p.observer) for x in others}, {}
    else:
        wide = metamerism_spread(p.target, r, p.light, others, p.observer)
        meta = {x: s[1] for x, s in wide.items()}
    shift = {x: colour_shift(r, "D65", x, p.observer) for x in ("A", "LED-B3")}
    return Match(recipe, r, lab, p.target_lab, de, cr, ok, "", meta, wide, shift)


def _reason(
    found: Match, p: Problem, logs: Floats, problem: Any, max_load: float, goal: float | None
) -> str:
    if p.target_lab[0] > 60 and found.recipe.load < 1e-4 and goal is None:
        return "No paste brings it nearer over this primer."
    hints = []
    nearly = 0.6 * found.de00  # a limit that costs less than this share of the miss is not named
    free = problem(p.pastes, min(0.3, 5 * max_load), goal)
    x, _ = _polish(free, _search(free, 2)[0], 1)
    de, load = _de(free, x), 100 * np.exp(x).sum()
    if de <= REACHED:
        hints.append(
            say("load: it would need about {load:.1f} % paste, above the limit of {most:g} %; tint "
                "the primer near the target, or pour thicker", load=load, most=100 * max_load)
        )  # fmt: skip
    elif de < nearly:
        hints.append(
            say("load: {load:.1f} % paste would come within {de00:.1f} dE00, above the limit of "
                "{most:g} %; tint the primer near the target, or pour thicker",
                load=load, de00=de, most=100 * max_load)
        )  # fmt: skip
    if goal is not None:
        clear = problem(p.pastes, max_load, None)
        x, _ = _polish(clear, _search(clear, 2)[0], 1)
        de = _de(clear, x)
        if de <= REACHED:
            hints.append(
                say("hiding: the colour is reachable, but not at contrast {goal:g} within the load "
                    "limit; tint the primer near the target", goal=goal)
            )  # fmt: skip
        elif de < nearly:
            hints.append(
                say("hiding: without the goal of contrast {goal:g} it would come within {de00:.1f} "
                    "dE00; tint the primer near the target", goal=goal, de00=de)
            )  # fmt: skip
    gamut = (
        "gamut: these pastes cannot make it at this film over this primer; add a cleaner"
        " paste or change the primer"
    )
    say_hints = joined("; ", hints or [gamut])
    parts = turned(p.target_lab, found.lab)
    if not parts:
        return say("Not reachable, nearest is {de00:.1f} dE00 away. {hints}.", de00=found.de00,
                   hints=say_hints)  # fmt: skip
    return say("Not reachable, nearest is {de00:.1f} dE00 away: {parts}. {hints}.",
               de00=found.de00, parts=Listed(parts), hints=say_hints)  # fmt: skip
