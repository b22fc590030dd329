"""Pictures: well-formed, true numbers, escaped, and told in words."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from pourwright.calc.base import Spread
from pourwright.endure.layers import Layer
from pourwright.endure.picture import bow_picture, weight_picture
from pourwright.errors import InputError

ROWS = [
    Layer("flood <coat> & co", "coat", 0.002, 2.8e9),
    Layer("primer", "coat", 0.0003, 2.8e9),
    Layer("MDF", "core", 0.018, 3e9),
]


@pytest.mark.parametrize(
    "bow",
    [
        Spread(p05=0.002, p50=0.0074, p95=0.02),
        Spread(p05=-0.008, p50=-0.004, p95=0.0003),
        Spread(p05=0.0, p50=0.0, p95=0.0),
    ],
)
def test_bow_picture_is_svg_with_the_numbers(bow: Spread) -> None:
    svg = bow_picture(ROWS, 1.2, bow, 0.0024, "Leg A", "Coat the back.").svg()
    root = ElementTree.fromstring(svg)
    words = " ".join(root.itertext())
    assert f"{1000 * abs(bow.p50):.1f} mm" in words and "2.4 mm" in words
    assert "Coat the back." in words and "flood <coat> & co" in words
    assert "nan" not in svg and "inf" not in svg


def test_curve_reaches_the_height_it_says() -> None:
    # the drawn rise of the underside over the stated exaggeration is the bow
    svg = bow_picture(ROWS, 1.2, Spread(p05=0.005, p50=0.010, p95=0.020), 0.002).svg()
    root = ElementTree.fromstring(svg)
    ns = {"s": "http://www.w3.org/2000/svg"}
    words = " ".join(root.itertext())
    times = float(words.split("drawn about ")[1].split(" times")[0])
    rings = root.findall("s:polygon", ns)
    core = [tuple(map(float, p.split(","))) for p in rings[2].get("points", "").split()]
    rise = max(y for _, y in core) - min(y for _, y in core[61:])
    width = max(x for x, _ in core) - min(x for x, _ in core)
    # the factor is printed to a whole number of about 12
    assert rise / width * 1200 / times == pytest.approx(10.0, rel=0.05)


def test_every_film_has_its_own_tone_and_every_layer_its_number_twice() -> None:
    # the same film on face and back is one tone; two coats of one resin are two
    rows = [
        Layer("topcoat", "coat", 0.00006, 2e9),
        Layer("resin", "coat", 0.0012, 2.8e9),
        Layer("resin", "coat", 0.0003, 2.8e9),
        Layer("primer", "coat", 0.0001, 2.8e9),
        Layer("glass", "skin", 0.0006, 1.5e10),
        Layer("foam", "core", 0.02, 9e7),
        Layer("glass", "skin", 0.0006, 1.5e10),
        Layer("resin", "back", 0.0012, 2.8e9),
    ]
    svg = bow_picture(rows, 1.2, Spread(p05=0.001, p50=0.002, p95=0.003), 0.0024).svg()
    root = ElementTree.fromstring(svg)
    ns = {"s": "http://www.w3.org/2000/svg"}
    drawn = [p for p in root.findall("s:polygon", ns) if p.get("stroke") != "none"]
    fills = [str(p.get("fill")) for p in drawn]
    assert len(fills) == len(rows)
    assert len(set(fills[:4])) == 4 and fills[7] == fills[1]
    assert fills[4] == fills[6] not in fills[:4]
    slice_ = [r for r in root.findall("s:rect", ns) if r.get("width") == "9"]
    assert [r.get("fill") for r in slice_ if "url" not in str(r.get("fill"))] == fills
    texts = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
    for k in range(1, len(rows) + 1):
        assert texts.count(str(k)) == 2
    # a number stands on its own layer: its disc's centre lies between the layer's two edges
    discs = root.findall("s:circle", ns)[: len(rows)]
    for disc, ring in zip(discs, drawn, strict=True):
        x, y = float(str(disc.get("cx"))), float(str(disc.get("cy")))
        at = [tuple(map(float, q.split(","))) for q in str(ring.get("points")).split()]
        near = sorted(at, key=lambda q: abs(q[0] - x))[:2]
        assert min(q[1] for q in near) < y < max(q[1] for q in near)


def test_no_weight_stands_across_the_limit() -> None:
    rows = [(f"board {k}", 10.0 + 3.0 * k) for k in range(12)]
    root = ElementTree.fromstring(weight_picture(rows, "board 2", 30.0).svg())
    ns = {"s": "http://www.w3.org/2000/svg"}
    dashed = next(x for x in root.findall("s:line", ns) if x.get("stroke-dasharray"))
    limit = float(str(dashed.get("x1")))
    said = [t for t in root.findall("s:text", ns) if str(t.text).endswith(" kg")]
    weights = [t for t in said if not str(t.text).startswith("limit")]
    assert len(weights) == 12
    for t in weights:
        x = float(str(t.get("x")))
        # 1.3 mm a letter at this size, measured on the drawn picture
        assert x > limit or x + 1.3 * len(str(t.text)) < limit


def test_weight_picture_marks_the_chosen_one_and_the_limit() -> None:
    rows = [("ply & film", 12.0), ("this build-up", 20.0), ("granite", 97.0)]
    svg = weight_picture(rows, "this build-up", 15.0).svg()
    root = ElementTree.fromstring(svg)
    words = " ".join(root.itertext())
    assert "limit 15 kg" in words and "97.0 kg" in words and "ply & film" in words


@pytest.mark.parametrize(
    "call",
    [
        lambda: bow_picture(ROWS, 0.0, Spread(p05=0, p50=0, p95=0), 0.002),
        lambda: weight_picture([], "x"),
        lambda: weight_picture([("x", -1.0)], "x"),
    ],
)
def test_bad_input(call) -> None:
    with pytest.raises(InputError):
        call()
