"""Calculations: cure at one temperature, in a cup, in a poured layer."""

from __future__ import annotations

import numpy as np
from pydantic import Field

from pourwright.calc import CalcResult, CalcValue, calculation
from pourwright.cure._calcs_common import (
    BALANCE,
    ENERGIES,
    EXOTHERM,
    GEL,
    GLASS,
    HORIE,
    KELVIN,
    SENSITISER,
    SERVICE,
    SOFT,
    TACK,
    THICKENING,
    AirInput,
    CorePart,
    Moment,
    ResinInput,
    hours,
    moment,
    points,
    sources_of,
)
from pourwright.cure.crossing import rises_to
from pourwright.cure.cup import Cup, cup_history
from pourwright.cure.history import AirHistory
from pourwright.cure.layer import FilmHistory, film_history
from pourwright.cure.milestones import settled, tg_passes
from pourwright.cure.pot import pour_within
from pourwright.cure.resin import Resin
from pourwright.cure.runaway import LARGEST_KG, SMALLEST_KG, largest_safe_cup
from pourwright.cure.viscosity import conversion_at_thickening
from pourwright.words import Amount, say


class IsothermalInput(ResinInput):
    """A thin film held at one temperature."""

    film_degC: float = Field(default=20.0, ge=-20, le=80, description="temperature of the film")
    balance_ratio: float = Field(
        default=1.0, ge=0.4, le=2.5, description="amine hydrogens per epoxide [-]; 1 is exact"
    )
    vitrification: bool = Field(
        default=True, description="let the film slow down as it turns to glass"
    )
    times_h: list[float] = Field(
        default=[6.0, 12.0, 24.0, 72.0, 168.0], max_length=100, description="when to look"
    )


class IsothermalValue(CalcValue):
    """Stages and states at one temperature."""

    stages: list[Moment]
    gel_h: float | None
    times_h: list[float]
    conversion_share: list[float] = Field(description="middle conversion at those times [-]")
    tg_degC: list[float] = Field(description="middle glass transition at those times")


@calculation(
    "cure.isothermal",
    title="Cure at one temperature",
    question="How fast does a thin film of this resin cure at this temperature?",
    sources=sources_of(HORIE, ENERGIES, THICKENING, GEL, TACK, GLASS),
    validity="5 to 40 degC; epoxy-amine mixes; balance 0.8 to 1.2; thin films without self-heating",
    example={"resin": "resin-coating-1to1", "film_degC": 20},
    cautions=(SENSITISER, SOFT),
)
def isothermal(inp: IsothermalInput) -> CalcResult[IsothermalValue]:
    """Stages of a film held at one temperature."""
    resin = inp.samples()
    if inp.balance_ratio != 1.0:
        resin = resin.with_balance(inp.balance_ratio)
    if not inp.vitrification:
        resin = resin.with_values(glass_lead=np.array([1e6]))
    temp = inp.film_degC + KELVIN
    wanted = sorted({float(t) * 3600.0 for t in inp.times_h if t > 0})
    span = float(
        np.clip(4.0 / np.quantile(resin.rate(resin.gel * 0.5, np.full(resin.count, temp)), 0.02),
                86400.0, 60 * 86400.0)
    )  # fmt: skip
    end = max([14 * 86400.0, span, *wanted])
    grid = np.unique(np.concatenate([[0.0], np.geomspace(60.0, end, 400), wanted]))
    film = film_history(resin, AirHistory.constant(temp), 0.0, 0.001, None, end, times_s=grid)
    thick = conversion_at_thickening(2.0, resin.gel, resin.thick_a, resin.thick_b)
    when = {
        "viscosity doubled by cure": film.when_conversion(thick),
        "gel": film.gel_time,
        "tack-free": film.when_conversion(resin.tack),
        "recoat opens": film.when_conversion(resin.recoat_open),
        "recoat closes": np.minimum(film.when_conversion(resin.recoat_close), tg_passes(film, 8.0)),
        "Tg passes the room's temperature": tg_passes(film, 0.0),
        "settled (Tg rises under 0.5 K a day)": settled(film, 0.5),
    }
    at = np.searchsorted(grid, wanted)
    spread = hours(film.gel_time, 0.0, end)
    warnings = list(film.warnings)
    return CalcResult(
        value=IsothermalValue(
            stages=[moment(name, v, 0.0) for name, v in when.items()],
            gel_h=None if spread is None else spread.p50,
            times_h=[t / 3600.0 for t in wanted],
            conversion_share=[float(np.median(film.conversion[:, i])) for i in at],
            tg_degC=[float(np.median(film.tg[:, i])) - KELVIN for i in at],
        ),
        range={} if spread is None else {"gel_h": spread},
        warnings=warnings,
    )


class CupInput(AirInput):
    """Mixed resin standing in a cup."""

    mass_g: float = Field(default=500.0, gt=0, le=1e6, description="mass of A and B together")
    mix_degC: float | None = Field(
        default=None, ge=-10, le=70, description="temperature of the fresh mix, if not the air's"
    )
    depth_ratio: float = Field(
        default=1.0, ge=0.05, le=5, description="depth of the resin over its width [-]"
    )
    wall_mm: float = Field(default=0.8, ge=0.02, le=20, description="wall of the cup")
    base_share: float = Field(
        default=0.5, ge=0, le=1, description="share of the base that loses heat [-]; 0 on foam"
    )
    thicker_ratio: float = Field(
        default=2.0, gt=1, le=100, description="pour before cure has made it this much thicker [-]"
    )
    warmer_K: float = Field(
        default=10.0, ge=1, le=100, description="pour before it has warmed itself by this"
    )


class CupValue(CalcValue):
    """How long the cup lasts."""

    pour_within_min: float | None = Field(description="middle; plan with the 5 % point")
    pour_within_surely_min: float | None = Field(description="5 % point")
    ruled_by: str
    gel_min: float | None
    peak_degC: float
    largest_safe_g: float = Field(
        description="what may be forgotten in this cup or a larger one, 5 % point; not a limit on mixing"
    )
    criterion: str
    time_min: list[float]
    cup_degC: list[float] = Field(description="middle temperature of the resin at those times")
    conversion_share: list[float] = Field(description="middle conversion at those times [-]")


@calculation(
    "cure.cup",
    title="Resin in a cup",
    question="How soon must this cup be poured out, and how hot would it get?",
    sources=sources_of(HORIE, ENERGIES, BALANCE, THICKENING, GEL),
    validity="1 g to 50 kg, still air of 5 to 40 degC, resin well mixed by its own convection; gel "
    "times run 4 to 9 % longer than by conduction alone; peaks as if nothing boiled or burned",
    example={"resin": "resin-coating-1to1", "mass_g": 700, "air_degC": 20},
    cautions=(EXOTHERM, SENSITISER),
)
def cup(inp: CupInput) -> CalcResult[CupValue]:
    """Pour-out limit, gel, peak and largest safe mass of a cup."""
    resin, air = inp.samples(), inp.history()
    shape = Cup(inp.depth_ratio, None, inp.wall_mm / 1000.0, base_share=inp.base_share)
    first = None if inp.mix_degC is None else inp.mix_degC + KELVIN
    mass = inp.mass_g / 1000.0
    off = inp.offset()
    limit = pour_within(
        resin, air, inp.start_s, mass, shape, thicker=inp.thicker_ratio, warmer_K=inp.warmer_K,
        start_K=first, air_offset_K=off,
    )  # fmt: skip
    longest = np.where(np.isfinite(limit.within_s), limit.within_s, 86400.0)
    span = float(np.clip(6.0 * np.quantile(longest, 0.95), 4 * 3600.0, 20 * 86400.0))
    run = cup_history(resin, air, inp.start_s, mass, shape, span, start_K=first, air_offset_K=off)
    few = resin.take(slice(0, min(60, resin.count)))
    mean_air = air.mean(inp.start_s, inp.start_s + 6 * 3600.0)
    room = mass / float(np.median(resin.density))
    safe = largest_safe_cup(few, mean_air, shape.kept(room), start_K=first)
    within = hours(limit.within_s)
    gel = hours(run.gel_time, inp.start_s, span)
    peak = points(run.peak - KELVIN)
    ranges = {"peak_degC": peak, "largest_safe_g": points(safe.mass_kg * 1000.0)}
    if within:
        ranges["pour_within_min"] = points(np.minimum(limit.within_s, 1e8) / 60.0)
    if gel:
        ranges["gel_min"] = points(np.minimum(run.gel_time - inp.start_s, span) / 60.0)
    warnings = inp.notes()
    hot = float(np.mean(run.peak > mean_air + 40.0))
    if hot > 0.05:
        warnings.append(
            say(
                "If forgotten it runs away in {hot:.0%} of cases: pour it out or spread it thin.",
                hot=hot,
            )
        )
    if not within:
        warnings.append(
            say(
                "Neither limit is met within {span:.0f} in most cases.",
                span=Amount(span / 3600, "h"),
            )
        )
    if float(np.quantile(safe.mass_kg, 0.05)) <= SMALLEST_KG:
        warnings.append("No cup of this resin may be forgotten in this air, however small.")
    elif float(np.quantile(safe.mass_kg, 0.05)) >= LARGEST_KG:
        warnings.append(
            say(
                "Masses above {largest_kg:g} were not looked at.",
                largest_kg=Amount(LARGEST_KG, "kg"),
            )
        )
    pick = slice(None, None, max(1, run.times_s.size // 120))
    return CalcResult(
        value=CupValue(
            pour_within_min=within.p50 * 60.0 if within else None,
            pour_within_surely_min=within.p05 * 60.0 if within else None,
            ruled_by="warming" if limit.ruled_by_heat > 0.5 else "thickening",
            gel_min=gel.p50 * 60.0 if gel else None,
            peak_degC=peak.p50,
            largest_safe_g=float(np.quantile(safe.mass_kg, 0.05)) * 1000.0,
            criterion=say(
                "{criterion}. Safe to forget: {criterion2}.",
                criterion=limit.criterion,
                criterion2=safe.criterion,
            ),
            time_min=[float(t) for t in (run.times_s[pick] - inp.start_s) / 60.0],
            cup_degC=[float(t) for t in np.median(run.temperature[:, pick], axis=0) - KELVIN],
            conversion_share=[float(a) for a in np.median(run.conversion[:, pick], axis=0)],
        ),
        range=ranges,
        warnings=warnings,
    )


class LayerInput(AirInput):
    """A poured layer on a core."""

    thickness_mm: float = Field(default=3.0, ge=0.05, le=200, description="wet layer")
    under: list[CorePart] = Field(
        default_factory=list, max_length=8, description="boards below, top first; none: insulated"
    )
    limit_degC: float = Field(
        default=60.0, ge=25, le=150, description="hottest the layer may get, from its data sheet"
    )


class LayerValue(CalcValue):
    """How a layer heats itself."""

    gel_h: float | None
    peak_degC: float = Field(description="highest mean temperature of the layer")
    base_peak_degC: float = Field(description="highest temperature at its bottom")
    thickest_mm: float = Field(description="thickest layer that stays under the limit, 5 % point")
    limit_ratio: float = Field(description="share of cases that stay under the limit [-]")
    time_h: list[float]
    layer_degC: list[float] = Field(description="middle mean temperature at those times")
    conversion_share: list[float] = Field(description="middle mean conversion at those times [-]")


@calculation(
    "cure.layer",
    title="Poured layer on a core",
    question="How warm does this layer get, when does it gel, and how thick may it be?",
    sources=sources_of(HORIE, ENERGIES, BALANCE, GEL),
    validity="0.05 to 200 mm, heat flowing up and down only, still air of 5 to 40 degC; mean and "
    "bottom temperatures, never a hottest cell",
    example={
        "resin": "resin-coating-1to1",
        "thickness_mm": 3,
        "under": [{"core": "mdf", "thickness_mm": 18}],
        "sample_count": 60,
    },
    cautions=(EXOTHERM, SENSITISER, SERVICE),
)
def layer(inp: LayerInput) -> CalcResult[LayerValue]:
    """Temperature, gel and thickest safe pour of a layer."""
    resin, air = inp.samples(), inp.history()
    core = tuple(x.layer() for x in inp.under)
    mean_air = air.mean(inp.start_s, inp.start_s + 86400.0)
    span = _until_cured(resin, mean_air)

    def pour(thickness: float, of: Resin, off: object) -> FilmHistory:
        grid = inp.start_s + np.concatenate([[0.0], np.geomspace(60.0, span, 240)])
        return film_history(
            of, air, inp.start_s, thickness, core, span, times_s=grid, air_offset_K=off,
            follow_s=span,
        )  # fmt: skip

    film = pour(inp.thickness_mm / 1000.0, resin, inp.offset())
    few = resin.take(slice(0, min(40, resin.count)))
    limit = inp.limit_degC + KELVIN
    trial = np.geomspace(0.0003, 0.05, 12)
    hot = []
    for thickness in trial:
        trial_film = pour(float(thickness), few, 0.0)
        bottom = np.maximum(trial_film.base_peak, trial_film.peak)
        hot.append(float(np.quantile(bottom, 0.95)))
        if hot[-1] > limit + 20.0:
            break
    thickest = float(
        np.exp(np.interp(limit, np.maximum.accumulate(hot), np.log(trial[: len(hot)])))
    )
    gel = hours(film.gel_time, inp.start_s, span)
    peak, base = points(film.peak - KELVIN), points(film.base_peak - KELVIN)
    ranges = {"peak_degC": peak, "base_peak_degC": base}
    if gel:
        ranges["gel_h"] = gel
    warnings = inp.notes() + [n for n in film.warnings if "meant for" not in n]
    if hot[0] >= limit:
        warnings.append("Even 0.3 mm passes the limit: the air itself is too warm.")
    pick = slice(None, None, 2)
    return CalcResult(
        value=LayerValue(
            gel_h=gel.p50 if gel else None,
            peak_degC=peak.p50,
            base_peak_degC=base.p50,
            thickest_mm=thickest * 1000.0,
            limit_ratio=float(np.mean(np.maximum(film.base_peak, film.peak) <= limit)),
            time_h=[float(t) for t in (film.times_s[pick] - inp.start_s) / 3600.0],
            layer_degC=[float(t) for t in np.median(film.temperature[:, pick], axis=0) - KELVIN],
            conversion_share=[float(a) for a in np.median(film.conversion[:, pick], axis=0)],
        ),
        range=ranges,
        warnings=warnings,
    )


def _until_cured(resin: Resin, air_K: float) -> float:
    """A time [s] in which nearly all samples gel and pass their peak."""
    from pourwright.cure.in_air import follow_air

    grid = np.concatenate([[0.0], np.geomspace(600.0, 60 * 86400.0, 120)])
    alpha, _ = follow_air(resin, lambda _: air_K, grid, with_flow=False, tolerance=1e-4)
    when = rises_to(grid, alpha, resin.gel)
    late = float(np.quantile(np.where(np.isfinite(when), when, grid[-1]), 0.95))
    return float(np.clip(1.5 * late, 6 * 3600.0, 60 * 86400.0))
