"""Checks of heat: hot pan, closed parked cabin, sun on the surface."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.check import Check
from pourwright.calc.sampling import Draws
from pourwright.endure.build import Panel
from pourwright.endure.heat import PANS, contact_temperature, effusivity, hot_pan, hottest_pan
from pourwright.endure.layers import Floats, Layer
from pourwright.endure.sun import (
    CABIN_RISE,
    CABIN_SOURCE,
    highest_absorptance,
    parked_cabin,
    sol_air,
)
from pourwright.words import Amount, joined, say

PAN_CAUTION = say(
    "Always a trivet under hot pans; a hot surface burns skin from about {burns:g}.",
    burns=Amount(50, "degC"),
)
SUN_CAUTION = (
    "A soft film marks, sticks and may release vapour: open the cabin before leaning on it."
)
TG_SOURCE = "softening temperature of the film: from memory unless from its data sheet"
CONTACT = (1e-5, 1e-4, 1e-3)  # contact resistance under a pan, 5/50/95 % [m2 K/W], from memory
ZERO = 273.15


def _softest(layers: list[Layer]) -> Floats:
    """Lowest softening temperature of the coats [K], by sample."""
    films = [np.asarray(x.service, float) for x in layers if x.role == "coat"]
    return np.min(np.stack(np.broadcast_arrays(*films)), axis=0) if films else np.asarray(np.inf)


def pan_checks(panel: Panel) -> list[Check]:
    """A hot pan set down: film surface against softening, joint against the core's limit.

    Parameters
    ----------
    panel : Panel [-]
        The panel; nothing is returned without a film or a pan.

    Returns
    -------
    list of Check [degC]
    """
    v = panel.service
    films = [x for x in panel.layers if x.role == "coat"]
    if v.pan is None or not films:
        return []
    draws = Draws(panel.draws.seed, 24)
    contact = draws.between("endure.pan_contact", *CONTACT, log=True)
    state = hot_pan(
        replace(panel, draws=draws).layers,
        v.pan,
        v.pan_temperature,
        v.pan_base,
        v.room,
        v.pan_time,
        contact,
        v.trivet,
    )
    limit = _softest(panel.layers)
    top = panel.middle[0]
    b_film = effusivity(top.conductivity, top.density, top.heat)
    b_pan = effusivity(*PANS[v.pan])
    soft = float(np.median(limit))
    allowed = float(hottest_pan(soft, b_pan, b_film, v.room)) - ZERO
    cork = _cork_needed(panel, soft)
    how = (
        say("on a {trivet:.0f} cork trivet", trivet=Amount(1000 * v.trivet, "mm"))
        if v.trivet > 0
        else "set down bare"
    )
    fixes = [
        say(
            "Hottest {pan} pan without a mark: about {allowed:.0f}.",
            pan=v.pan,
            allowed=Amount(allowed, "degC"),
        )
    ]
    if cork is not None:
        fixes.append(
            say(
                "A cork trivet {cork:.0f} thick keeps the film under its softening point.",
                cork=Amount(1000 * cork, "mm"),
            )
        )
    first = float(contact_temperature(b_pan, v.pan_temperature, b_film, v.room)) - ZERO
    out = [
        Check.of(
            "endure.heat.pan",
            say(
                "{piece}: film under a {pan} pan at {hot:.0f} {how}",
                piece=panel.shape.name,
                pan=v.pan,
                hot=Amount(v.pan_temperature - ZERO, "degC"),
                how=how,
            ),
            _match(state.surface_peak - ZERO, limit),
            "degC",
            limit - ZERO,
            "at most",
            "under the film's softening temperature",
            TG_SOURCE,
            moment="while it stands"
            if v.trivet > 0
            else say(
                "within seconds; perfect contact gives {first:.0f} at once",
                first=Amount(first, "degC"),
            ),
            caution=PAN_CAUTION,
            remedies=fixes,
        )
    ]
    core = panel.layers[panel.core]
    if np.all(np.isfinite(np.asarray(core.service, float))):
        when = float(state.time[int(np.argmax(np.median(state.joint, axis=0)))])
        core_limit = np.atleast_1d(np.asarray(core.service, float))
        out.append(
            Check.of(
                "endure.heat.pan_core",
                say("{piece}: joint to the core under that pan", piece=panel.shape.name),
                _match(state.joint_peak - ZERO, core_limit),
                "degC",
                core_limit - ZERO,
                "at most",
                say("under the service limit of {core}", core=core.name),
                "service limits from memory; the board's data sheet decides",
                moment=say("about {when:.0f} s after it is set down", when=when),
                caution=PAN_CAUTION,
                remedies=(_core_kept(panel),),
            )
        )
    return out


def _match(values: ArrayLike, limit: ArrayLike) -> Floats:
    """Repeat fewer samples so that they pair with the limit's; both are in random order."""
    v, n = np.atleast_1d(np.asarray(values, float)), np.size(limit)
    return np.resize(v, n) if v.size > 1 and n > 1 else v


def _core_kept(panel: Panel) -> str:
    """What a cork trivet does for the core under a pan."""
    v = panel.service
    assert v.pan is not None
    cork = 0.008
    state = hot_pan(
        panel.middle, v.pan, v.pan_temperature, v.pan_base, v.room, v.pan_time, trivet=cork
    )
    return say(
        "A cork trivet {cork:.0f} thick keeps the core at {hot:.0f}, or take a core that bears more.",
        cork=Amount(1000 * cork, "mm"),
        hot=Amount(float(np.max(state.joint_peak)) - ZERO, "degC"),
    )


def _cork_needed(panel: Panel, limit: float) -> float | None:
    """Trivet thickness [m] that keeps the film under `limit`, None beyond 50 mm."""
    v = panel.service
    assert v.pan is not None
    corks = np.array([0.003, 0.005, 0.008, 0.012, 0.016, 0.02, 0.03, 0.05])
    state = hot_pan(
        panel.middle,
        v.pan,
        v.pan_temperature,
        v.pan_base,
        v.room,
        max(v.pan_time, 3600.0),
        trivet=corks,
    )
    good = corks[state.surface_peak <= limit]
    return float(good[0]) if good.size else None


def _cooler_core(
    surface: Floats, air: Floats, limit: Floats, h: Floats, sun: float, now: float
) -> list[str]:
    """Core, colour and shade that bring the core under its limit."""
    out = [
        say(
            "A core that bears {hot:.0f} by its data sheet.",
            hot=Amount(float(np.quantile(surface, 0.95)) - ZERO, "degC"),
        )
    ]
    if sun > 0.0:
        out.append(
            say("Shade brings it to {air:.0f}.", air=Amount(float(np.median(air)) - ZERO, "degC"))
        )
        most = float(
            highest_absorptance(
                float(np.median(limit)), float(np.median(air)), sun, float(np.median(h))
            )
        )
        if 0.05 < most < now:
            out.append(
                say(
                    "Or a colour that takes up at most {most:.0f} % of the sun (now {now:.0f} %).",
                    most=100 * most,
                    now=100 * now,
                )
            )
    return out


def cabin_checks(panel: Panel) -> list[Check]:
    """A closed parked cabin and sun on the surface, against film and core limits.

    Parameters
    ----------
    panel : Panel [-]
        The panel; nothing is returned when it is never shut in the sun and gets none.

    Returns
    -------
    list of Check [degC]
    """
    v = panel.service
    if v.outside is None and v.sun <= 0.0:
        return []
    draws = panel.draws
    if v.outside is not None:
        rise = draws.between("endure.cabin_rise", *CABIN_RISE)
        air = parked_cabin(v.outside, rise)
        word, film = "in the closed cabin on a hot day", (7.0, 9.0, 12.0)
        source = CABIN_SOURCE
    else:
        air = np.full(draws.count, v.room)
        word, film = "in the sun", (12.0, 17.0, 22.0)
        source = "sol-air temperature (ASHRAE Fundamentals) [published]"
    h = draws.between("endure.sun_film", *film)
    surface = sol_air(air, v.sun, v.absorptance, h)
    soft = np.atleast_1d(_softest(panel.layers))
    out = []
    place = say("{piece}: surface {word}", piece=panel.shape.name, word=word)
    if v.sun > 0:
        place = joined("", (place, say(" with {sun:.0f} of sun on it", sun=Amount(v.sun, "W/m2"))))
    if np.all(np.isfinite(soft)):
        hot = float(np.quantile(surface, 0.95)) - ZERO
        fixes = [say("Post-cure so that it softens above {hot:.0f}.", hot=Amount(hot, "degC"))]
        if v.sun > 0:
            lightest = float(
                highest_absorptance(np.median(soft), np.median(air), v.sun, float(np.median(h)))
            )
            fixes.append(
                say(
                    "Or a colour that takes up at most {most:.0f} % of the sun (now {now:.0f} %).",
                    most=100 * lightest,
                    now=100 * v.absorptance,
                )
                if lightest > 0.05
                else say(
                    "No colour is light enough: shade alone brings it to {air:.0f}.",
                    air=Amount(float(np.median(air)) - ZERO, "degC"),
                )
            )
        out.append(
            Check.of(
                "endure.heat.film",
                place,
                surface - ZERO,
                "degC",
                soft - ZERO,
                "at most",
                "under the film's softening temperature",
                f"{source}; {TG_SOURCE}",
                moment="hot afternoon",
                caution=SUN_CAUTION,
                remedies=fixes,
            )
        )
    core = panel.layers[panel.core]
    limit = np.atleast_1d(np.asarray(core.service, float))
    if np.all(np.isfinite(limit)):
        out.append(
            Check.of(
                "endure.heat.core",
                say("{piece}: core {word}", piece=panel.shape.name, word=word),
                surface - ZERO,
                "degC",
                limit - ZERO,
                "at most",
                say("under the service limit of {core}", core=core.name),
                f"{source}; service limits from memory",
                moment="hot afternoon",
                caution=SUN_CAUTION,
                remedies=_cooler_core(surface, air, limit, h, v.sun, v.absorptance),
            )
        )
    return out
