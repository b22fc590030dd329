"""The calculations `mix.volume` and `mix.short`."""

from __future__ import annotations

from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Draws,
    Spread,
    calculation,
    common_practice,
    computed,
    spread_of,
)
from pourwright.errors import InputError
from pourwright.mix.cups import CUP_CAUTION
from pourwright.mix.short import over_mix, short_chance
from pourwright.mix.volume import CoatPiece, Loss, Uncertain, coat_volume, sample_need
from pourwright.words import say

IDENTITY = computed("volume = area x wet film; 1 L/m2 is 1 mm")
COMMON = common_practice("about 3 US fl oz/ft2 for a colour coat; 5 % loss (2 to 10 %)")
SAMPLED = computed("stratified samples of film, run-off and loss with common random numbers")
RUN_SHORT = (
    "A fresh cup mixed in haste in mid-pour is how ratios go wrong: keep unmixed A and B for one "
    "more cup at hand. The product's data sheet decides on film and ratio."
)


def scaled(spread: Spread, by: float) -> Spread:
    """`spread` times `by` [unit of the product]."""
    return Spread(p05=spread.p05 * by, p50=spread.p50 * by, p95=spread.p95 * by)


class NeedInput(CalcInput):
    """Areas, films and losses of one coat."""

    flat_m2: float = Field(description="face to pour, without round-overs", gt=0, le=1000)
    strip_m2: float = Field(default=0.0, ge=0, le=200, description="edge strips laid flat")
    free_run_m: float = Field(default=0.0, ge=0, le=2000, description="length of free edges")
    film_mm: float | None = Field(default=None, gt=0, le=60, description="wet film on the face")
    coverage_mL_m2: float | None = Field(
        default=None, gt=0, le=60000, description="or coverage, e.g. '3 fl oz/ft2'"
    )
    film_spread_percent: float = Field(
        default=10.0, ge=0, le=80, description="5 and 95 % points of the film, to either side"
    )
    edge_film_mm: float | None = Field(
        default=None, ge=0, le=10, description="mean film on the strip; the face's when left out"
    )
    edge_film_spread_percent: float = Field(default=30.0, ge=0, le=80)
    run_off_mL_m: float = Field(default=0.0, ge=0, le=5000, description="dripping off free edges")
    run_off_spread_percent: float = Field(default=40.0, ge=0, le=80)
    loss_percent: float = Field(default=5.0, ge=0, lt=60, description="of all that is mixed")
    loss_low_percent: float | None = Field(default=None, ge=0, lt=60)
    loss_high_percent: float | None = Field(default=None, ge=0, lt=90)
    loss_per_cup_mL: float = Field(default=0.0, ge=0, le=500)
    loss_per_coat_mL: float = Field(default=10.0, ge=0, le=5000)
    cups: int = Field(default=1, ge=1, le=2000, description="cups that lose loss_per_cup")
    seed: int = Field(default=1, description="seed of the samples")
    samples: int = Field(default=4000, ge=100, le=200_000)

    def piece(self) -> CoatPiece:
        """The surface under the coat [m2, m]."""
        if (self.film_mm is None) == (self.coverage_mL_m2 is None):
            raise InputError(
                "film_mm",
                self.film_mm,
                "give the wet film or the coverage, one of the two",
                "Write film_mm = 0.95, or coverage = '3 fl oz/ft2'.",
            )
        film = self.film_mm * 1e-3 if self.film_mm is not None else self.coverage_mL_m2 * 1e-6  # type: ignore[operator]
        edge = film if self.edge_film_mm is None else self.edge_film_mm * 1e-3
        return CoatPiece(
            "surface",
            self.flat_m2,
            self.strip_m2,
            self.free_run_m,
            Uncertain.of(film, self.film_spread_percent / 100),
            Uncertain.of(edge, self.edge_film_spread_percent / 100),
            Uncertain.of(self.run_off_mL_m * 1e-6, self.run_off_spread_percent / 100),
        )

    def loss(self) -> Loss:
        """The losses [-, m3]."""
        p = self.loss_percent / 100
        low = 0.4 * p if self.loss_low_percent is None else self.loss_low_percent / 100
        high = min(2 * p, 0.9) if self.loss_high_percent is None else self.loss_high_percent / 100
        if not low <= p <= high:
            raise InputError(
                "loss_percent",
                self.loss_percent,
                say(
                    "it lies between {low:g} % and {high:g} %, its low and high value",
                    low=low * 100,
                    high=high * 100,
                ),
                "Correct the three values.",
            )
        return Loss(
            Uncertain(p, low, high),
            Uncertain.of(self.loss_per_cup_mL * 1e-6, 0.5),
            Uncertain.of(self.loss_per_coat_mL * 1e-6, 0.5),
        )


class VolumeValue(CalcValue):
    """Volumes of a coat; mixed = face + edge + run_off + loss."""

    face_mL: float
    edge_mL: float
    run_off_mL: float
    loss_mL: float
    mixed_mL: float
    film_mm: float
    coverage_mL_m2: float


@calculation(
    "mix.volume",
    title="Volume of a coat",
    question="How much do I mix for this coat?",
    sources=[IDENTITY, COMMON, SAMPLED],
    validity="Films up to 60 mm; losses up to 60 %.",
    example={"flat_m2": 0.678, "coverage": "3 fl oz/ft2", "loss_percent": 0},
    cautions=[CUP_CAUTION],
)
def mix_volume(inp: NeedInput) -> CalcResult[VolumeValue]:
    """Volumes of the coat in `inp` [units by key suffix]."""
    piece, loss = inp.piece(), inp.loss()
    v = coat_volume("coat", [piece], loss, inp.cups, Draws(inp.seed, inp.samples))
    value = VolumeValue(
        face_mL=v.face * 1e6,
        edge_mL=v.edge * 1e6,
        run_off_mL=v.run_off * 1e6,
        loss_mL=(v.loss_fixed + v.loss_share) * 1e6,
        mixed_mL=v.mixed * 1e6,
        film_mm=piece.film.value * 1e3,
        coverage_mL_m2=piece.film.value * 1e6,
    )
    return CalcResult(value=value, range={"mixed_mL": scaled(v.range, 1e6)})


class ShortInput(NeedInput):
    """As `mix.volume`, with the accepted risk and, if known, what is mixed."""

    risk_percent: float = Field(default=5.0, ge=0.1, le=50, description="of running short")
    mixed_mL: float | None = Field(default=None, gt=0, description="what is mixed, if decided")


class ShortValue(CalcValue):
    """Over-mix that keeps the risk, and chances of running short."""

    over_mix_percent: float
    over_mix_low_percent: float
    over_mix_high_percent: float
    mix_mL: float
    nominal_mL: float
    short_nominal_percent: float
    short_percent: float
    short_error_percent: float


@calculation(
    "mix.short",
    title="Risk of running short",
    question="How much more do I mix so that I do not run short?",
    sources=[
        SAMPLED,
        computed("quantile of the sampled need; order-statistic interval for its sampling error"),
        COMMON,
    ],
    validity="Risks from 0.1 to 50 %; ranges as stated, one hand and one day per coat.",
    example={
        "flat_m2": 2.3,
        "film_mm": 0.95,
        "run_off_mL_m": 60,
        "free_run_m": 4,
        "mixed_mL": 2900,
    },
    cautions=[RUN_SHORT],
)
def mix_short(inp: ShortInput) -> CalcResult[ShortValue]:
    """Risk and over-mix of the coat in `inp` [units by key suffix]."""
    piece, loss = inp.piece(), inp.loss()
    draws = Draws(inp.seed, inp.samples)
    nominal = coat_volume("coat", [piece], loss, inp.cups, draws).mixed
    need = sample_need("coat", [piece], loss, inp.cups, draws)
    over = over_mix(nominal, need, inp.risk_percent / 100)
    mixed = nominal * over.factor if inp.mixed_mL is None else inp.mixed_mL * 1e-6
    chance = short_chance(mixed, need)
    value = ShortValue(
        over_mix_percent=(over.factor - 1) * 100,
        over_mix_low_percent=(over.low - 1) * 100,
        over_mix_high_percent=(over.high - 1) * 100,
        mix_mL=mixed * 1e6,
        nominal_mL=nominal * 1e6,
        short_nominal_percent=over.nominal_chance * 100,
        short_percent=chance.chance * 100,
        short_error_percent=chance.error * 100,
    )
    return CalcResult(
        value=value,
        range={"nominal_mL": scaled(spread_of(need), 1e6)},
        warnings=list(over.warnings),
    )
