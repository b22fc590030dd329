"""Closed laws: limits, inverses, monotony and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright import film
from pourwright.errors import InputError
from pourwright.film import RESIN, Fluid

depths = st.floats(1e-5, 0.02)
flows = st.floats(1e-2, 1e5)
waves = st.floats(1e-3, 5.0)
quick = settings(deadline=None, max_examples=60)


@quick
@given(depths, waves)
def test_full_depth_levels_no_faster_than_thin_film(h, lam):
    thin = film.level_rate_thin(h, lam)
    assert 0 < film.level_rate(h, lam) <= thin * (1 + 1e-12)


@quick
@given(depths, st.floats(1, 1e5), st.floats(0.01, 0.9))
def test_longest_levelled_inverts_level_left(h, flow, kept):
    lam = film.longest_levelled(h, flow, kept)
    if lam > 0:
        assert film.level_left(h, lam, flow) == pytest.approx(kept, rel=1e-6)


@quick
@given(depths, waves, st.floats(0.01, 0.9))
def test_level_flow_inverts_level_left(h, lam, kept):
    assert film.level_left(h, lam, film.level_flow(h, lam, kept)) == pytest.approx(kept, rel=1e-9)


def test_depth_factor_is_continuous_across_its_series():
    x = np.array([0.0, 0.00999, 0.01, 0.01001, 299.9, 300.1])
    f = film.depth_factor(x)
    assert f[0] == 1.0
    # both branches are exact to 1e-7 at the joint: next series term is of order x^4
    assert abs(f[1] - f[3]) < 2e-6
    assert f[4] == pytest.approx(f[5], rel=3e-3)


def test_short_marks_level_like_a_deep_fluid():
    # deep limit: rate = (rho g + gamma q^2) / (2 q) (derived by h -> infinity in Orchard's form)
    lam, h = 1e-3, 0.02
    q = 2 * math.pi / lam
    deep = (RESIN.weight + RESIN.surface_tension * q**2) / (2 * q)
    assert film.level_rate(h, lam) == pytest.approx(deep, rel=1e-9)


@quick
@given(depths, flows)
def test_huppert_fronts_scale_with_their_exponents(_h, flow):
    assert film.plane_front(1e-3, 32 * flow) == pytest.approx(2 * film.plane_front(1e-3, flow))
    assert film.round_front(1e-3, 256 * flow) == pytest.approx(2 * film.round_front(1e-3, flow))
    assert film.plane_front(2**5 * 1e-3, flow) == pytest.approx(8 * film.plane_front(1e-3, flow))


def test_spread_profile_holds_its_volume():
    x = np.linspace(0, 1, 200_001)
    h = film.spread_profile(x, 0.7, 0.01)
    # integral of (1 - s^2)^(1/3) over 0..1 is sqrt(pi) Gamma(4/3) / (2 Gamma(11/6))
    exact = 0.7 * 0.01 * math.sqrt(math.pi) * math.gamma(4 / 3) / (2 * math.gamma(11 / 6))
    assert np.trapezoid(h, x) == pytest.approx(exact, rel=1e-5)


@quick
@given(depths, st.floats(1e-3, 3.0), st.floats(0.05, 1.0))
def test_flow_to_keep_inverts_drained_film(h, x, steep):
    flow = film.flow_to_keep(h, x, steep)
    assert film.drained_film(x, flow, steep) == pytest.approx(h)


@quick
@given(depths, flows)
def test_sag_and_thickest_invert(h, flow):
    assert film.thickest_without_sag(film.sag(h, flow), flow) == pytest.approx(h)


@quick
@given(st.floats(1e-7, 1e-4), flows)
def test_run_length_is_the_volume_balance_of_the_draining_film(area, flow):
    end = film.run_length(area, flow)
    x = np.linspace(0, end, 20001)
    h = film.drained_film(x, flow)
    assert np.trapezoid(h, x) == pytest.approx(area, rel=1e-4)  # trapezoid error of sqrt at 0


def test_underside_fastest_wave_is_a_maximum():
    best = film.drip_spacing()
    for f in (0.9, 0.99, 1.01, 1.1):
        assert film.underside_growth(5e-4, best * f) < film.underside_growth(5e-4)
    assert film.underside_growth(5e-4, 2 * math.pi * RESIN.capillary_length) == pytest.approx(
        0, abs=1e-9
    )


@quick
@given(st.floats(1e-3, 0.1), flows, st.booleans())
def test_bubble_radius_inverts_rise(depth, flow, clean):
    r = film.smallest_bubble_out(depth, flow, clean)
    assert film.bubble_rise(r, flow, clean) == pytest.approx(depth)


def test_drag_out_takes_the_lesser_law():
    slow = film.drag_out(1e-6, 1.0)
    ca = 1e-6 / RESIN.surface_tension
    assert slow == pytest.approx(0.944 * RESIN.capillary_length * ca ** (2 / 3))
    fast = film.drag_out(1.0, 1.0)
    assert fast == pytest.approx(RESIN.capillary_length * (1 / RESIN.surface_tension) ** 0.5)


def test_tilt_is_zero_at_first_and_the_full_fall_at_last():
    assert film.tilt_difference(3e-3, 2.1, 0.007, 0.0) == 0.0
    assert film.tilt_difference(3e-3, 2.1, 0.007, 1e9) == pytest.approx(2.1 * 0.007)
    # both branches of the early law meet
    rate = RESIN.weight * 9e-9 * (math.pi / 2.1) ** 2
    below, above = (film.tilt_difference(3e-3, 2.1, 0.007, f * 1e-3 / rate) for f in (0.999, 1.001))
    assert below == pytest.approx(above, rel=3e-3)


def test_upright_film_loses_what_runs_off():
    for flow in (1.0, 100.0, 3e4):
        u = film.upright_film(5e-4, 2.1, flow, points=200_001)
        left = np.trapezoid(u.film, u.distance)
        assert left + u.run_off == pytest.approx(5e-4 * 2.1, rel=1e-5)  # trapezoid error at 0


def test_a_yield_stress_holds_a_thin_coat():
    u = film.upright_film(5e-4, 2.1, 1e3, yield_stress=10.0)
    assert u.run_off == 0 and np.all(u.film == 5e-4)
    assert film.thickest_that_stays(1e3, 1e-3, 0.05, yield_stress=20.0) == pytest.approx(
        20.0 / RESIN.weight
    )


@quick
@given(flows, st.floats(1e-4, 1e-2), st.floats(1e-3, 0.5))
def test_the_thickest_that_stays_does_stay(flow, sag, thin):
    h = min(film.thickest_that_stays(flow, sag, thin), 0.05)
    u = film.upright_film(h, 10.0, flow)
    assert u.skin_slide <= sag * (1 + 1e-9)
    assert u.thinned <= thin * (1 + 1e-9)


@pytest.mark.parametrize(
    "call",
    [
        lambda: film.level_rate(0.0, 0.1),
        lambda: film.level_rate(1e-3, -1.0),
        lambda: film.level_left(1e-3, 0.1, math.nan),
        lambda: film.longest_levelled(1e-3, 1.0, 1.5),
        lambda: film.plane_front(-1.0, 1.0),
        lambda: film.puddle_height(4.0),
        lambda: film.drained_film(0.1, 0.0),
        lambda: film.run_length(1e-5, 1.0, 2.0),
        lambda: film.smallest_bubble_out("deep", 1.0),
        lambda: film.drag_out(1.0, 1.0, Fluid(1100, 0.0)),
        lambda: film.upright_film(1e-3, 0.0, 1.0),
        lambda: film.tilt_difference(1e-3, 1.0, 0.5, 1.0),
        lambda: Fluid(density=math.inf),
        lambda: Fluid(surface_tension=-1),
        lambda: film.vein_width(4e-3, -1.0, 3e-3, 1.0),
        lambda: film.vein_flow_left(4e-3, 4e-6, 3e-3, 3e-3),
    ],
)
def test_unusable_values_are_refused_by_name(call):
    with pytest.raises(InputError) as err:
        call()
    assert err.value.field and err.value.limit and err.value.remedy
