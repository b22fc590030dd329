"""A good score from a few words of intent."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from pourwright.errors import InputError
from pourwright.pattern.score import Score, read_score
from pourwright.words import say

MOODS = {"calm": 0.15, "flowing": 0.42, "lively": 0.75}
SCALES = {"fine": 220.0, "medium": 420.0, "bold": 800.0}
SEPARATE = {"soft": 0.25, "clear": 0.55, "crisp": 0.85}
PASSES = (0.26, 0.32, 0.24, 0.18)  # parts of the resin in the coat and three passes of ribbons


def _word(
    field: str, value: str | float, words: Mapping[str, float], low: float, high: float
) -> float:
    if isinstance(value, str):
        if value not in words:
            raise InputError(
                field,
                value,
                say("one of {names}, or a number", names=", ".join(words)),
                "Choose one of these.",
            )
        return words[value]
    if not (math.isfinite(value) and low <= value <= high):
        raise InputError(
            field,
            value,
            say("{low:g} to {high:g}", low=low, high=high),
            "Choose a value in this range.",
        )
    return float(value)


def score_from_intent(
    shades: Mapping[str, float],
    *,
    mood: str | float = "flowing",
    scale: str | float = "medium",
    direction_deg: float = 20.0,
    separate: str | float = "clear",
    vein: str | None = None,
    vein_share: float = 0.006,
    clear: str | None = None,
    name: str = "finish",
    seed: int = 1,
) -> Score:
    """A score from a few words.

    Parameters
    ----------
    shades : mapping of str to float [-]
        Shades and their parts by volume, the ground's main shade first; parts need not add to 1.
    mood : str or float [-]
        ``calm``, ``flowing``, ``lively`` or 0 to 1.
    scale : str or float [mm]
        ``fine``, ``medium``, ``bold``, or the size of the large forms, 60 to 3000.
    direction_deg : float [deg]
        Main direction on the plan.
    separate : str or float [-]
        ``soft``, ``clear``, ``crisp`` or 0 to 1: how far the shades stay apart.
    vein : str [-]
        Shade of the veins, not among `shades`; None for no veins.
    vein_share : float [-]
        Its share of the mixed resin, up to 0.1.
    clear : str [-]
        Which of `shades` is clear resin; it is kept out of the last ribbons.
    name : str [-]
        Name of the score.
    seed : int [-]
        Seed.

    Returns
    -------
    Score [-]
        Coat, three passes of ribbons, a light spread, a tilt and, if asked, early and late veins.

    Raises
    ------
    InputError
        An unknown word, no shades, or a share out of range.
    """
    life = _word("mood", mood, MOODS, 0.0, 1.0)
    size = _word("scale", scale, SCALES, 60.0, 3000.0)
    apart = _word("separate", separate, SEPARATE, 0.0, 1.0)
    good = bool(shades) and all(math.isfinite(v) and v > 0 for v in shades.values())
    if not good:
        raise InputError(
            "shades", len(shades), "at least one shade, each with parts above 0", "Name the shades."
        )
    if vein is not None and not 0.0005 <= vein_share <= 0.1:
        raise InputError(
            "vein_share", vein_share, "0.0005 to 0.1 of the resin", "Use 0.005 for fine veins."
        )
    if vein is not None and vein in shades:
        raise InputError(
            "vein",
            vein,
            "the veins' shade is given apart from the others",
            "Take it out of shades.",
        )
    total = sum(shades.values())
    body = 1.0 - (vein_share if vein else 0.0)
    cups = {n: body * v / total for n, v in shades.items()}
    weights = [dict.fromkeys(cups, 1.0) for _ in PASSES]
    if clear in cups and len(cups) > 1:
        for w, k in zip(weights, (0.9, 1.0, 1.1, 1.0)):
            w[str(clear)] = k
    cups = {n: max(round(v, 8), 1e-6) for n, v in cups.items()}
    over = sum(cups.values()) / body
    if over > 1:
        cups = {n: v / over for n, v in cups.items()}
    uses: list[dict[str, float]] = []
    for n in cups:
        total = sum(part * w[n] for part, w in zip(PASSES, weights))
        for k, (part, w) in enumerate(zip(PASSES, weights)):
            if len(uses) <= k:
                uses.append({})
            uses[k][n] = cups[n] * 0.999 * part * w[n] / total
    width = min(max(0.08 * size, 12.0), 80.0)
    strand = 1.0 + 1.6 * (1 - apart) + 0.0016 * size
    loose = 0.1 + 0.35 * apart  # beyond this whole ribbons would be of one shade
    moves: list[dict[str, Any]] = [
        {"do": "coat", "uses": uses[0], "folds": round(0.35 + 0.6 * apart, 3), "band_mm": width},
        {
            "do": "ribbons",
            "uses": uses[1],
            "width_mm": round(width, 1),
            "height_mm": 5.0,
            "strand_mm": round(strand, 2),
            "separate": round(0.9 * loose, 3),
            "wobble": round(0.15 + 0.45 * life, 3),
            "length_mm": round(min(2.4 * size, 3000.0), 0),
        },
        {
            "do": "ribbons",
            "at_min": 3,
            "uses": uses[2],
            "width_mm": round(max(0.58 * width, 6.0), 1),
            "height_mm": 4.0,
            "strand_mm": round(0.7 * strand, 2),
            "separate": round(loose, 3),
            "wobble": round(0.15 + 0.45 * life, 3),
            "length_mm": round(min(2.0 * size, 3000.0), 0),
        },
        {
            "do": "spread",
            "strokes": 4 + round(8 * life),
            "grip": round(0.75 - 0.3 * apart, 3),
            "contact_mm": 15,
            "length_mm": round(min(1.1 * size, 3000.0), 0),
            "arc": round(0.2 + 0.6 * life, 3),
        },
    ]
    if vein:
        moves.append(
            {"do": "veins", "at_min": 6, "uses": {vein: 0.3 * vein_share}, "thread_mm": 1.6}
        )
    moves += [
        {
            "do": "ribbons",
            "at_min": 7,
            "uses": uses[3],
            "width_mm": round(max(0.32 * width, 6.0), 1),
            "height_mm": 3.0,
            "strand_mm": round(0.5 * strand, 2),
            "separate": round(loose, 3),
            "wobble": round(0.1 + 0.4 * life, 3),
            "length_mm": round(min(1.8 * size, 3000.0), 0),
        },
        {
            "do": "tilt",
            "slope_deg": round(0.6 + 1.2 * life, 2),
            "towards_deg": round((direction_deg + 40) % 360, 1),
            "takes_s": 25,
        },
    ]
    if vein:
        late = {"do": "veins", "jagged": round(0.3 + 0.3 * life, 2)}
        moves.append({**late, "at_min": 14, "uses": {vein: 0.4 * vein_share}, "thread_mm": 1.6})
        moves.append(
            {
                **late,
                "at_min": 45,
                "uses": {vein: 0.3 * vein_share},
                "thread_mm": 1.0,
                "height_mm": 0.4,
            }
        )
        cups[vein] = vein_share
    return read_score(
        {
            "name": name,
            "note": f"written from: mood {mood}, scale {scale}, separate {separate}",
            "seed": seed,
            "written_for_film_mm": 3.0,
            "cups": cups,
            "composition": {
                "direction_deg": direction_deg,
                "scale_mm": size,
                "lively": round(0.2 + 0.6 * life, 3),
            },
            "moves": moves,
        }
    )
