"""The job file as a model: what a person writes, checked, with every quantity in SI.

The same model is written to TOML (by people) and kept as JSON (by the store); `schema` counts its
versions and `migrate` brings older documents forward.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainSerializer, field_validator, model_validator

from pourwright.errors import InputError
from pourwright.mix.spec import AmountSpec, MixSpec
from pourwright.price.spec import PriceSpec
from pourwright.quantities.fields import (
    Angle,
    Area,
    Duration,
    Length,
    Mass,
    Mix,
    QuantityModel,
    Share,
    Temperature,
    Volume,
    between,
)
from pourwright.survey import SurfaceSpec

SCHEMA = 1
_CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)")


def _clock(value: object) -> object:
    """A clock time "HH:MM" as seconds after midnight [s]."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    found = _CLOCK.fullmatch(str(value)) if isinstance(value, str) else None
    if not found:
        raise InputError(
            "", value, "it must be a clock time from 00:00 to 23:59", 'Write it as "08:30".'
        )
    return int(found[1]) * 3600.0 + int(found[2]) * 60.0


def _as_clock(seconds: float) -> str:
    return f"{int(seconds) // 3600:02d}:{int(seconds) % 3600 // 60:02d}"


ClockTime = Annotated[
    float, BeforeValidator(_clock), PlainSerializer(_as_clock, return_type=str, when_used="json")
]
"""A clock time, seconds after midnight [s], written "HH:MM"."""


class Show(QuantityModel):
    """How numbers are shown; stored values never change with it."""

    units: Literal["metric", "us"] = "metric"
    language: str = "en"
    currency: str = Field("EUR", pattern="^[A-Z]{3}$")
    paper: Literal["a4", "letter"] = "a4"


class AirPoint(QuantityModel):
    """Air at one clock time: temperature [K] and relative humidity [-]."""

    day: int = Field(0, ge=0, le=60, description="days after the job's first day")
    at: ClockTime
    temperature: Temperature
    humidity: Share | None = None


class Air(QuantityModel):
    """Air at the site: either coolest and warmest of a plain day, or hour by hour.

    The plain day repeats: coolest at `coolest_at`, warmest at `warmest_at`, half cosines between.
    """

    coolest: Temperature | None = None
    warmest: Temperature | None = None
    coolest_at: ClockTime = 5 * 3600.0
    warmest_at: ClockTime = 15 * 3600.0
    humidity: Share = 0.6
    hourly: list[AirPoint] = Field(default_factory=list)
    surface_below_air: float = Field(
        1.0, ge=0, le=15, description="how much colder the core's face is than the air [K]"
    )

    @model_validator(mode="after")
    def _one_way(self) -> Air:
        plain = self.coolest is not None and self.warmest is not None
        if plain == bool(self.hourly):
            raise InputError(
                "",
                None,
                "give either coolest and warmest, or hourly points",
                'For example coolest = "13 degC" and warmest = "19 degC".',
            )
        if plain and self.coolest > self.warmest:  # type: ignore[operator]
            raise InputError(
                "coolest", self.coolest, "it must not be above warmest", "Swap the two."
            )
        return self


class Measured(QuantityModel):
    """A thermometer reading on the job: everything after it is planned again from it."""

    day: int = Field(0, ge=0, le=60)
    at: ClockTime
    temperature: Annotated[Temperature, between("temperature", "-40 degC", "60 degC")]


class Hours(QuantityModel):
    """When the crew works."""

    from_: ClockTime = Field(8 * 3600.0, alias="from")
    to: ClockTime = 18 * 3600.0
    weekdays: list[Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]] = Field(
        ["mon", "tue", "wed", "thu", "fri", "sat"], min_length=1
    )


class Limits(QuantityModel):
    """What the pieces must keep to: weight and openings on the way in."""

    weight: Mass | None = Field(None, gt=0)
    carry: Mass | None = Field(None, gt=0, description="most that two people carry")
    door_width: Length | None = Field(None, gt=0)
    door_height: Length | None = Field(None, gt=0)


class Place(QuantityModel):
    """Where the finished pieces sit, and what comes out for them.

    Boat: `along` ahead of the centre of flotation, `height` above the keel. Vehicle: `along` ahead
    of the rear axle, `height` above the road. `across` to port or left.
    """

    along: Length = 0.0
    across: Length = 0.0
    height: Length = 1.0
    taken_out: Mass = 0.0


class BoatFloat(QuantityModel):
    """A hull as it lies now; the maker's papers and a surveyor decide."""

    displacement: Mass = Field(gt=50)
    metacentric_height: Length = Field(gt=0.01, le=20)
    waterplane: Area = Field(gt=0.5)
    waterline: Length = Field(gt=1, le=200)
    centre_height: Length = 0.0


class VehicleAxles(QuantityModel):
    """A vehicle as weighed, and the limits on its plate."""

    wheelbase: Length = Field(gt=0.5, le=20)
    track: Length = Field(gt=0.5, le=4)
    front_weighed: Mass = Field(gt=0)
    rear_weighed: Mass = Field(gt=0)
    front_plate: Mass = Field(gt=0)
    rear_plate: Mass = Field(gt=0)
    total_plate: Mass = Field(gt=0)


class Site(QuantityModel):
    """Where the piece is poured and where it will live."""

    kind: Literal["building", "boat", "vehicle"] = "building"
    about: str = ""
    start: date
    hours: Hours = Hours()
    tilt: Angle = Field(0.0, ge=0, le=0.2)
    tilt_towards: Angle = 0.0
    air: Air
    measured: list[Measured] = Field(default_factory=list)
    wood_moisture: float | None = Field(
        None, ge=0, le=40, description="moisture meter reading of the core [%]"
    )
    limits: Limits = Limits()
    place: Place = Place()
    boat: BoatFloat | None = None
    vehicle: VehicleAxles | None = None
    coat_flat: bool = Field(True, description="upright pieces are coated lying flat, hung later")
    room_volume: Volume | None = Field(None, gt=0.5, description="of the room where it is coated")
    hottest_outside: Temperature | None = Field(
        None, description="hottest outside air when boat or vehicle is shut up"
    )
    coldest_store: Temperature | None = Field(None, description="coldest air in its life")


class Core(QuantityModel):
    """The board under the pour."""

    material: str = "mdf-moisture"
    thickness: Length = Field(0.018, gt=0.002, le=0.2)
    support_span: Length = Field(0.6, gt=0.05, le=5, description="free span between bearers")
    skin: Length | None = Field(None, ge=0, le=0.01, description="glass skin on each face")
    back: Literal["bare", "sealed", "balanced"] = "sealed"
    edge: Literal["strips", "front", "mitre"] = "strips"
    saw: Literal["two-stage", "three-stage", "guillotine", "router"] = "three-stage"
    joints: dict[str, list[Length]] = Field(
        default_factory=dict, description="joints placed by hand, by surface"
    )


class ShadeShare(QuantityModel):
    """One shade of a coat, its share of the coat's volume [-], and its part in the work."""

    shade: str
    share: Share = Field(gt=0)
    part: Literal["field", "vein", "accent"] = "field"


class PrimerCoats(QuantityModel):
    """Primer under the pour."""

    material: str = "primer-acrylic-dark"
    coats: int = Field(2, ge=1, le=4)
    tint: Literal["dark", "white", "sand", "grey"] = "dark"


class Coat(AmountSpec):
    """A poured coat of resin: how much lies where, of what, in which shades."""

    resin: str = "resin-coating-1to1"
    ratio: Mix | None = Field(None, description="A to B as the product states it; else the class's")
    shades: list[ShadeShare] = Field(default_factory=list)
    vein_width: Length | None = Field(None, gt=0, le=0.1, description="how wide veins shall end")
    vein_thread: Length = Field(0.002, gt=0, le=0.05, description="width as it is drizzled")

    @field_validator("film")
    @classmethod
    def _film(cls, film: float) -> float:
        if not 5e-5 <= film <= 0.02:
            raise InputError(
                "", f"{film * 1e3:.4g} mm", "a coat is 0.05 to 20 mm", "Check the unit."
            )
        return film

    @field_validator("shades")
    @classmethod
    def _shares(cls, shades: list[ShadeShare]) -> list[ShadeShare]:
        total = sum(s.share for s in shades)
        if shades and abs(total - 1) > 1e-6:
            raise InputError(
                "", f"{total * 100:.4g} %", "the shares of one coat add to 100 %", "Adjust them."
            )
        return shades


class Topcoat(QuantityModel):
    """A thin finishing coat over the flood."""

    material: str
    coats: int = Field(2, ge=1, le=4)


class Edges(QuantityModel):
    """How free edges are poured."""

    wipe_underneath: bool = True
    push_after: Duration | None = None


class Board(QuantityModel):
    """How the sample board was poured, for matching it on site."""

    temperature: Temperature
    vein_wait: Duration = Field(gt=0)


class Finish(QuantityModel):
    """The look: its name and its score."""

    name: str = ""
    score: str | None = None
    mood: str = "calm"
    scale: Length = Field(0.35, gt=0.02, le=3)
    direction: Angle = 0.0
    separation: Share = 0.7


class Job(QuantityModel):
    """One commission, from first measurement to handover."""

    schema_: int = Field(SCHEMA, alias="schema")
    name: str = Field(min_length=1, max_length=120)
    client: str = Field("", max_length=120)
    about: str = Field("", max_length=2000)
    revision: int = Field(1, ge=1)
    seed: int = Field(1, ge=0)
    samples: int = Field(300, ge=50, le=20000)
    products: list[str] = Field(default_factory=list)
    show: Show = Show()
    site: Site
    core: Core = Core()
    surfaces: list[SurfaceSpec] = Field(min_length=1, max_length=200)
    board: Board | None = None
    primer: PrimerCoats | None = PrimerCoats()
    colour: Coat
    flood: Coat | None = None
    topcoat: Topcoat | None = None
    edges: Edges = Edges()
    finish: Finish = Finish()
    mix: MixSpec = MixSpec()
    price: PriceSpec | None = None

    def to_document(self) -> dict[str, Any]:
        """The job as plain JSON data [-]: quantities as exact text, keys as in the file."""
        return self.model_dump(mode="json", exclude_none=True, by_alias=True)
