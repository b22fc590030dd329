"""Row by row: where each sourced row of the reference note on service is held.

`HELD` names the test that holds a row, or several; `UNUSED` the rows nothing here computes with,
and why. The tests named are run by themselves; what is tested here is that the list is true: every
test exists, every section is there, no row stands twice.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
PUB = "against/test_endure_published.py::"
SRC = "against/test_endure_sources.py::"
RUL = "against/test_endure_rules.py::"
FEM = "against/test_endure_elements.py::"
PSY = "against/test_air_psychro.py::"
WOD = "against/test_air_wood_vapour.py::"
CUT = "against/test_panel_cutting.py::"
QTY = "against/test_quantities_definitions.py::"
RANGE = SRC + "test_printed_value_lies_in_the_catalogues_range"

HELD: dict[str, tuple[str, ...]] = {
    # 1 units
    "1 US gallon, imperial gallon, fluid ounces": (
        QTY + "test_us_gallon_is_231_cubic_inches",
        QTY + "test_printed_conversion_factors",
    ),
    "1 inch, mil, square foot, pound": (QTY + "test_every_unit_agrees_with_pint",),
    "1 coverage 1604": (QTY + "test_a_gallon_covers_1604_square_feet_at_one_mil",),
    "1 L/m2 is mm": (QTY + "test_one_litre_on_a_square_metre_is_one_millimetre",),
    "1 lb/gal, lb/ft3, psi, oz/ft2": (QTY + "test_printed_conversion_factors",),
    "1 US perm": (SRC + "test_vapour_brake_in_us_perms",),
    "1 differences without offset": (QTY + "test_differences_never_take_the_offset",),
    # 2 boards and tops
    "2 MDF generic": (RANGE,),
    "2 MDF database": (
        RANGE,
        RUL + "test_database_values_of_fibreboard_that_look_high_stay_out",
    ),
    "2 MDF EN 622-5 by thickness, 24 h swell": (
        RUL + "test_class_figures",
        RUL + "test_thickness_picks_the_class",
        RUL + "test_the_boards_range_reaches_down_to_its_lowest_class",
    ),
    "2 MDF IS 12406": (RANGE, RUL + "test_class_figures"),
    "2 MDF ANSI A208.2 classes 210, 220, 230, 155": (
        RUL + "test_class_figures",
        SRC + "test_linear_expansion_of_fibreboard",
    ),
    "2 particleboard EN 312 P2, P5": (RANGE, RUL + "test_class_figures"),
    "2 particleboard generic": (RANGE,),
    "2 plywood generic": (RANGE,),
    "2 OSB": (RANGE,),
    "2 EPS type II and IX": (
        RANGE,
        SRC + "test_bead_foam_permeability",
        SRC + "test_bead_foam_shear_is_not_the_printed_one",
        RUL + "test_bead_foam_in_heat",
    ),
    "2 XPS types X, IV, VI, VII, V": (
        RANGE,
        SRC + "test_extruded_foam_permeance",
        RUL + "test_class_figures",
        RUL + "test_xps_is_types_iv_to_vii_and_says_so",
    ),
    "2 PVC foam 60, 80, 100": (
        RANGE,
        RUL + "test_class_figures",
        RUL + "test_pvc_foam_shear_stiffness_is_straight_in_density",
    ),
    "2 PET foam 100": (RANGE,),
    "2 cement board, fibre cement": (RANGE, RUL + "test_fibre_cement_categories"),
    "2 granite": (RANGE,),
    "2 engineered quartz": (RANGE, RUL + "test_other_tops_and_water"),
    "2 acrylic solid surface": (RANGE, RUL + "test_other_tops_and_water"),
    "2 steel, stainless": (RANGE,),
    "2 MDF movement, door of 600 mm": (WOD + "test_mdf_door_of_the_trade_guide", RANGE),
    "2 MDF moisture as made, sent and lived with": (RUL + "test_board_moisture_as_sold",),
    "2 survey of grade 155 boards: derated values": (
        RUL + "test_the_boards_range_reaches_down_to_its_lowest_class",
    ),
    # 3 cured epoxy
    "3 stiffness, strength, strain, Poisson": (RANGE,),
    "3 expansion below and above softening": (
        RANGE,
        RUL + "test_handbook_figures_of_epoxy_that_do_not_fit_a_pour_stay_out",
    ),
    "3 density, conductivity, heat": (RANGE,),
    "3 softening temperature": (
        RANGE,
        RUL + "test_handbook_figures_of_epoxy_that_do_not_fit_a_pour_stay_out",
    ),
    "3 shrinkage in all and after gel": (
        SRC + "test_shrinkage_after_gel_stays_under_the_whole",
        RUL + "test_handbook_figures_of_epoxy_that_do_not_fit_a_pour_stay_out",
    ),
    "3 water uptake": (RANGE,),
    "3 vapour resistance of films": (
        PUB + "test_vapour_resistance_of_films",
        SRC + "test_vapour_brake_in_us_perms",
    ),
    # 4 bow, load, twist
    "4.1 bilayer, W1": (PUB + "test_w1_equal_layers", PUB + "test_stiffness_ratio_of_two"),
    "4.1 bimetal tip, W2": (PUB + "test_w2_bimetal_tip",),
    "4.1 finite elements": (PUB + "test_epoxy_on_mdf",),
    "4.1 thin-film formula": (PUB + "test_stoney_overestimates_by_the_cube",),
    "4.1 inverse": (PUB + "test_coupon_inverse",),
    "4.1 both faces alike": (PUB + "test_both_faces_coated_stays_flat",),
    "4.1 held film in the cold": (PUB + "test_fully_held_film_in_the_cold",),
    "4.2 edge force, shear, peel, energy": (PUB + "test_edge_of_epoxy_on_mdf",),
    "4.3 one-sided moisture, W6": (
        PUB + "test_w6_moisture_gradient",
        PUB + "test_uniform_swelling_equals_the_bilayer",
    ),
    "4.4 overhang W3, span W4": (PUB + "test_w3_overhang", PUB + "test_w4_own_weight"),
    "4.4 composite stiffness": (PUB + "test_film_stiffens_by_over_half",),
    "4.4 square plate, W7": (PUB + "test_w7_square_plate",),
    "4.4 sandwich sag": (FEM + "test_sandwich_sag_against_finite_elements",),
    "4.4 creep factors": (SRC + "test_creep_factors", RUL + "test_class_figures"),
    "4.5 twist": (PUB + "test_twist_strain", PUB + "test_twist_torque"),
    "4.5 first frequency": (PUB + "test_first_frequency",),
    # 5 weight
    "5 USA: plate, seats, axles, label": (
        RUL + "test_figures_of_rules",
        RUL + "test_label_for_added_mass",
        RUL + "test_the_axle_calculation_warns_of_the_label",
    ),
    "5 EU and UK: running order, passengers": (RUL + "test_figures_of_rules",),
    "5 boats: ISO 12217, ISO 14946, 33 CFR 183, UK heel": (
        RUL + "test_figures_of_rules",
        RUL + "test_people_on_a_small_boat",
        RUL + "test_checks_and_cautions_name_their_rules",
    ),
    "5 axles, coupling, sides": (
        PUB + "test_van_axles",
        SRC + "test_trailer_coupling_share",
        SRC + "test_left_and_right_wheels",
    ),
    "5 centre of gravity, stability factor": (PUB + "test_van_centre_of_gravity",),
    "5 heel, sinkage, inclining test": (
        PUB + "test_boat_sinkage_and_heel",
        PUB + "test_inclining_test",
    ),
    "5 weight of a two metre counter": (PUB + "test_weight_of_the_two_metre_counter",),
    # 6 air
    "6 saturation pressure": (
        PSY + "test_saturation_pressure_equals_psychrolib",
        PSY + "test_saturation_pressure_close_to_iapws",
        PSY + "test_reference_table_of_saturation_pressures",
    ),
    "6 dew points": (
        PSY + "test_reference_dew_points",
        PSY + "test_dew_points_close_to_magnus",
        PSY + "test_dew_point_in_fahrenheit_check_value",
    ),
    "6 rule of 3 K and 85 %": (RUL + "test_checks_and_cautions_name_their_rules",),
    "6 humidity that leaves the margin": (
        PSY + "test_humidity_that_leaves_three_kelvin",
        SRC + "test_five_fahrenheit_of_margin",
        PSY + "test_a_board_five_kelvin_colder_loses_the_margin_near_sixty_percent",
    ),
    "6 wood moisture, equation and table": (
        WOD + "test_wood_handbook_table_4_2",
        WOD + "test_wood_moisture_points",
    ),
    # 7 ventilation, fire, health
    "7.1 well-mixed room, purge table": (WOD + "test_purge_table",),
    "7.1 source and balance": (WOD + "test_steady_source_reaches_its_balance",),
    "7.1 drying source": (WOD + "test_drying_peak_example",),
    "7.1 parts per million": (WOD + "test_parts_per_million_to_milligrams",),
    "7.2 hazardous atmosphere, coating areas": (
        SRC + "test_hazardous_atmosphere_is_a_tenth_of_the_flammable_limit",
        RUL + "test_figures_of_rules",
    ),
    "7.2 flammable limits, grams in 12 m3": (
        WOD + "test_flammable_limits_by_mass",
        WOD + "test_grams_in_a_twelve_cubic_metre_cabin",
    ),
    "7.2 health near a hundredth": (SRC + "test_health_is_reached_near_a_hundredth_of_what_burns",),
    "7.3 diisocyanates": (SRC + "test_limits_by_mass", RUL + "test_limits_the_note_lists"),
    "7.3 training and advice": (RUL + "test_figures_of_rules",),
    "7.3 benzyl alcohol, diethylenetriamine": (SRC + "test_limits_by_volume",),
    "7.3 triethylenetetramine": (RUL + "test_limits_the_note_lists",),
    "7.3 wood dust, silica, nuisance dust": (
        SRC + "test_limits_by_mass",
        RUL + "test_limits_the_note_lists",
    ),
    "7.3 sensitisation": (
        RUL + "test_figures_of_rules",
        RUL + "test_calculations_cite_their_rules",
    ),
    "7.4 runaway vessel": (RUL + "test_figures_of_rules",),
    "7.4 open flame": (
        RUL + "test_figures_of_rules",
        RUL + "test_checks_and_cautions_name_their_rules",
    ),
    "7.5 food contact": (
        RUL + "test_every_film_says_when_it_may_touch_food",
        RUL + "test_calculations_cite_their_rules",
    ),
    "7.5 wet rooms": (RUL + "test_figures_of_rules", RUL + "test_calculations_cite_their_rules"),
    # 8 service temperatures
    "8 closed cars": (
        PUB + "test_parked_cabin_matches_the_survey",
        RUL + "test_a_closed_cabin_stays_inside_the_printed_days",
    ),
    "8 interior against softening and foam": (
        RUL + "test_a_parked_cabin_is_hotter_than_an_ambient_film_bears",
    ),
    "8 finish and heat-mark tests": (RUL + "test_figures_of_rules",),
    "8 effusivities, contact": (
        PUB + "test_effusivities",
        PUB + "test_contact_temperature",
        PUB + "test_pans_that_put_the_surface_over_fifty",
    ),
    "8 pan over time": (PUB + "test_pan_over_time",),
    # 9 sun
    "9 absorptance and emittance": (RANGE, RUL + "test_printed_surfaces"),
    "9 colour classes": (SRC + "test_colour_classes",),
    "9 sol-air": (PUB + "test_sol_air",),
    # 10 sheets
    "10 ngcut1, cgcut1": (CUT + "test_free_ngcut1", CUT + "test_constrained_guillotine_cgcut1"),
    "10 Hopper and Turton C1 P1": (CUT + "test_hopper_turton_c1p1_height_20",),
    "10 squares": (CUT + "test_smallest_rectangle", CUT + "test_nine_squares_in_15_by_20"),
    "10 Moron": (CUT + "test_moron_1925_perfect_rectangle",),
    "10 pinwheel": (
        CUT + "test_saw_leaves_a_piece_out_in_5_by_5_and_not_in_5_by_6",
        CUT + "test_router_fits_all_of_it",
    ),
    "10 kerf": ("panel/test_cutplan.py::test_pieces_in_a_row",),
}

UNUSED = {
    "3 diffusivity of water in epoxy": "films count as vapour brakes by their resistance",
    "3 uptake by humidity, activation energy": "as above",
    "4.1 relaxation near softening": "the retained share holds it; from memory",
    "7.1 spill and pool evaporation": "first-order drying and all at once bound it from above",
    "9 near-infrared pigments": "only measured data could say which paste is one",
    "10 data sets of larger instances": "typed instances with known optima stand in the tests",
}
"""Rows of the note that nothing here computes with, and why [-]."""


@cache
def functions(path: str) -> frozenset[str]:
    tree = ast.parse((TESTS / path).read_text(encoding="utf-8"))
    return frozenset(n.name for n in ast.walk(tree) if isinstance(n, ast.FunctionDef))


@pytest.mark.parametrize("row", HELD)
def test_the_tests_that_hold_a_row_exist(row: str) -> None:
    assert HELD[row]
    for where in HELD[row]:
        path, _, name = where.partition("::")
        assert name in functions(path), where


def test_every_section_is_held_and_nothing_stands_twice() -> None:
    sections = {row.partition(" ")[0].partition(".")[0] for row in HELD}
    assert sections == {str(k) for k in range(1, 11)}
    assert not set(HELD) & set(UNUSED)
    assert all(UNUSED.values())
