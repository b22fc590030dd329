"""Calibrating a user's own paste from swatches over black and white."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.colour.bands import BANDS, as_bands
from pourwright.colour.colorant import Colorant, colorant
from pourwright.colour.colorimetry import to_lab
from pourwright.colour.difference import delta_e_2000
from pourwright.colour.fresnel import N_RESIN, saunderson
from pourwright.colour.recipe import RESIN_DENSITY, Recipe, shade_from_recipe
from pourwright.colour.shade import Undercoat
from pourwright.colour.twoflux import film_twin
from pourwright.errors import InputError

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Swatch:
    """One film of known dose over one card.

    Parameters
    ----------
    doses : mapping of str to float [kg/kg]
        Paste per mixed resin, by colorant id; the paste under calibration among them.
    film : float [m]
        Cured thickness: weigh the resin poured on a known area rather than measure.
    undercoat : Undercoat [-]
        The card.
    lab : array_like [-]
        CIELAB in air, shape (3,); or
    reflectance : array_like [-]
        reflectance in air, specular excluded, shape (31,).
    observer : str [-]
        Of `lab`, D65: "10" from instruments usually, "2" from a photo.
    """

    doses: Mapping[str, float]
    film: float
    undercoat: Undercoat
    lab: Any = None
    reflectance: Any = None
    observer: str = "10"


@dataclass(frozen=True, eq=False)
class Calibration:
    """A calibrated paste and how well it explains its swatches.

    Parameters
    ----------
    colorant : Colorant [m2/kg]
        The paste; save it with `calibration_toml`.
    factor : float [-]
        Strength against the start, at its strongest band.
    de00 : tuple of float [-]
        Of each swatch, predicted against measured.
    held_out : float [-]
        Mean dE00 of each swatch predicted from the others; NaN with fewer than three.
    notes : tuple of str [-]
        What to know.
    """

    colorant: Colorant
    factor: float
    de00: tuple[float, ...]
    held_out: float
    notes: tuple[str, ...] = field(default_factory=tuple)


def calibrate(
    base: str | Colorant,
    swatches: Sequence[Swatch],
    *,
    ident: str = "my-paste",
    name: str = "My paste",
    n: float = N_RESIN,
    resin_density: float = RESIN_DENSITY,
    catalogue: Any = None,
) -> Calibration:
    """A paste from swatches.

    Parameters
    ----------
    base : str or Colorant [m2/kg]
        The library paste nearest in hue: the start, and with Lab swatches the shape.
    swatches : sequence of Swatch [kg/kg]
        1 to 60; best three doses (weak, strong, with white) over black and white each.
    ident, name : str [-]
        Of the new paste.
    n : float [-]
        Refractive index of the films.
    resin_density : float [kg/m3]
        Cured density.
    catalogue : Catalogue [-]
        With the user's own pastes.

    Returns
    -------
    Calibration [m2/kg]
        Spectra free all 31 k and s (class A from three doses over two cards, else B); Lab scales
        the base's strength, scattering and hue (class B). Uses SciPy.

    Raises
    ------
    InputError
        No swatch holds the paste, swatches mix Lab and spectra, or numbers are out of range.
    """
    start = colorant(base, catalogue)
    films = list(swatches)
    if not 1 <= len(films) <= 60:
        raise InputError("swatches", len(films), "1 to 60 swatches", "Add or drop some.")
    kinds = {s.reflectance is not None for s in films}
    if len(kinds) > 1 or any((s.lab is None) == (s.reflectance is None) for s in films):
        raise InputError(
            "swatches", "mixed", "all have a spectrum, or all have Lab", "Calibrate with one kind."
        )
    if not all(s.doses.get(start.id, 0.0) > 0 for s in films):
        raise InputError(
            "swatches", start.id, "every swatch holds the paste", "Take out the others."
        )
    for i, s in enumerate(films):
        if not 1e-6 <= s.film <= 0.05:
            raise InputError(f"swatches[{i}].film", s.film, "0.001 to 50 mm", "Correct it.")
    others = {k: colorant(k, catalogue) for s in films for k in s.doses if k != start.id}
    solve = _free if kinds == {True} else _scaled
    paste = solve(start, films, others, n, resin_density)
    errors = tuple(_error(paste, s, others, n, resin_density) for s in films)
    held = float("nan")
    if len(films) >= 3:
        held = float(
            np.mean(
                [
                    _error(
                        solve(start, films[:i] + films[i + 1 :], others, n, resin_density),
                        films[i],
                        others,
                        n,
                        resin_density,
                    )
                    for i in range(len(films))
                ]
            )
        )
    doses = {round(s.doses[start.id] * s.film * resin_density, 9) for s in films}
    cards = {s.undercoat.name for s in films}
    full = kinds == {True} and len(doses) >= 3 and len(cards) >= 2
    notes = []
    if len(cards) < 2:
        notes.append("Over one card only, absorption and scattering cannot be told apart well.")
    if len(doses) < 3:
        notes.append("Add a weak and a strong dose, and one with white: three doses at least.")
    if max(errors) > 4:
        notes.append("Some swatches fit poorly: check dose, film weight and the card.")
    i = int(np.argmax(start.k + start.s))
    factor = float((paste.k + paste.s)[i] / max((start.k + start.s)[i], 1e-12))
    spread = 0.1 if full else 0.25
    made = replace(
        paste,
        id=ident,
        name=name,
        confidence="A" if full else "B",
        origin=f"calibrated from {len(films)} swatches, start {start.id}",
        strength=(1 - spread, 1.0, 1 + spread),
    )
    return Calibration(made, factor, errors, held, tuple(notes))


def _depths(
    paste: Colorant, s: Swatch, others: Mapping[str, Colorant], density: float
) -> tuple[Floats, Floats]:
    pastes = {**others, paste.id: paste}
    recipe = Recipe("swatch", "Swatch", dict(s.doses), {k: pastes[k] for k in s.doses})
    shade = shade_from_recipe(recipe, density)
    return shade.k * s.film, shade.s * s.film


def _error(
    paste: Colorant, s: Swatch, others: Mapping[str, Colorant], n: float, density: float
) -> float:
    kx, sx = _depths(paste, s, others, density)
    seen = to_lab(film_twin(kx, sx, s.undercoat.inside, n), "D65", s.observer)
    want = s.lab if s.lab is not None else to_lab(s.reflectance, "D65", s.observer)
    return float(delta_e_2000(seen, np.asarray(want, dtype=float)))


def _free(
    start: Colorant,
    films: Sequence[Swatch],
    others: Mapping[str, Colorant],
    n: float,
    density: float,
) -> Colorant:
    from pourwright.colour.fit import Drawdown, fit_drawdowns

    drawn = []
    for i, s in enumerate(films):
        volume = 1 / density + sum(
            d / (others[k].density if k in others else start.density) for k, d in s.doses.items()
        )
        doses = {k: d * s.film / volume for k, d in s.doses.items()}
        card = saunderson(s.undercoat.inside, n)
        seen = as_bands(s.reflectance, f"swatches[{i}].reflectance", 0.0, 1.0)
        drawn.append(Drawdown(f"swatch {i + 1}", doses, [card], [seen]))
    middle = (float(np.exp(np.mean(np.log(start.k + 1e-3)))), float(np.mean(start.s) + 1e-3))
    fit = fit_drawdowns(
        drawn, n=n, known={k: (c.k, c.s) for k, c in others.items()}, start={start.id: middle}
    )
    return replace(start, k=fit.k[start.id], s=fit.s[start.id])


def _scaled(
    start: Colorant,
    films: Sequence[Swatch],
    others: Mapping[str, Colorant],
    n: float,
    density: float,
) -> Colorant:
    from scipy.optimize import least_squares

    u = (BANDS - 550) / 150

    def paste(p: Floats) -> Colorant:
        # strength, scattering against absorption, and a gentle tilt and bow of absorption
        k = start.k * np.exp(p[0] + p[2] * u + p[3] * (u * u - 0.35))
        return replace(start, k=k, s=start.s * np.exp(p[0] + p[1]))

    def residual(p: Floats) -> Floats:
        c = paste(p)
        out = []
        for s in films:
            kx, sx = _depths(c, s, others, density)
            seen = to_lab(film_twin(kx, sx, s.undercoat.inside, n), "D65", s.observer)
            out.append(seen - np.asarray(s.lab, dtype=float))
        return np.concatenate([*out, p * np.array([0.05, 0.6, 0.6, 0.6])])

    best = min(
        (
            least_squares(residual, [f, 0, 0, 0], bounds=([-5, -3, -2, -2], [5, 3, 2, 2]))
            for f in (0.0, -1.0, 1.0)
        ),
        key=lambda r: float(r.cost),
    )
    return paste(best.x)


def calibration_toml(result: Calibration) -> str:
    """A calibrated paste as a table for a user's product file.

    Parameters
    ----------
    result : Calibration [m2/kg]
        From `calibrate`.

    Returns
    -------
    str [-]
        TOML of kind "colorant", spectra per kilogram of paste.
    """
    import json

    c = result.colorant

    def row(values: Floats) -> str:
        return "[" + ", ".join(f"{v:.5g}" for v in values) + "]"

    def prop(key: str, value: float, low: float, high: float) -> str:
        return f'{key} = {{value = {value:g}, low = {low:g}, high = {high:g}, mark = "user"}}'

    return "\n".join(
        [
            "[[material]]",
            f"id = {json.dumps(c.id)}",
            'kind = "colorant"',
            f"name = {json.dumps(c.name)}",
            f"summary = {json.dumps('Calibrated paste: ' + c.origin + '.')}",
            f"cautions = {json.dumps(list(c.cautions))}",
            f"notes = {json.dumps(list(result.notes))}",
            "[material.facts]",
            f'confidence = "{c.confidence}"',
            f"origin = {json.dumps(c.origin)}",
            f"k_m2_per_kg = {row(c.k)}",
            f"s_m2_per_kg = {row(c.s)}",
            "[material.properties]",
            prop("strength", 1.0, c.strength[0], c.strength[2]),
            prop("pigment_share", 1.0, 1.0, 1.0),
            prop("density_kg_m3", c.density, c.density, c.density),
            "",
        ]
    )
