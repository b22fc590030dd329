"""Calculation of solvent vapour: `air.vapour`."""

from __future__ import annotations

import numpy as np
from pydantic import Field

from pourwright.air.cabin import Solvent, cabin_air, torch_statement, vapour_checks
from pourwright.air.limits import listed_limits
from pourwright.calc import (
    CalcInput,
    CalcResult,
    CalcValue,
    Draws,
    calculation,
    computed,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check
from pourwright.catalogue.rules import cited
from pourwright.errors import InputError
from pourwright.words import say

ZERO = 273.15  # [K]


class SolventPart(CalcInput):
    agent: str = Field(description="id in the limits list, e.g. butyl-acetate")
    share_percent: float = Field(gt=0, le=100, description="share of the solvent mass")


class VapourInput(CalcInput):
    wet_volume_mL: float = Field(gt=0, le=1e6, description="wet topcoat laid in the room")
    solvent_g_L: float = Field(gt=0, le=1500, description="volatile content, from the data sheet")
    solvents: list[SolventPart] = Field(
        default_factory=lambda: [SolventPart(agent="butyl-acetate", share_percent=100)],
        min_length=1,
    )
    room_m3: float = Field(gt=0, le=1e5, description="free air volume of the room or cabin")
    air_changes_per_h: float = Field(default=2.0, ge=0, le=200, description="fresh air per volume")
    evaporation_per_h: float = Field(
        default=3.0, gt=0, le=60, description="first-order drying rate; thin coats dry faster"
    )
    inside_h: float = Field(default=2.0, gt=0, le=8, description="hours you stay in the room")
    air_degC: float = Field(default=20.0, ge=-10, le=45)
    limit_mg_m3: dict[str, float] = Field(
        default_factory=dict, description="your own eight-hour limits by agent, mg/m3"
    )
    seed: int = 1


class VapourValue(CalcValue):
    solvent_g: float
    all_at_once_of_flammable_percent: float
    all_at_once_of_limit_percent: float
    peak_of_flammable_percent: float
    peak_after_min: float
    shift_of_limit_percent: float
    short_of_limit_percent: float
    air_changes_needed_per_h: float | None
    fresh_air_needed_m3_h: float | None
    airing_h: float | None
    torch: str
    checks: list[Check]


@calculation(
    "air.vapour",
    title="Solvent vapour in a small cabin",
    question="How much fresh air does this topcoat need, and when may a flame be lit again?",
    sources=[
        published("well-mixed room with a first-order source: standard industrial hygiene texts"),
        published("29 CFR 1910.146(b): over 10 % of the flammable limit is hazardous"),
        from_memory("mixing factor 3 to 5 in small cabins; drying rate within a factor of 3"),
        computed("torch threshold of 1 % of the flammable limit: Pourwright's own caution"),
    ],
    validity="One room with even fresh air; first-order drying; poor mixing as a richer zone.",
    example={
        "wet_volume_mL": 250,
        "solvent_g_L": 480,
        "room_m3": 12,
        "air_changes_per_h": 6,
        "solvents": [
            {"agent": "butyl-acetate", "share_percent": 70},
            {"agent": "xylene", "share_percent": 30},
        ],
    },
    cautions=(
        "A cabin can be a confined space: never alone, and local code decides.",
        "Limits change: the product's safety data sheet and local law decide, not this list.",
        "Two-part polyurethane hardeners sensitise the airways; spray only with supplied air.",
        "Open flame and solvent never together.",
    ),
)
def vapour_calc(inp: VapourInput) -> CalcResult[VapourValue]:
    """Vapour against health and flammable limits; keys carry units [%, 1/h, h].

    Parameters
    ----------
    inp : VapourInput [units by key suffix]
        The question; see the calculation's schema.

    Returns
    -------
    CalcResult of VapourValue [units by key suffix]

    Raises
    ------
    InputError
        For the first value that cannot be used.
    """
    known = listed_limits(inp.air_degC + ZERO)
    shares = sum(p.share_percent for p in inp.solvents)
    if shares > 100.0 + 1e-9:
        raise InputError("solvents", shares, "shares add up to at most 100 %", "Correct them.")
    mass = inp.wet_volume_mL * 1e-6 * inp.solvent_g_L
    parts, warnings, sources = [], [], []
    for i, part in enumerate(inp.solvents):
        if part.agent not in known:
            raise InputError(
                f"solvents[{i}].agent",
                part.agent,
                "it is not in the list of limits",
                say(
                    "Use one of: {names}; or add it to your own file.",
                    names=", ".join(sorted(known)),
                ),
            )
        limit = known[part.agent]
        if part.agent in inp.limit_mg_m3:
            limit = limit.edited(twa=inp.limit_mg_m3[part.agent] * 1e-6)
        if limit.lfl is None:
            raise InputError(
                f"solvents[{i}].agent", part.agent, "it is no solvent", "Choose a solvent."
            )
        parts.append(Solvent(limit, mass * part.share_percent / 100.0))
        sources.append(f"{limit.name}: {limit.agency} ({limit.year}); {limit.source}")
    for agent, own in inp.limit_mg_m3.items():
        if own <= 0:
            raise InputError(f"limit_mg_m3.{agent}", own, "it must be above 0", "Correct it.")
        if agent not in {p.agent for p in inp.solvents}:
            warnings.append(say("Your own limit for {agent} was not needed.", agent=agent))
    if shares < 99.0:
        warnings.append(
            say("{shares:.0f} % of the solvent is not named and was left out.", shares=100 - shares)
        )
    draws = Draws(inp.seed, 400)
    k0 = inp.evaporation_per_h / 3600.0
    rate = draws.between("air.drying_rate", k0 / 3, k0, k0 * 3, log=True)
    mixing = np.maximum(draws.between("air.mixing", 3.0, 4.0, 5.0), 1.0)
    air = cabin_air(
        parts, inp.room_m3, inp.air_changes_per_h / 3600.0, rate, mixing, inp.inside_h * 3600.0
    )
    need = air.air_changes_needed * 3600.0
    purge = spread_of(air.purge / 3600.0)
    arrays = {
        "peak_of_flammable_percent": 100.0 * air.peak_fire,
        "shift_of_limit_percent": 100.0 * air.shift_health,
        "short_of_limit_percent": 100.0 * air.short_health,
    }
    ranges = {k: spread_of(v) for k, v in arrays.items()}
    finite = bool(np.isfinite(purge.p95))
    if finite:
        ranges["airing_h"] = purge
    else:
        warnings.append("A shut room never airs out: open it or use a fan.")
    peak = float(np.median(air.peak_time)) / 60.0
    value = VapourValue(
        solvent_g=1000.0 * air.mass,
        all_at_once_of_flammable_percent=100.0 * air.bound_fire,
        all_at_once_of_limit_percent=100.0 * air.bound_health,
        peak_after_min=peak if np.isfinite(peak) else 1440.0,
        air_changes_needed_per_h=need if np.isfinite(need) else None,
        fresh_air_needed_m3_h=need * inp.room_m3 if np.isfinite(need) else None,
        airing_h=purge.p50 if finite else None,
        torch=torch_statement(True, purge.p95 * 3600.0),
        checks=vapour_checks(air, "; ".join(sources)),
        **{k: ranges[k].p50 for k in arrays},
    )
    sources += [cited(r) for r in ("rule-confined-space", "rule-coating-area", "rule-open-flame")]
    sources += [cited(r) for r in ("rule-isocyanate-training", "rule-sensitiser")]
    cautions = [f"{p.limit.name}: {p.limit.caution}" for p in parts if p.limit.caution]
    return CalcResult(
        value=value, range=ranges, sources=sources, cautions=cautions, warnings=warnings
    )
