"""From catalogue materials to layers, with samples of what is uncertain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.sampling import Draws
from pourwright.catalogue.model import Material
from pourwright.endure.layers import Layer
from pourwright.errors import InputError
from pourwright.words import Listed, say

_NEEDED = ("density_kg_m3", "E_Pa")


@dataclass(frozen=True, slots=True)
class Sampler:
    """Reads properties of a material, as middle values or as samples from one set of draws."""

    draws: Draws | None = None

    def value(self, material: Material, key: str, default: float | None = None) -> ArrayLike:
        """Property `key` of `material` [unit of the key]: samples, or the middle value."""
        if key not in material.properties:
            if default is not None:
                return default
            return material[key]  # raises with the remedy
        prop = material.prop(key)
        if self.draws is None or prop.low == prop.high:
            return prop.value
        return prop.sample(self.draws, f"{material.id}.{key}")


def missing(material: Material) -> list[str]:
    """The properties that endurance checks need and a material lacks.

    Parameters
    ----------
    material : Material [-]
        A core, comparison top or cured film.

    Returns
    -------
    list of str [-]
        Keys to add, with their unit suffixes.
    """
    return [k for k in _NEEDED if k not in material.properties]


def layer_of(
    material: Material,
    thickness: ArrayLike,
    role: str = "core",
    draws: Draws | None = None,
    post_cured: bool = False,
    damp: bool = False,
    name: str | None = None,
) -> Layer:
    """A layer of a catalogue material.

    Parameters
    ----------
    material : Material [-]
        Of kind core, comparison or cured.
    thickness : float or array [m]
        Thickness of the layer.
    role : str [-]
        ``coat``, ``skin``, ``core`` or ``back``.
    draws : Draws or None [-]
        Samples every uncertain property when given; None takes middle values.
    post_cured : bool [-]
        Film warmed after cure: takes the higher softening temperature.
    damp : bool [-]
        Damp room: takes the higher creep factor.
    name : str or None [-]
        Shown name; the material's own when None.

    Returns
    -------
    Layer [-]

    Raises
    ------
    InputError
        When density or stiffness is missing, naming what to add.
    """
    lacks = missing(material)
    if lacks:
        raise InputError(
            material.id,
            material.name,
            say(
                "its {names} is not known" if len(lacks) == 1 else "its {names} are not known",
                names=Listed(lacks),
            ),
            say("Add {names} from its data sheet to your products file.", names=Listed(lacks)),
        )
    get = Sampler(draws).value
    film = material.kind == "cured"
    shrink: ArrayLike = 0.0
    if film:
        shrink = np.asarray(get(material, "gel_shrink_strain", 0.0)) * np.asarray(
            get(material, "retained_share", 1.0)
        )
    has = material.properties
    creep = get(material, "k_def_damp" if damp and "k_def_damp" in has else "k_def", 0.0)
    service: ArrayLike = np.inf
    if film:
        service = get(material, "tg_post_K" if post_cured else "tg_K", np.inf)
    elif "service_max_K" in has:
        service = get(material, "service_max_K")
    return Layer(
        name=name or material.name,
        role=role,
        thickness=thickness,
        modulus=get(material, "E_Pa"),
        density=get(material, "density_kg_m3"),
        poisson=get(material, "nu", 0.3),
        shear=get(material, "G_Pa") if "G_Pa" in has else None,
        shear_plane=get(material, "G_plane_Pa") if "G_plane_Pa" in has else None,
        expansion=get(material, "cte_per_K", 0.0),
        shrinkage=shrink,
        swell=get(material, "swell_per_mc", 0.0),
        creep=creep,
        conductivity=get(material, "k_W_mK", 0.2),
        heat=get(material, "cp_J_kgK", 1500.0),
        service=service,
        strength=get(material, "tensile_strength_Pa" if film else "bending_strength_Pa", np.inf),
        strain_break=get(material, "strain_break", np.inf),
        compress=get(material, "compress_strength_Pa", np.inf),
        core_shear=get(material, "shear_strength_Pa", np.inf),
        bond=get(material, "internal_bond_Pa", np.inf),
        toughness=get(material, "toughness_J_m2", np.inf),
    )
