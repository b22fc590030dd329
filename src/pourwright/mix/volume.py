"""Volumes of a coat: face, edge strip, run-off and loss; wet film and coverage."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.calc import Draws, Spread, spread_of
from pourwright.errors import InputError

G = 9.80665
"""Standard acceleration of gravity [m/s2] (ISO 80000-3, exact)."""


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value with its 5 and 95 % points, all in one unit [that of the value]."""

    value: float
    low: float
    high: float

    @staticmethod
    def of(value: float, spread: float = 0.0) -> Uncertain:
        """`value` [any unit] with 5 and 95 % points a share `spread` [-] below and above it."""
        return Uncertain(value, value * (1 - spread), value * (1 + spread))

    def sample(self, draws: Draws, name: str) -> NDArray[np.float64]:
        """Draws [unit of the value] for stream `name`, shape (count,); never below 0."""
        return np.maximum(draws.between(name, self.low, self.value, self.high), 0.0)


def wet_film(coverage: float) -> float:
    """Wet film from coverage.

    Parameters
    ----------
    coverage : float [m3/m2]
        Volume spread on an area; 3 US fl oz/ft2 is 0.000955 m3/m2.

    Returns
    -------
    film : float [m]
        The same number: 1 L/m2 is 1 mm.
    """
    return coverage


def coverage_of(film: float) -> float:
    """Coverage from wet film.

    Parameters
    ----------
    film : float [m]

    Returns
    -------
    coverage : float [m3/m2]
    """
    return film


def dry_film(film: float, volume_solids: float = 1.0, shrinkage: float = 0.0) -> float:
    """Film after drying and cure.

    Parameters
    ----------
    film : float [m]
        Wet film.
    volume_solids : float [-]
        Share of the wet volume that stays, 0 to 1; 1 for a solvent-free resin.
    shrinkage : float [-]
        Volume lost in cure, taken up wholly by the thickness of a bonded film.

    Returns
    -------
    film : float [m]
        film * volume_solids * (1 - shrinkage).

    Raises
    ------
    InputError
        Shares outside 0 to 1.
    """
    for name, value in (("volume_solids", volume_solids), ("shrinkage", shrinkage)):
        if not 0 <= value <= 1:
            raise InputError(name, value, "it is from 0 % to 100 %", "Give it as a share.")
    return film * volume_solids * (1 - shrinkage)


def cup_residue(
    volume: float,
    viscosity: float,
    density: float = 1100.0,
    drain_time: float = 30.0,
    height_per_width: float = 1.2,
) -> float:
    """What stays on the wall of a cup left to drain upside down, not scraped.

    Parameters
    ----------
    volume : float [m3]
        What the cup held.
    viscosity : float [Pa s]
    density : float [kg/m3]
    drain_time : float [s]
        How long it drips.
    height_per_width : float [-]
        Height of the filling over the cup's width.

    Returns
    -------
    residue : float [m3]
        Wall area times the mean film: with Jeffreys' draining film
        h = sqrt(eta x / (rho g t)) the mean over a wall of height H is 2/3 h(H); the bottom
        keeps as much per area as the wall's mean. Scraping takes out most of it. Valid while
        the film is thin against the cup; never more than a fifth of the filling.
        Source: Jeffreys 1930, Proc. Camb. Phil. Soc. 26, 204 (formula from memory, derivable).
    """
    if volume <= 0:
        return 0.0
    width = (4 * volume / (math.pi * height_per_width)) ** (1 / 3)
    high = height_per_width * width
    film = 2 / 3 * math.sqrt(viscosity * high / (density * G * drain_time))
    return min((math.pi * width * high + math.pi * width * width / 4) * film, volume / 5)


@dataclass(frozen=True, slots=True)
class Loss:
    """What never reaches the surface.

    `share` [-] of all that is mixed (cup walls, sticks, floor), `per_cup` [m3] and `per_coat`
    [m3] (brush, roller, spreader).
    """

    share: Uncertain = Uncertain(0.05, 0.02, 0.10)
    per_cup: Uncertain = Uncertain(0.0, 0.0, 0.0)
    per_coat: Uncertain = Uncertain(0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class CoatPiece:
    """One surface under one coat: name, flat and strip areas [m2], free run [m], films.

    `film`, `edge_film` [m], `run_off` [m3/m] carry their ranges; `count` equal pieces.
    """

    name: str
    flat: float
    strip: float
    free_run: float
    film: Uncertain
    edge_film: Uncertain
    run_off: Uncertain
    count: int = 1
    board: bool = False

    def volumes(self) -> tuple[float, float, float]:
        """Face, edge strip and run-off of all its pieces [m3]."""
        return (
            self.count * self.flat * self.film.value,
            self.count * self.strip * self.edge_film.value,
            self.count * self.free_run * self.run_off.value,
        )

    @property
    def net(self) -> float:
        """What has to be poured on all its pieces [m3]: face, strip and run-off."""
        return math.fsum(self.volumes())


@dataclass(frozen=True, slots=True)
class CoatVolume:
    """Volumes of one coat [m3], each exact part of `mixed`.

    mixed = face + edge + run_off + loss. `over` is what an over-mix adds, inside none of these.
    """

    coat: str
    face: float
    edge: float
    run_off: float
    loss_fixed: float
    loss_share: float
    boards: float
    pieces: dict[str, float]
    range: Spread

    @property
    def net(self) -> float:
        """On the surface and over its edges [m3]."""
        return self.face + self.edge + self.run_off

    @property
    def mixed(self) -> float:
        """To be mixed so that `net` reaches the surface [m3]."""
        return self.net + self.loss_fixed + self.loss_share


def coat_volume(
    coat: str,
    pieces: Sequence[CoatPiece],
    loss: Loss,
    cups: int = 1,
    draws: Draws | None = None,
) -> CoatVolume:
    """Volume of one coat over all its pieces, with its range.

    Parameters
    ----------
    coat : str [-]
        Its name; also the stream name of its samples.
    pieces : sequence of CoatPiece [m2, m]
    loss : Loss [-, m3]
    cups : int [-]
        How many cups lose `loss.per_cup`.
    draws : Draws or None [-]
        Samples for the range; seed 1 with 2000 samples when left out.

    Returns
    -------
    volume : CoatVolume [m3]
        mixed = (face + edge + run_off + fixed) / (1 - share).

    Raises
    ------
    InputError
        No pieces, negative areas or films, or a loss of everything.
    """
    check_pieces(coat, pieces, loss)
    sums = [math.fsum(p.volumes()[k] for p in pieces) for k in range(3)]
    fixed = loss.per_cup.value * cups + loss.per_coat.value
    mixed = (math.fsum(sums) + fixed) / (1 - loss.share.value)
    draws = draws or Draws(1, 2000)
    return CoatVolume(
        coat=coat,
        face=sums[0],
        edge=sums[1],
        run_off=sums[2],
        loss_fixed=fixed,
        loss_share=mixed * loss.share.value,
        boards=math.fsum(p.net for p in pieces if p.board),
        pieces={p.name: p.net for p in pieces},
        range=spread_of(sample_need(coat, pieces, loss, cups, draws)),
    )


def check_pieces(coat: str, pieces: Sequence[CoatPiece], loss: Loss) -> None:
    """Refuse areas, films and losses that cannot be.

    Parameters
    ----------
    coat : str [-]
    pieces : sequence of CoatPiece [m2, m]
    loss : Loss [-, m3]

    Returns
    -------
    nothing : None [-]

    Raises
    ------
    InputError
        Naming the coat, the piece and the value.
    """
    if not pieces:
        raise InputError(f"coat {coat}", None, "it has no surface", "Name at least one surface.")
    for p in pieces:
        where = f"coat {coat} on {p.name}"
        for name, u, unit, scale in (
            ("film", p.film, "mm", 1e3),
            ("edge_film", p.edge_film, "mm", 1e3),
            ("run_off", p.run_off, "mL/m", 1e6),
        ):
            if not (0 <= u.low <= u.value <= u.high < math.inf):
                raise InputError(
                    f"{where}, {name}",
                    f"{u.low * scale:.4g}, {u.value * scale:.4g}, {u.high * scale:.4g} {unit}",
                    "low, middle and high value are 0 or more and in this order",
                    "Correct the value or its range.",
                )
        for name, value in (("flat", p.flat), ("strip", p.strip), ("free_run", p.free_run)):
            if not (math.isfinite(value) and value >= 0):
                raise InputError(f"{where}, {name}", value, "it is 0 or more", "Check the survey.")
        if p.count < 1:
            raise InputError(f"{where}, count", p.count, "it is 1 or more", "Correct it.")
    if not 0 <= loss.share.value < 0.9 or loss.share.high >= 0.95 or loss.share.low < 0:
        raise InputError(
            f"coat {coat}, loss share",
            f"{loss.share.value * 100:.3g} %",
            "it is from 0 % to 90 % of what is mixed",
            "Usual is 3 % to 10 %.",
        )


def sample_need(
    coat: str, pieces: Sequence[CoatPiece], loss: Loss, cups: int, draws: Draws
) -> NDArray[np.float64]:
    """Samples of what must be mixed so that everything is covered.

    Parameters
    ----------
    coat : str [-]
        Stream name: film, edge film, run-off and losses each have one stream per coat, so all
        surfaces of a coat come out thick or thin together (one hand, one cup, one temperature).
    pieces : sequence of CoatPiece [m2, m]
    loss : Loss [-, m3]
    cups : int [-]
    draws : Draws [-]

    Returns
    -------
    need : array [m3], shape (draws.count,)
    """
    total = np.zeros(draws.count)
    for p in pieces:
        total += p.count * (
            p.flat * p.film.sample(draws, f"{coat}-film")
            + p.strip * p.edge_film.sample(draws, f"{coat}-edge-film")
            + p.free_run * p.run_off.sample(draws, f"{coat}-run-off")
        )
    total += cups * loss.per_cup.sample(draws, f"{coat}-loss-cup")
    total += loss.per_coat.sample(draws, f"{coat}-loss-coat")
    share = np.clip(loss.share.sample(draws, f"{coat}-loss-share"), 0.0, 0.95)
    return total / (1 - share)
