"""The shop's terms as the job file states them under ``[price]``."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from pourwright.errors import InputError
from pourwright.quantities.fields import (
    Amount,
    Duration,
    Money,
    PriceRate,
    QuantityModel,
    Share,
)

Words = Annotated[str, Field(min_length=1, max_length=120)]


class Stage(QuantityModel):
    """A payment: when it falls due, in words, and its share of the whole price [-]."""

    name: Words
    share: Share = Field(gt=0)


class Option(QuantityModel):
    """A variant of the job, priced beside it: what changes in the job file.

    `change` has dotted paths of the job file and their new values; ``false`` takes a part out,
    for example ``{"core.material" = "ply-birch", "flood" = false}``.
    """

    name: Annotated[str, Field(min_length=1, max_length=60)]
    says: str = Field("", max_length=300)
    change: dict[str, Any] = Field(min_length=1, max_length=20)


def _usual_stages() -> list[Stage]:
    return [
        Stage(name="deposit with the order", share=0.4),
        Stage(name="when the colour coat is poured", share=0.3),
        Stage(name="at handover", share=0.3),
    ]


class PriceSpec(QuantityModel):
    """What a shop charges and how it rounds. Everything may be left out.

    `hourly` is what an hour of one person costs the shop; `markup` what is put on top of cost and
    risk margin. `cover` is the share of cases in which the price shall cover the cost. Defaults
    are common practice in order of magnitude: put in your own.
    """

    number: str = Field("", max_length=40, description="quote number")
    hourly: Money | None = None
    overhead: Money | None = Field(None, description="fixed cost of taking on any job")
    paid_wait: Duration = Field(
        2700.0, ge=0, le=86400, description="waits up to this long are paid, once"
    )
    least_visit: Duration = Field(
        3600.0, ge=0, le=86400, description="least time charged for a day on which work is done"
    )
    trips: int | None = Field(None, ge=0, le=400, description="none given: one per working day")
    distance_km: Amount | None = Field(None, ge=0, le=5000, description="one way")
    distance_mi: Amount | None = Field(None, ge=0, le=3000, description="one way")
    per_distance: PriceRate | None = None
    travel_time: Duration = Field(0.0, ge=0, le=86400, description="one way, paid to the crew")
    own_prices: dict[str, Money] = Field({}, max_length=500, description="by catalogue id")
    exchange: dict[str, Amount] = Field(
        {}, max_length=50, description="money of the job for one unit of a foreign currency"
    )
    left_over_credit: Share = 0.5
    markup: Share = 0.25
    cover: Share = Field(0.8, ge=0.5, le=0.99)
    lost_day_chance: Share = 0.1
    tax: Share = 0.0
    tax_name: str = Field("tax", min_length=1, max_length=30)
    stages: list[Stage] = Field(default_factory=_usual_stages, min_length=1, max_length=12)
    round_by: Literal["line", "total"] = "total"
    rounding: Literal["half-up", "half-even"] = "half-up"
    round_price_to: Amount | None = Field(None, description="the net price goes up to this step")
    valid_days: int = Field(30, ge=1, le=400)
    not_included: list[Words] = Field([], max_length=20)
    options: list[Option] = Field([], max_length=6)

    @model_validator(mode="after")
    def _adds_up(self) -> PriceSpec:
        total = sum(s.share for s in self.stages)
        if abs(total - 1) > 1e-9:
            raise InputError(
                "stages",
                f"{100 * total:.6g} %",
                "the stages add to 100 %",
                "Adjust their shares.",
            )
        for code, rate in self.exchange.items():
            if not Decimal("1e-6") <= rate <= Decimal("1e6"):
                raise InputError(
                    f"exchange.{code}", f"{rate:f}", "0.000001 to 1000000", "Check the rate."
                )
        if self.round_price_to is not None and self.round_price_to <= 0:
            raise InputError(
                "round_price_to", f"{self.round_price_to:f}", "more than 0", "For example 5.00."
            )
        if self.distance_km is not None and self.distance_mi is not None:
            raise InputError("distance_mi", f"{self.distance_mi:f}", "distance_km is given too",
                             "Keep one of the two.")  # fmt: skip
        names = [o.name for o in self.options]
        if len(set(names)) != len(names):
            raise InputError("options", ", ".join(names), "each name stands once", "Rename one.")
        return self

    @property
    def distance_m(self) -> float:
        """The way to the site, one way [m]."""
        if self.distance_mi is not None:
            return float(self.distance_mi) * 1609.344
        return float(self.distance_km or 0) * 1000.0
