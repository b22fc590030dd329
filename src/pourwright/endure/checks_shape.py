"""Checks of shape: bow from cure, cold and moisture; film strain; the edge."""

from __future__ import annotations

import numpy as np

from pourwright.air.psychro import saturation_pressure
from pourwright.air.wood import wood_moisture
from pourwright.calc.check import Check
from pourwright.endure.bow import panel_bow
from pourwright.endure.bow_advice import bow_remedies
from pourwright.endure.build import Panel
from pourwright.endure.checks_load import part_of_strain
from pourwright.endure.edge import edge_stress
from pourwright.endure.layers import Floats, Laminate, Layer
from pourwright.endure.materials import Sampler
from pourwright.endure.moisture import moisture_bow, still_air_metres
from pourwright.words import Amount, joined, say

FLAT = "common practice for tops and wall panels [common practice]"
BOW_CAUTION = "Pour a coupon first: handbook shrinkage is a guess, a bowed strip is a measurement."
OWN_CAUTION = (
    "From your own strip: measure the first finished panel too, and keep a strip of each pour."
)
CRACK_CAUTION = (
    "A cracked or lifted film lets water into the board and is no food surface: mend it before use, "
    "and in wet rooms trust the waterproofing behind it, not the film."
)
EDGE_SOURCE = "Chen and Nelson 1979, Suhir 1986 (from memory); board toughness from memory"


def _mm(x: float) -> str:
    return say("{length:.1f}" if abs(x) >= 1e-3 else "{length:.2f}", length=Amount(1000 * x, "mm"))


def bow_checks(panel: Panel) -> list[Check]:
    """Bow from cure, and in the cold where it freezes, against the flatness asked for.

    Parameters
    ----------
    panel : Panel [-]
        The panel.

    Returns
    -------
    list of Check [mm]
    """
    length, service = panel.shape.length, panel.service
    limit = length / service.flat_ratio
    cases = [("cure", "bow after cure", service.room - service.solid)]
    if service.coldest is not None:
        cases.append(("cold", "bow in the cold store", service.coldest - service.solid))
    out = []
    for key, title, change in cases:
        state = panel_bow(panel.layers, length, change)
        size = 1000.0 * np.abs(state.bow)
        fixes: list[str] = []
        if float(np.quantile(size, 0.95)) > 1000.0 * limit:
            fixes = bow_remedies(panel, change)
        flips = "Beyond its own thickness a panel may flip to a roll." if state.nonlinear else ""
        out.append(
            Check.of(
                f"endure.bow.{key}",
                say("{piece}: {what}", piece=panel.shape.name, what=title),
                size,
                "mm",
                1000.0 * limit,
                "at most",
                say("at most length over {ratio:g}", ratio=service.flat_ratio),
                FLAT,
                moment="weeks after the pour" if key == "cure" else "in the cold",
                caution=joined(" ", (BOW_CAUTION if panel.coupon is None else OWN_CAUTION, flips)),
                remedies=fixes,
            )
        )
    return out


def moisture_inputs(panel: Panel, layers: list[Layer], sampler: Sampler) -> dict[str, Floats]:
    """Sorption slope, resistance and film resistances of a panel for `moisture_bow`.

    Parameters
    ----------
    panel : Panel [-]
        The panel; its core must be a wood-based board.
    layers : list of Layer [-]
        Sampled or middle layers.
    sampler : Sampler [-]
        Reads the same draws as the layers.

    Returns
    -------
    dict of array [-, -, m, m]
        ``slope``, ``resistance``, ``face_sd``, ``back_sd``.

    Notes
    -----
    Secant of the sorption curve of solid wood between the two humidities, times the board's share
    (Wood Handbook equation 4-5).
    """
    v = panel.service
    low = min(max(v.humidity, 0.02), 0.98)
    high = min(max(v.humidity + v.humidity_change, 0.02), 0.98)
    if high == low:
        high = low + 0.01
    wet, dry = (float(wood_moisture(v.room, h)) for h in (high, low))
    core = panel.plies[panel.core].material
    share = np.asarray(sampler.value(core, "emc_share", 1.0), float)
    mu = np.asarray(sampler.value(core, "vapour_mu", 20.0), float)
    sides: dict[str, Floats] = {"face_sd": np.zeros(()), "back_sd": np.zeros(())}
    for i, (ply, layer) in enumerate(zip(panel.plies, layers)):
        if i == panel.core:
            continue
        key = "face_sd" if i < panel.core else "back_sd"
        film = sampler.value(ply.material, "vapour_mu", 10000.0)
        sides[key] = sides[key] + still_air_metres(layer.thickness, film)
    return {"slope": (wet - dry) / (high - low) * share, "resistance": mu, **sides}


def moisture_checks(panel: Panel) -> list[Check]:
    """Bow from one-sided moisture over half a year after the air has changed.

    Parameters
    ----------
    panel : Panel [-]
        The panel; nothing is returned for cores that take up no water.

    Returns
    -------
    list of Check [mm]
    """
    service, core = panel.service, panel.plies[panel.core].material
    if service.humidity_change == 0.0 or "swell_per_mc" not in core.properties:
        return []
    length = panel.shape.length
    limit = length / service.flat_ratio
    saturation = float(saturation_pressure(service.room))
    sampled = moisture_inputs(panel, panel.layers, Sampler(panel.draws))
    state = moisture_bow(
        panel.layers,
        length,
        service.humidity_change,
        sampled["slope"],
        sampled["resistance"],
        saturation,
        sampled["face_sd"],
        sampled["back_sd"],
        cells=10,
    )
    middle = moisture_inputs(panel, panel.middle, Sampler(None))
    remedies = []
    if abs(float(np.median(state.peak))) > limit:
        after = moisture_bow(
            panel.middle,
            length,
            service.humidity_change,
            middle["slope"],
            middle["resistance"],
            saturation,
            middle["face_sd"],
            middle["face_sd"],
        )
        sealed = abs(float(after.peak))
        remedies.append(
            say(
                "Seal the back as tight as the face, with the same coats: at most {sealed}.",
                sealed=_mm(sealed),
            )
        )
        lowest = service.humidity_change * limit / abs(float(np.median(state.peak)))
        remedies.append(
            say(
                "Or let the board settle in its place before coating, to within {change:.0f} points "
                "of humidity.",
                change=100 * abs(lowest),
            )
        )
    when = float(np.median(state.peak_time)) / 86400.0
    return [
        Check.of(
            "endure.bow.moisture",
            say(
                "{piece}: bow when the air's humidity changes by {change:+.0f} points",
                piece=panel.shape.name,
                change=100 * service.humidity_change,
            ),
            1000.0 * np.abs(state.peak),
            "mm",
            1000.0 * limit,
            "at most",
            say(
                "at most length over {ratio:g} at the worst moment in half a year",
                ratio=service.flat_ratio,
            ),
            FLAT,
            moment=say("about {when:.0f} days after the change", when=when),
            caution="Standard MDF is not for places that get wet; seal every cut edge.",
            remedies=remedies,
        )
    ]


def film_checks(panel: Panel) -> list[Check]:
    """Tension of the film and the edge's energy, at room and in the cold.

    Parameters
    ----------
    panel : Panel [-]
        The panel.

    Returns
    -------
    list of Check [%, J/m2]
    """
    service = panel.service
    coldest = service.room if service.coldest is None else service.coldest
    change = min(service.room, coldest) - service.solid
    state = panel_bow(panel.layers, panel.shape.length, change)
    coats = [x for x in panel.layers if x.role == "coat"]
    if not coats:
        return []
    lead = max(coats, key=lambda x: float(np.median(np.asarray(x.thickness))))
    core = panel.layers[panel.core]
    mid, mid_core = _lead_middle(panel)
    where = "in the cold store" if service.coldest is not None else "after cure"
    weakest, stretch = _most_strained(panel, state.state)
    out = [
        Check.of(
            "endure.film.strain",
            say(
                "{piece}: strain of the film, worst in {weakest}",
                piece=panel.shape.name,
                weakest=weakest.name,
            ),
            100.0 * stretch,
            "%",
            100.0 * np.asarray(weakest.strain_break, float) / service.strain_ratio,
            "at most",
            "at most a third of its strain at break, as it comes and goes"
            if service.strain_ratio == 3.0
            else part_of_strain(service.strain_ratio),
            "a third for repeated strain: from memory [from memory]",
            moment=where,
            caution=CRACK_CAUTION,
            remedies=(
                say(
                    "A resin that stretches {strain:.1f} % before it breaks, by its data sheet.",
                    strain=100.0 * service.strain_ratio * float(np.quantile(stretch, 0.95)),
                ),
            ),
        )
    ]
    de = (
        np.asarray(lead.shrinkage, float)
        + (np.asarray(core.expansion, float) - np.asarray(lead.expansion, float)) * change
    )
    nu = 0.5 * (np.asarray(lead.poisson, float) + np.asarray(core.poisson, float))
    film = sum((np.asarray(x.thickness, float) for x in coats), start=np.zeros(()))
    edge = edge_stress(
        film, core.thickness, lead.modulus, core.modulus, de, None, core.shear_modulus(), nu
    )
    half = edge_stress(
        0.5
        * float(np.asarray(sum(np.asarray(x.thickness) for x in panel.middle if x.role == "coat"))),
        mid_core.thickness,
        mid.modulus,
        mid_core.modulus,
        float(np.median(de)),
        None,
        mid_core.shear_modulus(),
        float(np.median(nu)),
    )
    out.append(
        Check.of(
            "endure.edge.energy",
            say("{piece}: energy that could lift the film at an edge", piece=panel.shape.name),
            edge.energy,
            "J/m2",
            np.asarray(core.toughness, float),
            "at most",
            "under the toughness of the board's face",
            EDGE_SOURCE,
            moment=where,
            caution="The board's face fails before the bond: sand off loose fibres, prime twice.",
            remedies=(
                say(
                    "Half the film thickness brings it to {energy:.1f}.",
                    energy=Amount(float(half.energy), "J/m2"),
                ),
                "Round the edges and carry the film over them.",
            ),
        )
    )
    out.append(
        Check.of(
            "endure.edge.shear",
            say(
                "{piece}: shear at the film's edge, mean over one film thickness",
                piece=panel.shape.name,
            ),
            edge.shear_mean / 1e6,
            "MPa",
            np.asarray(core.core_shear, float) / 1e6,
            "at most",
            "under the board's shear strength",
            EDGE_SOURCE,
            moment=where,
            caution=CRACK_CAUTION,
            remedies=(
                say(
                    "Half the film thickness brings it to {shear:.2f}.",
                    shear=Amount(float(half.shear_mean) / 1e6, "MPa"),
                ),
                "Round the edges and carry the film over them.",
            ),
        )
    )
    return out


def _most_strained(panel: Panel, state: Laminate) -> tuple[Layer, Floats]:
    """The film that comes nearest to its strain at break, and its highest tension strain [-]."""
    best: tuple[float, Layer, Floats] | None = None
    for layer, top, bottom in zip(panel.layers, state.stress_top, state.stress_bottom):
        if layer.role not in ("coat", "back", "skin"):
            continue
        stiff = np.asarray(layer.modulus, float) / (1.0 - np.asarray(layer.poisson, float))
        strain = np.maximum(np.maximum(top, bottom), 0.0) / stiff
        share = float(np.median(strain / np.asarray(layer.strain_break, float)))
        if best is None or share > best[0]:
            best = (share, layer, strain)
    assert best is not None
    return best[1], best[2]


def _lead_middle(panel: Panel) -> tuple[Layer, Layer]:
    coats = [x for x in panel.middle if x.role == "coat"]
    return max(coats, key=lambda x: float(np.asarray(x.thickness))), panel.middle[panel.core]
