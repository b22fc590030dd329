"""Level readings: planes, tilts, sags and the volumes that fill them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pourwright.calc import Draws
from pourwright.errors import InputError
from pourwright.survey.levels import (
    Tilt,
    fall_across,
    fit_plane,
    read_levels,
    stated_tilt,
)

GX, GY = (a.ravel() for a in np.meshgrid(np.linspace(0, 2.0, 9), np.linspace(0, 0.6, 5)))


def box(w=2.0, h=0.6):
    from shapely import box as _box

    return _box(0, 0, w, h)


@settings(deadline=None, max_examples=60)
@given(sx=st.floats(-0.05, 0.05), sy=st.floats(-0.05, 0.05), z=st.floats(-1, 1))
def test_a_plane_comes_back(sx, sy, z):
    tilt, origin, residuals = fit_plane(GX, GY, z + sx * GX + sy * GY)
    assert (tilt.slope_x, tilt.slope_y, origin) == pytest.approx((sx, sy, z), abs=1e-12)
    assert np.abs(residuals).max() < 1e-12


@settings(deadline=None, max_examples=40)
@given(st.floats(0, math.tau), st.floats(0.001, 0.05), st.floats(0, math.tau))
def test_turning_the_surface_turns_the_tilt(turn, slope, towards):
    tilt = stated_tilt(math.atan(slope), towards)
    assert tilt.slope == pytest.approx(slope)
    assert math.remainder(tilt.towards - towards, math.tau) == pytest.approx(0, abs=1e-9)
    turned = tilt.turned(turn)
    assert turned.slope == pytest.approx(slope)
    assert math.remainder(turned.towards - (towards - turn), math.tau) == pytest.approx(0, abs=1e-9)


def test_heel_adds_to_a_level_top():
    heel = stated_tilt(math.radians(0.4), math.pi / 2)
    report = read_levels(box(), GX, GY, 0 * GX, heel)
    assert math.degrees(report.tilt.angle) == pytest.approx(0.4)
    assert report.tilt.towards == pytest.approx(math.pi / 2)
    assert report.fall == pytest.approx(0.6 * math.tan(math.radians(0.4)))
    # a wedge: half of the fall over the whole face brings it level
    assert report.level_volume == pytest.approx(1.2 * report.fall / 2, rel=1e-3)
    assert report.low_volume == pytest.approx(0, abs=1e-12)


def test_bowl_against_its_own_integral():
    """A shallow bowl read on a grid: low volume against fine sums of the true bowl."""

    def bowl(x, y):
        return 4e-3 * ((x - 1.0) ** 2 + (y - 0.3) ** 2)

    report = read_levels(box(), GX, GY, bowl(GX, GY))
    tilt, origin, _ = fit_plane(GX, GY, bowl(GX, GY))
    x, y = np.meshgrid((np.arange(2000) + 0.5) / 1000, (np.arange(600) + 0.5) / 1000)
    below = np.maximum(origin + tilt.slope_x * x + tilt.slope_y * y - bowl(x, y), 0.0)
    assert report.low_volume == pytest.approx(float(below.sum()) * 1e-6, rel=0.01)


def test_readings_at_one_place_count_as_their_mean():
    z = -2e-3 * ((GX > 0.9) & (GX < 1.1))
    twice = [np.append(v, v[3]) for v in (GX, GY)]
    up, down = np.append(z, z[3] + 1e-3), z.copy()
    down[3] += 0.5e-3
    a, b = read_levels(box(), *twice, up), read_levels(box(), GX, GY, down)
    assert a.low_volume == pytest.approx(b.low_volume, rel=1e-9)
    with pytest.raises(InputError, match="at most 200"):
        read_levels(box(), np.tile(GX, 5), np.tile(GY, 5), np.tile(z, 5))


def test_volume_converges_with_the_grid():
    z = -3e-3 * np.exp(-(((GX - 1) / 0.4) ** 2) - ((GY - 0.3) / 0.2) ** 2)
    fine = read_levels(box(), GX, GY, z, cells=640).low_volume
    errors = [abs(read_levels(box(), GX, GY, z, cells=n).low_volume - fine) for n in (20, 80)]
    assert errors[1] < errors[0] / 4
    assert errors[1] < 0.005 * fine


def test_ranges_carry_the_reading_error_and_repeat():
    z = -2e-3 * ((GX > 0.9) & (GX < 1.1))
    one = read_levels(box(), GX, GY, z, draws=Draws(3, 200))
    two = read_levels(box(), GX, GY, z, draws=Draws(3, 200))
    none = read_levels(box(), GX, GY, z, reading_error=0.0, draws=Draws(3, 50))
    assert one.low_volume_range == two.low_volume_range
    assert one.low_volume_range.p05 < one.low_volume_range.p95
    assert none.low_volume_range.p05 == pytest.approx(none.low_volume)
    assert none.low_volume_range.p95 == pytest.approx(none.low_volume)


def test_noise_only_is_called_noise():
    rng = np.random.default_rng(5)
    z = rng.normal(0, 0.05e-3, GX.size)
    report = read_levels(box(), GX, GY, z, draws=Draws(1, 100))
    assert any("reading error" in w for w in report.warnings)


def test_readings_inside_the_face_are_held_outwards():
    inner = (GX > 0.3) & (GX < 1.7)
    report = read_levels(box(), GX[inner], GY[inner], 0.01 * GX[inner])
    assert report.tilt.slope_x == pytest.approx(0.01)
    assert report.low_volume == pytest.approx(0, abs=1e-12)


def test_fall_across_a_diagonal():
    assert fall_across(box(3, 4), Tilt(0.01, 0.02)) == pytest.approx(0.03 + 0.08)


def test_refusals():
    with pytest.raises(InputError, match="at least 3 readings"):
        fit_plane([0, 1], [0, 1], [0, 0])
    with pytest.raises(InputError, match="on one line"):
        fit_plane([0, 1, 2], [0, 1, 2], [0, 0, 0])
    with pytest.raises(InputError, match="more than 5 deg"):
        fit_plane([0, 1, 0], [0, 0, 1], [0, 0.2, 0])
    with pytest.raises(InputError, match="finite"):
        fit_plane([0, 1, 0], [0, 0, 1], [0, math.nan, 0])
    with pytest.raises(InputError, match="0 deg to 5 deg"):
        stated_tilt(math.radians(6), 0)
    three = read_levels(box(), [0, 2, 0], [0, 0, 0.6], [0, 0.001, 0])
    assert any("no sag" in w for w in three.warnings)
    far = read_levels(box(), [0, 5, 0, 2], [0, 0, 0.6, 0.6], [0, 0, 0, 0])
    assert any("outside the surface" in w for w in far.warnings)


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(-0.004, 0.004), min_size=6, max_size=6), st.floats(-0.02, 0.02))
def test_low_volume_is_blind_to_tilt_and_height(sags, slope):
    x, y = np.array([0, 1, 2, 0, 1, 2.0]), np.array([0, 0, 0, 0.6, 0.6, 0.6])
    z = np.array(sags)
    assume(np.ptp(z) > 1e-5)
    a = read_levels(box(), x, y, z, cells=40)
    b = read_levels(box(), x, y, z + 0.01 + slope * x, cells=40)
    assert b.low_volume == pytest.approx(a.low_volume, rel=1e-6, abs=1e-12)
