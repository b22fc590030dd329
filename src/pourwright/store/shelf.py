"""The shop's shelf: lots with dates, what was opened, reserved and used; one file of the shop.

A lot is one thing in one can or stack: part A or part B of a resin, a paint, sheets, sundries. Its
amount is a mass, a volume or a count of pieces, as the shop counts it. Everything that happens to
it is a move, and moves are only ever added.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainSerializer, model_validator

from pourwright.calc.registry import validate
from pourwright.errors import InputError
from pourwright.quantities.fields import Mass, QuantityModel, Volume
from pourwright.store.files import locked, read_text, write_whole
from pourwright.words import Own, say

SCHEMA = 1
LARGEST = 20_000_000  # bytes
SOON_D = 30  # a lot that runs out within this is named in the reorder list [d]
Name = Annotated[str, Field(min_length=1, max_length=60)]


def _days(value: object) -> object:
    """Shelf lives in days: 365, "12 months", "2 years", "90 days"."""
    if isinstance(value, bool) or (isinstance(value, float) and not value.is_integer()):
        raise InputError("", value, "it is a whole number of days", "Write 365 or '12 months'.")
    if isinstance(value, int | float):
        return int(value)
    found = re.fullmatch(r"\s*(\d{1,4})\s*(days?|d|months?|years?)\s*", str(value))
    if not found:
        raise InputError("", value, "it is a number of days", "Write 365 or '12 months'.")
    each = {"d": 1, "m": 30.4375, "y": 365.25}[found[2][0]]
    return int(int(found[1]) * each)


Days = Annotated[
    int, BeforeValidator(_days), PlainSerializer(int, return_type=int), Field(ge=1, le=36_500)
]


class Amount(QuantityModel):
    """How much: exactly one of a mass, a volume and a count of pieces."""

    mass: Mass | None = Field(None, ge=0)
    volume: Volume | None = Field(None, ge=0)
    pieces: float | None = Field(None, ge=0, le=1e6)

    @model_validator(mode="after")
    def _one(self) -> Amount:
        given = [k for k in ("mass", "volume", "pieces") if getattr(self, k) is not None]
        if len(given) != 1:
            raise InputError(
                "amount", ", ".join(given) or None, "it is a mass, a volume or a count",
                "Give one of mass='4 kg', volume='2 L', pieces=3.",
            )  # fmt: skip
        return self

    @property
    def kind(self) -> str:
        """``mass``, ``volume`` or ``pieces`` [-]."""
        return next(k for k in ("mass", "volume", "pieces") if getattr(self, k) is not None)

    @property
    def value(self) -> float:
        """The number [kg, m3 or -]."""
        return float(getattr(self, self.kind))


class Lot(Amount):
    """A lot as it came in: what, how much, when, how long it keeps."""

    id: Name
    material: Name = Field(description="its id in the catalogue or in a product file")
    part: Literal["A", "B", ""] = Field("", description="for a resin: which part")
    received: date
    made: date | None = None
    best_before: date | None = None
    opened: date | None = None
    keeps: Days | None = Field(None, description="shelf life from the day it was made or came in")
    keeps_open: Days | None = Field(None, description="once opened")
    place: str = Field("", max_length=60)
    note: str = Field("", max_length=300)

    def until(self, opened: date | None = None) -> date | None:
        """The last day on which it is good [-]; `opened` [-] stands in for its own date."""
        ends = []
        if self.best_before is not None:
            ends.append(self.best_before)
        if self.keeps is not None:
            ends.append((self.made or self.received) + timedelta(days=self.keeps))
        first = opened or self.opened
        if first is not None and self.keeps_open is not None:
            ends.append(first + timedelta(days=self.keeps_open))
        return min(ends) if ends else None


class Move(QuantityModel):
    """Something that happened to a lot."""

    what: Literal["used", "discarded", "counted", "reserved", "released", "opened"]
    lot: Name
    on: date
    mass: Mass | None = Field(None, ge=0)
    volume: Volume | None = Field(None, ge=0)
    pieces: float | None = Field(None, ge=0, le=1e6)
    job: str = Field("", max_length=120)
    of: str = Field("", max_length=160, description="what it was used for; counts once")
    note: str = Field("", max_length=300)

    @property
    def amount(self) -> Amount | None:
        """Its amount [kg, m3 or -], None for an opening."""
        if self.mass is None and self.volume is None and self.pieces is None:
            return None
        return Amount.model_construct(mass=self.mass, volume=self.volume, pieces=self.pieces)


class Least(Amount):
    """What should always be on the shelf of one material (and part)."""

    material: Name
    part: Literal["A", "B", ""] = ""


class Shelf(QuantityModel):
    """The whole shelf."""

    schema_: int = Field(SCHEMA, alias="schema")
    shop: str = Field("", max_length=120)
    lots: list[Lot] = Field(default_factory=list)
    moves: list[Move] = Field(default_factory=list)
    least: list[Least] = Field(default_factory=list)

    @model_validator(mode="after")
    def _sound(self) -> Shelf:
        ids = [x.id for x in self.lots]
        twice = {i for i in ids if ids.count(i) > 1}
        if twice:
            raise InputError("lots", sorted(twice)[0], "each lot stands once", "Rename one.")
        for k, m in enumerate(self.moves):
            if m.lot not in ids:
                raise InputError(
                    f"moves[{k}].lot", m.lot, "there is no such lot", "Put the lot in first."
                )
        return self

    def lot(self, ident: str) -> Lot:
        """The lot called `ident` [-]; raises `InputError`."""
        for x in self.lots:
            if x.id == ident:
                return x
        known = ", ".join(x.id for x in self.lots[:12]) or "none"
        raise InputError(
            "lot", ident, say("the lots are {known}", known=known), "Name one of them."
        )


@dataclass(frozen=True)
class State:
    """A lot as it stands: on hand, reserved and free [kg, m3 or -, as the lot is counted]."""

    lot: Lot
    on_hand: float
    reserved: float
    opened: date | None
    until: date | None
    by_job: dict[str, float]

    @property
    def free(self) -> float:
        """On hand and not reserved."""
        return max(self.on_hand - self.reserved, 0.0)

    def good_on(self, day: date) -> bool:
        """Whether it is within its date on `day` [-]."""
        return self.until is None or day <= self.until


def in_unit(amount: Amount, like: Lot, density: float | None) -> float:
    """An amount in the unit that a lot is counted in.

    Parameters
    ----------
    amount : Amount [kg, m3 or -]
        What is meant.
    like : Lot [-]
        The lot.
    density : float or None [kg/m3]
        To turn mass into volume and back.

    Returns
    -------
    float [kg, m3 or -]

    Raises
    ------
    InputError
        Pieces against a mass, or no density.
    """
    if amount.kind == like.kind:
        return amount.value
    if "pieces" in (amount.kind, like.kind) or not density:
        raise InputError(
            f"lot {like.id}", amount.kind, say("it is counted as {kind}", kind=like.kind),
            say("Give the amount as {kind}.", kind=like.kind),
        )  # fmt: skip
    return amount.value / density if like.kind == "volume" else amount.value * density


def states(shelf: Shelf, densities: dict[tuple[str, str], float] | None = None) -> list[State]:
    """How every lot stands after all moves [kg, m3 or -].

    `shelf` [-] is the file; `densities` [kg/m3] by material and part turn masses into volumes.
    A count replaces what was on hand before it; using more than there was leaves nothing, since
    a can was fuller than its label.
    """
    density = densities or {}
    out = []
    for x in shelf.lots:
        own = density.get((x.material, x.part))
        on_hand, opened = x.value, x.opened
        by_job: dict[str, float] = {}
        for m in shelf.moves:
            if m.lot != x.id:
                continue
            if m.what == "opened":
                opened = min(opened, m.on) if opened else m.on
                continue
            v = in_unit(m.amount, x, own) if m.amount is not None else 0.0
            if m.what == "counted":
                on_hand = v
            elif m.what in ("used", "discarded"):
                on_hand = max(on_hand - v, 0.0)
                if m.what == "used" and m.job in by_job:
                    by_job[m.job] = max(by_job[m.job] - v, 0.0)
                if m.what == "used" and opened is None:
                    opened = m.on
            elif m.what == "reserved":
                by_job[m.job] = by_job.get(m.job, 0.0) + v
            elif m.what == "released":
                by_job[m.job] = max(by_job.get(m.job, 0.0) - v, 0.0) if m.amount else 0.0
        by_job = {k: v for k, v in by_job.items() if v > 1e-12}
        reserved = min(sum(by_job.values()), on_hand)
        out.append(State(x, on_hand, reserved, opened, x.until(opened), by_job))
    return out


def shelf_from(data: Any) -> Shelf:
    """A shelf from plain data [-]; raises `InputError`."""
    version = data.get("schema", SCHEMA) if isinstance(data, dict) else SCHEMA
    if not isinstance(version, int) or version > SCHEMA or version < 1:
        raise InputError(
            "shelf.schema", version, say("this Pourwright reads versions up to {schema}", schema=SCHEMA),
            "Bring Pourwright up to date.",
        )  # fmt: skip
    shelf: Shelf = validate(Shelf, data, "shelf")
    return shelf


def read_shelf(path: str | Path) -> Shelf:
    """The shelf in the file `path` [-], TOML or JSON; raises `InputError`."""
    p = Path(path)
    text = read_text(p, "shelf", LARGEST)
    try:
        data = tomllib.loads(text) if p.suffix == ".toml" else json.loads(text)
    except (ValueError, RecursionError) as err:
        words = " ".join(str(err).split())[:100]
        raise InputError(
            "shelf", str(p), say("it cannot be read: {words}", words=Own(words)), "Mend it there."
        ) from None
    return shelf_from(data)


def shelf_text(shelf: Shelf, toml: bool) -> str:
    """The shelf as the text of its file [-], TOML or JSON, that reads back the same."""
    doc = shelf.model_dump(mode="json", exclude_none=True, by_alias=True)
    if not toml:
        return json.dumps(doc, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    import tomlkit

    return tomlkit.dumps(doc)


def change_shelf(
    path: str | Path, lots: Iterable[Lot] = (), moves: Iterable[Move] = (),
    least: Iterable[Least] = (),
) -> Shelf:  # fmt: skip
    """Add `lots`, `moves` and `least` [-] to the shelf file `path` [-], made if missing.

    Read under a lock and written whole or not at all. A move `of` something that was moved
    before counts once and is left out. Raises `InputError`.
    """
    p = Path(path)
    with locked(p):
        old = read_shelf(p) if p.exists() else Shelf.model_validate({})
        seen = {(m.lot, m.of) for m in old.moves if m.of}
        new = [m for m in moves if not (m.of and (m.lot, m.of) in seen)]
        fresh = list(least)
        kept = [
            x for x in old.least if not any((x.material, x.part) == (y.material, y.part)
                                            for y in fresh)
        ]  # fmt: skip
        try:
            made = Shelf(
                schema=SCHEMA, shop=old.shop, lots=[*old.lots, *lots],
                moves=[*old.moves, *new], least=[*kept, *fresh],
            )  # fmt: skip
        except ValueError as err:
            from pydantic import ValidationError

            from pourwright.calc.registry import input_error

            if isinstance(err, ValidationError):
                raise input_error(err) from None
            raise
        text = shelf_text(made, p.suffix == ".toml")
        write_whole(p, text)
    return made
