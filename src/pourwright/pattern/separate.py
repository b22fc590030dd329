"""How far the shades of a pour are still apart to the eye: the separation index."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.pattern.bake import corrections, look_up
from pourwright.pattern.noise import stream
from pourwright.pattern.picture import check_shades
from pourwright.pattern.play import Pour

if TYPE_CHECKING:
    from pourwright.colour.shade import Shade

_A = NDArray[np.float64]
PATCH = 5  # carrying cells across which a further stroke is one [-]
HIDES = 0.0004  # depth from which about two thirds of the seen colour comes [m]; common practice
MUDDY, SOFT = 0.22, 0.3  # index below which the eye reads one colour, a soft one; common practice
LEADS = 0.9  # share of what is seen above which one shade leads and the index says little; as above


@dataclass(frozen=True)
class Separation:
    """``index`` 1 when every spot shows one shade, 0 when all spots look alike [-]; ``seen`` mean
    share of each shade at the surface [-]; ``words`` what that means.
    """

    index: float
    seen: dict[str, float]
    words: str

    @property
    def muddy(self) -> bool:
        """True when the eye would read one muddy colour [-]."""
        return self.index < MUDDY and not self.led

    @property
    def led(self) -> bool:
        """True when one shade shows nearly everywhere, so that the index says little [-]."""
        return max(self.seen.values()) > LEADS


def with_more_strokes(pour: Pour, times: float) -> Pour:
    """The same pour as if its blade had made more strokes.

    Parameters
    ----------
    pour : Pour [-]
        A played score with a spreading move; without one it is returned as it is.
    times : float [-]
        Strokes against those made, 1 to 100.

    Returns
    -------
    Pour [-]
        Its smear grown by what further strokes would add, laid at random: as many per place, by
        Poisson's law, as leave untouched the share that the strokes so far left untouched. Where
        they would carry the liquid to is left out: that makes no mud.

    Raises
    ------
    InputError
        `times` out of range.
    """
    if not 1 <= times <= 100:
        raise InputError("times", times, "1 to 100", "Choose a number in this range.")
    if pour.blade is None:
        return pour
    wet = pour.grid.wet
    drawn = pour.blade.sum((0, 1)) > 0
    each = -math.log(max(1.0 - float(drawn[wet].mean()), 0.02))  # strokes a place has had so far
    one = pour.blade[:, :, wet].mean(-1)[:, :, None, None] / each
    ny, nx = (-(-n // PATCH) for n in wet.shape)
    more = stream(pour.seed, "strokes").poisson((times - 1.0) * each, (ny, nx))
    spread = more.repeat(PATCH, 0).repeat(PATCH, 1)[: wet.shape[0], : wet.shape[1]]
    corrections(pour)  # both pours are corrected alike, whoever asked first
    return replace(pour, smear=pour.smear + one * spread.astype(np.float32))


def separation(
    pour: Pour,
    shades: Mapping[str, Shade] | None = None,
    spot: float = 0.0025,
    places: int = 4000,
    edge: float = 0.03,
) -> Separation:
    """The separation index of a pour.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics, which say how strongly each shade hides; without them every shade hides alike.
    spot : float [m]
        Breadth over which the eye no longer tells colours apart; 2.5 mm is about five minutes of
        arc from 1.7 m (common practice).
    places : int [-]
        Spots looked at.
    edge : float [m]
        Strip along the outline left out.

    Returns
    -------
    Separation [-]
        Variance of the shares over spots against its largest value, sum m (1 - m): the intensity
        of segregation of Danckwerts (1952, from memory), as seen from above: what lies deeper is
        weakened by exp(-(K + S) depth), or by exp(-depth/0.4 mm) without optics. What shines
        through to the primer counts as one more shade.
    """
    rng = stream(pour.seed, "separation")
    g = pour.domain
    i, j = np.nonzero(g.wet)
    x, y = g.centres()
    xs, ys = x[i, j], y[i, j]
    inner = (xs > xs.min() + edge) & (xs < xs.max() - edge)
    inner &= (ys > ys.min() + edge) & (ys < ys.max() - edge)
    if inner.sum() > 50:
        xs, ys = xs[inner], ys[inner]
    pick = rng.integers(0, len(xs), places)
    offs = (np.arange(3) - 1) * spot / 3
    jitter = (rng.random((2, places)) - 0.5) * g.cell
    px = ((xs[pick] + jitter[0])[:, None] + np.repeat(offs, 3)[None, :]).ravel()
    py = ((ys[pick] + jitter[1])[:, None] + np.tile(offs, 3)[None, :]).ravel()
    names = list(pour.score.cups)
    dim = np.full(len(names), 1 / HIDES)
    if shades is not None:
        dim = np.array(
            [float(np.mean(s.k + s.s)) + s.flake_area for s in check_shades(pour, shades)]
        )
    seen = np.zeros((places * 9, len(names) + 1))
    through = np.ones(places * 9)
    for numbers, thick, part in reversed(look_up(pour, px, py, spot / 3)):
        strength = part * dim[numbers][None, :]
        total = np.maximum(strength.sum(1), 1e-12)
        keep = np.exp(-thick * total)
        for c, n in enumerate(numbers):
            seen[:, n] += through * (1 - keep) * strength[:, c] / total
        through *= keep
    seen[:, -1] = through
    spots = seen.reshape(places, 9, -1).mean(1)
    mean = spots.mean(0)
    most = float((mean * (1 - mean)).sum())
    index = float(spots.var(0).sum()) / most if most > 1e-9 else 1.0
    index = min(max(index, 0.0), 1.0)
    if float(mean.max()) > LEADS:
        words = "one shade shows nearly everywhere; the others are accents"
    elif index < MUDDY:
        words = (
            "one muddy colour: spread less, later or with a lighter grip, or lay broader strands"
        )
    elif index < SOFT:
        words = "soft: shades run into each other, little is crisp"
    else:
        words = "clear: the shades stay apart"
    return Separation(index, {n: float(m) for n, m in zip([*names, "primer"], mean)}, words)
