"""Properties drawn jointly: margins kept, correlation as stated, nonsense refused."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Draws
from pourwright.catalogue import Material, get
from pourwright.cure import Resin
from pourwright.cure.joint import JointDraws, joint_draws
from pourwright.errors import InputError

MATERIAL = get("resin-colour-1to1-uv", "resin")
DRAWS = Draws(3, 2000)


def told(joint: Any) -> Material:
    return replace(MATERIAL, facts={**MATERIAL.facts, "learned": {"joint": joint}})


@settings(deadline=None, max_examples=40)
@given(st.floats(-0.95, 0.95))
def test_the_stated_correlation_is_drawn_and_margins_stay(rho: float) -> None:
    joint = JointDraws(DRAWS, ["a", "b"], np.array([[1.0, rho], [rho, 1.0]]))
    a, b = joint.normal("a"), joint.normal("b")
    assert np.allclose(a, DRAWS.normal("a"), rtol=1e-12)  # the leading one stays as it is
    assert np.corrcoef(a, b)[0, 1] == pytest.approx(rho, abs=2e-3)
    assert np.quantile(b, [0.05, 0.5, 0.95]) == pytest.approx([-1.645, 0.0, 1.645], abs=0.12)
    assert np.array_equal(joint.normal("c"), DRAWS.normal("c"))


def test_a_resin_is_drawn_with_it() -> None:
    joint = {"keys": ["k2_25C_per_s", "activation_energy_J_mol"], "lower": [0.8]}
    r = Resin.from_material(told(joint), DRAWS)
    plain = Resin.from_material(MATERIAL, DRAWS)
    assert np.corrcoef(np.log(r.k2), r.e2)[0, 1] == pytest.approx(0.8, abs=0.01)
    assert abs(np.corrcoef(np.log(plain.k2), plain.e2)[0, 1]) < 0.1
    assert np.allclose(r.k2, plain.k2, rtol=1e-12) and np.array_equal(r.heat, plain.heat)
    assert np.array_equal(Resin.from_material(told(joint)).k2, Resin.from_material(MATERIAL).k2)


def test_without_it_the_draws_are_the_same_object() -> None:
    assert joint_draws(MATERIAL, DRAWS) is DRAWS


@pytest.mark.parametrize(
    "joint",
    [
        {"keys": ["a", "b"], "lower": [1.2]},
        {"keys": ["a", "b"], "lower": []},
        {"keys": ["a", "a"], "lower": [0.1]},
        {"keys": [], "lower": []},
        {"keys": ["a", "b", "c"], "lower": [0.99, 0.99, -0.99]},
        {"keys": ["a", "b"], "lower": [float("nan")]},
        {"lower": [0.1]},
        "text",
    ],
)
def test_numbers_that_are_no_correlation_are_refused(joint: Any) -> None:
    with pytest.raises(InputError, match="correlation"):
        joint_draws(told(joint), DRAWS)
