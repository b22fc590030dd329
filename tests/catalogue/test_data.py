"""The shipped data: complete, in order, marked, cautioned and consistent."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from pourwright import catalogue
from pourwright.catalogue import Material
from pourwright.catalogue.materials import DATA, KINDS
from pourwright.quantities import read
from pourwright.quantities.suffix import suffix_unit

FILES = sorted(DATA.glob("*.toml"))
OURS = ("primer", "topcoat", "sheet", "set", "consumable")


def _all(kinds: tuple[str, ...]) -> list[Material]:
    return [m for k in kinds for m in catalogue.of_kind(k)]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_file_loads(path: Path) -> None:
    kind = path.stem.replace("-", "_").partition("_")[0].removesuffix("s")
    assert catalogue.of_kind(kind)


def test_ids_are_unique_over_all_kinds() -> None:
    ids = [m.id for k in catalogue.default().kinds() for m in catalogue.of_kind(k)]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("material", _all(OURS), ids=lambda m: m.id)
def test_every_value_is_honest(material: Material) -> None:
    assert material.kind in KINDS
    for prop in material.properties.values():
        assert prop.low <= prop.value <= prop.high
        assert prop.source
        assert suffix_unit(prop.key) or prop.key in ("solvent_mass_fraction", "gloss_60")
    assert material.price is not None
    assert "illustrative" in material.price.source


@pytest.mark.parametrize("material", _all(("primer", "topcoat", "set")), ids=lambda m: m.id)
def test_what_can_hurt_says_so(material: Material) -> None:
    assert material.cautions


def test_isocyanate_and_flame_are_warned_of() -> None:
    for coat in catalogue.of_kind("topcoat"):
        words = " ".join(coat.cautions).lower()
        assert ("isocyanate" in words) == coat.facts["isocyanate"]
        if coat["solvent_mass_fraction"] > 0.2:
            assert "flammable" in words
        shares = coat.facts["solvents"].values()
        assert sum(shares) == pytest.approx(1.0) or not shares


def test_solvents_are_known_limits() -> None:
    limits = set(catalogue.default().ids("limit"))
    for coat in catalogue.of_kind("topcoat"):
        assert set(coat.facts["solvents"]) <= limits


def test_sheets_belong_to_cores_that_exist() -> None:
    cores = set(catalogue.default().ids("core"))
    for sheet in catalogue.of_kind("sheet"):
        assert set(sheet.facts["cores"]) <= cores
        assert sheet["length_m"] >= sheet["width_m"] > 0
        assert sheet.facts["price_thickness_mm"] in sheet.facts["thicknesses_mm"]
        assert sheet.facts["grain"] in ("length", "none")
    assert {c for s in catalogue.of_kind("sheet") for c in s.facts["cores"]} == cores
    imperial = catalogue.get("sheet-mdf-8x4ft")
    assert imperial["length_m"] == read("8 ft", "length")
    assert imperial["width_m"] == read("4 ft", "length")


def test_sets_hold_their_ratio_and_large_ones_cost_less_per_litre() -> None:
    classes = {"coating": (1, 1), "art": (1, 1), "casting": (2, 1)}
    for name, (a, b) in classes.items():
        sets = [s for s in catalogue.of_kind("set") if s.facts["set_class"] == name]
        assert len(sets) >= 3
        for each in sets:
            assert each.facts["ratio"] == f"{a}:{b}"
            assert each["a_L"] / each["b_L"] == pytest.approx(a / b, rel=1e-6)
            assert each["volume_L"] == pytest.approx(each["a_L"] + each["b_L"], abs=2e-6)
        smallest = min(sets, key=lambda s: s["volume_L"])
        largest = max(sets, key=lambda s: s["volume_L"])
        assert _per_litre(largest) < _per_litre(smallest)
    gallons = catalogue.get("set-coating-us-2gal")
    assert gallons["volume_L"] == pytest.approx(read("2 US gal", "volume") * 1e3, abs=1e-6)


def _per_litre(each: Material) -> Decimal:
    assert each.price is not None
    return each.price.middle.amount / Decimal(each["volume_L"])


def test_primers_practice() -> None:
    # Common practice: two coats, light sanding between, about 4 h drying.
    primer = catalogue.get("primer-acrylic-dark")
    assert primer.facts["coats"] == 2
    assert primer.facts["sand_between"]
    assert primer["dry_h"] == 4
    assert primer["recoat_h"] <= primer["dry_h"]


def test_cups_grow() -> None:
    cups = [c for c in catalogue.of_kind("consumable") if c.facts["use"] == "cup"]
    sizes = [c["capacity_mL"] for c in cups]
    assert sizes == sorted(sizes)
    for cup in cups:
        assert cup["working_mL"] < cup["capacity_mL"]
        assert cup["left_mL"] < 0.05 * cup["working_mL"]
    uses = {c.facts["use"] for c in catalogue.of_kind("consumable")}
    assert uses >= {"cup", "stick", "spreader", "gloves", "tape", "sheeting", "blade"}
