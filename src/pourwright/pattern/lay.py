"""From a laying move to a `Layer`: lines, shares per line, and the volume that lands."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.pattern.layer import COAT, LINES, Layer, index_lines
from pourwright.pattern.noise import stream, stream_key
from pourwright.pattern.paths import Current, Lines, Place, ribbon_lines, vein_lines
from pourwright.pattern.score import Coat, Ribbons, Score, Veins
from pourwright.words import Amount, say

_A = NDArray[np.float64]


def make_layer(
    score: Score,
    index: int,
    volume: float,
    place: Place,
    span: float,
    factor: float,
    seed: int,
    vein_growth: float = 1.0,
    rise: float = 1.0,
) -> Layer:
    """The layer that move `index` of a score lays.

    Parameters
    ----------
    score : Score [-]
        The score.
    index : int [-]
        Which move.
    volume : float [m3]
        What the move lays.
    place : Place [m]
        The surface.
    span : float [m]
        Narrow side of the surface.
    factor : float [-]
        Factor on composition lengths.
    seed : int [-]
        Seed of this pour.
    vein_growth : float [-]
        Final over landed breadth of a vein.
    rise : float [-]
        Factor on the heights of ribbons.

    Returns
    -------
    Layer [m]
        Its recipe; `scale` is set later so that the landed volume is exact.

    Raises
    ------
    InputError
        A ribbon or vein wider than the surface.
    """
    move = score.moves[index]
    assert isinstance(move, (Coat, Ribbons, Veins))
    names = list(score.cups)
    shades = np.array([names.index(n) for n in move.uses], np.int64)
    share = np.array(list(move.uses.values()), float)
    share /= share.sum()
    name = f"move{index}"
    key = stream_key(seed, name)
    current = Current(score.composition, factor, seed)
    where = f"score.moves[{index}]"
    if isinstance(move, Coat):
        band = move.band_mm * 1e-3
        form = _form(band, move.folds, score.composition.scale_mm * 1e-3 * factor, 1.0, current)
        empty = Lines(np.zeros((0, 16)), 0)
        bias = 0.25 * np.log(np.maximum(share, 1e-6))[None, :]
        return Layer(name, COAT, shades, share, empty, bias, form, key)
    if isinstance(move, Ribbons):
        width = move.width_mm * 1e-3 * factor
        _narrower(f"{where}.width_mm", move.width_mm, width, span)
        lines = ribbon_lines(
            current,
            place,
            volume,
            width,
            move.height_mm * 1e-3 * rise,
            move.length_mm * 1e-3 * factor,
            math.radians(move.turn_deg),
            move.wobble,
            move.pulse,
            move.gather,
            seed,
            name,
        )
        strand, fold, mean = move.strand_mm * 1e-3, 0.15 + 0.9 * move.wobble, width / 2
        rng = stream(seed, name + ":pail")
        spread = 0.75 * move.separate
        gumbel = -np.log(-np.log(rng.uniform(1e-9, 1 - 1e-9, (max(lines.count, 1), len(share)))))
        bias = 0.55 * np.log(np.maximum(share, 1e-6)) + spread * gumbel
    else:
        thread = move.thread_mm * 1e-3
        _narrower(f"{where}.thread_mm", move.thread_mm, thread, span)
        lines = vein_lines(
            current,
            place,
            volume,
            thread,
            move.height_mm * 1e-3,
            move.length_mm * 1e-3 * factor,
            math.radians(move.turn_deg),
            move.forks,
            move.jagged,
            move.gaps,
            seed,
            name,
        )
        lines.seg[:, 6:8] *= vein_growth
        lines.seg[:, 8:10] /= vein_growth
        strand, fold, mean = max(thread / 4, 0.0005), 0.4, thread / 2
        bias = np.tile(0.55 * np.log(np.maximum(share, 1e-6)), (max(lines.count, 1), 1))
    if lines.empty:
        raise InputError(
            where, move.do, "nothing of it would land on this surface", "Use a larger share."
        )
    layer = Layer(
        name, LINES, shades, share, lines, bias, _form(strand, fold, 1.0, mean, current), key
    )
    index_lines(layer)
    return layer


def _form(strand: float, fold: float, wander: float, mean: float, current: Current) -> _A:
    return np.array(
        [strand, fold, wander, mean, math.cos(current.base), math.sin(current.base)], float
    )


def _narrower(field: str, given: float, width: float, span: float) -> None:
    if width > 0.6 * span:
        raise InputError(
            field,
            given,
            say(
                "it is at most 0.6 of the narrow side, here {most:.0f}",
                most=Amount(600 * span, "mm"),
            ),
            "Lay it narrower.",
        )


def spots(count: int, breadth: float) -> _A:
    """Footprints of square spots that nothing has smeared.

    Parameters
    ----------
    count : int [-]
        How many.
    breadth : float [m]
        Side of each.

    Returns
    -------
    array [m2]
        Variances xx, xy, yy for strands and again for rims, (count, 6).
    """
    foot = np.zeros((count, 6))
    foot[:, [0, 2, 3, 5]] = breadth**2 / 12
    return foot


def landed(layer: Layer, x: _A, y: _A, weight: _A, cell: float) -> tuple[_A, _A]:
    """Landed thickness and shares at places; sets the layer's shade balance to what was asked.

    Parameters
    ----------
    layer : Layer [-]
        The layer; its `bias` is adjusted.
    x, y : array [m]
        Places, (n,).
    weight : array [-]
        Weight of each place, (n,).
    cell : float [m]
        Breadth of the spot each place stands for.

    Returns
    -------
    tuple of arrays [m, -]
        Thickness (n,) and shares (n, shades); the caller closes the last difference exactly.
    """
    foot = spots(len(x), cell)
    few = slice(None, None, max(1, len(x) // 12000))
    if len(layer.share) > 1:
        for _ in range(6):
            thick, part = layer.at(x[few], y[few], foot[few])
            got = (part * (thick * weight[few])[:, None]).sum(0)
            total = got.sum()
            if total <= 0:
                break
            got = np.maximum(got / total, 1e-4)
            layer.bias = layer.bias + 0.55 * np.log(layer.share / got)[None, :]
    return layer.at(x, y, foot)
