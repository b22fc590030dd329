"""DXF in and out, SVG out, pictures: round trips, units, arcs, and hostile files refused."""

from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ET
from functools import cache

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from pourwright.errors import InputError
from pourwright.panel import Part, Saw, Sheet, cut_plan
from pourwright.panel.dxf_in import MAX_BYTES, read_dxf, shape_part_size
from pourwright.panel.dxf_out import LAYERS, plan_dxf, plan_svg
from pourwright.panel.picture import mm, named, plan_picture, sheet_picture
from pourwright.quantities import write

PARTS = [Part('top "a" & <b>', 1.2, 0.6), Part("strip", 0.6, 0.08, 3), Part("lip", 0.5, 0.012, 2)]
SHEET = Sheet("sheet", 2.44, 1.22, trim=0.006)


@pytest.fixture(scope="module")
def plan():
    return cut_plan(PARTS, [SHEET])


def drawing(fill, unit: int | None = 4) -> bytes:
    doc = ezdxf.new()
    doc.header["$INSUNITS"] = unit or 0
    fill(doc.modelspace())
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue().encode()


class TestOut:
    def test_parts_come_back_at_size(self, plan) -> None:
        back = read_dxf(plan_dxf(plan).encode(), layers=("PART",))
        got = sorted(tuple(sorted(round(v, 6) for v in shape_part_size(s))) for s in back.shapes)
        want = sorted(tuple(sorted((p.length, p.width))) for p in PARTS for _ in range(p.quantity))
        assert got == [pytest.approx(w, abs=1e-6) for w in want]
        assert back.unit == "mm" and back.warnings == ()

    def test_layers_and_cuts(self, plan) -> None:
        doc = ezdxf.read(io.StringIO(plan_dxf(plan)))
        assert set(LAYERS) <= {layer.dxf.name for layer in doc.layers}
        lines = doc.modelspace().query('LWPOLYLINE[layer=="CUT"]')
        assert len(lines) == sum(len(s.cuts) for s in plan.sheets)

    def test_svg_groups(self, plan) -> None:
        root = ET.fromstring(plan_svg(plan))
        groups = {g.get("id") for g in root.iter("{http://www.w3.org/2000/svg}g")}
        assert {"sheet", "part", "cut", "label"} <= groups
        assert root.get("width") == "2440.000mm"


class TestPicture:
    def test_every_piece_and_cut_is_named(self, plan) -> None:
        text = plan_picture(plan).svg()
        root = ET.fromstring(text)
        words = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
        joined = "  ".join(w or "" for w in words)
        for s in plan.sheets:
            for p in s.placements:
                assert p.label in joined
            for c in s.cuts:
                assert str(c.number) in words

    def test_one_sheet(self, plan) -> None:
        d = sheet_picture(plan.sheets[0], plan.saw.kerf)
        ET.fromstring(d.svg())
        assert d.width == 180.0 and d.height > 80

    @pytest.mark.parametrize("units", ["metric", "us"])
    def test_sizes_are_in_the_units_of_the_job(self, plan, units) -> None:
        d = plan_picture(plan, units=units)
        words = [
            t.text or "" for t in ET.fromstring(d.svg()).iter("{http://www.w3.org/2000/svg}text")
        ]
        every = " ".join([*words, d.about])
        first = plan.sheets[0].placements[0]
        if units == "metric":
            assert d.svg() == plan_picture(plan).svg()
            assert "2440 x 1220 mm" in every and " in " not in every.replace("mm in", "")
            return
        assert "8 ft 1/16 in x 4 ft 1/16 in" in every  # 2440 x 1220 mm
        assert (
            f"{write(first.length, 'length', 'us')} x {write(first.width, 'length', 'us')}" in every
        )
        assert "mm" not in every

    def test_a_name_with_a_size_in_it(self) -> None:
        label = "Board 2440 x 1220 mm no. 1"
        assert named(label, SHEET, "metric") == label
        assert named(label, SHEET, "us") == "Board 8 ft 1/16 in x 4 ft 1/16 in no. 1"
        assert named("Off-cut 3", SHEET, "us") == "Off-cut 3"

    def test_dxf_stays_in_millimetres(self, plan) -> None:
        doc = ezdxf.read(io.StringIO(plan_dxf(plan)))
        assert doc.header["$INSUNITS"] == 4  # DXF reference, header section: 4 is millimetres
        first = plan.sheets[0].placements[0]
        labels = [t.dxf.text for t in doc.modelspace().query('TEXT[layer=="LABEL"]')]
        assert any(f"{mm(first.length)} x {mm(first.width)}" in t for t in labels)

    def test_nothing_is_drawn_off_the_page(self, plan) -> None:
        d = plan_picture(plan)
        root = ET.fromstring(d.svg())
        for c in root.iter("{http://www.w3.org/2000/svg}circle"):
            x, y, r = (float(c.get(k) or 0) for k in ("cx", "cy", "r"))
            assert r <= x <= d.width - r and r <= y <= d.height - r


class TestIn:
    @pytest.mark.parametrize(
        ("code", "metre"), [(1, 0.0254), (2, 0.3048), (4, 1e-3), (5, 1e-2), (6, 1.0)]
    )
    def test_units_of_the_header(self, code: int, metre: float) -> None:
        data = drawing(
            lambda m: m.add_lwpolyline([(0, 0), (3, 0), (3, 2), (0, 2)], close=True), code
        )
        assert shape_part_size(read_dxf(data).shapes[0]) == pytest.approx((3 * metre, 2 * metre))

    def test_no_unit_is_said(self) -> None:
        data = drawing(lambda m: m.add_lwpolyline([(0, 0), (300, 0), (300, 200)], close=True), None)
        got = read_dxf(data)
        assert "millimetres" in got.warnings[0]
        assert shape_part_size(got.shapes[0]) == pytest.approx((0.3, 0.2))
        assert shape_part_size(read_dxf(data, unit=0.0254).shapes[0])[0] == pytest.approx(7.62)

    def test_bulges_and_circles(self) -> None:
        def fill(m) -> None:
            m.add_lwpolyline([(0, 0, 0, 0, 0), (100, 0, 0, 0, 1), (100, 40, 0, 0, 0),
                              (0, 40, 0, 0, 1)], close=True)  # fmt: skip
            m.add_circle((50, 20), 10)

        (s,) = read_dxf(drawing(fill)).shapes
        want = 100 * 40 + math.pi * 20**2 - math.pi * 10**2
        # chords within 0.02 mm of arcs of 188 mm in all: at most 4 mm2
        assert Polygon(s.ring, s.holes).area * 1e6 == pytest.approx(want, abs=4)
        assert shape_part_size(s)[0] == pytest.approx(0.14, abs=4e-5)

    def test_clockwise_bulge_bites_in(self) -> None:
        data = drawing(
            lambda m: m.add_lwpolyline(
                [(0, 0, 0, 0, 0), (100, 0, 0, 0, -1), (100, 40, 0, 0, 0), (0, 40, 0, 0, 0)],
                close=True,
            )
        )
        (s,) = read_dxf(data).shapes
        want = 100 * 40 - math.pi * 20**2 / 2
        assert Polygon(s.ring).area * 1e6 == pytest.approx(want, abs=2)

    @settings(deadline=None, max_examples=20)
    @given(st.permutations(range(5)), st.lists(st.booleans(), min_size=5, max_size=5))
    def test_loose_lines_and_arcs_are_chained(self, order, flips) -> None:
        corners = [(0, 0), (100, 0), (100, 50), (50, 80), (0, 50)]
        pairs = [(corners[i], corners[(i + 1) % 5]) for i in range(5)]

        def fill(m) -> None:
            for i in order:
                a, b = pairs[i][::-1] if flips[i] else pairs[i]
                m.add_line(a, b)

        got = read_dxf(drawing(fill))
        assert len(got.shapes) == 1 and got.warnings == ()
        assert Polygon(got.shapes[0].ring).area * 1e6 == pytest.approx(Polygon(corners).area)

    def test_arc_in_a_chain(self) -> None:
        def fill(m) -> None:
            m.add_line((0, 0), (100, 0))
            m.add_line((0, 0), (0, 50))
            m.add_line((100, 0), (100, 50))
            m.add_arc((50, 50), 50, 0, 180)

        (s,) = read_dxf(drawing(fill)).shapes
        assert Polygon(s.ring).area * 1e6 == pytest.approx(5000 + math.pi * 1250, abs=4)

    def test_open_ends_are_told(self) -> None:
        def fill(m) -> None:
            m.add_lwpolyline([(0, 0), (9, 0), (9, 9)], close=True)
            m.add_line((50, 0), (60, 0))
            m.add_text("note")

        w = " ".join(read_dxf(drawing(fill)).warnings)
        assert "1 open end" in w and "1 TEXT" in w

    def test_islands_inside_holes(self) -> None:
        def fill(m) -> None:
            for r in (50, 40, 10):
                m.add_circle((0, 0), r)

        shapes = read_dxf(drawing(fill)).shapes
        assert [len(s.holes) for s in shapes] == [1, 0]


class TestHostile:
    @pytest.mark.parametrize(
        "data",
        [
            b"",
            b"hello",
            b"PK\x03\x04 not a drawing",
            b"\x00" * 5000,
            b"0\nSECTION\n2\nHEADER\n0\nEOF",
            b"0\nSECTION\n" * 5000,
            b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nnan\n20\n1e999\n0\nENDSEC\n0\nEOF\n",
            b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\n0\n20\n0\n40\n1e300\n0\nENDSEC\n0\nEOF\n",
            b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\n0\n20\n0\n40\n-5\n0\nENDSEC\n0\nEOF\n",
        ],
    )
    def test_refused_in_one_line(self, data: bytes) -> None:
        with pytest.raises(InputError) as err:
            read_dxf(data)
        assert "\n" not in str(err.value)

    def test_huge(self) -> None:
        with pytest.raises(InputError, match="8 MB"):
            read_dxf(b"0\nSECTION\n" + b"9" * MAX_BYTES)

    def test_truncated_anywhere(self) -> None:
        good = drawing(lambda m: m.add_circle((0, 0), 50))
        for cut in range(0, len(good), len(good) // 40):
            try:
                read_dxf(good[:cut])
            except InputError:
                continue

    @staticmethod
    @cache
    def _corner() -> bytes:
        """One drawing for all examples: its writer's time stamps vary in length."""
        return drawing(lambda m: m.add_lwpolyline([(0, 0), (9, 0), (9, 9)], close=True))

    @settings(deadline=None, max_examples=30)
    @given(st.data())
    def test_damaged_anywhere(self, data) -> None:
        good = bytearray(self._corner())
        for _ in range(data.draw(st.integers(1, 30))):
            i = data.draw(st.integers(0, len(good) - 1))
            good[i] = data.draw(st.integers(0, 255))
        try:
            read_dxf(bytes(good))
        except InputError as err:
            assert "\n" not in str(err)


class TestShapes:
    ELL = ((0.0, 0.0), (1.2, 0.0), (1.2, 0.3), (0.3, 0.3), (0.3, 0.9), (0.0, 0.9))
    RING = ((0.0, 0.0), (1.0, 0.0), (1.0, 0.6), (0.0, 0.6))
    HOLE = ((0.2, 0.12), (0.8, 0.12), (0.8, 0.48), (0.2, 0.48))

    def test_ells_nest_closer_than_their_boxes(self) -> None:
        from pourwright.panel import faults

        parts = [Part("ell", 1.2, 0.9, 4, outline=self.ELL)]
        sheet = Sheet("s", 2.44, 1.24)
        plan = cut_plan(parts, [sheet], Saw(0.006, "router"), effort=0.5)
        boxes = cut_plan([Part("ell", 1.2, 0.9, 4)], [sheet], Saw(0.006, "router"))
        assert faults(plan, parts) == []
        assert len(plan.sheets) <= len(boxes.sheets)

    def test_small_parts_go_into_the_holes(self) -> None:
        from pourwright.panel import faults

        frame = Part("frame", 1.0, 0.6, outline=self.RING, holes=(self.HOLE,))
        parts = [frame, Part("board", 0.3, 0.25)]
        plan = cut_plan(parts, [Sheet("s", 1.02, 0.62)], Saw(0.006, "router"), effort=0.5)
        assert len(plan.sheets) == 1 and faults(plan, parts) == []

    def test_grain_is_honoured(self) -> None:
        from pourwright.panel import faults

        parts = [Part("ell", 1.2, 0.9, 2, outline=self.ELL, grain=True)]
        plan = cut_plan(parts, [Sheet("s", 2.44, 1.22)], Saw(0.006, "router"), effort=0.5)
        assert faults(plan, parts) == []
        assert not any(p.turned for s in plan.sheets for p in s.placements)

    def test_bad_outline_is_refused(self) -> None:
        bow_tie = ((0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0))
        with pytest.raises(InputError, match="outline"):
            cut_plan([Part("x", 1.0, 1.0, outline=bow_tie)], [SHEET], Saw(0.006, "router"))
