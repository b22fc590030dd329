"""How long the papers of the galley take, next to the same pages written by hand as plain PDF.

The peer is pypdf writing as many empty pages of the same size: a floor for any PDF maker, not a
typesetter. One thread of our own; the typesetter uses what threads it finds. Best of five, warm,
without picture, the options' own planning left out (it is planning, not paper). Run it with
``.venv/bin/python benchmarks/bench_papers.py``.
"""

from __future__ import annotations

import io
import os
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pypdf

from pourwright.papers import PAPERS, cost_job, papers_of
from pourwright.plan import job_from, load_job, work_out

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
GOAL_S = 3.0


def best(make: Callable[[int], object], times: int = 5) -> float:
    """The shortest of some runs [s]; each is told its number so that nothing is kept."""
    found = []
    for k in range(times):
        start = time.perf_counter()
        make(k)
        found.append(time.perf_counter() - start)
    return min(found)


def empty_pages(count: int) -> bytes:
    """A PDF of `count` [-] empty A4 pages."""
    w = pypdf.PdfWriter()
    for _ in range(count):
        w.add_blank_page(595.28, 841.89)
    out = io.BytesIO()
    w.write(out)
    return out.getvalue()


def main() -> None:
    """Print the table."""
    start = time.perf_counter()
    work = work_out(load_job(EXAMPLES / "galley.toml"), EXAMPLES)
    planned = time.perf_counter() - start
    day = date(2027, 3, 1)

    def dated(k: int) -> date:
        return day + timedelta(days=k)  # another date each time: no page is taken from memory

    start = time.perf_counter()
    pack = papers_of(work, ["pack"], printed=day)["pack"]
    first = time.perf_counter() - start
    pages = len(pypdf.PdfReader(io.BytesIO(pack)).pages)
    rows = [("the pack, first time", first, pages)]
    rows.append(
        ("the pack, warm", best(lambda k: papers_of(work, ["pack"], printed=dated(k + 1))), pages)
    )
    doc = load_job(EXAMPLES / "galley.toml").to_document()
    doc["show"] = {**doc["show"], "language": "de"}
    german = work_out(job_from(doc), EXAMPLES)
    papers_of(german, ["pack"], printed=day)
    rows.append(("the pack in German, warm",
                 best(lambda k: papers_of(german, ["pack"], printed=dated(k + 30))), 0))  # fmt: skip
    rows.append(("reckoning the price", best(lambda _k: cost_job(work)), 0))
    for name in PAPERS:
        took = best(lambda k, n=name: papers_of(work, [n], printed=dated(k + 10)), 3)
        rows.append((name, took, 0))
    peer = best(lambda _k: empty_pages(pages))
    print(f"galley, {work.ctx.job.samples} samples, planned in {planned:.1f} s; "
          f"{os.cpu_count()} cores, one Python thread, typesetter's own threads")  # fmt: skip
    print(f"peer: pypdf, {pages} empty pages: {peer * 1e3:.1f} ms")
    print(f"{'what':<26}{'s':>8}{'x peer':>10}{'pages':>8}")
    for what, took, n in rows:
        print(f"{what:<26}{took:>8.3f}{took / peer:>10.0f}{n or '':>8}")
    warm = max(rows[1][1], rows[2][1])
    met = "met" if warm < GOAL_S else "NOT met"
    print(f"goal: the pack warm under {GOAL_S:g} s in both languages: {met} ({warm:.2f} s)")


if __name__ == "__main__":
    main()
