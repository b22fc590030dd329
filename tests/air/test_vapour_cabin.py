"""Vapour in a cabin: conservation, monotony, the torch sentence, bad input."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.air.cabin import (
    HAZARD,
    SHIFT,
    Solvent,
    cabin_air,
    settle_down,
    solvent_mass,
    torch_statement,
    vapour_checks,
)
from pourwright.air.limits import Limit, limit_of, listed_limits
from pourwright.air.vapour import (
    air_changes_for_peak,
    drying_concentration,
    drying_mean,
    drying_peak,
    fresh_air_needed,
    purge_time,
    released_at_once,
    source_concentration,
)
from pourwright.catalogue import get
from pourwright.errors import InputError

LIMITS = listed_limits()
BUTYL = LIMITS["butyl-acetate"]


def _one(kg: float = 0.1) -> list[Solvent]:
    return [Solvent(BUTYL, kg)]


@given(
    mass=st.floats(1e-3, 1.0),
    k=st.floats(0.2, 20.0),
    n=st.floats(0.05, 60.0),
    v=st.floats(2.0, 100.0),
)
@settings(deadline=None, max_examples=80)
def test_all_solvent_leaves_in_the_end(mass: float, k: float, n: float, v: float) -> None:
    # what is carried out over a very long time is what was in the coat
    span = 60.0 / min(k, n)
    carried = n * v * span * float(drying_mean(span, mass, k, n, v))
    assert carried == pytest.approx(mass, rel=1e-6)
    peak, when = drying_peak(mass, k, n, v)
    assert 0 < float(peak) < float(released_at_once(mass, v))
    for f in (0.8, 1.2):
        assert float(drying_concentration(f * when, mass, k, n, v)) <= float(peak) * (1 + 1e-12)


def test_more_air_is_never_worse() -> None:
    values = [
        cabin_air(_one(), 12.0, n / 3600, 3 / 3600, 4.0, 7200.0) for n in (0, 0.5, 2, 6, 20, 60)
    ]
    for field in ("peak_fire", "shift_health", "short_health", "purge"):
        row = [float(getattr(v, field)[0]) for v in values]
        assert all(a >= b - 1e-12 for a, b in pairwise(row)), field


def test_nothing_exceeds_all_at_once() -> None:
    air = cabin_air(_one(), 12.0, 1 / 3600, np.array([1, 30]) / 3600, np.array([10.0, 10.0]))
    assert np.all(air.peak_fire <= air.bound_fire + 1e-12)
    assert np.all(air.shift_health <= air.bound_health + 1e-12)


def test_air_changes_needed_really_suffice() -> None:
    air = cabin_air(_one(), 12.0, 2 / 3600, 3 / 3600, 4.0, 7200.0)
    n = air.air_changes_needed
    good = cabin_air(_one(), 12.0, n, 3 / 3600, 4.0, 7200.0)
    assert float(good.peak_fire[0]) <= HAZARD + 1e-9
    assert float(good.shift_health[0]) <= 1.0 + 1e-9
    assert float(good.short_health[0]) <= 1.0 + 1e-6
    poor = cabin_air(_one(), 12.0, 0.9 * n, 3 / 3600, 4.0, 7200.0)
    assert max(float(poor.peak_fire[0]) / HAZARD, float(poor.shift_health[0]),
               float(poor.short_health[0])) > 1.0  # fmt: skip


def test_a_trace_needs_no_fan() -> None:
    air = cabin_air(_one(1e-6), 12.0, 2 / 3600, 3 / 3600, 4.0)
    assert air.air_changes_needed == 0.0
    assert all(c.passed == "yes" for c in vapour_checks(air, "test"))


def test_solvents_add_up() -> None:
    alone = cabin_air(_one(0.05), 12.0, 4 / 3600, 3 / 3600, 3.0)
    mix = cabin_air([*_one(0.05), Solvent(LIMITS["xylene"], 0.02)], 12.0, 4 / 3600, 3 / 3600, 3.0)
    assert mix.mass == pytest.approx(0.07)
    only = cabin_air([Solvent(LIMITS["xylene"], 0.02)], 12.0, 4 / 3600, 3 / 3600, 3.0)
    assert float(mix.shift_health[0]) == pytest.approx(
        float(alone.shift_health[0] + only.shift_health[0]), rel=1e-9
    )


def test_purge_is_when_the_target_is_met() -> None:
    air = cabin_air(_one(), 12.0, 6 / 3600, 3 / 3600, 4.0)
    fire, health = 0.1 / BUTYL.lfl, 0.1 / BUTYL.twa  # type: ignore[operator]
    t = float(air.purge[0])
    share = float(drying_concentration(t, 1.0, 3 / 3600, 6 / 3600, 12.0)) * 4.0
    assert max(share * fire / 0.01, share * health) == pytest.approx(1.0, rel=1e-6)


def test_air_changes_for_peak_hits_the_limit() -> None:
    n = air_changes_for_peak(0.1, 3 / 3600, 12.0, 1e-3)
    assert float(drying_peak(0.1, 3 / 3600, n, 12.0)[0]) == pytest.approx(1e-3, rel=1e-6)
    assert air_changes_for_peak(0.001, 3 / 3600, 12.0, 1e-3) == 0.0
    assert air_changes_for_peak(100.0, 3 / 3600, 12.0, 1e-5) == np.inf


def test_fresh_air_for_a_steady_source_balances() -> None:
    q = float(fresh_air_needed(1e-6, 1e-4, 3.0))
    assert float(source_concentration(1e7, 1e-6, q / 3.0, 12.0)) == pytest.approx(1e-4)


def test_own_limit_replaces_the_listed_one() -> None:
    own = BUTYL.edited(twa=1e-4, agency="site rule")
    assert own.twa == 1e-4 and own.agency == "site rule" and own.lfl == BUTYL.lfl


def test_every_limit_has_agency_year_and_source() -> None:
    for limit in LIMITS.values():
        assert limit.agency != "not stated", limit.id
        assert 1980 <= limit.year <= 2030, limit.id
        assert limit.source and limit.caution, limit.id
        assert limit.twa is not None and limit.twa > 0, limit.id
        if limit.lfl is not None:
            assert limit.twa < 0.1 * limit.lfl  # health comes long before fire


def test_torch_sentence() -> None:
    assert "gas tester" in torch_statement(True, 7200.0)
    assert "2.0 h" in torch_statement(True, 7200.0)
    assert "Solvent is used" not in torch_statement(False)
    assert "nan" not in torch_statement(True, float("inf"))


@pytest.mark.parametrize(
    "call",
    [
        lambda: cabin_air([], 12.0, 1e-3, 1e-3, 3.0),
        lambda: cabin_air(_one(), 0.0, 1e-3, 1e-3, 3.0),
        lambda: cabin_air(_one(), 12.0, -1.0, 1e-3, 3.0),
        lambda: cabin_air(_one(), 12.0, float("nan"), 1e-3, 3.0),
        lambda: cabin_air(_one(), 12.0, 1e-3, 0.0, 3.0),
        lambda: cabin_air(_one(), 12.0, 1e-3, 1e-3, 0.5),
        lambda: cabin_air(_one(-1.0), 12.0, 1e-3, 1e-3, 3.0),
        lambda: cabin_air(_one(), 12.0, 1e-3, 1e-3, 3.0, 2 * SHIFT),
        lambda: solvent_mass(-1.0, 400.0),
        lambda: solvent_mass(1e-3, 400.0, 2.0),
        lambda: purge_time(1.0, 0.0, 1e-3),
        lambda: settle_down(1.0, 0.1, 1e-3, 0.0),
        lambda: limit_of(get("mdf")),
    ],
)
def test_bad_input(call) -> None:
    with pytest.raises(InputError) as err:
        call()
    assert err.value.remedy


def test_limit_is_frozen_data() -> None:
    assert isinstance(BUTYL, Limit)
    with pytest.raises(AttributeError):
        BUTYL.twa = 1.0  # type: ignore[misc]
