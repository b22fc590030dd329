"""The surface against Fresnel integrals to 30 digits, and gloss against its definition.

Sources: Fresnel equations; ISO 2813:2014 (gloss of glass n = 1.567 is 100 at every angle).
"""

from __future__ import annotations

import mpmath as mp
import numpy as np
import pytest

from pourwright.colour.finish import Finish, gloss_units
from pourwright.colour.fresnel import fresnel, surface_terms

# n -> k1 normal, F at 45, F at 60, diffuse outside, diffuse inside; mpmath, 6 digits: 1e-6
TABLE = {
    1.50: (0.040000, 0.050240, 0.089187, 0.091778, 0.596346),
    1.52: (0.042580, 0.053045, 0.092483, 0.094707, 0.608166),
    1.55: (0.046521, 0.057288, 0.097344, 0.099066, 0.625001),
    1.57: (0.049191, 0.060136, 0.100532, 0.101950, 0.635665),
}


@pytest.mark.parametrize("n, row", TABLE.items())
def test_fresnel_table(n, row) -> None:
    k1, k_ext, k2 = surface_terms(n)
    at_45, at_60 = fresnel(np.cos(np.radians([45, 60])), n)
    assert np.allclose([k1, at_45, at_60, k_ext, k2], row, atol=1e-6, rtol=0)


def test_diffuse_terms_against_quadrature() -> None:
    def inside(n: float) -> float:
        n_ = mp.mpf(n)

        def f(mu):
            s2 = (1 - mu**2) * n_**2
            if s2 >= 1:
                return mp.mpf(1)
            t = mp.sqrt(1 - s2)
            return (((n_ * mu - t) / (n_ * mu + t)) ** 2 + ((mu - n_ * t) / (mu + n_ * t)) ** 2) / 2

        edge = mp.sqrt(1 - 1 / n_**2)
        return float(edge**2 + mp.quad(lambda m: 2 * m * f(m), [edge, edge + 0.01, 1]))

    for n in (1.3, 1.55, 1.8):
        # 1e-8: mpmath's quadrature at the square-root edge is the weaker side
        assert abs(surface_terms(n)[2] - inside(n)) < 1e-8


def test_reciprocity_of_the_surface() -> None:
    for n in (1.4, 1.55, 1.7):
        _, k_ext, k2 = surface_terms(n)
        assert abs((1 - k2) - (1 - k_ext) / n**2) < 1e-12
        mu = np.array([0.2, 0.6, 0.95])
        inner = np.sqrt(1 - (1 - mu**2) / n**2)
        assert np.allclose(fresnel(mu, n), fresnel(inner, 1 / n), atol=1e-12)


def test_gloss_of_the_standard_glass_is_100() -> None:
    for angle in (20, 60, 85):
        assert abs(float(gloss_units(1.567, angle)) - 100) < 1e-9
    assert abs(float(fresnel(0.5, 1.567)) - 0.10006) < 1e-5


# Fresnel ratios to one decimal (ISO 2813 definition), so 0.1 unit
@pytest.mark.parametrize(
    "n, units", [(1.55, (95.4, 97.3, 99.8)), (1.50, (82.1, 89.1, 99.0)), (1.52, (87.3, 92.4, 99.3))]
)
def test_gloss_of_smooth_films(n, units) -> None:
    assert np.allclose(gloss_units(n, [20, 60, 85]), units, atol=0.1)


def test_roughness_dulls_as_smooth_surface_theory_says() -> None:
    # exp(-(4 pi sigma cos 60 / lambda)^2) at 550 nm: 0.72, 0.27, 0.05; listed to 2 digits
    part = gloss_units(1.55, 60, np.array([0.05, 0.1, 0.15]) * 1e-6) / gloss_units(1.55, 60)
    assert np.allclose(part, [0.72, 0.27, 0.05], atol=0.005)


def test_matte_lifts_black_as_far_as_the_surface_reflects() -> None:
    assert Finish(gloss_60=100).veil == 0
    assert abs(Finish(gloss_60=0).veil - surface_terms(1.55)[0]) < 1e-12
