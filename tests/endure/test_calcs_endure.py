"""The endurance calculations through the registry: examples, ranges, one-line errors."""

from __future__ import annotations

import pytest

from pourwright.calc import get, run
from pourwright.errors import InputError

NAMES = tuple(
    f"endure.{x}"
    for x in ("bow", "edge", "moisture", "span", "twist", "heat", "weight", "axle", "heel")
)


@pytest.mark.parametrize("name", NAMES)
def test_examples_run_with_sources_cautions_and_checks(name: str) -> None:
    result = run(name, get(name).example)
    assert result.sources and result.cautions
    fields = result.value.model_dump()
    for key, spread in result.range.items():
        assert key in fields and spread.p05 <= spread.p50 <= spread.p95
    assert fields["checks"]
    assert run(name, get(name).example) == result
    result.model_dump_json()
    get(name).schema()


@pytest.mark.parametrize(
    ("name", "data", "field"),
    [
        ("endure.bow", {"core_mm": -18}, "core_mm"),
        ("endure.bow", {"core": "cardboard"}, "material"),
        ("endure.bow", {"resin": "mdf"}, "material"),
        ("endure.bow", {"film_mm": "nan"}, "film_mm"),
        ("endure.bow", {"coupon_bow_mm": -2}, "coupon_bow_mm"),
        ("endure.moisture", {"core": "xps"}, "core"),
        ("endure.moisture", {"humidity_to_percent": 120}, "humidity_to_percent"),
        ("endure.span", {"span_mm": -1}, "span_mm"),
        ("endure.heat", {"pan_degC": 2000}, "pan_degC"),
        ("endure.twist", {"twist_deg_m": -2}, "twist_deg_m"),
        ("endure.weight", {"limit_kg": -1}, "limit_kg"),
        ("endure.weight", {"cut_out_m2": 5}, "piece.area"),
        (
            "endure.axle",
            {"loads": [{"mass_kg": 60, "along_m": 1}], "wheelbase_m": 3.6,
             "rear_now_kg": 2100, "rear_plate_kg": 2000},
            "rear axle.plate",
        ),
        ("endure.axle", {"loads": [], "wheelbase_m": 3.6}, "loads"),
        (
            "endure.heel",
            {"loads": [{"mass_kg": 9000, "along_m": 0}], "displacement_kg": 16500,
             "metacentric_m": 0.6, "waterplane_m2": 31, "waterline_m": 16.5},
            "mass table",
        ),
    ],
)  # fmt: skip
def test_bad_input_is_one_line(name: str, data: dict, field: str) -> None:
    with pytest.raises(InputError) as err:
        run(name, data)
    assert err.value.field == field
    assert "\n" not in err.value.line()


def test_measured_text_is_read() -> None:
    inches = run("endure.bow", {"core_mm": "3/4 in", "length_mm": "48 in"}).value
    plain = run("endure.bow", {"core_mm": 19.05, "length_mm": 1219.2}).value
    assert inches.bow_mm == pytest.approx(plain.bow_mm, rel=1e-9)


def test_coupon_narrows_the_range() -> None:
    wide = run("endure.bow", {})
    tight = run(
        "endure.bow",
        {"coupon_bow_mm": 4.0, "coupon_length_mm": 600, "coupon_film_mm": 3, "coupon_board_mm": 6},
    )

    def width(r) -> float:
        s = r.range["mismatch_percent"]
        return (s.p95 - s.p05) / s.p50

    assert width(tight) < 0.6 * width(wide)
    assert any("No coupon" in w for w in wide.warnings)


def test_back_film_turns_the_answer() -> None:
    bare = run("endure.bow", {})
    coated = run("endure.bow", {"back_mm": 3.0})
    assert bare.value.back_film_for_flat_mm == pytest.approx(3.0, abs=0.01)
    assert abs(coated.value.bow_mm) < 0.2 * bare.value.bow_mm


def test_span_without_a_span_or_overhang() -> None:
    result = run("endure.span", {"span_mm": 0, "overhang_mm": 250})
    assert result.value.sag_mm is None and result.value.overhang_sag_mm is not None


def test_foam_without_skins_is_warned_about() -> None:
    assert any("skin" in w for w in run("endure.span", {"core": "xps", "core_mm": 40}).warnings)


def test_trivet_rescues_the_film() -> None:
    bare = run("endure.heat", {}).value
    corked = run("endure.heat", {"trivet_mm": 20}).value
    assert bare.passed == "no"
    assert corked.surface_peak_degC is not None and corked.surface_peak_degC < 45


def test_comparison_with_stone() -> None:
    value = run("endure.weight", {}).value
    names = [r.name for r in value.comparison]
    assert "30 mm granite slab" in names and names.index("this build-up") < names.index(
        "30 mm granite slab"
    )
    assert [r.mass_kg for r in value.comparison] == sorted(r.mass_kg for r in value.comparison)


def test_trailer_coupling() -> None:
    value = run(
        "endure.axle",
        {"loads": [{"mass_kg": 50, "along_m": 1.5}], "wheelbase_m": 3.0, "trailer": True,
         "front_now_kg": 60, "front_plate_kg": 100},
    ).value  # fmt: skip
    assert value.front_change_kg == pytest.approx(25.0)
    assert value.front_spare_kg == pytest.approx(15.0)
