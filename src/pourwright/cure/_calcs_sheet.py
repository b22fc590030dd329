"""Calculations: a resin from its data sheet, and what an off-ratio mix costs."""

from __future__ import annotations

import numpy as np
from pydantic import Field

from pourwright.calc import CalcResult, CalcValue, calculation
from pourwright.catalogue import Catalogue
from pourwright.cure._calcs_common import (
    CUP_CHECK,
    ENERGIES,
    EXOTHERM,
    GEL,
    GLASS,
    HORIE,
    KELVIN,
    SENSITISER,
    SOFT,
    AirInput,
    Choice,
    ResinInput,
    from_memory,
    points,
    published,
    sources_of,
)
from pourwright.cure.ask import next_figures
from pourwright.cure.fit import fit_sheet
from pourwright.cure.ratio import (
    GOOD_HIGH,
    GOOD_LOW,
    Measuring,
    balance_samples,
    cup_release,
    off_ratio,
    soft_spot_chance,
)
from pourwright.cure.reaction_heat import balance_of
from pourwright.cure.resin import Resin
from pourwright.cure.sheet import MEANING, Kind, SheetLine, is_log, shown_value
from pourwright.errors import InputError
from pourwright.words import say


class FitInput(ResinInput):
    """A data sheet, the class nearest to the product, and what one wants to know."""

    target: Kind = Field(default="recoat_open", description="what one wants to know on site")
    target_degC: float = Field(default=15.0, ge=-10, le=50, description="air on site")
    target_g: float = Field(default=500.0, gt=0, le=1e6, description="mass, for cup figures")


class FittedLine(CalcValue):
    """How a line of the sheet is met."""

    line: str
    given: str
    fitted: str
    off_sigma: float = Field(description="residual in its own standard deviations [-]")


class AskFor(CalcValue):
    """A further figure worth asking for."""

    figure: str
    expected: str
    narrows_to_share: float = Field(description="spread of the target after, over before [-]")


class FitValue(CalcValue):
    """The fitted resin."""

    lines: list[FittedLine]
    strain_ratio: float = Field(description="misfit over number of lines [-]; above 3 is doubtful")
    energy_kJ_mol: float
    k1_per_s: float = Field(description="at 25 degC")
    k2_per_s: float = Field(description="at 25 degC")
    heat_J_g: float
    gel_share: float = Field(description="conversion at gel [-]")
    viscosity_Pa_s: float = Field(description="fresh, at 25 degC")
    target: str
    target_middle: str
    target_low: str
    target_high: str
    ask_next: list[AskFor]


@calculation(
    "cure.fit",
    title="Read a data sheet",
    question="What does this data sheet say of the resin, and which figure should I ask for?",
    sources=sources_of(
        HORIE,
        ENERGIES,
        GEL,
        GLASS,
        published("regularised inverse analysis: Abali et al. 2021, Materials 14, 3853"),
        published("pot life methods differ and must be named: ISO 9514, ISO 10364, ASTM D2471"),
    ),
    validity="two-part room-temperature epoxy-amine mixes; figures of 5 to 40 degC; one gel time "
    "never fixes the activation energy: give a second temperature",
    example={
        "resin": "resin-coating-1to1",
        "sheet": [
            {"kind": "cup_gel", "time": "45 min", "mass_g": 100, "at_degC": 25},
            {"kind": "tack_free", "time_h": 6, "at_degC": 25},
            {"kind": "viscosity", "viscosity_mPa_s": 800, "at_degC": 25},
        ],
        "sample_count": 100,
    },
    cautions=(EXOTHERM, SENSITISER),
)
def fit(inp: FitInput) -> CalcResult[FitValue]:
    """Likeliest constants behind a sheet, residuals, a target's range, the next figure."""
    if not inp.sheet:
        raise InputError(
            "sheet", "empty", "at least one figure is needed", "Give a gel time, mass and degC."
        )
    material = Catalogue().get(inp.resin)
    found = fit_sheet([x.line() for x in inp.sheet], material)
    best = found.resin
    start = {"viscosity": 1.0, "peak": 350.0, "tg": 320.0, "hdt": 320.0, "heat": 3e5}
    target = SheetLine(
        inp.target, start.get(inp.target, 6 * 3600.0), inp.target_degC + KELVIN, inp.target_g / 1000
    )
    draws = inp.draws()
    samples = found.samples(draws)
    from pourwright.cure.forward import predict

    answer = predict(samples, [target])[:, 0]
    spread = points(answer)

    def show(value: float) -> str:
        safe = float(np.clip(value, 10.5, 1e7)) if inp.target not in start else value
        return shown_value(
            SheetLine(inp.target, safe, target.temperature_K, target.mass_kg, label="x")
        )

    ask = next_figures(found, target)[:4]
    low, _, high = found.spread("energy")
    ranges = {
        "energy_kJ_mol": points(samples.e2 / 1000.0),
        "k1_per_s": points(samples.k1),
        "k2_per_s": points(samples.k2),
        "heat_J_g": points(samples.heat / 1000.0),
        "gel_share": points(samples.gel),
        "viscosity_Pa_s": points(samples.viscosity_25),
    }
    warnings = []
    strain = found.strain / len(found.lines)
    if strain > 3.0:
        worst = max(found.lines, key=lambda x: abs(x.residual))
        warnings.append(
            say(
                "The sheet strains the model; '{worst}' fits worst ({residual:+.1f} standard "
                "deviations).",
                worst=worst.name,
                residual=worst.residual,
            )
        )
    if len({round(x.temperature_K) for x in found.sheet if is_log(x)}) < 2:
        warnings.append(
            say(
                "All times are at one temperature: the activation energy stays at its prior "
                "({low:.0f} to {high:.0f} kJ/mol), so other temperatures are uncertain.",
                low=low / 1000,
                high=high / 1000,
            )
        )

    def units(line: SheetLine, value: float) -> str:
        return shown_value(SheetLine(line.kind, _inside(line, value), label="x"))

    return CalcResult(
        value=FitValue(
            lines=[
                FittedLine(
                    line=x.name, given=shown_value(s), fitted=units(s, x.fitted),
                    off_sigma=x.residual,
                )
                for x, s in zip(found.lines, found.sheet, strict=True)
            ],
            strain_ratio=strain,
            energy_kJ_mol=float(best.e2[0]) / 1000.0,
            k1_per_s=float(best.k1[0]),
            k2_per_s=float(best.k2[0]),
            heat_J_g=float(best.heat[0]) / 1000.0,
            gel_share=float(best.gel[0]),
            viscosity_Pa_s=float(best.viscosity_25[0]),
            target=f"{MEANING[inp.target]} at {inp.target_degC:g} degC",
            target_middle=show(spread.p50),
            target_low=show(spread.p05),
            target_high=show(spread.p95),
            ask_next=[
                AskFor(
                    figure=a.line.name, expected=units(a.line, a.line.value),
                    narrows_to_share=a.spread_then / max(a.spread_now, 1e-12),
                )
                for a in ask
            ],
        ),
        range=ranges,
        warnings=warnings,
    )  # fmt: skip


def _inside(line: SheetLine, value: float) -> float:
    low, high = {
        "peak": (253.2, 599.0), "tg": (231.0, 499.0), "hdt": (231.0, 499.0),
        "viscosity": (1.1e-3, 999.0), "heat": (5.1e4, 9.9e5),
    }.get(line.kind, (10.5, 1e7))  # fmt: skip
    return float(np.clip(value, low, high))


class RatioInput(AirInput):
    """How A and B are measured, and what the cup showed."""

    amount_a_mL: float = Field(default=300.0, gt=0, le=1e6, description="resin (A) meant")
    amount_b_mL: float = Field(default=300.0, gt=0, le=1e6, description="hardener (B) meant")
    step_mL: float = Field(default=10.0, ge=0, le=1e4, description="division of the jug")
    read_error_share: float = Field(
        default=0.5, ge=0, le=5, description="reading error in divisions [-]"
    )
    stuck_a_mL: float = Field(default=0.0, ge=0, le=1e4, description="A left in the jug")
    stuck_b_mL: float = Field(default=0.0, ge=0, le=1e4, description="B left in the jug")
    seen: Choice | None = Field(default=None, description="cup release check")
    seen_after_h: float = Field(default=24.0, gt=0, le=1000, description="when the cup was seen")


class RatioValue(CalcValue):
    """What the measuring costs."""

    balance_ratio: float = Field(description="amine hydrogens per epoxide [-]; 1 is exact")
    conversion_share: float = Field(description="highest epoxide conversion [-]")
    junction_share: float = Field(description="network junctions, 1 at the exact ratio [-]")
    sol_share: float = Field(description="mass that is not tied in [-]")
    tg_degC: float = Field(description="fully reacted")
    tg_lost_K: float = Field(description="against the exact ratio")
    soft_spot_share: float = Field(description="chance of soft spots [-]")
    after_check_share: float | None = Field(description="chance after the cup check [-]")
    meaning: str


@calculation(
    "cure.ratio",
    title="Off-ratio mix",
    question="How far off can this mix be, what does it cost, and what does the cup say?",
    sources=sources_of(
        from_memory("Miller and Macosko 1976, Macromolecules 9, 206: network of A4 + B2"),
        HORIE,
        GLASS,
        CUP_CHECK,
        published("stoichiometry changed wettability and free volume most: Bannister et al. 2022"),
    ),
    validity="ideal network, limiting group used up; no published table of Tg against ratio was "
    "found, so Tg is a proposal; balance 0.5 to 2",
    example={"amount_a_mL": 300, "amount_b_mL": 300, "step_mL": 10, "stuck_b_mL": 12},
    cautions=(SOFT, SENSITISER),
)
def ratio(inp: RatioInput) -> CalcResult[RatioValue]:
    """Balance, network, Tg and soft-spot chance of a measured mix."""
    material = Catalogue().get(inp.resin)
    draws = inp.draws()
    eew, ahew = material["eew_kg_mol"], material["ahew_kg_mol"]
    by_mass = (inp.amount_a_mL * material["density_a_kg_m3"]) / (
        inp.amount_b_mL * material["density_b_kg_m3"]
    )
    exact = float(balance_of(by_mass, eew, ahew))
    measuring = Measuring(
        inp.amount_a_mL * 1e-6, inp.amount_b_mL * 1e-6, inp.step_mL * 1e-6,
        inp.read_error_share, inp.stuck_a_mL * 1e-6, inp.stuck_b_mL * 1e-6,
    )  # fmt: skip
    balance = np.clip(balance_samples(measuring, draws, exact), 0.05, 20.0)
    resin = Resin.from_material(material, draws) if not inp.sheet else inp.samples()
    cost = off_ratio(resin, balance, eew, ahew)
    full = off_ratio(resin, np.ones_like(balance), eew, ahew)
    ranges = {
        "balance_ratio": points(balance),
        "conversion_share": points(cost.conversion),
        "junction_share": points(cost.junctions),
        "sol_share": points(cost.sol),
        "tg_degC": points(cost.tg_K - KELVIN),
        "tg_lost_K": points(full.tg_K - cost.tg_K),
    }
    chance = soft_spot_chance(balance)
    warnings = []
    if not 0.8 <= exact <= 1.25:
        warnings.append(
            say(
                "The amounts meant give a balance of {exact:.2f}: that is not this resin's mixing "
                "ratio.",
                exact=exact,
            )
        )
    side = "resin" if ranges["balance_ratio"].p50 < 1 else "hardener"
    meaning = say(
        "Balance {balance:.2f}: on the {side}-rich side. Inside {low:g} to {high:g} "
        "a film cures hard; beyond, resin-rich mixes stay soft and hardener-rich ones blush, "
        "take up water and yellow.",
        balance=ranges["balance_ratio"].p50,
        side=side,
        low=GOOD_LOW,
        high=GOOD_HIGH,
    )
    after = None
    if inp.seen is not None:
        verdict = cup_release(
            resin, balance, inp.history(), inp.start_s,
            inp.start_s + inp.seen_after_h * 3600.0, inp.seen,
        )  # fmt: skip
        after, meaning = verdict.soft_after, f"{verdict.meaning} {meaning}"
    return CalcResult(
        value=RatioValue(
            balance_ratio=ranges["balance_ratio"].p50,
            conversion_share=ranges["conversion_share"].p50,
            junction_share=ranges["junction_share"].p50,
            sol_share=ranges["sol_share"].p50,
            tg_degC=ranges["tg_degC"].p50,
            tg_lost_K=ranges["tg_lost_K"].p50,
            soft_spot_share=chance,
            after_check_share=after,
            meaning=meaning,
        ),
        range=ranges,
        warnings=warnings,
    )
