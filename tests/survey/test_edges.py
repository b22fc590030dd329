"""Edge profiles and the strip laid flat."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.survey.assemble import make_cut_out, make_surface
from pourwright.survey.edges import make_profile
from pourwright.survey.outline import make_outline, rectangle


def surface(outline, *profiles, **more):
    given = {k: [(p, None, None)] for k, p in enumerate(profiles, 1)}
    return make_surface("s", outline, given, **more)


WALL = make_profile("wall")


@settings(deadline=None, max_examples=80)
@given(
    run=st.floats(0.5, 4),
    r=st.floats(0, 0.02),
    extra=st.floats(0, 0.08),
    lip=st.floats(0, 0.05),
)
def test_straight_free_edge_between_walls_closed_form(run, r, extra, lip):
    p = make_profile("free", r, r + extra, lip)
    a = surface(make_outline(rectangle(run, 0.6)), p, WALL, WALL, WALL).areas
    assert a.strip == pytest.approx(run * (math.pi / 2 * r + extra + lip), rel=1e-12, abs=1e-15)
    assert a.cover == pytest.approx(run * r, rel=1e-12, abs=1e-15)
    assert a.flat + a.cover == pytest.approx(a.face, rel=1e-12)
    assert a.runs["free"] == pytest.approx(run)
    assert a.runs["wall"] == pytest.approx(run + 1.2)


def test_disc_with_round_over_is_a_quarter_torus():
    big, r = 0.45, 0.02
    p = make_profile("free", r, 0.04, 0.03)
    a = surface(make_outline(rectangle(2 * big, 2 * big), big), p, p, p, p).areas
    torus = math.pi**2 * r * (big - r) + 2 * math.pi * r * r
    assert a.strip_arc == pytest.approx(torus, rel=1e-12)
    assert a.strip_drop == pytest.approx(math.tau * big * 0.02, rel=1e-12)
    assert a.strip_lip == pytest.approx(math.pi * (big**2 - (big - 0.03) ** 2), rel=1e-12)
    assert a.flat == pytest.approx(math.pi * (big - r) ** 2, rel=1e-12)


def test_hole_with_round_over_is_the_inside_of_a_torus():
    big, r = 0.19, 0.006
    p = make_profile("free", r, 0.025)
    hole = make_cut_out("basin", p, diameter=2 * big, at=(0.5, 0.5))
    a = surface(make_outline(rectangle(1, 1)), WALL, WALL, WALL, WALL, cut_outs=[hole]).areas
    torus = math.pi**2 * r * (big + r) - 2 * math.pi * r * r
    assert a.strip_arc == pytest.approx(torus, rel=1e-12)
    assert a.strip_cut_outs == a.strip
    assert a.flat == pytest.approx(1 - math.pi * (big + r) ** 2, rel=1e-12)
    assert a.free_run == pytest.approx(math.tau * big)
    assert a.runs["free"] == 0


def test_mitred_corner_of_round_overs():
    """Two quarter rounds that meet in a mitre, integrated slice by slice."""
    r, w, h = 0.05, 0.5, 0.4
    p = make_profile("free", r)
    a = surface(make_outline(rectangle(w, h)), p, p, p, p).areas
    t = (np.arange(200_000) + 0.5) / 200_000 * math.pi / 2
    inset = r * (1 - np.cos(t))
    strip = float(np.mean(2 * (w - 2 * inset) + 2 * (h - 2 * inset)) * r * math.pi / 2)
    assert a.strip == pytest.approx(strip, rel=1e-9)
    assert a.flat == pytest.approx((w - 2 * r) * (h - 2 * r), rel=1e-12)


@pytest.mark.parametrize("radius", [0.0, 0.004, 0.01, 0.06])
def test_round_over_on_rounded_corners_slice_by_slice(radius):
    """Corner radius below, near and above the round-over: insets by shapely's buffer."""
    from shapely import Polygon

    from pourwright.survey.paths import path_points

    r, o = 0.01, make_outline(rectangle(0.5, 0.4), radius)
    p = make_profile("free", r, 0.02, 0.015)
    a = surface(o, p, p, p, p).areas
    body = Polygon(path_points(o.path, 1e-7))

    def rim(d):
        return body.buffer(-d, join_style="mitre", mitre_limit=10).length

    t = (np.arange(400) + 0.5) / 400 * math.pi / 2
    arc = np.mean([rim(r * (1 - math.cos(x))) for x in t]) * r * math.pi / 2
    assert a.strip_arc == pytest.approx(arc, rel=2e-5)  # midpoint sums and chords
    lip = body.area - body.buffer(-0.015, join_style="mitre", mitre_limit=10).area
    assert a.strip_lip == pytest.approx(lip, rel=2e-5)
    flat = body.buffer(-r, join_style="mitre", mitre_limit=10).area
    assert a.flat == pytest.approx(flat, rel=1e-6)


def test_inner_corner_adds_what_an_outer_corner_takes():
    r = 0.01
    p = make_profile("free", r)
    ell = [(0, 0), (1, 0), (1, 0.5), (0.5, 0.5), (0.5, 1), (0, 1)]
    a = surface(make_outline(ell), *[p] * 6).areas
    whole = r * r * (math.pi / 2 - 1)  # integral of the inset along the profile
    assert a.strip == pytest.approx(4 * r * math.pi / 2 - 2 * whole * (5 - 1), rel=1e-12)


def test_masks_upstands_and_waterfalls():
    wall = make_profile("wall", mask=0.02)
    up = make_profile("upstand", height=0.06, cove=0.01)
    fall = make_profile("waterfall", 0.006)
    a = surface(make_outline(rectangle(2, 0.6)), wall, WALL, up, fall).areas
    assert a.masked == pytest.approx(2 * 0.02, rel=1e-12)
    upstand = 2 * (math.pi / 2 * 0.01 + 0.05)
    assert a.strip == pytest.approx(
        upstand + 0.6 * math.pi / 4 * 0.006 - _mitre(0.01, 0.0) - _mitre(0.006, math.pi / 4),
        rel=1e-12,
    )
    assert a.tape_run == pytest.approx(2.6)


def _mitre(r, first):
    """What the mitre of a square corner takes from one quarter round from angle `first`."""
    return r * r * ((math.pi / 2 - first) - (1 - math.sin(first)))


def test_poured_is_flat_and_strip():
    p = make_profile("free", 0.006, 0.04)
    a = surface(make_outline(rectangle(2.1, 0.6)), p, WALL, WALL, p).areas
    assert a.poured == a.flat + a.strip
    assert a.face == pytest.approx(a.flat + a.cover + a.masked, rel=1e-14)


@pytest.mark.parametrize(
    ("kwargs", "field", "limit"),
    [
        ({"kind": "hem"}, "kind", "free, wall, joint"),
        ({"kind": "free", "round_over": 0.01, "drop": 0.005}, "drop", "includes the round-over"),
        ({"kind": "free", "drop": -0.01}, "drop", "0 mm to 1500 mm"),
        ({"kind": "free", "drop": math.nan}, "drop", "0 mm to 1500 mm"),
        ({"kind": "free", "lip": 40.0}, "lip", "1500 mm"),
        ({"kind": "wall", "drop": 0.04}, "drop", "a wall edge has no drop"),
        ({"kind": "upstand", "height": 0.01, "cove": 0.02}, "cove", "not higher"),
    ],
)
def test_bad_profiles(kwargs, field, limit):
    with pytest.raises(InputError) as caught:
        make_profile(**kwargs, where="edge front of surface s")
    assert caught.value.field == f"edge front of surface s, {field}"
    assert limit in caught.value.limit


def test_free_edge_without_drop_is_just_its_round_over():
    assert make_profile("free", 0.006).width == pytest.approx(math.pi / 2 * 0.006)


def test_round_overs_wider_than_the_piece_are_refused():
    p = make_profile("free", 0.03)
    with pytest.raises(InputError, match="cover more than its face"):
        _ = surface(make_outline(rectangle(0.5, 0.05)), p, WALL, p, WALL).areas
