"""Colorimetry against Sharma's pairs, CIE white points, IEC primaries and colour-science.

Sources: Sharma, Wu and Dalal 2005, Color Research and Application 30:21, table 1; CIE 15 white
points; IEC 61966-2-1; colour-science and coloraide as reference libraries.
"""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.colour.bands import BANDS
from pourwright.colour.colorimetry import (
    srgb_to_xyz,
    to_lab,
    white_point,
    xyz_to_lab,
)
from pourwright.colour.difference import delta_e_2000

BLUE = (50, 0, -82.7485)
RED, GREY = (50, 2.5, 0), (50, 0, 0)
PAIRS = [
    ((50, 2.6772, -79.7751), BLUE, 2.0425),
    ((50, 3.1571, -77.2803), BLUE, 2.8615),
    ((50, 2.8361, -74.0200), BLUE, 3.4412),
    ((50, -1.3802, -84.2814), BLUE, 1.0000),
    ((50, -1.1848, -84.8006), BLUE, 1.0000),
    ((50, -0.9009, -85.5211), BLUE, 1.0000),
    (GREY, (50, -1, 2), 2.3669),
    ((50, -1, 2), GREY, 2.3669),
    ((50, 2.49, -0.001), (50, -2.49, 0.0009), 7.1792),
    ((50, 2.49, -0.001), (50, -2.49, 0.0010), 7.1792),
    ((50, 2.49, -0.001), (50, -2.49, 0.0011), 7.2195),
    ((50, 2.49, -0.001), (50, -2.49, 0.0012), 7.2195),
    ((50, -0.001, 2.49), (50, 0.0009, -2.49), 4.8045),
    ((50, -0.001, 2.49), (50, 0.0010, -2.49), 4.8045),
    ((50, -0.001, 2.49), (50, 0.0011, -2.49), 4.7461),
    (RED, (50, 0, -2.5), 4.3065),
    (RED, (73, 25, -18), 27.1492),
    (RED, (61, -5, 29), 22.8977),
    (RED, (56, -27, -3), 31.9030),
    (RED, (58, 24, 15), 19.4535),
    (RED, (50, 3.1736, 0.5854), 1.0000),
    (RED, (50, 3.2972, 0), 1.0000),
    (RED, (50, 1.8634, 0.5757), 1.0000),
    (RED, (50, 3.2592, 0.3350), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.parametrize("one, two, de", PAIRS)
def test_sharma_pairs_both_ways(one, two, de) -> None:
    # printed to 4 decimals: 1e-4
    assert abs(float(delta_e_2000(one, two)) - de) < 1e-4
    assert abs(float(delta_e_2000(two, one)) - de) < 1e-4


# per cent; 0.02 allows for the step of the tables the standards print from
@pytest.mark.parametrize(
    "light, observer, xyz",
    [
        ("D65", "2", (95.047, 100, 108.883)),
        ("D65", "10", (94.811, 100, 107.305)),
        ("A", "2", (109.849, 100, 35.591)),
        ("A", "10", (111.142, 100, 35.206)),
    ],
)
def test_white_points(light, observer, xyz) -> None:
    assert np.allclose(100 * white_point(light, observer), xyz, atol=0.02)


# IEC 61966-2-1 primaries in CIELAB, D65 and 2 degrees; 0.02 covers matrix rounding
@pytest.mark.parametrize(
    "code, lab",
    [
        ((1, 0, 0), (53.24, 80.09, 67.20)),
        ((0, 1, 0), (87.74, -86.18, 83.19)),
        ((0, 0, 1), (32.30, 79.20, -107.86)),
        ((1, 1, 0), (97.14, -21.56, 94.48)),
        ((0, 1, 1), (91.11, -48.08, -14.13)),
        ((1, 0, 1), (60.32, 98.24, -60.83)),
        ((0.5, 0.5, 0.5), (53.389, 0, 0)),
    ],
)
def test_screen_primaries(code, lab) -> None:
    assert np.allclose(xyz_to_lab(srgb_to_xyz(code), "D65", "2"), lab, atol=0.025)


def _science():
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # colour-science warns of optional libraries on import
        return pytest.importorskip("colour")


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("light", ["D65", "A", "LED-B3"])
@pytest.mark.parametrize("observer", ["2", "10"])
def test_31_bands_against_full_integration(light, observer) -> None:
    colour = _science()
    name = next(n for n in dir(colour) if n.startswith("SDS_COLOURCH"))
    sets = getattr(colour, name)["ISO 17321-1"].values()
    long = {
        "2": "CIE 1931 2 Degree Standard Observer",
        "10": "CIE 1964 10 Degree Standard Observer",
    }
    cmf = colour.MSDS_CMFS[long[observer]]
    spd = colour.SDS_ILLUMINANTS[light]
    error = []
    for sd in sets:
        full = colour.sd_to_XYZ(sd.copy(), cmf, spd) / 100
        white = colour.sd_to_XYZ(colour.sd_ones(cmf.shape), cmf, spd) / 100
        want = colour.XYZ_to_Lab(full, colour.XYZ_to_xy(white))
        bands = sd.copy().align(colour.SpectralShape(400, 700, 10)).values
        got = to_lab(bands, light, observer)
        error.append(float(delta_e_2000(got, want)))
    # daylight and filament: mean 0.05, worst 0.15. The LED's blue peak is some 25 nm wide and weighs
    # the interpolation between bands more; it is asked for nothing in print and held at what the
    # method gives (mean 0.052, worst 0.17), see docs/colour.md
    mean, worst = (0.06, 0.20) if light == "LED-B3" else (0.05, 0.15)
    assert np.mean(error) < mean
    assert max(error) < worst


@pytest.mark.filterwarnings("ignore")
def test_lab_and_difference_against_libraries() -> None:
    colour = _science()
    rng = np.random.default_rng(5)
    one = rng.uniform((0, -80, -80), (100, 80, 80), (300, 3))
    two = one + rng.normal(0, 6, one.shape)
    assert np.allclose(delta_e_2000(one, two), colour.delta_E(one, two, "CIE 2000"), atol=1e-9)
    base = pytest.importorskip("coloraide").Color
    for a, b in zip(one[:20], two[:20]):
        want = base("lab-d65", list(a)).delta_e(base("lab-d65", list(b)), method="2000")
        assert abs(float(delta_e_2000(a, b)) - want) < 1e-6


def test_led_is_taken_on_all_bands() -> None:
    assert BANDS.size == 31
    assert abs(white_point("LED-B3", "10")[1] - 1) < 1e-8  # nine decimals are stored
