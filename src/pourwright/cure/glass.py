"""Glass transition: how Tg rises with conversion, and how a stiffening film slows its own cure."""

from __future__ import annotations

from typing import Any

import numpy as np

Floats = Any  # float or array of floats

# universal WLF constants (Williams, Landel and Ferry 1955; from memory)
WLF_C1 = 17.44  # [-]
WLF_C2 = 51.6  # [K]


def dibenedetto(conversion: Floats, tg_start: Floats, tg_end: Floats, bend: Floats) -> Floats:
    """Glass transition at a conversion.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion, 0..1.
    tg_start, tg_end : float or array [K]
        Tg of the unreacted and of the fully reacted mix.
    bend : float or array [-]
        lambda, ratio of the heat-capacity steps, 0.3 to 0.6 typical.

    Returns
    -------
    float or array [K]
        Tg0 + (Tg1 - Tg0) lambda a/(1 - (1 - lambda) a).

    Source: Pascault and Williams 1990, J. Polym. Sci. B 28, 85 (from memory).
    """
    a = np.asarray(conversion, dtype=float)
    return (tg_start + (tg_end - tg_start) * bend * a / (1.0 - (1.0 - bend) * a))[()]


def conversion_at_tg(tg: Floats, tg_start: Floats, tg_end: Floats, bend: Floats) -> Floats:
    """Conversion at which Tg reaches a temperature: the inverse of `dibenedetto`.

    Parameters
    ----------
    tg : float or array [K]
        Temperature.
    tg_start, tg_end : float or array [K]
        Tg of the unreacted and of the fully reacted mix.
    bend : float or array [-]
        lambda.

    Returns
    -------
    float or array [-]
        Conversion; outside 0..1 when Tg never gets there.

    Source: Pascault and Williams 1990 (from memory), solved for a.
    """
    x = (np.asarray(tg, dtype=float) - tg_start) / (tg_end - tg_start)
    return (x / (bend + (1.0 - bend) * x))[()]


def diffusion_factor(conversion: Floats, critical: Floats, sharpness: Floats) -> Floats:
    """Slowing of cure by diffusion beyond a critical conversion.

    Parameters
    ----------
    conversion : float or array [-]
        Conversion.
    critical : float or array [-]
        Conversion at which the rate is halved (may depend on temperature).
    sharpness : float or array [-]
        C, 30 to 50 typical.

    Returns
    -------
    float or array [-]
        1/(1 + exp(C (a - ac))).

    Source: Chern and Poehlein 1987, Polym. Eng. Sci. 27, 788; Cole 1991, Macromolecules 24, 3079
    (from memory).
    """
    x = np.clip(np.asarray(sharpness) * (np.asarray(conversion) - critical), -500.0, 500.0)
    return (1.0 / (1.0 + np.exp(x)))[()]


def vitrification_factor(
    tg: Floats, temperature: Floats, lead: Floats = 12.0, width: Floats = 4.0
) -> Floats:
    """Slowing of cure as Tg overtakes the temperature of the film.

    Parameters
    ----------
    tg, temperature : float or array [K]
        Glass transition now, and temperature now.
    lead : float or array [K]
        By how much Tg leads the temperature when the rate is halved.
    width : float or array [K]
        Sharpness.

    Returns
    -------
    float or array [-]
        1/(1 + exp((Tg - T - lead)/width)): `diffusion_factor` written in Tg.

    Source: form of Chern and Poehlein 1987, with the critical conversion placed by DiBenedetto. Tg
    ends 10 to 20 K above the cure temperature (from memory); that fixes lead and width.
    """
    x = np.clip((np.asarray(tg) - temperature - lead) / width, -500.0, 500.0)
    return (1.0 / (1.0 + np.exp(x)))[()]


def wlf_log_shift(above_tg: Floats, c1: float = WLF_C1, c2: float = WLF_C2) -> Floats:
    """Logarithm of how much faster a polymer relaxes above its Tg.

    Parameters
    ----------
    above_tg : float or array [K]
        T - Tg, above -c2; meant for 0 to 100 K.
    c1 : float [-]
        First constant.
    c2 : float [K]
        Second constant.

    Returns
    -------
    float or array [-]
        log10 aT = -c1 (T - Tg)/(c2 + T - Tg).

    Source: Williams, Landel and Ferry 1955 (from memory).
    """
    x = np.asarray(above_tg, dtype=float)
    return (-c1 * x / (c2 + x))[()]


def rabinowitch(chemical: Floats, diffusive: Floats) -> Floats:
    """Effective rate constant of two steps in series, reaction and diffusion.

    Parameters
    ----------
    chemical, diffusive : float or array [1/s]
        Rate constants of the two steps, above 0.

    Returns
    -------
    float or array [1/s]
        1/(1/k_chem + 1/k_diff).

    Source: Rabinowitch 1937 (from memory), used so by Girard-Reydet et al. 1995.
    """
    return chemical * diffusive / (chemical + diffusive)


def diffusive_rate(
    pre_factor: Floats, energy: Floats, hole: Floats, above_tg: Floats, temperature: Floats
) -> Floats:
    """Diffusion rate constant in the free volume of a polymer near its Tg.

    Parameters
    ----------
    pre_factor : float or array [1/s]
        k_d0.
    energy : float or array [J/mol]
        Activation energy of the jumps.
    hole : float or array [-]
        b, size of the hole a jump needs.
    above_tg : float or array [K]
        T - Tg, above about -50.
    temperature : float or array [K]
        Temperature.

    Returns
    -------
    float or array [1/s]
        k_d0 exp(-E/RT) exp(-b/f), f = 0.025 + 4.8e-4 (T - Tg).

    Source: free volume after Williams, Landel and Ferry 1955 (from memory).
    """
    free = np.maximum(0.025 + 4.8e-4 * np.asarray(above_tg, dtype=float), 1e-4)
    gas = 8.314462618
    return (pre_factor * np.exp(-energy / (gas * np.asarray(temperature))) * np.exp(-hole / free))[
        ()
    ]
