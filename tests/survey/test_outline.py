"""Outlines: exact areas and lengths, refusals that name the corner."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.survey.outline import make_outline, rectangle
from pourwright.survey.paths import path_area, path_box, path_centroid, path_points

WELL = settings(deadline=None, max_examples=60)
length = st.floats(0.2, 3.0)


def test_rounded_rectangle_area_and_perimeter_are_exact():
    o = make_outline(rectangle(2.1, 0.6), 0.05)
    assert o.area == pytest.approx(2.1 * 0.6 - (4 - math.pi) * 0.05**2, rel=1e-14)
    assert o.perimeter == pytest.approx(2 * (2.1 + 0.6) - 8 * 0.05 + 2 * math.pi * 0.05, rel=1e-14)


def test_square_with_half_side_radius_is_a_circle():
    o = make_outline(rectangle(0.4, 0.4, -0.2, -0.2), 0.2)
    assert o.area == pytest.approx(math.pi * 0.04, rel=1e-14)
    assert o.perimeter == pytest.approx(math.tau * 0.2, rel=1e-14)
    assert path_box(o.path) == pytest.approx((-0.2, -0.2, 0.2, 0.2), abs=1e-15)
    assert path_centroid(o.path) == pytest.approx((0, 0), abs=1e-15)


def test_l_with_fillet_at_the_inner_corner():
    points = [(0, 0), (2, 0), (2, 0.6), (0.6, 0.6), (0.6, 1.5), (0, 1.5)]
    radii = [0, 0.1, 0, 0.2, 0, 0.05]
    o = make_outline(points, radii)
    gap = 1 - math.pi / 4
    sharp = 2 * 0.6 + 0.6 * 0.9
    assert o.area == pytest.approx(sharp + gap * (0.2**2 - 0.1**2 - 0.05**2), rel=1e-14)


def test_centroid_of_a_rounded_corner_against_quarter_disc():
    # unit square with one corner of radius 1: square less (square less quarter disc)
    o = make_outline(rectangle(1, 1), [0, 0, 1, 0])
    area = math.pi / 4
    assert o.area == pytest.approx(area, rel=1e-14)
    assert path_centroid(o.path) == pytest.approx((4 / (3 * math.pi),) * 2, rel=1e-13)


@WELL
@given(
    w=length,
    h=length,
    share=st.floats(0.0, 1.0),
    turn=st.floats(0, math.tau),
    dx=st.floats(-5, 5),
    dy=st.floats(-5, 5),
    scale=st.floats(0.3, 3),
)
def test_area_under_motion_mirror_reversal_and_scale(w, h, share, turn, dx, dy, scale):
    r = share * min(w, h) / 2
    assume(r == 0 or r > 1e-6)  # below 10 nm a corner counts as sharp
    base = make_outline(rectangle(w, h), r)
    c, s = math.cos(turn), math.sin(turn)
    moved = [(c * x - s * y + dx, s * x + c * y + dy) for x, y in rectangle(w, h)]
    mirrored = [(-x, y) for x, y in moved]
    assert make_outline(moved, r * (1 - 1e-12)).area == pytest.approx(base.area, rel=1e-9)
    assert make_outline(mirrored, r * (1 - 1e-12)).area == pytest.approx(base.area, rel=1e-9)
    back = make_outline(moved[::-1], r * (1 - 1e-12))
    assert back.area == pytest.approx(base.area, rel=1e-9)
    grown = make_outline([(x * scale, y * scale) for x, y in rectangle(w, h)], r * scale)
    assert grown.area == pytest.approx(base.area * scale**2, rel=1e-10)
    assert grown.perimeter == pytest.approx(base.perimeter * scale, rel=1e-10)


@WELL
@given(
    st.lists(st.floats(0.25, 1.5), min_size=3, max_size=9),
    st.floats(0.0, 0.95),
    st.integers(0, 8),
)
def test_star_outlines_match_their_fine_polygons(reach, share, shift):
    """Any star-shaped outline: exact integrals agree with shapely on fine chords."""
    from shapely import Polygon

    n = len(reach)
    points = [
        (r * math.cos(math.tau * (k + shift) / n), r * math.sin(math.tau * (k + shift) / n))
        for k, r in enumerate(reach)
    ]
    sharp = make_outline(points)
    room = []
    for k, c in enumerate(sharp.corners):
        sides = min(sharp.sides[k].side, sharp.sides[k - 1].side)
        t = math.tan(abs(c.turn) / 2)
        room.append(share * sides / 2 / t if t > 1e-6 else 0.0)
    numbers = [c.number for c in sharp.corners]
    radii = [room[numbers.index(k)] for k in range(1, n + 1)]
    try:
        o = make_outline(points, radii)
    except InputError as err:  # a rounding that runs into a far side
        assume("runs into" not in err.limit)
        raise
    fine = Polygon(path_points(o.path, 1e-8))
    assert o.area == pytest.approx(fine.area, rel=1e-6)
    assert o.perimeter == pytest.approx(fine.length, rel=1e-6)
    assert path_centroid(o.path) == pytest.approx((fine.centroid.x, fine.centroid.y), abs=1e-6)
    assert path_box(o.path) == pytest.approx(fine.bounds, abs=2e-8)


def test_clockwise_lists_keep_their_numbers():
    ring = rectangle(2.0, 0.6)
    forward, backward = make_outline(ring), make_outline(ring[::-1])
    assert path_area(backward.path) > 0
    by_number = {s.number: s for s in backward.sides}
    for k in range(1, 5):
        a, b = ring[::-1][k - 1], ring[::-1][k % 4]
        side = by_number[k]
        ends = {(side.start.x, side.start.y), (side.end.x, side.end.y)}
        assert ends == {a, b}
    assert {s.number for s in forward.sides} == {1, 2, 3, 4}


def test_holes_run_the_other_way():
    hole = make_outline(rectangle(0.4, 0.3), 0.02, hole=True)
    assert path_area(hole.path) == pytest.approx(-(0.12 - (4 - math.pi) * 4e-4), rel=1e-13)
    assert hole.area > 0
    assert all(c.turn < 0 for c in hole.corners)


def test_corner_on_a_straight_side_is_allowed_and_takes_no_radius():
    o = make_outline([(0, 0), (1, 0), (2, 0), (2, 1), (0, 1)], 0.05)
    assert o.area == pytest.approx(2 - (4 - math.pi) * 0.05**2, rel=1e-13)


BAD = [
    ("two corners", [(0, 0), (1, 0)], 0, "surface leg-a", "at least 3"),
    ("crossing", [(0, 0), (1, 0), (0, 1), (1, 1)], 0, "corner 2 of surface leg-a", "cross"),
    ("twice", [(0, 0), (1, 0), (1, 0), (1, 1)], 0, "corner 3 of surface leg-a", "no length"),
    ("closed", [(0, 0), (1, 0), (1, 1), (0, 0)], 0, "corner 4 of surface leg-a", "corner 1"),
    (
        "touches",
        [(0, 0), (2, 0), (2, 1), (1, 0.5), (1.5, 2), (1, 0.5), (0, 1)],
        0,
        "corner 6 of surface leg-a",
        "corner 4",
    ),
    (
        "touches a side",
        [(0, 0), (2, 0), (2, 1), (1, 0), (0, 1)],
        0,
        "corner 1 of surface leg-a",
        "meets the edge from corner 3 to corner 4",
    ),
    ("folds", [(0, 0), (2, 0), (1, 0), (1, 1)], 0, "corner 2 of surface leg-a", "folds"),
    ("flat", [(0, 0), (1, 0), (2, 0.00001)], 0, "surface leg-a", "at least 100 mm2"),
    (
        "radius too big",
        rectangle(1, 0.1),
        [0, 0.2, 0, 0],
        "corner 2 of surface leg-a",
        "at most 100 mm",
    ),
    ("radii meet", rectangle(1, 0.1), [0, 0.06, 0.06, 0], "corner 2 of surface leg-a", "50 mm"),
    ("negative", rectangle(1, 1), [0, 0, -0.1, 0], "corner 3 of surface leg-a", "0 mm or more"),
    ("huge", [(0, 0), (610, 0), (610, 1), (0, 1)], 0, "corner 2 of surface leg-a", "30 m"),
    ("nan", [(0, 0), (math.nan, 0), (1, 1)], 0, "corner 2 of surface leg-a", "finite"),
    ("radii count", rectangle(1, 1), [0.1, 0.1], "surface leg-a", "4 corners"),
    ("many", [(k, k % 2) for k in range(500)], 0, "surface leg-a", "at most 400"),
]


@pytest.mark.parametrize(
    ("name", "points", "radii", "field", "limit"), BAD, ids=[b[0] for b in BAD]
)
def test_impossible_outlines_are_refused_by_corner(name, points, radii, field, limit):
    with pytest.raises(InputError) as caught:
        make_outline(points, radii, "surface leg-a")
    assert caught.value.field == field
    assert limit in caught.value.limit
    assert caught.value.remedy


def test_rounding_that_runs_into_a_far_side_is_refused():
    # a notch whose tip almost reaches the corner that is rounded far out
    points = [(0, 0), (1, 0), (1, 1), (0.52, 1), (0.9, 0.1), (0.48, 1), (0, 1)]
    assert make_outline(points).area > 0
    with pytest.raises(InputError) as caught:
        make_outline(points, [0, 0.6, 0, 0, 0, 0, 0], "surface s")
    assert caught.value.field == "corner 2 of surface s"
    assert "runs into" in caught.value.limit
