"""Where the finished pieces go: the way in, what they weigh on, and the air they will live in."""

from __future__ import annotations

from pydantic import Field, model_validator

from pourwright.errors import InputError
from pourwright.quantities.fields import Area, Length, Mass, QuantityModel, Share, Temperature
from pourwright.words import say


class Limits(QuantityModel):
    """What the pieces must keep to: weight and openings on the way in."""

    weight: Mass | None = Field(None, gt=0)
    carry: Mass | None = Field(None, gt=0, description="most that two people carry")
    door_width: Length | None = Field(None, gt=0)
    door_height: Length | None = Field(None, gt=0)
    hatch_width: Length | None = Field(None, gt=0, description="second opening on the way in")
    hatch_height: Length | None = Field(None, gt=0)

    @model_validator(mode="after")
    def _both_sides(self) -> Limits:
        for name in ("door", "hatch"):
            sides = {s: getattr(self, f"{name}_{s}") for s in ("width", "height")}
            for side, other in (("width", "height"), ("height", "width")):
                if sides[side] is None and sides[other] is not None:
                    raise InputError(
                        f"{name}_{side}",
                        None,
                        say("{name}_{other} is given without it", name=name, other=other),
                        "Give both sides of the opening, clear of leaf and stops.",
                    )
        return self


class Place(QuantityModel):
    """Where the finished pieces sit, and what comes out for them.

    Boat: `along` ahead of the centre of flotation, `height` above the keel. Vehicle or trailer:
    `along` ahead of the rear axle (of the axles' middle), `height` above the road. `across` to
    port or left.
    """

    along: Length = 0.0
    across: Length = 0.0
    height: Length = 1.0
    taken_out: Mass = Field(0.0, ge=0, description="what comes out for them, in the same place")


class MassRow(QuantityModel):
    """One row of the mass table: a piece of this job, or anything else that comes in or out.

    A row that names a `piece` takes its computed weight; pieces without a row sit at `site.place`.
    """

    name: str = Field("", max_length=60)
    piece: str | None = Field(None, description="a surface of this job")
    mass: Mass | None = Field(None, gt=0)
    out: bool = Field(False, description="true for what comes out")
    along: Length = Field(0.0, ge=-50, le=50)
    across: Length = Field(0.0, ge=-10, le=10)
    height: Length = Field(1.0, ge=-5, le=10)

    @model_validator(mode="after")
    def _one_of(self) -> MassRow:
        if (self.piece is None) == (self.mass is None):
            raise InputError(
                "mass",
                None,
                "give either a piece of this job or a mass",
                'For example mass = "25 kg" with name = "old hob", or piece = "leg-a".',
            )
        if self.piece is not None and self.out:
            raise InputError(
                "out", True, "a piece of this job goes in", "Take out the row, or name a mass."
            )
        return self


class BoatFloat(QuantityModel):
    """A hull as it lies now; the maker's papers and a surveyor decide."""

    displacement: Mass = Field(gt=50)
    metacentric_height: Length = Field(gt=0.01, le=20)
    waterplane: Area = Field(gt=0.5)
    waterline: Length = Field(gt=1, le=200)
    centre_height: Length = 0.0


class VehicleAxles(QuantityModel):
    """A vehicle as weighed, and the limits on its plate."""

    wheelbase: Length = Field(gt=0.5, le=20)
    track: Length = Field(gt=0.5, le=4)
    front_weighed: Mass = Field(gt=0)
    rear_weighed: Mass = Field(gt=0)
    front_plate: Mass = Field(gt=0)
    rear_plate: Mass = Field(gt=0)
    total_plate: Mass = Field(gt=0)


class Trailer(QuantityModel):
    """A trailer or caravan as weighed on level ground, and the limits of plate and hitch.

    `nose` is the load that its coupling puts on the hitch. Its limit is the smallest of those on
    the coupling, the hitch and in the towing vehicle's papers.
    """

    coupling: Length = Field(gt=0.5, le=20, description="axles' middle to the coupling")
    track: Length = Field(gt=0.5, le=4)
    axle_weighed: Mass = Field(gt=0, description="under all wheels, coupled and laden")
    nose_weighed: Mass = Field(gt=0, description="on the hitch, laden")
    axle_plate: Mass = Field(gt=0)
    total_plate: Mass = Field(gt=0)
    nose_plate: Mass = Field(gt=0)
    nose_least: Share = Field(0.04, gt=0, le=0.3, description="least nose load, share of its mass")
    tow_limit: Mass | None = Field(None, gt=0, description="heaviest trailer the towing car takes")


class PlaceOfUse(QuantityModel):
    """Air of the room where the pieces will live, over the year."""

    temperature: Temperature
    humidity: Share = Field(gt=0, lt=1)
