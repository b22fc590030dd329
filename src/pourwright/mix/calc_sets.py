"""The calculation `mix.sets`."""

from __future__ import annotations

from pydantic import Field

from pourwright.calc import CalcInput, CalcResult, CalcValue, calculation, computed
from pourwright.mix.sets import SetSize, choose_sets


class SetInput(CalcInput):
    """A purchasable pack."""

    name: str = Field(min_length=1, max_length=40)
    a_mL: float = Field(ge=0, le=2_000_000)
    b_mL: float = Field(ge=0, le=2_000_000)
    price: float | None = Field(default=None, ge=0, description="in one currency for all")
    least_order: int = Field(default=1, ge=1, le=100_000)
    most: int | None = Field(default=None, ge=0, le=100_000)


class SetsInput(CalcInput):
    """What is needed, what is on the shelf, and what can be bought."""

    need_a_mL: float = Field(ge=0, le=20_000_000)
    need_b_mL: float = Field(ge=0, le=20_000_000)
    stock_a_mL: float = Field(default=0.0, ge=0, le=20_000_000)
    stock_b_mL: float = Field(default=0.0, ge=0, le=20_000_000)
    sets: list[SetInput] = Field(min_length=1, max_length=40)


class SetsValue(CalcValue):
    """What to buy and what is left."""

    buy: dict[str, int]
    cost: float | None
    bought_a_mL: float
    bought_b_mL: float
    from_stock_a_mL: float
    from_stock_b_mL: float
    left_a_mL: float
    left_b_mL: float


@calculation(
    "mix.sets",
    title="Sets to buy",
    question="Which packs cover A and B for the least money, and what is left over?",
    sources=[computed("exact integer optimum by branch and bound (scipy.optimize.milp, HiGHS)")],
    validity="Up to 40 set sizes and 100 000 packs; prices as given, without freight or discount.",
    example={
        "need_a_mL": 2900,
        "need_b_mL": 1450,
        "stock_b_mL": 200,
        "sets": [
            {"name": "1.5 L", "a_mL": 1000, "b_mL": 500, "price": 48},
            {"name": "4.5 L", "a_mL": 3000, "b_mL": 1500, "price": 119},
        ],
    },
    cautions=[
        "Check the date on the pack; old or crystallised resin and clouded hardener cure badly. "
        "Left-over A and B are stored apart, closed and cool, as the data sheet says."
    ],
)
def mix_sets(inp: SetsInput) -> CalcResult[SetsValue]:
    """Sets to buy for the need in `inp` [units by key suffix]."""
    found = choose_sets(
        inp.need_a_mL * 1e-6,
        inp.need_b_mL * 1e-6,
        [
            SetSize(s.name, s.a_mL * 1e-6, s.b_mL * 1e-6, s.price, s.least_order, s.most)
            for s in inp.sets
        ],
        inp.stock_a_mL * 1e-6,
        inp.stock_b_mL * 1e-6,
    )
    value = SetsValue(
        buy=found.counts,
        cost=found.cost,
        bought_a_mL=found.bought_a * 1e6,
        bought_b_mL=found.bought_b * 1e6,
        from_stock_a_mL=found.from_stock_a * 1e6,
        from_stock_b_mL=found.from_stock_b * 1e6,
        left_a_mL=found.left_a * 1e6,
        left_b_mL=found.left_b * 1e6,
    )
    return CalcResult(value=value)
