"""The contract of a calculation: what goes in, what comes out.

Keys carry their unit as a suffix (``depth_mm``, ``air_degC``, ``cure_h``). An input may also be
given as measured text, under the full key (``"depth_mm": "2 1/2 in"``) or under its stem
(``"depth": "2 1/2 in"``); it is read strictly and converted to the key's own unit.
"""

from __future__ import annotations

import math
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, Field, model_validator

from pourwright.quantities.suffix import SUFFIX_UNITS, suffix_unit, to_suffix_unit
from pourwright.words.fields import Text


def _stem(key: str) -> str | None:
    """`key` without its unit suffix, the longest that names a unit [-]; None without one."""
    parts = key.split("_")
    for start in range(1, len(parts)):
        if "_".join(parts[start:]) in SUFFIX_UNITS:
            return "_".join(parts[:start])
    return None


class CalcInput(BaseModel):
    """Base of every calculation's input: unknown keys, NaN and infinity are refused."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _read_measured_text(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        out = dict(data)
        for key in list(data):
            if key in cls.model_fields:
                continue
            full = [f for f in cls.model_fields if _stem(f) == key]
            if len(full) == 1 and isinstance(data[key], str) and full[0] not in data:
                out[full[0]] = out.pop(key)
        for key, value in out.items():
            if isinstance(value, str) and key in cls.model_fields and suffix_unit(key):
                out[key] = to_suffix_unit(key, value)
        return out


class CalcValue(BaseModel):
    """Base of every calculation's value: unit-suffixed keys, plain numbers, lists and text."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Spread(BaseModel):
    """5, 50 and 95 % points of an uncertain value [unit of its key]."""

    model_config = ConfigDict(frozen=True)
    p05: float
    p50: float
    p95: float

    @model_validator(mode="after")
    def _ordered(self) -> Spread:
        if not all(math.isnan(v) for v in (self.p05, self.p50, self.p95)) and not (
            self.p05 <= self.p50 <= self.p95
        ):
            raise ValueError(f"spread is out of order: {self.p05}, {self.p50}, {self.p95}")
        return self


V = TypeVar("V", bound=CalcValue)


class CalcResult(BaseModel, Generic[V]):
    """What every calculation returns: value, range, sources, cautions, warnings."""

    model_config = ConfigDict(extra="forbid")
    value: V
    range: dict[str, Spread] = Field(default_factory=dict)
    sources: list[str] = Field(default_factory=list)
    cautions: list[Text] = Field(default_factory=list)
    warnings: list[Text] = Field(default_factory=list)
