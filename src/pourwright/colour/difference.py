"""Colour differences between CIELAB colours."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def delta_e_76(lab_1: ArrayLike, lab_2: ArrayLike) -> NDArray[np.float64]:
    """Distance in CIELAB.

    Parameters
    ----------
    lab_1, lab_2 : array_like [-]
        Shape (..., 3).

    Returns
    -------
    ndarray [-]
        Shape (...). Source: CIE 1976.
    """
    return np.linalg.norm(np.asarray(lab_1, float) - np.asarray(lab_2, float), axis=-1)


def delta_e_2000(lab_1: ArrayLike, lab_2: ArrayLike) -> NDArray[np.float64]:
    """CIEDE2000 colour difference, kL = kC = kH = 1.

    Parameters
    ----------
    lab_1, lab_2 : array_like [-]
        Shape (..., 3); shapes broadcast.

    Returns
    -------
    ndarray [-]
        Shape (...). About 1 is just visible side by side. Source: ISO/CIE 11664-6; worked after
        Sharma, Wu and Dalal 2005, Color Research and Application 30:21.
    """
    a, b = np.broadcast_arrays(np.asarray(lab_1, float), np.asarray(lab_2, float))
    l1, a1, b1 = a[..., 0], a[..., 1], a[..., 2]
    l2, a2, b2 = b[..., 0], b[..., 1], b[..., 2]
    c_mean = 0.5 * (np.hypot(a1, b1) + np.hypot(a2, b2))
    c7 = c_mean**7
    g = 0.5 * (1 - np.sqrt(c7 / (c7 + 25.0**7)))
    ap1, ap2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(ap1, b1), np.hypot(ap2, b2)
    h1 = np.degrees(np.arctan2(b1, ap1)) % 360
    h2 = np.degrees(np.arctan2(b2, ap2)) % 360
    grey = c1 * c2 == 0
    dh = h2 - h1
    dh = np.where(dh > 180, dh - 360, np.where(dh < -180, dh + 360, dh))
    dh = np.where(grey, 0.0, dh)
    dl, dc = l2 - l1, c2 - c1
    dhh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh / 2))
    lm, cm = 0.5 * (l1 + l2), 0.5 * (c1 + c2)
    total = h1 + h2
    hm = np.where(
        np.abs(h1 - h2) <= 180, total / 2, np.where(total < 360, total / 2 + 180, total / 2 - 180)
    )
    hm = np.where(grey, total, hm)
    t = (
        1
        - 0.17 * np.cos(np.radians(hm - 30))
        + 0.24 * np.cos(np.radians(2 * hm))
        + 0.32 * np.cos(np.radians(3 * hm + 6))
        - 0.20 * np.cos(np.radians(4 * hm - 63))
    )
    cm7 = cm**7
    rc = 2 * np.sqrt(cm7 / (cm7 + 25.0**7))
    sl = 1 + 0.015 * (lm - 50) ** 2 / np.sqrt(20 + (lm - 50) ** 2)
    sc, sh = 1 + 0.045 * cm, 1 + 0.015 * cm * t
    rt = -rc * np.sin(np.radians(60 * np.exp(-(((hm - 275) / 25) ** 2))))
    u, v, w = dl / sl, dc / sc, dhh / sh
    return np.sqrt(np.maximum(u * u + v * v + w * w + rt * v * w, 0.0))


def turned(lab_1: ArrayLike, lab_2: ArrayLike, least: float = 1.0) -> list[str]:
    """How a second colour departs from a first, in words.

    Parameters
    ----------
    lab_1, lab_2 : array_like [-]
        L*, a*, b*, shape (3,).
    least : float [-]
        Steps of lightness, chroma and hue up to this are not named.

    Returns
    -------
    list of str [-]
        Of lighter or darker; greyer or more colourful; and, at equal chroma, redder or greener and
        yellower or bluer. Empty when nothing is named.
    """
    one, two = np.asarray(lab_1, dtype=float), np.asarray(lab_2, dtype=float)
    c1, c2 = float(np.hypot(*one[1:])), float(np.hypot(*two[1:]))
    same = two[1:] * (c1 / c2) if min(c1, c2) > least else two[1:]
    steps = (
        (two[0] - one[0], "lighter", "darker"),
        (c2 - c1, "more colourful", "greyer"),
        (same[0] - one[1], "redder", "greener"),
        (same[1] - one[2], "yellower", "bluer"),
    )
    return [more if step > 0 else less for step, more, less in steps if abs(step) > least]
