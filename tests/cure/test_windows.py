"""Windows, matching the board, off-ratio mixes, live correction."""

from __future__ import annotations

import numpy as np
import pytest
from cure_helpers import resin, varied
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc.sampling import Draws
from pourwright.cure import (
    AirHistory,
    Limits,
    Thread,
    Window,
    cup_history,
    film_history,
    pour_within,
    window_notes,
    windows,
)
from pourwright.cure.board import Pour, follow_pour, match_board, right_air
from pourwright.cure.crossing import at_time
from pourwright.cure.limits import bulk_drift
from pourwright.cure.live import Reading, correct
from pourwright.cure.milestones import settled, tg_passes
from pourwright.cure.ratio import (
    Measuring,
    balance_samples,
    cup_release,
    off_ratio,
    soft_spot_chance,
)
from pourwright.errors import InputError

ROOM = AirHistory.constant(293.15)
DAY = 86400.0


def test_windows_come_in_order_and_say_their_criteria() -> None:
    r = varied(30)
    film = film_history(r, ROOM, 600.0, 0.001)
    cup = cup_history(r, ROOM, 0.0, 0.5)
    found = windows(film, cup=cup, pour=pour_within(r, ROOM, 0.0, 0.5, history=cup))
    assert list(found) == [
        "pour", "level", "spread", "vein-12mm", "vein-4mm", "edges", "hands_off", "recoat",
        "sand_first", "handle", "light_use", "full_service",
    ]  # fmt: skip
    for w in found.values():
        assert not np.any(np.isnan(w.start_s)) and not np.any(np.isnan(w.end_s))
        assert w.start_text and (w.end_text or w.open_ended)
    assert np.all(found["level"].end_s >= found["spread"].end_s)
    assert np.all(found["vein-4mm"].start_s >= found["vein-12mm"].start_s)
    assert np.all(found["hands_off"].end_s >= film.gel_time)
    assert np.all(found["recoat"].end_s >= found["recoat"].start_s)
    assert np.all(found["sand_first"].start_s >= found["recoat"].end_s)
    assert np.all(found["light_use"].start_s >= found["handle"].start_s)
    assert np.all(found["full_service"].start_s >= found["light_use"].start_s)
    assert not window_notes(found)


def test_marks_level_until_just_enough_flow_is_left() -> None:
    from pourwright.film.laws import level_left

    film = film_history(resin(), ROOM, 0.0, 0.001)
    w = windows(film, limits=Limits(mark_m=0.03, kept=0.1))["level"]
    left = film.flow_left_at(float(w.end_s[0]))
    fluid_left = level_left(0.001, 0.03, float(left[0]))
    # 0.5 %: linear interpolation between minutes, and the resin's own density in `windows`
    assert fluid_left == pytest.approx(0.1, rel=0.05)


def test_warmer_rooms_bring_everything_sooner() -> None:
    r = varied(15)
    cold, warm = (
        windows(film_history(r, AirHistory.constant(t), 0.0, 0.001)) for t in (288.15, 298.15)
    )
    for key in ("level", "spread", "hands_off"):
        assert np.all(warm[key].end_s < cold[key].end_s)
    for key in ("recoat", "handle", "light_use", "vein-4mm"):
        assert np.all(warm[key].start_s < cold[key].start_s)


def test_wait_for_fine_veins_is_about_a_quarter_hour_in_a_mild_shop() -> None:
    """Common practice: about 15 min before fine veins in a mild shop, less in a warm room.

    `Limits.settle_m` is set by the first half of that sentence; the second half is a prediction.
    """
    from pourwright.catalogue import Catalogue
    from pourwright.cure import Resin

    r = Resin.from_material(Catalogue().get("resin-coating-1to1"), Draws(1, 200))
    starts = {}
    for temp in (296.15, 303.15):
        film = film_history(r, AirHistory.constant(temp), 0.0, 0.001, None, DAY)
        spread = windows(film)["vein-4mm"].start()
        assert spread is not None
        starts[temp] = spread
    assert starts[296.15].p05 < 15 * 60 * 1.4 and starts[296.15].p95 > 15 * 60
    assert starts[303.15].p50 < starts[296.15].p50


def test_not_reached_is_said_and_never_a_number() -> None:
    film = film_history(resin("C-CAST"), AirHistory.constant(281.15), 0.0, 0.001, None, 0.5 * DAY)
    found = windows(film)
    assert found["recoat"].start() is None and found["full_service"].reached == 0.0
    assert any("not reached" in n for n in window_notes(found))
    assert found["recoat"].safe() is None


def test_thick_film_gives_wide_veins_less_spread() -> None:
    thread = Thread(0.003, 3e-6, 0.005)
    r = resin()
    thin = windows(film_history(r, ROOM, 0.0, 0.0008), veins=[thread])["vein-5mm"]
    thick = windows(film_history(r, ROOM, 0.0, 0.003), veins=[thread])["vein-5mm"]
    assert thick.start_s[0] < thin.start_s[0]


def test_bulk_drift_is_the_integral_of_the_skin_velocity() -> None:
    """1.5 u/q for a wave of relative height u: integrate surface speed 1.5 Q/h over levelling."""
    lim = Limits(settle_m=0.3, uneven=0.1)
    h, q, k = 1e-3, 2 * np.pi / 0.3, 2.0
    tau = np.linspace(0.0, 20.0 / k, 20001)
    flux = k * lim.uneven * h / q * np.exp(-k * tau)  # continuity: d(amplitude)/dtau = -q Q
    assert np.trapezoid(1.5 * flux / h, tau) == pytest.approx(bulk_drift(lim, 0.0), rel=1e-6)


def test_tg_milestones() -> None:
    film = film_history(varied(10), ROOM, 0.0, 0.001)
    glass = tg_passes(film, 0.0)
    assert np.all(np.isfinite(glass))
    for i in (0, 4, 9):
        tg = at_time(film.times_s, film.tg[i : i + 1], glass[i])[0]
        assert tg == pytest.approx(293.15, abs=0.2)
    done = settled(film, 0.5)
    assert np.all(done > glass)
    later = at_time(film.times_s, film.tg, done + DAY) - at_time(film.times_s, film.tg, done)
    assert np.all(later < 0.55)
    day = film_history(varied(10), AirHistory.day_and_night(286.15, 296.15), 0.0, 0.001)
    assert np.all(tg_passes(day, 0.0) > glass)  # colder on average, and the warmest hour counts


def test_matching_a_board_with_itself_changes_nothing() -> None:
    r = varied(20)
    pour = Pour(ROOM, 0.001, 0.0, 240.0, 0.2)
    same = match_board(r, pour, 900.0, pour)
    assert np.allclose(same.wait_s, 900.0, atol=1.0)
    assert np.allclose(same.wait_used_s, 900.0, atol=1.0)
    assert same.too_late == 0.0


def test_equal_flow_left_is_equal() -> None:
    r = varied(20, seed=2)
    board = Pour(AirHistory.constant(291.15), 0.001, 0.0, 180.0, 0.1)
    site = Pour(AirHistory.day_and_night(296.15, 304.15), 0.001, 36000.0, 240.0, 0.3)
    match = match_board(r, board, 1800.0, site)
    _, film = follow_pour(r, site, DAY)
    left = at_time(film.times_s, film.flow_left, site.poured_s + match.wait_s)
    on_time = match.wait_s > 0
    assert on_time.any()
    assert np.allclose(left[on_time], match.flow_left[on_time], rtol=2e-3)
    assert np.all(match.wait_used_s < 1800.0)  # warm: it settles sooner


def test_right_air_by_flow_used_is_the_boards_air() -> None:
    r = varied(12)
    board = Pour(AirHistory.constant(291.15), 0.001, 0.0, 120.0, 0.1)
    found = right_air(r, board, 900.0, board, 900.0)
    # 0.5 K: straight lines between temperatures 2.5 K apart
    assert np.allclose(found.used_K, 291.15, atol=0.5)


def test_a_gelled_board_is_refused() -> None:
    pour = Pour(ROOM, 0.001)
    with pytest.raises(InputError) as err:
        match_board(varied(5), pour, 2 * DAY, pour)
    assert err.value.field == "board_wait_s"
    with pytest.raises(InputError):
        Pour(ROOM, 0.001, 0.0, -5.0)
    with pytest.raises(InputError):
        match_board(varied(5), pour, -1.0, pour)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.5, 2.0))
def test_off_ratio_costs_and_the_exact_ratio_does_not(b: float) -> None:
    cost = off_ratio(resin(), b)
    best = off_ratio(resin(), 1.0)
    assert cost.junctions <= best.junctions + 1e-12 and best.junctions == pytest.approx(1.0)
    assert cost.tg_K <= best.tg_K + 1e-9 and cost.sol >= -1e-12


def test_resin_rich_leaves_more_sol_than_hardener_rich() -> None:
    assert off_ratio(resin(), 0.8).sol > 10 * off_ratio(resin(), 1.2).sol


def test_measuring_errors_spread_the_balance() -> None:
    draws = Draws(5, 400)
    fine = balance_samples(Measuring(0.3, 0.3, 0.001), draws)
    rough = balance_samples(Measuring(0.3, 0.3, 0.05), draws)
    small = balance_samples(Measuring(0.03, 0.03, 0.01), draws)
    stuck = balance_samples(Measuring(0.3, 0.3, 0.001, stuck_b=0.03), draws)
    assert np.std(fine) < np.std(rough) < np.std(small)
    assert np.median(stuck) == pytest.approx(0.9, abs=0.02)
    assert soft_spot_chance(fine) == 0.0 and soft_spot_chance(small) > 0.3


def test_cup_release_check_moves_the_chance_the_right_way() -> None:
    r = varied(300)
    b = balance_samples(Measuring(0.1, 0.1, 0.02), Draws(2, 300))
    clean = cup_release(r, b, ROOM, 0.0, 2 * DAY, "clean")
    tacky = cup_release(r, b, ROOM, 0.0, 2 * DAY, "tacky")
    assert clean.soft_after < clean.soft_before < tacky.soft_after
    assert clean.expected_hard > 0.9
    early = cup_release(r, b, ROOM, 0.0, 3600.0, "tacky")
    assert "Too early" in early.meaning
    assert "not mixed through" in cup_release(r, b, ROOM, 0.0, DAY, "streaks").meaning


def test_live_correction_follows_the_thermometer_and_the_stick() -> None:
    r = varied(200)
    plain = correct(r, ROOM, 0.0, 0.001)
    warm = correct(r, ROOM, 0.0, 0.001, temps_s=[0.0, 3600.0], temps_K=[300.15, 300.15])
    assert np.median(warm.film.gel_time) < np.median(plain.film.gel_time)
    thick = correct(r, ROOM, 0.0, 0.001, readings=[Reading(5400.0, "stick", "rope")])
    assert np.median(thick.film.gel_time) < np.median(plain.film.gel_time)
    wet = correct(r, ROOM, 0.0, 0.001, readings=[Reading(7 * 3600.0, "gelled", False)])
    assert np.median(wet.film.gel_time) > np.median(plain.film.gel_time)
    assert np.std(np.log(wet.film.gel_time)) < np.std(np.log(plain.film.gel_time))


def test_live_correction_finds_the_resin_that_was_there() -> None:
    """Readings made from one sample's own history pull the rest of the day towards it."""
    r = varied(400, seed=11)
    truth = r.take([int(np.argsort(r.k2 * np.exp(-r.e2 / 8.314 / 293.15))[40])])
    film = film_history(truth, ROOM, 0.0, 0.001)
    looks = [
        Reading(t, "viscosity", float(at_time(film.times_s, film.viscosity, t)[0]), 0.1)
        for t in (1800.0, 5400.0, 9000.0)
    ]
    before = film_history(r, ROOM, 0.0, 0.001).gel_time
    after = correct(r, ROOM, 0.0, 0.001, readings=looks).film.gel_time
    goal = np.log(film.gel_time[0])
    assert abs(np.median(np.log(after)) - goal) < 0.5 * abs(np.median(np.log(before)) - goal)
    assert np.std(np.log(after)) < np.std(np.log(before))


def test_surprising_readings_are_used_with_less_weight_and_said() -> None:
    odd = correct(varied(100), ROOM, 0.0, 0.001, readings=[Reading(600.0, "gelled", True)])
    assert any("Check ratio" in w for w in odd.warnings)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: Limits(mark_m=0.0), "limits.mark_m"),
        (lambda: Limits(kept=1.5), "limits.kept"),
        (lambda: windows(film_history(resin(), ROOM, 0.0, 0.001),
                         veins=[Thread(0.01, 1e-6, 0.004)]), "veins.target"),
        (lambda: windows(film_history(resin(), ROOM, 0.0, 0.001),
                         veins=[Thread(0.0, 1e-6, 0.004)]), "veins.width"),
        (lambda: Measuring(0.0, 0.3, 0.01), "measuring.amount_a"),
        (lambda: Measuring(0.3, 0.3, -0.01), "measuring.step"),
        (lambda: Measuring(0.3, 0.3, 0.01, stuck_b=0.3), "measuring.stuck_b"),
        (lambda: off_ratio(resin(), 0.0), "balance"),
        (lambda: cup_release(resin(), np.ones(1), ROOM, 10.0, 5.0, "clean"), "seen_s"),
        (lambda: cup_release(resin(), np.ones(1), ROOM, 0.0, 5.0, "odd"), "seen"),  # type: ignore[arg-type]
        (lambda: Reading(0.0, "stick", "glue"), "reading.value"),
        (lambda: Reading(0.0, "viscosity", -1.0), "reading.value"),
        (lambda: Reading(0.0, "gelled", "yes"), "reading.value"),
        (lambda: correct(resin(), ROOM, 0.0, 0.001, temps_s=[0.0], temps_K=[]), "temps_K"),
        (lambda: correct(resin(), ROOM, 9.0, 0.001, readings=[Reading(0.0, "gelled", True)]),
         "reading.time_s"),
    ],
)  # fmt: skip
def test_impossible_input_is_refused_by_name(call: object, field: str) -> None:
    with pytest.raises(InputError) as err:
        call()  # type: ignore[operator]
    assert err.value.field == field and err.value.remedy


def test_looks_at_a_film_that_never_gels_in_time_are_finite() -> None:
    cold = AirHistory.constant(265.15)
    looks = [Reading(20000.0, "gelled", False), Reading(30000.0, "stick", "runs")]
    done = correct(resin("C-CAST"), cold, 0.0, 0.001, readings=looks, duration_s=DAY)
    assert np.isfinite(done.agree) and np.all(np.isinf(done.film.gel_time))


def test_a_hardness_reading_tells_glass_from_rubber() -> None:
    """Own scale: half way between rubber and glass where Tg meets the film's temperature; a hard
    reading keeps the fast samples, a soft one the slow ones."""
    from pourwright.cure.live import shore_d

    assert shore_d(0.0) == pytest.approx(51.0)
    assert shore_d(-60.0) < 21 and shore_d(60.0) > 81
    r = varied(200)
    plain = correct(r, ROOM, 0.0, 0.001, duration_s=2 * DAY)
    hard, soft = (
        correct(r, ROOM, 0.0, 0.001, readings=[Reading(10 * 3600.0, "shore_d", d)], duration_s=DAY)
        for d in (80.0, 25.0)
    )
    gel = [np.median(x.film.gel_time) for x in (hard, plain, soft)]
    assert gel[0] < gel[1] < gel[2]
    with pytest.raises(InputError, match="Shore D"):
        Reading(0.0, "shore_d", 130.0)


def test_veins_that_cannot_lie_still_are_said_in_the_words_of_the_trade() -> None:
    never = np.full(5, np.inf)
    w = Window("vein-6mm", "veins end 6 mm", never, never, "at rest", "proud")
    (note,) = window_notes({w.key: w})
    assert note.startswith("Veins 6 mm wide: ") and "dragged along" in note
    assert Window("x", "x", never, never, "tack-free", "", True).criterion == "from tack-free on"
