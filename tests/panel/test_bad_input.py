"""Bad input: one line that names the field, the value, the limit and the remedy."""

from __future__ import annotations

import pytest

from pourwright import calc
from pourwright.errors import InputError
from pourwright.panel import Part, Saw, Sheet, cut_plan

FULL = Sheet("full", 2.44, 1.22)


def refused(*args, **kw) -> str:
    with pytest.raises(InputError) as err:
        cut_plan(*args, **kw)
    line = str(err.value)
    assert "\n" not in line
    return line


class TestParts:
    def test_larger_than_any_sheet_is_named(self) -> None:
        line = refused([Part("ok", 0.5, 0.5), Part("bar top", 2.6, 0.65)], [FULL])
        assert "bar top" in line and "2600 x 650" in line and "joint" in line

    def test_grain_counts(self) -> None:
        line = refused([Part("door", 0.6, 1.3, grain=True)], [Sheet("s", 2.44, 1.22)])
        assert "grain" in line
        assert len(cut_plan([Part("door", 0.6, 1.3)], [FULL]).sheets) == 1

    def test_trim_counts(self) -> None:
        line = refused([Part("a", 2.44, 1.22)], [Sheet("s", 2.44, 1.22, trim=0.005)])
        assert "2430 x 1210" in line

    @pytest.mark.parametrize("size", [0.0, -0.5, float("nan"), float("inf"), 25.0, 1e-5])
    def test_sizes(self, size: float) -> None:
        assert "parts.a.length" in refused([Part("a", size, 0.5)], [FULL])
        assert "parts.a.width" in refused([Part("a", 0.5, size)], [FULL])
        assert "sheets.s.width" in refused([Part("a", 0.5, 0.5)], [Sheet("s", 2.44, size)])

    @pytest.mark.parametrize("n", [0, -3])
    def test_quantity(self, n: int) -> None:
        assert "parts.a.quantity" in refused([Part("a", 0.5, 0.5, n)], [FULL])

    def test_thousands_are_refused_at_once(self) -> None:
        assert "2000" in refused([Part("a", 0.05, 0.05, 10**9)], [FULL])

    def test_names_stand_once(self) -> None:
        assert "Rename" in refused([Part("a", 0.5, 0.5), Part("a", 0.4, 0.4)], [FULL])

    def test_nothing_to_cut(self) -> None:
        assert "parts" in refused([], [FULL])


class TestSheetsAndSaw:
    def test_material_mismatch(self) -> None:
        line = refused(
            [Part("a", 0.5, 0.5, material="plywood", thickness=0.018)],
            [Sheet("s", 2.44, 1.22, material="mdf")],
        )
        assert "plywood" in line and "18 mm" in line

    def test_thickness_mismatch(self) -> None:
        line = refused(
            [Part("a", 0.5, 0.5, material="mdf", thickness=0.022)],
            [Sheet("s", 2.44, 1.22, material="mdf", thickness=0.018)],
        )
        assert "22 mm" in line

    def test_kerf_larger_than_a_part(self) -> None:
        line = refused([Part("a", 0.5, 0.02)], [FULL], Saw(0.032))
        assert "kerf" in line and "32 mm" in line and "a of 500 x 20 mm" in line

    @pytest.mark.parametrize("kerf", [-1e-3, float("nan"), float("inf")])
    def test_kerf(self, kerf: float) -> None:
        assert "saw.kerf" in refused([Part("a", 0.5, 0.5)], [FULL], Saw(kerf))

    def test_method(self) -> None:
        line = refused([Part("a", 0.5, 0.5)], [FULL], Saw(0.003, "laser"))  # type: ignore[arg-type]
        assert "laser" in line

    @pytest.mark.parametrize("trim", [-0.001, 0.61, float("nan")])
    def test_trim(self, trim: float) -> None:
        sheet = Sheet("s", 2.44, 1.22, trim=trim)
        assert "sheets.s.trim" in refused([Part("a", 0.5, 0.5)], [sheet])

    def test_stock_too_small_says_how_much_went_in(self) -> None:
        line = refused([Part("a", 1.2, 1.2, 5)], [Sheet("s", 2.44, 1.22, quantity=1)])
        assert "2 of 5" in line

    def test_none_in_stock(self) -> None:
        assert "stock" in refused([Part("a", 0.5, 0.5)], [Sheet("s", 2.44, 1.22, quantity=0)])

    def test_cost(self) -> None:
        assert "cost" in refused([Part("a", 0.5, 0.5)], [Sheet("s", 2.44, 1.22, cost=-1.0)])
        assert "cost" in refused([Part("a", 0.5, 0.5)], [Sheet("s", 2.44, 1.22, cost=0.0)])

    def test_no_sheets(self) -> None:
        assert "sheets" in refused([Part("a", 0.5, 0.5)], [])


class TestCalc:
    def test_too_large_part(self) -> None:
        with pytest.raises(InputError, match="bar top"):
            calc.run(
                "panel.cut",
                {
                    "parts": [{"name": "bar top", "length": "4.6 m", "width": "650 mm"}],
                    "sheets": [{"name": "s"}],
                },
            )

    @pytest.mark.parametrize("value", [0, -5, "nan", "1e9 mm", None, True, [1]])
    def test_bad_length(self, value) -> None:
        with pytest.raises(InputError):
            calc.run(
                "panel.cut",
                {
                    "parts": [{"name": "a", "length_mm": value, "width_mm": 100}],
                    "sheets": [{"name": "s"}],
                },
            )
