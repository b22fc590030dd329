"""Playing a score on a surface: what ends up where, exactly, by shade."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.pattern.clock import FlowClock
from pourwright.pattern.domain import Domain, Surface, make_domain
from pourwright.pattern.faces import Diary, Face, run_faces
from pourwright.pattern.lay import make_layer
from pourwright.pattern.layer import Layer
from pourwright.pattern.paths import Place
from pourwright.pattern.player import Player, coarse
from pourwright.pattern.progress import Progress, report
from pourwright.pattern.score import (
    LAYING,
    Coat,
    Push,
    Ribbons,
    Score,
    Spread,
    Tilt,
    Torch,
    Veins,
    check_cups,
)
from pourwright.pattern.strokes import push_moves, stroke_moves
from pourwright.pattern.timing import Slot, schedule
from pourwright.pattern.torch import escaping_bubble, mobility, warmth
from pourwright.words import Amount, say

_A = NDArray[np.float64]


@dataclass
class Pour:
    """A played score.

    ``h`` film thickness at gel [m] on the film grid (`domain`); ``volumes`` [m] (pairs, ny, nx) on
    the carrying grid (`grid`), pair p being (``layer_of[p]``, ``shade_of[p]``); ``maps`` [m]
    (layers, 2, ny, nx); ``smear`` [m2] (layers, 6, ny, nx): how far blade and flow drew a layer out,
    as xx, xy, yy over the depth the eye looks into and over the whole layer, ``blade`` the blade's
    part of it or None; dictionaries by shade [m3].
    """

    score: Score
    surface: Surface
    domain: Domain
    grid: Domain
    h: _A
    layers: list[Layer]
    layer_of: NDArray[np.int64]
    shade_of: NDArray[np.int64]
    volumes: _A
    maps: _A
    smear: NDArray[np.float32]
    mixed: float
    poured: dict[str, float]
    run_off: dict[str, float]
    on_surface: dict[str, float]
    on_faces: dict[str, float]
    left_in_cups: dict[str, float]
    seed: int
    steps: int
    clock: FlowClock
    diary: Diary
    faces: list[Face]
    warnings: list[str] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    blade: NDArray[np.float32] | None = None
    sharpen: object | None = None
    rim: _A | None = None
    near: dict[int, NDArray[np.bool_]] = field(default_factory=dict)

    def balance(self) -> dict[str, float]:
        """Per shade: (poured - on the top - on the faces - run off) / poured [-]; 0 when all is kept."""
        return {
            n: (v - self.on_surface[n] - self.on_faces[n] - self.run_off[n]) / v if v > 0 else 0.0
            for n, v in self.poured.items()
        }


def pour(
    score: Score,
    surface: Surface | Sequence[tuple[float, float]],
    film: float,
    clock: FlowClock | None = None,
    *,
    seed: int | None = None,
    cell: float = 0.004,
    carry_cell: float | None = None,
    mixed: float | None = None,
    progress: Progress | None = None,
) -> Pour:
    """Play a score on a surface.

    Parameters
    ----------
    score : Score [-]
        The score.
    surface : Surface or outline [m]
        What is poured; a bare outline is dammed all round.
    film : float [m]
        Mean wet film on the top if every cup were emptied, 0.0003 to 0.02.
    clock : FlowClock [min, 1/Pa]
        Flow left over mix age; default 1 Pa s doubling every 25 min, gel at 120 min.
    seed : int [-]
        Replaces the score's own seed.
    cell : float [m]
        Cell of the film, 0.0005 to 0.02; 0.004 shows the pattern well.
    carry_cell : float [m]
        Cell on which colours are carried; default the film's cell, at least 0.004 to 0.008 on
        large surfaces. Rounded to a whole number of film cells.
    mixed : float [m3]
        Mixed resin; default film x area of the top.
    progress : callable [-]
        Called with the share done, 0 to 1; return True to stop.

    Returns
    -------
    Pour [m, m3]
        Film, layers, maps and volumes. Thin-film theory: slopes well below 1, see docs.

    Raises
    ------
    InputError
        Bad film, cell, score or surface; more resin than mixed; a move after gel; stopped.
    """
    check_cups(score)
    if not isinstance(surface, Surface):
        surface = Surface([(float(p[0]), float(p[1])) for p in surface])
    if not (math.isfinite(film) and 0.0003 <= film <= 0.02):
        raise InputError("film", film, "0.3 mm to 20 mm", "Give the mean wet film of this coat.")
    clock = clock or FlowClock.doubling()
    seed = score.seed if seed is None else int(seed)
    slots = schedule(score, clock)
    domain = make_domain(surface, cell)
    area = surface.area
    mixed = film * area if mixed is None else mixed
    asked = sum(sum(m.uses.values()) for m in score.moves if isinstance(m, LAYING))
    if not (math.isfinite(mixed) and mixed > 0):
        raise InputError("mixed", mixed, "more than 0 m3", "Give the mixed volume.")
    default = min(max(0.004, 0.0055 * math.sqrt(area)), 0.008)
    factor = max(1, round((carry_cell or max(cell, default)) / cell))
    grid = coarse(domain, factor)
    play = Player(domain, grid, factor, list(score.cups))
    size = score.length_factor(area)
    place = _place(domain)
    span = _narrow_side(domain)
    total_flow = slots[0].start + 60.0 * len(slots)
    done = 0.0

    def tick(amount: float) -> None:
        nonlocal done
        done += min(amount, 60.0) if amount > 60 else amount
        report(progress, min(done / total_flow, 0.999), "pour")

    names = list(score.cups)
    poured = dict.fromkeys(names, 0.0)
    torched: list[str] = []
    now = slots[0].start
    for slot in slots:
        move = score.moves[slot.index]
        if now - slot.start > 1e-9:
            play.advance(now - slot.start, tick)
        tick(60.0)
        during = slot.start - slot.end
        if isinstance(move, LAYING):
            uses = np.array([move.uses[n] for n in move.uses]) * mixed
            growth = _vein_growth(move, play, slot) if isinstance(move, Veins) else 1.0
            args = (float(uses.sum()), place, span, size, seed, growth, score.height_factor(film))
            layer = make_layer(score, slot.index, *args)
            if not play.layers and not isinstance(move, Coat):
                first = _prewet(score, slot.index, uses, domain)
                play.lay(first, float(uses.sum() * 0.02), uses * 0.02, 0.0)
                uses98 = uses * 0.98
            else:
                uses98 = uses
            smear = 0.0
            if isinstance(move, Veins):
                smear = 0.006
            play.lay(layer, float(uses98.sum()), uses98, smear)
            for n, v in zip(move.uses, uses):
                poured[n] += float(v)
            play.flow.restart()
        elif isinstance(move, Spread):
            count = score.stroke_count(move.strokes, area)
            for ux, uy in stroke_moves(move, score, slot.index, domain, place, size, count, seed):
                play.drag(ux, uy, move.grip)
        elif isinstance(move, Push):
            ux, uy = push_moves(move, domain)
            if ux.any() or uy.any():
                play.drag(ux, uy, 0.6)
        elif isinstance(move, Torch):
            heat = warmth(move, score, slot.index, domain, place, size, seed)
            amount, ease = mobility(heat, move.extra_flow, during)
            play.flow.warm(ease)
            play.advance(amount, tick)
            play.flow.warm(None)
            during = max(during - amount, 0.0)
            torched.append(_torch_words(move, slot, play, heat))
        if isinstance(move, Tilt):
            a = math.radians(move.towards_deg)
            t = math.tan(math.radians(move.slope_deg))
            play.flow.lean(-t * math.cos(a), -t * math.sin(a))
            play.flow.restart()
        if during > 1e-9:
            play.advance(during, tick)
        if isinstance(move, Tilt):
            play.flow.lean(0.0, 0.0)
            play.flow.restart()
        now = slot.end
    play.advance(now, tick)
    play.carry(force=True)
    made = _finish(play, score, surface, film, clock, seed, mixed, asked, poured)
    made.assumed += torched
    return made


def _torch_words(move: Torch, slot: Slot, play: Player, heat: _A) -> str:
    wet = play.domain.wet
    mean = float(play.flow.h[wet].mean())
    cool = escaping_bubble(mean, max(slot.start, 1e-9)) * 1e3
    warm = escaping_bubble(mean, slot.start + move.extra_flow) * 1e3
    part = float((heat[wet] > math.exp(-1)).mean())
    return say(
        "torched at {minute:.0f} over {part:.0f} % of the top: up to {extra:g} 1/Pa more flow there; "
        "bubbles above {warm:.2f} rise out, elsewhere above {cool:.2f} (Stokes); those at the surface "
        "break under the flame",
        minute=Amount(slot.minute, "min"),
        part=100 * part,
        extra=move.extra_flow,
        warm=Amount(warm, "mm"),
        cool=Amount(cool, "mm"),
    )


def _prewet(score: Score, index: int, uses: _A, domain: Domain) -> Layer:
    """A thin even film of the first move's shades, where no coat was laid."""
    move = Coat(do="coat", uses=dict(score.moves[index].uses), folds=0.0)  # type: ignore[union-attr]
    trial = score.model_copy(update={"moves": [move]})
    return make_layer(trial, 0, float(uses.sum() * 0.02), _place(domain), 1.0, 1.0, 0)


def _vein_growth(move: Veins, play: Player, slot: Slot) -> float:
    from pourwright.film.vein import vein_width

    thread = move.thread_mm * 1e-3
    area = 0.84 * thread * move.height_mm * 1e-3
    top = play.domain.wet
    under = float(play.flow.h[top].mean()) if top.any() else 0.0
    if under <= 1e-5:
        return 1.0
    return max(1.0, vein_width(thread, area, under, slot.start) / thread)


def _place(domain: Domain) -> Place:
    """Where lines may go: the top and a hand's breadth beyond, since streams swing past edges."""
    from scipy.ndimage import binary_dilation

    f = max(1, round(0.006 / domain.cell))
    more = math.ceil(0.045 / (domain.cell * f))
    ny, nx = (math.ceil(n / f) for n in domain.shape)
    big = np.zeros((ny * f, nx * f), bool)
    big[: domain.shape[0], : domain.shape[1]] = domain.wet
    ok = np.pad(big.reshape(ny, f, nx, f).any((1, 3)), more)
    ball = np.hypot(*np.mgrid[-more : more + 1, -more : more + 1]) <= more
    ok = binary_dilation(ok, ball)
    size = domain.cell * f
    return Place(domain.x0 - more * size, domain.y0 - more * size, size, ok)


def _narrow_side(domain: Domain) -> float:
    from scipy.ndimage import distance_transform_edt

    return 2.0 * float(distance_transform_edt(np.pad(domain.wet, 1)).max()) * domain.cell


def _whole_smear(play: Player) -> NDArray[np.float32]:
    """Smear of blade and flow together [m2]: over the eye's depth, then over the whole layer.

    Flow draws a layer out one way, so its spread is the square of the whole difference over 12.
    """
    out = play.smear.copy()
    for first, (x, y) in ((3, (0, 1)), (0, (2, 3))):
        gx, gy = play.shear[:, x], play.shear[:, y]
        out[:, first] += gx * gx / 12
        out[:, first + 1] += gx * gy / 12
        out[:, first + 2] += gy * gy / 12
    return out


def _finish(play, score, surface, film, clock, seed, mixed, asked, poured) -> Pour:
    names = list(score.cups)
    cell2 = play.grid.cell**2
    per_pair = play.v.sum((1, 2)) * cell2
    faces, stays, off = run_faces(
        play.diary, play.domain, play.grid.cell, play.flow.solver.fluid.weight, len(play.v)
    )
    on, off_of, face = (dict.fromkeys(names, 0.0) for _ in range(3))
    for p, s in enumerate(play.shade_of):
        on[names[s]] += float(per_pair[p])
        off_of[names[s]] += float(off[p])
        face[names[s]] += float(stays[p])
    cups = {n: score.cups[n] * mixed - poured[n] for n in names}
    warnings = []
    if asked < 0.9:
        warnings.append(say("the moves lay only {asked:.0f} % of what is mixed", asked=100 * asked))
    assumed = [
        say(
            "mean wet film {film:.1f} over {area:.2f}, {mixed:.2f} mixed",
            film=Amount(film * 1000, "mm"),
            area=Amount(surface.area, "m2"),
            mixed=Amount(mixed * 1000, "L"),
        ),
        say(
            "flow left at the first move {flow_left:.0f} 1/Pa, gel at {gel:.0f}",
            flow_left=clock.flow_left[0],
            gel=Amount(clock.gel_min, "min"),
        ),
        say(
            "film cell {cell:.1f}, colours carried at {cell2:.1f}, seed {seed}",
            cell=Amount(play.domain.cell * 1000, "mm"),
            cell2=Amount(play.grid.cell * 1000, "mm"),
            seed=seed,
        ),
        "density 1100 kg/m3, surface tension 0.036 N/m; ribbons land at once; no skin",
    ]
    if any(surface.slope):
        lean = Amount(1e3 * math.hypot(*surface.slope), "mm/m")
        assumed.append(say("surface leaning by {lean:.1f}", lean=lean))
    return Pour(
        score,
        surface,
        play.domain,
        play.grid,
        play.flow.h,
        play.layers,
        play.layer_of,
        play.shade_of,
        play.v,
        play.maps,
        _whole_smear(play),
        mixed,
        poured,
        off_of,
        on,
        face,
        cups,
        seed,
        play.steps,
        clock,
        play.diary,
        faces,
        warnings,
        assumed,
        play.smear if play.smear.any() else None,
    )


__all__ = ["Pour", "Ribbons", "pour"]
