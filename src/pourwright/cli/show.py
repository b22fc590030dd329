"""Showing results: tables and progress on a terminal, plain text when piped."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pourwright.plan import Job
    from pourwright.words import Reader


def is_terminal() -> bool:
    """Whether standard output is a terminal [-]."""
    return sys.stdout.isatty()


def _figures(column: Sequence[str]) -> bool:
    """Whether a column's cells [-] are mostly figures."""
    said = [c for c in column if c]
    return 2 * sum(bool(re.match(r"[-+\u2212]?\d", c)) for c in said) > len(said)


def print_json(data: Any) -> None:
    """Print `data` [-] as JSON with sorted, stable layout."""
    print(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))


def reader(job: Job) -> Reader:
    """Whom a `job` [-] is written for: its language (English where there is none), its units."""
    from pourwright.words import Reader
    from pourwright.words.catalogues import LANGUAGES

    code = job.show.language.replace("_", "-").partition("-")[0].lower()
    return Reader(code if code in LANGUAGES else "en", job.show.units)


def table(title: str, head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a table [-]: drawn on a terminal, aligned plain text when piped; figures to the right."""
    cells = [list(head), *[[str(c) for c in r] for r in rows]]
    right = [k > 0 and _figures([r[k] for r in cells[1:]]) for k in range(len(head))]
    if is_terminal():
        from rich.console import Console
        from rich.table import Table

        t = Table(title=title, title_justify="left", header_style="bold", border_style="dim")
        for k, h in enumerate(head):
            t.add_column(h, justify="right" if right[k] else "left")
        for r in cells[1:]:
            t.add_row(*r)
        Console().print(t)
        return
    wide = [max(len(r[k]) for r in cells) for k in range(len(head))]
    print(title)
    for n, r in enumerate(cells):
        line = "  ".join(
            c.rjust(wide[k]) if right[k] else c.ljust(wide[k]) for k, c in enumerate(r)
        )
        print("  " + line.rstrip())
        if n == 0:
            print("  " + "-" * (sum(wide) + 2 * (len(wide) - 1)))


@contextmanager
def progress(title: str, quiet: bool = False) -> Iterator[Callable[[float, str], None]]:
    """A progress line on standard error while work goes on; silent when piped or `quiet` [-].

    Yields a function ``tell(share, words)``, share from 0 to 1 [-].
    """
    if quiet or not sys.stderr.isatty():
        yield lambda _share, _words: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=Console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task(title, total=1.0)

        def tell(share: float, words: str) -> None:
            bar.update(task, completed=share, description=words or title)

        yield tell
