"""What a plan says, as plain models: unit-suffixed keys, ranges beside uncertain numbers."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from pourwright.calc import Spread
from pourwright.calc.check import Check


class Part(BaseModel):
    """Base of every part of a plan."""

    model_config = ConfigDict(extra="forbid")


class SurfacePlan(Part):
    """Areas and edge runs of one surface (one piece)."""

    name: str
    purpose: str
    lie: str
    count: int
    face_m2: float
    strip_m2: float
    poured_m2: float
    masked_m2: float
    cut_out_m2: float
    runs_m: dict[str, float]
    free_run_m: float
    length_mm: float
    width_mm: float


class CupPlan(Part):
    """One cup as it is measured and mixed."""

    id: str
    batch: str
    shade: str
    role: str
    a_mL: float
    b_mL: float
    a_g: float
    b_g: float
    read_a: float = Field(description="A as read on the scale or cup [g or mL, see read_by]")
    read_b: float = Field(description="B as read on the scale or cup [g or mL, see read_by]")
    read_by: str
    pastes_g: dict[str, float] = Field(description="what is put on the fine scale [g]")
    less_a_g: float = Field(
        0.0, description="part A that pre-dilutions bring; taken off read_a [g]"
    )
    advice: list[str] = Field(default_factory=list)
    total_g: float
    mix_at_min: float
    pour_by_min: float
    off_ratio_percent: Spread | None
    steps: list[str]


class BatchPlan(Part):
    """One batch: what is mixed at once."""

    name: str
    kind: str
    cups: list[str]
    volume_mL: float
    area_m2: float
    where: list[str]
    start_min: float
    pour_start_min: float
    pour_end_min: float
    spread_end_min: float
    margin_min: float


class WindowPlan(Part):
    """One window of a coat after its pour; hours since spreading ended."""

    key: str
    label: str
    opens_h: Spread | None
    closes_h: Spread | None
    criterion: str


class CoatPlan(Part):
    """One poured coat: volumes, batches, cups, windows."""

    id: str
    title: str
    resin: str
    resin_name: str
    ratio: str
    film_mm: Spread
    edge_film_mm: Spread | None
    run_off_mL_m: Spread | None
    face_mL: float
    edge_mL: float
    run_off_mL: float
    loss_mL: float
    boards_mL: float
    need_mL: Spread
    over_mix: float
    short_risk: float
    mix_total_mL: float
    a_total_mL: float
    b_total_mL: float
    a_total_g: float
    b_total_g: float
    pour_within_min: Spread
    pour_within_why: str
    safe_cup_g: Spread
    batches: list[BatchPlan]
    cups: list[CupPlan]
    feasible: bool
    windows: list[WindowPlan]
    vein_wait_min: Spread | None
    vein_wait_why: str
    vein_wait_by_flow_left_min: Spread | None
    gel_min: Spread | None
    film_peak_degC: Spread
    tg_week_degC: Spread | None
    cautions: list[str]


class CupDose(Part):
    """Pastes of one cup as they are weighed."""

    cup: str
    coat: str
    weigh_g: dict[str, float]
    drops: dict[str, int]
    advice: list[str]
    resin_brought_g: float
    rounding_de00: float
    error_de00: Spread


class ShadePlan(Part):
    """One shade: what it looks like, whether it hides, what goes into each cup."""

    id: str
    name: str
    share_percent: float
    swatches: dict[str, str] = Field(description="undercoat to sRGB as #rrggbb")
    lab: list[float]
    contrast_percent: float
    load_percent: float
    load_note: str
    confidence: str
    confidence_note: str
    advice: str
    doses: list[CupDose]
    cautions: list[str]


class PurchasePlan(Part):
    """Sets of one resin to buy."""

    resin: str
    sets: dict[str, int]
    set_names: dict[str, str]
    need_a_mL: float
    need_b_mL: float
    left_a_mL: float
    left_b_mL: float
    cost: float | None
    currency: str


class PaintPlan(Part):
    """Primer or topcoat needed."""

    material: str
    name: str
    coats: int
    need_mL: Spread
    dry_h: Spread


class StepPlan(Part):
    """One step on the clock."""

    id: str
    title: str
    kind: str
    starts: str = Field(description="local clock time, ISO 8601")
    ends: str = Field(description="local clock time, ISO 8601")
    work_min: Spread
    say: str
    waited_for: str
    holds: list[str]
    cautions: list[str]
    done: bool


class DayPlan(Part):
    """One day: its date, its air, its steps."""

    date: str
    air_low_degC: float
    air_high_degC: float
    humidity_percent: float
    steps: list[StepPlan]


class HoldPlan(Part):
    """A hold point and the step that waits for it."""

    key: str
    step: str
    check: Check


class Care(Part):
    """One of the things that need most care."""

    title: str
    text: str
    weight: float


class PartPlan(Part):
    """One kind of core part."""

    name: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    quantity: int
    role: str
    note: str
    mass_kg: float | None


class CutPlanSummary(Part):
    """The core's parts on sheets."""

    parts: int
    sheets: dict[str, int]
    sheet_names: dict[str, str]
    used_percent: float
    bound_sheets: int
    gap_percent: float
    proven: bool
    cost: float | None
    currency: str
    cut_m: float
    mass_kg: float
    pieces: list[PartPlan]
    joints: list[str]
    off_cuts: list[str]
    notes: list[str]


class WeightPlan(Part):
    """What the finished pieces weigh."""

    pieces_kg: dict[str, Spread]
    total_kg: Spread
    compared: dict[str, float] = Field(default_factory=dict)


class Provenance(Part):
    """What the plan was made from, so that it can be made again."""

    pourwright: str
    made_of: dict[str, str] = Field(description="versions of the libraries used")
    job_sha256: str
    job_revision: int
    seed: int
    samples: int
    materials: dict[str, list[str]] = Field(description="material id to its sources")
    sources: list[str]


class Plan(Part):
    """The whole plan of a job."""

    schema_: int = Field(1, alias="schema")
    name: str
    job: dict[str, Any]
    surfaces: list[SurfacePlan]
    totals: dict[str, float]
    coats: list[CoatPlan]
    shades: list[ShadePlan]
    purchases: list[PurchasePlan]
    paints: list[PaintPlan]
    days: list[DayPlan]
    holds: list[HoldPlan]
    checks: list[Check]
    weight: WeightPlan | None
    cut: CutPlanSummary | None
    cares: list[Care]
    finish: str = Field(description="when everything is done, local clock time, ISO 8601")
    serve: str | None = Field(description="full service from, local clock time, ISO 8601")
    warnings: list[str]
    cautions: list[str]
    provenance: Provenance

    model_config = ConfigDict(extra="forbid", populate_by_name=True)

    def holds_not_met(self) -> list[HoldPlan]:
        """Hold points whose check plainly fails [-]."""
        return [h for h in self.holds if h.check.passed == "no"]
