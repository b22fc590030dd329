"""The surfaces of a job file: what a person writes, as pydantic models.

Lengths are text with a unit (``"610 mm"``, ``"24 1/8 in"``) or numbers under a suffixed key.
"""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import Field, field_validator, model_validator

from pourwright.errors import InputError
from pourwright.quantities.fields import Angle, Length, QuantityModel
from pourwright.survey.edges import EdgeKind

Name = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\W_][\w -]*$")]


class CornerSpec(QuantityModel):
    """A corner: ``["2100 mm", "0 mm"]``, ``["2100 mm", "0 mm", "50 mm"]`` with a radius, or
    ``{ x = "2100 mm", y = "0 mm", radius = "50 mm" }``."""

    x: Length
    y: Length
    radius: Length | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_list(cls, data: Any) -> Any:
        if isinstance(data, list | tuple):
            if len(data) not in (2, 3):
                raise InputError(
                    "corner",
                    len(data),
                    "a corner is x and y, and a radius if it is rounded",
                    'Write it as ["2100 mm", "0 mm"] or ["2100 mm", "0 mm", "50 mm"].',
                )
            return dict(zip(("x", "y", "radius"), data, strict=False))
        return data


class EdgeSpec(QuantityModel):
    """One edge, or one stretch of it (with `length`; the last stretch takes what is left).

    `drop` is measured from the top of the surface to the bottom of the edge, round-over
    included. `meets` names the partner of a joint or waterfall as ``"surface.edge"``.
    """

    kind: EdgeKind = "wall"
    round_over: Length = 0.0
    drop: Length | None = None
    lip: Length = 0.0
    height: Length = 0.0
    cove: Length = 0.0
    mask: Length = 0.0
    meets: str | None = Field(default=None, max_length=90)
    length: Length | None = None


class CutOutSpec(QuantityModel):
    """A hole: exactly one of `size` (with `corner_radius`), `diameter` and `outline`.

    `at` is the centre of a rectangle or circle (an offset for an outline), from the surface's
    own origin. `cut` says whether the hole is cut before the pour or after it. `edge` is wall
    (the pour stops there) or free (poured over).
    """

    name: Name
    size: tuple[Length, Length] | None = None
    diameter: Length | None = None
    outline: list[CornerSpec] | None = None
    corner_radius: Length = 0.0
    at: tuple[Length, Length] = (0.0, 0.0)
    turn: Angle = 0.0
    cut: Literal["before", "after"] = "before"
    edge: EdgeSpec = EdgeSpec()


class ReadingSpec(QuantityModel):
    """A height reading: ``["100 mm", "50 mm", "-1.5 mm"]`` as x, y and height (up positive)."""

    x: Length
    y: Length
    height: Length

    @model_validator(mode="before")
    @classmethod
    def _from_list(cls, data: Any) -> Any:
        if isinstance(data, list | tuple):
            if len(data) != 3:
                raise InputError(
                    "reading",
                    len(data),
                    "a level reading is x, y and height",
                    'Write it as ["100 mm", "50 mm", "-1.5 mm"].',
                )
            return dict(zip(("x", "y", "height"), data, strict=True))
        return data


class LevelSpec(QuantityModel):
    """Height readings over a surface and how far one may be off.

    `against` says what they were taken against: ``true`` level (a spirit level or water line),
    or the ``site`` (e.g. the boat's own floor), to which the stated tilt of the site is added.
    """

    readings: list[ReadingSpec] = Field(min_length=3, max_length=200)
    reading_error: Length = 0.0005
    against: Literal["true", "site"] = "true"


class TiltSpec(QuantityModel):
    """A stated tilt, e.g. a boat's heel: `angle`, and the direction in which it falls, measured
    anticlockwise from the x axis of the plan."""

    angle: Angle = 0.0
    towards: Angle = 0.0


class SurfaceSpec(QuantityModel):
    """A flat piece to pour, given by its `size` or by its `outline`.

    With `size` the edges are front, right, back, left (upright: bottom, right, top, left) and
    the origin is the front left (bottom left) corner. With `outline` edge 1 runs from corner 1
    to corner 2 and so on; the list may run either way round. Edges that `edges` does not name
    are as `other_edges` says.
    """

    name: Name
    size: tuple[Length, Length] | None = None
    outline: list[CornerSpec] | None = None
    corner_radius: Length = 0.0
    edges: dict[str, list[EdgeSpec]] = Field(default_factory=dict)
    other_edges: EdgeSpec = EdgeSpec()
    cut_outs: list[CutOutSpec] = Field(default_factory=list, max_length=60)
    lie: Literal["horizontal", "upright"] = "horizontal"
    purpose: Literal["surface", "board"] = "surface"
    count: int = Field(default=1, ge=1, le=200)
    keep_off: Length = 0.05
    levels: LevelSpec | None = None

    @field_validator("edges", mode="before")
    @classmethod
    def _one_or_more(cls, value: Any) -> Any:
        if isinstance(value, dict):
            return {str(k): v if isinstance(v, list) else [v] for k, v in value.items()}
        return value

    @model_validator(mode="after")
    def _one_shape(self) -> SurfaceSpec:
        if (self.size is None) == (self.outline is None):
            raise InputError(
                f"surface {self.name}",
                None,
                "it has either a size or an outline",
                'Give size = ["2100 mm", "600 mm"], or the list of its corners as outline.',
            )
        if self.keep_off < 0 or not math.isfinite(self.keep_off):
            raise InputError(
                f"surface {self.name}, keep_off",
                self.keep_off,
                "it is 0 mm or more",
                "Give the least distance of cut-outs from edges.",
            )
        return self
