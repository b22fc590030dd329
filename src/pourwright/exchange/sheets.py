"""Tables as CSV and XLSX; no cell can ever act as a formula in the program that opens it."""

from __future__ import annotations

import csv
import io
import math
import re
import zipfile
from collections.abc import Sequence
from datetime import date, datetime

from pourwright.errors import InputError
from pourwright.exchange.tables import Cell, Table
from pourwright.words import say

# characters at the start of a text that make some program read it as a formula; also their
# full-width twins, and blanks that are skipped before looking
_STARTS = "=+-@|%\uff1d\uff0b\uff0d\uff20"
_BLANKS = " \t\r\n\u00a0\ufeff"
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
LONGEST = 32_767  # characters in a cell (ECMA-376)


def guarded(text: str) -> str:
    """A text that no program reads as a formula.

    Parameters
    ----------
    text : str [-]
        Any text.

    Returns
    -------
    str [-]
        Without control characters; behind an apostrophe when it would begin like a formula.
    """
    clean = _CONTROL.sub("", text)[:LONGEST]
    bare = clean.lstrip(_BLANKS)
    if (bare and bare[0] in _STARTS) or (clean and clean[0] in "\t\r\n"):
        return ("'" + clean)[:LONGEST]
    return clean


def _plain(cell: Cell) -> str | int | float | bool | None:
    """A cell for CSV: numbers as they are, moments as ISO 8601 text."""
    if cell is None or isinstance(cell, bool | int):
        return cell
    if isinstance(cell, float):
        return cell if math.isfinite(cell) else None
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ", timespec="minutes")
    if isinstance(cell, date):
        return cell.isoformat()
    return guarded(str(cell))


def table_csv(table: Table) -> str:
    """One table as CSV text [-] (RFC 4180): commas, decimal points, UTF-8 with a byte order mark
    so that spreadsheets read it as UTF-8."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_MINIMAL)
    write.writerow([guarded(h) for h in table.head])
    for row in table.rows:
        write.writerow(["" if (c := _plain(cell)) is None else c for cell in row])
    return "\ufeff" + out.getvalue()


def tables_zip(tables: Sequence[Table]) -> bytes:
    """All `tables` [-] as CSV files in one zip archive; the same tables give the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        for t in tables:
            info = zipfile.ZipInfo(f"{t.name}.csv", (1980, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            z.writestr(info, table_csv(t).encode("utf-8"))
    return out.getvalue()


def named(tables: Sequence[Table], name: str) -> Table:
    """The table called `name` [-]; raises `InputError` naming those there are."""
    for t in tables:
        if t.name == name:
            return t
    raise InputError(
        "--table",
        name,
        say("the tables are {names}", names=", ".join(t.name for t in tables)),
        "Name one.",
    )


def tables_xlsx(tables: Sequence[Table]) -> bytes:
    """All `tables` [-] as one workbook (ECMA-376), one sheet each.

    Texts are stored as texts whatever they look like, and guarded besides, so that they stay
    harmless when the sheet is saved as CSV.
    """
    from openpyxl import Workbook  # type: ignore[import-untyped]
    from openpyxl.cell import WriteOnlyCell  # type: ignore[import-untyped]
    from openpyxl.styles import Alignment, Font, PatternFill  # type: ignore[import-untyped]
    from openpyxl.utils import get_column_letter  # type: ignore[import-untyped]

    book = Workbook(write_only=True)
    bold = Font(bold=True, color="26221D")
    tone = PatternFill("solid", fgColor="F6F1E7")
    taken: set[str] = set()
    for t in tables:
        sheet = book.create_sheet(_sheet_name(t.name, taken))
        sheet.freeze_panes = "A2"
        for k, head in enumerate(t.head):
            texts = [len(str(_plain(r[k]))) for r in t.rows[:200]]
            wide = min(max([len(head), *(min(n, 60) for n in texts)]) + 2, 62)
            sheet.column_dimensions[get_column_letter(k + 1)].width = wide
        cells = []
        for head in t.head:
            c = WriteOnlyCell(sheet, value=guarded(head))
            c.font, c.fill = bold, tone
            cells.append(c)
        sheet.append(cells)
        for row in t.rows:
            cells = []
            for cell in row:
                value = cell if isinstance(cell, datetime | date) else _plain(cell)
                c = WriteOnlyCell(sheet, value=value)
                if isinstance(value, str):
                    c.data_type = "s"
                    c.alignment = Alignment(vertical="top", wrap_text=len(value) > 60)
                elif isinstance(value, datetime):
                    c.number_format = "yyyy-mm-dd hh:mm"
                elif isinstance(value, float):
                    c.number_format = _format(value)
                cells.append(c)
            sheet.append(cells)
    if not tables:
        book.create_sheet("empty")
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _format(value: float) -> str:
    if value == 0 or abs(value) >= 1000:
        return "0"
    digits = max(0, 3 - math.floor(math.log10(abs(value))))
    return "0." + "0" * min(digits, 6) if digits else "0"


def _sheet_name(name: str, taken: set[str]) -> str:
    clean = re.sub(r"[\[\]:*?/\\']", " ", guarded(name)).strip()[:31] or "sheet"
    k = 2
    whole = clean
    while whole.lower() in taken:
        whole = f"{clean[:27]} {k}"
        k += 1
    taken.add(whole.lower())
    return whole
