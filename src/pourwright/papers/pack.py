"""All papers of a job, each by itself or as one pack; the pack is set as one document."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from pourwright.errors import InputError
from pourwright.papers.board import board_data, picture_alt
from pourwright.papers.care import care_data
from pourwright.papers.checks import checks_data
from pourwright.papers.costing import Costing, cost_job
from pourwright.papers.costsheet import costs_data
from pourwright.papers.cups import cups_data, labels_data
from pourwright.papers.cuts import cuts_data
from pourwright.papers.frame import frame, photo_figure, pretty
from pourwright.papers.jobrecord import record_data
from pourwright.papers.options import Priced
from pourwright.papers.plain import plain
from pourwright.papers.quote import quote_data
from pourwright.papers.runsheet import run_sheet_data
from pourwright.papers.safety import safety_data
from pourwright.papers.shopping import shopping_data
from pourwright.papers.typeset import typeset
from pourwright.papers.wording import Wording
from pourwright.plan import Working
from pourwright.words import say

PAPERS: dict[str, tuple[str, str]] = {
    "quote": ("Quote", "the client, before the order"),
    "board": ("Sample board", "both sign it before the pour"),
    "shopping": ("Shopping list", "whoever buys"),
    "cuts": ("Cut plan", "at the saw"),
    "cups": ("Cups", "at the mixing table"),
    "labels": ("Batch labels", "on cups and jars"),
    "runsheet": ("Run sheet", "on the wall, sheets for each day"),
    "checks": ("Hold points and checks", "whoever decides to go on"),
    "safety": ("Safety", "by the door"),
    "care": ("Handover and care", "the client, at handover"),
    "record": ("Job record", "filled in as it happens"),
    "costs": ("Cost sheet", "the shop alone"),
}
"""The papers: name, title and whom it is for, in the order of the work."""
PRIVATE = ("costs",)
PACK = tuple(k for k in PAPERS if k not in PRIVATE)
"""What the pack holds: all but the cost sheet, which is not for the client's eyes."""


def made_for(work: Working) -> list[str]:
    """Names of the papers that the planned job `work` [-] has: no cut plan for a core that is ready,
    no board sheet where no board is made."""
    boards = work.ctx.job.board is not None or any(s.purpose == "board" for s in work.plan.surfaces)
    missing = {"cuts" if work.plan.cut is None else "", "" if boards else "board"}
    return [k for k in PAPERS if k not in missing]


def papers_of(
    work: Working,
    only: Iterable[str] | None = None,
    *,
    printed: date | None = None,
    picture: bytes | None = None,
    board: bytes | None = None,
    options: list[Priced] | None = None,
    costing: Costing | None = None,
    photos: Sequence[tuple[str, bytes]] = (),
) -> dict[str, bytes]:
    """The papers of a planned job, each as a tagged PDF.

    Parameters
    ----------
    work : Working [SI]
        From `work_out`.
    only : iterable of str or None [-]
        Which of `PAPERS`, or ``pack``; None: all that the job has (`made_for`) and the pack.
    printed : date or None [-]
        The date printed on them; None: today.
    picture : bytes or None [-]
        PNG or JPEG of the finish.
    board : bytes or None [-]
        PNG or JPEG of the sample board, for its own sheet; None takes `picture`.
    options : list of Priced or None [currency]
        From `price_options`, for the quote.
    costing : Costing or None [currency]
        From `cost_job`; reckoned here when it is needed and not given.
    photos : sequence of (str, bytes) [-]
        The place before the work, for the job record: what each shows, PNG or JPEG.

    Returns
    -------
    dict of str to bytes [-]
        Name of the paper to PDF/UA-1.

    Raises
    ------
    InputError
        An unknown paper, prices that cannot be used, or a picture that is none.
    """
    has = made_for(work)
    packed = [k for k in PACK if k in has]
    wanted = [*has, "pack"] if only is None else list(dict.fromkeys(only))
    for name in wanted:
        if name not in PAPERS and name != "pack":
            raise InputError(
                "--only", name, say("one of {names}, pack", names=", ".join(PAPERS)), "Choose one."
            )
    on = printed or date.today()
    needed = [k for k in PAPERS if k in wanted or ("pack" in wanted and k in packed)]
    if costing is None and any(k in ("quote", "costs", "shopping") for k in needed):
        costing = cost_job(work)
    w = Wording.of(work)
    data = {
        k: _data(w, k, on, (board if k == "board" else None) or picture, options or [], costing)
        for k in needed
    }
    if "record" in data and photos:
        data["record"] = record_data(w, on, photos)
    out: dict[str, bytes] = {}
    for name in wanted:
        if name == "pack":
            head = _contents(w, on, picture)
            out[name] = _set(w, [head, *(data[k] for k in packed)], w.say("Papers"))
        else:
            out[name] = _set(w, [data[name]], w.text(PAPERS[name][0]))
    return out


def paper(work: Working, name: str, **kw: Any) -> bytes:
    """One paper `name` [-] of the planned job `work` [-] as a tagged PDF; `kw` as `papers_of`."""
    return papers_of(work, [name], **kw)[name]


def _set(w: Wording, papers: list[dict[str, Any]], title: str) -> bytes:
    name = plain(w.plan.name, 90).replace("\u200b", "")
    head = {"title": f"{title}: {name}", "author": "Pourwright", "papers": papers}
    return typeset("pack", head, w.language)


def _data(
    w: Wording,
    name: str,
    on: date,
    picture: bytes | None,
    options: list[Priced],
    costing: Costing | None,
) -> dict[str, Any]:
    if name in ("quote", "costs", "shopping"):
        assert costing is not None
        if name == "quote":
            return quote_data(w, on, costing, options, picture)
        return costs_data(w, on, costing) if name == "costs" else shopping_data(w, on, costing)
    if name == "board":
        return board_data(w, on, picture)
    simple = {
        "cuts": cuts_data, "cups": cups_data, "labels": labels_data, "runsheet": run_sheet_data,
        "checks": checks_data, "safety": safety_data, "care": care_data, "record": record_data,
    }  # fmt: skip
    return simple[name](w, on)


def _contents(w: Wording, on: date, picture: bytes | None) -> dict[str, Any]:
    p = frame(w, "contents", w.say("Papers of the job"), on,
              plain(w.plan.job.get("about", ""), 400), tuple(w.plan.cautions[:3]))  # fmt: skip
    if picture is not None:
        p["picture"] = photo_figure(picture, picture_alt(w))
    p["cares"] = [{"title": plain(pretty(c.title), 120), "text": plain(pretty(c.text), 500)}
                  for c in w.plan.cares]  # fmt: skip
    p["papers"] = [
        {"id": k, "title": w.text(PAPERS[k][0]), "use": w.text(PAPERS[k][1])}
        for k in PACK
        if k in made_for(w.work)
    ]
    return p
