"""Mix (trades): volumes, shades, A and B, batches and cups, sets to buy, risk of running short.

Map
---
- `volume`    wet film and coverage; volume of a coat with its range; loss; samples of the need.
- `ratio`     A and B by volume and by mass, pigment inside its limit, measuring error.
- `shades`    shares, roles (field, vein, accent) and least cups.
- `measuring` amounts in whole divisions of a scale or marks of a cup, with the error shown.
- `cups`      cups and the order of their steps.
- `stretches` cutting a pour into even batches along the surfaces.
- `batch`     `Limits`, `Crew`, `Batch`, `BatchPlan`.
- `batches`   `plan_batches`: cups and clock; `checks`: what stands against a plan.
- `coat`      `plan_coat`: volume, over-mix and batches that agree.
- `sets`      the cheapest sets to buy (integer programming).
- `short`     chance of running short and the over-mix that keeps it small.
- `spec`      what a job file says about quantities.
- `calcs`     the calculations `mix.volume`, `mix.batch`, `mix.sets`, `mix.short`.

scipy loads only where it is used.
"""

from pourwright.mix.batch import Batch, BatchPlan, Crew, Limits
from pourwright.mix.batches import plan_batches
from pourwright.mix.coat import CoatPlan, coat_piece, plan_coat
from pourwright.mix.cups import CUP_CAUTION, Bucket, Cup, Measuring, cup_steps, make_cup
from pourwright.mix.measuring import Spoken, round_amounts, round_paste, spoken_portion
from pourwright.mix.ratio import (
    Pigment,
    Portion,
    RatioError,
    ResinRatio,
    portion,
    ratio_error,
    resin_ratio,
)
from pourwright.mix.sets import Purchase, SetSize, choose_sets
from pourwright.mix.shades import Shade, check_shades, shade_volumes
from pourwright.mix.short import OverMix, ShortChance, over_mix, short_chance
from pourwright.mix.stretches import Stretch, even_groups, split_pour
from pourwright.mix.volume import (
    CoatPiece,
    CoatVolume,
    Loss,
    Uncertain,
    coat_volume,
    coverage_of,
    cup_residue,
    dry_film,
    sample_need,
    wet_film,
)

__all__ = [
    "CUP_CAUTION",
    "Batch",
    "BatchPlan",
    "Bucket",
    "CoatPiece",
    "CoatPlan",
    "CoatVolume",
    "Crew",
    "Cup",
    "Limits",
    "Loss",
    "Measuring",
    "OverMix",
    "Pigment",
    "Portion",
    "Purchase",
    "RatioError",
    "ResinRatio",
    "SetSize",
    "Shade",
    "ShortChance",
    "Spoken",
    "Stretch",
    "Uncertain",
    "check_shades",
    "choose_sets",
    "coat_piece",
    "coat_volume",
    "coverage_of",
    "cup_residue",
    "cup_steps",
    "dry_film",
    "even_groups",
    "make_cup",
    "over_mix",
    "plan_batches",
    "plan_coat",
    "portion",
    "ratio_error",
    "resin_ratio",
    "round_amounts",
    "round_paste",
    "sample_need",
    "shade_volumes",
    "short_chance",
    "split_pour",
    "spoken_portion",
    "wet_film",
]
