"""A mixed resin as samples: one value, or thousands of equally likely ones, of each constant."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pourwright.cure import glass, viscosity
from pourwright.cure.joint import joint_draws
from pourwright.cure.kinetics import arrhenius
from pourwright.cure.reaction_heat import HEAT_PER_EPOXIDE, heat_of_mix
from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.calc.sampling import Draws
    from pourwright.catalogue.model import Material

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

LOWEST_K, HIGHEST_K = 278.15, 313.15  # room range in which the classes are meant to hold [K]


@dataclass(frozen=True, eq=False)
class Resin:
    """Kinetics, heat, viscosity and glass transition of a mixed resin, shape (n,) each.

    Parameters
    ----------
    k1, k2 : array [1/s]
        Rate constants at 25 degC of (k1 + k2 a)(1 - a)(B - a).
    e1, e2 : array [J/mol]
        Their activation energies.
    balance : array [-]
        B, amine hydrogens per epoxide group (1 at the exact ratio).
    heat : array [J/kg]
        Heat of reaction per unit of conversion.
    density : array [kg/m3]
        Density of the liquid mix.
    heat_capacity : array [J/(kg K)]
        Specific heat capacity of the liquid mix.
    conductivity : array [W/(m K)]
        Thermal conductivity.
    viscosity_25 : array [Pa s]
        Viscosity of the fresh mix at 25 degC.
    flow_energy : array [J/mol]
        Apparent flow energy at 25 degC.
    flow_freeze : array [K]
        VFT temperature (0 for Arrhenius).
    gel : array [-]
        Epoxide conversion at gel.
    thick_a, thick_b : array [-]
        A and B of the thickening exponent A + B a.
    tg_start, tg_end : array [K]
        Glass transition unreacted and fully reacted.
    tg_bend : array [-]
        lambda of DiBenedetto.
    glass_lead, glass_width : array [K]
        How far Tg leads the temperature when vitrification halves the rate, and its sharpness; a
        lead of 1e6 switches vitrification off.
    tack : array [-]
        Conversion at which the film is tack-free.
    recoat_open, recoat_close : array [-]
        Conversions between which the next coat bonds without sanding.
    surface_tension : array [N/m]
        Of the liquid.
    film_coefficient : array [W/(m2 K)]
        Heat passed to still air by free convection and radiation.
    name : str [-]
        For messages.
    """

    k1: _Array
    k2: _Array
    e1: _Array
    e2: _Array
    balance: _Array
    heat: _Array
    density: _Array
    heat_capacity: _Array
    conductivity: _Array
    viscosity_25: _Array
    flow_energy: _Array
    flow_freeze: _Array
    gel: _Array
    thick_a: _Array
    thick_b: _Array
    tg_start: _Array
    tg_end: _Array
    tg_bend: _Array
    glass_lead: _Array
    glass_width: _Array
    tack: _Array
    recoat_open: _Array
    recoat_close: _Array
    surface_tension: _Array
    film_coefficient: _Array
    name: str = "resin"

    def __post_init__(self) -> None:
        arrays = {k: np.atleast_1d(np.asarray(getattr(self, k), float)) for k in ARRAYS}
        n = max(a.size for a in arrays.values())
        for key, a in arrays.items():
            if a.size not in (1, n) or a.ndim != 1:
                raise InputError(
                    f"{self.name}.{key}",
                    a.shape,
                    say("it must have 1 or {n} values", n=n),
                    "Resample it.",
                )
            low, high, remedy = LIMITS[key]
            if not np.all((a >= low) & (a <= high)):
                bad = a[~((a >= low) & (a <= high))][0]
                raise InputError(
                    f"{self.name}.{key}",
                    float(bad),
                    say("it must lie between {low:g} and {high:g}", low=low, high=high),
                    remedy,
                )
            object.__setattr__(self, key, np.broadcast_to(a, (n,)))

    @property
    def count(self) -> int:
        """Number of samples [-]."""
        return int(self.k1.size)

    @property
    def ceiling(self) -> _Array:
        """Highest possible epoxide conversion min(1, B) [-], shape (n,)."""
        return np.minimum(1.0, self.balance)

    def with_values(self, **changes: Any) -> Resin:
        """The same resin with some constants changed [units of the class]; arrays broadcast."""
        return replace(self, **changes)

    def take(self, which: Any) -> Resin:
        """The samples picked by an index, slice or mask [-], as a new resin."""
        picked: dict[str, Any] = {k: np.atleast_1d(getattr(self, k)[which]) for k in ARRAYS}
        return replace(self, **picked)

    def middle(self) -> Resin:
        """One sample at the median of each constant [units of the class]."""
        mid: dict[str, Any] = {k: np.atleast_1d(np.median(getattr(self, k))) for k in ARRAYS}
        return replace(self, **mid)

    def with_balance(self, balance: Floats) -> Resin:
        """The same resin mixed off-ratio.

        Parameters
        ----------
        balance : float or array [-]
            New B, amine hydrogens per epoxide group, 0.34 to 2.9 (outside it never gels).

        Returns
        -------
        Resin [-]
            Gel, tack and recoat conversions scale with sqrt(B), as Flory and Stockmayer have it for
            gel, held under min(1, B); heat per epoxide stays, so per mass it changes a little (not
            counted, under 3 % for B within 10 %).
        """
        b = np.asarray(balance, dtype=float)
        scale = np.sqrt(b / self.balance)
        top = np.minimum(1.0, b)
        return replace(
            self,
            balance=np.broadcast_to(b, np.broadcast_shapes(b.shape, self.k1.shape)),
            gel=np.minimum(self.gel * scale, 0.995 * top),
            tack=np.minimum(self.tack * scale, 0.995 * top),
            recoat_open=np.minimum(self.recoat_open * scale, 0.99 * top),
            recoat_close=np.minimum(self.recoat_close * scale, 0.995 * top),
        )

    # -------------------------------------------------------------- physics
    def tg(self, conversion: Floats) -> Floats:
        """Glass transition [K] at a conversion [-] of shape (n,) or (n, k)."""
        c = _like(conversion)
        return glass.dibenedetto(conversion, c(self.tg_start), c(self.tg_end), c(self.tg_bend))

    def rate(self, conversion: Floats, temperature: Floats) -> Floats:
        """Rate of conversion [1/s] at (conversion [-], temperature [K]), shape (n,) or (n, k)."""
        c = _like(np.broadcast_arrays(conversion, temperature)[0])
        a = np.asarray(conversion, dtype=float)
        chain = arrhenius(c(self.k1), c(self.e1), temperature) + a * arrhenius(
            c(self.k2), c(self.e2), temperature
        )
        slow = glass.vitrification_factor(
            self.tg(a), temperature, c(self.glass_lead), c(self.glass_width)
        )
        left = np.clip(1.0 - a, 0.0, None) * np.clip(c(self.balance) - a, 0.0, None)
        return chain * left * slow

    def viscosity(self, conversion: Floats, temperature: Floats) -> Floats:
        """Viscosity [Pa s], infinite from gel on, at (conversion [-], temperature [K])."""
        c = _like(np.broadcast_arrays(conversion, temperature)[0])
        base = viscosity.base_viscosity(
            temperature, c(self.viscosity_25), c(self.flow_energy), c(self.flow_freeze)
        )
        return base * viscosity.cure_thickening(
            conversion, c(self.gel), c(self.thick_a), c(self.thick_b)
        )

    def fluidity(self, conversion: Floats, temperature: Floats) -> Floats:
        """Inverse of viscosity [1/(Pa s)], 0 from gel on; shapes as `viscosity`."""
        c = _like(np.broadcast_arrays(conversion, temperature)[0])
        base = viscosity.base_viscosity(
            temperature, c(self.viscosity_25), c(self.flow_energy), c(self.flow_freeze)
        )
        return (
            viscosity.fluidity_factor(conversion, c(self.gel), c(self.thick_a), c(self.thick_b))
            / base
        )

    # -------------------------------------------------------------- from data
    @classmethod
    def from_material(cls, material: Material, draws: Draws | None = None) -> Resin:
        """The resin of a catalogue material or of a user's product.

        Parameters
        ----------
        material : Material [-]
            With the properties listed in ``catalogue/data/resins.toml``.
        draws : Draws or None [-]
            Common random numbers; None takes the middle values, one sample.

        Returns
        -------
        Resin [SI]
            Streams are named ``cure.<property>``, the same for every resin, so two resins or two
            mixes of one plan differ only by what was changed. What was learned together is drawn
            together (`joint_draws`).

        Raises
        ------
        InputError
            A property that is missing or out of its limits.
        """

        if draws is not None:
            draws = joint_draws(material, draws)

        def get(key: str, fallback: Floats | None = None) -> Floats:
            if fallback is not None and key not in material.properties:
                return fallback
            prop = material.prop(key)
            return prop.value if draws is None else prop.sample(draws, f"cure.{key}")

        k2 = get("k2_25C_per_s")
        e2 = get("activation_energy_J_mol")
        heat = (
            get("heat_J_kg")
            if "heat_J_kg" in material.properties
            else heat_of_mix(
                get("eew_kg_mol"),
                get("ahew_kg_mol"),
                1.0,
                get("heat_per_epoxide_J_mol", HEAT_PER_EPOXIDE),
            )
        )
        gel = get("gel_conversion")
        tack = np.maximum(get("tack_conversion"), gel + 0.005)
        opens = np.maximum(get("recoat_open_conversion"), 0.05)
        closes = np.maximum(get("recoat_close_conversion"), opens + 0.02)
        return cls(
            k1=k2 * get("k1_over_k2"),
            k2=k2,
            e1=get("activation_energy_1_J_mol", e2),
            e2=e2,
            balance=np.asarray(1.0),
            heat=heat,
            density=get("density_kg_m3"),
            heat_capacity=get("heat_capacity_J_kgK"),
            conductivity=get("conductivity_W_mK"),
            viscosity_25=get("viscosity_25C_Pa_s"),
            flow_energy=get("flow_energy_J_mol"),
            flow_freeze=get("flow_freeze_K", 0.0),
            gel=gel,
            thick_a=get("thickening_exponent"),
            thick_b=get("thickening_slope"),
            tg_start=get("tg_unreacted_K"),
            tg_end=get("tg_full_K"),
            tg_bend=get("tg_bend"),
            glass_lead=get("glass_lead_K", 12.0),
            glass_width=get("glass_width_K", 4.0),
            tack=tack,
            recoat_open=opens,
            recoat_close=closes,
            surface_tension=get("surface_tension_N_m", 0.036),
            film_coefficient=get("film_coefficient_W_m2K", 10.0),
            name=material.id,
        )


ARRAYS = tuple(f.name for f in fields(Resin) if f.name != "name")

_SHEET = "Check it against the product's data sheet."
LIMITS: dict[str, tuple[float, float, str]] = {
    "k1": (1e-12, 1.0, _SHEET),
    "k2": (0.0, 1.0, _SHEET),
    "e1": (1e3, 2.5e5, "Cure energies lie near 57 kJ/mol."),
    "e2": (1e3, 2.5e5, "Cure energies lie near 57 kJ/mol."),
    "balance": (0.334, 2.99, "Outside 1/3 to 3 the mix never gels: measure again."),
    "heat": (0.0, 1.2e6, _SHEET),
    "density": (500.0, 4000.0, _SHEET),
    "heat_capacity": (300.0, 5000.0, _SHEET),
    "conductivity": (0.01, 10.0, _SHEET),
    "viscosity_25": (1e-4, 1e4, "Give it in Pa s; 1000 mPa s (cP) is 1 Pa s."),
    "flow_energy": (0.0, 3e5, "Flow energies lie near 60 kJ/mol."),
    "flow_freeze": (0.0, 255.0, "Keep it at least 20 K below the coldest room."),
    "gel": (0.05, 0.999, "Epoxy-amine mixes gel at 0.5 to 0.7."),
    "thick_a": (0.0, 20.0, "1.5 to 4 is usual."),
    "thick_b": (-20.0, 20.0, "0 to 3 is usual."),
    "tg_start": (150.0, 330.0, _SHEET),
    "tg_end": (250.0, 600.0, _SHEET),
    "tg_bend": (0.05, 1.5, "0.3 to 0.6 is usual."),
    "glass_lead": (-50.0, 1e7, "10 to 20 K is usual."),
    "glass_width": (0.1, 1e3, "3 to 6 K is usual."),
    "tack": (0.05, 1.0, "0.60 and more is usual."),
    "recoat_open": (0.02, 1.0, "0.50 to 0.60 is usual."),
    "recoat_close": (0.03, 1.2, "0.80 to 0.85 is usual."),
    "surface_tension": (0.0, 0.2, "0.03 to 0.046 N/m is usual."),
    "film_coefficient": (0.0, 1e4, "Still air: 8 to 12 W/(m2 K)."),
}


def _like(shape_of: Floats) -> Any:
    """A function that shapes (n,) constants to broadcast against `shape_of`."""
    if np.ndim(shape_of) < 2:
        return lambda x: x
    return lambda x: x[:, None]
