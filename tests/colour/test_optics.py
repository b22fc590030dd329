"""Laws every build-up keeps: no light made, reciprocity, limits, order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.colour import (
    BLACK_CARD,
    CLEAR,
    WHITE_CARD,
    Finish,
    Shade,
    Undercoat,
    stack_reflectance,
    stack_reflectance_km,
    to_lab,
)
from pourwright.colour.bands import as_bands
from pourwright.colour.fresnel import surface_terms
from pourwright.colour.nstream import coat_operators, stack_operator, streams, view
from pourwright.errors import InputError

depths = st.floats(0, 30)


@settings(deadline=None, max_examples=40)
@given(depths, depths, st.floats(0, 1), st.sampled_from([1.0, 1.5, 1.57]))
def test_light_is_never_made(mu_a, mu_s, rho, n) -> None:
    s = streams(n, 4)
    r, t = coat_operators(mu_a, mu_s, 1.0, s)
    flux_in = s.scale
    out = (r + t).T @ flux_in
    assert np.all(out <= flux_in * (1 + 1e-9) + 1e-12)
    op = stack_operator([[mu_a]], [[mu_s]], [1.0], [rho], s)
    seen = float(view(op, s)[0])
    assert -1e-12 <= seen <= 1 - surface_terms(n)[0] + 1e-9


@pytest.mark.parametrize("mu_s", [0.01, 1.0, 30.0, 3000.0])
def test_without_absorption_all_light_comes_back_or_through(mu_s) -> None:
    s = streams(1.55, 4)
    r, t = coat_operators(0.0, mu_s, 1.0, s)
    assert np.allclose((r + t).T @ s.scale, s.scale, atol=1e-8)


@settings(deadline=None, max_examples=25)
@given(depths, depths, st.integers(2, 6))
def test_equal_parts_make_the_whole(mu_a, mu_s, parts) -> None:
    s = streams(1.55, 4)
    one = stack_operator([[mu_a]], [[mu_s]], [1.0], [0.3], s)
    many = stack_operator([[mu_a]] * parts, [[mu_s]] * parts, [1 / parts] * parts, [0.3], s)
    assert np.allclose(one, many, atol=1e-9)


@settings(deadline=None, max_examples=25)
@given(depths, depths, depths, depths)
def test_reciprocity(a1, s1, a2, s2) -> None:
    s = streams(1.55, 4)
    op = stack_operator([[a1], [a2]], [[s1], [s2]], [1.0, 0.4], [0.5], s)
    assert np.allclose(op, np.swapaxes(op, -1, -2), atol=1e-10)


def test_order_of_directions_converges() -> None:
    errors = []
    fine = streams(1.55, 14)
    want = view(stack_operator([[0.2]], [[4.0]], [1.0], [0.7], fine), fine, "45/0")
    for half in (2, 4, 8):
        s = streams(1.55, half)
        errors.append(
            abs(
                float(
                    (view(stack_operator([[0.2]], [[4.0]], [1.0], [0.7], s), s, "45/0") - want)[0]
                )
            )
        )
    assert errors[2] < errors[1] < errors[0]
    assert errors[2] < 2e-4


def test_thick_films_forget_the_ground() -> None:
    sh = Shade("s", "S", np.full(31, 500.0), np.full(31, 5e4))
    over = [stack_reflectance([(sh, 5e-3)], u) for u in (WHITE_CARD, BLACK_CARD)]
    assert np.allclose(*over, atol=1e-9)


def test_more_paste_of_black_is_darker_and_thin_film_is_between() -> None:
    last = 2.0
    for k in (0, 10, 100, 1000, 1e4):
        y = stack_reflectance([(Shade("k", "K", np.full(31, float(k))), 1e-3)], WHITE_CARD).mean()
        assert y < last
        last = y


def test_clear_flood_changes_nothing_but_a_matte_top_does() -> None:
    sh = Shade("s", "S", np.full(31, 300.0), np.full(31, 9e3))
    bare = stack_reflectance([(sh, 1e-3)], WHITE_CARD)
    flood = stack_reflectance([(sh, 1e-3), (CLEAR, 2e-3)], WHITE_CARD)
    assert np.allclose(bare, flood, atol=1e-12)
    matte = stack_reflectance([(sh, 1e-3), (CLEAR, 2e-3)], WHITE_CARD, Finish(gloss_60=5))
    assert np.all(matte > bare + 0.04)
    assert np.all(matte < bare + surface_terms(1.55)[0] + 1e-12)


def test_matte_black_is_grey() -> None:
    black = Shade("b", "B", np.full(31, 2e4))
    glossy = to_lab(stack_reflectance([(black, 1e-3)], BLACK_CARD, Finish(gloss_60=97.4)))
    matte = to_lab(stack_reflectance([(black, 1e-3)], BLACK_CARD, Finish(gloss_60=0)))
    # Y near 0.047 of surface reflection in all directions: L* about 26
    assert glossy[0] < 3
    assert 24 < matte[0] < 28


def test_twin_and_engine_on_a_hiding_white() -> None:
    white = Shade("w", "W", np.full(31, 5.0), np.full(31, 2.5e4))
    a = to_lab(stack_reflectance([(white, 1e-3)], WHITE_CARD))
    b = to_lab(stack_reflectance_km([(white, 1e-3)], WHITE_CARD))
    assert abs(a[0] - b[0]) < 1.0


def test_wetting_a_white_card_darkens_it() -> None:
    card = Undercoat.from_measured("white", 0.80)
    # 0.80 in air is 0.926 below resin of 1.55 by Saunderson with k1 .04, k2 .60
    assert abs(card.inside[0] - 0.9258) < 1e-3


@pytest.mark.parametrize("x", [-1e-3, 0.2, float("nan"), float("inf")])
def test_bad_thickness(x) -> None:
    with pytest.raises(InputError, match="100 mm"):
        stack_reflectance([(CLEAR, x)], WHITE_CARD)


@pytest.mark.parametrize("values", [[1.0, 2.0], np.full(31, np.nan), np.full(31, -0.1)])
def test_bad_spectra(values) -> None:
    with pytest.raises(InputError):
        as_bands(values, "r", 0.0, 1.0)


def test_bad_geometry_and_index() -> None:
    with pytest.raises(InputError, match="45/0"):
        stack_reflectance([], WHITE_CARD, geometry="60/60")
    with pytest.raises(InputError, match="1\\.0 to 2\\.5"):
        Finish(n=0.5)
    with pytest.raises(InputError, match="gloss"):
        Finish(gloss_60=-1)
