"""The N-stream engine against Williams-Clapper, slab benchmarks, photons and iadpython.

Sources: Williams and Clapper 1953, J. Opt. Soc. Am. 43:595 (clear film over a diffuser; page from
memory, formula from first principles); van de Hulst slab as quoted by Wang, Jacques and Zheng
1995, doi 10.1016/0169-2607(95)01640-F; Giovanelli 1955 (from memory); iadpython (adding-doubling).
"""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.colour.colorimetry import to_lab
from pourwright.colour.fresnel import fresnel, saunderson, surface_terms
from pourwright.colour.km import km_over
from pourwright.colour.nstream import coat_operators, stack_operator, streams, view

N = 1.55


def seen(mu_a, mu_s, x, rho, n=N, half=4, g=0.57, geometry="diffuse") -> float:
    st = streams(n, half)
    op = stack_operator([[mu_a]], [[mu_s]], [x], [rho], st, g)
    return float(view(op, st, geometry)[0])


def _nodes():
    """Gauss nodes on both sides of the critical angle, crowded towards it and towards grazing."""
    x, w = np.polynomial.legendre.leggauss(120)
    t, w = 0.5 * (x + 1), 0.5 * w
    edge = np.sqrt(1 - 1 / N**2)
    low, high = edge * t**2, edge + (1 - edge) * t**2
    return np.append(low, high), np.append(2 * edge * t * w, 2 * (1 - edge) * t * w)


NODES = _nodes()


def williams_clapper(depth: float, rho: float, n: float = N) -> float:
    """45/0 reflectance of a clear absorbing film over a Lambert ground."""
    mu, w = NODES
    back = np.sum(w * 2 * mu * fresnel(mu, 1 / n) * np.exp(-2 * depth / mu))
    c45 = np.cos(np.radians(45))
    inner = np.sqrt(1 - 0.5 / n**2)
    through = (1 - fresnel(c45, n)) * (1 - fresnel(1.0, n)) / n**2
    return float(through * rho * np.exp(-depth * (1 / inner + 1)) / (1 - rho * back))


# n = 1.55, rho = 0.85, 45/0: listed to 4 digits
CLEAR = {0.01: 0.6302, 0.05: 0.4955, 0.1: 0.3919, 0.2: 0.2715, 0.5: 0.1199, 1.0: 0.0387}


@pytest.mark.parametrize("depth, r", CLEAR.items())
def test_clear_film_table(depth, r) -> None:
    assert abs(williams_clapper(depth, 0.85) - r) < 1e-3
    # 1e-3: eight directions each way integrate the surface to three digits
    assert abs(seen(depth, 0.0, 1.0, 0.85, geometry="45/0") - r) < 1e-3


@pytest.mark.parametrize("rho", [0.2, 0.6, 0.95])
@pytest.mark.parametrize("depth", [0.003, 0.3, 2.0])
def test_clear_film_anywhere(depth, rho) -> None:
    assert abs(seen(depth, 0.0, 1.0, rho, geometry="45/0") - williams_clapper(depth, rho)) < 1e-3


def test_bare_undercoat_is_saunderson() -> None:
    st = streams(N, 4)
    rho = np.array([0.05, 0.5, 0.926])
    op = stack_operator(np.zeros((0, 3)), np.zeros((0, 3)), [], rho, st)
    # 1e-12: the nodes are scaled so that diffuse light meets the exact surface
    assert np.allclose(view(op, st), saunderson(rho, N), atol=1e-12)


def test_matched_slab_benchmark() -> None:
    # albedo 0.9, optical depth 2, g 0.75, no index step: R 0.09739, T 0.66096; tolerance 2e-4
    # covers the digits printed and eight directions each way
    st = streams(1.0, 8)
    r, t = coat_operators(0.2, 1.8, 1.0, st, 0.75)
    j = st.normal
    assert abs(r[:, j] @ st.scale / st.scale[j] - 0.09739) < 2e-4
    assert abs(t[:, j] @ st.scale / st.scale[j] - 0.66096) < 2e-4


def test_endless_medium_with_a_surface() -> None:
    # n 1.5, albedo 0.9, isotropic: 0.2600 with the surface reflection (0.04); 5e-4 for the digits
    total = seen(0.1, 0.9, 400.0, 0.0, n=1.5, half=8, g=0.0) + surface_terms(1.5)[0]
    assert abs(total - 0.2600) < 5e-4


# Reduced scattering depth, absorption depth, ground -> reflectance, n 1.55, g 0.57, light at the
# normal, all returned light: own Monte Carlo of 1e6 photons, standard error 0.0005; tolerance
# 0.003 as set for eight directions, held here at 0.0015.
PHOTONS = [
    (1, 0.1, 0.92, 0.391),
    (10, 0.5, 0.92, 0.305),
    (1, 0.01, 0.0, 0.142),
    (30, 2, 0.92, 0.264),
]


@pytest.mark.parametrize("scat, absorb, rho, r", PHOTONS)
def test_photon_counts(scat, absorb, rho, r) -> None:
    assert abs(seen(absorb, scat / 0.43, 1.0, rho) - r) < 1.5e-3


def photons(mu_a, mu_s, rho, g, count, seed) -> tuple[float, float]:
    """Monte Carlo of a film of unit thickness: reflectance with surface reflection left out."""
    rng = np.random.default_rng(seed)
    z = np.zeros(count)
    mu = np.ones(count)
    weight = np.full(count, 1 - surface_terms(N)[0])
    out = 0.0
    square = 0.0
    alive = np.arange(count)
    for _ in range(4000):
        if not alive.size:
            break
        step = -np.log(rng.random(alive.size)) / mu_s
        m = mu[alive]
        room = np.where(
            m > 0, (1 - z[alive]) / np.maximum(m, 1e-12), -z[alive] / np.minimum(m, -1e-12)
        )
        hit = step > room
        move = np.where(hit, room, step)
        weight[alive] *= np.exp(-mu_a * move)
        z[alive] += m * move
        top, bottom = hit & (m < 0), hit & (m > 0)
        i = alive[bottom]
        weight[i] *= rho
        mu[i] = -np.sqrt(rng.random(i.size))
        z[i] = 1.0
        i = alive[top]
        back = rng.random(i.size) < fresnel(-mu[i], 1 / N)
        gone = i[~back]
        out += weight[gone].sum()
        square += (weight[gone] ** 2).sum()
        weight[gone] = 0
        mu[i[back]] *= -1
        z[i] = 0.0
        i = alive[~hit]
        u = rng.random(i.size)
        c = (1 + g * g - ((1 - g * g) / (1 - g + 2 * g * u)) ** 2) / (2 * g)
        phi = 2 * np.pi * rng.random(i.size)
        side = np.sqrt(np.maximum(1 - c * c, 0) * np.maximum(1 - mu[i] ** 2, 0))
        mu[i] = np.clip(mu[i] * c + side * np.cos(phi), -1, 1)
        alive = alive[weight[alive] > 1e-4]
    mean = out / count
    return mean, float(np.sqrt(max(square / count - mean**2, 0) / count))


@pytest.mark.parametrize("scat, absorb, rho", [(2.0, 0.2, 0.8), (0.5, 0.05, 0.1)])
def test_own_photons(scat, absorb, rho) -> None:
    mean, error = photons(absorb, scat / 0.43, rho, 0.57, 40_000, 3)
    # four standard errors of the count, and 0.0015 for eight directions
    assert abs(seen(absorb, scat / 0.43, 1.0, rho) - mean) < 4 * error + 1.5e-3


@pytest.mark.filterwarnings("ignore")  # iadpython warns of its own quadrature and deprecations
@pytest.mark.parametrize("albedo, depth, g", [(0.95, 1.0, 0.6), (0.6, 3.0, 0.0), (0.99, 8.0, 0.4)])
def test_slabs_against_iadpython(albedo, depth, g) -> None:
    iad = pytest.importorskip("iadpython")
    ur1, ut1, _, _ = iad.Sample(a=albedo, b=depth, g=g, n=1.0, quad_pts=16).rt()
    st = streams(1.0, 8)
    r, t = coat_operators(depth * (1 - albedo), depth * albedo, 1.0, st, g)
    j = st.normal
    # 1e-4: both use sixteen directions each way, and differ in phase renormalisation
    assert abs(r[:, j] @ st.scale / st.scale[j] - ur1) < 1e-4
    assert abs(t[:, j] @ st.scale / st.scale[j] - ut1) < 1e-4


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("albedo, g", [(0.9, 0.0), (0.98, 0.6)])
def test_endless_media_with_surface_against_iadpython(albedo, g) -> None:
    iad = pytest.importorskip("iadpython")
    ur1, _, _, _ = iad.Sample(a=albedo, b=400.0, g=g, n=1.5, quad_pts=16).rt()
    got = seen(400 * (1 - albedo), 400 * albedo, 1.0, 0.0, n=1.5, half=8, g=g)
    # iadpython counts the surface reflection; 5e-4: it spreads directions evenly about mu_c
    assert abs(got + surface_terms(1.5)[0] - ur1) < 5e-4


def test_more_directions_change_little() -> None:
    for mu_a, mu_s in ((0.1, 2.5), (0.02, 25.0), (0.5, 0.1)):
        assert abs(seen(mu_a, mu_s, 1.0, 0.5, half=4) - seen(mu_a, mu_s, 1.0, 0.5, half=12)) < 6e-4


def test_two_flux_twin_agrees_where_theory_says() -> None:
    # well-scattering, weakly absorbing films: the light inside is diffuse, so K = 2 mu_a and
    # S = 3/4 mu_s' (Gate 1974) must give the same colour within 1 L*
    for scat in (10, 20, 40):
        for absorb in (0.0, 0.003, 0.01):
            engine = seen(absorb, scat / 0.43, 1.0, 0.92)
            twin = float(saunderson(km_over(2 * absorb, 0.75 * scat, 1.0, 0.92), N))
            grey = np.ones(31)
            assert abs(to_lab(engine * grey)[0] - to_lab(twin * grey)[0]) < 1.0


def test_two_flux_fails_where_theory_says() -> None:
    # a tinted clear film over white: two-flux doubles every path and comes out far too dark
    engine = seen(0.5, 0.0, 1.0, 0.92)
    twin = float(saunderson(km_over(1.0, 0.0, 1.0, 0.92), N))
    grey = np.ones(31)
    assert to_lab(engine * grey)[0] - to_lab(twin * grey)[0] > 10
