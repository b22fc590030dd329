"""Sag, stress, wrinkling, pressure, twist: scaling laws and bad input."""

from __future__ import annotations

from math import radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.endure.layers import Layer
from pourwright.endure.sandwich import local_pressure, wrinkling_stress
from pourwright.endure.span import (
    core_shear_stress,
    first_frequency,
    layer_stress,
    plate_centre_sag,
    sag_overhang,
    sag_span,
    section,
)
from pourwright.endure.twist import free_corner_lift, twist
from pourwright.errors import InputError

BOARD = Layer("board", "core", 0.018, 3e9, 750, 0.25, shear=2e8, shear_plane=1.2e9, creep=2.25)
FILM = Layer("film", "coat", 0.003, 2.8e9, 1120, 0.37, creep=2.0)


@given(
    span=st.floats(0.1, 3.0), load=st.floats(1.0, 5e3), width=st.floats(0.05, 2.0),
    thick=st.floats(0.005, 0.06),
)  # fmt: skip
@settings(deadline=None, max_examples=60)
def test_more_of_everything(span: float, load: float, width: float, thick: float) -> None:
    part = section([BOARD.with_(thickness=thick)], width)
    sag = float(sag_span(part, span, load))
    assert float(sag_span(part, 1.01 * span, load)) > sag
    assert float(sag_span(part, span, 2 * load)) == pytest.approx(2 * sag)
    thicker = section([BOARD.with_(thickness=1.01 * thick)], width)
    assert float(sag_span(thicker, span, load)) < sag
    wider = section([BOARD.with_(thickness=thick)], 2 * width)
    assert float(sag_span(wider, span, load)) == pytest.approx(sag / 2)
    # an overhang is half a span upside down: P/2 at the tip of half the span
    tip = float(sag_overhang(part, span / 2, load / 2))
    assert tip == pytest.approx(sag, rel=1e-9)


def test_one_layer_is_the_textbook_beam() -> None:
    part = section([BOARD.with_(shear=1e15)], 0.6)
    ei = 3e9 * 0.6 * 0.018**3 / 12
    assert float(part.bending) == pytest.approx(ei)
    assert float(sag_span(part, 0.9, 100.0)) == pytest.approx(100 * 0.9**3 / (48 * ei), rel=1e-4)
    # shear adds 1.2 P L/(4 G A)
    soft = section([BOARD], 0.6)
    extra = float(sag_span(soft, 0.9, 100.0)) - float(sag_span(part, 0.9, 100.0))
    assert extra == pytest.approx(1.2 * 100 * 0.9 / (4 * 2e8 * 0.6 * 0.018), rel=1e-3)


def test_stress_is_my_over_i_and_shear_is_three_halves() -> None:
    assert float(layer_stress([BOARD], 0.6, 100.0)[0]) == pytest.approx(6 * 100 / (0.6 * 0.018**2))
    assert float(core_shear_stress([BOARD], 0.6, 100.0)[0]) == pytest.approx(
        1.5 * 100 / (0.6 * 0.018)
    )


def test_sandwich_core_shear_is_v_over_bd() -> None:
    rows = [
        Layer("s", "skin", 0.001, 20e9),
        Layer("c", "core", 0.04, 15e6, shear=5e6),
        Layer("s", "skin", 0.001, 20e9),
    ]
    found = float(core_shear_stress(rows, 0.5, 200.0)[1])
    assert found == pytest.approx(200 / (0.5 * 0.041), rel=0.01)


def test_lasting_load_and_soft_films() -> None:
    now, soft = section([FILM, BOARD], 1.0), section([FILM, BOARD], 1.0, soft_films=True)
    assert float(now.bending_long) < float(now.bending)
    bare = section([BOARD], 1.0)
    # a soft film carries nothing: as the bare board over the years
    assert float(soft.bending_long) == pytest.approx(float(bare.bending_long), rel=1e-3)
    assert float(bare.bending / bare.bending_long) == pytest.approx(3.25)


def test_frequency_falls_with_span_and_mass() -> None:
    part = section([FILM, BOARD], 0.6)
    f = first_frequency(part, np.array([0.5, 1.0, 2.0]))
    assert np.all(np.diff(f) < 0)
    assert float(f[1] / f[2]) == pytest.approx(4.0, rel=0.02)
    assert float(first_frequency(part, 1.0, 5.0)) < float(f[1])


def test_wrinkling_and_pressure_laws() -> None:
    # cube root of the product; doubling all three doubles it
    one, two = wrinkling_stress(14e9, 15e6, 5e6), wrinkling_stress(28e9, 30e6, 10e6)
    assert float(two / one) == pytest.approx(2.0)
    thin = float(local_pressure(1000, 0.03, 0.0005, 14e9, 0.04, 15e6))
    thick = float(local_pressure(1000, 0.03, 0.004, 14e9, 0.04, 15e6))
    assert thick < thin <= 1000 / (np.pi * 0.03**2) * (1 + 1e-12)


def test_oblong_plate_becomes_a_strip() -> None:
    # a plate ten times as long as wide sags like a strip: 5/384 q b4/D, within 0.5 %
    found = float(plate_centre_sag(1.0, 10.0, 1.0, 1.0, terms=60))
    assert found == pytest.approx(5 / 384, rel=5e-3)


def test_twist_is_linear_and_the_fourth_corner_is_geometry() -> None:
    a, b = (twist([FILM, BOARD], 0.6, 1.2, radians(x)) for x in (1.0, 2.0))
    assert float(b.torque / a.torque) == pytest.approx(2.0)
    assert float(b.film_strain / a.film_strain) == pytest.approx(2.0)
    assert free_corner_lift(0.6, 1.2, radians(2.0)) == pytest.approx(0.02513, rel=1e-3)
    # sides may come either way round
    turned = twist([FILM, BOARD], 1.2, 0.6, radians(1.0))
    assert float(turned.torque) == pytest.approx(float(a.torque))


@pytest.mark.parametrize(
    "call",
    [
        lambda: section([BOARD], 0.0),
        lambda: section([BOARD], -0.6),
        lambda: section([BOARD.with_(thickness=-1.0)], 0.6),
        lambda: local_pressure(1000, 0.0, 0.001, 1e9, 0.04, 1e7),
        lambda: first_frequency(section([BOARD], 0.6), 0.0),
        lambda: plate_centre_sag(0.0, 1.0, 1.0, 1.0),
        lambda: twist([BOARD], 0.0, 1.0, 0.1),
    ],
)
def test_bad_input(call) -> None:
    with pytest.raises(InputError):
        call()
