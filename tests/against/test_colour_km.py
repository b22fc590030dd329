"""Two-flux theory against its own closed forms.

Sources: Kubelka 1948, J. Opt. Soc. Am. 38:448 (finite film over a ground, evaluated to 30 digits
with mpmath here); Kubelka 1954, J. Opt. Soc. Am. 44:330 (stacking); Saunderson 1942.
"""

from __future__ import annotations

import mpmath as mp
import numpy as np
import pytest

from pourwright.colour.contrast import scattering_for_contrast
from pourwright.colour.fresnel import saunderson, saunderson_inverse
from pourwright.colour.km import (
    km_film,
    km_from_two_backgrounds,
    km_infinite,
    km_over,
    km_stack,
    stack_two,
)


def coth_form(k: float, s: float, x: float, rg: float) -> float:
    """Kubelka 1948 as printed: R = [1 - Rg(a - b coth bSX)]/[a - Rg + b coth bSX]."""
    with mp.workdps(30):
        a = mp.mpf(k + s) / s
        b = mp.sqrt(a * a - 1)
        c = b * mp.coth(b * s * x)
        return float((1 - rg * (a - c)) / (a - rg + c))


# K, S, X, Rg -> R, T, R0, Rinf; values by mpmath from the printed formulas; tolerance 1e-9 is the
# number of digits listed.
TABLE = [
    (0.1, 1, 1, 0.8, 0.7123472869, 0.4452842133, 0.4610336233, 0.6417424305),
    (1, 1, 1, 0.8, 0.2875138498, 0.1645887185, 0.2601467170, 0.2679491924),
]


@pytest.mark.parametrize("k, s, x, rg, r, t, r0, r_inf", TABLE)
def test_finite_film_table(k, s, x, rg, r, t, r0, r_inf) -> None:
    got_r0, got_t = km_film(k, s, x)
    assert abs(km_over(k, s, x, rg) - r) < 1e-9
    assert abs(got_t - t) < 1e-9
    assert abs(got_r0 - r0) < 1e-9
    assert abs(km_infinite(k, s) - r_inf) < 1e-9


def test_infinite_film_of_equal_k_and_s_is_two_less_root_three() -> None:
    assert abs(float(km_infinite(1, 1)) - (2 - 3**0.5)) < 1e-15


# Three films at X = 0.5 whose reflectances are known from an independent public test, re-derived
# with mpmath; 1e-6 is the number of digits listed.
@pytest.mark.parametrize(
    "k, s, rg, r",
    [(0.2, 0.124, 0.65, 0.541596), (0.1, 0.658, 0.2, 0.343822), (0.22, 0.123, 0.2146, 0.206651)],
)
def test_thin_films(k, s, rg, r) -> None:
    assert abs(km_over(k, s, 0.5, rg) - r) < 1e-6


@pytest.mark.parametrize("k", [1e-3, 0.3, 7.0])
@pytest.mark.parametrize("s", [1e-2, 1.0, 40.0])
@pytest.mark.parametrize("rg", [0.0, 0.2, 0.95])
def test_stable_form_is_the_printed_one(k, s, rg) -> None:
    # 1e-12: double precision of an expression without cancellation
    assert abs(km_over(k, s, 0.7, rg) - coth_form(k, s, 0.7, rg)) < 1e-12


def test_limits() -> None:
    r0, t = km_film(0.0, 1.0, 1.0)
    assert abs(r0 - 0.5) < 1e-12
    assert abs(t - 0.5) < 1e-12
    _, t = km_film(2.0, 0.0, 0.4)
    assert abs(t - np.exp(-0.8)) < 1e-12
    assert abs(km_over(2.0, 0.0, 0.4, 0.7) - np.exp(-1.6) * 0.7) < 1e-12
    assert abs(km_over(5.0, 3.0, 0.0, 0.37) - 0.37) < 1e-12


@pytest.mark.parametrize("parts", [2, 3, 10])
def test_a_film_split_in_equal_parts_is_the_same_film(parts) -> None:
    whole = km_over(0.4, 2.0, 1.0, 0.3)
    k, s, x = [[0.4]] * parts, [[2.0]] * parts, [1.0 / parts] * parts
    assert np.allclose(km_stack(k, s, x, [0.3]), whole, atol=1e-13, rtol=0)


def test_transmittance_does_not_care_for_direction_but_reflectance_does() -> None:
    def film(k, s, x):
        r, t = km_film(k, s, x)
        return r, r, t

    one, two = film(0.2, 3.0, 0.5), film(1.5, 0.3, 0.8)
    down, up = stack_two(one, two), stack_two(two, one)
    assert abs(down[2] - up[2]) < 1e-12
    assert abs(down[0] - up[0]) > 0.1
    assert abs(down[0] - up[1]) < 1e-12
    loss_free = stack_two(film(0, 2, 1), film(0, 0.5, 3))
    assert abs(loss_free[0] + loss_free[2] - 1) < 1e-12


def test_saunderson_and_back() -> None:
    r = np.linspace(0, 1, 101)
    for n in (1.0, 1.5, 1.57):
        for specular in (0.0, 1.0):
            assert np.allclose(
                saunderson_inverse(saunderson(r, n, specular), n, specular), r, atol=1e-12
            )


def test_two_backgrounds_give_back_the_film() -> None:
    seen = [km_over(0.7, 3.0, 1.0, g) for g in (0.05, 0.8)]
    k, s = km_from_two_backgrounds(*seen, 0.05, 0.8)
    # 1e-9: a 2x2 system of condition about 1e3 in double precision
    assert abs(k - 0.7) < 1e-9
    assert abs(s - 3.0) < 1e-9


# Scattering depth for a contrast ratio, surface left out, black 0 and white 0.80: the convention
# of ISO 6504-1 and ASTM D2805. Values from the analytic solution to 4 decimals, so 1e-3.
SX98 = {0.30: 1.6365, 0.40: 2.2045, 0.50: 2.8717, 0.60: 3.7085, 0.70: 4.8381, 0.80: 6.5007}
SX98 |= {0.85: 7.6670, 0.90: 9.1427, 0.95: 10.8089, 0.98: 11.5551, 1.0: 11.7215}
SX95 = {0.30: 1.3271, 0.50: 2.2508, 0.70: 3.5914, 0.90: 5.8031, 1.0: 6.5692}


@pytest.mark.parametrize("r_inf, sx", SX98.items())
def test_scattering_for_98(r_inf, sx) -> None:
    assert abs(scattering_for_contrast(r_inf, 0.98) - sx) < 1e-3


@pytest.mark.parametrize("r_inf, sx", SX95.items())
def test_scattering_for_95(r_inf, sx) -> None:
    assert abs(scattering_for_contrast(r_inf, 0.95) - sx) < 1e-3


def test_white_without_absorption_by_hand() -> None:
    # z + z^2 (1 - Rg) = 49 Rg at contrast 0.98, so z = (-1 + sqrt(1 + 0.8 * 39.2)) / 0.4
    by_hand = (-1 + np.sqrt(1 + 0.8 * 39.2)) / 0.4
    assert abs(scattering_for_contrast(1.0, 0.98) - by_hand) < 1e-6
