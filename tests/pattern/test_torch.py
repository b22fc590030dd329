"""A torch pass: heat where the flame goes, the flow it adds there, the bubbles that rise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.pattern import FlowClock, escaping_bubble, pour, read_score, rectangle
from pourwright.pattern.domain import make_domain
from pourwright.pattern.play import _place
from pourwright.pattern.torch import GAIN, mobility, warmth


@settings(deadline=None, max_examples=60)
@given(st.floats(0.1, 200), st.floats(0, 500))
def test_every_place_gets_its_own_flow_and_the_heat_it_saw(extra: float, own: float) -> None:
    heat = np.array([0.0, 0.3, 1.0])
    amount, ease = mobility(heat, extra, own)
    rest = max(own - amount, 0.0)
    flow = amount * ease + rest
    assert flow == pytest.approx(own + extra * heat, rel=1e-9, abs=1e-4)
    assert amount == pytest.approx(extra / (GAIN - 1))


@pytest.mark.parametrize("cover", [0.2, 0.6, 1.0])
def test_the_flame_covers_what_it_should(data: dict, cover: float) -> None:
    move = {"do": "torch", "flame_mm": 40, "cover": cover}
    score = read_score({**data, "moves": [*data["moves"], move]})
    domain = make_domain(rectangle(0.4, 0.3), 0.004)
    torch = score.moves[-1]
    heat = warmth(torch, score, 5, domain, _place(domain), 1.0, 3)  # type: ignore[arg-type]
    assert heat.min() >= 0 and heat.max() <= 1
    assert not heat[~domain.wet].any()
    part = float((heat[domain.wet] >= math.exp(-1)).mean())
    # whole sweeps are made, each about 0.45 m x 40 mm of 0.12 m2: at most 0.25 too much
    assert cover - 1e-9 <= part <= min(1.0, cover + 0.25)


def torched(data: dict, cover: float | None):
    moves = [m for m in data["moves"] if m["do"] in ("coat", "ribbons")]
    moves[1] = {**moves[1], "at_min": 40}
    if cover is not None:
        moves.append(
            {"do": "torch", "at_min": 41, "extra_flow": 150, "flame_mm": 40, "cover": cover}
        )
    clock = FlowClock.from_arrays([0, 40, 41, 45], [500.0, 12.0, 11.0, 0.0])
    return pour(read_score({**data, "moves": moves}), rectangle(0.3, 0.2), 0.003, clock, cell=0.004)


def test_warm_film_levels_further_and_keeps_every_volume(data: dict) -> None:
    cool, warm = torched(data, None), torched(data, 0.9)
    wet = cool.domain.wet
    assert warm.h[wet].std() < 0.9 * cool.h[wet].std()
    assert max(abs(v) for v in warm.balance().values()) < 1e-9
    assert any("torched at 41 min" in a for a in warm.assumed)


def test_a_torch_is_local(data: dict) -> None:
    """The film changes most on the flame's track; what it sends out reaches further, but less."""
    cool, warm = torched(data, None), torched(data, 0.05)
    moves = [m for m in data["moves"] if m["do"] in ("coat", "ribbons")]
    move = {"do": "torch", "flame_mm": 40, "cover": 0.05}
    score = read_score({**data, "moves": [*moves, move]})
    d = cool.domain
    heat = warmth(score.moves[-1], score, 2, d, _place(d), 1.0, 4)  # type: ignore[arg-type]
    change = np.abs(warm.h - cool.h)
    near = float(change[d.wet & (heat > 0.5)].mean())
    far = float(change[d.wet & (heat < 1e-9)].mean())
    assert near > 3 * far


def test_bubbles_by_stokes() -> None:
    """A bubble that just escapes rises the film's thickness: d^2 rho g L/18 = h (Stokes 1851)."""
    d = escaping_bubble(0.003, 400.0)
    assert d**2 * 1100 * 9.81 * 400.0 / 18 == pytest.approx(0.003, rel=1e-12)
    assert escaping_bubble(0.003, 100.0) == pytest.approx(2 * d)
    with pytest.raises(InputError, match="flow"):
        escaping_bubble(0.003, 0.0)
