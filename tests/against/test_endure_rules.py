"""Rules and board classes of the catalogue against the printed figures, and who cites them.

Figures are those of the reference note, which says for each whether it was seen in print; what is
only recalled carries the mark "from memory" in the data and is held here for consistency alone.
"""

from __future__ import annotations

from math import ceil

import numpy as np
import pytest

from pourwright.air.cabin import HAZARD, torch_statement
from pourwright.air.checks import RULE
from pourwright.air.limits import listed_limits
from pourwright.air.margin import HUMIDITY, MARGIN
from pourwright.calc import get as calculation
from pourwright.calc import run
from pourwright.catalogue import get, of_kind
from pourwright.catalogue.rules import cited, rule
from pourwright.endure.boat import Hull
from pourwright.endure.checks_boat import BOAT_CAUTION, heel_checks
from pourwright.endure.checks_weight import VEHICLE_CAUTION
from pourwright.endure.grades import grades_of
from pourwright.endure.sun import CABIN_RISE, parked_cabin
from pourwright.endure.vehicle import Load, label_mass
from pourwright.errors import InputError
from pourwright.quantities import read

ZERO = 273.15
MPA = 1e6

FIGURES = [
    # rule, key, printed text with its unit or plain figure, kind of quantity
    ("rule-confined-space", "flammable_share", 0.10, "29 CFR 1910.146(b)"),
    ("rule-coating-area", "flammable_share", 0.25, "29 CFR 1910.124(b)(1)"),
    ("rule-open-flame", "clear_m", read("35 ft", "length"), "29 CFR 1910.252(a)(2)(vii)"),
    ("rule-open-flame", "watch_min", 30, "29 CFR 1910.252(a)(2)"),
    ("rule-vehicle-us", "seat_kg", read("150 lb", "mass"), "49 CFR 567.4(g)(3)"),
    ("rule-vehicle-label", "plate_share", 0.015, "72 FR 68442"),
    ("rule-vehicle-label", "mass_kg", read("100 lb", "mass"), "72 FR 68442"),
    ("rule-vehicle-eu", "seat_kg", 75, "Regulation (EU) 1230/2012"),
    ("rule-vehicle-eu", "fuel_share", 0.9, "Regulation (EU) 1230/2012"),
    ("rule-boat-load", "crew_kg", 75, "ISO 14946:2021"),
    ("rule-boat-load", "effects_kg", 20, "ISO 14946:2021"),
    ("rule-boat-load", "tank_share", 0.95, "ISO 14946:2021"),
    ("rule-boat-us", "people_add", 32, "33 CFR 183"),
    ("rule-boat-us", "people_each", 141, "33 CFR 183"),
    ("rule-boat-us", "length_m", read("20 ft", "length"), "33 CFR 183"),
    ("rule-boat-heel", "heel_deg", 7, "UK small workboats"),
    ("rule-dew-point", "margin_K", 3.0, "ISO 8502-4:2017"),
    ("rule-dew-point", "humidity_percent", 85, "ISO 12944-7"),
    ("rule-isocyanate-training", "free_percent", 0.1, "REACH Annex XVII entry 74"),
    ("rule-isocyanate-training", "advice_kg_m3", 0.1e-9, "Dutch advice of 2018"),
    ("rule-sensitiser", "tested", 20808, "Bangsgaard et al. 2012"),
    ("rule-sensitiser", "positive_percent", 1.3, "Bangsgaard et al. 2012"),
    ("rule-exotherm", "mass_kg", read("1.5 lb", "mass"), "1.5 lb of epoxy"),
    ("rule-exotherm", "reached_K", read("900 degF", "temperature"), "over 900 degF"),
    ("rule-cabinet-wood", "moisture_percent", 10, "ANSI/KCMA A161.1-2012, 2.8"),
    ("rule-cabinet-wood", "drawer_Pa", 15 * 4.4482216152605 / 0.09290304, "15 psf"),
    ("rule-board-moisture", "made_percent", 8, "MDF trade association, 8 +- 3"),
    ("rule-heat-marks", "stone_like_K", 180 + ZERO, "EN 12722, class 7A at 180 degC"),
    ("rule-wet-room", "steam_perm", 0.5, "ANSI A118.10 of 2024"),
    ("rule-parked-cabin", "day_K", 68 + ZERO, "Grundstein et al. 2009"),
    ("rule-parked-cabin", "spring_K", 61 + ZERO, "Grundstein et al. 2009"),
    ("rule-parked-cabin", "first_hour_K", 22, "McLaren et al. 2005"),
    ("rule-parked-cabin", "dashboard_K", read("160 degF", "temperature"), "Vanos et al. 2018"),
]


@pytest.mark.parametrize(("ident", "key", "figure", "source"), FIGURES)
def test_figures_of_rules(ident: str, key: str, figure: float, source: str) -> None:
    # printed figures: equal but for the digits in which the file keeps a converted unit
    assert rule(ident)[key] == pytest.approx(figure, rel=2e-5), source


@pytest.mark.parametrize("entry", of_kind("rule"), ids=lambda m: m.id)
def test_a_rule_says_who_when_where_and_carries_a_caution(entry) -> None:
    facts = entry.facts
    for key in ("agency", "cites", "place", "says"):
        assert str(facts[key]).strip(), key
    assert 1950 <= facts["year"] <= 2030
    assert facts["mark"] in ("published", "from memory")
    assert entry.cautions and entry.summary
    told = cited(entry.id)
    assert facts["cites"] in told and facts["says"] in told and f"[{facts['mark']}]" in told
    # a year that is only recalled is not given out as the source's
    assert (f" {facts['year']})" in told) == ("year_mark" not in facts)


def test_an_unknown_rule_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError, match="rule-open-flame"):
        rule("rule-open-flames")


CITED_BY = {
    "endure.axle": ("rule-vehicle-us", "rule-vehicle-label", "rule-vehicle-eu"),
    "endure.heel": ("rule-boat-stability", "rule-boat-load", "rule-boat-us", "rule-boat-heel"),
    "endure.heat": ("rule-heat-marks", "rule-parked-cabin", "rule-food-us", "rule-food-eu"),
    "endure.moisture": ("rule-wet-room",),
    "air.vapour": (
        "rule-confined-space",
        "rule-coating-area",
        "rule-open-flame",
        "rule-isocyanate-training",
        "rule-sensitiser",
    ),
    "air.wood_moisture": ("rule-board-moisture", "rule-cabinet-wood"),
}


@pytest.mark.parametrize("name", CITED_BY)
def test_calculations_cite_their_rules(name: str) -> None:
    found = run(name, dict(calculation(name).example)).sources
    for ident in CITED_BY[name]:
        assert cited(ident) in [str(s) for s in found], ident


def test_checks_and_cautions_name_their_rules() -> None:
    assert rule("rule-confined-space")["flammable_share"] == HAZARD
    assert rule("rule-dew-point")["margin_K"] == MARGIN
    assert rule("rule-dew-point")["humidity_percent"] == pytest.approx(100 * HUMIDITY)
    for part in rule("rule-dew-point").facts["cites"].split("; "):
        assert part in RULE
    assert "ISO 12217" in BOAT_CAUTION and "ISO 14946" in BOAT_CAUTION
    assert "110/120" in VEHICLE_CAUTION and "plate" in VEHICLE_CAUTION
    away = ceil(rule("rule-open-flame")["clear_m"])
    assert f"{away} m" in torch_statement(False) and "30 min" in torch_statement(False)
    hull = Hull(3000, 0.8, 18.0, 8.0, 0.8, 1025.0)
    heel = next(c for c in heel_checks(hull, [Load("x", 50.0, 0.0, 0.5, 0.8)]) if "heel" in c.name)
    assert cited("rule-boat-heel") in heel.source
    assert heel.limit < rule("rule-boat-heel")["heel_deg"]


def test_every_film_says_when_it_may_touch_food() -> None:
    """21 CFR 175.300 and Regulation 1935/2004: only as its supplier states it; never cut on it."""
    wanted = rule("rule-food-us").cautions[0]
    assert wanted == rule("rule-food-eu").cautions[0]
    for film in of_kind("cured"):
        if film.id.startswith("cured-") and "food" in " ".join(film.cautions).lower():
            assert "never a cutting board" in " ".join(film.cautions), film.id
    for ident in ("cured-coating", "cured-art", "cured-casting"):
        assert "Food contact only" in " ".join(get(ident).cautions)


@pytest.mark.parametrize(
    ("plate", "told"), [(2000.0, 30.0), (3500.0, 45.359237), (3023.949, 45.359237)]
)
def test_label_for_added_mass(plate: float, told: float) -> None:
    """72 FR 68442: the lesser of 1.5 % of the plate and 100 lb; they meet at 6667 lb."""
    assert label_mass(plate) == pytest.approx(told, rel=1e-6)


def test_the_axle_calculation_warns_of_the_label() -> None:
    example = dict(calculation("endure.axle").example)
    heavy = run("endure.axle", {**example, "total_plate_kg": 3500})
    light = run("endure.axle", {**example, "total_plate_kg": 6000, "loads": [
        {"name": "top", "mass_kg": 40, "along_m": 1.2}]})  # fmt: skip
    assert any("label" in str(w) for w in heavy.warnings)
    assert not any("label" in str(w) for w in light.warnings)


def test_people_on_a_small_boat() -> None:
    """33 CFR 183: (pounds + 32)/141; 550 lb are 4 people, whole ones."""
    small = rule("rule-boat-us")
    assert int((550 + small["people_add"]) / small["people_each"]) == 4


# --- classes of boards -----------------------------------------------------------------------

GRADES = [
    # board, standard, class, key, printed figure in SI
    ("mdf", "EN 622-5", "MDF", "E_Pa", (2500, 2200, 2100)),
    ("mdf", "EN 622-5", "MDF", "bending_strength_Pa", (22, 20, 18)),
    ("mdf", "EN 622-5", "MDF", "internal_bond_Pa", (0.60, 0.55, 0.55)),
    ("mdf", "EN 622-5", "MDF", "swell_24h", (0.15, 0.12, 0.10)),
    ("mdf", "IS 12406:2003", "MDF", "E_Pa", (2800,)),
    ("mdf", "IS 12406:2003", "MDF", "bending_strength_Pa", (28,)),
    ("mdf", "IS 12406:2003", "MDF", "internal_bond_Pa", (0.9,)),
    ("mdf", "IS 12406:2003", "MDF", "swell_2h", (0.07,)),
    ("mdf", "ANSI A208.2", "210", "bending_strength_Pa", (18.9,)),
    ("mdf", "ANSI A208.2", "220", "bending_strength_Pa", (28.9,)),
    ("mdf", "ANSI A208.2", "230", "bending_strength_Pa", (28.9,)),
    ("mdf", "ANSI A208.2", "210", "internal_bond_Pa", (0.32,)),
    ("mdf", "ANSI A208.2", "220", "internal_bond_Pa", (0.54,)),
    ("mdf", "ANSI A208.2", "230", "internal_bond_Pa", (0.90,)),
    ("mdf", "ANSI A208.2", "210", "expansion", (0.0033,)),
    ("mdf", "ANSI A208.2", "155", "E_Pa", (2790,)),
    ("particleboard", "EN 312", "P2", "E_Pa", (1600,)),
    ("particleboard", "EN 312", "P2", "bending_strength_Pa", (13,)),
    ("particleboard", "EN 312", "P2", "internal_bond_Pa", (0.35,)),
    ("particleboard", "EN 312", "P5", "E_Pa", (2400,)),
    ("particleboard", "EN 312", "P5", "bending_strength_Pa", (16,)),
    ("particleboard", "EN 312", "P5", "internal_bond_Pa", (0.45,)),
    ("particleboard", "EN 312", "P5", "swell_24h", (0.10,)),
    ("particleboard", "EN 312", "P5", "k_def_damp", (3.0,)),
    ("particleboard", "EN 1995-1-1", "P4", "k_def", (2.25,)),
    ("particleboard", "EN 1995-1-1", "P6", "k_def", (1.50,)),
    ("particleboard", "EN 1995-1-1", "P7", "k_def", (1.50,)),
    ("particleboard", "EN 1995-1-1", "P7", "k_def_damp", (2.25,)),
    ("osb", "EN 1995-1-1", "OSB/2", "k_def", (2.25,)),
    ("osb", "EN 1995-1-1", "OSB/3", "k_def", (1.50,)),
    ("osb", "EN 1995-1-1", "OSB/4", "k_def_damp", (2.25,)),
    ("pvc-foam", "by density", "60 kg/m3", "E_Pa", (70,)),
    ("pvc-foam", "by density", "80 kg/m3", "E_Pa", (90,)),
    ("pvc-foam", "by density", "100 kg/m3", "E_Pa", (135,)),
    ("pvc-foam", "by density", "60 kg/m3", "shear_strength_Pa", (0.76,)),
    ("pvc-foam", "by density", "80 kg/m3", "shear_strength_Pa", (1.15,)),
    ("pvc-foam", "by density", "100 kg/m3", "shear_strength_Pa", (1.6,)),
    ("xps", "ASTM C578-10", "X", "compress_strength_Pa", (0.104,)),
    ("xps", "ASTM C578-10", "IV", "compress_strength_Pa", (0.173,)),
    ("xps", "ASTM C578-10", "VI", "compress_strength_Pa", (0.276,)),
    ("xps", "ASTM C578-10", "VII", "compress_strength_Pa", (0.414,)),
    ("xps", "ASTM C578-10", "V", "compress_strength_Pa", (0.690,)),
    ("xps", "ASTM C578-10", "X", "bending_strength_Pa", (0.276,)),
    ("xps", "ASTM C578-10", "IV", "bending_strength_Pa", (0.345,)),
    ("xps", "ASTM C578-10", "VI", "bending_strength_Pa", (0.414,)),
    ("xps", "ASTM C578-10", "VII", "bending_strength_Pa", (0.517,)),
    ("xps", "ASTM C578-10", "V", "bending_strength_Pa", (0.690,)),
]  # fmt: skip


@pytest.mark.parametrize(("board", "standard", "name", "key", "printed"), GRADES)
def test_class_figures(
    board: str, standard: str, name: str, key: str, printed: tuple[float, ...]
) -> None:
    found = [
        g.figures[key]
        for g in grades_of(get(board))
        if (g.standard, g.name) == (standard, name) and key in g.figures
    ]
    scale = MPA if key.endswith("_Pa") else 1.0
    assert found == pytest.approx([scale * x for x in printed], rel=1e-9)


def test_thickness_picks_the_class() -> None:
    en = [g for g in grades_of(get("mdf"), 0.018) if g.standard == "EN 622-5"]
    assert [g.figures["E_Pa"] for g in en] == [2.2e9]
    assert [g.figures["E_Pa"] for g in grades_of(get("mdf"), 0.012) if "EN" in g.standard] == [
        2.5e9
    ]
    assert {g.name for g in grades_of(get("mdf"), 0.006)} == {"MDF", "210", "220", "230"}
    assert grades_of(get("plywood")) == []


def test_the_boards_range_reaches_down_to_its_lowest_class() -> None:
    """A board sold under the name may be of any class: its 5 % point lies at or under the least."""
    mdf = get("mdf")
    for g in grades_of(mdf, 0.018):
        if (g.figure == "least" and g.mark == "published") or g.standard == "EN 622-5":
            for key in ("E_Pa", "bending_strength_Pa", "internal_bond_Pa"):
                if key in g.figures:
                    assert mdf.prop(key).low <= g.figures[key] <= mdf.prop(key).high, (g.name, key)


def test_pvc_foam_shear_stiffness_is_straight_in_density() -> None:
    """Printed: close to straight in density (Vinson); 60, 80, 100 kg/m3 within 3 % of a line."""
    rows = [g.figures for g in grades_of(get("pvc-foam"))]
    rho = np.array([r["density_kg_m3"] for r in rows])
    shear = np.array([r["G_Pa"] for r in rows])
    line = np.polyval(np.polyfit(rho, shear, 1), rho)
    assert list(rho) == [60, 80, 100]
    np.testing.assert_allclose(shear, line, rtol=0.03)
    eighty = get("pvc-foam")
    assert eighty["density_kg_m3"] == 80 and eighty["G_Pa"] == shear[1]
    # one core's tests gave 23 % less than its sheet (Cetin and Geren 2024): kept as a knock-down
    assert eighty["shear_strength_Pa"] < rows[1]["shear_strength_Pa"]
    assert eighty.prop("shear_strength_Pa").low == pytest.approx(0.77 * 1.0e6)


def test_xps_is_types_iv_to_vii_and_says_so() -> None:
    """Type X is weaker and V stronger than the board of the name: outside its range, by intent."""
    foam = get("xps")
    types = {g.name: g.figures["compress_strength_Pa"] for g in grades_of(foam)}
    p = foam.prop("compress_strength_Pa")
    assert types["X"] < p.low == types["IV"] and p.high == types["VII"] < types["V"]
    assert "IV to VII" in foam.prop("density_kg_m3").source
    for g in grades_of(foam):
        least = 195.0 / (g.figures["permeance_ng_Pasm2"] * 0.025)
        assert foam.prop("vapour_mu").low <= least <= foam.prop("vapour_mu").high


@pytest.mark.parametrize(
    ("category", "mpa"),
    [("outdoor_3", 7), ("outdoor_4", 13), ("outdoor_5", 18), ("indoor_3", 10), ("indoor_4", 16)],
)
def test_fibre_cement_categories(category: str, mpa: float) -> None:
    assert rule("rule-fibre-cement")[f"{category}_Pa"] == mpa * MPA
    board = get("cement-board").prop("bending_strength_Pa")
    if category in ("outdoor_3", "outdoor_4"):
        assert board.low <= mpa * MPA <= board.high


# --- figures that are deliberately not used ---------------------------------------------------


def test_database_values_of_fibreboard_that_look_high_stay_out() -> None:
    """Conductivity 0.30 and G 2.5 GPa of the database look high; ISO 10456's 0.14 to 0.18 stands."""
    mdf = get("mdf")
    assert mdf.prop("k_W_mK").high < 0.30
    assert mdf.prop("G_plane_Pa").high < 2.5e9
    # its tensile strength of 18 MPa is under the bending strength, as it is for any fibreboard
    assert mdf.prop("bending_strength_Pa").low >= 18e6


def test_handbook_figures_of_epoxy_that_do_not_fit_a_pour_stay_out() -> None:
    film = get("cured-coating")
    assert film.prop("gel_shrink_strain").low > 1e-4  # "0.01 %" is not usable
    assert film.prop("density_kg_m3").high < 1300  # 1.3 is a filled or database value
    assert film.prop("tg_K").high < 120 + ZERO  # 120 degC is a hot-cured value
    # above softening 3 to 5 times the glassy expansion (Design News 2013); the middles give 2.6
    ratio = film.prop("cte_soft_per_K").high / film.prop("cte_per_K").low
    assert 3.0 <= ratio <= 5.0


def test_bead_foam_in_heat() -> None:
    """Type IX: 75 degC lasting, 82 degC for short (167 and 180 degF): nothing above is promised."""
    for ident in ("eps-foam", "eps-foam-dense"):
        p = get(ident).prop("service_max_K")
        assert p.low <= read("167 degF", "temperature") <= p.high
        assert p.high <= read("180 degF", "temperature") + 0.01


def test_limits_the_note_lists() -> None:
    limits = listed_limits(298.15)
    assert limits["triethylenetetramine"].twa == pytest.approx(1e-6)  # Poland, 1 mg/m3
    dust = get("wood-dust").prop("twa_kg_m3")  # EU 2, UK 3 and 5 mg/m3
    assert dust.value == 2e-6 and dust.high == 5e-6 and " 3, softwood 5" in dust.source
    silica = get("quartz-dust").prop("twa_kg_m3")  # action 25, UK 0.1 mg/m3
    assert silica.low == 25e-9 and silica.high == 100e-9
    nuisance = get("nuisance-dust").prop("twa_kg_m3")  # 10 inhalable, 4 respirable
    assert (nuisance.value, nuisance.low) == (10e-6, 4e-6)
    nco = get("diisocyanate")  # 10 and 20 ug/m3 until the end of 2028
    assert "10/20 ug/m3 until 31 Dec 2028" in nco.facts["twa_agency"]
    assert rule("rule-isocyanate-training")["advice_kg_m3"] < nco["twa_kg_m3"]


def test_other_tops_and_water() -> None:
    """EN 14617 table 0.01 to 0.07 %; ISO 19712 table 0.27 % after 49 days, 45.6 MPa, 0.66 %."""
    assert get("quartz").prop("water_uptake").low == 1e-4
    assert get("quartz").prop("water_uptake").high == 7e-4
    top = get("solid-surface")
    assert top["water_uptake"] == 0.0027 and top["strain_break"] == 0.0066
    assert top["tensile_strength_Pa"] == 45.6e6
    # the table's own stress, strain and stiffness hang together: 45.6/9840 = 0.46 % elastic
    assert top["tensile_strength_Pa"] / 9.84e9 < top["strain_break"]
    assert get("stainless")["absorptance"] == 0.37


@pytest.mark.parametrize(
    ("ident", "absorbs", "radiates", "source"),
    [
        ("sun-white", 0.16, 0.90, "handbook after Holman, white paint 0.12 to 0.16, 0.90 to 0.95"),
        ("sun-white", 0.248, 0.924, "balloon paper, white epoxy"),
        ("sun-white", 0.252, 0.853, "balloon paper, white enamel"),
        ("sun-light", 0.46, 0.95, "handbook after Holman, white marble"),
        ("sun-dark", 0.90, 0.90, "handbook after Holman, asphalt"),
        ("sun-black", 0.96, 0.95, "handbook after Holman, flat black lacquer"),
        ("sun-black", 0.975, 0.874, "balloon paper, black paint"),
    ],
)
def test_printed_surfaces(ident: str, absorbs: float, radiates: float, source: str) -> None:
    tone = get(ident)
    assert tone.prop("absorptance").low <= absorbs <= tone.prop("absorptance").high, source
    assert tone.prop("emittance").low <= radiates <= tone.prop("emittance").high, source


def test_a_closed_cabin_stays_inside_the_printed_days() -> None:
    """Grundstein 2009: 41 to 76 degC by day, 61 on a clear spring day, about 10 K less in cloud."""
    cabin = rule("rule-parked-cabin")
    day = cabin.prop("day_K")
    summer = float(parked_cabin(32 + ZERO))
    assert summer == pytest.approx(day.value, abs=0.5)
    # 10 K under the clear middle is still inside the range of the rise
    cloudy = CABIN_RISE[1] - cabin["cloud_less_K"]
    assert CABIN_RISE[0] - 1.5 <= cloudy < CABIN_RISE[1]
    # a clear spring day 61 degC: outside near 25 degC by the same rise
    assert cabin["spring_K"] - CABIN_RISE[1] - ZERO == pytest.approx(25.0, abs=2.0)
    assert CABIN_RISE[0] > cabin["first_hour_K"]


@pytest.mark.parametrize(
    ("cured_K", "service"), [(313.15, "tg_K"), (333.15, "tg_K")], ids=["40 degC", "60 degC"]
)
def test_a_parked_cabin_is_hotter_than_an_ambient_film_bears(cured_K: float, service: str) -> None:
    """Reference 8: the design interior of 75 degC lies over 40 to 60 degC, at the foams' limit."""
    hot = 75 + ZERO
    film = get("cured-coating").prop(service)
    assert film.low <= cured_K <= film.high < hot
    assert get("xps")["service_max_K"] < hot + 0.01
    assert get("eps-foam")["service_max_K"] == pytest.approx(hot)


def test_board_moisture_as_sold() -> None:
    """8 +- 3 % when made, 7 to 12 at dispatch, 10 to 12 lived in: air of 35 to 70 % humidity."""
    from pourwright.air.wood import wood_moisture

    sold, share = rule("rule-board-moisture"), get("mdf").prop("emc_share")
    assert (sold.prop("made_percent").low, sold.prop("made_percent").high) == (5, 11)
    assert (sold.prop("lived_in_percent").low, sold.prop("lived_in_percent").high) == (10, 12)
    low = 100 * share.low * float(wood_moisture(293.15, 0.35))
    high = 100 * share.high * float(wood_moisture(293.15, 0.70))
    made = sold.prop("made_percent")
    assert made.low - 0.5 <= low < high <= sold.prop("sent_percent").high
    assert rule("rule-cabinet-wood")["moisture_percent"] <= sold.prop("lived_in_percent").low
