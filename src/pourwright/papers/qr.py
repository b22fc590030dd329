"""The square code of a paper: names the job, its revision, its mark and a cup; no address."""

from __future__ import annotations

from functools import lru_cache

from pourwright.papers.plain import plain
from pourwright.plan import Working

QUIET = 4
"""Quiet zone round the code, in modules (ISO/IEC 18004)."""


def code_text(work: Working, what: str) -> str:
    """What the code of `what` [-] in the job `work` [-] says, one fact a line."""
    p = work.plan.provenance
    return "\n".join(
        [
            "Pourwright job",
            plain(work.plan.name, 60).replace("\u200b", ""),
            f"revision {p.job_revision}",
            f"mark {p.job_sha256[:16]}",
            plain(what, 40).replace("\u200b", ""),
        ]
    )


def code(work: Working, what: str) -> dict[str, str]:
    """The square code of `what` [-] in the job `work` [-] as a figure."""
    text = code_text(work, what)
    return {"svg": _svg(text), "alt": "Square code: " + text.replace("\n", ", ")}


@lru_cache(maxsize=512)
def _svg(text: str) -> str:
    import segno

    rows = [bytes(r) for r in segno.make(text, error="m", micro=False).matrix]
    n = len(rows) + 2 * QUIET
    path = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            if not row[x]:
                x += 1
                continue
            run = x
            while run < len(row) and row[run]:
                run += 1
            path.append(f"M{x + QUIET} {y + QUIET}h{run - x}v1h-{run - x}z")
            x = run
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {n} {n}" width="{n}mm" '
        f'height="{n}mm"><rect width="{n}" height="{n}" fill="#ffffff"/>'
        f'<path d="{"".join(path)}" fill="#000000" shape-rendering="crispEdges"/></svg>'
    )
