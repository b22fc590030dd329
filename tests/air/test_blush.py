"""Blush score: pinned at the two measured humidities, ranked between them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.air.blush import blush_band, blush_risk
from pourwright.air.checks import blush_check
from pourwright.errors import InputError


def test_pins_of_the_published_measurements() -> None:
    # Bannister et al. 2022: nothing measurable at 40 %, clear carbamation at 80 %
    for humidity, expected in ((0.2, 0.0), (0.4, 0.0), (0.8, 1.0), (0.95, 1.0)):
        assert [float(x) for x in blush_band(humidity)] == [expected] * 3


@given(a=st.floats(0.05, 1.0), b=st.floats(0.05, 1.0), t=st.floats(278, 305))
@settings(deadline=None, max_examples=80)
def test_damper_air_never_scores_lower_and_the_band_holds_the_score(
    a: float, b: float, t: float
) -> None:
    dry, damp = blush_risk(min(a, b), t), blush_risk(max(a, b), t)
    assert dry.score <= damp.score + 1e-12
    for r in (dry, damp):
        assert 0.0 <= r.low <= r.score <= r.high <= 1.0


def test_directions_of_the_adjustments() -> None:
    base = blush_risk(0.6, 293.15)
    assert blush_risk(0.6, 283.15).score > base.score
    assert blush_risk(0.6, 293.15, unflued_heater=True).score > base.score
    assert blush_risk(0.6, 293.15, ratio_error=0.1).score > base.score
    assert blush_risk(0.6, 293.15, induction=1200.0).score < base.score
    # nothing lifts the score off the dry pin, and nothing leaves the band
    dry = blush_risk(0.35, 280.0, unflued_heater=True, ratio_error=0.1)
    assert dry.score == 0.0
    worst = blush_risk(0.6, 280.0, unflued_heater=True, ratio_error=0.1)
    assert worst.score == pytest.approx(float(blush_band(0.6)[2]))


def test_history_is_weighed_by_time() -> None:
    short = blush_risk([0.5, 0.5, 0.9], [293] * 3, [0.0, 3600.0 * 9, 3600.0 * 10])
    long = blush_risk([0.5, 0.9, 0.9], [293] * 3, [0.0, 3600.0, 3600.0 * 10])
    assert long.score > short.score
    assert short.high >= float(blush_band(0.9)[1])


@pytest.mark.parametrize("humidity", [0.0, -0.1, float("nan")])
def test_bad_humidity(humidity: float) -> None:
    with pytest.raises(InputError):
        blush_risk(humidity, 293.15)


def test_wrong_time_length() -> None:
    with pytest.raises(InputError):
        blush_risk([0.5, 0.6], [293, 293], [0.0])


def test_check_is_unsure_when_the_band_straddles_the_limit() -> None:
    assert blush_check(blush_risk(0.45, 293.15)).passed == "yes"
    assert blush_check(blush_risk(0.66, 293.15)).passed == "unsure"
    assert blush_check(blush_risk(0.85, 293.15)).passed == "no"
    assert np.isfinite(blush_check(blush_risk(0.6, 293.15)).margin)
