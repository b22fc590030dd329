"""A lit view of the slab: perspective, soft window light, reflections by Fresnel's law.

A small ray caster in numpy. The top and the turned-down faces carry the straight-down pictures;
over them lies the mirror image of a plain room with one tall window, weighted by Fresnel's
reflectance for the resin's index and blurred by the roughness that goes with the gloss. The film's
own relief and the rounded edge bend the mirror image.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.pattern.edges import edge_faces
from pourwright.pattern.picture import reflect_xyz, to_screen, whole
from pourwright.pattern.play import Pour
from pourwright.pattern.progress import Progress, part_of, report

if TYPE_CHECKING:
    from PIL import Image

    from pourwright.colour.finish import Finish
    from pourwright.colour.shade import Shade, Undercoat

_A = NDArray[np.float64]
DAY = np.array([0.9505, 1.0, 1.089])  # white of daylight D65 as XYZ (CIE 15)
PAPER = DAY * np.array([1.0, 1.0, 0.93])  # warm paper under the slab
ROUND = 0.006  # round-over drawn where the surface names none [m]; common practice


@dataclass(frozen=True)
class Camera:
    """Where the eye stands: height angle and turn [deg], room around the slab [-], lens [deg]."""

    above_deg: float = 34.0
    turn_deg: float = -24.0
    room: float = 1.10
    lens_deg: float = 34.0


def _room(d: _A, blur: float) -> _A:
    """Light from direction d (n, 3) of a plain room with a window, relative to white [-]."""
    soft = 0.02 + blur
    up = np.clip(d[:, 2], 0, 1)
    walls = 0.08 + 0.12 * up
    out_x, out_y = d[:, 0], d[:, 1]
    side = np.arctan2(out_x, -out_y)
    high = np.arctan2(d[:, 2], np.hypot(out_x, out_y))

    def gate(v: _A, low: float, top: float) -> _A:
        a = 1 / (1 + np.exp(-np.clip((v - low) / soft, -40, 40)))
        b = 1 / (1 + np.exp(-np.clip((top - v) / soft, -40, 40)))
        return a * b

    window = gate(side, 0.40, 0.86) * gate(high, 0.50, 1.15)
    bar = 1 - 0.85 * (gate(side, 0.615, 0.64) + gate(high, 0.80, 0.825)).clip(0, 1) / (
        1 + 12 * blur
    )
    lamp = gate(side, -1.35, -0.75) * gate(high, 0.5, 0.9)
    return walls + 1.9 * window * bar + 0.35 * lamp


def _fresnel(cos: _A, n: float) -> _A:
    """Reflectance of unpolarised light at cosine `cos` on index n [-] (Fresnel)."""
    c = np.clip(cos, 1e-4, 1)
    g = np.sqrt(n * n - 1 + c * c)
    a = ((g - c) / (g + c)) ** 2
    b = ((c * (g + c) - 1) / (c * (g - c) + 1)) ** 2
    return 0.5 * a * (1 + b)


def _sample(texture: _A, row: _A, col: _A) -> _A:
    """Texture (rows, cols, c) at fractional places, linear."""
    ny, nx = texture.shape[:2]
    r = np.clip(row, 0, ny - 1.001)
    c = np.clip(col, 0, nx - 1.001)
    i, j = r.astype(int), c.astype(int)
    i1, j1 = np.minimum(i + 1, ny - 1), np.minimum(j + 1, nx - 1)
    fr, fc = (r - i)[:, None], (c - j)[:, None]
    up = texture[i, j] * (1 - fc) + texture[i, j1] * fc
    return up * (1 - fr) + (texture[i1, j] * (1 - fc) + texture[i1, j1] * fc) * fr


def _inside(ring: list[tuple[float, float]], x: _A, y: _A) -> NDArray[np.bool_]:
    hit = np.zeros(x.shape, bool)
    n = len(ring)
    for k in range(n):
        (ax, ay), (bx, by) = ring[k], ring[(k + 1) % n]
        if ay == by:
            continue
        cross = (ay > y) != (by > y)
        hit ^= cross & (x < ax + (y - ay) * (bx - ax) / (by - ay))
    return hit


def render_view(
    pour: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    camera: Camera | None = None,
    size: tuple[int, int] = (1400, 900),
    pixel: float = 0.001,
    progress: Progress | None = None,
) -> Image.Image:
    """A lit perspective view of the poured slab.

    Parameters
    ----------
    pour : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics of every shade, by name.
    primer : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Gloss or matte.
    camera : Camera [-]
        Where the eye stands; angles in degrees.
    size : (int, int) [-]
        Width and height in pixels, 64 to 4000 each.
    pixel : float [m]
        Pixel of the carried picture.
    progress : callable [-]
        Called with the share done; return True to stop.

    Returns
    -------
    PIL image [-]
        sRGB. The room is a plain invented one: it shows gloss and edge, not a client's kitchen.

    Raises
    ------
    InputError
        A bad size, a shade without optics, or stopped.
    """
    from PIL import Image

    from pourwright.colour.finish import Finish

    if not all(64 <= v <= 4000 for v in size):
        raise InputError("size", size, "64 to 4000 pixels each way", "Choose a size in this range.")
    finish = finish or Finish()
    camera = camera or Camera()
    half = part_of(progress, 0.0, 0.6)
    window = whole(pour, pixel)
    top = reflect_xyz(pour, shades, primer, finish, view=window, progress=half).astype(float)
    faces = {f.edge: f for f in edge_faces(pour, shades, primer, finish, pixel=pixel)}
    scene = _Scene(pour, top, faces, finish, window)
    width, height = size
    out = np.empty((height * 2, width * 2, 3), np.float32)
    rays = _rays(scene, camera, width * 2, height * 2)
    band = max(2, 300_000 // (width * 2))
    for a in range(0, height * 2, band):
        b = min(a + band, height * 2)
        out[a:b] = scene.shade(rays[0], rays[1](a, b)).reshape(b - a, width * 2, 3)
        report(progress, 0.6 + 0.4 * b / (height * 2), "picture")
    small = out.reshape(height, 2, width, 2, 3).mean((1, 3))
    return Image.fromarray(to_screen(small.astype(np.float32)))


def _rays(scene: _Scene, camera: Camera, nx: int, ny: int):
    a, t = math.radians(camera.above_deg), math.radians(camera.turn_deg)
    away = np.array([math.sin(t) * math.cos(a), math.cos(t) * math.cos(a), math.sin(a)])
    ahead = -away
    right = np.cross(ahead, [0, 0, 1.0])
    right /= -np.linalg.norm(right)  # y runs down the plan: mirror to keep left on the left
    up = np.cross(right, ahead)
    up *= math.copysign(1, up[2])
    k = math.tan(math.radians(camera.lens_deg) / 2)
    corners = np.array([(*p, z) for p in scene.ring for z in (0.0, -scene.deep)]) - scene.centre
    side, rise, near = corners @ right, corners @ up, corners @ away
    lift = 0.5 * (rise.max() + rise.min())
    fit = max(np.max(np.abs(side) / k + near), np.max(np.abs(rise - lift) / (k * ny / nx) + near))
    eye = scene.centre + lift * up + away * fit * camera.room

    def rows(first: int, last: int) -> _A:
        x = (np.arange(nx) + 0.5) / nx * 2 - 1
        y = (1 - (np.arange(first, last) + 0.5) / ny * 2) * ny / nx
        gx, gy = np.meshgrid(x * k, y * k)
        d = ahead + gx[..., None] * right + gy[..., None] * up
        d = d.reshape(-1, 3)
        return d / np.linalg.norm(d, axis=1)[:, None]

    return eye, rows


class _Scene:
    def __init__(self, pour: Pour, top: _A, faces: dict, finish: Finish, window) -> None:
        from scipy.ndimage import gaussian_filter

        self.pour, self.top, self.faces, self.window = pour, top, faces, window
        self.index = finish.n
        self.blur = 0.55 * max(0.0, 1 - finish.gloss_60 / 95.0) ** 1.3
        self.ring = [(float(p[0]), float(p[1])) for p in pour.surface.outline]
        self.holes = [[(float(p[0]), float(p[1])) for p in h] for h in pour.surface.holes]
        xs, ys = np.array(self.ring).T
        self.centre = np.array([(xs.min() + xs.max()) / 2, (ys.min() + ys.max()) / 2, -0.01])
        self.span = float(math.hypot(xs.max() - xs.min(), ys.max() - ys.min()))
        self.deep = max(pour.surface.drop, 0.02)
        self.round = pour.surface.round_over or ROUND
        g = pour.domain
        soft = gaussian_filter(np.where(g.wet, pour.h, pour.h[g.wet].mean()), 1.0)
        self.relief = np.gradient(soft, g.cell)
        # shadow on the ground: the outline seen by a broad light, blurred
        self.cell = self.span / 400
        pad = 60
        n = (
            int((ys.max() - ys.min()) / self.cell) + 2 * pad,
            int((xs.max() - xs.min()) / self.cell) + 2 * pad,
        )
        self.sx, self.sy = xs.min() - pad * self.cell, ys.min() - pad * self.cell
        gx, gy = np.meshgrid(
            self.sx + (np.arange(n[1]) + 0.5) * self.cell,
            self.sy + (np.arange(n[0]) + 0.5) * self.cell,
        )
        solid = _inside(self.ring, gx.ravel(), gy.ravel()).reshape(n).astype(float)
        near = gaussian_filter(np.roll(solid, (3, 3), (0, 1)), 4)
        far = gaussian_filter(np.roll(solid, (8, 8), (0, 1)), 18)
        self.shadow = (0.45 * near + 0.35 * far)[..., None]

    def shade(self, eye: _A, d: _A) -> _A:
        n = len(d)
        colour = np.zeros((n, 3))
        depth = np.full(n, np.inf)
        down = d[:, 2] < -1e-6
        t = np.where(down, -eye[2] / np.where(down, d[:, 2], 1), np.inf)
        x, y = eye[0] + t * d[:, 0], eye[1] + t * d[:, 1]
        x, y = np.where(down, x, 1e9), np.where(down, y, 1e9)
        hit = down & _inside(self.ring, x, y)
        for hole in self.holes:
            hit &= ~_inside(hole, x, y)
        if hit.any():
            colour[hit] = self._top(x[hit], y[hit], d[hit])
            depth[hit] = t[hit]
        self._sides(eye, d, colour, depth)
        miss = ~np.isfinite(depth)
        floor_t = np.where(down, (-self.deep - 0.002 - eye[2]) / np.where(down, d[:, 2], 1), np.inf)
        ground = miss & down
        if ground.any():
            gx = eye[0] + floor_t[ground] * d[ground, 0]
            gy = eye[1] + floor_t[ground] * d[ground, 1]
            dark = _sample(
                self.shadow, (gy - self.sy) / self.cell - 0.5, (gx - self.sx) / self.cell - 0.5
            )
            off = (gx < self.sx) | (gy < self.sy)
            far = np.hypot(gx - self.centre[0], gy - self.centre[1])[:, None] / self.span
            light = (0.80 - 0.10 * np.clip(far - 0.5, 0, 2)) * (1 - np.where(off[:, None], 0, dark))
            colour[ground] = light * PAPER
        sky = miss & ~down
        colour[sky] = 0.72 * PAPER
        return colour

    def _gloss(self, d: _A, normal: _A) -> _A:
        cos = -(d * normal).sum(1)
        mirror = d + 2 * cos[:, None] * normal
        cos = np.abs(cos)
        full = _fresnel(cos, self.index)
        return (full * _room(mirror, self.blur))[:, None] * DAY

    def _lit(self, x: _A, y: _A) -> _A:
        """Soft fall of the window's light across the piece [-]."""
        u = ((x - self.centre[0]) * 0.45 - (y - self.centre[1]) * 0.9) / self.span
        return (0.94 + 0.16 * u)[:, None]

    def _top(self, x: _A, y: _A, d: _A) -> _A:
        w = self.window
        body = _sample(self.top, (y - w.y0) / w.pixel - 0.5, (x - w.x0) / w.pixel - 0.5)
        g = self.pour.domain
        row, col = (y - g.y0) / g.cell - 0.5, (x - g.x0) / g.cell - 0.5
        ny = -_sample(self.relief[0][..., None], row, col)[:, 0]
        nx = -_sample(self.relief[1][..., None], row, col)[:, 0]
        for edge in g.surface.free:
            (ax, ay), (tx, ty), (ox, oy), length = g.frames[edge]
            inside = -((x - ax) * ox + (y - ay) * oy)
            along = (x - ax) * tx + (y - ay) * ty
            beside = (along >= 0) & (along <= length)  # not past an inner corner
            near = (inside >= 0) & (inside < self.round) & beside
            lean = np.where(near, 1 - inside / self.round, 0.0)
            lean = lean / np.sqrt(np.maximum(1.05 - lean**2, 0.05))
            nx, ny = nx + lean * ox, ny + lean * oy
        normal = np.stack([nx, ny, np.ones_like(nx)], 1)
        normal /= np.linalg.norm(normal, axis=1)[:, None]
        return body * self._lit(x, y) + self._gloss(d, normal)

    def _sides(self, eye: _A, d: _A, colour: _A, depth: _A) -> None:
        area = sum(
            a[0] * b[1] - b[0] * a[1] for a, b in zip(self.ring, self.ring[1:] + self.ring[:1])
        )
        sign = 1.0 if area > 0 else -1.0
        rings = [(self.ring, sign, True)] + [(h, None, False) for h in self.holes]
        for ring, way, outer in rings:
            if way is None:
                own = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1]))
                way = -1.0 if own > 0 else 1.0
            for k in range(len(ring)):
                (ax, ay), (bx, by) = ring[k], ring[(k + 1) % len(ring)]
                length = math.hypot(bx - ax, by - ay)
                tx, ty = (bx - ax) / length, (by - ay) / length
                ox, oy = ty * way, -tx * way
                facing = d[:, 0] * ox + d[:, 1] * oy
                ok = facing < -1e-9
                t = ((ax - eye[0]) * ox + (ay - eye[1]) * oy) / np.where(ok, facing, -1)
                s = (eye[0] + t * d[:, 0] - ax) * tx + (eye[1] + t * d[:, 1] - ay) * ty
                z = eye[2] + t * d[:, 2]
                hit = ok & (t > 0) & (s >= 0) & (s <= length) & (z <= 0) & (z >= -self.deep)
                hit &= t < depth - 1e-9
                if not hit.any():
                    continue
                depth[hit] = t[hit]
                light = 0.55 + 0.25 * max(0.0, oy) + 0.12 * ox
                if outer and k in self.faces:
                    f = self.faces[k]
                    body = _sample(
                        f.xyz.astype(float), -z[hit] / f.pixel - 0.5, s[hit] / f.pixel - 0.5
                    )
                    curl = np.clip(1 + z[hit] / self.round, 0, 1)
                    normal = np.stack(
                        [np.full(curl.shape, ox), np.full(curl.shape, oy), 1.2 * curl], 1
                    )
                    normal /= np.linalg.norm(normal, axis=1)[:, None]
                    colour[hit] = body * (light + 0.3 * curl[:, None]) + self._gloss(d[hit], normal)
                else:
                    colour[hit] = 0.36 * light * PAPER
