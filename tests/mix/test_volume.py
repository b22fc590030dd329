"""Volumes of a coat, losses and their samples; risk of running short."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Draws
from pourwright.errors import InputError
from pourwright.mix import (
    CoatPiece,
    Loss,
    Uncertain,
    coat_volume,
    coverage_of,
    cup_residue,
    dry_film,
    over_mix,
    sample_need,
    shade_volumes,
    short_chance,
    wet_film,
)
from pourwright.mix.shades import Shade, check_shades

WELL = settings(deadline=None, max_examples=60)
U = Uncertain.of
NONE = Loss(U(0), U(0), U(0))


def piece(flat=2.0, strip=0.2, run=4.0, film=1e-3, edge=0.3e-3, off=60e-6, **more):
    return CoatPiece("top", flat, strip, run, U(film, 0.1), U(edge, 0.3), U(off, 0.4), **more)


def test_film_and_coverage_are_one_number():
    assert wet_film(1e-3) == 1e-3 == coverage_of(1e-3)  # 1 L/m2 is 1 mm
    assert dry_film(1e-3, 0.5, 0.04) == pytest.approx(0.48e-3)
    with pytest.raises(InputError):
        dry_film(1e-3, 1.2)


def test_volume_by_hand():
    loss = Loss(U(0.05), U(4e-6), U(10e-6))
    v = coat_volume("c", [piece(), piece(flat=0.5, strip=0, run=0, count=2)], loss, cups=5)
    assert v.face == pytest.approx(3e-3)
    assert v.edge == pytest.approx(0.06e-3)
    assert v.run_off == pytest.approx(0.24e-3)
    assert v.loss_fixed == pytest.approx(30e-6)
    assert v.mixed == pytest.approx((3.3e-3 + 30e-6) / 0.95)


@WELL
@given(
    flat=st.floats(0.01, 30),
    strip=st.floats(0, 3),
    run=st.floats(0, 30),
    share=st.floats(0, 0.5),
    fixed=st.floats(0, 1e-4),
    cups=st.integers(1, 40),
)
def test_parts_add_up_to_what_is_mixed(flat, strip, run, share, fixed, cups):
    loss = Loss(U(share), U(fixed), U(fixed))
    v = coat_volume("c", [piece(flat, strip, run)], loss, cups, Draws(1, 50))
    total = v.face + v.edge + v.run_off + v.loss_fixed + v.loss_share
    assert v.mixed == pytest.approx(total, rel=1e-12)
    assert v.loss_share == pytest.approx(share * v.mixed, rel=1e-12, abs=1e-18)
    assert sum(v.pieces.values()) == pytest.approx(v.net, rel=1e-12)


def test_range_brackets_and_repeats():
    a, b = (coat_volume("c", [piece()], Loss(), draws=Draws(4, 4000)) for _ in range(2))
    assert a.range == b.range
    assert a.range.p05 < a.mixed < a.range.p95


def test_common_random_numbers_move_only_what_changed():
    """A thicker film with the same seed shifts every sample by the same share of its face."""
    thin = sample_need("c", [piece(strip=0, run=0)], NONE, 1, Draws(1, 500))
    thick = sample_need("c", [piece(strip=0, run=0, film=1.1e-3)], NONE, 1, Draws(1, 500))
    assert np.allclose(thick / thin, 1.1, rtol=1e-12)


@WELL
@given(st.floats(0, 10), st.lists(st.floats(0.01, 1), min_size=1, max_size=6))
def test_shades_share_out_the_whole(volume, weights):
    total = sum(weights)
    shades = [Shade(f"s{k}", w / total) for k, w in enumerate(weights)]
    got = shade_volumes(volume, shades)
    assert math.fsum(got.values()) == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize(
    ("shades", "limit"),
    [
        ([], "at least one"),
        ([Shade("a", 0.5), Shade("b", 0.4)], "add up to 100 %"),
        ([Shade("a", 0.5), Shade("a", 0.5)], "listed once"),
        ([Shade("a", 1.0, "vein")], "poured as the field"),
        ([Shade("a", 0.0), Shade("b", 1.0)], "above 0 %"),
    ],
)
def test_bad_shades(shades, limit):
    with pytest.raises(InputError, match=limit):
        check_shades("colour", shades)


@pytest.mark.parametrize(
    ("pieces", "loss"),
    [
        ([], Loss()),
        ([piece(film=-1e-3)], Loss()),
        ([piece(flat=math.nan)], Loss()),
        ([piece(count=0)], Loss()),
        ([piece()], Loss(U(0.95))),
        ([CoatPiece("t", 1, 0, 0, Uncertain(1e-3, 2e-3, 3e-3), U(0), U(0))], Loss()),
    ],
)
def test_bad_volumes(pieces, loss):
    with pytest.raises(InputError):
        coat_volume("c", pieces, loss)


def test_residue_of_a_cup():
    """Half a litre at 1 Pa s dripping 30 s keeps about 2 %; longer keeps less, as sqrt(1/t)."""
    short = cup_residue(0.5e-3, 1.0, drain_time=30)
    assert 0.01 < short / 0.5e-3 < 0.04
    assert cup_residue(0.5e-3, 1.0, drain_time=120) == pytest.approx(short / 2)
    assert cup_residue(0.5e-3, 4.0, drain_time=120) == pytest.approx(short)
    assert cup_residue(0.0, 1.0) == 0.0
    assert cup_residue(1e-6, 100.0) == pytest.approx(0.2e-6)


@WELL
@given(st.floats(0.001, 0.5), st.floats(0.001, 0.5), st.integers(0, 9))
def test_over_mix_falls_with_the_risk(r1, r2, seed):
    need = sample_need("c", [piece()], Loss(), 3, Draws(seed, 800))
    low, high = sorted((r1, r2))
    a, b = over_mix(3.5e-3, need, low), over_mix(3.5e-3, need, high)
    assert a.factor >= b.factor
    assert a.low <= a.factor <= a.high
    assert a.chance <= low + 1e-9 and b.chance <= high + 1e-9
    # the next smaller sample would break the risk: the factor is solved, not guessed
    below = np.nextafter(a.factor, 0)
    assert short_chance(3.5e-3 * below * (1 - 1e-12), need).chance > low - 1e-12


def test_few_samples_are_told():
    need = sample_need("c", [piece()], Loss(), 3, Draws(0, 200))
    assert "use 400 or more" in over_mix(3.5e-3, need, 0.05).warnings[0]
    assert over_mix(3.5e-3, sample_need("c", [piece()], Loss(), 3, Draws(0, 400))).warnings == ()
    with pytest.raises(InputError):
        over_mix(3e-3, need, 0.0)
    with pytest.raises(InputError):
        over_mix(0.0, need, 0.05)
