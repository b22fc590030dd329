"""What can be written into a record: one model per kind of entry, quantities in SI inside."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from pourwright.errors import InputError
from pourwright.quantities.fields import (
    Duration,
    Length,
    Mass,
    QuantityModel,
    Share,
    Temperature,
)
from pourwright.record.moments import Moment
from pourwright.words import say

Text = Annotated[str, Field(max_length=1000)]
Name = Annotated[str, Field(min_length=1, max_length=60)]

FAULTS = (
    "soft spot", "fish eye", "blush", "crater", "bubble", "drip", "dust", "bow", "bare edge",
    "lifting",
)  # fmt: skip


class Entry(QuantityModel):
    """Base of every entry: when it was (site clock), what number it has, what it replaces."""

    id: str = Field("", pattern=r"^(e[0-9]{4,7})?$", description="given when it is written")
    at: Moment
    by: str = Field("", max_length=60, description="initials of who did it")
    note: Text = ""
    instead_of: str | None = Field(
        None, pattern=r"^e[0-9]{4,7}$", description="the earlier entry that this one corrects"
    )


class ReadingEntry(Entry):
    """Thermometer and hygrometer in the room."""

    kind: Literal["reading"] = "reading"
    temperature: Temperature | None = None
    humidity: Share | None = None
    surface: Temperature | None = Field(None, description="temperature of the face to be poured")

    @model_validator(mode="after")
    def _something(self) -> ReadingEntry:
        if self.temperature is None and self.humidity is None and self.surface is None:
            raise InputError(
                "temperature", None, "a reading shows something",
                "Give temperature, humidity or surface.",
            )  # fmt: skip
        return self


class LoggerEntry(Entry):
    """A logger's series; `at` is its first moment, `minutes` [min] count from there."""

    kind: Literal["logger"] = "logger"
    minutes: list[float] = Field(min_length=2, max_length=50_000)
    degC: list[float | None]
    humidity_percent: list[float | None] = Field(default_factory=list)
    left_out: list[int] = Field(
        default_factory=list, description="places in the series that are spikes, kept but not used"
    )
    gaps: list[Text] = Field(default_factory=list)
    columns: Text = Field("", description="how the file's columns were read")
    sha256: str = Field("", pattern="^([0-9a-f]{64})?$")

    @model_validator(mode="after")
    def _lengths(self) -> LoggerEntry:
        n = len(self.minutes)
        if len(self.degC) != n or (self.humidity_percent and len(self.humidity_percent) != n):
            raise InputError(
                "degC", len(self.degC), say("there are {n} moments", n=n), "Give one each."
            )
        if any(b <= a for a, b in zip(self.minutes, self.minutes[1:], strict=False)):
            raise InputError("minutes", "these", "they must rise", "Sort the series.")
        if any(not 0 <= k < n for k in self.left_out):
            raise InputError(
                "left_out", "these", say("places are 0 to {last}", last=n - 1), "Check them."
            )
        if any(v is not None and not -60 <= v <= 100 for v in self.degC):
            raise InputError("degC", "these", "room air is -60 to 100 degC", "Check the unit.")
        if any(v is not None and not 0 <= v <= 100 for v in self.humidity_percent):
            raise InputError("humidity_percent", "these", "it is 0 to 100 %", "Check the unit.")
        return self


class CupEntry(Entry):
    """A cup as it was mixed; `at` is when mixing was finished."""

    kind: Literal["cup"] = "cup"
    cup: Name = Field(description="the cup's name on its card, as coat/cup: colour/1A")
    a: Mass = Field(gt=0, le=200)
    b: Mass = Field(gt=0, le=200)
    pastes: dict[str, Mass] = Field(default_factory=dict, max_length=12)
    mixing: Duration | None = Field(None, gt=0, le=3600, description="how long it was stirred")
    lot_a: str = Field("", max_length=60)
    lot_b: str = Field("", max_length=60)
    poured: Moment | None = Field(None, description="when it was poured out")
    left: Mass | None = Field(None, ge=0, description="what stayed in the cup, by weighing it")

    @model_validator(mode="after")
    def _sound(self) -> CupEntry:
        if self.poured is not None and self.poured < self.at:
            raise InputError(
                "poured", self.poured.isoformat(), "a cup is poured after it is mixed", "Check it."
            )
        whole = self.a + self.b + sum(self.pastes.values())
        if self.left is not None and self.left > whole:
            raise InputError(
                "left", f"{self.left * 1e3:.6g} g", say("the cup held {whole:.6g} g", whole=whole * 1e3),
                "Take the empty cup's weight off.",
            )  # fmt: skip
        return self

    @property
    def coat(self) -> str:
        """The coat it belongs to [-], the part of its name before the stroke."""
        return self.cup.partition("/")[0]


class StepEntry(Entry):
    """A step as it really went; `at` is its start."""

    kind: Literal["step"] = "step"
    step: Name = Field(description="the step's id in the plan, e.g. colour-torch")
    ended: Moment | None = None
    people: int | None = Field(None, ge=1, le=20)

    @model_validator(mode="after")
    def _order(self) -> StepEntry:
        if self.ended is not None and self.ended < self.at:
            raise InputError(
                "ended", self.ended.isoformat(), "a step ends after it began", "Check both times."
            )
        return self


class AccountEntry(Entry):
    """Where the resin of a coat went besides the surface, by weighing."""

    kind: Literal["account"] = "account"
    coat: Name
    ran_off: Mass | None = Field(None, ge=0, description="caught on the sheet below free edges")
    tools: Mass | None = Field(None, ge=0, description="on spreaders, sticks and floor")
    left_over: Mass | None = Field(None, ge=0, description="mixed and not needed")


class LookEntry(Entry):
    """A look at the resin: has this stage been reached?"""

    kind: Literal["look"] = "look"
    stage: Literal["cup gel", "film gel", "tack-free"]
    seen: bool
    watched: bool = Field(
        False, description="true: it was watched until then, so this is the very moment"
    )
    coat: Name | None = None
    cup: Name | None = Field(None, description="for a cup: its name, as colour/1A")
    mass: Mass | None = Field(None, gt=0, description="what stood in the cup, if not all of it")

    @model_validator(mode="after")
    def _whose(self) -> LookEntry:
        if self.stage == "cup gel" and self.cup is None:
            raise InputError("cup", None, "a cup's gel is of a cup", "Name it, as colour/1A.")
        if self.stage != "cup gel" and self.coat is None:
            raise InputError("coat", None, "a film belongs to a coat", "Name it, as colour.")
        return self


class CheckEntry(Entry):
    """A check on the job: cup release, hardness, moisture, bow."""

    kind: Literal["check"] = "check"
    what: Literal["cup release", "hardness", "moisture", "bow"]
    cup: Name | None = None
    surface: Name | None = None
    coat: Literal["colour", "flood", "back-1", "back-2"] | None = Field(
        None, description="hardness: of which coat; the last one poured when nobody says"
    )
    release: Literal["clean", "tacky", "soft", "streaks"] | None = None
    shore_d: float | None = Field(None, ge=0, le=100, description="Shore D (ISO 868) [-]")
    moisture_percent: float | None = Field(None, ge=0, le=60)
    bow: Length | None = Field(None, ge=0, le=0.5)

    @model_validator(mode="after")
    def _value(self) -> CheckEntry:
        key = {
            "cup release": "release", "hardness": "shore_d", "moisture": "moisture_percent",
            "bow": "bow",
        }[self.what]  # fmt: skip
        if getattr(self, key) is None:
            raise InputError(
                key,
                None,
                say("a check of {what} has a result", what=self.what),
                say("Give {key}.", key=key),
            )
        if self.what == "cup release" and self.cup is None:
            raise InputError("cup", None, "it is about a cup", "Name it, as colour/1A.")
        return self


class PhotoEntry(Entry):
    """A photo in the folder beside the record, upright and without the camera's hidden data."""

    kind: Literal["photo"] = "photo"
    file: str = Field(pattern=r"^[0-9a-z][0-9a-z._-]{0,80}\.jpg$")
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    width_px: int = Field(ge=1)
    height_px: int = Field(ge=1)
    caption: str = Field("", max_length=200)
    of: str | None = Field(None, pattern=r"^e[0-9]{4,7}$", description="the entry it shows")


class FaultEntry(Entry):
    """A fault, from the plain list."""

    kind: Literal["fault"] = "fault"
    fault: Literal[
        "soft spot", "fish eye", "blush", "crater", "bubble", "drip", "dust", "bow", "bare edge",
        "lifting",
    ]  # fmt: skip
    surface: Name | None = None
    coat: Name | None = None
    cup: Name | None = Field(None, description="the cup poured there, as colour/1A, if known")
    across: Length | None = Field(None, gt=0, le=20, description="how far it reaches")
    count: int = Field(1, ge=1, le=10_000)
    cause: str = Field("", max_length=60, description="what it turned out to be")


class RepairEntry(Entry):
    """A repair planned for a fault: the job file that does it."""

    kind: Literal["repair"] = "repair"
    fault: str = Field(pattern=r"^e[0-9]{4,7}$")
    job: str = Field(min_length=1, max_length=200)


class NoteEntry(Entry):
    """Anything else."""

    kind: Literal["note"] = "note"
    text: str = Field(min_length=1, max_length=4000)


class StruckEntry(Entry):
    """An earlier entry that does not count; it stays in the file."""

    kind: Literal["struck"] = "struck"
    of: str = Field(pattern=r"^e[0-9]{4,7}$")
    why: str = Field(min_length=1, max_length=300)


AnyEntry = Annotated[
    ReadingEntry | LoggerEntry | CupEntry | StepEntry | AccountEntry | LookEntry | CheckEntry
    | PhotoEntry | FaultEntry | RepairEntry | NoteEntry | StruckEntry,
    Field(discriminator="kind"),
]  # fmt: skip

KINDS: dict[str, type[Entry]] = {
    "reading": ReadingEntry,
    "logger": LoggerEntry,
    "cup": CupEntry,
    "step": StepEntry,
    "account": AccountEntry,
    "look": LookEntry,
    "check": CheckEntry,
    "photo": PhotoEntry,
    "fault": FaultEntry,
    "repair": RepairEntry,
    "note": NoteEntry,
    "struck": StruckEntry,
}
