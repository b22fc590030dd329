"""Loading the catalogue, a user's products over it, and errors that name file, material, key."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from pourwright import catalogue
from pourwright.calc.sampling import Draws
from pourwright.catalogue import Catalogue
from pourwright.errors import InputError

PRIMER = "primer-acrylic-dark"


def _file(folder: Path, text: str, name: str = "own.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_get_and_of_kind() -> None:
    primer = catalogue.get(PRIMER)
    assert primer.kind == "primer"
    assert primer in catalogue.of_kind("primer")
    assert primer["coverage_L_m2"] == primer.prop("coverage_L_m2").value
    assert "coverage_L_m2" in primer
    assert primer.get("no_such_m", 7.0) == 7.0
    assert any("[common practice]" in s for s in primer.sources())
    assert len(primer.sources("coverage_L_m2")) == 1


def test_nearest_names_are_suggested() -> None:
    with pytest.raises(InputError, match=PRIMER):
        catalogue.get("primer-acrylik-dark")
    with pytest.raises(InputError, match="'primer'"):
        catalogue.of_kind("primers")
    with pytest.raises(InputError, match="kind 'primer' and a 'topcoat'"):
        catalogue.get(PRIMER, kind="topcoat")
    with pytest.raises(InputError, match="no such value"):
        catalogue.get(PRIMER).prop("shininess")


def test_kinds_are_read_only_when_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    from pourwright.catalogue import materials, tables

    seen: list[str] = []
    original = tables.read_tables

    def spy(path: Path) -> list[dict]:
        seen.append(path.name)
        return original(path)

    monkeypatch.setattr(tables, "read_tables", spy)
    materials._shipped.cache_clear()
    catalogue.load().of_kind("primer")
    assert seen == ["primers.toml"]


def test_samples_follow_the_range() -> None:
    prop = catalogue.get(PRIMER).prop("dry_h")
    draws = prop.sample(Draws(7, 4001), "primer.dry_h")
    assert np.quantile(draws, [0.05, 0.5, 0.95]) == pytest.approx(
        [prop.low, prop.value, prop.high], rel=0.01
    )
    assert np.array_equal(draws, prop.sample(Draws(7, 4001), "primer.dry_h"))


def test_same_id_replaces_what_is_listed_and_marks_it(tmp_path: Path) -> None:
    own = _file(
        tmp_path,
        f"""
[[material]]
id = "{PRIMER}"
name = "Shop primer"
notes = ["Our own tin."]
price = {{ middle = "EUR 19.90", per = "L" }}
[material.facts]
coats = 3
[material.properties]
coverage_L_m2 = {{ value = "400 ft2/gal", low = 0.09, high = 0.12 }}
dry_h = "3 h 30 min"
""",
    )
    before = catalogue.get(PRIMER)
    mine = catalogue.load([own])
    merged = mine.get(PRIMER)
    assert merged.origin == "user"
    assert merged.name == "Shop primer"
    assert merged.summary == before.summary
    assert merged["coverage_L_m2"] == pytest.approx(3.785411784 / (400 * 0.09290304), rel=1e-12)
    assert merged.prop("coverage_L_m2").mark == "user"
    assert "own.toml" in merged.prop("coverage_L_m2").source
    assert merged["dry_h"] == 3.5
    assert any("dry_h" in n for n in merged.notes)
    assert merged.prop("recoat_h") == before.prop("recoat_h")
    assert merged.facts["coats"] == 3
    assert merged.facts["base"] == before.facts["base"]
    assert set(before.cautions) <= set(merged.cautions)
    assert merged.price is not None and merged.price.middle.amount == Decimal("19.90")
    assert merged.price.mark == "user"
    assert catalogue.get(PRIMER) == before
    assert merged in mine.of_kind("primer")
    assert [m.id for m in mine.of_kind("primer")] == [m.id for m in catalogue.of_kind("primer")]


def test_new_material_like_a_generic_one(tmp_path: Path) -> None:
    own = _file(
        tmp_path,
        f"""
[[material]]
id = "quick-primer"
like = "{PRIMER}"
name = "Quick primer"
summary = "Dries fast."
[material.properties]
dry_h = {{ value = 2, low = 1.5, high = 3 }}
""",
    )
    mine = catalogue.load([own])
    assert mine.get("quick-primer")["dry_h"] == 2
    assert mine.get("quick-primer")["coverage_L_m2"] == catalogue.get(PRIMER)["coverage_L_m2"]
    assert "quick-primer" in mine
    assert "quick-primer" not in catalogue.default()
    assert mine.ids("primer")[-1] == "quick-primer"


def test_later_files_win_and_build_on_earlier_ones(tmp_path: Path) -> None:
    first = _file(
        tmp_path, f'[[material]]\nid = "{PRIMER}"\nname = "One"\nsummary = "S"\n', "a.toml"
    )
    second = _file(tmp_path, f'[[material]]\nid = "{PRIMER}"\nname = "Two"\n', "b.toml")
    merged = catalogue.load([first, second]).get(PRIMER)
    assert (merged.name, merged.summary) == ("Two", "S")


def test_missing_values_of_a_new_material_are_asked_for_by_name(tmp_path: Path) -> None:
    own = _file(
        tmp_path,
        '[[material]]\nid = "x"\nkind = "primer"\nname = "X"\nsummary = "S"\n'
        "[material.properties]\ndry_h = 3\n",
    )
    with pytest.raises(InputError) as caught:
        catalogue.load([own])
    assert "coverage_L_m2" in caught.value.limit
    assert "dry_h" not in caught.value.limit
    assert "like" in caught.value.remedy


HEAD = f'[[material]]\nid = "{PRIMER}"\n'


@pytest.mark.parametrize(
    ("text", "field", "says"),
    [
        ("not toml", "own.toml", "line 1"),
        ("[resin]\n", "own.toml: resin", "[[material]]"),
        ("material = 3\n", "own.toml", "[[material]]"),
        ('[[material]]\nname = "x"\n', "own.toml: material[0].id", "id has"),
        ('[[material]]\nid = "Has Space"\n', "own.toml: material[0].id", "lower-case"),
        ('[[material]]\nid = "x"\n', "own.toml: x.kind", "needed"),
        ('[[material]]\nid = "x"\nkind = "primr"\n', "own.toml: x.kind", "'primer'"),
        ('[[material]]\nid = "x"\nlike = "primer-acrylic"\n', "own.toml: x.like", PRIMER),
        (HEAD + HEAD, f"own.toml: {PRIMER}", "twice"),
        (HEAD + 'kind = "topcoat"\n', f"own.toml: {PRIMER}.kind", "kind 'primer'"),
        (HEAD + 'nmae = "x"\n', f"own.toml: {PRIMER}.nmae", "'name'"),
        (HEAD + "name = 3\n", f"own.toml: {PRIMER}.name", "text"),
        (HEAD + 'notes = "x"\n', f"own.toml: {PRIMER}.notes", "list of texts"),
        (HEAD + "properties = 3\n", f"own.toml: {PRIMER}.properties", "table"),
        (HEAD + "properties.dry_hours = 3\n", f"own.toml: {PRIMER}.dry_hours", "dry_h"),
        (HEAD + "properties.coverage_fl_oz_ft2 = 3\n", f"own.toml: {PRIMER}.coverage_fl_oz_ft2",
         "coverage_L_m2"),
        (HEAD + "properties.coverag_L_m2 = 3\n", f"own.toml: {PRIMER}.coverag_L_m2",
         "'coverage_L_m2'"),
        (HEAD + 'properties.dry_h = "3 mm"\n', f"own.toml: {PRIMER}.dry_h.value", "length"),
        (HEAD + "properties.dry_h = nan\n", f"own.toml: {PRIMER}.dry_h.value", "finite"),
        (HEAD + "properties.dry_h = true\n", f"own.toml: {PRIMER}.dry_h.value", "number"),
        (HEAD + "properties.dry_h = { low = 3 }\n", f"own.toml: {PRIMER}.dry_h.value", "missing"),
        (HEAD + "properties.dry_h = { value = 3, low = 4 }\n", f"own.toml: {PRIMER}.dry_h",
         "between"),
        (HEAD + "properties.dry_h = { value = 3, lo = 4 }\n", f"own.toml: {PRIMER}.dry_h.lo",
         "value, low, high"),
        (HEAD + 'properties.dry_h = { value = 3, mark = "sure" }\n',
         f"own.toml: {PRIMER}.dry_h.mark", "published"),
        (HEAD + 'properties.dry_h = { value = 3, mark = "published", source = "" }\n',
         f"own.toml: {PRIMER}.dry_h.source", "source"),
        (HEAD + "properties.dry_h = { value = 3, low = 0, high = 4, log = true }\n",
         f"own.toml: {PRIMER}.dry_h.low", "more than 0"),
        (HEAD + 'price = "EUR 3"\n', f"own.toml: {PRIMER}.price", "middle"),
        (HEAD + 'price = { middle = "3", per = "L" }\n', f"own.toml: {PRIMER}.price.middle",
         "currency"),
        (HEAD + 'price = { middle = "EUR 3", low = "EUR 4", per = "L" }\n',
         f"own.toml: {PRIMER}.price", "between"),
        (HEAD + "facts = 3\n", f"own.toml: {PRIMER}.facts", "table"),
        (HEAD + "properties.dry_h = " + "9" * 400 + "\n", f"own.toml: {PRIMER}.dry_h.value",
         "finite"),
        (HEAD + "properties.dry_h = " + "9" * 5000 + "\n", "own.toml", "not valid TOML"),
        (HEAD + "facts = " + "[" * 5000 + "]" * 5000 + "\n", "own.toml", "not valid TOML"),
        (HEAD + 'properties.dry_h = "9**9**9"\n', f"own.toml: {PRIMER}.dry_h.value", "plain"),
    ],
)  # fmt: skip
def test_a_broken_file_gives_one_line_and_changes_nothing(
    tmp_path: Path, text: str, field: str, says: str
) -> None:
    good = _file(tmp_path, HEAD + 'name = "Good"\n', "good.toml")
    start = catalogue.load([good])
    with pytest.raises(InputError) as caught:
        start.with_files([_file(tmp_path, text)])
    err = caught.value
    assert err.field == field
    assert says in f"{err.field} {err.limit}. {err.remedy}"
    assert err.line().isprintable()
    assert start.get(PRIMER).name == "Good"
    assert catalogue.get(PRIMER).name != "Good"


def test_unreadable_files(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        catalogue.load([tmp_path / "absent.toml"])
    with pytest.raises(InputError, match="cannot be read"):
        catalogue.load([tmp_path])
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="not valid TOML"):
        catalogue.load([binary])


def test_kelvin_text_is_not_guessed(tmp_path: Path) -> None:
    text = '[[material]]\nid = "mdf"\nproperties.service_max_K = "75 degC"\n'
    if "mdf" not in catalogue.default():
        pytest.skip("the catalogue has no core called mdf yet")
    if "service_max_K" not in catalogue.get("mdf"):
        pytest.skip("cores no longer state a temperature in K")
    with pytest.raises(InputError, match="Write it in K"):
        catalogue.load([_file(tmp_path, text)])


def test_an_empty_file_is_no_error(tmp_path: Path) -> None:
    assert isinstance(catalogue.load([_file(tmp_path, "")]), Catalogue)
