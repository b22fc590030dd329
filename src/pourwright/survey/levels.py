"""Level readings: the plane that fits them, what sags from it, and what the low spots take.

Resin levels to the true horizontal. A tilt makes it run to the low side; a sag collects it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from shapely import Polygon

    from pourwright.calc import Draws, Spread

MOST_TILT_RAD = math.radians(5.0)
READING_ERROR_M = 0.5e-3
"""Half width of the 90 % band of one height reading [m]: spirit level and feeler or laser line
on a counter (common practice)."""


MOST_READINGS = 200


@dataclass(frozen=True, slots=True)
class Tilt:
    """A slope of the surface: rise per length along x and y [-] (up is positive)."""

    slope_x: float
    slope_y: float

    @property
    def slope(self) -> float:
        """Fall per length down the steepest way [-]."""
        return math.hypot(self.slope_x, self.slope_y)

    @property
    def angle(self) -> float:
        """Angle to the horizontal [rad]."""
        return math.atan(self.slope)

    @property
    def towards(self) -> float:
        """Direction in which it falls [rad], anticlockwise from x; 0 when level."""
        return math.atan2(-self.slope_y, -self.slope_x) if self.slope else 0.0

    def __add__(self, other: Tilt) -> Tilt:
        return Tilt(self.slope_x + other.slope_x, self.slope_y + other.slope_y)

    def turned(self, turn: float) -> Tilt:
        """The same tilt in coordinates turned by `turn` [rad] from these."""
        c, s = math.cos(turn), math.sin(turn)
        return Tilt(c * self.slope_x + s * self.slope_y, -s * self.slope_x + c * self.slope_y)


def stated_tilt(angle: float, towards: float) -> Tilt:
    """A tilt stated by its angle and direction, e.g. the heel of a boat.

    Parameters
    ----------
    angle : float [rad]
        To the horizontal, 0 to 5 degrees.
    towards : float [rad]
        Direction in which it falls, anticlockwise from x of the plan.

    Returns
    -------
    tilt : Tilt [-]
        Slopes add (`+`) to first order in the angle; at 5 degrees that is right to 0.4 %.

    Raises
    ------
    InputError
        An angle outside 0 to 5 degrees.
    """
    if not (math.isfinite(angle) and 0 <= angle <= MOST_TILT_RAD):
        raise InputError(
            "tilt",
            f"{math.degrees(angle):.4g} deg",
            "it is from 0 deg to 5 deg",
            "Level the surface before pouring; a self-levelling resin runs off beyond that.",
        )
    slope = math.tan(angle)
    return Tilt(-slope * math.cos(towards), -slope * math.sin(towards))


@dataclass(frozen=True, slots=True)
class LevelReport:
    """What a set of readings says about a surface.

    `tilt` is the best plane's; `rms` [m] the scatter about it; `lowest` x, y [m] and
    `lowest_depth` [m] below the plane (also high spots, `highest_rise`); `low_volume` [m3] fills
    the low spots up to the plane; `level_volume` [m3] would bring the whole face up to its highest
    point; `fall` [m] is the height lost across the face down the steepest way. The ranges carry
    the reading error and are None without draws.
    """

    tilt: Tilt
    height_at_origin: float
    rms: float
    residuals: tuple[float, ...]
    lowest: tuple[float, float]
    lowest_depth: float
    highest_rise: float
    low_volume: float
    level_volume: float
    fall: float
    angle_range: Spread | None
    low_volume_range: Spread | None
    warnings: tuple[str, ...]


def fit_plane(
    x: ArrayLike, y: ArrayLike, height: ArrayLike
) -> tuple[Tilt, float, NDArray[np.float64]]:
    """Least-squares plane through height readings.

    Parameters
    ----------
    x, y, height : array [m]
        At least 3 readings, not on one line.

    Returns
    -------
    tilt, height_at_origin, residuals : Tilt [-], float [m], array [m]
        Residuals are reading less plane, shape (n,).

    Raises
    ------
    InputError
        Fewer than 3 readings, readings on one line, or steeper than 5 degrees.
    """
    px, py, pz = (np.asarray(v, dtype=float) for v in (x, y, height))
    if px.size < 3:
        raise InputError(
            "levels", int(px.size), "a plane needs at least 3 readings", "Take more readings."
        )
    if not np.all(np.isfinite(np.concatenate([px, py, pz]))):
        raise InputError(
            "levels", "a reading", "x, y and height are finite", "Correct the reading."
        )
    cx, cy = px.mean(), py.mean()
    m = np.column_stack([np.ones(px.size), px - cx, py - cy])
    values = np.linalg.svd(m[:, 1:], compute_uv=False)
    if values[1] < 1e-3 * max(values[0], 1e-12) or values[0] < 1e-3:
        raise InputError(
            "levels",
            f"{px.size} readings",
            "all readings lie on one line, which leaves the plane free to turn about it",
            "Add a reading well to one side of the line.",
        )
    (mean, sx, sy), *_ = np.linalg.lstsq(m, pz, rcond=None)
    tilt = Tilt(float(sx), float(sy))
    if tilt.angle > MOST_TILT_RAD:
        raise InputError(
            "levels",
            f"{math.degrees(tilt.angle):.3g} deg",
            "the readings tilt by more than 5 deg",
            "Check the unit and the sign of the heights, or level the surface first.",
        )
    return tilt, float(mean - sx * cx - sy * cy), pz - m @ np.array([mean, sx, sy])


def read_levels(
    polygon: Polygon,
    x: ArrayLike,
    y: ArrayLike,
    height: ArrayLike,
    site: Tilt | None = None,
    reading_error: float = READING_ERROR_M,
    draws: Draws | None = None,
    cells: int = 160,
) -> LevelReport:
    """Tilt, sag and filling volumes of a face from height readings.

    Parameters
    ----------
    polygon : shapely Polygon [m]
        The face.
    x, y, height : array [m]
        Readings, up positive, relative to one level line.
    site : Tilt or None [-]
        A tilt to add to the readings, e.g. the boat's heel when they were taken against the
        boat and not against true level.
    reading_error : float [m]
        Half width of the 90 % band of one reading.
    draws : Draws or None [-]
        Samples for the ranges.
    cells : int [-]
        Squares along the longer side of the box in which volumes are summed.

    Returns
    -------
    report : LevelReport [m], [m3]
        Between readings, and on to the rim, the sag is the thin-plate spline: the shape of a
        board bent least through all of them. Volumes are sums over squares scaled to the exact
        face area, within 1 % for sags wider than a tenth of the face; what lies between the
        readings stays unseen. Readings within 1 mm of one place count as their mean.
        Source: Duchon 1977, thin-plate splines (from memory), computed by scipy.

    Raises
    ------
    InputError
        As `fit_plane`.
    """
    px, py, pz = (np.asarray(v, dtype=float) for v in (x, y, height))
    if px.size > MOST_READINGS:
        raise InputError(
            "levels",
            int(px.size),
            say("at most {most} readings are used", most=MOST_READINGS),
            "Leave out readings that lie close together.",
        )
    fit_plane(px, py, pz)  # refuses what cannot be read before any are merged
    px, py, pz = _merged(px, py, pz)
    tilt, origin, residuals = fit_plane(px, py, pz)
    gx, gy, cell = _grid(polygon, cells)
    weights = _weights(px, py, gx, gy)
    sag = weights @ residuals
    total = tilt + site if site else tilt
    surface = total.slope_x * gx + total.slope_y * gy + sag
    rim = np.asarray(polygon.exterior.coords)
    highest = total.slope_x * rim[:, 0] + total.slope_y * rim[:, 1]
    highest += _weights(px, py, rim[:, 0], rim[:, 1]) @ residuals
    top = max(float(surface.max()), float(highest.max()))
    warnings = []
    if px.size == 3:
        warnings.append("Three readings fit any plane exactly: they show the tilt but no sag.")
    x0, y0, x1, y1 = polygon.bounds
    slack = 1e-3 + 0.02 * max(x1 - x0, y1 - y0)
    outside = (px < x0 - slack) | (px > x1 + slack) | (py < y0 - slack) | (py > y1 + slack)
    if outside.any():
        warnings.append(
            say(
                "{outside} of {all} readings lie outside the surface; check x and y.",
                outside=int(outside.sum()),
                all=px.size,
            )
        )
    deepest = int(np.argmin(residuals))
    angle_range = low_range = None
    if draws is not None:
        from pourwright.calc import spread_of

        noise = np.column_stack(
            [
                draws.between(f"level-reading-{i}", -reading_error, 0.0, reading_error)
                for i in range(px.size)
            ]
        )
        m = np.column_stack([np.ones(px.size), px - px.mean(), py - py.mean()])
        solve = np.linalg.pinv(m)
        coefficients = (pz + noise) @ solve.T
        slopes = coefficients[:, 1:] + (
            np.array([site.slope_x, site.slope_y]) if site else np.zeros(2)
        )
        angle_range = spread_of(np.arctan(np.hypot(slopes[:, 0], slopes[:, 1])))
        scatter = pz + noise - coefficients @ m.T
        volumes = [
            float(np.maximum(-(weights @ scatter[k]), 0.0).sum() * cell)
            for k in range(min(draws.count, 300))
        ]
        low_range = spread_of(volumes)
        if low_range.p50 > 2 * float(np.maximum(-sag, 0.0).sum() * cell):
            warnings.append("The low spots are no larger than the reading error can make them.")
    return LevelReport(
        tilt=total,
        height_at_origin=origin,
        rms=float(np.sqrt(np.mean(residuals**2))),
        residuals=tuple(float(r) for r in residuals),
        lowest=(float(px[deepest]), float(py[deepest])),
        lowest_depth=float(max(-residuals[deepest], 0.0)),
        highest_rise=float(max(residuals.max(), 0.0)),
        low_volume=float(np.maximum(-sag, 0.0).sum() * cell),
        level_volume=float((top - surface).sum() * cell),
        fall=fall_across(polygon, total),
        angle_range=angle_range,
        low_volume_range=low_range,
        warnings=tuple(warnings),
    )


def fall_across(polygon: Polygon, tilt: Tilt) -> float:
    """Height lost across a face down its steepest way.

    Parameters
    ----------
    polygon : shapely Polygon [m]
    tilt : Tilt [-]

    Returns
    -------
    fall : float [m]
    """
    points = np.asarray(polygon.exterior.coords)
    heights = points @ np.array([tilt.slope_x, tilt.slope_y])
    return float(heights.max() - heights.min())


def _grid(polygon: Polygon, cells: int) -> tuple[NDArray, NDArray, float]:
    """Middles of the squares inside the face [m] and the area that each stands for [m2]."""
    import shapely

    x0, y0, x1, y1 = polygon.bounds
    step = max(x1 - x0, y1 - y0) / cells
    nx, ny = max(8, round((x1 - x0) / step)), max(8, round((y1 - y0) / step))
    gx = x0 + (np.arange(nx) + 0.5) * (x1 - x0) / nx
    gy = y0 + (np.arange(ny) + 0.5) * (y1 - y0) / ny
    mx, my = (a.ravel() for a in np.meshgrid(gx, gy))
    inside = shapely.contains_xy(polygon, mx, my)
    return mx[inside], my[inside], polygon.area / max(int(inside.sum()), 1)


def _weights(px: NDArray, py: NDArray, gx: NDArray, gy: NDArray) -> NDArray[np.float64]:
    """Matrix from readings to points: the thin-plate spline through the readings."""
    from scipy.interpolate import RBFInterpolator

    span = max(float(np.ptp(px)), float(np.ptp(py)))
    spline = RBFInterpolator(
        np.column_stack([px, py]) / span,
        np.eye(px.size),
        kernel="thin_plate_spline",
        degree=1,
    )
    return spline(np.column_stack([gx, gy]) / span)


def _merged(
    px: NDArray, py: NDArray, pz: NDArray
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Readings at one place (within 1 mm) as their mean."""
    places: dict[tuple[int, int], list[int]] = {}
    for k, (x, y) in enumerate(zip(px, py, strict=True)):
        places.setdefault((round(x * 1e3), round(y * 1e3)), []).append(k)
    rows = [np.array(v) for v in places.values()]
    return tuple(np.array([a[r].mean() for r in rows]) for a in (px, py, pz))  # type: ignore[return-value]
