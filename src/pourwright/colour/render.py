"""Colour of every pixel of a poured surface: thickness maps of mixed shades over an undercoat.

Two-flux adding with depths taken from the N-stream table of `twoflux`, in compiled loops over strips
of pixels; in all 31 bands, or in the few that `fewer.fewer_bands` finds enough for a picture.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.colour.bands import NB, Bands
from pourwright.colour.colorimetry import _XYZ_TO_RGB, encode_srgb, weights
from pourwright.colour.finish import Finish
from pourwright.colour.fresnel import surface_terms
from pourwright.colour.shade import Shade, Undercoat
from pourwright.colour.twoflux import equivalent_depths
from pourwright.errors import InputError
from pourwright.words import Own, say

MAX_PIXELS = 64_000_000


@dataclass(frozen=True, eq=False)
class MapLayer:
    """One layer of a picture.

    Parameters
    ----------
    shades : sequence of Shade [-]
        The N shades that may be present.
    thickness : array_like [m]
        Cured thickness per pixel, shape (H, W), or one number.
    fractions : ndarray [-]
        Volume share of each shade per pixel, shape (N, H, W), 0 or more; what is missing to 1 is
        clear resin. None when there is one shade.
    glint : array_like [-]
        Brightness of flakes per pixel against a diffuser, shape (H, W), or one number; 1 for
        diffuse light. Feed it from the flakes' direction or a speckle texture.
    """

    shades: Sequence[Shade]
    thickness: ArrayLike
    fractions: ArrayLike | None = None
    glint: ArrayLike | None = None


def _plane(values: ArrayLike, shape: tuple[int, int], field: str) -> NDArray[np.float32]:
    a = np.asarray(values, dtype=np.float32)
    if a.ndim != 0 and a.shape != shape:
        raise InputError(
            field,
            f"shape {a.shape}",
            say("the picture has shape {shape}", shape=Own(shape)),
            "Give maps of one size.",
        )
    if not np.all(np.isfinite(a)) or a.min(initial=0.0) < 0:
        raise InputError(field, "negative or not finite", "0 or more", "Correct the map.")
    return np.ascontiguousarray(np.broadcast_to(a, shape)).ravel()


def map_reflectance_xyz(
    layers: Sequence[MapLayer],
    undercoat: Undercoat,
    finish: Finish | None = None,
    *,
    shape: tuple[int, int] | None = None,
    light: str = "D65",
    observer: str = "2",
    step_nm: int = 10,
    bands: Bands | None = None,
    threads: int | None = None,
    progress: Callable[[float], bool | None] | None = None,
) -> NDArray[np.float32]:
    """X, Y, Z of every pixel of layered, mixed shades.

    Parameters
    ----------
    layers : sequence of MapLayer [-]
        Bottom layer first.
    undercoat : Undercoat [-]
        The primer below.
    finish : Finish [-]
        Top surface; a matte top adds its veil.
    shape : tuple of 2 ints [-]
        Height and width in pixels; taken from the first map when None.
    light, observer : str [-]
        As in `colorimetry.weights`.
    step_nm : int [nm]
        Breadth of a band: 10, or 20 for twice the pace (neighbours averaged by what they weigh in
        X + Y + Z; 0.15 dE00 in the mean and 0.35 at most on the demo's shades).
    bands : Bands or None [-]
        From `fewer.fewer_bands` of these shades: only these bands, with weights of their own,
        for D65 and 2 degrees; `step_nm` then says nothing.
    threads : int [-]
        Strips worked on at once; default 2 or the number of cores if fewer.
    progress : callable [-]
        Called with the share done, 0 to 1; return True to stop (raises `InputError`).

    Returns
    -------
    ndarray [-]
        Shape (H, W, 3), Y = 1 for a perfect white. Mean error against the engine on random
        stacks is held by tests/colour/test_render.py.

    Raises
    ------
    InputError
        Maps of different size, negative or not finite; too many pixels; stopped.
    """
    finish = finish or Finish()
    if shape is None:
        shape = _shape_of(layers)
    count = int(shape[0]) * int(shape[1])
    if count < 1 or count > MAX_PIXELS:
        raise InputError(
            "shape", shape, say("1 to {n} pixels", n=MAX_PIXELS), "Draw a smaller picture."
        )
    single = _one_map(layers, shape)
    if single is not None:
        xyz = _by_thickness(layers, single, undercoat, finish, light, observer, shape)
        if progress is not None and progress(1.0):
            raise InputError("picture", "stopped", "stopped on request", "Start it again.")
        return xyz
    shades, first, *maps = _maps(layers, shape)
    fixed = _tables(shades, first, undercoat, finish, weights(light, observer))
    if bands is not None:
        if (light, observer) != ("D65", "2"):
            raise InputError(
                "bands",
                f"{light}, {observer}",
                "they hold for D65 and 2 degrees",
                "Take all bands.",
            )
        fixed = _chosen(fixed, bands)
    elif step_nm == 20:
        fixed = _in_pairs(fixed)
    elif step_nm != 10:
        raise InputError("step_nm", step_nm, "10 or 20 nm", "Use 10.")
    return _pixels(maps, fixed, threads, progress).reshape(*shape, 3)


def map_reflectance_bands(
    layers: Sequence[MapLayer], undercoat: Undercoat, finish: Finish | None = None
) -> NDArray[np.float32]:
    """Reflectance of every pixel of layered, mixed shades in all bands; meant for few pixels.

    Parameters
    ----------
    layers : sequence of MapLayer [-]
        Bottom layer first.
    undercoat : Undercoat [-]
        The primer below.
    finish : Finish or None [-]
        Top surface.

    Returns
    -------
    ndarray [-]
        Shape (H, W, 31), by the arithmetic of `map_reflectance_xyz`.

    Raises
    ------
    InputError
        Maps of different size, negative or not finite.
    """
    shape = _shape_of(layers)
    shades, first, *maps = _maps(layers, shape)
    out = np.empty((shape[0] * shape[1], NB + 2), np.float32)
    for b in range(0, NB, 3):
        pick = np.zeros((NB, 3))
        for n in range(min(3, NB - b)):
            pick[b + n, n] = 1.0
        out[:, b : b + 3] = _pixels(
            maps, _tables(shades, first, undercoat, finish or Finish(), pick), 1, None
        )
    return out[:, :NB].reshape(*shape, NB)


def _maps(layers: Sequence[MapLayer], shape: tuple[int, int]) -> tuple:
    """Shades of all layers, where each layer's begin, and the maps of thickness, share, glint."""
    count = int(shape[0]) * int(shape[1])
    shades: list[Shade] = []
    first, thick, frac, glint = [0], [], [], []
    for i, layer in enumerate(layers):
        n = len(layer.shades)
        if n < 1:
            raise InputError(f"layers[{i}].shades", 0, "at least one shade", "Name its shades.")
        shades.extend(layer.shades)
        first.append(len(shades))
        thick.append(_plane(layer.thickness, shape, f"layers[{i}].thickness"))
        g: ArrayLike = 1.0 if layer.glint is None else layer.glint
        glint.append(_plane(g, shape, f"layers[{i}].glint"))
        if layer.fractions is None:
            if n != 1:
                raise InputError(
                    f"layers[{i}].fractions",
                    None,
                    say("{n} shades need their shares", n=n),
                    "Give them.",
                )
            frac.append(np.ones((1, count), np.float32))
        else:
            f = np.asarray(layer.fractions, dtype=np.float32)
            if f.shape[0] != n:
                raise InputError(
                    f"layers[{i}].fractions",
                    f"{f.shape[0]} maps",
                    say("the layer has {n} shades", n=n),
                    "Give one map for each shade.",
                )
            frac.append(
                np.stack([_plane(f[j], shape, f"layers[{i}].fractions[{j}]") for j in range(n)])
            )
    thick_all = np.stack(thick) if thick else np.empty((0, count), np.float32)
    glint_all = np.stack(glint) if glint else np.empty((0, count), np.float32)
    frac_all = np.concatenate(frac) if frac else np.empty((0, count), np.float32)
    return shades, first, thick_all, frac_all, glint_all


def _tables(
    shades: Sequence[Shade],
    first: Sequence[int],
    undercoat: Undercoat,
    finish: Finish,
    weight: NDArray[np.float64],
) -> tuple:
    """What the kernel needs beside the maps: optics by band, weights (31, 3), surface terms."""
    from pourwright.colour.kernels import LANES

    def table(rows: list[NDArray[np.float64]]) -> NDArray[np.float32]:
        out = np.zeros((len(rows), LANES), np.float32)
        if rows:
            out[:, :NB] = rows
        return out

    k1, _, k2 = surface_terms(finish.n)
    return (
        np.array(first, np.int64),
        table([s.k for s in shades]),
        table([s.s for s in shades]),
        np.array([s.flake_area for s in shades], np.float32),
        table([s.flake_colour for s in shades]),
        table([s.flake_through for s in shades]),
        table([undercoat.inside])[0],
        np.ascontiguousarray(table(list(weight.T)).T),
        np.ascontiguousarray(np.moveaxis(equivalent_depths(finish.n), 2, 0)),
        np.float32(k1),
        np.float32(k2),
        np.float32(finish.veil),
    )


def _pixels(
    maps: Sequence[NDArray[np.float32]],
    fixed: tuple,
    threads: int | None,
    progress: Callable[[float], bool | None] | None,
) -> NDArray[np.float32]:
    """X, Y, Z (pixels, 3) of maps of thickness, share and glint, worked on in strips."""
    from pourwright.colour import kernels

    kernel: Callable[..., None] = kernels.layered_xyz
    thick_all, frac_all, glint_all = maps
    count = thick_all.shape[1]
    xyz = np.empty((count, 3), np.float32)
    workers = threads or min(2, os.cpu_count() or 1)
    step = max(4096, -(-count // (workers * 8)))
    strips = [(a, min(a + step, count)) for a in range(0, count, step)]

    def work(strip: tuple[int, int]) -> int:
        a, b = strip
        kernel(thick_all[:, a:b], frac_all[:, a:b], glint_all[:, a:b], *fixed, xyz[a:b])
        return b - a

    done = 0
    with ThreadPoolExecutor(workers) as pool:
        for size in pool.map(work, strips):
            done += size
            if progress is not None and progress(done / count):
                pool.shutdown(cancel_futures=True)
                raise InputError("picture", "stopped", "stopped on request", "Start it again.")
    return xyz


def _chosen(fixed: tuple, bands: Bands) -> tuple:
    """The kernel's tables with a few bands only, rounded up to a whole step of eight."""
    first, k, s, area, colour, through, below, _, *rest = fixed
    at, spare = bands.index, -len(bands.index) % 8

    def pick(a: NDArray[np.float32]) -> NDArray[np.float32]:
        part = a[..., at]
        return np.ascontiguousarray(np.pad(part, [(0, 0)] * (part.ndim - 1) + [(0, spare)]))

    weight = np.pad(bands.weight, [(0, spare), (0, 0)]).astype(np.float32)
    return (first, pick(k), pick(s), area, pick(colour), pick(through), pick(below), weight, *rest)


def _in_pairs(fixed: tuple) -> tuple:
    """The kernel's tables with two neighbouring bands taken as one, by their weight in X + Y + Z."""
    first, k, s, area, colour, through, below, weight, *rest = fixed
    part = weight.sum(1).reshape(-1, 2) + np.float32(1e-9)
    part /= part.sum(1, keepdims=True)

    def mean(a: NDArray[np.float32]) -> NDArray[np.float32]:
        return np.ascontiguousarray((a.reshape(*a.shape[:-1], -1, 2) * part).sum(-1))

    both = np.ascontiguousarray(weight.reshape(-1, 2, 3).sum(1))
    return (first, mean(k), mean(s), area, mean(colour), mean(through), mean(below), both, *rest)


def render_map(
    layers: Sequence[MapLayer],
    undercoat: Undercoat,
    finish: Finish | None = None,
    *,
    shape: tuple[int, int] | None = None,
    threads: int | None = None,
    progress: Callable[[float], bool | None] | None = None,
) -> NDArray[np.uint8]:
    """Screen picture of layered, mixed shades in daylight.

    Parameters
    ----------
    layers : sequence of MapLayer [-]
        Bottom layer first.
    undercoat : Undercoat [-]
        The primer below.
    finish : Finish [-]
        Top surface.
    shape : tuple of 2 ints [-]
        Height and width in pixels; taken from the first map when None.
    threads : int [-]
        Strips worked on at once.
    progress : callable [-]
        Called with the share done; return True to stop.

    Returns
    -------
    ndarray [-]
        Shape (H, W, 3), sRGB 0..255, out-of-gamut colours pulled in at equal luminance.
    """
    xyz = map_reflectance_xyz(
        layers, undercoat, finish, shape=shape, threads=threads, progress=progress
    )
    from pourwright.colour.kernels import xyz_to_srgb8

    flat = xyz.reshape(-1, 3)
    out = np.empty(flat.shape, np.uint8)
    xyz_to_srgb8(flat, _XYZ_TO_RGB.astype(np.float32), _code_table(), out)
    return out.reshape(xyz.shape)


def _one_map(layers: Sequence[MapLayer], shape: tuple[int, int]) -> int | None:
    """Index of the only layer that varies, by thickness alone, in a picture of some size."""
    if shape[0] * shape[1] < 20_000:
        return None
    varying = []
    for i, layer in enumerate(layers):
        if len(layer.shades) != 1 or layer.fractions is not None or np.ndim(layer.glint or 0.0):
            return None
        if np.ndim(layer.thickness):
            varying.append(i)
    return varying[0] if len(varying) == 1 else None


def _by_thickness(
    layers: Sequence[MapLayer],
    index: int,
    undercoat: Undercoat,
    finish: Finish,
    light: str,
    observer: str,
    shape: tuple[int, int],
) -> NDArray[np.float32]:
    """X, Y, Z from the engine itself at 129 thicknesses, linear in the root of the thickness."""
    from pourwright.colour.stack import stack_reflectance

    x = _plane(layers[index].thickness, shape, f"layers[{index}].thickness")
    top = max(float(x.max()), 1e-9)
    nodes = top * (np.arange(129) / 128) ** 2
    glint = layers[index].glint
    table = np.empty((129, 3))
    for j, node in enumerate(nodes):
        coats = [
            (a.shades[0], float(node) if i == index else float(np.asarray(a.thickness)))
            for i, a in enumerate(layers)
        ]
        shine = 1.0 if glint is None else float(np.asarray(glint))
        table[j] = stack_reflectance(coats, undercoat, finish, glint=shine) @ weights(
            light, observer
        )
    u = np.sqrt(x * np.float32(1 / top)) * np.float32(128)
    i = np.minimum(u.astype(np.int32), 127)
    u -= i
    low = table.astype(np.float32)
    step = np.diff(low, axis=0)
    out = low[i]
    out += u[:, None] * step[i]
    return out.reshape(*shape, 3)


def _code_table() -> NDArray[np.uint8]:
    """sRGB code of sqrt-spaced linear light, 4096 steps."""
    t = (np.arange(4097) / 4096) ** 2
    return np.round(255 * encode_srgb(t)).astype(np.uint8)


def _shape_of(layers: Sequence[MapLayer]) -> tuple[int, int]:
    for layer in layers:
        a = np.asarray(layer.thickness)
        if a.ndim == 2:
            return int(a.shape[0]), int(a.shape[1])
        if layer.fractions is not None:
            f = np.asarray(layer.fractions)
            if f.ndim == 3:
                return int(f.shape[1]), int(f.shape[2])
    raise InputError(
        "layers", "no map", "one thickness must be a map of shape (H, W)", "Or give the shape."
    )
