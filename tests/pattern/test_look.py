"""What makes a picture look poured: rims drawn out by flow, fine lines that keep their ink."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.pattern import (
    Surface,
    pour,
    read_score,
    rectangle,
    separation,
)
from pourwright.pattern.caption import caption, spreading_words
from pourwright.pattern.lay import spots
from pourwright.pattern.layer import Layer
from pourwright.pattern.separate import with_more_strokes


def a_line(half: float) -> Layer:
    """One straight line along x of half width `half` and 1 mm high."""
    from pourwright.pattern.layer import LINES, index_lines
    from pourwright.pattern.paths import Lines, _rows

    pts = np.stack([np.linspace(0.0, 0.2, 41), np.full(41, 0.1)], 1)
    lines = Lines(_rows(pts, np.full(41, half), np.full(41, 1e-3), 0), 1)
    none = np.zeros((1, 1))
    form = np.array([1e-3, 0.3, 1.0, half, 1.0, 0.0])
    layer = Layer("t", LINES, np.array([0]), np.ones(1), lines, none, form, 1)
    index_lines(layer)
    return layer


@pytest.mark.parametrize("half", [0.0002, 0.0006, 0.003])
@pytest.mark.parametrize("spot", [0.0001, 0.0005, 0.0012])
def test_a_line_keeps_its_ink_at_any_pixel(half: float, spot: float) -> None:
    """However coarse the spot, the mean over a strip across it holds the line's volume.

    Within 12 %: a spot as broad as the line blunts its round profile.
    """
    layer = a_line(half)
    y = np.arange(0.09, 0.11, 2e-5)
    x = np.full(len(y), 0.1)
    volume = layer.at(x, y, spots(len(y), spot))[0].sum() * 2e-5
    assert volume == pytest.approx(0.8413 * 2 * half * 1e-3, rel=0.12)


def test_a_rim_drawn_out_is_a_wedge() -> None:
    """Drawn out evenly over L across it, a rim's thickness falls about linearly over L."""
    layer = a_line(0.01)
    spread = 0.006
    y = 0.1 + np.array([0.0, 0.0075, 0.01, 0.0125])
    foot = spots(4, 1e-5)
    foot[:, 5] += spread**2 / 12
    cover = layer.at(np.full(4, 0.1), y, foot)[0]
    sharp = layer.at(np.full(4, 0.1), y, spots(4, 1e-5))[0]
    assert sharp[3] == 0.0 and cover[3] > 0.0
    assert cover[0] == pytest.approx(sharp[0], rel=0.02)
    assert cover[0] > cover[1] > cover[2] > cover[3]


def test_layers_that_flow_are_drawn_out(data: dict) -> None:
    """On a slope the top of a film outruns its ground: 1.5 times the mean against none.

    An even coat of depth h drifts on the mean rho g sin(a) h^2 L/3; over the whole of it the
    difference between skin and ground is 1.5 times that (half parabola).
    """
    surface = Surface([(0, 0), (0.5, 0), (0.5, 0.1), (0, 0.1)], (), (1,), 0.0, (-0.01, 0.0))
    score = read_score(
        {
            "name": "t",
            "cups": {"a": 1.0},
            "moves": [{"do": "coat", "uses": {"a": 1.0}, "takes_s": 0}],
        }
    )
    from pourwright.pattern import FlowClock

    clock = FlowClock.from_arrays([0, 10], [60.0, 0.0])
    played = pour(score, surface, 0.002, clock, cell=0.005)
    mean = 1100 * 9.81 * 0.01 * 0.002**2 * 60.0 / 3
    i, j = played.grid.shape[0] // 2, played.grid.shape[1] // 2
    drawn = np.sqrt(12 * float(played.smear[0, 3, i, j]))
    assert drawn == pytest.approx(1.5 * mean, rel=0.02)
    assert float(played.smear[0, 5, i, j]) < 1e-3 * float(played.smear[0, 3, i, j])
    eye = np.sqrt(12 * float(played.smear[0, 0, i, j]))
    # 0.3 mm into 2 mm: the skin outruns it by 1.5 s^2 of the mean, s = 0.15
    assert eye == pytest.approx(1.5 * 0.15**2 * mean, rel=0.03)


def test_heights_go_with_the_film_when_asked(data: dict) -> None:
    """A score written for 3 mm lays as many ribbons in a 1 mm film."""
    moves = [m for m in data["moves"] if m["do"] in ("coat", "ribbons")]
    base = {**data, "moves": moves}
    counts = {}
    for film in (0.001, 0.003):
        for written in (None, 3.0):
            score = read_score({**base, **({"written_for_film_mm": written} if written else {})})
            played = pour(score, rectangle(0.5, 0.4), film, cell=0.006)
            counts[film, written] = played.layers[1].lines.count
    assert counts[0.003, 3.0] == counts[0.003, None] == counts[0.001, 3.0]
    assert counts[0.001, None] < counts[0.003, None]


def test_more_strokes_make_mud(small, shades) -> None:
    index = [separation(with_more_strokes(small, t), shades).index for t in (1, 4, 20, 60)]
    assert index[0] == separation(small, shades).index
    assert index[0] > index[1] > index[2] > index[3]


def test_the_caption_says_what_spreading_does(small, shades) -> None:
    (words,) = spreading_words(small, shades)
    assert "3 times the blade strokes" in words and "muddy" in words
    assert words in caption(small, shades)


def test_no_strokes_no_words(data, shades) -> None:
    moves = [m for m in data["moves"] if m["do"] != "spread"]
    played = pour(read_score({**data, "moves": moves}), rectangle(0.2, 0.15), 0.003, cell=0.005)
    assert spreading_words(played, shades) == []
    assert with_more_strokes(played, 5.0) is played


def test_strokes_foretold_are_near_strokes_made(shades) -> None:
    """The caption's forecast against a pour with that many strokes.

    Within 0.1 of the index: it knows nothing of where the further strokes will fall.
    """
    data = {
        "name": "strokes",
        "cups": {"green": 0.5, "slate": 0.5},
        "moves": [
            {"do": "coat", "uses": {"green": 0.2, "slate": 0.2}, "folds": 1.0, "band_mm": 12},
            {"do": "ribbons", "uses": {"green": 0.3, "slate": 0.3}, "width_mm": 30,
             "strand_mm": 2, "length_mm": 250, "separate": 0.0},
        ],
    }  # fmt: skip

    def after(strokes: int):
        spread = {"do": "spread", "strokes": strokes, "blade_mm": 70, "length_mm": 180,
                  "grip": 0.6, "contact_mm": 14, "turn_deg": 70}  # fmt: skip
        moves = [*data["moves"], spread]
        return pour(read_score({**data, "moves": moves}), rectangle(0.24, 0.18), 0.003)

    few, many = after(15), after(60)
    foretold = separation(with_more_strokes(few, 4.0), shades).index
    assert foretold == pytest.approx(separation(many, shades).index, abs=0.1)
    assert foretold < separation(few, shades).index
