"""Field types of the job file: quantities in pydantic models, SI floats inside, text outside.

A field ``depth: Length`` takes ``depth = "610 mm"`` or ``depth_mm = 610``; a plain number under
the bare key is refused, since nobody could tell its unit. ``model_dump(mode="json")`` and
`QuantityModel.to_document` write text that reads back as exactly the same float.
"""

from __future__ import annotations

import difflib
import types
import typing
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainSerializer,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticUndefined

from pourwright.errors import InputError, worded
from pourwright.quantities import money as _money
from pourwright.quantities.dimensions import Dimension, dimension
from pourwright.quantities.limits import above, between
from pourwright.quantities.prices import PriceBy, read_price
from pourwright.quantities.ratio import MixRatio, read_ratio
from pourwright.quantities.reader import understand
from pourwright.quantities.scan import Refusal
from pourwright.quantities.suffix import JOB_SUFFIXES, SUFFIX_UNITS, both_ways
from pourwright.quantities.unit_text import UnitText, parse_unit
from pourwright.quantities.units import NONE
from pourwright.quantities.writer import exact

__all__ = [
    "SI",
    "Amount",
    "Angle",
    "Area",
    "AreaMass",
    "Coverage",
    "Density",
    "Duration",
    "Energy",
    "Force",
    "Frequency",
    "Length",
    "LineVolume",
    "Mass",
    "MassRate",
    "Measured",
    "Mix",
    "Money",
    "Power",
    "Pressure",
    "PriceRate",
    "QuantityModel",
    "Rate",
    "Ratio",
    "Share",
    "Speed",
    "SurfaceTension",
    "Temperature",
    "TemperatureDifference",
    "Viscosity",
    "Volume",
    "above",
    "between",
    "has_default",
    "si",
]


class SI(float):
    """A float known to be in the SI unit of its field; code may give it to a field as it is."""

    __slots__ = ()


def si(value: float) -> SI:
    """`value` marked as being in the SI unit of the field it is given to [SI]."""
    return SI(value)


def _context_locale(info: ValidationInfo) -> str:
    context = info.context
    return str(context.get("locale", "en")) if isinstance(context, Mapping) else "en"


def _anonymous(err: InputError) -> InputError:
    """The error without a field, so that the path found by pydantic becomes its field."""
    return InputError("", err.value, err.limit, err.remedy)


def _reader(name: str) -> Callable[[Any, ValidationInfo], Any]:
    dim = dimension(name)

    def read_field(value: Any, info: ValidationInfo) -> Any:
        if isinstance(value, SI):
            return float(value)
        if isinstance(value, str):
            try:
                return understand(value, name, "", _context_locale(info)).value_si
            except InputError as err:
                raise _anonymous(err) from None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(
                "",
                value,
                worded("{dimension} is text with its unit", dimension=dim.a_or_an),
                both_ways(dim, ""),
            )
        if dim.name in ("share", "ratio"):
            if dim.name == "share" and not 0 <= value <= 1:
                raise InputError("", value, "a share is from 0 to 1", "Write '35 %' or 0.35.")
            return float(value)
        raise InputError(
            "",
            value,
            worded("a plain number does not say the unit of this {dimension}", dimension=dim.words),
            both_ways(dim, str(info.field_name or "")),
        )

    return read_field


class Measured:
    """Mark in a field's annotation that tells which dimension it has."""

    def __init__(self, dimension_name: str) -> None:
        self.dimension = dimension_name


def _type_of(name: str) -> Any:
    dim = dimension(name)
    return Annotated[
        float,
        Measured(dim.name),
        BeforeValidator(_reader(dim.name)),
        PlainSerializer(lambda v: exact(v, name), return_type=str, when_used="json"),
        WithJsonSchema({"type": "string", "description": f"{dim.words}, as {dim.example}"}),
    ]


if typing.TYPE_CHECKING:
    Length: typing.TypeAlias = float
    Area: typing.TypeAlias = float
    Volume: typing.TypeAlias = float
    Mass: typing.TypeAlias = float
    Temperature: typing.TypeAlias = float
    TemperatureDifference: typing.TypeAlias = float
    Duration: typing.TypeAlias = float
    Density: typing.TypeAlias = float
    Viscosity: typing.TypeAlias = float
    Coverage: typing.TypeAlias = float
    AreaMass: typing.TypeAlias = float
    LineVolume: typing.TypeAlias = float
    Angle: typing.TypeAlias = float
    Share: typing.TypeAlias = float
    Ratio: typing.TypeAlias = float
    Rate: typing.TypeAlias = float
    MassRate: typing.TypeAlias = float
    Speed: typing.TypeAlias = float
    Frequency: typing.TypeAlias = float
    Pressure: typing.TypeAlias = float
    Force: typing.TypeAlias = float
    Energy: typing.TypeAlias = float
    Power: typing.TypeAlias = float
    SurfaceTension: typing.TypeAlias = float
    PriceRate: typing.TypeAlias = float
    Money: typing.TypeAlias = _money.Money
    Amount: typing.TypeAlias = Decimal
    Mix: typing.TypeAlias = MixRatio
else:
    Length = _type_of("length")
    Area = _type_of("area")
    Volume = _type_of("volume")
    Mass = _type_of("mass")
    Temperature = _type_of("temperature")
    TemperatureDifference = _type_of("temperature_difference")
    Duration = _type_of("time")
    Density = _type_of("density")
    Viscosity = _type_of("viscosity")
    Coverage = _type_of("coverage")
    AreaMass = _type_of("area_mass")
    LineVolume = _type_of("line_volume")
    Angle = _type_of("angle")
    Share = _type_of("share")
    Ratio = _type_of("ratio")
    Rate = _type_of("volume_rate")
    MassRate = _type_of("mass_rate")
    Speed = _type_of("speed")
    Frequency = _type_of("frequency")
    Pressure = _type_of("pressure")
    Force = _type_of("force")
    Energy = _type_of("energy")
    Power = _type_of("power")
    SurfaceTension = _type_of("surface_tension")


def _money_field(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, _money.Money):
        return value
    if not isinstance(value, str):
        raise InputError("", value, "money names its currency", "Write it as 'EUR 12.50'.")
    try:
        return _money.read_money(value, locale=_context_locale(info))
    except InputError as err:
        raise _anonymous(err) from None


def _amount_field(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
        raise InputError("", value, "an amount is a decimal number", "Write it as 12.50.")
    text = value if isinstance(value, str) else str(value)
    try:
        return _money.read_money(text, locale=_context_locale(info), currency="EUR").amount
    except InputError as err:
        raise InputError("", value, err.limit, "Write a plain decimal number, as 12.50.") from None


def _price_field(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, PriceBy):
        return value
    try:
        return read_price(value, locale=_context_locale(info))
    except InputError as err:
        raise _anonymous(err) from None


def _ratio_field(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, MixRatio):
        return value
    try:
        return read_ratio(value, locale=_context_locale(info))
    except InputError as err:
        raise _anonymous(err) from None


if not typing.TYPE_CHECKING:
    Money = Annotated[
        _money.Money,
        BeforeValidator(_money_field),
        PlainSerializer(str, return_type=str, when_used="json"),
        WithJsonSchema({"type": "string", "description": "money, as 'EUR 12.50'"}),
    ]
    Amount = Annotated[
        Decimal,
        BeforeValidator(_amount_field),
        PlainSerializer(lambda v: f"{v:f}", return_type=str, when_used="json"),
        WithJsonSchema({"type": "string", "description": "decimal amount, as '12.50'"}),
    ]
    PriceRate = Annotated[
        PriceBy,
        BeforeValidator(_price_field),
        PlainSerializer(str, return_type=str, when_used="json"),
        WithJsonSchema({"type": "string", "description": "price by measure, as 'EUR 38.00/L'"}),
    ]
    Mix = Annotated[
        MixRatio,
        BeforeValidator(_ratio_field),
        PlainSerializer(str, return_type=str, when_used="json"),
        WithJsonSchema({"type": "string", "description": "mix ratio, as '100:43 by mass'"}),
    ]


def _measured_in(annotation: Any) -> str | None:
    """The dimension named somewhere in an annotation, through lists, dicts and optionals."""
    for meta in getattr(annotation, "__metadata__", ()):
        if isinstance(meta, Measured):
            return meta.dimension
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        return None
    for inner in typing.get_args(annotation):
        if (found := _measured_in(inner)) is not None:
            return found
    return None


_T = TypeVar("_T", bound="QuantityModel")


class QuantityModel(BaseModel):
    """Base of every model with quantities: unknown keys, NaN and infinity are refused."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, validate_default=False)

    @classmethod
    def dimensions_of_fields(cls) -> dict[str, str]:
        """Field name to dimension name [-], for the fields that hold quantities."""
        cached = cls.__dict__.get("_dimensions_")
        if cached is None:
            cached = {}
            for name, info in cls.model_fields.items():
                marks = [m.dimension for m in info.metadata if isinstance(m, Measured)]
                found = marks[0] if marks else _measured_in(info.annotation)
                if found is not None:
                    cached[name] = found
            cls._dimensions_ = cached  # type: ignore[attr-defined]
        return cached

    @model_validator(mode="before")
    @classmethod
    def _take_suffixed_keys(cls, data: Any) -> Any:
        if not isinstance(data, Mapping):
            return data
        measured = cls.dimensions_of_fields()
        out: dict[str, Any] = {}
        for key, value in data.items():
            if key in cls.model_fields or not isinstance(key, str):
                target, found = key, value
            else:
                target, found = _from_suffix(key, value, measured, cls)
            if target in out or (target != key and target in data):
                raise InputError(
                    key,
                    value,
                    worded("'{key}' is given twice", key=target),
                    "Keep one of the two keys.",
                )
            out[target] = found
        return out

    def to_document(self) -> dict[str, Any]:
        """The model as plain JSON data [-]: quantities as exact text, unset optionals left out."""
        return self.model_dump(mode="json", exclude_none=True)


def _from_suffix(
    key: str, value: Any, measured: dict[str, str], cls: type[QuantityModel]
) -> tuple[str, Any]:
    """Field and value for a key such as ``depth_mm``; unknown keys come back as they are."""
    for name, dim_name in measured.items():
        if not key.startswith(f"{name}_"):
            continue
        suffix = key[len(name) + 1 :]
        unit_name = SUFFIX_UNITS.get(suffix) or JOB_SUFFIXES.get(suffix)
        if unit_name is None:
            continue
        unit = parse_unit(unit_name)
        dim = dimension(dim_name)
        if not _fits(unit, dim):
            raise InputError(
                key,
                value,
                worded(
                    "'{unit}' is no unit for the {dimension} '{name}'",
                    unit=unit_name,
                    dimension=dim.words,
                    name=name,
                ),
                both_ways(dim, name),
            )
        return name, _converted(value, unit, dim, key)
    if cls.model_config.get("extra") == "forbid" and not _is_alias(key, cls):
        near = difflib.get_close_matches(key, cls.model_fields, n=1, cutoff=0.6)
        remedy = (
            worded("Did you mean '{near}'?", near=near[0])
            if near
            else "Check its spelling, or take it out."
        )
        raise InputError(key, value, "this key is not known here", remedy)
    return key, value


def _is_alias(key: str, cls: type[BaseModel]) -> bool:
    return any(
        key == f.alias
        or key == f.validation_alias
        or not isinstance(f.validation_alias, str | None)
        for f in cls.model_fields.values()
    )


def _fits(unit: UnitText, dim: Dimension) -> bool:
    if dim.name == "coverage":
        return unit.vector in (dim.vector, (-1, 0, 0, 0, 0, 0))
    if dim.name == "angle":
        return unit.vector == dim.vector or unit.vector == NONE
    return unit.vector == dim.vector and (not dim.single or unit.single)


def _converted(value: Any, unit: UnitText, dim: Dimension, key: str) -> Any:
    """Numbers in `unit` as `SI`, through lists and dicts; text is left to the strict reader."""
    if isinstance(value, Mapping):
        return {k: _converted(v, unit, dim, f"{key}.{k}") for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_converted(v, unit, dim, f"{key}[{i}]") for i, v in enumerate(value)]
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(
            key, value, "it is not a number", worded("Give a number in {unit}.", unit=unit.symbol)
        )
    if value != value or value in (float("inf"), float("-inf")):
        raise InputError(
            key, value, "it is not finite", worded("Give a number in {unit}.", unit=unit.symbol)
        )
    from pourwright.quantities.reader import si_of

    try:
        return SI(
            si_of(Fraction(value) if isinstance(value, int) else _as_written(value), unit, dim)
        )
    except Refusal as refusal:
        raise refusal.error(key, value) from None


def _as_written(value: float) -> Fraction:
    """A float as the decimal number it was written as, so 24.125 and 0.1 mean just that."""
    return Fraction(Decimal(repr(float(value))))


def has_default(model: type[BaseModel], name: str) -> bool:
    """Whether field `name` of `model` [-] may be left out."""
    return model.model_fields[name].default is not PydanticUndefined
