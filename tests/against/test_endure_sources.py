"""Printed values of boards, cured epoxy, colours and limits against the catalogue's ranges.

Every row names its source; a printed single value must lie inside the catalogue's 5 to 95 % range,
a printed span must overlap it and hold its middle value, unless the row says otherwise. Nothing
here is a tolerance: the printed figure itself is the mark.
"""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.air.cabin import HAZARD
from pourwright.air.limits import listed_limits
from pourwright.air.psychro import humidity_for_margin
from pourwright.catalogue import get
from pourwright.endure.moisture import still_air_metres
from pourwright.endure.sun import CABIN_RISE
from pourwright.endure.vehicle import Load, axle_share

MPA, GPA = 1e6, 1e9

ROWS = [
    # boards
    ("mdf", "density_kg_m3", 700, 900, "Wood Handbook Table 12-1, 700 to 900"),
    ("mdf", "density_kg_m3", 750, 750, "material database, 750"),
    ("mdf", "E_Pa", 2800 * MPA, 2800 * MPA, "IS 12406:2003, mean 2800 MPa"),
    ("mdf", "bending_strength_Pa", 28 * MPA, 28 * MPA, "IS 12406:2003, mean 28 MPa"),
    ("mdf", "internal_bond_Pa", 0.9 * MPA, 0.9 * MPA, "IS 12406:2003, mean 0.9 MPa"),
    ("mdf", "internal_bond_Pa", 0.32 * MPA, 0.9 * MPA, "ANSI A208.2 thin grades, 0.32 to 0.90"),
    ("mdf", "cte_per_K", 12e-6, 12e-6, "material database, 12e-6"),
    ("mdf", "swell_per_mc", 0.05, 0.05, "MDF trade association, 0.05 % per 1 %"),
    ("mdf", "swell_thick_per_mc", 0.35, 0.35, "MDF trade association, 0.35 % per 1 %"),
    ("mdf", "cp_J_kgK", 1700, 1700, "material database, 1700"),
    ("plywood", "density_kg_m3", 400, 600, "Wood Handbook Table 12-1, 400 to 600"),
    ("plywood", "E_Pa", 6960 * MPA, 8550 * MPA, "Wood Handbook Table 12-1, along the face"),
    ("plywood", "cte_per_K", 6.1e-6, 6.1e-6, "plywood industry text, 6.1e-6 in plane"),
    ("plywood", "k_W_mK", 0.12, 0.13, "ISO 10456 0.13; about 0.12 in print"),
    ("xps", "density_kg_m3", 29, 35, "ASTM C578-10 types VI and VII, least 29 and 35"),
    ("xps", "compress_strength_Pa", 0.173 * MPA, 0.414 * MPA, "ASTM C578-10 types IV to VII"),
    ("xps", "bending_strength_Pa", 0.345 * MPA, 0.517 * MPA, "ASTM C578-10 types IV to VII"),
    ("xps", "k_W_mK", 0.029, 0.029, "ASTM C578, R 5 per inch"),
    ("cement-board", "density_kg_m3", 1100, 1700, "fibre-cement sheet tables"),
    ("cement-board", "bending_strength_Pa", 7 * MPA, 13 * MPA, "outdoor sheets, category 3 to 4"),
    # other tops
    ("granite", "density_kg_m3", 2600, 2800, "table of properties of solids"),
    ("granite", "cte_per_K", 6e-6, 10e-6, "table of properties of solids"),
    ("granite", "k_W_mK", 2.5, 3.0, "table of properties of solids"),
    ("quartz", "density_kg_m3", 2200, 2580, "EN 14617 producer table"),
    ("quartz", "bending_strength_Pa", 42 * MPA, 80 * MPA, "EN 14617 producer table, means"),
    ("solid-surface", "density_kg_m3", 1740, 1740, "ASTM producer table"),
    ("solid-surface", "E_Pa", 9.84 * GPA, 11.975 * GPA, "ASTM producer table, tensile to flexural"),
    ("solid-surface", "bending_strength_Pa", 64.9 * MPA, 64.9 * MPA, "ASTM producer table"),
    # cured epoxy
    ("cured-coating", "E_Pa", 2.4 * GPA, 4.0 * GPA, "database 2.4; glossary after Budinski 4"),
    ("cured-coating", "tensile_strength_Pa", 60 * MPA, 67 * MPA, "glossary 60, database 67"),
    ("cured-coating", "strain_break", 0.03, 0.045, "glossary 3 %, database 4.5 %"),
    ("cured-coating", "nu", 0.40, 0.40, "material database, 0.40"),
    ("cured-coating", "cte_per_K", 60e-6, 100e-6, "glossary 60e-6, database 100e-6"),
    ("cured-coating", "k_W_mK", 0.20, 0.20, "material database and ISO 10456"),
    ("cured-coating", "cp_J_kgK", 1400, 1500, "ISO 10456 1400, database 1500"),
    ("cured-coating", "vapour_mu", 10000, 10000, "ISO 10456, 10 000"),
    ("cured-coating", "emittance", 0.924, 0.924, "balloon thermal paper, white epoxy 0.924"),
    # colours in the sun
    ("sun-white", "absorptance", 0.248, 0.252, "white epoxy 0.248, white enamel 0.252"),
    ("sun-black", "absorptance", 0.96, 0.975, "flat black lacquer 0.96, black paint 0.975"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("ident", "key", "low", "high", "source"), ROWS, ids=lambda v: v if isinstance(v, str) else ""
)
def test_printed_value_lies_in_the_catalogues_range(
    ident: str, key: str, low: float, high: float, source: str
) -> None:
    p = get(ident).prop(key)
    if low == high:
        assert p.low <= low <= p.high, source
    else:
        assert p.low <= high and low <= p.high, source
        assert low <= p.value <= high, source


@pytest.mark.parametrize(
    ("ident", "least", "most"),
    [("sun-light", 0.0, 0.475), ("sun-mid", 0.475, 0.7), ("sun-dark", 0.7, 1.0)],
)
def test_colour_classes(ident: str, least: float, most: float) -> None:
    """Printed classes: light under 0.475, medium to 0.7, dark above."""
    assert least <= get(ident)["absorptance"] <= most


def test_shrinkage_after_gel_stays_under_the_whole() -> None:
    """7.55 % by volume in all with gel near a conversion of 0.28 (Yang et al. 2016).

    Linear shrinkage after gel can be at most a third of what is left after gel by volume.
    """
    most = 0.0755 * (1 - 0.28) / 3
    p = get("cured-coating").prop("gel_shrink_strain")
    assert 0.001 <= p.low and p.high <= most
    assert p.low <= 0.0025 <= p.high


def test_vapour_brake_in_us_perms() -> None:
    """sd 30 m is 0.11 US perm and 0.5 mm of film 0.68 perm (last printed digit).

    Permeance 1/(sd mu0) with still air at 0.2 ng/(Pa s m) per metre, 1 US perm 57.2135 in
    ng/(Pa s m2).
    """
    air = 195.0  # ng/(Pa s m) at 20 to 23 degC: 1.95e-10 kg/(Pa s m)
    for mm, perms in ((3.0, 0.11), (0.5, 0.68)):
        sd = float(still_air_metres(mm / 1000, 10000))
        assert air / sd / 57.2135 == pytest.approx(perms, abs=0.006)


LIMITS = [
    # agent, twa mg/m3, stel mg/m3, source
    ("diisocyanate", 0.006, 0.012, "Directive (EU) 2024/869: 6 and 12 ug NCO/m3"),
    ("wood-dust", 2.0, None, "Directive (EU) 2017/2398: 2 mg/m3 hardwood from January 2023"),
    ("quartz-dust", 0.05, None, "29 CFR 1926.1153: 50 ug/m3 (2016)"),
    ("nuisance-dust", 10.0, None, "UK COSHH trigger, 10 mg/m3 inhalable"),
]


@pytest.mark.parametrize(("agent", "twa", "stel", "source"), LIMITS)
def test_limits_by_mass(agent: str, twa: float, stel: float | None, source: str) -> None:
    limit = listed_limits()[agent]
    assert limit.twa is not None and 1e6 * limit.twa == pytest.approx(twa, rel=1e-9), source
    if stel is not None:
        assert limit.stel is not None and 1e6 * limit.stel == pytest.approx(stel, rel=1e-9), source
    assert limit.agency and limit.year


@pytest.mark.parametrize(
    ("agent", "ppm", "mg", "source"),
    [
        ("xylene", 100, 434, "OSHA and ACGIH 1999, 100 ppm (434 mg/m3 at 25 degC)"),
        ("benzyl-alcohol", 5, 22, "DFG MAK 2017, 5 mL/m3, about 22 mg/m3"),
        ("diethylenetriamine", 1, 4.2, "CDC pel88: 1 ppm, skin"),
    ],
)
def test_limits_by_volume(agent: str, ppm: float, mg: float, source: str) -> None:
    """ppm times molar mass over 24.465; printed to two or three figures."""
    entry, limit = get(agent, "limit"), listed_limits(298.15)[agent]
    assert 1e6 * entry["twa_fraction"] == pytest.approx(ppm, rel=1e-9), source
    assert limit.twa is not None and 1e6 * limit.twa == pytest.approx(mg, rel=0.02), source


def test_hazardous_atmosphere_is_a_tenth_of_the_flammable_limit() -> None:
    """29 CFR 1910.146(b): more than 10 % of the lower flammable limit."""
    assert HAZARD == 0.10


def test_health_is_reached_near_a_hundredth_of_what_burns() -> None:
    """Reference note 7.2: the health limit lies at about 1 % of the flammable limit."""
    shares = []
    for agent in ("xylene", "acetone", "butyl-acetate", "isopropanol"):
        limit = listed_limits(298.15)[agent]
        assert limit.twa is not None and limit.lfl is not None
        shares.append(limit.twa / limit.lfl)
    assert 0.008 < float(np.exp(np.mean(np.log(shares)))) < 0.0125


@pytest.mark.parametrize(("celsius", "percent"), [(5, 82.2), (35, 85.6)])
def test_five_fahrenheit_of_margin(celsius: float, percent: float) -> None:
    """SSPC's 5 degF is 2.778 K: humidity 82.2 % at 5 degC to 85.6 % at 35 degC; last digit."""
    found = 100 * float(humidity_for_margin(celsius + 273.15, 5 / 1.8))
    assert found == pytest.approx(percent, abs=0.06)


@pytest.mark.parametrize(("ahead", "nose"), [(1.5, 25.0), (-0.6, -10.0), (0.0, 0.0), (3.0, 50.0)])
def test_trailer_coupling_share(ahead: float, nose: float) -> None:
    """Statics: m x/a, here 50 kg on a lever of 3 m; behind the axle the nose lightens."""
    share = axle_share([Load("x", 50.0, ahead)], 3.0, 2.0)
    assert share.front == pytest.approx(nose) and share.rear == pytest.approx(50.0 - nose)


def test_left_and_right_wheels() -> None:
    """Statics: m (1/2 +- y/track): 60 kg 0.5 m to the left of a 1.7 m track."""
    share = axle_share([Load("x", 60.0, 1.0, 0.5)], 3.6, 1.7)
    assert share.left == pytest.approx(60 * (0.5 + 0.5 / 1.7))
    assert share.left + share.right == pytest.approx(60.0)


def test_parked_cabin_spans_the_printed_summer() -> None:
    """Grundstein 2009: daily maxima 41 to 76 degC; McLaren 2005: +22 K within the first hour."""
    low, middle, high = CABIN_RISE
    assert 22 < low < middle < high < 50
