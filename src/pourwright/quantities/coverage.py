"""Film thickness, volume on an area and area from a volume: three names of one number.

One litre on a square metre is a film of one millimetre; one US gallon (231 in3) covers
231/144 ft2 x 1000 mil/in = 1604.17 ft2 at one mil. Both follow from the definitions of the units
(NIST Handbook 44, Appendix C) and hold for the wet film.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError


def _checked(
    field: str, value: ArrayLike, low: float, high: float, words: str, open_low: bool = False
) -> NDArray[np.float64]:
    array = np.asarray(value, dtype=float)
    bad = ~np.isfinite(array) | (array < low) | (array > high)
    if open_low:
        bad |= array <= low
    if np.any(bad):
        first = float(array[bad].flat[0]) if array.ndim else float(array)
        raise InputError(field, first, words, "Check the figure and its unit.")
    return array


def _plain(value: NDArray[np.float64]) -> Any:
    return float(value) if np.ndim(value) == 0 else value


def film_on(volume: ArrayLike, area: ArrayLike, loss: ArrayLike = 0.0) -> Any:
    """Mean wet film that a mixed volume leaves on an area.

    film = volume (1 - loss) / area; conservation of volume.

    Parameters
    ----------
    volume : float or array [m3]
        Mixed volume, 0 or more.
    area : float or array [m2]
        Wetted area, more than 0.
    loss : float or array [-]
        Share that never reaches the area (cups, tools, floor), 0 to below 1.

    Returns
    -------
    float or array [m]
        Mean wet film thickness.

    Raises
    ------
    InputError
        If an argument is out of its range.
    """
    v = _checked("volume", volume, 0.0, np.inf, "a volume is 0 or more")
    a = _checked("area", area, 0.0, np.inf, "an area is more than 0", open_low=True)
    return _plain(v * (1.0 - _loss(loss)) / a)


def volume_for(area: ArrayLike, film: ArrayLike, loss: ArrayLike = 0.0) -> Any:
    """Volume to mix for a wet film on an area.

    volume = area film / (1 - loss); the inverse of `film_on`.

    Parameters
    ----------
    area : float or array [m2]
        Wetted area, 0 or more.
    film : float or array [m]
        Mean wet film thickness, 0 or more.
    loss : float or array [-]
        Share that never reaches the area, 0 to below 1.

    Returns
    -------
    float or array [m3]
        Volume to mix.

    Raises
    ------
    InputError
        If an argument is out of its range.
    """
    a = _checked("area", area, 0.0, np.inf, "an area is 0 or more")
    f = _checked("film", film, 0.0, np.inf, "a film is 0 or more")
    return _plain(a * f / (1.0 - _loss(loss)))


def area_per_volume(film: ArrayLike, loss: ArrayLike = 0.0) -> Any:
    """Area that one cubic metre of mixed material covers at a wet film.

    Parameters
    ----------
    film : float or array [m]
        Mean wet film thickness, more than 0.
    loss : float or array [-]
        Share that never reaches the area, 0 to below 1.

    Returns
    -------
    float or array [m2/m3]
        Area per volume; 1000 m2/m3 is 1 m2/L.

    Raises
    ------
    InputError
        If an argument is out of its range.
    """
    f = _checked("film", film, 0.0, np.inf, "a film is more than 0", open_low=True)
    return _plain((1.0 - _loss(loss)) / f)


def dry_film(wet: ArrayLike, solids: ArrayLike) -> Any:
    """Film that stays when water or solvent has left.

    dry = wet x solids by volume; cure shrinkage is not counted.

    Parameters
    ----------
    wet : float or array [m]
        Wet film thickness, 0 or more.
    solids : float or array [-]
        Solids by volume, more than 0 to 1; 1 for a solvent-free resin.

    Returns
    -------
    float or array [m]
        Dry film thickness.

    Raises
    ------
    InputError
        If an argument is out of its range.
    """
    w = _checked("wet", wet, 0.0, np.inf, "a film is 0 or more")
    s = _checked("solids", solids, 0.0, 1.0, "solids are more than 0 to 1", open_low=True)
    return _plain(w * s)


def _loss(loss: ArrayLike) -> NDArray[np.float64]:
    return _checked("loss", loss, 0.0, 1.0 - 1e-6, "a loss is 0 to below 1")
