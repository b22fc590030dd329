"""Whether a flat piece goes through a door or hatch: a box through a rectangular opening.

The piece travels along one of its own axes, so what must fit is the cross-section: a rectangle in
a rectangle, which may lean (Carver 1957, American Mathematical Monthly 64; from memory). Where the
clear depth in front of or behind the opening is less than the length of the piece, the piece must
travel at a slant, and the opening it sees is narrower by the sine of that angle, and narrower again
by the depth of the frame. A way through is always real; with full clear depth it is also the only
kind there is (checked against random attitudes in the tests). Turning during the passage is not
considered, so with little clear depth a piece that is refused may still be worked through by hand.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from pourwright.errors import InputError
from pourwright.words import Sides, joined, say

CLEARANCE = 0.010  # room for fingers and a blanket, each side; common practice [m]


@dataclass(frozen=True, slots=True)
class Opening:
    """A door, hatch or stair head on the way in.

    Parameters
    ----------
    name : str [-]
        As people call it.
    width, height : float [m]
        Clear size, leaf and stops out of the way.
    depth : float [m]
        Of the frame or wall.
    clear : float or None [m]
        Free length in front and behind, square to the opening; None: plenty.
    """

    name: str
    width: float
    height: float
    depth: float = 0.0
    clear: float | None = None


@dataclass(frozen=True, slots=True)
class Passage:
    """How a piece passes: `passes`, its clearance each side [m], lean and slant [rad], in words.

    `lean` is the turn of the cross-section against the sill, `slant` the angle between the way
    of the piece and the square to the opening.
    """

    passes: bool
    clearance: float
    lean: float
    slant: float
    words: str


def rectangle_in_rectangle(p: float, q: float, a: float, b: float) -> bool:
    """Whether a rectangle p by q goes into one a by b, turned as needed.

    Parameters
    ----------
    p, q : float [m]
        The inner rectangle; more than 0.
    a, b : float [m]
        The outer rectangle.

    Returns
    -------
    bool
        True [-] when it fits. Source: Carver 1957 (from memory); checked by sampling angles.
    """
    if p < q:
        p, q = q, p
    if a < b:
        a, b = b, a
    if q > b or b <= 0:
        return False
    if p <= a:
        return True
    d2 = p * p + q * q
    return d2 > a * a and b * d2 >= 2 * p * q * a + (p * p - q * q) * math.sqrt(d2 - a * a)


def _lean(p: float, q: float, a: float, b: float) -> float:
    """Turn of p against a that leaves most room [rad]."""
    best = (-math.inf, 0.0)
    lo, hi = 0.0, math.pi / 2
    for _ in range(4):
        n = 60
        for i in range(n + 1):
            t = lo + (hi - lo) * i / n
            c, s = math.cos(t), math.sin(t)
            room = min(a - p * c - q * s, b - p * s - q * c)
            if room > best[0] + 1e-12:
                best = (room, t)
        w = (hi - lo) / n
        lo, hi = max(0.0, best[1] - w), min(math.pi / 2, best[1] + w)
    return best[1]


def _views(opening: Opening, travel: float) -> list[tuple[float, float, float, str]]:
    """Openings as the piece sees them: width, height, slant, direction of slant."""
    if opening.clear is None or travel <= opening.clear:
        return [(opening.width, opening.height, 0.0, "")]
    sine = opening.clear / travel
    cosine = math.sqrt(1 - sine * sine)
    loss = opening.depth * cosine
    slant = math.acos(min(1.0, sine))
    return [
        (opening.width, opening.height * sine - loss, slant, "one end high"),
        (opening.width * sine - loss, opening.height, slant, "one end to the side"),
    ]


def passage(length: float, width: float, thickness: float, opening: Opening) -> Passage:
    """The best way through an opening for a box.

    Parameters
    ----------
    length, width, thickness : float [m]
        The piece with its turned-down edges; more than 0.
    opening : Opening [m]
        The opening.

    Returns
    -------
    Passage
        `clearance` [m] is what could be added on every side of the cross-section (half as much
        padding all round); below 0 when the piece does not pass.

    Raises
    ------
    InputError
        A size that is not above 0.
    """
    for name, v in (("length", length), ("width", width), ("thickness", thickness)):
        if not (math.isfinite(v) and v > 0):
            raise InputError(f"piece.{name}", v, "more than 0 mm", "Correct the size.")
    check_opening(opening)
    sides = (("length", length), ("width", width), ("thickness", thickness))
    best: tuple[float, float, float, str, bool] | None = None
    for i, (name, travel) in enumerate(sides):
        p, q = sorted((s for j, (_, s) in enumerate(sides) if j != i), reverse=True)
        for a, b, slant, how in _views(opening, travel):
            lo, hi = -max(p, q) / 2, max(opening.width, opening.height)
            lo = max(lo, -q / 2 * (1 - 1e-9))
            for _ in range(50):
                mid = (lo + hi) / 2
                if rectangle_in_rectangle(p + 2 * mid, q + 2 * mid, a, b):
                    lo = mid
                else:
                    hi = mid
            if best is None or lo > best[0] + 1e-9:
                lean = _lean(p + 2 * lo, q + 2 * lo, a, b)
                words = _words(name, p, q, a, b, lean, slant, how)
                best = (lo, lean, slant, words, lo >= -1e-9)
    assert best is not None
    clearance, lean, slant, words, passes = best
    if not passes:
        p, q = sorted((width, thickness), reverse=True)
        words = say(
            "does not go through {opening}: {piece:.0f} in {hole:.0f}",
            opening=opening.name,
            piece=Sides(p * 1e3, q * 1e3, "mm"),
            hole=Sides(opening.width * 1e3, opening.height * 1e3, "mm"),
        )
    return Passage(passes, clearance, lean, slant, words)


def _words(name, p, q, a, b, lean, slant, how) -> str:
    first = {"length": "end first", "width": "long edge first", "thickness": "face first"}[name]
    deg = math.degrees(lean)
    if min(deg, 90 - deg) < 0.5:
        held = "flat" if deg < 45 else "on edge"
    else:
        held = say("leaning {deg:.0f} degrees", deg=deg)
    parts = [first, held]
    if slant > 0.01:
        parts.append(say("{how} by {slant:.0f} degrees", how=how, slant=math.degrees(slant)))
    return joined(", ", parts)


def check_opening(opening: Opening) -> None:
    """Check an opening's sizes.

    Parameters
    ----------
    opening : Opening [m]
        The opening.

    Raises
    ------
    InputError
        Naming the field that is out of range.
    """
    for name in ("width", "height"):
        v = getattr(opening, name)
        if not (math.isfinite(v) and 0.05 <= v <= 20):
            raise InputError(
                f"openings.{opening.name}.{name}",
                f"{v * 1e3:.6g} mm",
                "a clear size from 50 mm to 20 m",
                "Measure the opening again.",
            )
    if not (math.isfinite(opening.depth) and 0 <= opening.depth <= 5):
        raise InputError(
            f"openings.{opening.name}.depth", opening.depth, "0 to 5 m", "Measure the frame again."
        )
    if opening.clear is not None and not (math.isfinite(opening.clear) and opening.clear > 0):
        raise InputError(
            f"openings.{opening.name}.clear",
            opening.clear,
            "more than 0 mm",
            "Give the free length in front of and behind the opening, or leave it out.",
        )


def passes_all(
    length: float,
    width: float,
    thickness: float,
    openings: Iterable[Opening],
    clearance: float = CLEARANCE,
) -> str | None:
    """The first opening a piece does not pass with the clearance wanted, or None.

    Parameters
    ----------
    length, width, thickness : float [m]
        The piece.
    openings : iterable of Opening [m]
        The way in.
    clearance : float [m]
        Room wanted on each side.

    Returns
    -------
    str or None
        The opening's name [-].
    """
    for o in openings:
        if passage(length, width, thickness, o).clearance < clearance - 1e-9:
            return o.name
    return None
