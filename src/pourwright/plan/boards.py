"""The board under the pour as the job file says it: core, joints by hand, off-cuts, coupon."""

from __future__ import annotations

from typing import Any, Literal, get_args

from pydantic import Field, field_validator

from pourwright.errors import InputError
from pourwright.quantities.fields import Duration, Length, QuantityModel, Share, Temperature


class Coupon(QuantityModel):
    """A strip of board coated on one face as the job will be, and the gap measured under it."""

    length: Length = Field(gt=0.05, le=5, description="of the straight edge laid across it")
    bow: Length = Field(gt=0, le=0.5, description="gap at the middle, coated face hollow")
    film: Length = Field(gt=0, le=0.05, description="cured film on it, all coats")
    board: Length = Field(gt=0, le=0.1, description="thickness of the strip's board")
    material: str | None = Field(None, description="its board, if not the job's core")
    reading: Length = Field(0.3e-3, ge=0, le=0.05, description="how well the gap was read")
    film_within: Share = Field(0.1, le=0.6, description="how far off the film may be")
    poured_at: Temperature | None = Field(None, description="air while it became solid")
    measured_at: Temperature | None = Field(None, description="air when the gap was measured")
    after: Duration = Field(14 * 86400.0, ge=0, description="from pour to measurement")


BackKind = Literal["bare", "sealed", "balanced"]
"""What the backs carry: nothing, a brushed coat of resin, the films of the face poured clear [-]."""


class OffCut(QuantityModel):
    """A piece of the same board that the shop already has, used before new sheets."""

    name: str = Field("", max_length=60)
    length: Length = Field(gt=0.02, le=20)
    width: Length = Field(gt=0.02, le=20)
    count: int = Field(1, ge=1, le=200)


class Core(QuantityModel):
    """The board under the pour."""

    material: str = "mdf-moisture"
    ready: bool = Field(
        False, description="it is made already (a repair, or bought in): nothing is cut or glued"
    )
    thickness: Length = Field(0.018, gt=0.002, le=0.2)
    support_span: Length = Field(0.6, gt=0.05, le=5, description="free span between bearers")
    overhang: Length = Field(0.0, ge=0, le=2, description="furthest beyond the last bearer")
    skin: Length | None = Field(None, ge=0, le=0.01, description="glass skin on each face")
    back: BackKind = "sealed"
    edge: Literal["strips", "front", "mitre"] = "strips"
    saw: Literal["two-stage", "three-stage", "guillotine", "router"] = "three-stage"
    kerf: Length = Field(3.2e-3, gt=0, le=0.03, description="saw cut, or the router bit")
    joints: dict[str, list[Length]] = Field(
        default_factory=dict, description="joints placed by hand, by surface"
    )
    joint_clear: Length = Field(0.1, ge=0, le=1, description="least from a joint to a cut-out")
    off_cuts: list[OffCut] = Field(
        default_factory=list, max_length=100, description="pieces of this board in the shop"
    )
    coupon: Coupon | None = Field(None, description="a coated strip that was measured")

    @field_validator("back", mode="before")
    @classmethod
    def _same_film(cls, value: Any) -> Any:
        """A back balances the face with the face's own films; no other film is planned there."""
        if isinstance(value, str) and value in get_args(BackKind):
            return value
        raise InputError(
            "", value, "bare, sealed or balanced: no film of its own is planned for a back",
            "Say 'balanced' for the films of the face, poured clear; a cheaper or thinner film there "
            "leaves the piece bowed. Say 'sealed' for one brushed coat against moisture.",
        )  # fmt: skip
