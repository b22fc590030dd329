"""Survey areas against closed forms of textbook shapes and against a reference library.

Sources
- Areas and perimeters of circle, annulus, sector, ellipse-free fillets: any mensuration table
  (e.g. the CRC Standard Mathematical Tables); exact, so tolerance is round-off, 1e-12.
- Torus surface 4 pi^2 R r: the theorem of Pappus and Guldin; exact.
- shapely (GEOS) polygons with 10 nm chords as the reference library: a chord error d makes an
  area error below perimeter * d, here under 1e-7 of the area; tolerance 1e-6.
- 1/4 in round-over on free edges: common practice.
"""

from __future__ import annotations

import math

import pytest

from pourwright.survey.assemble import make_cut_out, make_surface
from pourwright.survey.edges import make_profile
from pourwright.survey.outline import make_outline, rectangle
from pourwright.survey.paths import path_points

WALL = make_profile("wall")


def plain(outline, cut_outs=(), profile=WALL):
    edges = {k: [(profile, None, None)] for k in range(1, len(outline.sides) + 1)}
    return make_surface("s", outline, edges, cut_outs=cut_outs).areas


def test_annulus():
    disc = make_outline(rectangle(1.2, 1.2, -0.6, -0.6), 0.6)
    hole = make_cut_out("hole", WALL, diameter=0.5)
    a = plain(disc, [hole])
    assert a.face == pytest.approx(math.pi * (0.6**2 - 0.25**2), rel=1e-12)
    assert a.perimeter == pytest.approx(math.tau * 0.6, rel=1e-12)
    assert a.centroid == pytest.approx((0, 0), abs=1e-12)


def test_stadium():
    a = plain(make_outline(rectangle(2.0, 0.6), 0.3))
    assert a.face == pytest.approx(1.4 * 0.6 + math.pi * 0.09, rel=1e-12)
    assert a.perimeter == pytest.approx(2 * 1.4 + math.tau * 0.3, rel=1e-12)


def test_rounded_equilateral_triangle():
    """Steiner: a triangle of side s rounded with r is the smaller triangle grown by r."""
    s, r = 1.0, 0.1
    o = make_outline([(0, 0), (s, 0), (s / 2, s * math.sqrt(3) / 2)], r)
    inner = s - 2 * r * math.sqrt(3)
    a = plain(o)
    area = math.sqrt(3) / 4 * inner**2 + 3 * inner * r + math.pi * r * r
    assert a.face == pytest.approx(area, rel=1e-12)
    assert a.perimeter == pytest.approx(3 * inner + math.tau * r, rel=1e-12)


def test_l_with_fillets_against_shapely():
    from shapely import Polygon

    ell = [(0, 0), (2.1, 0), (2.1, 0.6), (0.56, 0.6), (0.56, 1.85), (0, 1.85)]
    o = make_outline(ell, [0.0, 0.12, 0.02, 0.05, 0.08, 0.0])
    hole = make_cut_out("sink", WALL, size=(0.48, 0.38), radius=0.06, at=(1.2, 0.3), turn=0.1)
    a = plain(o, [hole])
    reference = Polygon(path_points(o.path, 1e-8), [path_points(hole.outline.path, 1e-8)])
    assert a.face == pytest.approx(reference.area, rel=1e-6)
    assert a.centroid == pytest.approx((reference.centroid.x, reference.centroid.y), abs=1e-6)
    assert a.perimeter == pytest.approx(reference.exterior.length, rel=1e-6)


def test_four_quarter_tori_make_half_a_torus_side():
    """Round-over r on a disc R is a quarter of the torus tube about R - r, outer upper part."""
    big, r = 0.3, 0.006
    disc = make_outline(rectangle(2 * big, 2 * big), big)
    outer = plain(disc, profile=make_profile("free", r)).strip
    board = make_outline(rectangle(1, 1))
    hole = make_cut_out("h", make_profile("free", r), diameter=2 * (big - 2 * r), at=(0.5, 0.5))
    inner = plain(board, [hole]).strip
    # both tubes have the same centre line, radius big - r: outer and inner upper quarter
    whole = 4 * math.pi**2 * (big - r) * r
    assert outer + inner == pytest.approx(whole / 2, rel=1e-12)


def test_quarter_inch_round_over_common_practice():
    """Common practice: 1/4 in round-over; its arc is pi/8 in wide, 9.97 mm, on a straight edge."""
    assert make_profile("free", 0.25 * 0.0254).width == pytest.approx(
        math.pi / 8 * 0.0254, rel=1e-12
    )
