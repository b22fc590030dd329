"""Lines of a data sheet, or of a shop's own log, and the plain contradictions among them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from pourwright.cure.history import check_temperature
from pourwright.errors import InputError
from pourwright.words import Amount, say

Kind = Literal[
    "cup_gel", "pot_life", "cup_warm", "peak", "film_gel", "tack_free", "recoat_open",
    "recoat_close", "full_cure", "viscosity", "tg", "hdt", "heat",
]  # fmt: skip

CUP_KINDS = ("cup_gel", "pot_life", "cup_warm", "peak")
FILM_TIMES = ("film_gel", "tack_free", "recoat_open", "recoat_close", "full_cure")
TIMES = ("cup_gel", "pot_life", "cup_warm", *FILM_TIMES)

# usual spread of a figure, one standard deviation: of its logarithm, or in K
SPREAD: dict[str, float] = {
    "cup_gel": 0.12,
    "pot_life": 0.15,
    "cup_warm": 0.15,
    "peak": 10.0,
    "film_gel": 0.20,
    "tack_free": 0.25,
    "recoat_open": 0.25,
    "recoat_close": 0.30,
    "full_cure": 0.40,
    "viscosity": 0.15,
    "tg": 6.0,
    "hdt": 8.0,
    "heat": 0.05,
}
MEANING: dict[str, str] = {
    "cup_gel": "gel in a cup",
    "pot_life": "pot life, viscosity doubled by cure",
    "cup_warm": "pot life, warmed itself by 10 K",
    "peak": "peak temperature of a cup",
    "film_gel": "gel of a film",
    "tack_free": "tack-free",
    "recoat_open": "earliest recoat",
    "recoat_close": "latest recoat without sanding",
    "full_cure": "full cure",
    "viscosity": "mixed viscosity",
    "tg": "glass transition",
    "hdt": "heat deflection temperature",
    "heat": "heat of reaction",
}
HDT_UNDER_TG_K = 8.0  # a heat deflection temperature reads about this much under Tg; from memory


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One figure of a data sheet or of a shop's log.

    Parameters
    ----------
    kind : str [-]
        What it is: one of `MEANING`.
    value : float [s, K, Pa s or J/kg]
        The figure; times in seconds, viscosity in Pa s, temperatures in K, heat in J/kg.
    temperature_K : float [K]
        Air temperature at which it holds.
    mass_kg : float [kg]
        Mass in the cup, for figures of a cup.
    cured_s : float [s]
        Time of cure before a Tg or HDT was measured.
    spread : float or None [-]
        One standard deviation, of the logarithm or in K for peak, Tg and HDT; None is the usual.
    label : str [-]
        As the user knows the line.
    """

    kind: Kind
    value: float
    temperature_K: float = 298.15
    mass_kg: float = 0.1
    cured_s: float = 7 * 86400.0
    spread: float | None = None
    label: str = ""

    def __post_init__(self) -> None:
        if self.kind not in get_args(Kind):
            raise InputError(
                "sheet.kind",
                self.kind,
                say("it is one of {names}", names=", ".join(MEANING)),
                "Use one of these.",
            )
        name = self.name
        check_temperature(f"{name}: temperature", self.temperature_K)
        low, high, unit = {
            "peak": (253.15, 600.0, "K"),
            "tg": (230.0, 500.0, "K"),
            "hdt": (230.0, 500.0, "K"),
            "viscosity": (1e-3, 1e3, "Pa s"),
            "heat": (5e4, 1e6, "J/kg"),
        }.get(self.kind, (10.0, 120 * 86400.0, "s"))
        if not low <= self.value <= high:
            raise InputError(
                name,
                self.value,
                say(
                    "it must lie between {low:g} and {high:g}",
                    low=Amount(low, unit),
                    high=Amount(high, unit),
                ),
                "Check the figure and its unit on the sheet.",
            )
        if self.kind in CUP_KINDS and not 1e-3 <= self.mass_kg <= 1000.0:
            raise InputError(
                f"{name}: mass",
                self.mass_kg,
                "it must lie between 1 g and 1000 kg",
                "Give the mass that the sheet names beside the figure (100 g is usual).",
            )
        if self.spread is not None and not 1e-3 <= self.spread <= 50.0:
            raise InputError(f"{name}: spread", self.spread, "it must be 0.001 to 50", "Omit it.")

    @property
    def name(self) -> str:
        """The line in words [-]."""
        if self.label:
            return self.label
        text = MEANING[self.kind]
        if self.kind in CUP_KINDS:
            text += f", {self.mass_kg * 1000:.4g} g"
        if self.kind != "heat":
            text += f" at {self.temperature_K - 273.15:.3g} degC"
        return text

    @property
    def sigma(self) -> float:
        """One standard deviation, of the logarithm or in K [-]."""
        return self.spread if self.spread is not None else SPREAD[self.kind]


def is_log(line: SheetLine) -> bool:
    """Whether a figure's logarithm is what has a spread; temperatures have theirs in K.

    Parameters
    ----------
    line : SheetLine [-]
        The figure.

    Returns
    -------
    bool [-]
        False for peak, Tg and HDT.
    """
    return line.kind not in ("peak", "tg", "hdt")


def check_sheet(lines: Sequence[SheetLine]) -> None:
    """Refuse lines that no resin could obey, naming the two that fight.

    Parameters
    ----------
    lines : sequence of SheetLine [-]
        The sheet.

    Raises
    ------
    InputError
        A later stage before an earlier one at the same or a cooler temperature, a warmer figure
        slower than a colder one, a larger cup slower than a smaller one, thicker when warmer.
    """
    # stage that must come first -> stages that must come after it, at no cooler a room
    order = {
        "film_gel": ("tack_free", "full_cure", "recoat_close"),
        "cup_gel": ("tack_free", "full_cure", "recoat_close"),
        "pot_life": ("tack_free", "full_cure", "recoat_close"),
        "cup_warm": ("full_cure",),
        "tack_free": ("full_cure",),
        "recoat_open": ("recoat_close", "full_cure"),
        "recoat_close": ("full_cure",),
    }
    for early in lines:
        for late in lines:
            if late.kind in order.get(early.kind, ()) and late.value <= early.value:
                if early.kind in CUP_KINDS and early.mass_kg < 0.05:
                    continue  # a thimble of resin may gel later than a film is tack-free elsewhere
                if early.temperature_K >= late.temperature_K - 0.5:
                    _fight(early, late, say("comes no earlier than '{name}'", name=late.name))
    for a in lines:
        for b in lines:
            if a is b or a.kind != b.kind:
                continue
            warmer = b.temperature_K > a.temperature_K + 0.5
            same_room = abs(b.temperature_K - a.temperature_K) <= 0.5
            same_mass = abs(b.mass_kg - a.mass_kg) <= 1e-9 or a.kind not in CUP_KINDS
            if a.kind in TIMES and warmer and same_mass and b.value >= a.value:
                _fight(b, a, say("is slower although warmer than '{name}'", name=a.name))
            if a.kind == "viscosity" and warmer and b.value >= a.value:
                _fight(b, a, say("is thicker although warmer than '{name}'", name=a.name))
            larger = a.kind in CUP_KINDS and b.mass_kg > a.mass_kg * 1.01
            if a.kind in ("cup_gel", "pot_life") and larger and same_room and b.value > a.value:
                _fight(
                    b,
                    a,
                    say("lasts longer although more stands together than '{name}'", name=a.name),
                )
            if a.kind == "peak" and larger and same_room and b.value < a.value:
                _fight(
                    b,
                    a,
                    say("stays cooler although more stands together than '{name}'", name=a.name),
                )


def _fight(a: SheetLine, b: SheetLine, why: str) -> None:
    raise InputError(
        a.name,
        shown_value(a),
        say("it {why} ({value}): both cannot hold", why=why, value=shown_value(b)),
        say(
            "Look up '{one}' and '{other}' on the sheet again, and leave the doubtful one out.",
            one=a.name,
            other=b.name,
        ),
    )


def shown_value(line: SheetLine) -> str:
    """A line's figure in readable units.

    Parameters
    ----------
    line : SheetLine [SI]
        The figure.

    Returns
    -------
    str [-]
        Such as ``45 min`` or ``52.1 degC``.
    """
    v = line.value
    if line.kind in TIMES:
        if v < 7200:
            return f"{v / 60:.3g} min"
        return f"{v / 3600:.3g} h" if v < 2 * 86400 else f"{v / 86400:.3g} d"
    if line.kind == "viscosity":
        return f"{v * 1000:.4g} mPa s"
    if line.kind == "heat":
        return f"{v / 1000:.4g} J/g"
    return f"{v - 273.15:.3g} degC"
