"""Endurance against printed formulas, handbook examples and statics by hand.

Numbers are those of the worked examples and check table behind this room: Timoshenko 1925, a
printed bimetal example, EN 1995-1-1 creep factors, Carslaw and Jaeger, statics.
"""

from __future__ import annotations

from math import radians

import numpy as np
import pytest

from pourwright.calc import run
from pourwright.catalogue import get
from pourwright.endure.boat import Hull, float_after, heel_in_coat, metacentric_from_test
from pourwright.endure.bow import (
    bilayer_curvature,
    bow_over,
    coupon_mismatch,
    panel_bow,
    stoney_curvature,
)
from pourwright.endure.edge import edge_stress
from pourwright.endure.heat import PANS, contact_temperature, effusivity, hot_pan, hottest_pan
from pourwright.endure.layers import Layer
from pourwright.endure.materials import layer_of
from pourwright.endure.moisture import still_air_metres
from pourwright.endure.span import (
    GRAVITY,
    first_frequency,
    layer_stress,
    plate_centre_sag,
    sag_overhang,
    sag_span,
    section,
)
from pourwright.endure.sun import parked_cabin, sol_air
from pourwright.endure.twist import twist
from pourwright.endure.vehicle import (
    Load,
    axle_share,
    centre_height,
    stability_factor,
)
from pourwright.endure.weight import areal_mass

EPOXY = Layer("epoxy", "coat", 0.003, 2900e6, 1150, 0.3, shear=1e12, shrinkage=1e-3, creep=2.25)
MDF = Layer("MDF", "core", 0.018, 3000e6, 750, 0.3, shear=1e12, swell=0.05, creep=2.25)


# --- bow -----------------------------------------------------------------------------------


def test_w1_equal_layers() -> None:
    # Timoshenko 1925, m = n = 1: kappa h/de = 1.5; 20 mm, 0.1 %, 1200 mm: 13.5 mm
    kappa = float(bilayer_curvature(0.01, 0.01, 1.0, 1e-3))
    assert kappa * 0.02 / 1e-3 == pytest.approx(1.5, rel=1e-9)
    assert 1e3 * float(bow_over(kappa, 1.2)) == pytest.approx(13.5, rel=1e-9)


def test_stiffness_ratio_of_two() -> None:
    # 24/(14 + n + 1/n) = 1.454545 for n = 2
    kappa = float(bilayer_curvature(0.5, 0.5, 2.0, 1.0))
    assert kappa == pytest.approx(24 / (14 + 2 + 0.5), rel=1e-9)
    assert kappa == pytest.approx(1.454545, abs=1e-6)


def test_w2_bimetal_tip() -> None:
    # printed bimetal cantilever example (E.15): 3 L2 de/(4 h) = 5.625 mm; the example itself
    # prints metres by a slip
    kappa = float(bilayer_curvature(0.15, 0.15, 1.0, 5e-6 * 50))
    assert 1e3 * kappa * 3.0**2 / 2 == pytest.approx(5.625, rel=1e-9)


def test_epoxy_on_mdf() -> None:
    # 3.43466e-5 per mm, 6.18 mm over 1200 mm (elements agree to 5 digits)
    state = panel_bow([EPOXY, MDF], 1.2, strip=True)
    assert float(state.curvature) == pytest.approx(3.43466e-2, rel=1e-4)
    assert 1e3 * float(state.bow) == pytest.approx(6.18, abs=0.01)


@pytest.mark.parametrize(
    ("m", "ratio"), [(0.001, 1.003), (0.01, 1.030301), (0.05, 1.158), (0.1, 1.331), (1 / 6, 1.588)]
)
def test_stoney_overestimates_by_the_cube(m: float, ratio: float) -> None:
    # Stoney over Timoshenko = (1 + m)^3 for n = 1; table printed to three or six digits
    found = float(stoney_curvature(m, 1.0, 1.0, 1.0) / bilayer_curvature(m, 1.0, 1.0, 1.0))
    assert found == pytest.approx((1 + m) ** 3, rel=1e-9)
    assert found == pytest.approx(ratio, abs=6e-4)


def test_coupon_inverse() -> None:
    # 6.18 mm over 1200 mm -> 0.00100
    found = float(coupon_mismatch(6.18e-3, 1.2, 0.003, 0.018, 2900 / 3000))
    assert found == pytest.approx(1.0e-3, abs=1e-6)


def test_both_faces_coated_stays_flat() -> None:
    state = panel_bow([EPOXY, MDF, EPOXY], 1.2)
    assert abs(float(state.curvature)) < 1e-12
    assert float(state.film_stress) > 1e5  # the stress stays


@pytest.mark.parametrize(("points", "bow"), [(0.01, 5.0), (0.02, 10.0), (0.03, 15.0)])
def test_w6_moisture_gradient(points: float, bow: float) -> None:
    # kappa = beta dM/t: 18 mm MDF, 1200 mm
    state = panel_bow([MDF], 1.2, moisture_gradient=points, strip=True)
    assert 1e3 * float(state.bow) == pytest.approx(bow, rel=1e-6)


def test_uniform_swelling_equals_the_bilayer() -> None:
    bare = EPOXY.with_(shrinkage=0.0)
    state = panel_bow([bare, MDF], 1.2, moisture_change=0.02, strip=True)
    expected = bilayer_curvature(0.003, 0.018, 2900 / 3000, 0.05 * 0.02)
    assert float(state.curvature) == pytest.approx(float(expected), rel=1e-9)


def test_fully_held_film_in_the_cold() -> None:
    # 53e-6/K over 55 K = 0.29 %; E/(1 - nu) de = 13.0 MPa for 2.9 GPa, 0.35; a very thick board
    # holds the film
    film = Layer("e", "coat", 1e-6, 2.9e9, 1150, 0.35, expansion=65e-6)
    board = Layer("b", "core", 1.0, 3e9, 750, 0.35, expansion=12e-6)
    state = panel_bow([film, board], 1.0, temperature_change=-55.0)
    assert float(state.film_stress) / 1e6 == pytest.approx(13.0, abs=0.05)


def test_edge_of_epoxy_on_mdf() -> None:
    # N 4.7906 N/mm (0.5 %), 1/k 5.33 mm (0.5 %), tau 0.90, peel 0.25 MPa (two digits), G 2.4 J/m2;
    # the note's shear moduli are those of Poisson's ratios 0.35 and 0.25
    g1, g2 = 2900e6 / 2.7, 3000e6 / 2.5
    edge = edge_stress(0.003, 0.018, 2900e6, 3000e6, 1e-3, g1, g2)
    assert float(edge.force) / 1e3 == pytest.approx(4.7906, rel=5e-3)
    assert 1e3 * float(edge.build_up) == pytest.approx(5.33, rel=5e-3)
    assert float(edge.shear_peak) / 1e6 == pytest.approx(0.90, abs=0.005)
    assert float(edge.peel_peak) / 1e6 == pytest.approx(0.25, abs=0.005)
    assert float(edge.shear_mean) / 1e6 == pytest.approx(0.687, abs=0.003)
    assert float(edge.energy) == pytest.approx(2.4, abs=0.05)
    double = edge_stress(0.003, 0.018, 2900e6, 3000e6, 2e-3)
    assert float(double.energy / edge.energy) == pytest.approx(4.0)


# --- load ------------------------------------------------------------------------------------


def test_w3_overhang() -> None:
    # P L3/3EI = 2.9769 mm, stress 3.86 MPa; with 3 mm of epoxy 1.895 mm; long term times 3.25
    bare = section([MDF], 0.6)
    sag = 1e3 * float(sag_overhang(bare, 0.25, 500.0))
    assert sag == pytest.approx(2.9769, rel=1e-4)
    stress = layer_stress([MDF], 0.6, 500.0 * 0.25)[0]
    assert float(stress) / 1e6 == pytest.approx(3.86, abs=0.005)
    both = section([EPOXY, MDF], 0.6)
    assert 1e3 * float(sag_overhang(both, 0.25, 500.0)) == pytest.approx(1.895, abs=1e-3)
    lasting = 1e3 * float(sag_overhang(bare, 0.25, 500.0, lasting=True))
    assert lasting / sag == pytest.approx(3.25)


@pytest.mark.parametrize(("span", "now", "later"), [(0.9, 0.620, 2.015), (0.6, 0.122, 0.398)])
def test_w4_own_weight(span: float, now: float, later: float) -> None:
    # 5 w L4/384 EI with EI 2.2906e6 N mm per mm; k_def 2.25 for both layers; last digit
    part = section([EPOXY, MDF], 0.6)
    weight = part.mass * GRAVITY
    assert 1e3 * float(sag_span(part, span, 0.0, weight)) == pytest.approx(now, abs=1e-3)
    found = 1e3 * float(sag_span(part, span, 0.0, weight, lasting=True))
    assert found == pytest.approx(later, abs=2e-3)


def test_film_stiffens_by_over_half() -> None:
    # EI per width 2.2906e6 against 1.458e6 N mm: 1.571 (short term only)
    both, bare = section([EPOXY, MDF], 1.0), section([MDF], 1.0)
    assert float(both.bending) == pytest.approx(2290.6, abs=0.05)
    assert float(both.bending / bare.bending) == pytest.approx(1.571, abs=1e-3)


def test_w7_square_plate() -> None:
    # Navier's series: 0.0040624
    assert float(plate_centre_sag(1.0, 1.0, 1.0, 1.0)) == pytest.approx(0.0040624, abs=1e-7)


def test_first_frequency() -> None:
    # (pi/2) sqrt(EI/(m L4)) = 22.5 Hz; the rule 18/sqrt(sag in mm) gives 22.9
    part = section([EPOXY, MDF], 0.6)
    found = float(first_frequency(part, 0.9))
    assert found == pytest.approx(22.54, rel=5e-3)
    sag = 1e3 * float(sag_span(part, 0.9, 0.0, part.mass * GRAVITY))
    assert found == pytest.approx(18 / sag**0.5, rel=0.02)


def test_creep_factors_of_the_catalogue() -> None:
    # EN 1995-1-1 Table 3.2: MDF.LA 2.25, plywood 0.80 and 1.00
    assert get("mdf")["k_def"] == 2.25
    assert get("plywood")["k_def"] == 0.80
    assert get("plywood")["k_def_damp"] == 1.00


@pytest.mark.parametrize(
    ("thick", "strain"), [(0.012, 2.1e-4), (0.018, 3.1416e-4), (0.021, 3.7e-4), (0.050, 8.7e-4)]
)
def test_twist_strain(thick: float, strain: float) -> None:
    # t theta'/2 at 2 degrees per metre
    state = twist([MDF.with_(thickness=thick)], 0.6, 1.2, radians(2.0))
    assert float(state.film_strain) == pytest.approx(strain, rel=0.02)
    assert float(state.film_strain) == pytest.approx(thick * radians(2.0) / 2, rel=1e-9)


def test_twist_torque() -> None:
    # 600 x 18 mm MDF, G 1.2 GPa: about 49 N m for 2 degrees per metre
    state = twist([MDF.with_(shear_plane=1.2e9)], 0.6, 1.2, radians(2.0))
    assert float(state.torque) == pytest.approx(48.0, rel=0.03)


# --- weight ----------------------------------------------------------------------------------


def test_weight_of_the_two_metre_counter() -> None:
    # 2.0 x 0.6 m: 3 mm at 1.12 kg/L 4.0 kg; 18 mm MDF 16.2; 40 mm XPS at 35 kg/m3 1.7; quartz 57.6
    def kg(rho: float, mm: float) -> float:
        return float(areal_mass([Layer("x", "core", mm / 1000, 1e9, rho)])) * 1.2

    assert kg(1120, 3) == pytest.approx(4.03, abs=0.005)
    assert kg(750, 18) == pytest.approx(16.2)
    assert kg(35, 40) == pytest.approx(1.68)
    assert kg(2400, 20) == pytest.approx(57.6)


def test_van_axles() -> None:
    # 3.6 m wheelbase, 60 kg at 1.2 m: front 20, rear 40, exactly
    share = axle_share([Load("x", 60.0, 1.2)], 3.6, 1.7)
    assert (share.front, share.rear) == (pytest.approx(20.0), pytest.approx(40.0))
    behind = axle_share([Load("x", 60.0, -0.9)], 3.6, 1.7)
    assert behind.front == pytest.approx(-15.0) and behind.rear == pytest.approx(75.0)


def test_van_centre_of_gravity() -> None:
    # 3500 kg at 1.00 m, 60 kg at 1.40 m: 1.00674 m; factor 0.8500 to 0.8443 on a 1.70 m track
    mass, height = centre_height(3500, 1.0, [Load("x", 60.0, 0, 0, 1.4)])
    assert mass == 3560 and height == pytest.approx(1.00674, abs=5e-6)
    assert stability_factor(1.7, 1.0) == pytest.approx(0.85)
    assert stability_factor(1.7, height) == pytest.approx(0.8443, abs=5e-5)


def test_boat_sinkage_and_heel() -> None:
    # 18 m2 in sea water, 50 kg: 2.7 mm; heel by m d/((D + m) GM)
    hull = Hull(3000, 0.8, 18.0, 8.0, 0.8, 1025.0)
    after = float_after(hull, [Load("x", 50.0, 0.0, 0.5, 0.8)])
    assert 1e3 * after.sinkage == pytest.approx(2.71, abs=0.01)
    assert after.heel == pytest.approx(50 * 0.5 / (3050 * 0.8), rel=1e-3)


def test_inclining_test() -> None:
    # 57.3 H M/(theta D) in degrees, for small angles (0.1 %)
    found = metacentric_from_test(8000, 60, 1.6, radians(1.2))
    assert found == pytest.approx(57.2958 * 1.6 * 60 / (1.2 * 8000), rel=1e-3)


def test_box_barge_trim_by_hand() -> None:
    # rectangle 16 x 2 m: I_L = B L3/12, GM_L = rho I/D; trim = L moment/(D GM_L)
    hull = Hull(16000, 0.5, 32.0, 16.0, 0.6, 1000.0, fullness=1.0)
    after = float_after(hull, [Load("in", 100.0, 5.0, 0, 0.6), Load("out", -100.0, 0, 0, 0.6)])
    inertia = 2.0 * 16.0**3 / 12
    expected = 16.0 * 500.0 / (1000.0 * inertia)
    assert after.trim == pytest.approx(expected, rel=1e-9)
    assert after.sinkage == 0.0


def test_heel_across_a_worktop() -> None:
    # tan 0.4 degrees x 600 mm = 4.19 mm
    assert 1e3 * heel_in_coat(radians(0.4), 0.6) == pytest.approx(4.189, abs=1e-3)


# --- heat --------------------------------------------------------------------------------------

EPOXY_B = effusivity(0.20, 1200, 1400)


@pytest.mark.parametrize(
    ("k", "rho", "c", "b"),
    [(0.20, 1200, 1400, 580), (0.18, 800, 1700, 495), (15, 7900, 500, 7697),
     (50, 7200, 450, 12728), (1.0, 2500, 820, 1432)],
)  # fmt: skip
def test_effusivities(k: float, rho: float, c: float, b: float) -> None:
    # reference table, printed to a whole unit
    assert float(effusivity(k, rho, c)) == pytest.approx(b, abs=1.0)


@pytest.mark.parametrize(
    ("pan", "hot", "expected"),
    [("stainless", 180, 168.94), ("cast iron", 200, 192.2), ("glass", 85, 66.8)],
)
def test_contact_temperature(pan: str, hot: float, expected: float) -> None:
    # two semi-infinite bodies (Carslaw and Jaeger); 0.1 K
    found = float(contact_temperature(effusivity(*PANS[pan]), hot, EPOXY_B, 22.0))
    assert found == pytest.approx(expected, abs=0.1)


def test_pans_that_put_the_surface_over_fifty() -> None:
    # metal above about 52 degC (two-digit rule: aluminium 50.7, stainless 52.1), glass 61
    for pan, expected, off in (("stainless", 52.1, 0.1), ("glass", 61.3, 0.3)):
        found = float(hottest_pan(50.0, effusivity(*PANS[pan]), EPOXY_B, 22.0))
        assert found == pytest.approx(expected, abs=off)
    # skin (effusivity 1120) at 33 on epoxy at 60: 42 degC
    assert float(contact_temperature(EPOXY_B, 60, 1120, 33)) == pytest.approx(42.2, abs=0.1)


BUILD = [
    Layer("e", "coat", 0.003, 2.9e9, 1200, conductivity=0.20, heat=1400),
    Layer("m", "core", 0.018, 3e9, 800, conductivity=0.18, heat=1700),
]


@pytest.mark.parametrize(
    ("seconds", "expected"), [(0.5, 168.9), (10, 163.4), (60, 146.4), (180, 130.2)]
)
def test_pan_over_time(seconds: float, expected: float) -> None:
    # independent finite-volume run of the reference note, adiabatic outside; 1 K
    state = hot_pan(BUILD, "stainless", 453.15, duration=180.0, loss=0.0)
    found = float(np.interp(seconds, state.time, state.surface)) - 273.15
    assert found == pytest.approx(expected, abs=1.0)
    if seconds == 60:
        joint = float(np.interp(60, state.time, state.joint)) - 273.15
        assert joint == pytest.approx(83.0, abs=1.0)


@pytest.mark.parametrize(
    ("alpha", "sun", "h", "rise"),
    [(0.9, 900, 17, 47.6), (0.3, 900, 17, 15.9), (0.9, 600, 9, 60.0), (0.3, 600, 9, 20.0)],
)
def test_sol_air(alpha: float, sun: float, h: float, rise: float) -> None:
    # alpha I/h, printed to 0.1 K
    assert float(sol_air(300.0, sun, alpha, h)) - 300.0 == pytest.approx(rise, abs=0.06)


def test_parked_cabin_matches_the_survey() -> None:
    # Grundstein 2009: clear summer mean 68 degC; range of daily maxima 41 to 76
    middle = float(parked_cabin(273.15 + 32)) - 273.15
    assert middle == pytest.approx(68.0, abs=0.5)
    assert 41 < float(parked_cabin(273.15 + 32, 27)) - 273.15 < 76.5


def test_vapour_resistance_of_films() -> None:
    # ISO 10456: mu 10 000 -> 3 mm 30 m; 18 mm MDF at mu 20: 0.36 m
    assert float(still_air_metres(0.003, 10000)) == pytest.approx(30.0)
    assert float(still_air_metres(0.018, 20)) == pytest.approx(0.36)


# --- catalogue and calculations ------------------------------------------------------------------


def test_calc_gives_the_same_bow_as_by_hand() -> None:
    # middle values of the catalogue through Timoshenko's closed form
    mdf, film = get("mdf"), get("cured-coating")
    de = film["gel_shrink_strain"] * film["retained_share"]
    n = film["E_Pa"] / (1 - film["nu"]) / (mdf["E_Pa"] / (1 - mdf["nu"]))
    expected = float(bow_over(bilayer_curvature(0.003, 0.018, n, de), 1.2))
    state = panel_bow([layer_of(film, 0.003, "coat"), layer_of(mdf, 0.018)], 1.2)
    assert float(state.bow) == pytest.approx(expected, rel=1e-9)
    found = run("endure.bow", {"film_mm": 3, "core": "mdf", "core_mm": 18, "length_mm": 1200})
    spread = found.range["bow_mm"]
    assert spread.p05 < 1e3 * expected < spread.p95
