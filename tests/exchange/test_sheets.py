"""Tables in CSV and XLSX: all numbers there, no cell a formula, archives the same each time."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from pourwright.errors import InputError
from pourwright.exchange import (
    Table,
    guarded,
    named,
    plan_tables,
    table_csv,
    tables_xlsx,
    tables_zip,
)
from pourwright.plan import Working
from pourwright.record import read_record

DANGEROUS = ["=1+1", "+1", "-1", "@SUM(A1)", "|x", "%x", "\t=1", "\r=1", "\n=1", " =1", "\u00a0=1",
             "\uff1d1", "\uff0b1", "\uff20x", "=HYPERLINK(\"x\")", "\ufeff=1"]  # fmt: skip


class TestGuard:
    @pytest.mark.parametrize("text", DANGEROUS)
    def test_formulas_lose_their_start(self, text: str) -> None:
        assert guarded(text).startswith("'")

    @pytest.mark.parametrize("text", ["", "sand", "a=b", "1 L", "'x", "°C", "ivory, 10 %"])
    def test_plain_words_stay(self, text: str) -> None:
        assert guarded(text) == text

    @settings(deadline=None, max_examples=100)
    @given(st.text(max_size=60))
    def test_never_starts_like_a_formula_and_is_stable(self, text: str) -> None:
        out = guarded(text)
        bare = out.lstrip(" \t\r\n\u00a0\ufeff")
        assert not bare or bare[0] not in "=+-@|%\uff1d\uff0b\uff0d\uff20"
        assert guarded(out) == out
        assert not any(ord(c) < 32 and c not in "\t\r\n" for c in out)


def hostile(texts: list[str]) -> Table:
    return Table("t=x", ("=head", "n"), tuple((t, 1.5) for t in texts))


class TestCsv:
    def test_reads_back_with_numbers_as_numbers(self, work: Working) -> None:
        for t in plan_tables(work.plan):
            rows = list(csv.reader(io.StringIO(table_csv(t).removeprefix("\ufeff"))))
            assert rows[0] == list(t.head)
            assert len(rows) == len(t.rows) + 1
        cups = named(plan_tables(work.plan), "cups")
        text = table_csv(cups)
        rows = list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))
        planned = [q for c in work.plan.coats for q in c.cups]
        assert [float(r["a_g"]) for r in rows] == [q.a_g for q in planned]

    def test_hostile_cells_are_guarded_everywhere(self) -> None:
        rows = list(csv.reader(io.StringIO(table_csv(hostile(DANGEROUS)).removeprefix("\ufeff"))))
        for row in rows:
            assert row[0].startswith("'")

    def test_the_same_tables_give_the_same_archive(self, work: Working) -> None:
        found = plan_tables(work.plan)
        one, two = tables_zip(found), tables_zip(found)
        assert one == two
        with zipfile.ZipFile(io.BytesIO(one)) as z:
            assert z.namelist() == [f"{t.name}.csv" for t in found]
            assert z.read("cups.csv").decode("utf-8") == table_csv(named(found, "cups"))

    def test_unknown_table_is_named(self, work: Working) -> None:
        with pytest.raises(InputError, match="surfaces"):
            named(plan_tables(work.plan), "nothing")


class TestXlsx:
    def test_reopened_it_holds_every_cell(self, work: Working, folder: Path) -> None:
        record = read_record(folder / "cafe_bar.record.json")
        found = plan_tables(work.plan, record)
        book = load_workbook(io.BytesIO(tables_xlsx(found)))
        assert book.sheetnames == [t.name for t in found]
        assert "record" in book.sheetnames
        for t in found:
            rows = list(book[t.name].iter_rows(values_only=True))
            assert rows[0] == t.head
            assert len(rows) == len(t.rows) + 1
            for given_row, read in zip(t.rows, rows[1:], strict=True):
                for a, b in zip(given_row, read, strict=True):
                    if isinstance(a, float):
                        assert b == pytest.approx(a, rel=1e-14)
                    elif isinstance(a, datetime):
                        assert b == a.replace(microsecond=0)
                    elif isinstance(a, str):
                        assert (b or "") == guarded(a)
                    else:
                        assert b == a

    def test_no_cell_is_a_formula_even_inside_the_file(self) -> None:
        raw = tables_xlsx([hostile(DANGEROUS), hostile(["x"])])
        with zipfile.ZipFile(io.BytesIO(raw)) as z:
            sheets = [z.read(n).decode("utf-8") for n in z.namelist() if "worksheets" in n]
        assert len(sheets) == 2
        assert all("<f" not in s for s in sheets)
        book = load_workbook(io.BytesIO(raw))
        for sheet in book:
            for row in sheet.iter_rows():
                for c in row:
                    assert c.data_type != "f"

    def test_odd_values_and_names(self) -> None:
        odd = Table("a/b*c:[x]?" + "y" * 40, ("v",), ((float("nan"),), (None,), (True,),
                    (date(2027, 8, 12),), ("x" * 40_000,), ("\x00\x01a",)))  # fmt: skip
        book = load_workbook(io.BytesIO(tables_xlsx([odd, odd])))
        assert len(set(book.sheetnames)) == 2 and all(len(n) <= 31 for n in book.sheetnames)
        values = [r[0] for r in book.worksheets[0].iter_rows(min_row=2, values_only=True)]
        assert values[0] is None and values[2] is True and len(values[4]) == 32_767
        assert values[5] == "a"
        assert load_workbook(io.BytesIO(tables_xlsx([]))).sheetnames == ["empty"]


def test_hostile_names_in_a_job_come_out_harmless(work: Working) -> None:
    bad = work.plan.model_copy(update={"name": "=cmd()", "warnings": ["@x", "+y"]})
    text = table_csv(named(plan_tables(bad), "about"))
    assert "'=cmd()" in text and "'@x" in text and "'+y" in text
