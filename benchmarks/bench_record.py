"""Timings of record and exchange, as ratios against named peers in the same run.

One thread; best of several. Peers: the plan of the same job (what a user waits for anyway), the JSON
module for the record's text, the workbook's own library writing the same bare cells.
"""

from __future__ import annotations

import io
import json
import time
from collections.abc import Callable
from pathlib import Path

from openpyxl import Workbook

from pourwright.exchange import gltf, job_meshes, plan_ics, plan_tables, tables_xlsx
from pourwright.plan import load_job, work_out
from pourwright.record import done_job, faults_of, lessons_of, read_record, record_from, record_text

ROOT = Path(__file__).resolve().parents[1]
JOB = ROOT / "examples" / "cafe_bar.toml"
RECORD = ROOT / "examples" / "records" / "cafe_bar.record.json"


def best(work: Callable[[], object], times: int = 3) -> float:
    """Shortest wall time of `work` [s] over `times` runs."""
    out = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        work()
        out = min(out, time.perf_counter() - start)
    return out


def bare_workbook(cells: list[list[object]]) -> bytes:
    """The same cells by the library alone."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("x")
    for row in cells:
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def main() -> None:
    """Print the table."""
    done = done_job(JOB, RECORD)
    record = read_record(RECORD)
    work = done.planned
    tables = plan_tables(work.plan, record)
    cells = [list(r) for t in tables for r in t.rows]
    text = record_text(record)
    plan = best(lambda: work_out(load_job(JOB), JOB.parent))
    rows = [
        ("plan of the cafe bar (the peer)", plan, plan),
        ("lessons from its record", best(lambda: lessons_of([done]), 2), plan),
        ("causes of its faults", best(lambda: faults_of(done)), plan),
        ("calendar", best(lambda: plan_ics(work.plan)), plan),
        ("glTF of its pieces", best(lambda: gltf(job_meshes(work), binary=True)), plan),
        ("record read, against json.loads", best(lambda: record_from(json.loads(text))),
         best(lambda: json.loads(text))),
        ("workbook, against the bare library", best(lambda: tables_xlsx(tables)),
         best(lambda: bare_workbook(cells))),
    ]  # fmt: skip
    print(f"one thread; record of {len(record.entries)} entries; {len(cells)} table rows")
    print(f"{'what':<36}{'s':>9}{'peer s':>9}{'ratio':>8}")
    for name, own, peer in rows:
        print(f"{name:<36}{own:>9.3f}{peer:>9.3f}{own / peer:>8.2f}")


if __name__ == "__main__":
    main()
