"""Cure against independent computations: scikit-sundae's CVODE, and check values worked out
beforehand by another program (explicit scipy integration of the same equations; constructed
constant sets C-COAT, C-CAST, C-PEA: not products, no publication stands behind them)."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "cure"))

from cure_helpers import resin, varied
from sksundae.cvode import CVODE

from pourwright.calc.sampling import Draws
from pourwright.catalogue import Catalogue
from pourwright.cure import AirHistory, CoreLayer, Cup, cup_history, film_history, kinetics
from pourwright.cure.cells import Stack
from pourwright.cure.conduction import cup_conduction
from pourwright.cure.core import layer_stack
from pourwright.cure.cup import cup_stack
from pourwright.cure.fit import fit_sheet
from pourwright.cure.forward import predict
from pourwright.cure.march import march, resample
from pourwright.cure.prior import Prior, prior_for
from pourwright.cure.sheet import SheetLine

H = 3600.0
# no wall to speak of, all faces losing heat, as in the check values
BARE = Cup(1.0, None, 1e-5, 500.0, 10.0, 100.0, base_share=1.0)


def cvode_stack(stack: Stack, r, air, first: np.ndarray, times: np.ndarray):  # type: ignore[no-untyped-def]
    """Mean conversion, mean resin temperature and flow by CVODE: the plain equations in (T, a)."""
    c, nr = stack.capacity.shape[0], stack.reacting
    cap, links = stack.capacity[:, 0], stack.links[:, 0]
    heat = np.broadcast_to(stack.heat, (nr, 1))[:, 0]
    many = r.take(np.zeros(nr, int))

    def rhs(t: float, y: np.ndarray, yp: np.ndarray) -> None:
        temp, a = y[:c], y[c : c + nr]
        rate = many.rate(a, temp[:nr])
        ends = np.concatenate([[air(t)], temp, [air(t)]])
        flux = links * (ends[:-1] - ends[1:])
        yp[:c] = (flux[:-1] - flux[1:]) / cap
        yp[:nr] += heat * rate / cap[:nr]
        yp[c : c + nr] = rate
        yp[-1] = many.fluidity(a, temp[:nr]).mean()

    y0 = np.concatenate([first, np.zeros(nr), [0.0]])
    scale = np.concatenate([np.full(c, 1e-6), np.full(nr, 1e-10), [1e-4]])
    solver = CVODE(rhs, rtol=1e-9, atol=scale, max_step=600.0, max_num_steps=200000)
    y = solver.solve(times, y0).y
    weights = cap[:nr] / cap[:nr].sum()
    return y[:, c : c + nr].mean(axis=1), y[:, :nr] @ weights, y[:, -1]


class TestCvode:
    """CVODE (SUNDIALS, scikit-sundae): variable-order BDF at 1e-9, an independent integrator."""

    AIR = AirHistory.day_and_night(285.15, 295.15)

    def plain(self, one):  # type: ignore[no-untyped-def]
        """da/dt of one sample in this air."""

        def rhs(t: float, y: np.ndarray, yp: np.ndarray) -> None:
            yp[0] = one.rate(y[:1], np.atleast_1d(self.AIR.at(t)))[0]

        return rhs

    def test_film_on_a_board_through_day_and_night(self) -> None:
        """1e-4 in conversion is the accuracy that `film_history` promises; 0.05 K on the mean at
        shared times would be the solver's, the rest is interpolation between its steps."""
        r = varied(2, seed=5)
        core = (CoreLayer(0.018, 0.17, 750.0, 1700.0),)
        times = 36000.0 + np.linspace(0.0, 30 * H, 61)
        film = film_history(r, self.AIR, 36000.0, 0.003, core, times_s=times, cells=2)
        for i in range(2):
            stack = layer_stack(r.take([i]), 0.003, core, 2, 10.0)
            first = np.full(stack.capacity.shape[0], float(self.AIR.at(36000.0)))
            a, temp, flow = cvode_stack(stack, r.take([i]), self.AIR.at, first, times)
            assert np.abs(film.conversion[i] - a).max() < 1e-4
            assert np.abs(film.temperature[i] - temp).max() < 0.4
            left = np.where(a < r.gel[i], flow[-1] - flow, 0.0)
            assert np.abs(film.flow_left[i] - left).max() < 3e-4 * flow[-1]

    def test_film_at_air_temperature(self) -> None:
        r = varied(3, seed=6)
        times = np.linspace(0.0, 7 * 86400.0, 57)
        film = film_history(r, self.AIR, 0.0, 0.001, None, times_s=times)
        for i in range(3):
            one = r.take([i])

            y = (
                CVODE(self.plain(one), rtol=1e-9, atol=1e-12, max_step=900.0)
                .solve(times, np.zeros(1))
                .y
            )
            assert np.abs(film.conversion[i] - y[:, 0]).max() < 1e-4

    @pytest.mark.parametrize("mass", [0.05, 0.7])
    def test_cup_through_runaway(self, mass: float) -> None:
        """Gel time to 5e-4 of itself, peak to 0.2 K. In the seconds of the runaway conversion moves
        by 0.1 per second of clock error, so conversion is compared before it only."""
        r = varied(2, seed=8)
        times = np.linspace(0.0, 5 * H, 601)
        cup = cup_history(r, AirHistory.constant(297.15), 0.0, mass, BARE, times_s=times)
        for i in range(2):
            one = r.take([i])
            first = np.array([297.15, 297.15])
            a, temp, _ = cvode_stack(
                cup_stack(one, mass, BARE), one, lambda _: 297.15, first, times
            )
            gel = float(np.interp(r.gel[i], a, times))
            # half-minute output: the chord of a steep curve costs up to 2 s on both sides
            assert cup.gel_time[i] == pytest.approx(gel, rel=5e-4, abs=4.0)
            calm = times < 0.9 * gel
            assert np.abs(cup.conversion[i] - a)[calm].max() < 3e-4
            assert cup.peak[i] >= temp.max() - 0.2

    def test_off_ratio(self) -> None:
        r = varied(1, seed=9).with_balance(0.85)
        times = np.linspace(0.0, 2 * 86400.0, 41)
        film = film_history(r, self.AIR, 0.0, 0.001, None, times_s=times)

        y = CVODE(self.plain(r), rtol=1e-9, atol=1e-12, max_step=900.0).solve(times, np.zeros(1)).y
        assert np.abs(film.conversion[0] - y[:, 0]).max() < 1e-4


class TestIsothermal:
    """Closed forms and times; digits as given in the check values."""

    def test_c_coat_at_25(self) -> None:
        a = np.array([0.1, 0.3, 0.57735, 0.9])
        got = kinetics.time_horie(a, 1.75e-5, 3.5e-4) / H
        assert np.allclose(got, [0.950682, 1.981489, 3.473362, 10.579868], rtol=2e-6)

    def test_second_order_half_time_is_one_over_k(self) -> None:
        assert kinetics.time_horie(0.5, 5e-5, 0.0) == pytest.approx(20000.0, rel=1e-12)

    @pytest.mark.parametrize(
        ("name", "temp", "hours"),
        [
            ("C-COAT", 15, (2.159, 4.501, 7.889, 24.03)), ("C-COAT", 20, (1.423, 2.965, 5.198, 15.83)),
            ("C-COAT", 30, (0.6437, 1.342, 2.352, 7.164)), ("C-COAT", 35, (0.4414, 0.9201, 1.613, 4.913)),
            ("C-PEA", 15, (1.645, 6.344, 20.22, 133.2)), ("C-PEA", 25, (0.6173, 2.381, 7.589, 50.00)),
            ("C-PEA", 35, (0.2469, 0.9523, 3.035, 20.00)),
        ],
    )  # fmt: skip
    def test_films_at_other_temperatures(
        self, name: str, temp: float, hours: tuple[float, ...]
    ) -> None:
        film = film_history(
            resin(name), AirHistory.constant(temp + 273.15), 0.0, 0.001, None, 7 * 86400.0
        )
        got = [film.when_conversion(a)[0] / H for a in (0.1, 0.3, 0.5774, 0.9)]
        assert np.allclose(got, hours, rtol=6e-4)

    def test_conversion_after_days(self) -> None:
        t = np.array([0.0, 6.0, 12.0, 24.0, 72.0, 168.0]) * H
        for name, row in {
            "C-COAT": (0.7901, 0.9146, 0.9626, 0.9888, 0.9954),
            "C-CAST": (0.0631, 0.1731, 0.4569, 0.8618, 0.9516),
            "C-PEA": (0.5192, 0.6835, 0.8120, 0.9284, 0.9680),
        }.items():
            film = film_history(
                resin(name), AirHistory.constant(298.15), 0.0, 0.001, None, t[-1], times_s=t
            )
            assert np.allclose(film.conversion[0, 1:], row, atol=1e-4)

    def test_off_ratio_gel(self) -> None:
        for b, hours in {0.8: 4.254, 0.9: 3.813, 1.0: 3.473, 1.1: 3.204, 1.2: 2.986}.items():
            r = resin().with_balance(b)
            film = film_history(r, AirHistory.constant(298.15), 0.0, 0.001, None, 86400.0)
            assert film.gel_time[0] / H == pytest.approx(hours, abs=1e-3)


class TestHeatChecks:
    @pytest.mark.parametrize(
        ("name", "hours"),
        [("C-COAT", (1.4101, 0.6536, 0.3189)), ("C-CAST", (12.3294, 5.8439, 2.9116)),
         ("C-PEA", (0.9334, 0.3808, 0.1653))],
    )  # fmt: skip
    def test_adiabatic_gel(self, name: str, hours: tuple[float, ...]) -> None:
        r = resin(name)
        stack = Stack(np.array([[1900.0]]), np.zeros((2, 1)), np.array([[368e3]]), 1)
        for t0, expected in zip((15, 25, 35), hours, strict=True):
            start = np.full((1, 1), t0 + 273.15)
            run = march(
                stack, r, np.zeros_like, 0.0, 15 * H, first_temps=start, tolerance=1e-7,
                tolerance_K=1e-3,
            )  # fmt: skip
            t = np.linspace(0.0, 15 * H, 54001)
            a, _ = resample(run, 1, t, ("conversion", "temperature"))
            assert np.interp(3**-0.5, a[0], t) / H == pytest.approx(expected, abs=1.1e-4)

    BUCKETS = (
        ("C-COAT", 20, (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0),
         (92.0, 82.6, 74.4, 70.2, 67.2, 64.9, 62.7), (161.7, 176.2, 187.9, 193.7, 198.0, 201.2, 204.4)),
        ("C-COAT", 25, (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0),
         (53.5, 49.9, 46.7, 45.0, 43.7, 42.7, 41.7), (185.5, 193.4, 200.5, 204.3, 207.1, 209.3, 211.6)),
        ("C-COAT", 30, (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0),
         (33.5, 32.0, 30.6, 29.9, 29.3, 28.8, 28.4), (200.5, 205.4, 210.2, 212.8, 214.8, 216.4, 218.1)),
        ("C-CAST", 25, (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0),
         (1620, 1564, 1460, 1347, 1182, 928, 672), (27.1, 27.8, 29.2, 31.0, 34.2, 42.7, 116.4)),
        ("C-CAST", 30, (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0),
         (1047, 988, 873, 733, 559, 453, 378), (33.3, 34.6, 37.5, 42.5, 60.0, 125.3, 167.4)),
    )  # fmt: skip

    @pytest.mark.parametrize("row", BUCKETS, ids=lambda r: f"{r[0]} {r[1]} degC")
    def test_lumped_buckets(self, row: tuple) -> None:  # type: ignore[type-arg]
        """Digits as given: 0.05 min or half a minute on gel, 0.05 K on the peak, plus 0.1 % and
        0.3 K for the thin wall of `BARE` that the check values do not have."""
        name, air, masses, gel, peak = row
        run = cup_history(
            resin(name, len(masses)), AirHistory.constant(air + 273.15), 0.0, np.array(masses),
            BARE, 40 * H,
        )  # fmt: skip
        slack = 0.06 if name == "C-COAT" else 0.6
        assert np.allclose(run.gel_time / 60.0, gel, atol=slack, rtol=1.5e-3)
        assert np.allclose(run.peak - 273.15, peak, atol=0.35)

    def test_film_and_cup_ratio_from_20_to_30(self) -> None:
        """Film 2.210, 100 g cup 2.58: the rule of thumb under-states cups in runaway."""
        gels = [
            (film_history(resin(), a, 0.0, 0.001, None, 86400.0).gel_time[0],
             cup_history(resin(), a, 0.0, 0.1, BARE).gel_time[0])
            for a in (AirHistory.constant(293.15), AirHistory.constant(303.15))
        ]  # fmt: skip
        assert gels[0][0] / gels[1][0] == pytest.approx(2.210, abs=2e-3)
        assert gels[0][1] / gels[1][1] == pytest.approx(2.58, abs=0.01)

    LAYERS = (
        ("C-COAT", 0.001, 175, 28.2, 28.2), ("C-COAT", 0.002, 128, 35.6, 35.4),
        ("C-COAT", 0.003, 79, 108.6, 106.7), ("C-COAT", 0.006, 53, 189.0, 186.5),
        ("C-COAT", 0.010, 46, 199.9, 202.1), ("C-CAST", 0.003, 1727, 26.0, 26.0),
        ("C-CAST", 0.010, 1435, 29.9, 29.5), ("C-CAST", 0.020, 733, 86.4, 80.3),
    )  # fmt: skip

    @pytest.mark.parametrize("row", LAYERS, ids=lambda r: f"{r[0]} {r[1] * 1000:g} mm")
    def test_poured_layers_on_insulation(self, row: tuple) -> None:  # type: ignore[type-arg]
        """80 cells in the check values, 24 here: 0.6 min on gel (whole minutes given, 0.1 % for the
        slow set), 0.6 K on peaks (steep fronts on the coarser grid)."""
        name, thickness, gel, base, mean = row
        film = film_history(
            resin(name), AirHistory.constant(298.15), 0.0, thickness, (), 40 * H, cells=24,
            follow_s=40 * H,
        )  # fmt: skip
        assert film.gel_time[0] / 60.0 == pytest.approx(gel, abs=0.6, rel=1e-3)
        assert film.peak[0] - 273.15 == pytest.approx(mean, abs=0.6)
        assert film.base_peak[0] - 273.15 == pytest.approx(base, abs=0.6)

    def test_layers_on_a_resisting_base(self) -> None:
        """Base resistance 0.1 m2 K/W to the air: gel 192, 175, 154, 79 min for 1, 2, 3, 6 mm."""
        for thickness, gel, peak in ((0.001, 192, 26.4), (0.002, 175, 28.1), (0.003, 154, 30.6),
                                     (0.006, 79, 107.0)):  # fmt: skip
            film = film_history(
                resin(), AirHistory.constant(298.15), 0.0, thickness,
                (CoreLayer(1e-4, 400.0, 10.0, 100.0),), 20 * H, under_W_m2K=10.0, cells=20,
                follow_s=20 * H,
            )  # fmt: skip
            assert film.gel_time[0] / 60.0 == pytest.approx(gel, abs=0.7)
            assert film.peak[0] - 273.15 == pytest.approx(peak, abs=0.7)

    def test_axisymmetric_conduction(self) -> None:
        """20 x 40 cells, C-COAT 25 degC: centre and mean gel 43.3/45.6 min, peaks 191.1/201.0 degC
        at 0.1 kg. The check values agree between grids within 1 K and 0.2 min."""
        run = cup_conduction(resin(), 0.1, 298.15, 4200.0)
        centre, mean = run.gel_times(3**-0.5)
        assert centre / 60 == pytest.approx(43.3, abs=0.2)
        assert mean / 60 == pytest.approx(45.6, abs=0.2)
        assert run.centre_K.max() - 273.15 == pytest.approx(191.1, abs=1.0)
        assert run.mean_K.max() - 273.15 == pytest.approx(201.0, abs=1.0)


class TestFit:
    """Posterior of the check values (40 000 draws, importance weights, prior E 57 +- 6, H 380 +-
    45, h 10 +- 30 %): one cup of 100 g gels in 45 min at 25 degC."""

    @pytest.fixture
    def prior(self) -> Prior:
        base = prior_for(Catalogue().get("resin-coating-1to1"))
        mean, sd = base.mean.copy(), base.sd.copy()
        mean[3], sd[3] = np.log(380e3), 0.12
        return Prior(
            base.base.with_values(
                density=np.array([1100.0]), glass_lead=np.array([1e6]), thick_b=np.array([1.0])
            ),
            mean, sd,
        )  # fmt: skip

    def test_single_gel_time(self, prior: Prior) -> None:
        """Energy 57.2 +- 6.0; 1 kg 33/40/48 min; 100 g at 15 degC 91/129/249 min. The check values
        carry +- 10 % of sampling error, so 12 % is allowed; the last figure, deep in the tail near
        the runaway threshold, depends on the prior of the rate (theirs on k2, ours on an early
        time: weighing plain draws of our prior gives 212) and is checked against that instead.
        """
        line = SheetLine("cup_gel", 45 * 60.0, 298.15, 0.1)
        fit = fit_sheet([line], prior)
        low, mid, high = fit.spread("energy")
        assert mid / 1e3 == pytest.approx(57.2, abs=1.0)
        assert (high - low) / 3.29 / 1e3 == pytest.approx(6.0, abs=0.3)
        asked = [
            SheetLine("cup_gel", 2400.0, 298.15, 1.0),
            SheetLine("cup_gel", 8000.0, 288.15, 0.1),
        ]
        got = np.quantile(predict(fit.samples(Draws(3, 400)), asked) / 60.0, [0.05, 0.5, 0.95], 0)
        assert np.allclose(got[:, 0], [33, 40, 48], rtol=0.12)
        assert np.allclose(got[:2, 1], [91, 129], rtol=0.12)
        # our own exact posterior: plain draws of the prior weighed by the one line
        u = np.random.default_rng(1).standard_normal((5000, fit.best.size))
        resins = prior.resin(u)
        off = np.log(predict(resins, [line])[:, 0] / line.value) / line.sigma
        keep = np.abs(off) < 4.0
        figures = predict(resins.take(keep), asked) / 60.0
        weights = np.exp(-0.5 * off[keep] ** 2)
        for column in range(2):
            order = np.argsort(figures[:, column])
            share = np.cumsum(weights[order]) / weights.sum()
            exact = np.interp([0.05, 0.5, 0.95], share, figures[order, column])
            assert np.allclose(got[:, column], exact, rtol=0.10)
