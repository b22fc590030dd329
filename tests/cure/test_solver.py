"""The solver: its coefficients, its order, its energy balance, its independence of neighbours."""

from __future__ import annotations

import numpy as np
import pytest
from cure_helpers import resin, varied
from scipy.integrate import solve_ivp

from pourwright.cure import cells, in_air
from pourwright.cure.cells import Stack
from pourwright.cure.history import AirHistory
from pourwright.cure.in_air import follow_air
from pourwright.cure.kinetics import conversion_horie
from pourwright.cure.march import march, resample


def steady(temp: float):  # type: ignore[no-untyped-def]
    return lambda t: np.full(np.shape(t), temp)


def slab(r, thickness: float, count: int, both: bool) -> Stack:  # type: ignore[no-untyped-def]
    dx = thickness / count
    links = np.full((count + 1, 1), 0.2 / dx)
    links[0] = 1 / (0.1 + dx / 0.4)
    links[-1] = links[0] if both else 0.0
    return Stack(
        np.full((count, 1), 1100 * 1900 * dx), links, np.full((count, 1), 1100 * 368e3 * dx), count
    )


def test_runge_kutta_pair_meets_its_order_conditions() -> None:
    """Kennedy and Carpenter 2003: third order for both parts and their coupling; embedded second."""
    a_e, a_i = np.zeros((4, 4)), np.zeros((4, 4))
    for s in range(1, 4):
        a_e[s, :s] = cells.EXPLICIT[s]
        a_i[s, :s] = cells.IMPLICIT[s]
        a_i[s, s] = cells.G
    b, e, c = np.array(cells.WEIGHTS), np.array(cells.WEIGHTS_2), np.array(cells.TIMES)
    for a in (a_e, a_i):
        assert np.allclose(a.sum(axis=1), c, atol=1e-14)
        assert b @ a @ c == pytest.approx(1 / 6, abs=1e-14)
    assert b.sum() == pytest.approx(1, abs=1e-14)
    assert b @ c == pytest.approx(1 / 2, abs=1e-14)
    assert b @ c**2 == pytest.approx(1 / 3, abs=1e-14)
    assert e.sum() == pytest.approx(1, abs=1e-14)
    assert e @ c == pytest.approx(1 / 2, abs=1e-14)
    assert np.allclose(a_i[3], b)  # stiffly accurate: the last stage is the step


def test_dormand_prince_meets_its_order_conditions() -> None:
    a = np.zeros((7, 7))
    for s in range(1, 7):
        a[s, :s] = in_air._A[s]
    b, c = a[6], np.array(in_air._C)
    assert np.allclose(a.sum(axis=1), c, atol=1e-14)
    for power in range(5):
        assert b @ c**power == pytest.approx(1 / (power + 1), abs=1e-14)
    assert b @ a @ c == pytest.approx(1 / 6, abs=1e-14)
    assert b @ a @ c**3 == pytest.approx(1 / 20, abs=1e-14)
    assert sum(in_air._E) == pytest.approx(0, abs=1e-14)
    assert sum(in_air._D) == pytest.approx(0, abs=1e-12)


def test_air_films_follow_the_closed_form() -> None:
    r = resin("C-COAT")
    t = np.linspace(0.0, 86400.0, 97)
    alpha, _ = follow_air(r, lambda _: 298.15, t)
    exact = conversion_horie(t, r.k1[0], r.k2[0])
    assert np.abs(alpha[0] - exact).max() < 2e-5


@pytest.mark.parametrize("balance", [0.7, 0.95, 1.2])
def test_off_ratio_films_follow_the_closed_form(balance: float) -> None:
    r = resin("C-COAT").with_balance(balance)
    t = np.linspace(0.0, 4 * 86400.0, 97)
    alpha, _ = follow_air(r, lambda _: 298.15, t)
    exact = conversion_horie(t, r.k1[0], r.k2[0], balance)
    assert np.abs(alpha[0] - exact).max() < 3e-5


def test_air_films_agree_with_a_library_integrator_on_a_real_day() -> None:
    r = varied(3)
    air = AirHistory.day_and_night(285.15, 295.15)
    t = np.linspace(0.0, 3 * 86400.0, 61)
    alpha, flow = follow_air(r, air.at, t, longest_step_s=10800.0)
    for i in range(3):
        one = r.take([i])

        def rhs(time: float, y: np.ndarray, one=one) -> list[float]:  # type: ignore[no-untyped-def]
            temp = np.atleast_1d(air.at(time))
            a = y[:1]
            return [float(one.rate(a, temp)[0]), float(one.fluidity(a, temp)[0])]

        ref = solve_ivp(
            rhs, (0, t[-1]), [0.0, 0.0], "LSODA", t, rtol=1e-9, atol=1e-11, max_step=1800
        )
        assert np.abs(ref.y[0] - alpha[i]).max() < 1e-4
        assert np.abs(ref.y[1] - flow[i]).max() < 1e-4 * flow[i, -1]


def test_tolerance_controls_the_error() -> None:
    r, t = varied(20), np.linspace(0.0, 86400.0, 25)
    best, _ = follow_air(r, lambda _: 293.15, t, tolerance=1e-10)
    error = [
        np.abs(follow_air(r, lambda _: 293.15, t, tolerance=tol)[0] - best).max()
        for tol in (1e-3, 1e-5, 1e-7)
    ]
    assert error[0] > error[1] > error[2] and error[1] < 5e-5


def test_dense_output_does_not_depend_on_the_times_asked() -> None:
    r = varied(4)
    few = follow_air(r, lambda _: 293.15, np.array([0.0, 40000.0, 86400.0]))
    many = follow_air(r, lambda _: 293.15, np.linspace(0.0, 86400.0, 865))
    assert np.abs(few[0][:, 1] - many[0][:, 400]).max() < 1e-9
    assert np.abs(few[1][:, 2] / many[1][:, 864] - 1).max() < 1e-6


def test_offset_is_a_shifted_air() -> None:
    r, t = varied(5), np.linspace(0.0, 86400.0, 49)
    a, _ = follow_air(r, lambda _: 293.15, t, offset=np.full(5, 4.0))
    b, _ = follow_air(r, lambda _: 297.15, t)
    assert np.abs(a - b).max() < 2e-5


@pytest.mark.parametrize("thickness", [0.001, 0.004, 0.015])
def test_energy_closes_to_round_off(thickness: float) -> None:
    r = resin("C-COAT")
    run = march(
        slab(r, thickness, 12, True), r, steady(298.15), 0.0, 40000.0,
        first_temps=np.full((12, 1), 305.0), pulses=[(900.0, 30e3)],
    )  # fmt: skip
    assert run.closure.max() < 1e-9


def test_adiabatic_rise_is_heat_over_capacity_whatever_the_kinetics() -> None:
    for name in ("C-COAT", "C-PEA", "C-CAST"):
        r = resin(name)
        stack = Stack(np.array([[1900.0]]), np.zeros((2, 1)), np.array([[368e3]]), 1)
        run = march(stack, r, steady(298.15), 0.0, 12 * 3600.0, first_temps=np.full((1, 1), 298.15))
        # conversion stops a little short of 1 in finite time, so the rise is taken per conversion
        rise, done = run.temperature[-1] - 298.15, run.conversion[-1]
        assert rise / done == pytest.approx(193.684, abs=1e-3)
        assert done > 0.9998 and run.temperature.max() - 298.15 <= 368e3 / 1900 + 1e-9


def test_mean_temperature_never_passes_adiabatic() -> None:
    r = resin("C-COAT")
    for thickness in (0.004, 0.02, 0.08):
        run = march(
            slab(r, thickness, 16, True), r, steady(298.15), 0.0, 20000.0,
            first_temps=np.full((16, 1), 298.15),
        )  # fmt: skip
        assert run.temperature.max() <= 298.15 + 368e3 / 1900 + 0.05


def test_insulated_layer_is_half_a_symmetric_slab() -> None:
    r = resin("C-COAT")
    t = np.linspace(0.0, 5 * 3600.0, 301)
    runs = [
        march(slab(r, h, n, both), r, steady(298.15), 0.0, t[-1],
              first_temps=np.full((n, 1), 298.15), tolerance=1e-6, tolerance_K=0.002)
        for h, n, both in ((0.003, 10, False), (0.006, 20, True))
    ]  # fmt: skip
    a, b = (resample(run, 1, t, ("conversion", "temperature")) for run in runs)
    # same equations, different steps: agreement is limited by the step tolerance
    assert np.abs(a[0] - b[0]).max() < 2e-4
    assert np.abs(a[1] - b[1]).max() < 0.15


def test_steps_converge_with_third_order() -> None:
    """Equal fixed steps on a self-heating cup; the error falls with the cube of the step."""
    r = resin("C-COAT", film_coefficient=10.0)
    work = cells.Cells(slab(r, 0.01, 6, False), r, np.array([0]), 6, 1)

    def final(count: int) -> float:
        z, temps = np.zeros((6, 1)), np.full((6, 1), 303.15)
        w = work.capacity * temps
        h = np.full(1, 1500.0 / count)
        for i in range(count):
            rates = work.rates(z, temps)
            z, w, temps, *_ = work.step(z, w, temps, h * i, h, steady(298.15), rates)
        return float(temps[3, 0])

    best = final(1024)
    error = [abs(final(n) - best) for n in (16, 32, 64)]
    order = np.log2(error[0] / error[2]) / 2
    assert 2.6 < order < 4.5


def test_space_converges_with_second_order() -> None:
    r = resin("C-COAT")

    def gel_time(count: int) -> float:
        run = march(
            slab(r, 0.006, count, False), r, steady(298.15), 0.0, 6000.0,
            first_temps=np.full((count, 1), 298.15), tolerance=1e-7, tolerance_K=2e-4,
        )  # fmt: skip
        t = np.linspace(0, 6000.0, 1201)
        a, _ = resample(run, 1, t, ("conversion", "temperature"))
        return float(np.interp(0.5, a[0], t))

    best = gel_time(48)
    error = [abs(gel_time(n) - best) for n in (3, 6, 12)]
    assert error[0] > 3.0 * error[1] > 9.0 * error[2]


def test_samples_do_not_see_each_other() -> None:
    many = varied(12)
    dx, mass = 0.003 / 3, 3
    stack = slab(many, 0.003, mass, False)
    del dx
    t = np.linspace(0.0, 30000.0, 51)
    together = resample(
        march(stack, many, steady(296.15), 0.0, t[-1], first_temps=np.full((3, 12), 296.15)),
        12, t, ("conversion", "temperature", "flow"),
    )  # fmt: skip
    for i in (0, 5, 11):
        alone = resample(
            march(stack, many.take([i]), steady(296.15), 0.0, t[-1],
                  first_temps=np.full((3, 1), 296.15)),
            1, t, ("conversion", "temperature", "flow"),
        )  # fmt: skip
        for x, y in zip(together, alone, strict=True):
            assert np.array_equal(x[i], y[0])


def test_a_pulse_is_a_jump_of_temperature_and_not_of_conversion() -> None:
    r = resin("C-COAT")
    joule = 1100 * 1900 * 0.001 * 20.0
    run = march(
        slab(r, 0.001, 2, False), r, steady(293.15), 0.0, 3000.0,
        first_temps=np.full((2, 1), 293.15), pulses=[(1000.0, joule)],
    )  # fmt: skip
    t = np.array([999.0, 1000.0, 1001.0])
    a, temp = resample(run, 1, t, ("conversion", "temperature"))
    assert temp[0, 1] - temp[0, 0] == pytest.approx(20.0, abs=0.1)
    assert abs(a[0, 1] - a[0, 0]) < 1e-4


def test_stops_at_gel_when_asked() -> None:
    r = varied(6)
    run = march(
        slab(r, 0.002, 2, False), r, steady(298.15), 0.0, 40 * 3600.0,
        first_temps=np.full((2, 6), 298.15), stop_at_gel=True,
    )  # fmt: skip
    for i in range(6):
        mine = run.conversion[run.sample == i]
        assert mine[-1] >= r.gel[i] and np.all(mine[:-1] < r.gel[i] + 1e-9)
