"""Heat of reaction and mixing ratio from equivalent weights."""

from __future__ import annotations

from typing import Any

import numpy as np

from pourwright.errors import InputError

Floats = Any  # float or array of floats

HEAT_PER_EPOXIDE = 107e3  # J per mol of epoxide, +- 5e3; from memory, books give 98 to 118 kJ/eq


def heat_of_mix(
    epoxide_weight: Floats,
    amine_weight: Floats,
    balance: Floats = 1.0,
    heat_per_epoxide: Floats = HEAT_PER_EPOXIDE,
    filler_ratio: Floats = 0.0,
) -> Floats:
    """Heat set free per mass of mix when all epoxide has reacted.

    Parameters
    ----------
    epoxide_weight, amine_weight : float or array [kg/mol]
        Equivalent weights EEW and AHEW of the parts as sold (0.190 kg/mol is 190 g/eq).
    balance : float or array [-]
        B, amine hydrogens per epoxide group.
    heat_per_epoxide : float or array [J/mol]
        107 kJ per epoxide group.
    filler_ratio : float or array [-]
        Mass of filler and pigment over mass of resin.

    Returns
    -------
    float or array [J/kg]
        dH/(EEW + B AHEW)/(1 + filler), per unit of epoxide conversion. With B below 1 conversion
        itself stops at B.

    Raises
    ------
    InputError
        An equivalent weight that is not above 0.

    Source: 106.6 kJ/eq from 486 J/g measured at EEW 187, AHEW 27.5 in a Polimeros (SciELO) study of
    DGEBA with aliphatic polyamines; books 98 to 118 (from memory).
    """
    for field, v in (("epoxide_weight", epoxide_weight), ("amine_weight", amine_weight)):
        if not np.all(np.asarray(v) > 0):
            raise InputError(
                field,
                v,
                "it must be more than 0 g/eq",
                "Take EEW and AHEW from the data sheets of parts A and B.",
            )
    mass = np.asarray(epoxide_weight) + np.asarray(balance) * amine_weight
    return (heat_per_epoxide / mass / (1.0 + np.asarray(filler_ratio)))[()]


def adiabatic_rise(heat: Floats, heat_capacity: Floats, conversion: Floats = 1.0) -> Floats:
    """Temperature rise with no heat lost.

    Parameters
    ----------
    heat : float or array [J/kg]
        Heat per unit of conversion.
    heat_capacity : float or array [J/(kg K)]
        Specific heat capacity.
    conversion : float or array [-]
        Conversion reached.

    Returns
    -------
    float or array [K]
        heat x conversion / capacity.
    """
    return heat * conversion / heat_capacity


def balance_of(ratio_by_mass: Floats, epoxide_weight: Floats, amine_weight: Floats) -> Floats:
    """Amine hydrogens per epoxide group of a mix.

    Parameters
    ----------
    ratio_by_mass : float or array [-]
        Mass of A (resin) over mass of B (hardener), above 0.
    epoxide_weight, amine_weight : float or array [kg/mol]
        EEW and AHEW.

    Returns
    -------
    float or array [-]
        B = (1/AHEW)/(ratio/EEW).

    Raises
    ------
    InputError
        A ratio that is not above 0.
    """
    if not np.all(np.asarray(ratio_by_mass) > 0):
        raise InputError(
            "ratio_by_mass",
            ratio_by_mass,
            "it must be more than 0",
            "Give the mass of resin (A) over the mass of hardener (B).",
        )
    return (np.asarray(epoxide_weight) / (np.asarray(ratio_by_mass) * amine_weight))[()]
