"""From the job file's surfaces to the survey: demo jobs, joints, waterfalls, cut-outs, refusals."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import pytest
from pydantic import ValidationError

from pourwright.errors import InputError
from pourwright.survey import SurfaceSpec, build_survey
from pourwright.survey.joints import transform

PARTS = Path(__file__).parents[2] / "examples" / "parts"


def survey(text):
    return build_survey([SurfaceSpec.model_validate(s) for s in tomllib.loads(text)["surfaces"]])


def part(name):
    return survey((PARTS / f"{name}_surfaces.toml").read_text())


def refused(text):
    with pytest.raises(InputError) as caught:
        survey(text)
    return caught.value


def test_galley_by_hand():
    s = part("galley")
    a, b = s.areas["leg-a"], s.areas["leg-b"]
    sink = 0.48 * 0.38 - (4 - math.pi) * 0.06**2
    assert a.gross == pytest.approx(2.1 * 0.6)
    assert a.cut_out == pytest.approx(sink)
    assert a.cut_out_poured_over == pytest.approx(math.pi * 0.0175**2)
    assert a.face == pytest.approx(2.1 * 0.6 - sink)
    assert a.runs["free"] == pytest.approx(1.54 + 0.6)
    assert b.face == pytest.approx(1.25 * 0.56 - (0.27 * 0.49 - (4 - math.pi) * 0.008**2))
    assert s.areas["table"].perimeter == pytest.approx(2 * (0.9 + 0.6) - 8 * 0.06 + math.tau * 0.06)
    assert s.areas["board"].face == pytest.approx(0.075)
    assert [(m.kind, m.run) for m in s.meetings] == [("joint", pytest.approx(0.56))]
    assert s.runs()["joint"] == pytest.approx(0.56)
    assert s.totals("board")["face"] == pytest.approx(0.075)
    both = [s.totals(p)["poured"] for p in ("surface", "board")]
    assert sum(both) == pytest.approx(s.totals()["poured"])
    # the joined legs stand as an L: leg-b hangs below the right end of leg-a
    x, y, turn = s["leg-b"].place
    assert (x, y, turn) == pytest.approx((1.54, -1.25, 0.0))


def test_cafe_bar_unfolds_the_waterfall():
    s = part("cafe_bar")
    assert sum(s.areas[f"bar-{k}"].gross for k in (1, 2, 3)) == pytest.approx(4.6 * 0.62)
    assert {m.kind for m in s.meetings} == {"joint", "waterfall"}
    assert s.runs()["waterfall"] == pytest.approx(0.62)
    assert s["end"].edge("top").kind == "waterfall"
    assert s["end"].edge("top").profile.round_over == pytest.approx(0.006)
    # the end panel unfolds to the left of the bar, its foot farthest away
    foot = [transform(s["end"].place, x, 0.0) for x in (0.0, 0.62)]
    assert sorted(foot) == [pytest.approx((-0.89, 0.0)), pytest.approx((-0.89, 0.62))]
    for m in s.meetings:
        a, b = s[m.surface].edge(m.edge).side, s[m.other].edge(m.other_edge).side
        pa = transform(s[m.surface].place, a.start.x, a.start.y)
        pb = transform(s[m.other].place, b.end.x, b.end.y)
        assert pa == pytest.approx(pb, abs=1e-9)


def test_wet_room_counts_pieces():
    s = part("wet_room")
    assert s["panel"].count == 2
    assert s.totals()["gross"] == pytest.approx(3 * 0.9 * 2.1 + 0.075)


def test_face_and_cut_outs_make_the_gross_area():
    for name in ("galley", "cafe_bar", "wet_room"):
        for a in part(name).areas.values():
            assert a.face + a.cut_out == pytest.approx(a.gross, rel=1e-14)
            assert a.flat + a.cover + a.masked == pytest.approx(a.face, rel=1e-14)
            assert sum(a.runs.values()) == pytest.approx(a.perimeter, rel=1e-12)


def test_same_surface_by_size_and_by_corners():
    by_size = survey('[[surfaces]]\nname="s"\nsize=["24 in","2 ft"]')
    by_outline = survey(
        '[[surfaces]]\nname="s"\noutline=[["0 mm","0 mm"],["609.6 mm","0 mm"],'
        '{x_mm=609.6,y="2 ft"},["0 mm","609.6 mm"]]'
    )
    assert by_size.areas["s"].gross == by_outline.areas["s"].gross == pytest.approx(0.6096**2)


def test_specs_survive_writing_and_reading():
    raw = tomllib.loads((PARTS / "galley_surfaces.toml").read_text())["surfaces"]
    specs = [SurfaceSpec.model_validate(r) for r in raw]
    again = [SurfaceSpec.model_validate(s.to_document()) for s in specs]
    assert again == specs
    assert build_survey(again).totals() == build_survey(specs).totals()


def test_stretches_of_a_clockwise_outline_start_at_the_users_corner():
    text = """
    [[surfaces]]
    name = "s"
    outline = [["0 mm","0 mm"],["0 mm","600 mm"],["2100 mm","600 mm"],["2100 mm","0 mm"]]
    [surfaces.edges]
    4 = [{ kind = "free", length = "500 mm" }, { kind = "joint" }]
    """
    s = survey(text)["s"]
    first, second = s.edge("4-1"), s.edge("4-2")
    assert first.kind == "free" and first.run == pytest.approx(0.5)
    # edge 4 runs from corner 4 (2100, 0) back to corner 1 (0, 0)
    assert sorted([first.side.start.x, first.side.end.x]) == pytest.approx([1.6, 2.1])
    assert second.kind == "joint" and second.run == pytest.approx(1.6)


TWO = """
[[surfaces]]
name = "a"
size = ["1000 mm", "600 mm"]
[surfaces.edges]
right = {{ kind = "{kind}", meets = "{meets}" }}
[[surfaces]]
name = "b"
size = ["800 mm", "{depth}"]
lie = "{lie}"
{more}
"""


def two(kind="joint", meets="b.left", depth="600 mm", lie="horizontal", more=""):
    return TWO.format(kind=kind, meets=meets, depth=depth, lie=lie, more=more)


def test_partner_takes_the_kind_from_the_one_side_that_names_it():
    s = survey(two())
    assert s["b"].edge("left").kind == "joint"
    assert s["b"].edge("left").meets == "a.right"


@pytest.mark.parametrize(
    ("kwargs", "field", "limit"),
    [
        ({"depth": "590 mm"}, "edge right of surface a", "590 mm long"),
        ({"meets": "c.left"}, "edge right of surface a, meets", "a, b"),
        ({"meets": "b"}, "edge right of surface a, meets", "surface and its edge"),
        ({"meets": "b.north"}, "edge of surface b", "front, right, back, left"),
        ({"meets": "a.right"}, "edge right of surface a", "cannot meet itself"),
        ({"kind": "wall"}, "edge right of surface a, meets", "meets no other"),
        ({"kind": "waterfall"}, "edge right of surface a", "horizontal surface to an upright"),
        (
            {"more": '[surfaces.edges]\nleft = { kind = "free" }'},
            "edge right of surface a",
            "is free",
        ),
        (
            {"more": '[surfaces.edges]\nleft = { kind = "joint", meets = "a.left" }'},
            "edge left of surface b, meets",
            "already meets",
        ),
        ({"more": "count = 2"}, "edge right of surface a", "count 2"),
    ],
)
def test_edges_that_cannot_meet(kwargs, field, limit):
    err = refused(two(**kwargs))
    assert err.field == field
    assert limit in err.limit
    assert err.remedy


def test_a_joint_taken_twice_is_refused():
    err = refused(
        two(more='[[surfaces]]\nname="c"\nsize=["1 m","600 mm"]\n[surfaces.edges]\n'
            'right = { kind = "joint", meets = "b.left" }')
    )  # fmt: skip
    assert "already meets" in err.limit


def test_waterfall_alone_is_refused():
    err = refused('[[surfaces]]\nname="a"\nsize=["1 m","1 m"]\nedges={left={kind="waterfall"}}')
    assert "turns down" in err.limit


def test_ring_of_pieces_that_does_not_close_is_told():
    text = """
    [[surfaces]]
    name = "a"
    size = ["1000 mm", "600 mm"]
    [surfaces.edges]
    right = { kind = "joint", meets = "b.left" }
    left = { kind = "joint", meets = "b.right" }
    [[surfaces]]
    name = "b"
    size = ["800 mm", "600 mm"]
    """
    assert any("miss each other" in w for w in survey(text).warnings)


CUT = """
[[surfaces]]
name = "top"
size = ["1000 mm", "600 mm"]
[[surfaces.cut_outs]]
name = "sink"
{first}
[[surfaces.cut_outs]]
name = "hob"
{second}
"""


def cut(first='size=["300 mm","300 mm"]\nat=["300 mm","300 mm"]',
        second='size=["200 mm","200 mm"]\nat=["800 mm","300 mm"]'):  # fmt: skip
    return CUT.format(first=first, second=second)


@pytest.mark.parametrize(
    ("text", "field", "limit"),
    [
        (
            cut(second='size=["200 mm","200 mm"]\nat=["950 mm","300 mm"]'),
            "cut-out hob of surface top",
            "outside the surface",
        ),
        (
            cut(second='diameter="200 mm"\nat=["450 mm","300 mm"]'),
            "cut-out hob of surface top",
            "runs into cut-out sink",
        ),
        (cut(second='at=["450 mm","300 mm"]'), "cut-out hob of surface top", "exactly one"),
        (
            cut(second='diameter="200 mm"\nsize=["1 m","1 m"]'),
            "cut-out hob of surface top",
            "exactly one",
        ),
        (cut(second='diameter="0 mm"'), "cut-out hob of surface top, diameter", "more than 0"),
        (
            cut(second='size=["200 mm","100 mm"]\ncorner_radius="60 mm"\nat=["800 mm","300 mm"]'),
            "corner 3 of cut-out hob of surface top",
            "at most 50 mm",
        ),
        (
            cut(second='diameter="90 mm"\nat=["800 mm","300 mm"]\nedge={kind="joint"}'),
            "cut-out hob of surface top, edge",
            "wall",
        ),
    ],
)
def test_cut_outs_that_cannot_be(text, field, limit):
    err = refused(text)
    assert err.field == field
    assert limit in err.limit


def test_cut_outs_close_to_edges_and_to_each_other_warn():
    s = survey(cut(first='size=["300 mm","300 mm"]\nat=["300 mm","180 mm"]',
                   second='diameter="200 mm"\nat=["580 mm","180 mm"]'))  # fmt: skip
    assert any("30 mm from edge front" in w for w in s.warnings)
    assert any("30 mm from cut-out sink" in w for w in s.warnings)
    assert survey(cut()).warnings == ()


def test_hole_inside_another_is_refused():
    err = refused(cut(second='diameter="50 mm"\nat=["300 mm","300 mm"]'))
    assert "runs into" in err.limit


def test_stretches_must_fill_their_edge():
    base = '[[surfaces]]\nname="a"\nsize=["1 m","1 m"]\nedges={front=[%s]}'
    over = '{kind="free",length="700 mm"},{kind="wall",length="400 mm"}'
    assert "1000 mm long" in refused(base % over).limit
    gone = '{kind="free",length="1000 mm"},{kind="wall"}'
    assert "1000 mm long" in refused(base % gone).limit
    assert "needs its length" in refused(base % '{kind="free"},{kind="wall"}').limit
    s = survey(base % '{kind="free",length="300 mm"},{kind="wall"}')
    assert s.areas["a"].runs["free"] == pytest.approx(0.3)


def test_unknown_edge_names_and_doubled_surfaces():
    err = refused('[[surfaces]]\nname="a"\nsize=["1 m","1 m"]\nedges={north={kind="free"}}')
    assert "front, right, back, left" in err.limit
    err = refused('[[surfaces]]\nname="a"\nsize=["1 m","1 m"]\n' * 2)
    assert "own name" in err.limit
    with pytest.raises(InputError, match="at least one surface"):
        build_survey([])


@pytest.mark.parametrize(
    "bad",
    [
        {"name": "a"},
        {"name": "a", "size": ["1 m", "1 m"], "outline": [["0 m", "0 m"]]},
        {"name": "a", "size": ["1 m"]},
        {"name": "a", "size": [1, 2]},
        {"name": "a", "size": ["1 m", "1 m"], "count": 0},
        {"name": "../a", "size": ["1 m", "1 m"]},
        {"name": "a", "outline": [["0 m"], ["1 m", "0 m"], ["1 m", "1 m"]]},
        {"name": "a", "size": ["1 m", "1 m"], "lie": "flat"},
        {"name": "a", "size": ["1 m", "1 m"], "edges": {"front": {"kind": "free", "dorp": "4 mm"}}},
    ],
)
def test_bad_specs_never_pass(bad):
    with pytest.raises((ValidationError, InputError)):
        SurfaceSpec.model_validate(bad)


def test_zero_size_is_refused_by_name():
    err = refused('[[surfaces]]\nname="a"\nsize=["0 mm","1 m"]')
    assert err.field == "surface a, width"


def test_least_box_of_a_turned_rectangle():
    c, s = math.cos(0.3), math.sin(0.3)
    ring = [(c * x - s * y, s * x + c * y) for x, y in ((0, 0), (2, 0), (2, 0.5), (0, 0.5))]
    listed = ",".join(f'["{x * 1e3} mm","{y * 1e3} mm"]' for x, y in ring)
    length, width, angle = (
        survey(f'[[surfaces]]\nname="a"\noutline=[{listed}]').areas["a"].least_box
    )
    assert (length, width) == pytest.approx((2, 0.5), abs=1e-6)
    assert math.remainder(angle - 0.3, math.pi) == pytest.approx(0, abs=1e-6)
