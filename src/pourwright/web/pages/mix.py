"""Mix: cups as large cards, ticked off as they are mixed; what to buy; crew and cups."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices, marks
from pourwright.web.pages.build import save_fields
from pourwright.web.pages.cups import Mixed, cup_card, mixed_cups
from pourwright.web.pages.edits import normal
from pourwright.web.pages.forms import Form
from pourwright.web.pages.moment import other_day
from pourwright.web.pages.render import counts, fields, page, plan_of, planning, show_for
from pourwright.web.pages.show import Show

router = APIRouter()
PATHS = ("mix.crew.people", "mix.crew.mix_time", "mix.crew.spread_time", "mix.cups.vessel",
         "mix.cups.scale_step", "mix.cups.measure_by", "mix.risk", "flood.film")  # fmt: skip


def coat_views(
    plan: Mapping[str, Any], mixed: Mapping[str, Mixed], show: Show
) -> list[dict[str, Any]]:
    """Coats with their batches and cups as cards need them.

    Parameters
    ----------
    plan : mapping [unit-suffixed keys]
        The plan as JSON data.
    mixed : mapping [-]
        Cups that are mixed: ``colour/1A`` to who, when and what it weighed.
    show : Show [-]
        Units and language.

    Returns
    -------
    list of dict [-]
    """
    colours = {s["id"]: marks.over_primer(s) for s in plan["shades"]}
    names = {s["id"]: s["name"] for s in plan["shades"]}
    doses = {(d["coat"], d["cup"]): d for s in plan["shades"] for d in s["doses"]}
    clear = show.words("finish.clear")
    out = []
    for coat in plan["coats"]:
        cups = {c["id"]: c for c in coat["cups"]}
        batches = []
        for batch in coat["batches"]:
            cards = [
                cup_card(coat, cups[i], doses, colours, names, clear, mixed, show)
                for i in batch["cups"]
            ]
            batches.append({"plan": batch, "cups": cards, "said": show.said(batch["volume_mL"])})
        ratio, _, by = coat["ratio"].partition(" by ")
        out.append(
            {
                "plan": coat,
                "batches": batches,
                "cups": len(cups),
                "mixed": sum(1 for b in batches for c in b["cups"] if c["mixed"]),
                "said": show.said(coat["mix_total_mL"]),
                "ratio": ratio.replace(":", " : "),
                "ratio_by": show.words("mix.by_volume") if by == "volume"
                else show.words("mix.by_mass") if by == "mass" else by,
            }
        )  # fmt: skip
    return out


async def _page(
    request: Request, job: JobState, form: Form | None = None, status: int = 200
) -> Response:
    show = show_for(request, job)
    words = show.words
    now = await plan_of(request, job.id)
    mixed = mixed_cups(deps.store(request), job)
    return page(
        request, "mix.html", job, "mix", show, form or Form(normal(job.document), show), status,
        plan=now.plan, planning=planning(now), counts=counts(now.plan or now.old),
        refresh=None if now.plan or now.error else 4,
        coats=coat_views(now.plan, mixed, show) if now.plan else [],
        other_day=other_day(show, now.plan),
        measure_options=choices.listed(words, "measure"),
    )  # fmt: skip


@router.get("/jobs/{job_id}/mix")
async def mix(request: Request, job_id: str) -> Response:
    """Cups, batches, sets."""
    return await _page(request, deps.job(request, job_id))


@router.post("/jobs/{job_id}/mix")
async def save(request: Request, job_id: str) -> Response:
    """Crew, cups, risk."""
    job = deps.job(request, job_id)
    paths = PATHS if job.document.get("flood") else PATHS[:-1]
    return await save_fields(request, job, await fields(request), paths, "mix", "mix", _page)
