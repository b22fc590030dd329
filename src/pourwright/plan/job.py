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
from pourwright.plan.boards import Core
from pourwright.plan.place import (
    BoatFloat,
    Limits,
    MassRow,
    Place,
    PlaceOfUse,
    Trailer,
    VehicleAxles,
)
from pourwright.price.spec import PriceSpec
from pourwright.quantities.fields import (
    Angle,
    Duration,
    Length,
    Mix,
    QuantityModel,
    Share,
    Temperature,
    Volume,
    between,
)
from pourwright.survey import SurfaceSpec
from pourwright.words import say

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


class Seen(QuantityModel):
    """A look at a poured coat on the day: its windows after it are computed from it.

    Film gelled or tack-free, reached by then or not yet; or the hardness that a gauge showed.
    """

    day: int = Field(0, ge=0, le=60)
    at: ClockTime
    coat: Literal["colour", "flood", "back-1", "back-2"]
    stage: Literal["film gel", "tack-free"] | None = None
    reached: bool | None = None
    shore_d: float | None = Field(None, ge=0, le=100, description="Shore D (ISO 868) [-]")

    @model_validator(mode="after")
    def _one_look(self) -> Seen:
        if (self.stage is None) == (self.shore_d is None) or (
            (self.stage is None) != (self.reached is None)
        ):
            raise InputError(
                "stage", self.stage, "a look is a stage with reached, or a hardness shore_d",
                'Write stage = "tack-free", reached = true, or shore_d = 62.',
            )  # fmt: skip
        return self


class Hours(QuantityModel):
    """When the crew works."""

    from_: ClockTime = Field(8 * 3600.0, alias="from")
    to: ClockTime = 18 * 3600.0
    weekdays: list[Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]] = Field(
        ["mon", "tue", "wed", "thu", "fri", "sat"], min_length=1
    )


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
    lost: list[date] = Field(
        default_factory=list, max_length=60, description="days on which nobody could work"
    )
    seen: list[Seen] = Field(default_factory=list, max_length=200)
    wood_moisture: float | None = Field(
        None, ge=0, le=40, description="moisture meter reading of the core [%]"
    )
    limits: Limits = Limits()
    place: Place = Place()
    masses: list[MassRow] = Field(
        default_factory=list, max_length=100, description="what else comes in or out, and where"
    )
    boat: BoatFloat | None = None
    vehicle: VehicleAxles | None = None
    trailer: Trailer | None = None
    coat_flat: bool = Field(True, description="upright pieces are coated lying flat, hung later")
    room_volume: Volume | None = Field(None, gt=0.5, description="of the room where it is coated")
    air_changes: float = Field(
        2.0, ge=0, le=200, description="fresh air in that room, room volumes an hour [1/h]"
    )
    use: PlaceOfUse | None = Field(None, description="air where the pieces will live")
    sun: float | None = Field(
        None, ge=0, le=1200, description="strongest sun that falls on the pieces [W/m2]"
    )
    hottest_outside: Temperature | None = Field(
        None, description="hottest outside air when boat or vehicle is shut up"
    )
    coldest_store: Temperature | None = Field(None, description="coldest air in its life")

    @model_validator(mode="after")
    def _one_on_wheels(self) -> Site:
        if self.vehicle is not None and self.trailer is not None:
            raise InputError(
                "trailer", "vehicle and trailer", "one of the two", "Keep the one it goes into."
            )
        return self


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


class Pace(QuantityModel):
    """How long steps of one kind take over what is planned; a bare number is the factor."""

    factor: float = Field(gt=0.1, lt=10)
    range: tuple[float, float] | None = Field(
        None, description="5 and 95 % points of a step's time over the planned middle [-]"
    )

    @model_validator(mode="before")
    @classmethod
    def _bare(cls, data: Any) -> Any:
        return {"factor": data} if isinstance(data, int | float) else data

    @model_validator(mode="after")
    def _around(self) -> Pace:
        if self.range is not None and not 0 < self.range[0] <= self.factor <= self.range[1] < 30:
            raise InputError(
                "range", list(self.range), say("it lies round the factor {factor:g}", factor=self.factor),
                "Give the 5 and the 95 % point.",
            )  # fmt: skip
        return self


PACED = ("build", "prime", "sand", "mask", "edges", "torch", "veins", "leave", "topcoat", "finish",
         "handover", "agree", "turn")  # fmt: skip
"""Kinds of step whose time a job may scale; mixing and spreading go by ``mix.crew``."""


class Learned(QuantityModel):
    """Where this job's learned values come from, and what stood there before, to undo them."""

    jobs: list[str] = Field(default_factory=list, max_length=200)
    evidence: str = Field("", max_length=600)
    was: dict[str, Any] = Field(default_factory=dict)


class RepairOf(QuantityModel):
    """What this job repairs: the old job's name, and the fault's number in its record."""

    job: str = Field(min_length=1, max_length=120)
    fault: str = Field("", pattern=r"^(e[0-9]{4,7})?$")
    what: str = Field("", max_length=60)


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
    pace: dict[str, Pace] = Field(default_factory=dict)
    learned: Learned | None = None
    repair: RepairOf | None = None
    price: PriceSpec | None = None

    @field_validator("primer", mode="before")
    @classmethod
    def _no_primer(cls, value: Any) -> Any:
        """``primer = false`` says that none is rolled."""
        return None if value is False else value

    @field_validator("pace")
    @classmethod
    def _kinds(cls, pace: dict[str, Pace]) -> dict[str, Pace]:
        for kind in pace:
            if kind in ("mix", "pour"):
                key = "mix_time" if kind == "mix" else "spread_time"
                raise InputError(
                    kind,
                    kind,
                    "mixing and spreading go by mix.crew",
                    say("Set mix.crew.{key}.", key=key),
                )
            if kind not in PACED:
                raise InputError(
                    kind, kind, say("the kinds are {names}", names=", ".join(PACED)), "Use one."
                )
        return pace

    def to_document(self) -> dict[str, Any]:
        """The job as plain JSON data [-]: quantities as exact text, keys as in the file."""
        out = self.model_dump(mode="json", exclude_none=True, by_alias=True)
        if self.primer is None:
            out["primer"] = False
        return out
