"""The calculation `mix.batch`."""

from __future__ import annotations

from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Draws,
    calculation,
    common_practice,
    from_memory,
)
from pourwright.mix.batch import Batch, Crew, Limits
from pourwright.mix.calc_need import COMMON, IDENTITY, RUN_SHORT, SAMPLED, scaled
from pourwright.mix.coat import plan_coat
from pourwright.mix.cups import CUP_CAUTION, Bucket, Cup, Measuring, cup_steps
from pourwright.mix.ratio import Pigment, ResinRatio, resin_ratio
from pourwright.mix.shades import Role, Shade
from pourwright.mix.volume import CoatPiece, Loss, Uncertain


class PieceInput(CalcInput):
    """One surface of the coat."""

    name: str = Field(min_length=1, max_length=40)
    flat_m2: float = Field(gt=0, le=1000, description="face to pour, without round-overs")
    strip_m2: float = Field(default=0.0, ge=0, le=200, description="edge strips laid flat")
    free_run_m: float = Field(default=0.0, ge=0, le=2000)
    count: int = Field(default=1, ge=1, le=200)
    board: bool = Field(default=False, description="a sample board, mixed on its own")


class PasteInput(CalcInput):
    """A pigment paste."""

    name: str = Field(min_length=1, max_length=40)
    load_percent: float = Field(ge=0, le=50, description="by mass of mixed resin")
    limit_percent: float | None = Field(default=None, gt=0, le=50)
    density_kg_m3: float = Field(default=1300.0, ge=600, le=5000)


class ShadeInput(CalcInput):
    """A shade and its share."""

    name: str = Field(min_length=1, max_length=40)
    share_percent: float = Field(gt=0, le=100)
    role: Role = "field"
    pastes: list[PasteInput] = Field(default_factory=list, max_length=12)

    def build(self) -> Shade:
        """The shade [-]."""
        pastes = tuple(
            Pigment(
                p.name,
                p.load_percent / 100,
                None if p.limit_percent is None else p.limit_percent / 100,
                p.density_kg_m3,
            )
            for p in self.pastes
        )
        return Shade(self.name, self.share_percent / 100, self.role, pastes)


class RatioInput(CalcInput):
    """Mix ratio, parts of A first."""

    by_volume: tuple[float, float] | None = Field(default=None, description="parts A, B")
    by_mass: tuple[float, float] | None = Field(default=None, description="parts A, B")
    density_a_kg_m3: float = Field(default=1130.0, ge=600, le=2500)
    density_b_kg_m3: float = Field(default=970.0, ge=600, le=2500)

    def build(self) -> ResinRatio:
        """The ratio [-, kg/m3]."""
        return resin_ratio(self.density_a_kg_m3, self.density_b_kg_m3, self.by_volume, self.by_mass)


class BatchInput(CalcInput):
    """A coat, its shades and resin, and what limits a batch."""

    coat: str = Field(default="colour", min_length=1, max_length=40)
    surfaces: list[PieceInput] = Field(min_length=1, max_length=200)
    shades: list[ShadeInput] = Field(min_length=1, max_length=24)
    ratio: RatioInput
    film_mm: float = Field(gt=0, le=60)
    film_spread_percent: float = Field(default=10.0, ge=0, le=80)
    edge_film_mm: float | None = Field(default=None, ge=0, le=10)
    run_off_mL_m: float = Field(default=0.0, ge=0, le=5000)
    run_off_spread_percent: float = Field(default=40.0, ge=0, le=80)
    loss_percent: float = Field(default=5.0, ge=0, lt=40)
    loss_per_cup_mL: float = Field(default=5.0, ge=0, le=500)
    loss_per_coat_mL: float = Field(default=10.0, ge=0, le=5000)
    risk_percent: float = Field(default=5.0, ge=0.1, le=50)
    pour_within_min: float = Field(gt=0, le=1440, description="from B into A to an empty cup")
    largest_cup_g: float = Field(gt=0, le=50_000, description="largest safe mass in one cup")
    vessel_mL: float = Field(default=2000.0, gt=0, le=50_000, description="usable filling")
    least_cup_mL: float = Field(default=30.0, ge=0, le=2000)
    people: int = Field(default=1, ge=1, le=20)
    mix_time_min: float = Field(default=4.0, gt=0, le=60, description="per cup, with scraping")
    pour_rate_mL_min: float = Field(default=1000.0, gt=0, le=100_000)
    spread_rate_m2_min: float = Field(default=0.4, gt=0, le=100)
    clear_first: bool = Field(
        default=False, description="mix A and B clear in buckets, share out, then tint"
    )
    tint_time_min: float = Field(default=1.0, gt=0, le=30, description="per cup, clear first")
    vein_wait_min: float = Field(default=15.0, ge=0, le=600)
    scale_step_g: float = Field(default=1.0, gt=0, le=100)
    mark_mL: float = Field(default=10.0, gt=0, le=500)
    measure_by: str = Field(default="mass", pattern="^(mass|volume)$")
    seed: int = 1
    samples: int = Field(default=4000, ge=100, le=100_000)


class CupValue(CalcValue):
    """One cup."""

    cup: str
    batch: str
    shade: str
    volume_mL: float
    mass_g: float
    a_mL: float
    b_mL: float
    a_g: float
    b_g: float
    pigment_g: dict[str, float]
    spoken_a: float | None
    spoken_b: float | None
    spoken_unit: str
    off_ratio_percent: float | None
    ratio_low_percent: float | None
    ratio_high_percent: float | None
    mix_at_min: float
    pour_by_min: float
    steps: list[str]


class BucketValue(CalcValue):
    """One bucket of clear mix."""

    bucket: str
    a_mL: float
    b_mL: float
    a_g: float
    b_g: float
    spoken_a: float | None
    spoken_b: float | None
    spoken_unit: str


class BatchValue(CalcValue):
    """One batch."""

    batch: str
    kind: str
    stretches: list[str]
    volume_mL: float
    start_min: float
    pour_start_min: float
    pour_end_min: float
    spread_end_min: float
    margin_min: float
    buckets: list[BucketValue]


class BatchesValue(CalcValue):
    """All batches and cups of a coat."""

    mixed_mL: float
    nominal_mL: float
    over_mix_percent: float
    spare_mL: float
    a_mL: float
    b_mL: float
    a_g: float
    b_g: float
    pigment_g: float
    shades_mL: dict[str, float]
    feasible: bool
    batches: list[BatchValue]
    cups: list[CupValue]


@calculation(
    "mix.batch",
    title="Batches and cups of a coat",
    question="What do I mix, in which cups, in which order, and by when is each poured?",
    sources=[
        IDENTITY,
        COMMON,
        SAMPLED,
        common_practice(
            "mix 2 min, scrape, stir again two or three times; fine veins after 15 min"
        ),
        from_memory("pouring and spreading rates in order of magnitude; time your own"),
    ],
    validity="Pot life and largest safe cup as given (see cure.cup); volumes add on mixing.",
    example={
        "surfaces": [
            {"name": "leg-a", "flat_m2": 1.05, "strip_m2": 0.15, "free_run_m": 2.1},
            {"name": "board", "flat_m2": 0.075, "board": True},
        ],
        "shades": [
            {
                "name": "sea",
                "share_percent": 60,
                "pastes": [{"name": "sea paste", "load_percent": 3, "limit_percent": 6}],
            },
            {"name": "slate", "share_percent": 32},
            {"name": "copper", "share_percent": 8, "role": "vein"},
        ],
        "ratio": {"by_volume": [2, 1]},
        "film_mm": 0.955,
        "edge_film_mm": 0.3,
        "run_off_mL_m": 60,
        "pour_within_min": 25,
        "largest_cup_g": 600,
    },
    cautions=[CUP_CAUTION, RUN_SHORT],
)
def mix_batch(inp: BatchInput) -> CalcResult[BatchesValue]:
    """Batches of the coat in `inp` [units by key suffix]."""
    film = Uncertain.of(inp.film_mm * 1e-3, inp.film_spread_percent / 100)
    edge = film if inp.edge_film_mm is None else Uncertain.of(inp.edge_film_mm * 1e-3, 0.3)
    run_off = Uncertain.of(inp.run_off_mL_m * 1e-6, inp.run_off_spread_percent / 100)
    pieces = [
        CoatPiece(
            p.name, p.flat_m2, p.strip_m2, p.free_run_m, film, edge, run_off, p.count, p.board
        )
        for p in inp.surfaces
    ]
    share = inp.loss_percent / 100
    ratio = inp.ratio.build()
    plan = plan_coat(
        inp.coat,
        pieces,
        [s.build() for s in inp.shades],
        ratio,
        Limits(
            inp.pour_within_min * 60,
            inp.largest_cup_g * 1e-3,
            inp.vessel_mL * 1e-6,
            inp.least_cup_mL * 1e-6,
        ),
        Crew(
            inp.people,
            inp.mix_time_min * 60,
            inp.pour_rate_mL_min * 1e-6 / 60,
            inp.spread_rate_m2_min / 60,
            inp.clear_first,
            inp.tint_time_min * 60,
        ),
        Loss(
            Uncertain(share, 0.4 * share, 2 * share),
            Uncertain.of(inp.loss_per_cup_mL * 1e-6, 0.5),
            Uncertain.of(inp.loss_per_coat_mL * 1e-6, 0.5),
        ),
        Measuring(inp.measure_by, inp.scale_step_g * 1e-3, inp.mark_mL * 1e-6),
        inp.risk_percent / 100,
        Draws(inp.seed, inp.samples),
        inp.vein_wait_min * 60,
    )
    b = plan.batches
    t = b.totals()
    value = BatchesValue(
        mixed_mL=b.volume * 1e6,
        nominal_mL=plan.volume.mixed * 1e6,
        over_mix_percent=(plan.factor - 1) * 100,
        spare_mL=b.spare * 1e6,
        a_mL=t["a_volume"] * 1e6,
        b_mL=t["b_volume"] * 1e6,
        a_g=t["a_mass"] * 1e3,
        b_g=t["b_mass"] * 1e3,
        pigment_g=t["pigment_mass"] * 1e3,
        shades_mL={k: v * 1e6 for k, v in b.shades().items()},
        feasible=b.feasible,
        batches=[_batch(x) for x in b.batches],
        cups=[_cup(c) for c in b.cups],
    )
    return CalcResult(
        value=value,
        range={"nominal_mL": scaled(plan.volume.range, 1e6)},
        warnings=[*ratio.warnings, *plan.over.warnings, *b.warnings],
    )


def _batch(b: Batch) -> BatchValue:
    return BatchValue(
        batch=b.name,
        kind=b.kind,
        stretches=[s.words for s in b.stretches],
        volume_mL=b.volume * 1e6,
        start_min=b.start / 60,
        pour_start_min=b.pour_start / 60,
        pour_end_min=b.pour_end / 60,
        spread_end_min=b.spread_end / 60,
        margin_min=b.margin / 60,
        buckets=[_bucket(x) for x in b.buckets],
    )


def _bucket(b: Bucket) -> BucketValue:
    scale = 1e3 if b.spoken is None or b.spoken.by == "mass" else 1e6
    return BucketValue(
        bucket=b.id,
        a_mL=b.portion.a_volume * 1e6,
        b_mL=b.portion.b_volume * 1e6,
        a_g=b.portion.a_mass * 1e3,
        b_g=b.portion.b_mass * 1e3,
        spoken_a=None if b.spoken is None else b.spoken.a * scale,
        spoken_b=None if b.spoken is None else b.spoken.b * scale,
        spoken_unit="g" if scale == 1e3 else "mL",
    )


def _cup(c: Cup) -> CupValue:
    p, s, e = c.portion, c.spoken, c.ratio_error
    scale = 1e3 if s is None or s.by == "mass" else 1e6
    return CupValue(
        cup=c.id,
        batch=c.batch,
        shade=c.shade,
        volume_mL=p.volume * 1e6,
        mass_g=p.mass * 1e3,
        a_mL=p.a_volume * 1e6,
        b_mL=p.b_volume * 1e6,
        a_g=p.a_mass * 1e3,
        b_g=p.b_mass * 1e3,
        pigment_g={k: v * 1e3 for k, v in c.pastes.items()},
        spoken_a=None if s is None else s.a * scale,
        spoken_b=None if s is None else s.b * scale,
        spoken_unit="g" if s is None or s.by == "mass" else "mL",
        off_ratio_percent=None if s is None else s.off_ratio * 100,
        ratio_low_percent=None if e is None else e.low * 100,
        ratio_high_percent=None if e is None else e.high * 100,
        mix_at_min=c.mix_at / 60,
        pour_by_min=c.pour_by / 60,
        steps=cup_steps(c),
    )
