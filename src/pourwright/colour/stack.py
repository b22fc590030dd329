"""Reflectance of whole build-ups: coats of shades over an undercoat, under a gloss or matte top."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.bands import NB
from pourwright.colour.finish import Finish
from pourwright.colour.flakes import flake_coverage, flake_depth
from pourwright.colour.fresnel import saunderson
from pourwright.colour.km import km_over
from pourwright.colour.nstream import G_DEFAULT, coat_operators, stack_operator, streams, view
from pourwright.colour.shade import Shade, Undercoat
from pourwright.errors import InputError

Floats = NDArray[np.float64]
Coat = tuple[Shade, float]
"""A coat: its shade and its cured thickness [m]."""


def _check(coats: Sequence[Coat]) -> None:
    for i, (_, x) in enumerate(coats):
        if not (np.isfinite(x) and 0.0 <= x <= 0.1):
            raise InputError(
                f"coats[{i}].thickness",
                float(x),
                "0 to 100 mm",
                "Give the cured thickness of this coat.",
            )


def stack_reflectance(
    coats: Sequence[Coat],
    undercoat: Undercoat,
    finish: Finish | None = None,
    *,
    geometry: str = "diffuse",
    half: int = 4,
    glint: float = 1.0,
) -> Floats:
    """Reflectance of coats over an undercoat by the N-stream engine.

    Parameters
    ----------
    coats : sequence of (Shade, float) [m]
        Bottom coat first, each with its cured thickness; clear floods included.
    undercoat : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Top surface; default glossy, n = 1.55. Small index steps between coats are left out
        (0.03 % reflection from 1.50 to 1.55).
    geometry : str [-]
        ``diffuse`` or ``45/0``, see `nstream.view`.
    half : int [-]
        Directions per panel, see `nstream.streams`.
    glint : float [-]
        Brightness of flakes against a diffuser of equal reflectance; 1 for diffuse light.

    Returns
    -------
    ndarray [-]
        Shape (31,), mirror reflection of the surface left out, matte veil included.
    """
    finish = finish or Finish()
    _check(coats)
    st = streams(finish.n, half)
    plain = [(c, x) for c, x in coats if x > 0 and (c.k.any() or c.s.any() or c.flake_area > 0)]
    if not any(c.flake_area > 0 for c, _ in plain):
        k = np.array([c.k for c, _ in plain]).reshape(len(plain), NB)
        s = np.array([c.s for c, _ in plain]).reshape(len(plain), NB)
        r = stack_operator(
            k / 2,
            s * (4 / 3) / (1 - G_DEFAULT),
            [x for _, x in plain],
            undercoat.inside,
            st,
        )
        return view(r, st, geometry) + finish.veil
    white = np.outer(st.scale, st.scale) / np.sum(st.scale**2)
    eye = np.eye(st.mu.size)
    r = undercoat.inside[:, None, None] * white
    for c, x in plain:
        d = float(flake_depth(c.flake_area * x))
        sheets = [(1.0, False)] if c.flake_area == 0 else [(1 - d, True), (d, False)]
        for share, flakes_on_top in sheets:
            rc, tc = coat_operators(
                c.k / 2, c.s * (4 / 3) / (1 - G_DEFAULT), x * share, st, G_DEFAULT
            )
            r = rc + tc @ np.linalg.solve(eye - r @ rc, r @ tc)
            if flakes_on_top:
                p = float(flake_coverage(c.flake_area * x))
                rf = np.clip(p * glint * c.flake_colour, 0.0, p)[:, None, None] * white
                through = (1 - p + p * c.flake_through)[:, None, None]
                r = rf + through * np.linalg.solve(eye - r @ rf, r) * through
    return view(r, st, geometry) + finish.veil


def stack_reflectance_km(
    coats: Sequence[Coat], undercoat: Undercoat, finish: Finish | None = None
) -> Floats:
    """The same by two-flux theory and the Saunderson surface: the fast twin.

    Parameters
    ----------
    coats : sequence of (Shade, float) [m]
        Bottom coat first; flakes are left out.
    undercoat : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Top surface.

    Returns
    -------
    ndarray [-]
        Shape (31,). Within 1 L* of the engine for well-hiding, weakly absorbing coats; up to
        16 L* too dark for clear tinted films over white. Source: Kubelka 1948, Saunderson 1942.
    """
    finish = finish or Finish()
    _check(coats)
    r = undercoat.inside
    for c, x in coats:
        r = km_over(c.k, c.s, x, r)
    return saunderson(r, finish.n) + finish.veil
