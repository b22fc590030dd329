"""Learning: no evidence changes nothing, evidence moves the right way, ranges stay honest."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Draws, Spread
from pourwright.catalogue import get
from pourwright.cure import AirHistory, Resin
from pourwright.cure.prior import NAMES
from pourwright.cure.sheet import SheetLine
from pourwright.errors import InputError
from pourwright.record import DoneJob, lessons_of, sights_of
from pourwright.record.lessons import as_material
from pourwright.record.posterior import group_sights, learn, own_prior
from pourwright.record.product import learned_properties, product_table
from pourwright.record.rates import BETWEEN, Seen, learn_rate
from pourwright.record.sights import EYE, Sight, misfit, show

MATERIAL = get("resin-colour-1to1-uv", "resin")
ROOM = AirHistory.constant(296.15)


def cup_sight(seconds: float, **more: object) -> Sight:
    return Sight("cup_gel", 0.0, seconds, seconds, ROOM, mass_kg=0.3, lot="a", **more)  # type: ignore[arg-type]


def expected() -> float:
    return float(show(Resin.from_material(MATERIAL), [cup_sight(6000.0)])[0, 0])


class TestMisfit:
    eye = np.array([0.1])

    def one(self, t: float, before: float, after: float) -> float:
        return float(misfit(np.array([t]), np.array([before]), np.array([after]), self.eye)[0])

    def test_watched_is_a_plain_logarithmic_residual(self) -> None:
        assert self.one(110.0, 100.0, 100.0) == pytest.approx(math.log(1.1) / 0.1)

    def test_a_bracket_is_zero_in_its_middle_and_widens(self) -> None:
        assert self.one(math.sqrt(80 * 120.0), 80.0, 120.0) == pytest.approx(0.0, abs=1e-12)
        assert abs(self.one(130.0, 80.0, 125.0)) < abs(self.one(130.0, 100.0, 100.0))

    def test_bounds_only_pull_one_way(self) -> None:
        # reached by 100: a prediction of 50 is fine, of 200 is not
        assert abs(self.one(50.0, 0.0, 100.0)) < 0.01
        assert self.one(200.0, 0.0, 100.0) > 3.0
        # not yet at 100: a prediction of 200 is fine, of 50 is not
        assert abs(self.one(200.0, 100.0, math.inf)) < 0.01
        assert self.one(50.0, 100.0, math.inf) < -3.0

    @settings(deadline=None, max_examples=60)
    @given(st.floats(20.0, 500.0))
    def test_half_its_square_is_minus_the_log_chance(self, t: float) -> None:
        from scipy.stats import norm

        chance = norm.logcdf((math.log(100.0) - math.log(t)) / 0.1)
        if chance > -700:
            assert self.one(t, 0.0, 100.0) ** 2 / 2 == pytest.approx(-chance, rel=1e-6, abs=1e-9)

    def test_looks_out_of_order_are_refused(self) -> None:
        for before, after in ((200.0, 100.0), (0.0, math.inf)):
            with pytest.raises(InputError, match="not yet"):
                Sight("cup_gel", 0.0, before, after, ROOM)


class TestPosterior:
    def test_without_evidence_it_is_the_prior(self) -> None:
        post = learn(own_prior(MATERIAL), [])
        mean, cov = post.next_lot()
        assert np.allclose(mean, 0.0)
        assert np.allclose(cov, post.next_lot_prior())

    def test_a_slow_cup_makes_a_slow_resin_and_narrows_it(self) -> None:
        prior = own_prior(MATERIAL)
        slow = learn(prior, group_sights([cup_sight(1.5 * expected())]))
        fast = learn(prior, group_sights([cup_sight(0.6 * expected())]))
        i = NAMES.index("early")
        assert slow.next_lot()[0][i] > 0 > fast.next_lot()[0][i]
        assert slow.next_lot()[1][i, i] < 0.25 * slow.next_lot_prior()[i, i]
        said = show(slow.draws(Draws(1, 200)), [cup_sight(6000.0)])[:, 0]
        assert np.median(said) == pytest.approx(1.5 * expected(), rel=0.06)
        # what no cup shows stays as it was
        j = NAMES.index("tg_end")
        assert slow.next_lot()[1][j, j] == pytest.approx(slow.next_lot_prior()[j, j], rel=0.05)

    def test_more_looks_narrow_more_and_lots_average_out(self) -> None:
        prior = own_prior(MATERIAL)
        one = [cup_sight(6000.0)]
        same = [cup_sight(6000.0) for _ in range(6)]
        lots = [replace(cup_sight(6000.0), lot=str(k)) for k in range(6)]
        i = NAMES.index("early")
        widths = [learn(prior, group_sights(s)).next_lot()[1][i, i] for s in (one, same, lots)]
        assert widths[0] > widths[1] > widths[2]

    def test_a_data_sheet_counts_beside_the_shop(self) -> None:
        prior = own_prior(MATERIAL)
        sheet = [SheetLine("cup_gel", 0.5 * expected(), 296.15, 0.3, spread=0.05)]
        alone = learn(prior, group_sights([cup_sight(expected())]))
        both = learn(prior, group_sights([cup_sight(expected())], sheet))
        i = NAMES.index("early")
        assert both.next_lot()[0][i] < alone.next_lot()[0][i]

    def test_a_users_own_product_keeps_its_own_ranges(self) -> None:
        own = replace(MATERIAL, origin="user")
        i = NAMES.index("early")
        assert own_prior(own).sd[i] < 0.5 * own_prior(MATERIAL).sd[i]


class TestProduct:
    def test_the_file_keeps_the_spread_of_the_posterior(self) -> None:
        sights = [
            cup_sight(1.3 * expected()),
            Sight("tack_free", 0.0, 24000.0, 30000.0, ROOM, film_m=0.001, lot="a"),
        ]
        post = learn(own_prior(MATERIAL), group_sights(sights))
        learned = learned_properties(post, MATERIAL)
        keys = {x.key for x in learned}
        assert "k2_25C_per_s" in keys and keys <= set(MATERIAL.properties)
        assert all(x.low <= x.value <= x.high for x in learned)
        table = product_table(MATERIAL, learned, {"evidence": "x"}, "a note")
        file = Resin.from_material(as_material(MATERIAL, table), Draws(3, 400))
        ask = [
            cup_sight(6000.0),
            Sight("tack_free", 0.0, 20000.0, 20000.0, ROOM, lot="a"),
            Sight("film_gel", 0.0, 20000.0, 20000.0, AirHistory.constant(291.15), lot="a"),
        ]
        said, real = show(file, ask), show(post.draws(Draws(3, 400)), ask)
        for k in range(3):
            a, b = (np.log(np.quantile(x[:, k], [0.05, 0.5, 0.95])) for x in (said, real))
            assert a[1] == pytest.approx(b[1], abs=0.06)
            # the correlation is in the file: cup and film alike keep their spread; 400 draws know
            # a width to 5 %, two of them differ
            assert 0.85 < (a[2] - a[0]) / (b[2] - b[0]) < 1.15


class TestRates:
    BEFORE = Spread(p05=5.0, p50=10.0, p95=20.0)

    @settings(deadline=None, max_examples=60)
    @given(st.floats(2.0, 60.0), st.integers(1, 12))
    def test_evidence_pulls_towards_itself_and_narrows(self, value: float, n: int) -> None:
        r = learn_rate("x", "x", "mL", self.BEFORE, [Seen(value, 0.1, "j")] * n)
        low, high = sorted((value, 10.0))
        assert low * 0.999 <= r.after.p50 <= high * 1.001
        more = learn_rate("x", "x", "mL", self.BEFORE, [Seen(value, 0.1, "j")] * (n + 1))
        assert abs(math.log(more.after.p50 / value)) <= abs(math.log(r.after.p50 / value)) + 1e-12
        assert more.mean_sd < r.mean_sd
        # the next job differs from the last ones, however many there were
        assert math.log(r.after.p95 / r.after.p05) >= 2 * 1.6448 * BETWEEN

    def test_without_evidence_nothing_changes(self) -> None:
        assert learn_rate("x", "x", "mL", self.BEFORE, []).after == self.BEFORE

    def test_values_that_cannot_be_are_refused(self) -> None:
        with pytest.raises(InputError):
            learn_rate("x", "x", "mL", self.BEFORE, [Seen(0.0, 0.1, "j")])

    def test_ranges_hold_at_their_rate(self) -> None:
        """400 shops with their own middle, 4 jobs each: the next job falls into 90 % ranges 90 %
        of the time; tolerance is three binomial standard deviations, 0.045."""
        rng = np.random.default_rng(12)
        wide = math.log(2.0) / 1.6448536
        hits = 0
        for _ in range(400):
            middle = math.log(10.0) + rng.normal() * math.sqrt(wide**2 - BETWEEN**2)
            jobs = [
                Seen(math.exp(middle + rng.normal() * math.hypot(BETWEEN, 0.1)), 0.1, "j")
                for _ in range(4)
            ]
            r = learn_rate("x", "x", "mL", self.BEFORE, jobs)
            hits += r.after.p05 <= math.exp(middle + rng.normal() * BETWEEN) <= r.after.p95
        assert abs(hits / 400 - 0.9) < 0.045


class TestCafeBar:
    def test_sights_come_from_the_record(self, cafe: DoneJob) -> None:
        found = sights_of(cafe)
        assert set(found) == {"resin-colour-1to1-uv", "resin-coating-1to1"}
        stages = {(r, s.stage) for r, group in found.items() for s in group}
        assert ("resin-coating-1to1", "film_gel") in stages
        cup = next(s for s in found["resin-colour-1to1-uv"] if s.stage == "cup_gel")
        assert cup.before_s == cup.after_s == pytest.approx(180 * 60.0)
        assert cup.mass_kg == pytest.approx(0.15) and "K-0412" in cup.lot
        film = next(s for s in found["resin-colour-1to1-uv"] if s.stage == "tack_free")
        assert 0 < film.before_s < film.after_s < math.inf

    def test_lessons_show_before_and_after_with_evidence(self, cafe: DoneJob) -> None:
        lessons = lessons_of([cafe])
        assert {r.resin for r in lessons.resins} == {
            "resin-colour-1to1-uv", "resin-coating-1to1"
        }  # fmt: skip
        for r in lessons.resins:
            assert r.jobs == 1 and r.looks >= 2 and r.lots == 1
            # that day's resin was made 28 % slower than the class when the day was invented
            cup = r.figures[0]
            assert cup.after.p50 > 1.15 * cup.before.p50
            width = [math.log(s.p95 / s.p05) for s in (cup.before, cup.after)]
            assert width[1] < 0.8 * width[0]
            rate = next(p for p in r.properties if p.key == "k2_25C_per_s")
            true = 0.72 * get(r.resin).prop("k2_25C_per_s").value
            assert rate.low < true < rate.high
        keys = {r.key for r in lessons.rates}
        assert {"loss.per_cup_mL", "loss.share_percent", "run_off.colour", "pace.mix"} <= keys
        assert all(r.seen for r in lessons.rates)

    def test_a_second_job_with_the_same_day_counts_twice_but_not_more(self, cafe: DoneJob) -> None:
        one, two = lessons_of([cafe]), lessons_of([cafe, cafe])
        a, b = one.rate("loss.per_cup_mL"), two.rate("loss.per_cup_mL")
        assert a is not None and b is not None
        assert len(b.seen) == 2 * len(a.seen) and b.mean_sd < a.mean_sd

    def test_eyes_are_stated(self) -> None:
        assert set(EYE) == {"cup_gel", "film_gel", "tack_free"}
