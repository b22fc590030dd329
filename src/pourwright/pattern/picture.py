"""The straight-down picture: what the eye sees of a pour, by the optics of its build-up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.drawing import STYLE
from pourwright.errors import InputError
from pourwright.pattern.bake import corrections, look_up
from pourwright.pattern.play import Pour
from pourwright.pattern.progress import Progress, report
from pourwright.pattern.threads import share_out, side_by_side, workers
from pourwright.words import Listed, Own, say

if TYPE_CHECKING:
    from PIL import Image

    from pourwright.colour.bands import Bands
    from pourwright.colour.finish import Finish
    from pourwright.colour.shade import Shade, Undercoat

_A = NDArray[np.float64]
BAND = 40_000  # pixels worked on at once [-]
NEAR = 0.5  # how far off a few bands may be at worst before all 31 are taken [CIEDE2000]
FLAKE = 60e-6  # breadth of a flake [m]; common practice, 20 to 120 um


@dataclass(frozen=True)
class View:
    """A rectangular window of the surface: corner x0, y0, size and pixel, all [m]."""

    x0: float
    y0: float
    width: float
    height: float
    pixel: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of pixels [-]."""
        return max(1, round(self.height / self.pixel)), max(1, round(self.width / self.pixel))


def whole(pour: Pour, pixel: float) -> View:
    """The window that just holds a pour's outline.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    pixel : float [m]
        Pixel.

    Returns
    -------
    View [m]
        The window.
    """
    xs = [p[0] for p in pour.surface.outline]
    ys = [p[1] for p in pour.surface.outline]
    return View(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys), pixel)


def _sparkle(spot: float, shape: tuple[int, int], seed: int, row: int) -> _A:
    """Brightness of flakes per pixel: few flakes in a pixel glitter, many even out [-].

    About N = (spot/FLAKE)^2 flakes of unlike tilt are seen in a pixel, so their mean brightness
    scatters by 0.6/sqrt(N): one flake's brightness by 0.6 of its mean (common practice).
    """
    rng = np.random.default_rng([seed, row])
    scatter = 0.6 * min(FLAKE / max(spot, 1e-6), 1.0)
    return np.exp(scatter * rng.normal(size=shape) - 0.5 * scatter**2)


def check_shades(pour: Pour, shades: Mapping[str, Shade]) -> list[Shade]:
    """The colour-engine shades of a pour's cups, in order.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics by name.

    Returns
    -------
    list of Shade [-]
        One per cup; raises `InputError` when one lacks.
    """
    found = []
    for name in pour.score.cups:
        if name not in shades:
            raise InputError(
                f"shades.{name}",
                name,
                say(
                    "the score needs this shade; given are: {names}",
                    names=Listed(map(Own, shades)) if shades else "none",
                ),
                "Give its optics under this name.",
            )
        found.append(shades[name])
    return found


def bands_for(optics: list[Shade], primer: Undercoat, finish: Finish | None) -> Bands | None:
    """As few bands as give the colours of a picture within `NEAR` at worst.

    Parameters
    ----------
    optics : list of Shade [-]
        All shades of the picture.
    primer : Undercoat [-]
        The ground below.
    finish : Finish or None [-]
        The top surface.

    Returns
    -------
    Bands or None [-]
        8 or 16 bands with their weights; None when all 31 are needed.
    """
    from pourwright.colour.fewer import fewer_bands

    for count in (8, 16):
        found = fewer_bands(tuple(optics), primer, finish, count)
        if found.worst_error <= NEAR:
            return found
    return None


def reflect_xyz(
    pour: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    view: View | None = None,
    pixel: float = 0.001,
    points: tuple[_A, _A] | None = None,
    glint: float = 1.0,
    progress: Progress | None = None,
) -> NDArray[np.float32]:
    """Reflected light of a pour as XYZ.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics of every shade of the score's cups, by name.
    primer : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Gloss or matte; default gloss.
    view : View [m]
        Window; default the whole outline.
    pixel : float [m]
        Pixel of the default window.
    points : (array, array) [m]
        Any places instead of a window, two arrays of one 2-D shape.
    glint : float [-]
        Brightness of flakes against a diffuser.
    progress : callable [-]
        Called with the share done, 0 to 1; return True to stop.

    Returns
    -------
    float32 array [-]
        (rows, columns, 3), Y = 1 for a perfect white; mirror reflection left out.

    Raises
    ------
    InputError
        A shade without optics, a picture too large, or stopped.
    """
    from pourwright.colour.render import MapLayer, map_reflectance_xyz

    optics = check_shades(pour, shades)
    bands = bands_for(optics, primer, finish)
    seen = None
    if points is None:
        view = view or whole(pour, pixel)
        rows, cols = view.shape
        if rows * cols > 6e7:
            raise InputError(
                "pixel", view.pixel, "at most 60 million pixels", "Use a larger pixel."
            )
        x = view.x0 + (np.arange(cols) + 0.5) * view.pixel
        y = view.y0 + (np.arange(rows) + 0.5) * view.pixel
        spot = view.pixel
        seen = _near_surface(pour, view)
        edges = np.searchsorted(np.cumsum(seen.sum(1)), np.arange(BAND, seen.sum(), BAND))
        cuts = np.unique([0, *(edges + 1), rows])
    else:
        rows, cols = points[0].shape
        spot = pixel
        cuts = np.unique([*range(0, rows, max(1, BAND // cols)), rows])
    out = np.zeros((rows, cols, 3), np.float32)
    alone = workers() > 1  # then bands are drawn side by side, each by one thread

    def draw(a: int, b: int) -> None:
        if points is None:
            assert seen is not None
            i, j = np.nonzero(seen[a:b])
            px, py = np.asarray(x[j], float), np.asarray(y[a + i], float)
        else:
            px, py = points[0][a:b].ravel(), points[1][a:b].ravel()
        n = len(px)
        if not n:
            return
        stack = []
        for numbers, t, part in look_up(pour, px, py, spot):
            if not t.any():
                continue
            shine: float | _A = glint
            if any(optics[k].flake_area > 0 for k in numbers):
                shine = glint * _sparkle(spot, (1, n), pour.seed, a)
            maps = t[None, :], part.T[:, None, :]
            stack.append(MapLayer([optics[k] for k in numbers], *maps, shine))
        threads = 1 if alone else None
        xyz = map_reflectance_xyz(
            stack, primer, finish, shape=(1, n), threads=threads, bands=bands
        )[0]
        if seen is None:
            out[a:b] = xyz.reshape(b - a, cols, 3)
        else:
            out[a:b][seen[a:b]] = xyz

    corrections(pour)
    side_by_side(
        list(pairwise(cuts.tolist())), draw, lambda share: report(progress, share, "picture")
    )
    return out


def _near_surface(pour: Pour, view: View) -> NDArray[np.bool_]:
    """Pixels of a window on the surface or within about three pixels of it."""
    from PIL import Image, ImageDraw

    rows, cols = view.shape
    image = Image.new("L", (cols, rows), 0)
    draw = ImageDraw.Draw(image)
    rings = [
        [((x - view.x0) / view.pixel - 0.5, (y - view.y0) / view.pixel - 0.5) for x, y in ring]
        for ring in (pour.surface.outline, *pour.surface.holes)
    ]
    for n, points in enumerate(rings):
        draw.polygon(points, fill=0 if n else 1)
    for points in rings:
        draw.line([*points, *points[:2]], fill=1, width=7)
    return np.asarray(image, bool)


def outline_mask(pour: Pour, view: View) -> _A:
    """How much of each pixel lies on the surface.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    view : View [m]
        Window.

    Returns
    -------
    array [-]
        0 to 1, (rows, columns).
    """
    return np.asarray(_cover(pour, view), float) / 255


def _cover(pour: Pour, view: View) -> Image.Image:
    from PIL import Image, ImageDraw

    rows, cols = view.shape
    k = 3
    image = Image.new("L", (cols * k, rows * k), 0)
    draw = ImageDraw.Draw(image)
    for ring, fill in [(pour.surface.outline, 255), *[(h, 0) for h in pour.surface.holes]]:
        points = [
            ((x - view.x0) / view.pixel * k - 0.5, (y - view.y0) / view.pixel * k - 0.5)
            for x, y in ring
        ]
        draw.polygon(points, fill=fill)
    return image.resize((cols, rows), Image.Resampling.BOX)


def to_screen(xyz: NDArray[np.float32]) -> NDArray[np.uint8]:
    """XYZ as 8-bit sRGB.

    Parameters
    ----------
    xyz : array [-]
        (rows, columns, 3), Y = 1 for white.

    Returns
    -------
    uint8 array [-]
        (rows, columns, 3), brought into gamut at equal luminance.
    """
    from pourwright.colour.colorimetry import _XYZ_TO_RGB
    from pourwright.colour.kernels import xyz_to_srgb8
    from pourwright.colour.render import _code_table

    flat = np.ascontiguousarray(xyz, np.float32).reshape(-1, 3)
    out = np.empty(flat.shape, np.uint8)
    to_rgb, codes = _XYZ_TO_RGB.astype(np.float32), _code_table()
    share_out(len(flat), lambda a, b: xyz_to_srgb8(flat[a:b], to_rgb, codes, out[a:b]), 100_000)
    return out.reshape(xyz.shape)


def render(
    pour: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    view: View | None = None,
    pixel: float = 0.001,
    ground: str = STYLE.paper,
    progress: Progress | None = None,
) -> Image.Image:
    """The straight-down picture at true scale.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics of every shade, by name.
    primer : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Gloss (deep, mirror reflection left out) or matte (paler by the surface's own veil).
    view : View [m]
        Window; default the whole outline.
    pixel : float [m]
        Pixel of the default window, 0.0001 to 0.02.
    ground : str [-]
        Colour beside the surface, #rrggbb.
    progress : callable [-]
        Called with the share done; return True to stop.

    Returns
    -------
    PIL image [-]
        sRGB, one pixel per `pixel` of surface.

    Raises
    ------
    InputError
        A shade without optics, a bad pixel, or stopped.
    """
    from PIL import Image

    if not 1e-4 <= pixel <= 0.02:
        raise InputError("pixel", pixel, "0.1 mm to 20 mm", "Choose a pixel in this range.")
    view = view or whole(pour, pixel)
    xyz = reflect_xyz(pour, shades, primer, finish, view=view, progress=progress)
    image = Image.fromarray(to_screen(xyz))
    return Image.composite(image, Image.new("RGB", image.size, ground), _cover(pour, view))
