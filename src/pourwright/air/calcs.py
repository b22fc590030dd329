"""Calculations of the air: `air.dew_point`, `air.wood_moisture`, `air.vapour`, `air.blush`."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import Field

from pourwright.air.blush import blush_band, blush_risk
from pourwright.air.cabin import Solvent, cabin_air, torch_statement, vapour_checks
from pourwright.air.checks import board_moisture_check, margin_checks, window_check
from pourwright.air.limits import listed_limits
from pourwright.air.margin import board_warm_up, surface_margin
from pourwright.air.psychro import absolute_humidity, humidity_for_margin
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
    Spread,
    calculation,
    computed,
    from_memory,
    published,
    spread_of,
)
from pourwright.calc.check import Check
from pourwright.errors import InputError

ZERO = 273.15  # [K]


class DewPointInput(CalcInput):
    air_degC: list[float] | float = Field(description="air temperature, one or a history")
    humidity_percent: list[float] | float = Field(description="relative humidity, same length")
    surface_degC: list[float] | float | None = Field(
        default=None, description="board temperature; measured, not guessed; empty: as the air"
    )
    time_h: list[float] | None = Field(
        default=None, description="moments of the history, rising; needed for a history"
    )
    soft_h: float | None = Field(
        default=None, gt=0, description="how long the film stays soft from the first moment"
    )
    rule_K: float = Field(default=3.0, ge=0, le=15, description="wanted margin")
    humidity_limit_percent: float = Field(default=85.0, gt=0, le=100)
    humidity_error_percent: float = Field(
        default=3.0, ge=0, le=20, description="how far off the hygrometer or forecast may be"
    )


class DewPointValue(CalcValue):
    dew_point_degC: float
    margin_K: float
    worst_at_h: float
    highest_humidity_percent: float
    humidity_allowed_percent: float
    warm_board_by_K: float
    water_g_m3: float
    passed: str
    checks: list[Check]


@calculation(
    "air.dew_point",
    title="Dew point and surface margin",
    question="Is the board warm enough that no water settles on it while the resin is soft?",
    sources=[
        published("ASHRAE Fundamentals 2017, chapter 1, equations 5 and 6 (saturation pressure)"),
        published("ISO 8502-4:2017 guidance and ISO 12944-7: 3 K and 85 %, used by analogy"),
    ],
    validity="-100 to 200 degC over water or ice; straight lines between the given moments.",
    example={
        "time_h": [0, 4, 9, 14],
        "air_degC": [19, 17, 14, 13],
        "humidity_percent": [55, 60, 70, 74],
        "surface_degC": [18, 17, 14.5, 13.2],
        "soft_h": 12,
    },
    cautions=(
        "Measure the board itself: a cold core stays cold for hours after the air is warm.",
        "No unflued gas or paraffin heater: it adds water and carbon dioxide and is an open flame.",
    ),
)
def dew_point_calc(inp: DewPointInput) -> CalcResult[DewPointValue]:
    """Dew point, worst margin over the soft time and its moment; keys carry units [degC, K, h]."""
    air = np.atleast_1d(np.asarray(inp.air_degC, dtype=float)) + ZERO
    n = air.size
    if inp.time_h is None and n > 1:
        raise InputError("time_h", None, f"{n} air temperatures need {n} moments", "Add time_h.")
    time = np.asarray(inp.time_h if inp.time_h is not None else [0.0], dtype=float) * 3600.0
    humidity = np.asarray(inp.humidity_percent, dtype=float) / 100.0
    surface = inp.surface_degC
    board = air if surface is None else np.asarray(surface, dtype=float) + ZERO
    soft = None
    if time.size > 0 and n > 1 and inp.soft_h is not None:
        soft = float(time[0] + inp.soft_h * 3600.0)
    air_given = air if time.size == n else air[0]
    history = surface_margin(
        time, air_given, _plain(humidity), _plain(board), end=soft, rule=inp.rule_K
    )
    i = int(np.argmin(history.margin))
    found = margin_checks(
        history, inp.rule_K, inp.humidity_limit_percent / 100, inp.humidity_error_percent / 100
    )
    a, h, s = history.air[i], history.humidity[i], history.surface[i]
    verdicts = [c.passed for c in found]
    value = DewPointValue(
        dew_point_degC=float(history.dew[i]) - ZERO,
        margin_K=history.worst,
        worst_at_h=history.worst_time / 3600.0,
        highest_humidity_percent=100.0 * history.humidity_high,
        humidity_allowed_percent=100.0 * float(humidity_for_margin(a, inp.rule_K, a - s)),
        warm_board_by_K=board_warm_up(float(a - s), inp.rule_K, float(a), float(h)),
        water_g_m3=1000.0 * float(absolute_humidity(a, h)),
        passed="no" if "no" in verdicts else "unsure" if "unsure" in verdicts else "yes",
        checks=found + window_check(history.air),
    )
    spread = found[0].margin_spread
    assert spread is not None
    shift = inp.rule_K
    ranges = {
        "margin_K": Spread(p05=spread.p05 + shift, p50=spread.p50 + shift, p95=spread.p95 + shift)
    }
    warnings = []
    if surface is None:
        warnings.append("No board temperature was given; it was taken to be that of the air.")
    if inp.soft_h is None and n > 1:
        warnings.append("No soft time was given; the whole history was looked at.")
    if n == 1:
        warnings.append("One reading only: check again over the whole time the resin is soft.")
    return CalcResult(value=value, range=ranges, warnings=warnings)


def _plain(a: np.ndarray) -> np.ndarray | float:
    return float(a.ravel()[0]) if a.size == 1 else a


class BlushInput(CalcInput):
    air_degC: list[float] | float = Field(description="air temperature, one or a history")
    humidity_percent: list[float] | float = Field(description="relative humidity")
    surface_degC: list[float] | float | None = Field(default=None, description="film temperature")
    time_h: list[float] | None = Field(default=None, description="moments of the history, rising")
    unflued_heater: bool = Field(default=False, description="a flame without a flue in the room")
    standing_min: float = Field(default=0.0, ge=0, le=600, description="mix to pour")
    ratio_error_percent: float = Field(default=0.0, ge=-50, le=50)


class BlushValue(CalcValue):
    score: float
    word: str
    surface_humidity_percent: float
    reasons: list[str]
    checks: list[Check]


@calculation(
    "air.blush",
    title="Blush risk score",
    question="How much does this air invite a greasy blush on the fresh film?",
    sources=[
        published("Bannister et al., RSC Advances 2022: no effect at 40 % RH, carbamation at 80 %"),
        published("O'Malley, Simser and Pravlik 2005: what favours amine blush"),
        computed("the curve between the two measured points is Pourwright's own"),
    ],
    validity="A rank from 0 to 1, not a chance; amine-cured epoxy, 5 to 35 degC.",
    example={"air_degC": 14, "humidity_percent": 70, "surface_degC": 13},
    cautions=("Hardener is corrosive and sensitises: gloves when washing blush off.",),
)
def blush_calc(inp: BlushInput) -> CalcResult[BlushValue]:
    """Blush score with the band the evidence leaves open [-]."""
    air = np.atleast_1d(np.asarray(inp.air_degC, dtype=float)) + ZERO
    time = np.asarray(inp.time_h, dtype=float) * 3600.0 if inp.time_h else np.zeros(1)
    if inp.time_h is None and air.size > 1:
        raise InputError("time_h", None, "a history needs its moments", "Add time_h.")
    humidity = np.asarray(inp.humidity_percent, dtype=float) / 100.0
    board = air if inp.surface_degC is None else np.asarray(inp.surface_degC, dtype=float) + ZERO
    hist = surface_margin(time, _plain(air), _plain(humidity), _plain(board))
    risk = blush_risk(
        hist.surface_humidity,
        hist.surface,
        hist.time if hist.time.size > 1 else None,
        unflued_heater=inp.unflued_heater,
        induction=inp.standing_min * 60.0,
        ratio_error=inp.ratio_error_percent / 100.0,
    )
    from pourwright.air.checks import blush_check

    value = BlushValue(
        score=risk.score,
        word=risk.word,
        surface_humidity_percent=100.0 * risk.humidity_worst,
        reasons=list(risk.reasons),
        checks=[blush_check(risk)],
    )
    ranges = {"score": Spread(p05=risk.low, p50=risk.score, p95=risk.high)}
    warnings = []
    if float(np.max(blush_band(hist.surface_humidity)[1])) == 0.0 and inp.unflued_heater:
        warnings.append("Dry air, but the tests had no flame in the room: switch it off.")
    return CalcResult(value=value, range=ranges, warnings=warnings)


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
    """Equilibria, movement and waiting time; keys carry units [%, mm, d]."""
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
    return CalcResult(value=value, range=spreads, warnings=warnings)


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
    """Vapour against health and flammable limits; keys carry units [%, 1/h, h]."""
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
                f"Use one of: {', '.join(sorted(known))}; or add it to your own file.",
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
            warnings.append(f"Your own limit for {agent} was not needed.")
    if shares < 99.0:
        warnings.append(f"{100 - shares:.0f} % of the solvent is not named and was left out.")
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
    cautions = [f"{p.limit.name}: {p.limit.caution}" for p in parts if p.limit.caution]
    return CalcResult(
        value=value, range=ranges, sources=sources, cautions=cautions, warnings=warnings
    )
