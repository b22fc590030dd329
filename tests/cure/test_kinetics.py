"""Rate laws and their closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.cure import kinetics as k
from pourwright.errors import InputError

rates = st.floats(1e-7, 1e-2)
ratios = st.floats(1e-4, 10.0)
balances = st.floats(0.4, 2.5)
shares = st.floats(0.01, 0.97)


@settings(deadline=None, max_examples=100)
@given(k2=rates, ratio=ratios, b=balances, share=shares)
def test_closed_form_is_the_integral_of_the_rate(
    k2: float, ratio: float, b: float, share: float
) -> None:
    a = share * min(1.0, b)
    closed = k.time_horie(a, k2 * ratio, k2, b)
    by_quadrature = k.time_to_conversion(lambda x: k.rate_horie(x, k2 * ratio, k2, b), a)
    # 1e-6: near B = 1 the two poles nearly merge and the closed form loses digits
    assert closed == pytest.approx(by_quadrature, rel=1e-6)


@settings(deadline=None, max_examples=100)
@given(k2=rates, ratio=ratios, b=balances, share=shares)
def test_inverse_closed_form(k2: float, ratio: float, b: float, share: float) -> None:
    a = share * min(1.0, b)
    t = k.time_horie(a, k2 * ratio, k2, b)
    assert k.conversion_horie(t, k2 * ratio, k2, b) == pytest.approx(a, abs=1e-8)


def test_balance_one_is_kamal_with_m1_n2() -> None:
    a = np.linspace(0, 0.99, 50)
    assert np.allclose(k.rate_horie(a, 1e-5, 3e-4, 1.0), k.rate_kamal(a, 1e-5, 3e-4), rtol=1e-14)


def test_closed_form_is_continuous_through_the_exact_ratio() -> None:
    near = [k.time_horie(0.6, 1e-5, 3e-4, b) for b in (1 - 1e-5, 1 - 1e-8, 1.0, 1 + 1e-8, 1 + 1e-5)]
    assert np.ptp(near) / near[2] < 1e-4
    assert np.all(np.diff(near) <= 0)  # more hardener, sooner; within 1e-7 of 1 it counts as exact
    assert near[-1] < near[0]


@settings(deadline=None, max_examples=50)
@given(energy=st.floats(4e4, 7e4), t1=st.floats(278, 300), dt=st.floats(1, 20), a=shares)
def test_with_one_energy_all_times_scale_alike(
    energy: float, t1: float, dt: float, a: float
) -> None:
    at = [
        k.time_horie(a, k.arrhenius(1e-5, energy, t), k.arrhenius(3e-4, energy, t))
        for t in (t1, t1 + dt)
    ]
    assert at[0] / at[1] == pytest.approx(k.rate_factor(energy, t1, t1 + dt), rel=1e-10)


@settings(deadline=None, max_examples=60)
@given(n=st.floats(0.3, 3.0), a=shares)
def test_nth_order_closed_form(n: float, a: float) -> None:
    by_quadrature = k.time_to_conversion(lambda x: k.rate_nth_order(x, 1e-4, n), a)
    assert k.time_nth_order(a, 1e-4, n) == pytest.approx(by_quadrature, rel=1e-8)


def test_first_order_is_the_limit_of_nth_order() -> None:
    assert k.time_nth_order(0.7, 1e-4, 1.0) == pytest.approx(
        k.time_nth_order(0.7, 1e-4, 1.0 + 1e-7), rel=1e-6
    )


def test_beyond_the_ceiling_is_never() -> None:
    assert k.time_horie(0.85, 1e-5, 3e-4, 0.8) == np.inf
    assert k.time_to_conversion(lambda x: k.rate_kamal(x, 1e-5, 3e-4, 1, 2, 0.7), 0.75) == np.inf


def test_integrate_rate_has_fourth_order() -> None:
    times, temps = np.array([0.0, 3600.0, 7200.0]), np.array([288.0, 301.0, 295.0])

    def rate(a: np.ndarray, t: np.ndarray) -> np.ndarray:
        return k.rate_kamal(a, k.arrhenius(2e-5, 58e3, t), k.arrhenius(3.5e-4, 58e3, t))

    best = k.integrate_rate(rate, times, temps, 0.0, 512)[0, -1]
    error = [abs(k.integrate_rate(rate, times, temps, 0.0, n)[0, -1] - best) for n in (2, 4, 8)]
    orders = np.log2(np.array(error[:-1]) / np.array(error[1:]))
    assert np.all(orders > 3.5)


def test_integrate_rate_takes_many_samples_and_histories() -> None:
    times = np.linspace(0.0, 3600.0, 5)
    temps = 290.0 + np.outer(np.arange(3.0), np.ones(5))
    out = k.integrate_rate(
        lambda a, t: k.rate_nth_order(a, k.arrhenius(1e-4, 5e4, t), 1), times, temps
    )
    assert out.shape == (3, 5)
    assert np.all(np.diff(out[:, -1]) > 0)


def test_a_conversion_before_the_start_is_refused() -> None:
    with pytest.raises(InputError) as err:
        k.time_to_conversion(lambda x: np.ones_like(x), 0.1, 0.2)
    assert err.value.field == "conversion"
