"""Surfaces of one colour: they have it, they differ, and a recipe is held against them."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import run
from pourwright.colour.bands import read_table
from pourwright.colour.colorimetry import to_lab
from pourwright.colour.matching import match
from pourwright.colour.metamers import LEAST, metamerism_spread, metamers
from pourwright.colour.spectrum import metamerism

ROOT = Path(__file__).parents[2]
DERIVE = ROOT / "docs" / "derive" / "colour_surfaces.py"
DATA = ROOT.parent / "shared" / "data" / "paint-drawdowns-reflectance.tsv"


@given(st.floats(15, 80), st.floats(-25, 25), st.floats(-25, 25), st.sampled_from(["2", "10"]))
@settings(max_examples=25, deadline=None)
def test_all_have_the_colour_and_none_leaves_its_bounds(L, a, b, observer) -> None:
    held = metamers([L, a, b], observer=observer)
    assert len(held) >= LEAST
    assert held.min() >= 0.0 and held.max() <= 1.0
    # X, Y and Z are met to 1e-5: below 0.01 in Lab even for the darkest asked for here
    np.testing.assert_allclose(to_lab(held, "D65", observer), np.tile([L, a, b], (len(held), 1)),
                               atol=0.02)  # fmt: skip
    assert held.std(axis=0).max() > 0.005  # alike in colour, not alike


def test_same_seed_same_surfaces() -> None:
    one, two = metamers([50, 10, 10]), metamers([50, 10, 10])
    assert np.array_equal(one, two)
    assert not np.array_equal(one, metamers([50, 10, 10], seed=8))


def test_a_surface_of_the_set_lies_in_its_own_spread() -> None:
    held = metamers([55, -12, 20])
    found = [metamerism(q, held[3], "D65", "A") for q in held[10:40]]
    low, mid, high = metamerism_spread([55, -12, 20], held[3])["A"]
    assert 0 <= low < mid < high
    assert low - 0.2 <= np.median(found) <= high


@pytest.mark.parametrize("lab", [[30, 150, -150], [90, -140, 140]])
def test_a_colour_that_no_surface_has_gets_none(lab) -> None:
    assert len(metamers(lab)) < LEAST
    assert metamerism_spread(lab, np.full(31, 0.3)) == {}
    m = match(lab, ["white-rutile", "ultramarine"])
    assert m.metamerism == {} and m.metamerism_range == {} and not m.reached


def test_a_match_of_a_lab_says_how_far_lamps_may_part_it() -> None:
    m = match([62, -18, 8], film=1.5e-3)
    assert set(m.metamerism) == set(m.metamerism_range) == {"A", "LED-B3"}
    for light, (low, mid, high) in m.metamerism_range.items():
        assert 0 < low < mid < high and m.metamerism[light] == mid
    told = run("colour.match", {"target_lab": [62, -18, 8]})
    value = told.model_dump()
    assert value["range"]["metamerism_lamp"]["p50"] == value["value"]["metamerism_lamp"]
    assert "under a warm lamp" in str(value["value"]["metamerism_note"])


def test_a_spectrum_needs_no_guess() -> None:
    told = run("colour.match", {"target_reflectance": [0.3] * 31}).model_dump()
    assert "metamerism_lamp" not in told["range"] and told["value"]["metamerism_lamp"] >= 0
    assert "measured spectrum" in str(told["value"]["metamerism_note"])


@pytest.mark.skipif(not DATA.exists(), reason="the open drawdowns are not at hand")
def test_the_table_is_what_the_script_derives() -> None:
    spec = importlib.util.spec_from_file_location("colour_surfaces", DERIVE)
    assert spec is not None and spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    table = read_table("surfaces")
    kept = np.column_stack([table["mean"], *[table[f"part{i + 1}"] for i in range(script.PARTS)]])
    made = script.table()
    np.testing.assert_allclose(kept[:, 0], made[:, 0], atol=1e-5)
    # parts are fixed up to their sign, and the table holds five digits
    np.testing.assert_allclose(kept[:, 1:] @ kept[:, 1:].T, made[:, 1:] @ made[:, 1:].T, atol=2e-4)
