"""Scores: reading, writing, and what is refused, by name."""

from __future__ import annotations

import copy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.pattern import FlowClock, pour, read_score, rectangle, schedule, write_score


def refused(change, data, **kw):
    """The error of a score whose plain data was changed."""
    d = copy.deepcopy(data)
    change(d)
    with pytest.raises(InputError) as err:
        score = read_score(d)
        if kw:
            pour(score, **kw)
    return err.value


def test_toml_round_trip(data):
    score = read_score(data)
    assert read_score(write_score(score)) == score


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.floats(0.01, 0.3), min_size=2, max_size=3),
    st.floats(0.05, 0.99),
    st.floats(1.05, 3.0),
)
def test_uses_within_cups_pass_and_beyond_are_refused(shares, within, beyond):
    names = ["a", "b", "c"][: len(shares)]
    base = {"name": "x", "cups": dict(zip(names, shares))}
    for factor, good in ((within, True), (beyond, False)):
        uses = {n: min(v * factor, 1.0) for n, v in zip(names, shares)}
        data = {**base, "moves": [{"do": "coat", "uses": uses}]}
        if good:
            assert read_score(data).cups == base["cups"]
        else:
            with pytest.raises(InputError, match="more than the mixed share"):
                read_score(data)


def test_more_resin_than_mixed_is_refused_by_name(data):
    def change(d):
        d["moves"][1]["uses"]["green"] = 0.4

    err = refused(change, data)
    assert err.field == "score.moves[1].uses.green"
    assert "0.5" in err.limit


def test_cups_add_up_to_one(data):
    err = refused(lambda d: d["cups"].update(green=0.9), data)
    assert err.field == "score.cups"


def test_unknown_shade_is_refused_by_name(data):
    err = refused(lambda d: d["moves"][4].update(uses={"gold": 0.01}), data)
    assert err.field == "score.moves[4].uses.gold"
    assert "copper" in err.limit


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda d: d["moves"][1].update(width_mm=-3), "width_mm"),
        (lambda d: d["moves"][1].update(width_mm=float("nan")), "width_mm"),
        (lambda d: d["moves"][2].update(grip=1.0), "grip"),
        (lambda d: d["moves"][2].update(colour="x"), "colour"),
        (lambda d: d["moves"][4].update(at_flow_left=100.0), "at_flow_left"),
        (lambda d: d.update(moves=[]), "moves"),
        (lambda d: d.update(moves=[{"do": "rest"}]), "moves"),
        (lambda d: d["moves"][0].update(do="sing"), "moves"),
        (lambda d: d.pop("name"), "name"),
    ],
)
def test_bad_fields_are_named(data, change, field):
    assert field in refused(change, data).field


@pytest.mark.parametrize("text", ["a = [1\n", "x\ny\n", "name = 'a'\nname = 'b'\n"])
def test_not_toml(text):
    with pytest.raises(InputError, match="TOML"):
        read_score(text)


def test_missing_file(tmp_path):
    with pytest.raises(InputError, match="readable"):
        read_score(tmp_path / "none.toml")


def test_moves_after_gel_are_refused(data):
    def change(d):
        d["moves"][4]["at_min"] = 130.0

    err = refused(change, data, surface=rectangle(0.3, 0.2), film=0.003)
    assert err.field == "score.moves[4].at_min"
    assert "gels at 120.0 min" in err.limit


def test_move_order_and_flow_left(data):
    clock = FlowClock.doubling()
    late = copy.deepcopy(data)
    late["moves"][3]["at_min"] = 50.0
    with pytest.raises(InputError, match="lasts until"):
        schedule(read_score(late), clock)
    rich = copy.deepcopy(data)
    rich["moves"][4].pop("at_min")
    rich["moves"][4]["at_flow_left"] = 9000.0
    with pytest.raises(InputError, match="starts with"):
        schedule(read_score(rich), clock)
    rich["moves"][4]["at_flow_left"] = 300.0
    slots = schedule(read_score(rich), clock)
    assert slots[4].start == pytest.approx(300.0, rel=1e-6)
    assert [s.start for s in slots] == sorted((s.start for s in slots), reverse=True)


def test_ribbon_wider_than_surface(data):
    def change(d):
        d["moves"][1]["width_mm"] = 180.0

    err = refused(change, data, surface=rectangle(0.3, 0.2), film=0.003, cell=0.005)
    assert err.field == "score.moves[1].width_mm"


@pytest.mark.parametrize(
    ("kw", "field"),
    [
        ({"film": 0.0}, "film"),
        ({"film": float("nan")}, "film"),
        ({"film": 0.003, "cell": 1.0}, "cell"),
        ({"film": 0.003, "cell": 0.04}, "cell"),
        ({"film": 0.003, "mixed": -1.0}, "mixed"),
    ],
)
def test_bad_pours(data, kw, field):
    with pytest.raises(InputError) as err:
        pour(read_score(data), rectangle(0.3, 0.2), **kw)
    assert err.value.field == field


@pytest.mark.parametrize(
    "outline",
    [[(0, 0), (1, 0)], [(0, 0), (1, 1), (1, 0), (0, 1)], [(0, 0), (float("nan"), 0), (0, 1)]],
)
def test_bad_outlines(data, outline):
    with pytest.raises(InputError, match="outline"):
        pour(read_score(data), outline, 0.003)


def test_lengths_stay_true_or_grow(data):
    score = read_score(data)
    assert score.length_factor(9.0) == 1.0
    grown = read_score({**data, "lengths": "with the surface", "written_for_m2": 0.25})
    assert grown.length_factor(1.0) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("minutes", "left"), [([0, 1], [1, 0.5]), ([0, 0], [1, 0]), ([0, 1], [1]), ([0, 1], [0, 1])]
)
def test_bad_clocks(minutes, left):
    with pytest.raises(InputError, match="clock"):
        FlowClock.from_arrays(minutes, left)


def test_strokes_are_as_many_per_area_as_written() -> None:
    data = {
        "name": "x",
        "written_for_m2": 1.8,
        "cups": {"a": 1.0},
        "moves": [{"do": "coat", "uses": {"a": 1.0}}, {"do": "spread", "strokes": 8}],
    }
    score = read_score(data)
    assert [score.stroke_count(8, a) for a in (1.8, 0.9, 3.6, 0.075)] == [8, 4, 16, 1]
    grown = read_score({**data, "lengths": "with the surface"})
    assert grown.stroke_count(8, 0.075) == 8
