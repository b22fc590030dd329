"""Calculations: match the board, and the live correction."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from pourwright.calc import CalcInput, CalcResult, CalcValue, calculation
from pourwright.cure._calcs_common import (
    BALANCE,
    ENERGIES,
    EXOTHERM,
    GLASS,
    HORIE,
    KELVIN,
    SENSITISER,
    SERVICE,
    SOFT,
    THICKENING,
    AirInput,
    points,
    sources_of,
)
from pourwright.cure._calcs_film import CLOCK, WindowsInput, WindowValue, window_value
from pourwright.cure.board import Pour, match_board, right_air
from pourwright.cure.history import AirHistory
from pourwright.cure.live import Reading, correct
from pourwright.cure.windows import window_notes, windows
from pourwright.words import say


class BoardInput(AirInput):
    """The board, and the site (whose air is `air_degC` or `hourly_degC` from `at_h`)."""

    board_degC: float = Field(default=18.0, ge=0, le=45, description="air at the board")
    board_film_mm: float = Field(default=1.0, ge=0.1, le=20, description="its wet film")
    board_cup_g: float = Field(default=100.0, ge=1, le=20000, description="mass in its cup")
    board_stands_min: float = Field(default=3.0, ge=0, le=240, description="from mixing to pour")
    board_wait_min: float = Field(default=15.0, ge=0, le=1440, description="from pour to the move")
    film_mm: float = Field(default=1.0, ge=0.1, le=20, description="wet film on site")
    cup_g: float = Field(default=700.0, ge=1, le=50000, description="mass in a cup on site")
    stands_min: float = Field(default=6.0, ge=0, le=240, description="from mixing to pour on site")


class BoardValue(CalcValue):
    """When to make the move on site."""

    wait_min: float = Field(description="middle wait from the pour, equal flow left")
    wait_settled_min: float = Field(description="middle wait by equal flow used since the pour")
    flow_left_per_Pa: float
    too_late_share: float = Field(description="of cases already past it at the pour [-]")
    air_for_board_wait_degC: float | None = Field(
        description="air on site in which the board's own wait would leave the same flow"
    )
    air_for_settled_degC: float | None = Field(
        description="air on site in which it would have settled the same"
    )


@calculation(
    "cure.match_board",
    title="Match the board",
    question="How long to wait on site so that the move falls on the film as it did on the board?",
    sources=sources_of(CLOCK, HORIE, ENERGIES, THICKENING, BALANCE),
    validity="same resin and ratio on both; 5 to 40 degC; films of nearly equal thickness",
    example={"board_degC": 18, "board_wait_min": 15, "air_degC": 29, "sample_count": 100},
    cautions=(SENSITISER, EXOTHERM),
)
def match_board_calc(inp: BoardInput) -> CalcResult[BoardValue]:
    """Wait on site by equal flow left, and the air that would make the board's wait right."""
    resin = inp.samples()
    board = Pour(
        AirHistory.constant(inp.board_degC + KELVIN), inp.board_film_mm / 1000, 0.0,
        inp.board_stands_min * 60.0, inp.board_cup_g / 1000,
    )  # fmt: skip
    site = Pour(
        inp.history(), inp.film_mm / 1000, inp.start_s, inp.stands_min * 60.0, inp.cup_g / 1000
    )
    match = match_board(resin, board, inp.board_wait_min * 60.0, site)
    few = resin.take(slice(0, min(60, resin.count)))
    right = right_air(few, board, inp.board_wait_min * 60.0, site, inp.board_wait_min * 60.0)
    wait = points(match.wait_s / 60.0)
    ranges = {
        "wait_min": wait,
        "wait_settled_min": points(match.wait_used_s / 60.0),
        "flow_left_per_Pa": points(match.flow_left),
    }
    warnings = inp.notes()
    if match.too_late > 0.05:
        warnings.append(
            say(
                "In {share:.0%} of cases the site's film has less flow left at its pour than the "
                "board had at its move: pour sooner after mixing, smaller cups, or cool the resin.",
                share=match.too_late,
            )
        )

    def air(values: NDArray[np.float64], key: str) -> float | None:
        if np.mean(np.isfinite(values)) <= 0.5:
            warnings.append(
                "No air from 5 to 40 degC makes the board's wait right by "
                + ("flow left." if "board" in key else "flow used.")
            )
            return None
        good = values[np.isfinite(values)] - KELVIN
        ranges[key] = points(good)
        return ranges[key].p50

    left_air = air(right.left_K, "air_for_board_wait_degC")
    used_air = air(right.used_K, "air_for_settled_degC")
    return CalcResult(
        value=BoardValue(
            wait_min=wait.p50,
            wait_settled_min=ranges["wait_settled_min"].p50,
            flow_left_per_Pa=float(np.median(match.flow_left)),
            too_late_share=match.too_late,
            air_for_board_wait_degC=left_air,
            air_for_settled_degC=used_air,
        ),
        range=ranges,
        warnings=warnings,
    )


class LookInput(CalcInput):
    """One look at the film."""

    after_min: float = Field(ge=0, le=60 * 24 * 14, description="minutes after the pour")
    kind: Literal["viscosity", "stick", "gelled", "tack_free"] = Field(description="what was seen")
    viscosity_Pa_s: float | None = Field(default=None, gt=0, description="for viscosity")
    stick: Literal["runs", "ribbon", "rope", "strings"] | None = Field(
        default=None, description="how it leaves a lifted stick"
    )
    yes: bool | None = Field(default=None, description="for gelled and tack_free")

    def reading(self, start_s: float) -> Reading:
        """In SI units."""
        value = {"viscosity": self.viscosity_Pa_s, "stick": self.stick}.get(self.kind, self.yes)
        return Reading(start_s + self.after_min * 60.0, self.kind, value)


class LiveInput(WindowsInput):
    """What has been measured since the pour."""

    measured_min: list[float] = Field(
        default_factory=list, max_length=500, description="minutes after the pour"
    )
    measured_degC: list[float] = Field(
        default_factory=list, max_length=500, description="air temperature then"
    )
    looks: list[LookInput] = Field(default_factory=list, max_length=50, description="looks so far")


class LiveValue(CalcValue):
    """The rest of the day, corrected."""

    windows: list[WindowValue]
    agree_share: float = Field(description="of the samples that agree with what was seen [-]")


@calculation(
    "cure.live",
    title="Live correction",
    question="What has changed for the rest of the day, now that these readings are in?",
    sources=sources_of(CLOCK, HORIE, ENERGIES, THICKENING, GLASS),
    validity="5 to 40 degC; stick words are a rough scale of our own",
    example={
        "air_degC": 20,
        "measured_min": [0, 30, 60],
        "measured_degC": [22, 23, 24],
        "looks": [{"after_min": 60, "kind": "stick", "stick": "ribbon"}],
    },
    cautions=(SENSITISER, SOFT, SERVICE),
)
def live(inp: LiveInput) -> CalcResult[LiveValue]:
    """Windows recomputed with measured temperatures and looks at the film."""
    start = inp.start_s
    done = correct(
        inp.samples(), inp.history(), start, inp.film_mm / 1000.0,
        temps_s=[start + 60.0 * t for t in inp.measured_min],
        temps_K=[t + KELVIN for t in inp.measured_degC],
        readings=[x.reading(start) for x in inp.looks],
        core_layers=tuple(x.layer() for x in inp.under) if inp.under else None,
        duration_s=inp.look_d * 86400.0,
    )  # fmt: skip
    found = windows(done.film, limits=inp.limits(), veins=inp.threads())
    values = [window_value(w, start) for w in found.values()]
    ranges = {f"windows[{v.key}].opens_h": v.opens for v in values if v.opens}
    ranges |= {f"windows[{v.key}].closes_h": v.closes for v in values if v.closes}
    return CalcResult(
        value=LiveValue(windows=values, agree_share=done.agree),
        range=ranges,
        warnings=list(done.warnings) + window_notes(found),
    )
