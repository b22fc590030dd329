"""Calculation of a boat's heel, trim and sinkage: `endure.heel`."""

from __future__ import annotations

from math import degrees, radians

import numpy as np
from pydantic import Field

from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    calculation,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check, worst
from pourwright.catalogue.rules import cited
from pourwright.endure.boat import FRESH, SEA, Hull, float_after
from pourwright.endure.calc_weight import LoadInput
from pourwright.endure.checks_boat import BOAT_CAUTION, heel_checks


class HeelInput(CalcInput):
    loads: list[LoadInput] = Field(min_length=1, description="along: ahead of the middle")
    displacement_kg: float = Field(gt=0, le=1e6)
    metacentric_m: float = Field(gt=0, le=20, description="GM, from book or inclining test")
    metacentric_error_percent: float = Field(default=15.0, ge=0, le=60)
    centre_m: float = Field(default=0.8, ge=0, le=10, description="centre over keel")
    waterplane_m2: float = Field(gt=0, le=2000)
    waterline_m: float = Field(gt=0, le=150)
    salt_water: bool = False
    heel_now_deg: float = Field(default=0.0, ge=-30, le=30, description="to port")
    heel_limit_deg: float = Field(default=1.0, gt=0, le=15)
    pour_span_mm: float = Field(default=0.0, ge=0, le=10000, description="surface across the boat")


class HeelValue(CalcValue):
    sinkage_mm: float
    heel_deg: float
    heel_change_deg: float
    trim_mm: float
    metacentric_m: float
    passed: str
    checks: list[Check]


@calculation(
    "endure.heel",
    title="Heel, trim and sinkage of a boat",
    question="Will the boat lean, and how far, once the new top is in and the old one out?",
    sources=[
        published("statics of floating bodies at small angles"),
        published("ISO 12217-1 to -3 and ISO 14946:2021 decide"),
        from_memory("longitudinal stiffness from the waterplane's second moment"),
    ],
    validity="Heel under about 7 degrees, wall-sided, change under a fifth of the displacement.",
    example={
        "loads": [
            {"name": "new top", "mass_kg": 45, "along_m": 2.0, "across_m": 0.6},
            {"name": "old top", "mass_kg": -38, "along_m": 2.0, "across_m": 0.6},
        ],
        "displacement_kg": 16500,
        "metacentric_m": 0.6,
        "waterplane_m2": 31,
        "waterline_m": 16.5,
        "heel_now_deg": 0.4,
        "pour_span_mm": 600,
    },
    cautions=(BOAT_CAUTION,),
)
def heel_calc(inp: HeelInput) -> CalcResult[HeelValue]:
    """Sinkage [mm], heel [deg] and trim [mm] after the work.

    Parameters
    ----------
    inp : HeelInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of HeelValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    loads = [a.load() for a in inp.loads]

    def hull(gm: float) -> Hull:
        return Hull(
            inp.displacement_kg,
            gm,
            inp.waterplane_m2,
            inp.waterline_m,
            inp.centre_m,
            SEA if inp.salt_water else FRESH,
            radians(inp.heel_now_deg),
        )

    off = inp.metacentric_error_percent / 100.0
    states = [
        float_after(hull(inp.metacentric_m * (1 + f * off)), loads) for f in np.linspace(-1, 1, 21)
    ]
    arrays = {
        "sinkage_mm": [1000 * s.sinkage for s in states],
        "heel_deg": [degrees(s.heel) for s in states],
        "heel_change_deg": [degrees(s.heel_change) for s in states],
        "trim_mm": [1000 * s.trim for s in states],
        "metacentric_m": [s.metacentric for s in states],
    }
    spreads = {k: spread_of(v) for k, v in arrays.items()}
    middle = hull(inp.metacentric_m)
    checks = heel_checks(
        middle,
        loads,
        inp.pour_span_mm / 1000,
        radians(inp.heel_limit_deg),
        metacentric_off=off,
    )
    after = float_after(middle, loads)
    value = HeelValue(
        sinkage_mm=1000 * after.sinkage,
        heel_deg=degrees(after.heel),
        heel_change_deg=degrees(after.heel_change),
        trim_mm=1000 * after.trim,
        metacentric_m=after.metacentric,
        passed=worst(checks),
        checks=checks,
    )
    warnings = []
    if abs(degrees(after.heel)) > 7:
        warnings.append("Over 7 degrees small-angle statics no longer holds.")
    rules = ("rule-boat-stability", "rule-boat-load", "rule-boat-us", "rule-boat-heel")
    return CalcResult(
        value=value, range=spreads, warnings=warnings, sources=[cited(r) for r in rules]
    )
