"""Calculation of the board's moisture: `air.wood_moisture`."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field

from pourwright.air.checks import board_moisture_check
from pourwright.air.wood import (
    board_moisture,
    board_movement,
    conditioned_share,
    conditioning_time,
    moisture_diffusivity,
)
from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Draws,
    calculation,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check
from pourwright.catalogue.rules import cited

ZERO = 273.15  # [K]


class WoodInput(CalcInput):
    board: Literal["wood", "mdf", "plywood"] = Field(default="mdf", description="kind of board")
    work_degC: float = Field(default=18.0, ge=-30, le=60, description="air where it is poured")
    work_humidity_percent: float = Field(default=55.0, gt=0, le=100)
    use_degC: float = Field(default=16.0, ge=-30, le=60, description="air where it will live")
    use_humidity_percent: float = Field(default=65.0, gt=0, le=100)
    thickness_mm: float = Field(default=18.0, gt=0, le=200)
    length_mm: float = Field(default=1200.0, gt=0, le=20000)
    density_kg_m3: float = Field(default=750.0, gt=100, le=1500)
    now_percent: float | None = Field(
        default=None, gt=0, le=60, description="measured moisture content; empty: as at work"
    )
    wait_d: float = Field(default=7.0, ge=0, le=1000, description="days in the place of use")
    free_faces: Literal[1, 2] = Field(default=2, description="faces that can breathe")
    seed: int = 1


class WoodValue(CalcValue):
    work_percent: float
    use_percent: float
    now_percent: float
    change_percent: float
    movement_mm: float
    thickness_movement_mm: float
    settled_after_wait_percent: float
    ninety_d: float
    diffusivity_m2_s: float
    checks: list[Check]


# share of wood's moisture (5, 50, 95 %), strain per moisture in plane and through, mu (5, 50, 95 %)
_BOARDS = {
    "wood": ((0.95, 1.0, 1.05), 0.0025, 0.25, (20.0, 50.0, 200.0)),
    "mdf": ((0.70, 0.80, 0.90), 0.05, 0.35, (12.0, 20.0, 30.0)),
    "plywood": ((0.85, 0.95, 1.0), 0.015, 0.30, (50.0, 120.0, 220.0)),
}


@calculation(
    "air.wood_moisture",
    title="Board moisture for place of work and place of use",
    question="How damp will the board get, how far will it move, how long must it wait?",
    sources=[
        published("Hailwood-Horrobin fit, Wood Handbook equation 4-5; FPL-RN-0268"),
        published("MDF movement, trade association guidance: 0.05 % per 1 %, through 0.35 %"),
        published("Crank 1975, The Mathematics of Diffusion, eq. 4.18 (plane sheet)"),
        from_memory("share of wood's moisture and vapour resistance of boards, after ISO 10456"),
    ],
    validity="-30 to 60 degC; boards with free faces in moving air; hysteresis is in the range.",
    example={"board": "mdf", "work_humidity_percent": 55, "use_humidity_percent": 70},
    cautions=(
        "Board dust harms lungs: extraction at the tool and a dust mask when you cut or sand.",
        "Standard MDF is not for places that get wet.",
    ),
)
def wood_calc(inp: WoodInput) -> CalcResult[WoodValue]:
    """Equilibria, movement and waiting time; keys carry units [%, mm, d].

    Parameters
    ----------
    inp : WoodInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of WoodValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    draws = Draws(inp.seed, 400)
    share, in_plane, through, mu = _BOARDS[inp.board]
    factor = draws.between("air.board_share", *share)
    resistance = draws.between("air.board_mu", *mu, log=True)
    tw, tu = inp.work_degC + ZERO, inp.use_degC + ZERO
    hw, hu = inp.work_humidity_percent / 100, inp.use_humidity_percent / 100
    work, use = board_moisture(tw, hw, factor), board_moisture(tu, hu, factor)
    now = work if inp.now_percent is None else np.full(400, inp.now_percent / 100)
    change = use - now
    middle = float(np.clip(0.5 * (hw + hu), 0.05, 0.95))
    d = moisture_diffusivity(resistance, inp.density_kg_m3, tu, middle, factor)
    t = inp.thickness_mm / 1000
    share_done = conditioned_share(inp.wait_d * 86400, t, d, inp.free_faces)
    ninety = conditioning_time(0.9, t, d, inp.free_faces) / 86400
    arrays = {
        "work_percent": 100 * work,
        "use_percent": 100 * use,
        "now_percent": 100 * now,
        "change_percent": 100 * change,
        "movement_mm": 1000 * board_movement(inp.length_mm / 1000, in_plane, change),
        "thickness_movement_mm": 1000 * board_movement(t, through, change),
        "settled_after_wait_percent": 100 * share_done,
        "ninety_d": ninety,
        "diffusivity_m2_s": d,
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    value = WoodValue(
        **{k: s.p50 for k, s in spreads.items()}, checks=board_moisture_check(now, use)
    )
    warnings = []
    if inp.board == "mdf" and hu > 0.85:
        warnings.append("Above 85 % humidity standard MDF swells for good; use another core.")
    if inp.board == "wood":
        warnings.append("Solid wood moves as given along the grain; across it far more.")
    rules = ("rule-board-moisture", "rule-cabinet-wood")
    return CalcResult(
        value=value, range=spreads, warnings=warnings, sources=[cited(r) for r in rules]
    )
