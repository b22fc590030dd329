"""Finding room for words on a drawn surface: inside it, clear of cut-outs and other words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

WIDTH = 0.58
"""Mean width of a letter of the plain face, per size [-]; a little generous."""


class Room:
    """The face of a surface on the page, and what is written on it already.

    Parameters
    ----------
    outline : array [mm]
        Points of the outline, shape (n, 2).
    holes : iterable of array [mm]
        Points of the cut-outs.
    """

    def __init__(self, outline: NDArray[np.float64], holes: Iterable[NDArray[np.float64]]) -> None:
        import shapely

        self.face = shapely.Polygon(outline, [h for h in holes if len(h) > 2])
        self.taken: list[Any] = []
        shapely.prepare(self.face)

    def take(self, x: float, y: float, w: float, h: float) -> None:
        """Mark a box of size w, h [mm] about its middle x, y [mm] as written on."""
        import shapely

        self.taken.append(shapely.box(x - w / 2, y - h / 2, x + w / 2, y + h / 2))

    def find(
        self, w: float, h: float, near: Sequence[float] | None = None, gap: float = 1.2
    ) -> tuple[float, float] | None:
        """Middle of a free box of size w, h [mm] as close as can be to `near` [mm], or None.

        `gap` [mm] is kept all round; without `near` the middle of the face is preferred. The
        box is marked as taken.
        """
        import shapely

        x0, y0, x1, y1 = self.face.bounds
        if w + 2 * gap > x1 - x0 or h + 2 * gap > y1 - y0:
            return None
        wide, high = w / 2 + gap, h / 2 + gap
        xs, ys = np.linspace(x0 + wide, x1 - wide, 61), np.linspace(y0 + high, y1 - high, 61)
        cx, cy = (a.ravel() for a in np.meshgrid(xs, ys))
        boxes = shapely.box(cx - wide, cy - high, cx + wide, cy + high)
        good = shapely.covers(self.face, boxes)
        if self.taken and good.any():
            good &= ~shapely.intersects(shapely.union_all(self.taken), boxes)
        if not good.any():
            return None
        middle = (self.face.centroid.x, self.face.centroid.y) if near is None else near
        away = np.where(good, np.hypot(cx - middle[0], cy - middle[1]), np.inf)
        best = int(np.argmin(away))
        self.take(float(cx[best]), float(cy[best]), w, h)
        return float(cx[best]), float(cy[best])


def text_width(text: str, size: float) -> float:
    """Width of a line of text, estimated generously.

    Parameters
    ----------
    text : str [-]
    size : float [mm]
        Of the type.

    Returns
    -------
    width : float [mm]
    """
    return WIDTH * size * len(text)
