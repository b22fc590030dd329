"""The plan view: well-formed, to scale, readable without colour, words inside their pieces."""

from __future__ import annotations

import re
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from pourwright.quantities import write
from pourwright.survey import SurfaceSpec, build_survey
from pourwright.survey.labels import Room
from pourwright.survey.plan_view import draw_plan

PARTS = Path(__file__).parents[2] / "examples" / "parts"
SVG = "{http://www.w3.org/2000/svg}"


def part(name):
    raw = tomllib.loads((PARTS / f"{name}_surfaces.toml").read_text())
    return build_survey([SurfaceSpec.model_validate(s) for s in raw["surfaces"]])


@pytest.mark.parametrize("name", ["galley", "cafe_bar", "wet_room"])
def test_every_surface_and_cut_out_is_named(name):
    survey = part(name)
    drawing = draw_plan(survey, title=name)
    root = ET.fromstring(drawing.svg())
    words = [t.text for t in root.iter(f"{SVG}text")]
    for s in survey.surfaces:
        assert any(s.name in w for w in words)
        for c in s.cut_outs:
            assert any(c.name in w for w in words)
    assert s.name in root.find(f"{SVG}desc").text
    for e in survey.surfaces[0].edges:
        assert f"{e.side.side * 1e3:.1f}".removesuffix(".0") in words
    assert drawing.height <= 190


def words_of(drawing):
    return [t.text for t in ET.fromstring(drawing.svg()).iter(f"{SVG}text")]


@pytest.mark.parametrize("name", ["galley", "cafe_bar", "wet_room"])
def test_a_us_job_reads_feet_and_inches(name):
    survey = part(name)
    drawing = draw_plan(survey, units="us")
    words = words_of(drawing)
    for e in survey.surfaces[0].edges:
        assert write(e.side.side, "length", "us") in words
    every = " ".join([*words, drawing.about])
    assert not re.search(r"\d (mm|cm|m|m2|m²|cm²)\b", every)
    assert "mm" not in every
    assert "feet and inches" in every and "ft²" in every
    assert [s for s in drawing.said if re.search(r"\d m", s)] == []


def test_a_metric_job_says_millimetres():
    drawing = draw_plan(part("galley"), units="metric")
    assert drawing.svg() == draw_plan(part("galley")).svg()
    words = " ".join(words_of(drawing))
    assert "Lengths in mm" in words
    assert not re.search(r"\b(ft|in)\b [^m]", words.replace("Lengths in mm", ""))


def test_the_scale_bar_is_as_long_as_it_says_in_feet():
    drawing = draw_plan(part("galley"), units="us")
    root = ET.fromstring(drawing.svg())
    said = next(t.text for t in root.iter(f"{SVG}text") if "scale 1" in t.text)
    feet, scale = re.fullmatch(r"([\d.]+) ft, scale 1 : (\d+)", said).groups()
    bars = [r for r in root.iter(f"{SVG}rect") if r.get("height") == "1.2"]
    long = sum(float(r.get("width")) for r in bars)
    assert len(bars) == 5
    assert long == pytest.approx(float(feet) * 304.8 / float(scale), abs=0.01)  # 3 decimals a part


def test_kinds_differ_in_line_not_only_in_colour():
    """Print in grey: dashes, widths and marks still tell the kinds apart."""
    svg = draw_plan(part("cafe_bar")).svg()
    root = ET.fromstring(svg)
    lines = list(root.iter(f"{SVG}polyline"))
    styles = {(p.get("stroke-width"), p.get("stroke-dasharray")) for p in lines}
    assert ("1", None) in styles  # free, heavy
    assert ("0.25", None) in styles  # and its fine companion
    assert ("0.7", "4 1.2 0.6 1.2") in styles  # joint
    assert ("0.8", "3.2 1.4") in styles  # waterfall
    assert ("0.55", None) in styles  # wall


def test_measures_are_to_scale():
    survey = part("wet_room")
    root = ET.fromstring(draw_plan(survey).svg())
    scale = next(t.text for t in root.iter(f"{SVG}text") if "scale 1" in t.text)
    factor = float(scale.rpartition(":")[2])
    heavy = [p for p in root.iter(f"{SVG}polyline") if p.get("stroke-width") == "1"]
    ends = [tuple(map(float, p.split(","))) for p in heavy[0].get("points").split()]
    assert np.hypot(*np.subtract(ends[0], ends[-1])) == pytest.approx(2100 / factor, abs=0.01)


def test_hostile_names_are_only_text():
    s = SurfaceSpec.model_validate({"name": "a", "size": ["1 m", "1 m"]})
    svg = draw_plan(build_survey([s]), title='<script>alert("x")</script>').svg()
    assert "<script>" not in svg
    ET.fromstring(svg)


def test_room_keeps_words_inside_and_apart():
    room = Room(np.array([[0, 0], [40, 0], [40, 20], [0, 20.0]]), [])
    first, second = room.find(14, 5), room.find(14, 5)
    assert first is not None and second is not None
    assert abs(first[0] - second[0]) >= 14 or abs(first[1] - second[1]) >= 5
    assert room.find(50, 5) is None


def test_tiny_and_huge_jobs_still_draw():
    small = SurfaceSpec.model_validate({"name": "a", "size": ["60 mm", "50 mm"]})
    large = SurfaceSpec.model_validate({"name": "b", "size": ["29 m", "2 m"]})
    for specs in ([small], [large], [small, large]):
        ET.fromstring(draw_plan(build_survey(specs)).svg())
