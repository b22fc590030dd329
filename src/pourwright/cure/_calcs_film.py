"""Calculations: flow left, windows, match the board, live correction."""

from __future__ import annotations

import numpy as np
from pydantic import Field

from pourwright.calc import CalcInput, CalcResult, CalcValue, Spread, calculation
from pourwright.cure._calcs_common import (
    ENERGIES,
    FLAME,
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
    computed,
    from_memory,
    hours,
    points,
    practice,
    published,
    sources_of,
)
from pourwright.cure.crossing import at_time
from pourwright.cure.layer import FilmHistory, film_history
from pourwright.cure.limits import BOLD, FINE, Limits, Thread
from pourwright.cure.torch import torch_pass
from pourwright.cure.windows import Window, window_notes, windows
from pourwright.film.fluid import Fluid
from pourwright.film.laws import longest_levelled

CLOCK = computed("flow left, the integral of dt/viscosity to gel")
ORCHARD = from_memory("Orchard 1962, Appl. Sci. Res. A 11, 451: levelling")
JEFFREYS = published("Jeffreys 1930, Proc. Camb. Phil. Soc. 26, 204: film left on an upright face")
OWN = practice("handle, use and service by Tg over the film's temperature; recoat limits proposed")


class FilmInput(AirInput):
    """A film poured at `at_h`."""

    film_mm: float = Field(default=1.0, ge=0.02, le=100, description="wet film")
    under: list[CorePart] = Field(
        default_factory=list, max_length=8, description="boards below, top first; none: film at air"
    )
    aged_min: float = Field(
        default=0.0,
        ge=0,
        le=600,
        description="since mixing when poured, at air temperature",
    )

    def film(
        self, duration_s: float, torch_at: tuple[tuple[float, float], ...] = ()
    ) -> FilmHistory:
        """The film's history."""
        resin, air = self.samples(), self.history()
        core = tuple(x.layer() for x in self.under) if self.under else None
        first: object = 0.0
        if self.aged_min > 0:
            before = film_history(
                resin, air, self.start_s, 0.001, None, self.aged_min * 60.0,
                times_s=self.start_s + np.linspace(0.0, self.aged_min * 60.0, 7),
            )  # fmt: skip
            first = np.minimum(before.conversion[:, -1], 0.999)
        return film_history(
            resin, air, self.start_s, self.film_mm / 1000.0, core, duration_s,
            first_conversion=first, air_offset_K=self.offset(),
        )  # fmt: skip


class FlowInput(FilmInput):
    """When to look, and a torch pass if any."""

    times_min: list[float] = Field(
        default=[0.0, 5.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0], min_length=1, max_length=200,
        description="minutes after the pour",
    )  # fmt: skip
    kept_share: float = Field(
        default=0.05, gt=0, lt=1, description="share of a mark's height that may stay [-]"
    )
    torch_min: float | None = Field(default=None, ge=0, description="a torch pass, after the pour")
    torch_rise_K: float = Field(default=20.0, ge=0, le=150, description="it warms the film by this")
    torch_fade_s: float = Field(default=30.0, ge=1, le=600, description="and fades in this time")


class FlowValue(CalcValue):
    """Flow left over time, middle values."""

    times_min: list[float]
    flow_left_per_Pa: list[float]
    viscosity_Pa_s: list[float | None] = Field(description="none from gel on")
    levels_up_to_mm: list[float] = Field(description="longest mark that still levels")
    gel_h: float | None
    torch_extra_per_Pa: float = Field(description="flow gained by the torch pass")
    torch_extra_conversion_share: float = Field(description="conversion it costs [-]")


@calculation(
    "cure.flow_left",
    title="Flow left",
    question="How much can this film still flow, minute by minute?",
    sources=sources_of(CLOCK, HORIE, ENERGIES, THICKENING, GEL, ORCHARD),
    validity="films of one viscosity in depth; before gel; 5 to 40 degC; no yield stress or filler",
    example={"resin": "resin-coating-1to1", "film_mm": 1.0, "air_degC": 20},
    cautions=(SENSITISER, FLAME),
)
def flow_left(inp: FlowInput) -> CalcResult[FlowValue]:
    """Flow left, viscosity and longest levelled mark at chosen times."""
    look = sorted({float(t) for t in inp.times_min if 0 <= t <= 60 * 24 * 14})
    film = inp.film(max(2 * 86400.0, (look[-1] if look else 0.0) * 60.0 + 3600.0))
    r = film.resin
    fluid = Fluid(float(np.median(r.density)), float(np.median(r.surface_tension)))
    left, eta, marks, ranges = [], [], [], {}
    for i, t in enumerate(look):
        now = film.flow_left_at(film.start_s + 60.0 * t)
        thin = at_time(film.times_s, 1.0 / film.viscosity, film.start_s + 60.0 * t)
        left.append(float(np.median(now)))
        middle = float(np.median(thin))
        eta.append(1.0 / middle if middle > 0 else None)
        marks.append(1000.0 * longest_levelled(film.thickness_m, left[-1], inp.kept_share, fluid))
        ranges[f"flow_left_per_Pa[{i}]"] = points(now)
    gel = hours(film.gel_time, film.start_s, film.end_s - film.start_s)
    if gel:
        ranges["gel_h"] = gel
    extra_flow = extra_cure = 0.0
    if inp.torch_min is not None:
        when = film.start_s + 60.0 * inp.torch_min
        a = at_time(film.times_s, film.conversion, when)
        temp = at_time(film.times_s, film.temperature, when)
        done = torch_pass(r, a, temp, inp.torch_rise_K, inp.torch_fade_s)
        extra_flow, extra_cure = (
            float(np.median(done.extra_flow)),
            float(np.median(done.extra_conversion)),
        )
        ranges["torch_extra_per_Pa"] = points(done.extra_flow)
    return CalcResult(
        value=FlowValue(
            times_min=look,
            flow_left_per_Pa=left,
            viscosity_Pa_s=eta,
            levels_up_to_mm=marks,
            gel_h=gel.p50 if gel else None,
            torch_extra_per_Pa=extra_flow,
            torch_extra_conversion_share=extra_cure,
        ),
        range=ranges,
        warnings=list(film.warnings),
    )


class VeinInput(CalcInput):
    """A vein as drizzled."""

    width_mm: float = Field(gt=0, le=200, description="as it lands")
    area_mm2: float = Field(gt=0, le=2000, description="cross-section as it lands")
    target_mm: float = Field(gt=0, le=500, description="widest it may end")

    def thread(self) -> Thread:
        """In SI units."""
        return Thread(self.width_mm / 1000, self.area_mm2 / 1e6, self.target_mm / 1000)


class WindowsInput(FilmInput):
    """What is asked of the film."""

    mark_mm: float = Field(default=20.0, gt=0, le=5000, description="marks that must level")
    kept_share: float = Field(default=0.05, gt=0, lt=1, description="of their height may stay [-]")
    edge_mm: float = Field(default=40.0, gt=0, le=5000, description="depth of the turned edge")
    edge_film_mm: float = Field(default=0.3, gt=0, le=20, description="film kept at its foot")
    veins: list[VeinInput] = Field(default_factory=list, max_length=12, description="veins to lay")
    look_d: float = Field(default=14.0, ge=0.5, le=60, description="how far ahead to look")

    def threads(self) -> list[Thread]:
        """Veins in SI units, the usual two if none are given."""
        return [v.thread() for v in self.veins] or [BOLD, FINE]

    def limits(self) -> Limits:
        """In SI units."""
        return Limits(
            mark_m=self.mark_mm / 1000, kept=self.kept_share,
            edge_drop_m=self.edge_mm / 1000, edge_film_m=self.edge_film_mm / 1000,
        )  # fmt: skip


class WindowValue(CalcValue):
    """One window, after the pour."""

    key: str
    label: str
    opens_h: float | None = Field(description="middle; none if not reached")
    closes_h: float | None = Field(description="middle; none if it stays open or is not reached")
    opens: Spread | None = Field(description="5/50/95 % points [h]")
    closes: Spread | None = Field(description="5/50/95 % points [h]")
    stays_open: bool
    reached_share: float = Field(description="of cases in which it opens [-]")
    criterion: str


class WindowsValue(CalcValue):
    """All windows of a film."""

    windows: list[WindowValue]
    tg_after_degC: float = Field(description="middle Tg at the end of the time looked at")
    tg_after_d: float


def window_value(w: Window, start_s: float) -> WindowValue:
    """A window as a plain value, hours after `start_s`."""

    def shift(s: Spread | None) -> Spread | None:
        if s is None:
            return None
        return Spread(**{k: (v - start_s) / 3600.0 for k, v in s.model_dump().items()})

    opens, closes = shift(w.start()), shift(w.end())
    return WindowValue(
        key=w.key, label=w.label,
        opens_h=opens.p50 if opens else None, closes_h=closes.p50 if closes else None,
        opens=opens, closes=closes, stays_open=w.open_ended, reached_share=w.reached,
        criterion=w.criterion if w.end_text else f"from {w.start_text}",
    )  # fmt: skip


@calculation(
    "cure.windows",
    title="Windows of a film",
    question="From when to when does this film allow each step?",
    sources=sources_of(
        CLOCK, HORIE, ENERGIES, THICKENING, GEL, TACK, GLASS, ORCHARD, JEFFREYS, OWN
    ),
    validity="films to 6 mm, 5 to 40 degC; recoat, handle and use limits are proposals to be set "
    "from the product's data sheet",
    example={
        "resin": "resin-colour-1to1-uv",
        "film_mm": 0.955,
        "hourly_degC": [13, 13, 13, 13, 13, 13, 14, 14, 15, 16, 17, 18,
                        18, 19, 19, 19, 18, 17, 16, 15, 15, 14, 14, 13],
        "repeat_day": True,
        "at_h": 10,
    },
    cautions=(SENSITISER, SOFT, SERVICE, FLAME),
)  # fmt: skip
def windows_calc(inp: WindowsInput) -> CalcResult[WindowsValue]:
    """All windows with their criteria."""
    film = inp.film(inp.look_d * 86400.0)
    found = windows(film, limits=inp.limits(), veins=inp.threads())
    values = [window_value(w, film.start_s) for w in found.values()]
    ranges = {}
    for v in values:
        if v.opens:
            ranges[f"windows[{v.key}].opens_h"] = v.opens
        if v.closes:
            ranges[f"windows[{v.key}].closes_h"] = v.closes
    ranges["tg_after_degC"] = points(film.tg[:, -1] - KELVIN)
    return CalcResult(
        value=WindowsValue(
            windows=values,
            tg_after_degC=float(np.median(film.tg[:, -1])) - KELVIN,
            tg_after_d=inp.look_d,
        ),
        range=ranges,
        warnings=list(film.warnings) + window_notes(found),
    )
