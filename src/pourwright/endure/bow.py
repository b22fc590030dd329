"""Bow of a coated panel: from cure shrinkage, temperature and moisture; and its cure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.endure.layers import (
    Floats,
    Laminate,
    Layer,
    batch_of,
    bending_stiffness,
    check_layers,
    curvature_weights,
    laminate,
    stack,
)
from pourwright.errors import InputError


def bilayer_curvature(
    film: ArrayLike, board: ArrayLike, ratio: ArrayLike, mismatch: ArrayLike
) -> Floats:
    """Curvature of a two-layer strip, Timoshenko's closed form.

    Parameters
    ----------
    film, board : float or array [m]
        Thickness of the two layers.
    ratio : float or array [-]
        Stiffness of the film over that of the board.
    mismatch : float or array [-]
        How much shorter the film wants to be than the board.

    Returns
    -------
    array [1/m]

    Notes
    -----
    Timoshenko, J. Opt. Soc. Am. & R.S.I. 11 (1925) 233-255. Stoney's thin-film form is not used:
    it is (1 + m)^3 too large for equal stiffness, 59 % at m = 1/6.
    """
    t1, t2 = np.asarray(film, dtype=float), np.asarray(board, dtype=float)
    n = np.asarray(ratio, dtype=float)
    m = t1 / t2
    shape = 3.0 * (1.0 + m) ** 2 + (1.0 + m * n) * (m**2 + 1.0 / (m * n))
    return 6.0 * np.asarray(mismatch, float) * (1.0 + m) ** 2 / ((t1 + t2) * shape)


def stoney_curvature(
    film: ArrayLike, board: ArrayLike, ratio: ArrayLike, mismatch: ArrayLike
) -> Floats:
    """Thin-film curvature, only to show how far off it is for poured coats.

    Parameters
    ----------
    film, board : float or array [m]
        Thickness of the two layers.
    ratio : float or array [-]
        Stiffness of the film over that of the board.
    mismatch : float or array [-]
        How much shorter the film wants to be.

    Returns
    -------
    array [1/m]

    Notes
    -----
    Stoney 1909: kappa = 6 E1 t1 de/(E2 t2^2); no check uses it.
    """
    t1, t2 = np.asarray(film, dtype=float), np.asarray(board, dtype=float)
    return 6.0 * np.asarray(ratio, float) * t1 * np.asarray(mismatch, float) / t2**2


def bow_over(curvature: ArrayLike, length: ArrayLike) -> Floats:
    """Height of a shallow arc over a straight edge.

    Parameters
    ----------
    curvature : float or array [1/m]
        Curvature.
    length : float or array [m]
        Span of the straight edge.

    Returns
    -------
    array [m]
        kappa L2/8, good to 1 % while the bow is under a tenth of the length.

    Notes
    -----
    Geometry of a shallow circular arc.
    """
    return np.asarray(curvature, float) * np.asarray(length, float) ** 2 / 8.0


@dataclass(frozen=True, slots=True)
class BowState:
    """Bow of a panel and what makes it.

    Attributes
    ----------
    curvature : array [1/m]
        Total; positive when the poured face is hollow.
    bow : array [m]
        Over the length asked for; positive when edges or ends lift.
    parts : dict of array [m]
        Bow from ``cure``, ``temperature`` and ``moisture`` alone.
    film_stress : array [Pa]
        Highest tension in any coat.
    film_strain : array [-]
        The same as mechanical strain of that coat.
    state : Laminate [-]
        Forces and stresses of all layers.
    nonlinear : bool [-]
        The bow is larger than the panel is thick: the panel may flip to a cylinder.
    """

    curvature: Floats
    bow: Floats
    parts: dict[str, Floats]
    film_stress: Floats
    film_strain: Floats
    state: Laminate
    nonlinear: bool


def panel_bow(
    layers: Sequence[Layer],
    length: float,
    temperature_change: ArrayLike = 0.0,
    moisture_change: ArrayLike = 0.0,
    moisture_gradient: ArrayLike = 0.0,
    strip: bool = False,
) -> BowState:
    """Bow of a build-up from cure, temperature and moisture together.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the poured face to the back.
    length : float [m]
        Span over which the bow is read: longest side, or the diagonal for the worst.
    temperature_change : float or array [K]
        Temperature now less that at which the film became solid.
    moisture_change : float or array [-]
        Uniform rise of the core's moisture content since coating.
    moisture_gradient : float or array [-]
        Moisture content at the core's back less that at its face.
    strip : bool [-]
        True for a narrow strip or coupon (E), False for a panel (E/(1 - nu)).

    Returns
    -------
    BowState [1/m, m, Pa, -]

    Raises
    ------
    InputError
        Negative thickness, no layer, a length not above 0.

    Notes
    -----
    General laminate with the core cut into 8 slices for the gradient; for two layers it equals
    Timoshenko 1925. A linear gradient on a bare board gives beta dM/t (exactly). Skins count as
    cured before the pour: their own shrinkage bends nothing.
    """
    check_layers(layers)
    if not 0.0 < length < 100.0:
        raise InputError("length", length, "above 0 and below 100 m", "Give the panel's length.")
    batch = batch_of(layers, temperature_change, moisture_change, moisture_gradient)
    t, e = stack(layers, "thickness", batch), stack(layers, "modulus", batch)
    if not strip:
        e = e / (1.0 - stack(layers, "poisson", batch))
    heat = stack(layers, "expansion", batch) * np.asarray(temperature_change, dtype=float)
    core = [x.role == "core" for x in layers]
    wet = stack(layers, "swell", batch) * np.asarray(moisture_change, dtype=float)
    wet[[not c for c in core]] = 0.0
    cure = -stack(layers, "shrinkage", batch)
    # skins were laminated, alike on both sides, before the pour: what they shrank bends nothing
    cure[[x.role == "skin" for x in layers]] = 0.0
    weights = curvature_weights(t, e)
    parts = {
        "cure": (weights * cure).sum(axis=0),
        "temperature": (weights * heat).sum(axis=0),
        "moisture": (weights * wet).sum(axis=0),
    }
    gradient = np.asarray(moisture_gradient, dtype=float)
    if np.any(gradient != 0.0):
        parts["moisture"] = parts["moisture"] + _gradient_curvature(layers, t, e, gradient)
    total = laminate(t, e, cure + heat + wet)
    films = np.array([x.role != "core" for x in layers])
    if np.any(films):
        tops = np.maximum(total.stress_top, total.stress_bottom)[films]
        stress = np.max(tops, axis=0)
        strain = np.max(tops / e[films], axis=0)
    else:
        stress = strain = np.zeros_like(total.curvature)
    kappa = sum(parts.values(), start=np.zeros(()))
    bow = bow_over(kappa, length)
    thick = np.median(np.atleast_1d(t.sum(axis=0)))
    return BowState(
        curvature=kappa,
        bow=bow,
        parts={k: bow_over(v, length) + 0.0 for k, v in parts.items()},
        film_stress=stress,
        film_strain=strain,
        state=total,
        nonlinear=bool(np.median(np.abs(bow)) > thick),
    )


def _gradient_curvature(layers: Sequence[Layer], t: Floats, e: Floats, gradient: Floats) -> Floats:
    """Curvature [1/m] from a linear moisture gradient through the core alone (back less face)."""
    shape = np.broadcast(t[0], e[0], gradient).shape
    ts, es, eps = [], [], []
    slices = 8
    thick = sum(t[i] for i, x in enumerate(layers) if x.role == "core")
    done = np.zeros(shape)
    moment = np.zeros(shape)
    for i, layer in enumerate(layers):
        if layer.role != "core":
            ts.append(np.broadcast_to(t[i], shape))
            es.append(np.broadcast_to(e[i], shape))
            eps.append(np.zeros(shape))
            continue
        for _ in range(slices):
            piece = t[i] / slices
            middle = (done + 0.5 * piece) / thick - 0.5
            ts.append(np.broadcast_to(piece, shape))
            es.append(np.broadcast_to(e[i], shape))
            eps.append(np.broadcast_to(np.asarray(layer.swell) * gradient * middle, shape))
            # what a stepped profile misses of the straight one within a slice
            inside = np.asarray(layer.swell) * gradient / thick
            moment = moment + e[i] * inside * piece**3 / 12.0
            done = done + piece
    stacked = np.stack(ts), np.stack(es)
    stiffness = bending_stiffness(*stacked)[0]
    return laminate(*stacked, np.stack(eps)).curvature + moment / stiffness


def balancing_back(
    layers: Sequence[Layer],
    back: Layer,
    thickest: float = 0.02,
    temperature_change: ArrayLike = 0.0,
    moisture_change: ArrayLike = 0.0,
) -> float | None:
    """Thickness of a back film that takes the bow out of a panel.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the poured face to the back, without the back film; single numbers, no samples.
    back : Layer [-]
        The back film; its thickness is ignored.
    thickest : float [m]
        Give up beyond this.
    temperature_change : float or array [K]
        As in `panel_bow`.
    moisture_change : float or array [-]
        As in `panel_bow`.

    Returns
    -------
    float or None [m]
        0 when the panel does not hollow at all; None when no thickness up to `thickest` does it.

    Raises
    ------
    InputError
        As `panel_bow`.

    Notes
    -----
    First root of the laminate's curvature in the back film's thickness, to 0.1 um. The same
    film on both faces of a symmetrical board needs the same thickness.
    """

    def kappa(thick: Floats) -> Floats:
        rows = [*layers, back.with_(thickness=thick)]
        return panel_bow(rows, 1.0, temperature_change, moisture_change).curvature

    if float(panel_bow(layers, 1.0, temperature_change, moisture_change).curvature) <= 0.0:
        return 0.0
    low, high = 1e-6, thickest
    grid = np.geomspace(low, high, 120)
    for _ in range(2):  # find the first change of sign, then look closer
        values = kappa(grid)
        hit = int(np.argmax(values <= 0.0))
        if values[hit] > 0.0:
            return None
        if hit == 0:
            return float(grid[0])
        low, high = float(grid[hit - 1]), float(grid[hit])
        left, right = float(values[hit - 1]), float(values[hit])
        grid = np.linspace(low, high, 120)
    return low + (high - low) * left / (left - right)


def coupon_mismatch(
    bow: ArrayLike,
    length: ArrayLike,
    film: ArrayLike,
    board: ArrayLike,
    ratio: ArrayLike,
) -> Floats:
    """Mismatch strain of your own resin from a coated strip that you measured.

    Parameters
    ----------
    bow : float or array [m]
        Gap under a straight edge across the strip, face hollow positive.
    length : float or array [m]
        Length of the straight edge's span.
    film, board : float or array [m]
        Thickness of film and board.
    ratio : float or array [-]
        Stiffness of the film over that of the board.

    Returns
    -------
    array [-]
        For 6.18 mm over 1200 mm with 3 mm epoxy (2900 MPa) on 18 mm MDF (3000 MPa): 0.0010.

    Raises
    ------
    InputError
        Lengths or thicknesses not above 0, or a bow over a tenth of the length.

    Notes
    -----
    Inverse of Timoshenko 1925. Use the coupon's age at which the bow matters: it grows for weeks
    and creeps back.
    """
    sag, span = np.asarray(bow, float), np.asarray(length, float)
    for field, a in (
        ("length", span),
        ("film", np.asarray(film, float)),
        ("board", np.asarray(board, float)),
        ("ratio", np.asarray(ratio, float)),
    ):
        if np.any(~(a > 0.0)):
            raise InputError(f"coupon.{field}", float(np.min(a)), "above 0", "Measure it again.")
    if np.any(np.abs(sag) > 0.1 * span):
        raise InputError(
            "coupon.bow",
            float(np.max(np.abs(sag))),
            "at most a tenth of the length",
            "Measure over a shorter straight edge.",
        )
    return 8.0 * sag / span**2 / bilayer_curvature(film, board, ratio, 1.0)


def coupon_error(
    mismatch: float, bow: float, reading: float, film: float, film_off: float
) -> float:
    """How uncertain a coupon's mismatch is.

    Parameters
    ----------
    mismatch : float [-]
        Result of `coupon_mismatch`.
    bow, reading : float [m]
        Bow, and how well it was read.
    film, film_off : float [m]
        Film thickness, and how well it is known.

    Returns
    -------
    float [-]
        One standard deviation; first-order sum of squares.

    Raises
    ------
    InputError
        A bow or film of 0.

    Notes
    -----
    First-order error propagation; bow counts once, film thickness about once.
    """
    if bow == 0.0 or film <= 0.0:
        raise InputError("coupon.bow", bow, "not 0", "Use a longer or thinner coupon.")
    return abs(mismatch) * float(np.hypot(reading / bow, film_off / film))


TIME_SCALE = (
    "Cure bow grows for days to weeks as the film shrinks on, and creep takes part of it back over "
    "months. Warmed near its softening point the film lets go, and on cooling the bow returns, "
    "sometimes the other way round. Moisture bow comes and goes with the seasons."
)
