"""A torch pass as local heat: where the flame went, how warm the film got there, which bubbles rise.

A warmed film is thinner for a while: mobility 1 + (GAIN - 1) heat, heat 1 on the flame's track and
falling off beside it. The flow it adds where it is warmest is what the score says; the film solver
takes the map (docs/film.md). The little cure that the warmth brings is left out.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.pattern.domain import Domain
from pourwright.pattern.noise import stream
from pourwright.pattern.paths import Current, Place, _along, _shift, _smooth_random
from pourwright.pattern.score import Score, Torch

_A = NDArray[np.float64]
GAIN = (
    6.0  # viscosity of the cool over that of the torched film [-]; common practice: halves in 10 K
)
STROKE = 0.45  # length of one sweep of the flame [m]; common practice
G = 9.81  # [m/s2]


def warmth(
    move: Torch, score: Score, index: int, domain: Domain, place: Place, factor: float, seed: int
) -> _A:
    """How warm a torch pass makes the film, relative to the flame's own track.

    Parameters
    ----------
    move : Torch [-]
        The move: breadth of its track, share of the surface it covers.
    score : Score [-]
        Its score.
    index : int [-]
        Its number in the score.
    domain : Domain [m]
        The film's grid.
    place : Place [m]
        Where the flame may go.
    factor : float [-]
        Factor on composition lengths.
    seed : int [-]
        Seed of the pour.

    Returns
    -------
    array [-]
        0 to 1 on the film grid; exp(-(2 d/breadth)^2) at a distance d from the flame's line. Sweeps
        are laid until `cover` of the surface is at 1/e or warmer.
    """
    from scipy.ndimage import distance_transform_edt

    rng = stream(seed, f"move{index}")
    current = Current(score.composition, factor, seed + 2)
    breadth = move.flame_mm * 1e-3
    line = np.zeros(domain.shape, bool)
    far = np.full(domain.shape, np.inf)
    reach = 0.5 * breadth
    for n in range(400):
        cold = domain.wet & (far > reach)
        if n and cold.sum() <= (1 - move.cover) * domain.wet.sum():
            break
        # a hand goes where it has not been
        i, j = np.nonzero(cold)
        k = int(rng.integers(len(i)))
        x, y = (domain.x0 + (j[k] + 0.5) * domain.cell, domain.y0 + (i[k] + 0.5) * domain.cell)
        turn = math.radians(90.0) + 0.4 * rng.normal()
        want = max(STROKE * float(np.exp(0.3 * rng.normal())), breadth)
        pts = current.trace(float(x), float(y), want, 0.5 * domain.cell, turn, place)
        if len(pts) > 8:
            pts = _shift(pts, 0.25 * breadth * _smooth_random(rng, _along(pts), 3 * breadth))
        a = np.floor((pts[:, 1] - domain.y0) / domain.cell).astype(int)
        b = np.floor((pts[:, 0] - domain.x0) / domain.cell).astype(int)
        ok = (a >= 0) & (a < line.shape[0]) & (b >= 0) & (b < line.shape[1])
        line[a[ok], b[ok]] = True
        line[i[k], j[k]] = True
        far = np.asarray(distance_transform_edt(~line)) * domain.cell
    return np.where(domain.wet, np.exp(-((far / reach) ** 2)), 0.0)


def mobility(heat: _A, extra: float, own: float) -> tuple[float, _A]:
    """How a torch pass is run: flow used while the film is warm, and the film's mobility then.

    Parameters
    ----------
    heat : array [-]
        From `warmth`.
    extra : float [1/Pa]
        Flow that the warmth adds where `heat` is 1.
    own : float [1/Pa]
        Flow that the cool film has during the pass.

    Returns
    -------
    tuple of float and array [1/Pa, -]
        Amount to run and mobility: cool places flow by no more than their own, warm ones by
        `extra` x heat besides. The rest of `own` is left for afterwards.
    """
    amount = extra / (GAIN - 1.0)
    cool = min(1.0, own / amount)
    return amount, np.maximum(cool + (GAIN - 1.0) * heat, 1e-6)


def escaping_bubble(film: float, flow: float, density: float = 1100.0) -> float:
    """The narrowest bubble that rises from the ground out of a film.

    Parameters
    ----------
    film : float [m]
        Thickness of the film, above 0.
    flow : float [1/Pa]
        Flow left when the bubble starts, above 0.
    density : float [kg/m3]
        Of the resin.

    Returns
    -------
    float [m]
        Diameter sqrt(18 film/(density g flow)). A clean sphere in still resin; many bubbles stop
        below the skin, where a torch or a brush breaks them.

    Raises
    ------
    InputError
        A film or flow not above 0.

    Source: Stokes 1851 (rise of a small sphere, d^2 density g/(18 viscosity)), from memory;
    integrated over flow left.
    """
    for name, value in (("film", film), ("flow", flow), ("density", density)):
        if not (math.isfinite(value) and value > 0):
            raise InputError(name, value, "above 0", "Give a positive number.")
    return math.sqrt(18.0 * film / (density * G * flow))
