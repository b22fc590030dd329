"""What a plan says, as plain models: unit-suffixed keys, ranges beside uncertain numbers."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from pourwright.calc import Spread
from pourwright.calc.check import Check
from pourwright.words.fields import Text


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
    label: Text = Field(
        "", description="what is written on the cup: coat and id, unlike any other of the job"
    )
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
    advice: list[Text] = Field(default_factory=list)
    total_g: float
    mix_at_min: float
    pour_by_min: float
    off_ratio_percent: Spread | None
    steps: list[Text]


class BatchPlan(Part):
    """One batch: what is mixed at once."""

    name: str
    label: Text = Field("", description="coat and name, unlike any other batch of the job")
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
    label: Text
    opens_h: Spread | None
    closes_h: Spread | None
    criterion: Text


class CoatPlan(Part):
    """One poured coat: volumes, batches, cups, windows."""

    id: str
    side: str = Field("face", description="face, or back for a film poured on the backs first")
    title: Text
    mark: Text = Field("", description="the coat in a word, as it stands on cups and jars")
    resin: str
    resin_name: Text
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
    pour_within_why: Text
    safe_cup_g: Spread
    batches: list[BatchPlan]
    cups: list[CupPlan]
    feasible: bool
    windows: list[WindowPlan]
    vein_wait_min: Spread | None
    vein_wait_why: Text
    vein_wait_by_flow_left_min: Spread | None
    gel_min: Spread | None
    film_peak_degC: Spread
    tg_week_degC: Spread | None
    cautions: list[Text]


class CupDose(Part):
    """Pastes of one cup as they are weighed."""

    cup: str
    coat: str
    weigh_g: dict[str, float]
    drops: dict[str, int]
    advice: list[Text]
    resin_brought_g: float
    rounding_de00: float
    error_de00: Spread


class ShadePlan(Part):
    """One shade: what it looks like, whether it hides, what goes into each cup."""

    id: str
    name: Text
    share_percent: float
    swatches: dict[str, str] = Field(description="undercoat to sRGB as #rrggbb")
    lab: list[float]
    contrast_percent: float
    load_percent: float
    load_note: Text
    confidence: Text
    confidence_note: Text
    advice: Text
    doses: list[CupDose]
    cautions: list[Text]


class PurchasePlan(Part):
    """Sets of one resin to buy."""

    resin: str
    sets: dict[str, int]
    set_names: dict[str, Text]
    need_a_mL: float
    need_b_mL: float
    left_a_mL: float
    left_b_mL: float
    cost: float | None
    currency: str


class PaintPlan(Part):
    """Primer or topcoat needed."""

    material: str
    name: Text
    coats: int
    need_mL: Spread
    dry_h: Spread


class StepPlan(Part):
    """One step on the clock."""

    id: str
    title: Text
    kind: str
    starts: str = Field(description="local clock time, ISO 8601")
    ends: str = Field(description="local clock time, ISO 8601")
    work_min: Spread
    say: Text
    waited_for: Text
    holds: list[Text]
    cautions: list[Text]
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

    title: Text
    text: Text
    weight: float


class PartPlan(Part):
    """One kind of core part."""

    name: Text
    length_mm: float
    width_mm: float
    thickness_mm: float
    quantity: int
    role: Text
    note: Text
    mass_kg: float | None


class CutPlanSummary(Part):
    """The core's parts on sheets."""

    parts: int
    sheets: dict[str, int]
    sheet_names: dict[str, Text]
    own_sheets: dict[str, int] = Field(
        default_factory=dict, description="off-cuts of the shop that are used up"
    )
    used_percent: float
    bound_sheets: int
    gap_percent: float
    proven: bool
    cost: float | None
    currency: str
    cut_m: float
    mass_kg: float
    pieces: list[PartPlan]
    joints: list[Text]
    off_cuts: list[Text]
    notes: list[Text]


class RestPlan(Part):
    """Where the weight comes to rest: one axle, the hitch, or the whole vehicle."""

    name: Text
    before_kg: float
    change_kg: Spread
    after_kg: Spread
    limit_kg: float
    spare_kg: float = Field(description="under the limit in 19 cases of 20; below 0 is over")


class BoardPlan(Part):
    """The same pieces on another board, with middle values."""

    material: str
    name: Text
    thickness_mm: float
    mass_kg: float
    change_kg: float = Field(description="against this job's own board")
    sag_mm: float = Field(description="of the widest span under the point load")
    sag_limit_mm: float
    bow_mm: float = Field(description="worst of after cure and in the cold store")
    bow_limit_mm: float


class WeightPlan(Part):
    """What the finished pieces weigh."""

    pieces_kg: dict[Text, Spread]
    total_kg: Spread
    compared: dict[Text, float] = Field(default_factory=dict)
    out_kg: float = Field(0.0, description="what comes out for them")
    change_kg: Spread | None = Field(None, description="in all, what comes out taken off")
    rests: list[RestPlan] = Field(default_factory=list)
    left_kg: float | None = Field(None, description="more on the left wheels, vehicle or trailer")
    boards: list[BoardPlan] = Field(default_factory=list)


class CouponPlan(Part):
    """What a measured strip changed."""

    class_percent: Spread = Field(description="shrinkage that bows, by the class of the resin")
    own_percent: Spread = Field(description="the same from the strip")
    sd_percent: float
    piece: Text
    bow_before_mm: Spread
    bow_after_mm: Spread
    limit_mm: float
    notes: list[Text]


class Advice(Part):
    """One answer of the summary in plain words: how it stands and what to change."""

    key: str
    asks: Text
    answer: Text
    passed: str
    do: list[Text]
    caution: Text


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
    coupon: CouponPlan | None = None
    cut: CutPlanSummary | None
    advice: list[Advice] = Field(default_factory=list)
    cares: list[Care]
    finish: str = Field(description="when everything is done, local clock time, ISO 8601")
    serve: str | None = Field(description="full service from, local clock time, ISO 8601")
    warnings: list[Text]
    cautions: list[Text]
    provenance: Provenance

    model_config = ConfigDict(extra="forbid", populate_by_name=True)

    @property
    def faces(self) -> list[CoatPlan]:
        """Coats on the faces [-], bottom up; `coats` begins with those on the backs."""
        return [c for c in self.coats if c.side == "face"]

    def holds_not_met(self) -> list[HoldPlan]:
        """Hold points whose check plainly fails [-]."""
        return [h for h in self.holds if h.check.passed == "no"]
