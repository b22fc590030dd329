"""Endurance: weight, bow, load, twist and heat of a poured panel (engine floor).

Map
---
- `layers`     layers of a build-up; the general laminate; bending and shear stiffness.
- `materials`  catalogue materials to layers, sampled or with middle values.
- `build`      `Ply`, `Shape`, `Service`, `Panel`: what the checks are asked about.
- `bow`        curvature from cure, temperature, moisture; balanced back.
- `coupon`     a coated strip that was measured, in place of the class's shrinkage.
- `edge`       shear, peel and release energy at the edge of a film.
- `span`       sag, stress, frequency, plate; `sandwich` skins and soft cores.
- `twist`      a panel forced to follow a twisting vehicle or hull.
- `weight`     weight per piece, comparison of build-ups.
- `vehicle`, `boat`  axles, coupling, sides, height; sinkage, heel, trim.
- `diffuse`    one-dimensional diffusion, exact in time, for heat and moisture.
- `heat`, `sun`, `moisture`  hot pan; closed cabin and sun; one-sided moisture over time.
- `checks`     all checks of a panel or job; `checks_shape|load|motion|heat|weight|boat` by topic.
- `picture`    a bow drawn with true numbers; weights side by side.
- `calcs`      the registered calculations, in `calc_*` by topic.

Build-ups run from the poured face to the back. SI floats, or samples of shape (n,).
"""

from pourwright.endure.boat import Floating, Hull, float_after, metacentric_from_test
from pourwright.endure.bow import balancing_back, coupon_mismatch, panel_bow
from pourwright.endure.build import Panel, Ply, Service, Shape
from pourwright.endure.checks import job_checks, panel_checks
from pourwright.endure.checks_boat import heel_checks
from pourwright.endure.checks_weight import (
    axle_checks,
    lift_check,
    nose_checks,
    weight_check,
)
from pourwright.endure.coupon import Coupon, coupon_notes, coupon_spread
from pourwright.endure.layers import Layer, laminate
from pourwright.endure.materials import layer_of
from pourwright.endure.vehicle import Load, axle_room, axle_share
from pourwright.endure.weight import PieceWeight, areal_mass, compare_tops, piece_weight

__all__ = [
    "Coupon",
    "Floating",
    "Hull",
    "Layer",
    "Load",
    "Panel",
    "PieceWeight",
    "Ply",
    "Service",
    "Shape",
    "areal_mass",
    "axle_checks",
    "axle_room",
    "axle_share",
    "balancing_back",
    "compare_tops",
    "coupon_mismatch",
    "coupon_notes",
    "coupon_spread",
    "float_after",
    "heel_checks",
    "job_checks",
    "laminate",
    "layer_of",
    "lift_check",
    "metacentric_from_test",
    "nose_checks",
    "panel_bow",
    "panel_checks",
    "piece_weight",
    "weight_check",
]
