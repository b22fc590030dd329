"""A panel as the checks see it: plies, shape and service; sampled and middle layers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.sampling import Z95, Draws
from pourwright.catalogue.model import Material
from pourwright.endure.coupon import Coupon
from pourwright.endure.layers import Layer, check_layers
from pourwright.endure.materials import layer_of
from pourwright.errors import InputError

_SAMPLED: WeakKeyDictionary[Draws, dict[Any, tuple[Any, list[Layer]]]] = WeakKeyDictionary()


@dataclass(frozen=True, slots=True)
class Ply:
    """One material at a thickness.

    Attributes
    ----------
    material : Material [-]
        Core, comparison top or cured film.
    thickness : float [m]
        Thickness; for coats the cured film.
    role : str [-]
        ``coat``, ``skin``, ``core`` or ``back``.
    off : float [-]
        How far off the thickness may be (5 to 95 %), as a share: 0.1 for a poured coat.
    """

    material: Material
    thickness: float
    role: str
    off: float = 0.0


@dataclass(frozen=True, slots=True)
class Shape:
    """Size and supports of a panel.

    Attributes
    ----------
    name : str [-]
        The piece.
    length, width : float [m]
        Sides.
    span : float [m]
        Widest distance between supports; 0 when it lies on a full board.
    overhang : float [m]
        Furthest overhang; 0 when none.
    area : float or None [m2]
        Face area; length times width when None.
    edge_area : float [m2]
        Developed area of coated edges.
    """

    name: str
    length: float
    width: float
    span: float = 0.0
    overhang: float = 0.0
    area: float | None = None
    edge_area: float = 0.0


@dataclass(frozen=True, slots=True)
class Service:
    """What the panel has to live through.

    Attributes
    ----------
    solid : float [K]
        Temperature at which the film became solid.
    room : float [K]
        Usual room temperature.
    coldest : float or None [K]
        Coldest store; None when it never freezes.
    outside : float or None [K]
        Hottest outside air where it is parked closed; None when it is never shut in the sun.
    sun : float [W/m2]
        Sun that falls on it: 0 in the shade, 600 behind glass, 900 outdoors.
    absorptance : float [-]
        How much of it the colour takes up.
    post_cured : bool [-]
        Film warmed after cure.
    damp : bool [-]
        Damp room.
    humidity : float [-]
        Relative humidity in which the board settled before it was coated.
    humidity_change : float [-]
        Step of relative humidity from place of work to place of use and its seasons.
    point_load, overhang_load : float [N]
        Person leaning or kneeling; person leaning on the overhang's tip.
    lasting : float [Pa]
        Lasting load beside its own weight.
    patch : float [m]
        Radius on which the point load stands.
    sag_ratio : float [-]
        Span over sag allowed: 360 for tops, 180 for shelves.
    flat_ratio : float [-]
        Length over bow allowed.
    twist : float [rad/m]
        Twist of vehicle or hull; 0 ashore.
    strength_ratio : float [-]
        Short-term strength over stress allowed.
    strain_ratio : float [-]
        Strain at break over strain allowed where it comes and goes.
    shake : float [Hz]
        Frequency the panel must stay above: 15 on wheels or by an engine, 8 ashore; 0 not asked.
    shake_source : str [-]
        Where that frequency comes from, with its mark.
    pan : str or None [-]
        Hot pan to look at; None when none will come near.
    pan_temperature : float [K]
        Its base.
    pan_base : float [m]
        Thickness of its base.
    pan_time : float [s]
        How long it stands.
    trivet : float [m]
        Cork under it, 0 for none.
    """

    solid: float = 293.15
    room: float = 293.15
    coldest: float | None = None
    outside: float | None = None
    sun: float = 0.0
    absorptance: float = 0.6
    post_cured: bool = False
    damp: bool = False
    humidity: float = 0.5
    humidity_change: float = 0.0
    point_load: float = 1000.0
    overhang_load: float = 500.0
    lasting: float = 200.0
    patch: float = 0.03
    sag_ratio: float = 360.0
    flat_ratio: float = 500.0
    strength_ratio: float = 3.0
    strain_ratio: float = 3.0
    twist: float = 0.0
    shake: float = 0.0
    shake_source: str = "set for this question [user]"
    pan: str | None = "stainless"
    pan_temperature: float = 453.15
    pan_base: float = 0.005
    pan_time: float = 600.0
    trivet: float = 0.0


@dataclass(frozen=True)
class Panel:
    """A panel ready for the checks.

    Attributes
    ----------
    plies : tuple of Ply [-]
        From the poured face to the back.
    shape : Shape [m]
        Size and supports.
    service : Service [K, N, Pa]
        What it lives through.
    draws : Draws [-]
        Samples for all checks of one job.
    coupon : Coupon or None [-]
        A strip that was measured: its shrinkage replaces the class value of the films it stands
        for, on face and back.
    """

    plies: tuple[Ply, ...]
    shape: Shape
    service: Service = field(default_factory=Service)
    draws: Draws = field(default_factory=lambda: Draws(1, 200))
    coupon: Coupon | None = None

    def __post_init__(self) -> None:
        cores = [p for p in self.plies if p.role == "core"]
        if len(cores) != 1:
            raise InputError(
                f"{self.shape.name}.build-up", len(cores), "exactly one core", "Name the board."
            )
        for what, x in (("length", self.shape.length), ("width", self.shape.width)):
            if not 0.0 < x < 100.0:
                raise InputError(
                    f"{self.shape.name}.{what}", x, "above 0 and below 100 m", "Correct it."
                )
        for what, x in (("span", self.shape.span), ("overhang", self.shape.overhang)):
            if not 0.0 <= x < 100.0:
                raise InputError(f"{self.shape.name}.{what}", x, "0 to 100 m", "Correct it.")
        check_layers(self.middle)

    @cached_property
    def layers(self) -> list[Layer]:
        """Sampled layers [-], from the face to the back."""
        key = (
            tuple((id(p.material), p.thickness, p.role, p.off) for p in self.plies),
            self.service.post_cured,
            self.service.damp,
            self.coupon and id(self.coupon),
        )
        # panels of one job share draws and build-up: sample it once. The materials are kept, so
        # that their identities stay theirs.
        shelf = _SAMPLED.setdefault(self.draws, {})
        if key not in shelf:
            shelf[key] = ((self.plies, self.coupon), self._make(self.plies, self.draws))
        return shelf[key][1]

    @cached_property
    def middle(self) -> list[Layer]:
        """Layers with middle values [-], for remedies."""
        return self._make(self.plies, None)

    @property
    def core(self) -> int:
        """Index of the core among the layers [-]."""
        return next(i for i, p in enumerate(self.plies) if p.role == "core")

    @property
    def area(self) -> float:
        """Face area [m2]."""
        s = self.shape
        return s.length * s.width if s.area is None else s.area

    def changed(self, *, core_more: ArrayLike = 0.0, sampled: bool = False) -> list[Layer]:
        """Layers, middle or sampled, with a thicker core [m], to see what it would do."""
        rows = list(self.layers if sampled else self.middle)
        i = self.core
        rows[i] = rows[i].with_(thickness=np.asarray(rows[i].thickness) + np.asarray(core_more))
        return rows

    def _make(self, plies: Sequence[Ply], draws: Draws | None) -> list[Layer]:
        out = []
        own = self.coupon.shrinkage(draws) if self.coupon is not None else 0.0
        for number, p in enumerate(plies):
            if not 0.0 < p.thickness < 1.0:
                raise InputError(
                    f"{self.shape.name}.{p.material.name}.thickness",
                    p.thickness,
                    "above 0 and below 1 m",
                    "Correct it, or leave the layer out.",
                )
            thickness = np.asarray(p.thickness)
            if draws is not None and p.off > 0.0:
                z = draws.normal(f"endure.thickness.{number}.{p.material.id}")
                thickness = p.thickness * np.clip(1.0 + p.off * z / Z95, 0.2, 3.0)
            layer = layer_of(
                p.material,
                thickness,
                p.role,
                draws,
                post_cured=self.service.post_cured,
                damp=self.service.damp,
            )
            if self.coupon is not None and self.coupon.speaks_for(p.material):
                layer = layer.with_(shrinkage=own)
            out.append(layer)
        return out
