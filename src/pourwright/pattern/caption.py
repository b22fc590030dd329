"""What stands below a picture: what was assumed, what was poured, how separate it is, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourwright.pattern.play import Pour
from pourwright.pattern.separate import MUDDY, separation, with_more_strokes
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.colour.shade import Shade

NOTE = (
    "One possible pour of this score, computed; yours will differ. Make a sample board with your "
    "own resin. Colours as far as this screen or print shows them."
)
CAUTION = "Gloves, ventilation and the product's data sheet; no open flame near solvent vapour."
FLAME = (
    "Torch: extinguisher at hand, nothing that burns and no solvent, gas or aerosol about, off foam "
    "and bare edges, always moving: a film held in the flame blisters and smokes."
)


def litres(volume: float) -> str:
    """A volume in words.

    Parameters
    ----------
    volume : float [m3]
        The volume.

    Returns
    -------
    str [L or mL]
        Such as ``1.57 L`` or ``13.2 mL``.
    """
    return f"{volume * 1e3:.2f} L" if volume >= 1e-4 else f"{volume * 1e6:.1f} mL"


def caption(played: Pour, shades: Mapping[str, Shade] | None = None) -> list[str]:
    """What a picture's caption says of a pour.

    Parameters
    ----------
    played : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics, for the separation index.

    Returns
    -------
    list of str [-]
        Line by line: assumptions, volumes, separation, warnings, cautions.
    """
    parts = [f"{n} {litres(v)}" for n, v in played.poured.items() if v > 0]
    off = sum(played.run_off.values())
    apart = separation(played, shades)
    lines = [
        "; ".join(played.assumed) + ".",
        "Poured: "
        + ", ".join(parts)
        + (say("; run off {off}.", off=litres(off)) if off > 0 else "."),
        say("Separation index {index:.2f}: {words}.", index=apart.index, words=apart.words),
        *([] if apart.led else spreading_words(played, shades)),
    ]
    lines += [w[0].upper() + w[1:] + "." for w in played.warnings]
    torched = any(m.do == "torch" for m in played.score.moves)
    return [*lines, NOTE, CAUTION, *([FLAME] if torched else [])]


def spreading_words(played: Pour, shades: Mapping[str, Shade] | None = None) -> list[str]:
    """What more spreading would do to a pour.

    Parameters
    ----------
    played : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics, for the separation index.

    Returns
    -------
    list of str [-]
        One sentence with the index expected after 3 and 10 times the strokes and where mud begins;
        none without a spreading move.
    """
    if played.blade is None:
        return []
    three, ten = (separation(with_more_strokes(played, t), shades).index for t in (3, 10))
    return [
        say(
            "With 3 times the blade strokes about {three:.2f}, with 10 times about {ten:.2f}; below "
            "{muddy:g} the eye reads one muddy colour.",
            three=three,
            ten=ten,
            muddy=MUDDY,
        )
    ]
