"""The build-up as the endurance calculations ask for it: flat keys, catalogue ids."""

from __future__ import annotations

from pydantic import Field

from pourwright.calc import CalcInput, Draws
from pourwright.catalogue import Material, default, get
from pourwright.endure.build import Panel, Ply, Service, Shape
from pourwright.endure.coupon import Coupon

SAMPLES = 400
ZERO = 273.15  # [K]


class BuildInput(CalcInput):
    """Resin on a board, with optional primer, skins and back film."""

    resin: str = Field(default="cured-coating", description="cured film, id in the catalogue")
    film_mm: float = Field(
        default=3.0, gt=0, le=50, description="cured film on the face, all coats"
    )
    film_error_percent: float = Field(
        default=10.0, ge=0, le=60, description="how far off it may be"
    )
    primer_mm: float = Field(default=0.0, ge=0, le=5, description="primer under it, cured")
    skin_mm: float = Field(
        default=0.0, ge=0, le=20, description="glass skin on each side, for a foam core"
    )
    core: str = Field(default="mdf", description="board, id in the catalogue")
    core_mm: float = Field(default=18.0, gt=0, le=200)
    back_mm: float = Field(default=0.0, ge=0, le=50, description="same resin on the back")
    post_cured: bool = Field(default=False, description="film warmed after cure")
    damp: bool = Field(default=False, description="damp room")
    seed: int = 1

    def plies(self) -> tuple[Ply, ...]:
        """The plies [m], from the face to the back; raises `InputError` for an unknown id."""
        film = get(self.resin, kind="cured")
        # stone, steel and other tops may be asked about too
        board = _board(self.core)
        off = self.film_error_percent / 100.0
        rows = [Ply(film, self.film_mm / 1000, "coat", off)]
        if self.primer_mm > 0:
            rows.append(Ply(get("cured-primer"), self.primer_mm / 1000, "coat", off))
        if self.skin_mm > 0:
            rows.append(Ply(get("cured-glass-skin"), self.skin_mm / 1000, "skin"))
        rows.append(Ply(board, self.core_mm / 1000, "core"))
        if self.skin_mm > 0:
            rows.append(Ply(get("cured-glass-skin"), self.skin_mm / 1000, "skin"))
        if self.back_mm > 0:
            rows.append(Ply(film, self.back_mm / 1000, "back", off))
        return tuple(rows)

    def panel(self, shape: Shape, service: Service, coupon: Coupon | None = None) -> Panel:
        """The panel for the checks [-], with the seed's samples."""
        return Panel(self.plies(), shape, service, Draws(self.seed, SAMPLES), coupon)


def _board(ident: str) -> Material:
    """A core, or a top to compare with; the error suggests cores."""
    if ident in default() and get(ident).kind == "comparison":
        return get(ident)
    return get(ident, kind="core")


def kelvin(celsius: float) -> float:
    """A temperature in degrees Celsius as kelvin.

    Parameters
    ----------
    celsius : float [degC]
        Temperature.

    Returns
    -------
    float [K]
    """
    return celsius + ZERO
