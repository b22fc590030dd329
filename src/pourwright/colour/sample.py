"""Sampling a photo: corners clicked, perspective taken out, clipped and glare pixels dropped."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.colorimetry import decode_srgb
from pourwright.errors import InputError
from pourwright.words import say

Floats = NDArray[np.float64]

ROWS, COLS = 4, 6
CLIP_LOW, CLIP_HIGH = 3, 250
"""Code values at and beyond which a pixel counts as clipped."""


def _homography(corners: Floats) -> Floats:
    """3x3 map from the unit square (0,0) (1,0) (1,1) (0,1) to four points."""
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=float)
    rows = []
    for (u, v), (x, y) in zip(unit, corners):
        rows.append([u, v, 1, 0, 0, 0, -x * u, -x * v, -x])
        rows.append([0, 0, 0, u, v, 1, -y * u, -y * v, -y])
    return np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)


def _corners(corners: ArrayLike, shape: tuple[int, ...], field: str) -> Floats:
    c = np.asarray(corners, dtype=float)
    if c.shape != (4, 2) or not np.all(np.isfinite(c)):
        raise InputError(
            field, f"shape {c.shape}", "four points x, y", "Click the four corners, going round."
        )
    h, w = shape[:2]
    if c.min() < -1 or c[:, 0].max() > w or c[:, 1].max() > h:
        raise InputError(
            field,
            str(c.tolist())[:60],
            say("inside the picture of {w} x {h} pixels", w=w, h=h),
            "Click again.",
        )
    e = np.roll(c, -1, axis=0) - c
    turn = e[:, 0] * np.roll(e[:, 1], -1) - e[:, 1] * np.roll(e[:, 0], -1)
    if not (np.all(turn > 1.0) or np.all(turn < -1.0)):
        raise InputError(
            field, str(c.tolist())[:60], "they must go round a four-sided shape", "Click again."
        )
    return c


def _nearest(picture: NDArray[np.uint8], x: Floats, y: Floats) -> NDArray[np.uint8]:
    h, w = picture.shape[:2]
    xi = np.clip(np.round(x).astype(int), 0, w - 1)
    yi = np.clip(np.round(y).astype(int), 0, h - 1)
    return picture[yi, xi]


def _patch_light(codes: NDArray[np.uint8]) -> tuple[Floats, float]:
    """Median linear light of a patch without clipped and glare pixels, and the share dropped."""
    flatc = codes.reshape(-1, 3)
    clipped = (flatc >= CLIP_HIGH).any(axis=1) | (flatc <= CLIP_LOW).all(axis=1)
    light = decode_srgb(flatc / 255.0)
    keep = ~clipped
    if keep.sum() < max(9, 0.2 * len(flatc)):
        return np.full(3, np.nan), 1.0
    y = light.mean(axis=1)
    mid = np.median(y[keep])
    spread = 1.4826 * np.median(np.abs(y[keep] - mid)) + 0.01 * mid + 1e-6
    keep &= y < mid + 3 * spread
    return np.median(light[keep], axis=0), float(1 - keep.mean())


def sample_chart(
    picture: NDArray[np.uint8], corners: ArrayLike, rows: int = ROWS, cols: int = COLS
) -> tuple[Floats, Floats]:
    """Linear light of the patches of a chart in a photo.

    Parameters
    ----------
    picture : ndarray [-]
        sRGB, shape (H, W, 3), 0..255.
    corners : array_like [-]
        Outer corners of the field of patches in pixels, x then y: at the first patch of the first
        row, then going round by way of the end of that row; shape (4, 2).
    rows, cols : int [-]
        4 by 6 for the usual chart.

    Returns
    -------
    tuple of 2 ndarrays [-]
        R, G, B of each patch, shape (rows*cols, 3), NaN where clipped; and the share of pixels
        dropped, shape (rows*cols,). The middle two fifths of each patch are used.

    Raises
    ------
    InputError
        Corners outside the picture or crossing.
    """
    c = _corners(corners, picture.shape, "corners")
    hm = _homography(c)
    t = np.linspace(-0.2, 0.2, 25)
    light, lost = [], []
    for r in range(rows):
        for q in range(cols):
            u, v = np.meshgrid((q + 0.5 + t) / cols, (r + 0.5 + t) / rows)
            p = np.stack([u.ravel(), v.ravel(), np.ones(u.size)], axis=0)
            x, y, w = hm @ p
            a, share = _patch_light(_nearest(picture, x / w, y / w))
            light.append(a)
            lost.append(share)
    return np.array(light), np.array(lost)


def sample_area(picture: NDArray[np.uint8], corners: ArrayLike) -> tuple[Floats, float, Floats]:
    """Linear light of a four-sided area, such as the client's tile.

    Parameters
    ----------
    picture : ndarray [-]
        sRGB, shape (H, W, 3).
    corners : array_like [-]
        Four points in pixels going round, shape (4, 2).

    Returns
    -------
    tuple [-]
        Median R, G, B, shape (3,); share of pixels dropped as clipped or glare; and R, G, B of a
        3 by 3 grid of sub-areas, shape (9, 3), which shows how even the area is.

    Raises
    ------
    InputError
        Corners wrong, or more than four fifths clipped.
    """
    c = _corners(corners, picture.shape, "area")
    hm = _homography(c)
    t = (np.arange(60) + 0.5) / 60
    u, v = np.meshgrid(t, t)
    x, y, w = hm @ np.stack([u.ravel(), v.ravel(), np.ones(u.size)], axis=0)
    codes = _nearest(picture, x / w, y / w).reshape(60, 60, 3)
    light, lost = _patch_light(codes)
    if not np.all(np.isfinite(light)):
        raise InputError(
            "area",
            f"{100 * lost:.0f} % of pixels",
            "too many are clipped or black",
            "Photograph again without glare, a little darker or lighter.",
        )
    parts = [
        _patch_light(codes[i * 20 : i * 20 + 20, j * 20 : j * 20 + 20])[0]
        for i in range(3)
        for j in range(3)
    ]
    return light, lost, np.array(parts)
