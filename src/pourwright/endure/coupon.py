"""A bowed coupon: a coated strip that was measured, and what it says of your own resin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pourwright.calc.sampling import Z95, Draws
from pourwright.catalogue.model import Material
from pourwright.endure.bow import coupon_mismatch
from pourwright.endure.layers import Floats
from pourwright.endure.materials import Sampler
from pourwright.errors import InputError

TRANSFER = 0.10
"""How far one strip speaks for another pour of the same resin, one standard deviation [-]
(from memory; two or three strips show your own scatter)."""
WEEKS_S = 14 * 86400.0
"""Age from which a coupon's bow has mostly come [s] (common practice)."""


@dataclass(frozen=True, slots=True)
class Coupon:
    """A strip of board coated on one face as the job will be, and the gap measured under it.

    Attributes
    ----------
    length : float [m]
        Span of the straight edge laid across the hollow face.
    bow : float [m]
        Gap under its middle; above 0.
    film : float [m]
        Cured film on the strip, all coats.
    board : float [m]
        Thickness of the strip's board.
    board_material, film_material : Material [-]
        The board, and the cured resin that makes most of the film.
    reading : float [m]
        How well the gap was read (5 to 95 %).
    film_off : float [-]
        How far off the film may be (5 to 95 %), as a share.
    solid, measured : float [K]
        Temperature at which the film became solid, and at which the gap was measured.
    age : float [s]
        Time from pour to measurement.
    stands_for : tuple of str [-]
        Catalogue ids of the cured resins that it speaks for.
    """

    length: float
    bow: float
    film: float
    board: float
    board_material: Material
    film_material: Material
    reading: float = 0.3e-3
    film_off: float = 0.1
    solid: float = 293.15
    measured: float = 293.15
    age: float = WEEKS_S
    stands_for: tuple[str, ...] = ()

    def speaks_for(self, material: Material) -> bool:
        """Whether the coupon's shrinkage holds for a cured resin `material` [-]."""
        return material.id in self.stands_for or material.id == self.film_material.id

    def shrinkage(self, draws: Draws | None = None) -> Floats:
        """Shrinkage that bows a panel, as this strip shows it.

        Parameters
        ----------
        draws : Draws or None [-]
            Samples for reading, film, stiffness and transfer; None takes middle values.

        Returns
        -------
        array [-]
            The stiffness of film and board are the same samples that a panel of these materials
            uses, so what is uncertain in both cancels as it should.

        Raises
        ------
        InputError
            As `coupon_mismatch`; or a strip that bowed the wrong way.

        Notes
        -----
        Inverse of Timoshenko 1925 (strip, so E and not E/(1 - nu)), less what the change of
        temperature since the film became solid would bow by itself.
        """
        _check(self)
        get = Sampler(draws).value
        ratio = np.asarray(get(self.film_material, "E_Pa"), float) / np.asarray(
            get(self.board_material, "E_Pa"), float
        )
        bow, film, speaks = np.asarray(self.bow), np.asarray(self.film), np.asarray(1.0)
        if draws is not None:
            bow = np.maximum(
                bow + self.reading / Z95 * draws.normal("endure.coupon_read"), 0.05 * bow
            )
            film = film * np.clip(
                1.0 + self.film_off / Z95 * draws.normal("endure.coupon_film"), 0.2, 3.0
            )
            speaks = np.clip(1.0 + TRANSFER * draws.normal("endure.coupon_transfer"), 0.3, 2.0)
        found = coupon_mismatch(bow, self.length, film, self.board, ratio)
        apart = np.asarray(get(self.film_material, "cte_per_K", 0.0), float) - np.asarray(
            get(self.board_material, "cte_per_K", 0.0), float
        )
        return (found - apart * (self.solid - self.measured)) * speaks


def _check(c: Coupon) -> None:
    if not c.bow > 0.0:
        raise InputError(
            "coupon.bow",
            f"{1000 * c.bow:g} mm",
            "above 0, coated face hollow",
            "A strip that bows the other way has moved from moisture: dry it and measure again.",
        )
    for field, x in (("reading", c.reading), ("film_off", c.film_off), ("age", c.age)):
        if not x >= 0.0:
            raise InputError(f"coupon.{field}", x, "0 or more", "Correct it.")


def coupon_notes(coupon: Coupon, film: float) -> list[str]:
    """What to bear in mind about a coupon.

    Parameters
    ----------
    coupon : Coupon [m, K, s]
        The strip.
    film : float [m]
        Film on the panels that it is used for.

    Returns
    -------
    list of str [-]
        Sentences; empty when the strip is old enough, alike enough and well enough read.
    """
    out = []
    if coupon.age < WEEKS_S - 1.0:
        days = coupon.age / 86400.0
        out.append(
            f"The strip was measured after {days:.0f} days; the bow still grows: measure it again "
            "after two weeks."
        )
    if not 0.5 <= film / coupon.film <= 2.0:
        out.append(
            f"The strip carries {1000 * coupon.film:.1f} mm of film, the panels "
            f"{1000 * film:.1f} mm: films so different shrink and relax differently."
        )
    if coupon.reading > 0.25 * coupon.bow:
        out.append("The gap is hardly wider than it could be read: use a longer or thinner strip.")
    return out


def coupon_spread(coupon: Coupon, draws: Draws) -> tuple[float, float]:
    """Middle and standard deviation of a coupon's shrinkage.

    Parameters
    ----------
    coupon : Coupon [m, K]
        The strip.
    draws : Draws [-]
        Samples.

    Returns
    -------
    tuple of float [-]
        Median, and standard deviation of the samples.

    Raises
    ------
    InputError
        As `Coupon.shrinkage`.
    """
    found = np.asarray(coupon.shrinkage(draws), float)
    return float(np.median(found)), float(np.std(found))


def strip_for(film: float, ratio: float, mismatch: float, length: float, gap: float) -> float:
    """Board thickness of a coupon that bows by a gap that is easy to read.

    Parameters
    ----------
    film : float [m]
        Film that will lie on it.
    ratio : float [-]
        Stiffness of film over that of the board.
    mismatch : float [-]
        Shrinkage expected.
    length : float [m]
        Span of the straight edge.
    gap : float [m]
        Gap wanted.

    Returns
    -------
    float [m]
        To 0.1 mm; the thickest board that still bows so far, between 3 and 30 mm.

    Raises
    ------
    InputError
        Values not above 0.

    Notes
    -----
    Bisection on `bilayer_curvature` (Timoshenko 1925).
    """
    from pourwright.endure.bow import bilayer_curvature

    for field, x in (("film", film), ("ratio", ratio), ("length", length), ("gap", gap)):
        if not x > 0.0:
            raise InputError(f"coupon.{field}", x, "above 0", "Correct it.")
    boards = np.arange(0.003, 0.0301, 0.0001)
    bows = bilayer_curvature(film, boards, ratio, mismatch) * length**2 / 8.0
    good = boards[np.asarray(bows) >= gap]
    return float(good[-1]) if good.size else 0.003
