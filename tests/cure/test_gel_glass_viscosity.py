"""Gel, network, glass transition and viscosity."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.cure import gel, glass, reaction_heat, viscosity
from pourwright.errors import InputError


@settings(deadline=None, max_examples=60)
@given(st.floats(0.34, 2.99))
def test_gel_is_where_the_network_begins(b: float) -> None:
    a = gel.gel_conversion(b)
    before, after = gel.network(a * 0.999, b), gel.network(min(a * 1.001, 1.0, b), b)
    assert before[0] == pytest.approx(1.0, abs=1e-9) and before[1] == 0.0
    assert after[0] <= 1.0 and after[1] >= 0.0
    if a * 1.001 < min(1.0, b):
        assert after[1] > 0.0


def test_outside_a_third_to_three_it_never_gels() -> None:
    assert np.isnan(gel.gel_conversion(0.33)) and np.isnan(gel.gel_conversion(3.01))


def test_diluent_delays_gel() -> None:
    x = np.linspace(0, 0.5, 20)
    assert np.all(np.diff(gel.gel_with_diluent(x)) > 0)
    assert gel.weighted_functionality([2, 1], [0.4, 0.2]) == pytest.approx(1.8)
    assert gel.gel_conversion(1.0, 4.0, 1.8) == pytest.approx(gel.gel_with_diluent(0.2))


def test_unequal_amine_agrees_with_its_own_rate_equations() -> None:
    """The closed form against stepping dn0 = -2 n0, dn1 = 2 n0 - r n1."""
    for r in (0.3, 0.65, 1.0, 1.7, 2.0, 3.0):
        n0, n1, t = 1.0, 0.0, 0.0
        dt = 1e-4
        while True:
            n2 = 1.0 - n0 - n1
            x = 0.5 * (n1 + 2 * n2)
            if n2 + 2 * x * x >= 1.0:
                break
            # midpoint steps
            h0 = n0 - dt * n0
            h1 = n1 + dt / 2 * (2 * n0 - r * n1)
            n0, n1 = n0 - 2 * dt * h0, n1 + dt * (2 * h0 - r * h1)
            t += dt
        assert gel.gel_unequal_amine(r) == pytest.approx(x, abs=3e-4)


@settings(deadline=None, max_examples=60)
@given(st.floats(0.0, 1.0), st.floats(220, 260), st.floats(300, 400), st.floats(0.2, 0.9))
def test_dibenedetto_and_its_inverse(a: float, tg0: float, tg1: float, bend: float) -> None:
    tg = glass.dibenedetto(a, tg0, tg1, bend)
    assert tg0 - 1e-9 <= tg <= tg1 + 1e-9
    assert glass.conversion_at_tg(tg, tg0, tg1, bend) == pytest.approx(a, abs=1e-9)


def test_diffusion_slows_and_never_stops_abruptly() -> None:
    a = np.linspace(0, 1, 101)
    f = glass.diffusion_factor(a, 0.7, 40.0)
    assert np.all(np.diff(f) <= 0) and f[0] > 0.999 and f[-1] < 1e-5
    assert glass.diffusion_factor(0.7, 0.7, 40.0) == 0.5
    assert glass.vitrification_factor(300.0, 298.0, 2.0, 3.0) == 0.5
    assert glass.rabinowitch(2.0, 1e9) == pytest.approx(2.0)
    assert glass.diffusive_rate(1.0, 1e4, 0.2, -20.0, 298.0) < glass.diffusive_rate(
        1.0, 1e4, 0.2, 20.0, 298.0
    )


def test_thickening_and_fluidity_are_inverse_and_end_at_gel() -> None:
    a = np.linspace(0, 0.57, 40)
    up = viscosity.cure_thickening(a, 0.5774, 1.5, 1.0)
    down = viscosity.fluidity_factor(a, 0.5774, 1.5, 1.0)
    assert np.allclose(up * down, 1.0, rtol=1e-12)
    assert viscosity.cure_thickening(0.6, 0.5774, 1.5, 1.0) == np.inf
    assert viscosity.fluidity_factor(0.6, 0.5774, 1.5, 1.0) == 0.0


@settings(deadline=None, max_examples=60)
@given(st.floats(1.0, 1e4), st.floats(0.45, 0.75), st.floats(1.2, 4), st.floats(0, 2.5))
def test_conversion_at_thickening_inverts(times: float, g: float, a: float, b: float) -> None:
    x = viscosity.conversion_at_thickening(times, g, a, b)
    assert viscosity.cure_thickening(x, g, a, b) == pytest.approx(times, rel=1e-6)


def test_vft_has_the_energy_asked_for_at_25_degrees() -> None:
    t = 298.15 + np.array([-0.01, 0.01])
    for freeze in (0.0, 195.0):
        eta = np.log(viscosity.base_viscosity(t, 0.8, 68e3, freeze))
        energy = 8.314462618 * (eta[1] - eta[0]) / (1 / t[1] - 1 / t[0])
        assert energy == pytest.approx(68e3, rel=1e-6)
    assert viscosity.base_viscosity(298.15, 0.8, 68e3, 195.0) == pytest.approx(0.8)
    cold = [viscosity.base_viscosity(283.15, 1.0, 68e3, f) for f in (0.0, 195.0)]
    assert cold[1] > cold[0]  # steeper when colder


def test_heat_of_mix_and_balance() -> None:
    assert reaction_heat.heat_of_mix(0.19, 0.10) == pytest.approx(107e3 / 0.29)
    assert reaction_heat.heat_of_mix(0.19, 0.10, filler_ratio=0.25) == pytest.approx(107e3 / 0.3625)
    assert reaction_heat.balance_of(1.9, 0.19, 0.10) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: gel.gel_conversion(0.0), "balance"),
        (lambda: gel.gel_conversion(1.0, 1.0), "amine_functionality"),
        (lambda: gel.gel_unequal_amine(-1.0), "second_over_first"),
        (lambda: reaction_heat.heat_of_mix(0.0, 0.1), "epoxide_weight"),
        (lambda: reaction_heat.balance_of(0.0, 0.19, 0.1), "ratio_by_mass"),
    ],
)
def test_bad_values_are_refused_by_name(call: object, field: str) -> None:
    with pytest.raises(InputError) as err:
        call()  # type: ignore[operator]
    assert err.value.field == field and err.value.remedy
