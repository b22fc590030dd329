"""Checks under load: sag, strength, sandwich skins and cores."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from pourwright.calc.check import Check
from pourwright.endure.build import Panel
from pourwright.endure.layers import Floats, Layer
from pourwright.endure.sandwich import local_pressure, wrinkling_stress
from pourwright.endure.span import (
    GRAVITY,
    Section,
    core_shear_stress,
    layer_stress,
    sag_overhang,
    sag_span,
    section,
)
from pourwright.words import Amount, say

SAG = (
    "trade practice: span over 360 for tops, 180 for shelves, 720 under brittle tops [from memory]"
)
CREEP = "creep factors of EN 1995-1-1 Table 3.2 (class split from memory)"
LOAD_CAUTION = (
    "Design values of boards and foams vary: a test piece under a known weight is the proof. "
    "Anyone may sit or kneel on a worktop. The board's data sheet comes first; where people could "
    "fall or be hit, a licensed engineer decides."
)


def _mm(x: float) -> str:
    return say("{length:.1f}", length=Amount(1000 * x, "mm"))


def part_of_strain(ratio: float) -> str:
    """What share of a film's strain at break may come and go [-], one over `ratio` [-], in words."""
    if ratio == 3.0:
        return "at most a third of the film's strain at break, as it comes and goes"
    return say(
        "at most {share:.0f} % of the film's strain at break, as it comes and goes",
        share=100.0 / ratio,
    )


def reaches(length: float) -> Floats:
    """Lengths [m] up to `length` [m] in steps of at least 5 mm, at most 150 of them."""
    step = max(0.005, np.ceil(1000.0 * length / 150.0) / 1000.0)
    return np.arange(step, length + 1e-9, step) if length > step else np.array([length])


def sag_checks(panel: Panel) -> list[Check]:
    """Sag between supports and at the overhang, now and after years.

    Parameters
    ----------
    panel : Panel [-]
        The panel.

    Returns
    -------
    list of Check [mm]
    """
    s, v = panel.shape, panel.service
    out = []
    if s.span > 0.0:
        out += _sag_pair(panel, "span", "between supports", sag_span, s.span, v.point_load, 1.0)
    if s.overhang > 0.0:
        out += _sag_pair(
            panel, "overhang", "at the overhang", sag_overhang, s.overhang, v.overhang_load, 2.0
        )
    return out


def _sag_pair(
    panel: Panel,
    key: str,
    where: str,
    sag: Callable[..., Floats],
    length: float,
    load: float,
    counted: float,
) -> list[Check]:
    """Sag under a passing load and under lasting load; an overhang counts as half a span."""
    s, v = panel.shape, panel.service
    # films near their softening point carry nothing for long
    films = [float(np.median(np.asarray(x.service))) for x in panel.middle if x.role == "coat"]
    soft = bool(films) and min(films) < v.room + 20.0
    limit = counted * length / v.sag_ratio

    def value(part: Section, reach: ArrayLike, lasting: bool) -> Floats:
        if not lasting:
            return sag(part, reach, load)
        steady = part.mass * GRAVITY + v.lasting * s.width
        return sag(part, reach, 0.0, steady, lasting=True)

    def strip(more: float, lasting: bool) -> Section:
        layers = panel.changed(core_more=more, sampled=True) if more else panel.layers
        return section(layers, s.width, soft_films=lasting and soft)

    out = []
    for lasting in (False, True):
        part = strip(0.0, lasting)
        found = value(part, length, lasting)
        fixes = []
        if float(np.quantile(found, 0.95)) > limit:
            # what it takes for 95 % of the samples to pass
            low, high = 0, 64
            while high - low > 1:
                mid = (low + high) // 2
                sags = value(strip(mid / 1000.0, lasting), length, lasting)
                low, high = (low, mid) if np.quantile(sags, 0.95) <= limit else (mid, high)
            if high < 64:
                core = panel.middle[panel.core]
                mass = high / 1000.0 * float(np.asarray(core.density)) * panel.area
                fixes.append(
                    say(
                        "{more:g} more core passes; this piece then weighs {mass:.1f} more.",
                        more=Amount(high, "mm"),
                        mass=Amount(mass, "kg"),
                    )
                )
            reach = reaches(length)
            sags = np.atleast_2d(value(part, reach[:, None], lasting))
            good = np.quantile(sags, 0.95, axis=-1) <= counted * reach / v.sag_ratio
            if np.any(good):
                near = Amount(1000 * np.max(reach[good]), "mm")
                if key == "span" and fixes:
                    told = say("Or supports no further apart than {reach:.0f}.", reach=near)
                elif key == "span":
                    told = say("Supports no further apart than {reach:.0f}.", reach=near)
                elif fixes:
                    told = say("Or an overhang of {reach:.0f}.", reach=near)
                else:
                    told = say("An overhang of {reach:.0f}.", reach=near)
                fixes.append(told)
            three = float(np.median(value(strip(0.003, lasting), length, lasting)))
            if three <= 2.0 * limit:  # a step that leaves most of the sag is no advice
                fixes.append(
                    say(
                        "A {more:g} thicker core: {sag}.",
                        more=Amount(3, "mm"),
                        sag=_mm(three),
                    )
                )
        title = (
            say("lasting sag {where}", where=where)
            if lasting
            else say("sag {where} under {load:.0f}", where=where, load=Amount(load, "N"))
        )
        rule = say(
            "span over {ratio:g}, overhang counted twice" if counted > 1 else "span over {ratio:g}",
            ratio=v.sag_ratio,
        )
        out.append(
            Check.of(
                f"endure.{key}.{'lasting' if lasting else 'load'}",
                say("{piece}: {what}", piece=s.name, what=title),
                1000.0 * found,
                "mm",
                1000.0 * limit,
                "at most",
                rule,
                f"{SAG}; {CREEP}" if lasting else SAG,
                moment="after years" if lasting else "",
                caution=LOAD_CAUTION,
                remedies=fixes,
            )
        )
    return out


def strength_checks(panel: Panel) -> list[Check]:
    """Bending strength of every layer, and core shear, under the point loads.

    Parameters
    ----------
    panel : Panel [-]
        The panel.

    Returns
    -------
    list of Check [%]
        Share of the strength used, worst layer.
    """
    s, v = panel.shape, panel.service
    moment = max(v.point_load * s.span / 4.0, v.overhang_load * s.overhang)
    if moment <= 0.0:
        return []
    force = max(v.point_load / 2.0 if s.span > 0 else 0.0, v.overhang_load if s.overhang else 0.0)
    stress = layer_stress(panel.layers, s.width, moment)
    out, safe = [], v.strength_ratio
    use = np.stack(
        np.broadcast_arrays(
            *[100.0 * st / np.asarray(x.strength, float) for st, x in zip(stress, panel.layers)]
        )
    )
    worst = int(np.argmax(np.median(use, axis=-1))) if use.ndim > 1 else int(np.argmax(use))
    out.append(
        Check.of(
            "endure.strength.bending",
            say(
                "{piece}: bending stress, worst in {worst}",
                piece=s.name,
                worst=panel.layers[worst].name,
            ),
            use[worst],
            "%",
            100.0 / safe,
            "at most",
            "at most a third of the layer's strength"
            if safe == 3.0
            else say("at most {share:.0f} % of the layer's strength", share=100.0 / safe),
            "factor 3 on short-term strength: common practice [common practice]",
            caution=LOAD_CAUTION,
            remedies=_stronger(panel, use[worst], moment),
        )
    )
    i = panel.core
    tau = core_shear_stress(panel.layers, s.width, force)[i]
    out.append(
        Check.of(
            "endure.strength.core_shear",
            say("{piece}: shear in the core", piece=s.name),
            100.0 * tau / np.asarray(panel.layers[i].core_shear, float),
            "%",
            100.0 / safe,
            "at most",
            "at most a third of the core's shear strength"
            if safe == 3.0
            else say("at most {share:.0f} % of the core's shear strength", share=100.0 / safe),
            "factor 3 on short-term strength: common practice [common practice]",
            caution=LOAD_CAUTION,
            remedies=_more_core(panel, tau),
        )
    )
    out += _sandwich_checks(panel, stress)
    return out


def _stronger(panel: Panel, use: Floats, moment: float) -> list[str]:
    """Core and span that keep the stress in the worst layer under its share of the strength."""
    allowed, now = 100.0 / panel.service.strength_ratio, float(np.quantile(use, 0.95))
    if now <= allowed:
        return []
    s, out = panel.shape, []
    for more in range(1, 41):
        layers = panel.changed(core_more=more / 1000.0, sampled=True)
        stress = layer_stress(layers, s.width, moment)
        most = max(
            float(np.quantile(100.0 * st / np.asarray(x.strength, float), 0.95))
            for st, x in zip(stress, layers)
        )
        if most <= allowed:
            out.append(
                say(
                    "{more:g} more core brings it to {most:.0f} %.",
                    more=Amount(more, "mm"),
                    most=most,
                )
            )
            break
    out.append(
        say(
            "Supports and overhang no more than {share:.0f} % of what they are now.",
            share=100.0 * allowed / now,
        )
    )
    return out


def _more_core(panel: Panel, shear: Floats) -> list[str]:
    """Core thickness that keeps the core's shear under its share of the strength."""
    i, safe = panel.core, panel.service.strength_ratio
    strength = np.asarray(panel.layers[i].core_shear, float)
    over = float(np.quantile(safe * shear / strength, 0.95))
    if over <= 1.0:
        return []
    thick = float(np.asarray(panel.middle[i].thickness))
    need = float(np.quantile(safe * shear, 0.95)) / 1e6
    return [
        say(
            "A core about {thick:.0f} thick, or one of {strength:.2f} shear strength by its data "
            "sheet.",
            thick=Amount(1000.0 * thick * over, "mm"),
            strength=Amount(need, "MPa"),
        )
    ]


def _over_core(layers: Sequence[Layer], core: int) -> tuple[Floats, Floats, Floats]:
    """Thickness, stiffness and Poisson's ratio of what lies over the core, as one skin."""
    tops = layers[:core]
    t = sum((np.asarray(x.thickness, float) for x in tops), start=np.zeros(()))
    et = sum((np.asarray(x.thickness, float) * np.asarray(x.modulus, float) for x in tops),
             start=np.zeros(()))  # fmt: skip
    nu = np.asarray(tops[0].poisson, float) if tops else np.asarray(0.3)
    return t, et / np.where(t > 0, t, 1.0), nu


def _sandwich_checks(panel: Panel, stress: Floats) -> list[Check]:
    """Wrinkling and crushing where the core is far softer than what lies over it."""
    s, v, i = panel.shape, panel.service, panel.core
    core = panel.layers[i]
    skin, stiff, nu = _over_core(panel.layers, i)
    if i == 0 or float(np.median(stiff)) < 10.0 * float(np.median(np.asarray(core.modulus))):
        return []
    wrinkle = wrinkling_stress(stiff, core.modulus, core.shear_modulus())
    top = np.max(stress[:i], axis=0)
    pressure = local_pressure(v.point_load, v.patch, skin, stiff, core.thickness, core.modulus, nu)
    over = np.asarray(core.compress, float)
    twice = local_pressure(
        v.point_load,
        v.patch,
        2.0 * np.median(skin),
        np.median(stiff),
        np.median(np.asarray(core.thickness)),
        np.median(np.asarray(core.modulus)),
    )
    return [
        Check.of(
            "endure.sandwich.wrinkling",
            say("{piece}: skin wrinkling", piece=s.name),
            top / 1e6,
            "MPa",
            wrinkle / v.strength_ratio / 1e6,
            "at most",
            "skin stress at most a third of the wrinkling stress"
            if v.strength_ratio == 3.0
            else say(
                "skin stress at most {share:.0f} % of the wrinkling stress",
                share=100.0 / v.strength_ratio,
            ),
            "0.5 (Ef Ec Gc)^(1/3), Allen 1969 [from memory]",
            caution=LOAD_CAUTION,
            remedies=(
                say(
                    "A skin twice as thick brings it to about {twice:.1f}; a core twice as stiff "
                    "lets it bear {bears:.1f}.",
                    twice=Amount(float(np.median(top)) / 2e6, "MPa"),
                    bears=Amount(
                        float(np.median(wrinkle)) * 4 ** (1 / 3) / v.strength_ratio / 1e6, "MPa"
                    ),
                ),
            ),
        ),
        Check.of(
            "endure.sandwich.crushing",
            say(
                "{piece}: core pressed in under {load:.0f} on a {patch:.0f} patch",
                piece=s.name,
                load=Amount(v.point_load, "N"),
                patch=Amount(2000 * v.patch, "mm"),
            ),
            pressure / 1e6,
            "MPa",
            over / 2.0 / 1e6,
            "at most",
            "at most half the core's compressive strength",
            "plate on an elastic bed (Timoshenko and Woinowsky-Krieger) [from memory]",
            caution=LOAD_CAUTION,
            remedies=(
                say(
                    "A skin twice as thick brings it to {twice:.2f}.",
                    twice=Amount(float(twice) / 1000000.0, "MPa"),
                ),
            ),
        ),
    ]
