"""A pour while it is being played: film, exact volumes and maps kept in step."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from pourwright.film import Fluid
from pourwright.pattern import carry, maps
from pourwright.pattern.domain import Domain
from pourwright.pattern.faces import open_diary
from pourwright.pattern.flow import Flow
from pourwright.pattern.lay import landed
from pourwright.pattern.layer import COAT, Layer
from pourwright.pattern.threads import share_out

_A = NDArray[np.float64]
EYE = 0.0003  # depth into a layer from which most of its seen colour comes [m]; common practice
STRIDE = 0.9  # maps are brought up to date when more than FEW of them moved further [cells, -]
FEW = 0.002
FACE_WAVE = 0.6  # most content of a carrying cell that may leave between two carryings [-]


class Player:
    """State of a pour while it is being played."""

    def __init__(self, domain: Domain, grid: Domain, factor: int, names: Sequence[str]) -> None:
        self.domain, self.grid, self.factor = domain, grid, factor
        self.names = list(names)
        self.flow = Flow(domain, Fluid(), factor, grid.shape)
        ny, nx = grid.shape
        self.v = np.zeros((0, ny, nx))
        self.layer_of = np.zeros(0, np.int64)
        self.shade_of = np.zeros(0, np.int64)
        self.maps = np.zeros((0, 2, ny, nx), np.float32)
        self.moved = np.zeros((0, 2, ny, nx), np.float32)
        self.smear = np.zeros((0, 6, ny, nx), np.float32)
        self.shear = np.zeros((0, 4, ny, nx), np.float32)
        self.used = 0.0
        self.layers: list[Layer] = []
        self.waiting = 0.0
        self.steps = 0
        self._make_room()
        self._border()
        rim = np.unique(self.flow.free[:, 3:5] // factor, axis=0)
        self.diary = open_diary(grid, rim[:, 0], rim[:, 1])

    def _border(self) -> None:
        from scipy.ndimage import distance_transform_edt

        far, near = distance_transform_edt(~self.grid.wet, return_indices=True)
        rim = (far > 0) & (far < 3.6)
        self.rim = np.nonzero(rim)
        ny, nx = self.grid.shape
        i, j = self.rim
        a, b = near[0][rim], near[1][rim]
        self.rim_from = (a, b)
        # one cell further in, where there is one: beyond the rim maps go on as they come to it
        inner = (np.clip(a - np.sign(i - a), 0, ny - 1), np.clip(b - np.sign(j - b), 0, nx - 1))
        dry = ~self.grid.wet[inner]
        self.rim_inner = (np.where(dry, a, inner[0]), np.where(dry, b, inner[1]))
        self.rim_far = np.maximum(abs(i - a), abs(j - b)).astype(np.float32)

    def _beyond(self, a: NDArray[np.float32]) -> None:
        """Carry maps or moves on over the rim, in place."""
        there = a[:, :, self.rim_from[0], self.rim_from[1]]
        slope = there - a[:, :, self.rim_inner[0], self.rim_inner[1]]
        slope = np.clip(slope, -self.grid.cell, self.grid.cell)
        a[:, :, self.rim[0], self.rim[1]] = there + self.rim_far * slope

    def blocks(self, a: _A) -> _A:
        """Block means of a film-grid array on the carrying grid."""
        f = self.factor
        if f == 1:
            return a.copy()
        ny, nx = self.grid.shape
        big = np.zeros((ny * f, nx * f))
        big[: a.shape[0], : a.shape[1]] = a
        return big.reshape(ny, f, nx, f).mean((1, 3))

    # -- laying ---------------------------------------------------------------------------------
    def lay(self, layer: Layer, volume: float, uses: _A, smear: float) -> None:
        """Put a layer's exact volumes on the film and start its map."""
        self.carry(force=True)
        d = self.domain
        cell = d.cell
        sub = 1 if cell <= 0.0021 or layer.kind == COAT else 2
        gx, gy = d.centres()
        i, j = np.nonzero(d.wet)
        thick = np.zeros((len(layer.share), *d.shape))
        offs = (np.arange(sub) + 0.5) / sub - 0.5
        px = (gx[i, j][:, None] + np.repeat(offs, sub)[None, :] * cell).ravel()
        py = (gy[i, j][:, None] + np.tile(offs, sub)[None, :] * cell).ravel()
        if layer.kind == COAT:
            layer.height = volume / (len(i) * cell**2)
        t, part = landed(layer, px, py, np.ones(len(px)), cell / sub)
        for s, one in enumerate(thick):
            seen = (part[:, s] * t).reshape(len(i), sub * sub)
            one[i, j] = sum(seen[:, n] for n in range(sub * sub)) / sub**2
        got = thick.sum((1, 2)) * cell**2
        if not np.any(got > 0):
            # every line missed this small piece: the volume still lands, evenly
            thick[:, i, j] = 1.0
            got = thick.sum((1, 2)) * cell**2
        if np.any(got <= 0):
            thick[got <= 0] = thick.sum(0)
            got = thick.sum((1, 2)) * cell**2
        landed_m3 = float(t.sum() * (cell / sub) ** 2)
        layer.scale = volume / landed_m3 if landed_m3 > 0 else 1.0
        thick *= (uses / got)[:, None, None]
        if smear > 0:
            for k in range(len(thick)):
                _smear(thick[k], d.wet, max(1, int(2 * (smear / cell) ** 2 + 0.5)))
        total = thick.sum(0)
        self.flow.add(total)
        k = len(self.layers)
        self.layers.append(layer)
        new = np.stack([self.blocks(t) for t in thick])
        self.v = np.concatenate([self.v, new])
        self.layer_of = np.append(self.layer_of, np.full(len(new), k))
        self.shade_of = np.append(self.shade_of, layer.shades)
        blank = np.zeros((1, *self.maps.shape[1:]), np.float32)
        self.maps = np.concatenate([self.maps, blank])
        self.moved = np.concatenate([self.moved, blank])
        none = np.zeros((1, 6, *blank.shape[2:]), np.float32)
        self.smear = np.concatenate([self.smear, none])
        self.shear = np.concatenate([self.shear, none[:, :4]])
        self._make_room()

    def _make_room(self) -> None:
        """Work space of the carrying: rates and moves, and what will be next; dry cells stay 0."""
        self._rate = np.zeros((len(self.layers), *self.grid.shape))
        self._move, self._idle = (np.zeros_like(self.moved) for _ in range(2))
        self._out = np.zeros_like(self.v)
        maps, shear, smear = (np.zeros_like(a) for a in (self.maps, self.shear, self.smear))
        self._spare = maps, shear, smear

    # -- moving ---------------------------------------------------------------------------------
    def advance(self, flow_amount: float, tick: Callable[[float], None] | None = None) -> None:
        """Let the film run for `flow_amount` [1/Pa]."""

        def each(dt: float, part: float) -> None:
            self.used += dt
            self.waiting += part / self.factor
            if self.waiting > FACE_WAVE:
                self.carry()
            if tick is not None:
                tick(dt)

        self.steps += self.flow.run(flow_amount, each)

    def carry(self, grip: float = 0.0, force: bool = False) -> None:
        """Let volumes follow the face flows gathered since the last time, then the maps."""
        if len(self.layers) and self.waiting > 0:
            self._move_volumes(grip)
            self.flow.clear()
            self.waiting = 0.0
        if len(self.layers):
            self._move_maps(force)

    def _move_volumes(self, grip: float) -> None:
        g = self.grid
        qx, qy, gone, over = self.flow.qx, self.flow.qy, self.flow.gone, self.flow.over
        r, u, out = self._rate, self._move, self._out
        share = self._rates(grip, qx, qy, over, r, u, self.shear)
        parts = max(1, math.ceil(share / 0.9))
        i, j = self.diary.cells
        crossed = np.zeros((len(self.v), len(i)))
        part = (qx / parts, qy / parts)
        off = gone / parts
        for p in range(parts):
            if p:  # only the rates are new: moves and shear of the whole are known
                self._rates(grip, *part, over, r, self._idle, self._spare[1])
            old = self.v

            def rows(a: int, b: int, old=old, out=out) -> None:
                where = (g.wet, out, g.cell, a, b)
                carry.move_volumes(old, r, self.layer_of, *part, off, *where)

            share_out(g.shape[0], rows, 64)
            if len(i):
                kept = out[:, i, j]
                held = kept.sum(0)
                crossed += kept * (self.diary.share * off[i, j] / np.maximum(held, 1e-30))
            self.v, out = out, self.v
        self._out = out
        self.moved += u
        if len(i):
            d = self.diary
            d.when.append(self.used)
            d.maps.append(maps.maps_at(self.maps, self.moved, i, j, g.cell))
            d.stood.append(self.v[:, i, j])
            d.crossed.append(crossed * g.cell**2)

    def _move_maps(self, force: bool) -> None:
        count, most = maps.furthest(self.moved, STRIDE * self.grid.cell)
        many = count > FEW * self.moved.size
        if not (many or most > carry.LEAP * self.grid.cell or (force and most > 0)):
            return
        self._beyond(self.moved)
        new, shear, smear = self._spare
        drawn = bool(self.smear.any())
        wet, cell = self.grid.wet, self.grid.cell

        def layer(a: int, b: int) -> None:
            for k in range(a, b):
                maps.move_maps(self.maps[k], self.moved[k], wet, cell, new[k])
                moved = (self.moved[k], wet, cell)
                maps.move_fields(self.shear[k], *moved, shear[k])
                if drawn:
                    maps.move_fields(self.smear[k], *moved, smear[k])

        share_out(len(new), layer, 1)
        self._beyond(new)
        before = (self.maps, self.shear, self.smear if drawn else smear)
        self.maps, self.shear, self.smear = new, shear, smear if drawn else self.smear
        self._spare = before
        self.moved[:] = 0

    def _rates(
        self, grip: float, qx: _A, qy: _A, over: _A, r: _A, u: NDArray, shear: NDArray
    ) -> float:
        """`carry.rates` over all rows, shared between cores; the largest share leaving [-]."""
        g, n = self.grid, len(self.layers)
        best: list[float] = []

        def rows(a: int, b: int) -> None:
            where = (g.wet, g.cell, r, u, shear, EYE, a, b)
            best.append(carry.rates(self.v, self.layer_of, n, grip, qx, qy, over, *where))

        share_out(g.shape[0], rows, 64)
        return max(best)

    def drag(self, ux: _A, uy: _A, grip: float) -> None:
        """Drag the film by mean displacements ux, uy [m] (film grid) with a blade's profile."""
        self.carry(force=True)
        far = float(np.hypot(ux, uy).max())
        parts = max(1, math.ceil(far / (0.4 * self.domain.cell)))
        for n in range(parts):
            part = self.flow.drag(ux / parts, uy / parts)
            self.waiting += part / self.factor
            if self.waiting + part / self.factor > FACE_WAVE or n == parts - 1:
                self.carry(grip)
        self.carry(grip, force=True)
        g = self.grid
        where = (self.blocks(ux), self.blocks(uy), EYE, g.wet, self.smear)
        carry.add_smear(self.v, self.layer_of, len(self.layers), grip, *where)
        self.flow.restart()


def _smear(a: _A, wet: NDArray[np.bool_], times: int) -> None:
    """Even out a landed thickness by `times` conservative passes over neighbours, in place."""
    spare = a.copy()
    for _ in range(times):

        def rows(first: int, last: int, a: _A = a, out: _A = spare) -> None:
            carry.even_out(a, wet, out, first, last)

        share_out(a.shape[0], rows, 64)
        a, spare = spare, a
    if times % 2:
        spare[:] = a


def coarse(domain: Domain, f: int) -> Domain:
    """The carrying grid of a domain.

    Parameters
    ----------
    domain : Domain [m]
        The film's grid.
    f : int [-]
        Film cells per side of a carrying cell.

    Returns
    -------
    Domain [m]
        A carrying cell is wet when any of its film cells is.
    """
    if f == 1:
        return domain
    ny, nx = (math.ceil(n / f) for n in domain.shape)

    def blocks(a: NDArray) -> NDArray:
        big = np.zeros((ny * f, nx * f), a.dtype)
        big[: a.shape[0], : a.shape[1]] = a
        return big.reshape(ny, f, nx, f)

    wet = np.asarray(blocks(domain.wet).any((1, 3)))
    drain = np.asarray(blocks(domain.drain).any((1, 3))) & ~wet
    args = (domain.surface, domain.cell * f, domain.x0, domain.y0)
    return Domain(*args, wet, drain, np.zeros((ny, nx)), domain.frames)
