"""Mix: cups as large cards, ticked off as they are mixed; what to buy; crew and cups."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages import choices, marks
from pourwright.web.pages.build import save_fields
from pourwright.web.pages.forms import Form
from pourwright.web.pages.render import counts, fields, on_to, page, plan_of, planning, show_for
from pourwright.web.pages.show import Show
from pourwright.web.pages.site import normal

router = APIRouter()
PATHS = ("mix.crew.people", "mix.crew.mix_time", "mix.crew.spread_time", "mix.cups.vessel",
         "mix.cups.scale_step", "mix.cups.measure_by", "mix.risk", "flood.film")  # fmt: skip
FAR_OFF = 5.0  # a ratio that may be off by more than this is said on the card [%]


def coat_views(
    plan: Mapping[str, Any], ticks: Mapping[str, tuple[str, datetime]], show: Show
) -> list[dict[str, Any]]:
    """Coats with their batches and cups as cards need them.

    Parameters
    ----------
    plan : mapping [unit-suffixed keys]
        The plan as JSON data.
    ticks : mapping [-]
        What was ticked off: ``cup:colour/1A`` to who and when.
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
                cup_card(coat, cups[i], doses, colours, names, clear, ticks, show)
                for i in batch["cups"]
            ]
            batches.append({"plan": batch, "cups": cards})
        ratio, _, by = coat["ratio"].partition(" by ")
        out.append(
            {
                "plan": coat,
                "batches": batches,
                "cups": len(cups),
                "mixed": sum(1 for b in batches for c in b["cups"] if c["mixed"]),
                "ratio": ratio.replace(":", " : "),
                "ratio_by": show.words("mix.by_volume") if by == "volume"
                else show.words("mix.by_mass") if by == "mass" else by,
            }
        )  # fmt: skip
    return out


def cup_card(
    coat: Mapping[str, Any],
    cup: Mapping[str, Any],
    doses: Mapping[tuple[str, str], Mapping[str, Any]],
    colours: Mapping[str, str],
    names: Mapping[str, str],
    clear: str,
    ticks: Mapping[str, tuple[str, datetime]],
    show: Show,
) -> dict[str, Any]:
    """One cup's card [-] out of its `coat`, `doses`, `colours`, `names` and `ticks`."""
    key = f"{coat['id']}/{cup['id']}"
    dose = doses.get((coat["id"], cup["id"]))
    pastes = dose["weigh_g"] if dose else cup["pastes_g"]
    off = cup["off_ratio_percent"]
    tick = ticks.get(f"cup:{key}")
    return {
        "key": key,
        "plan": cup,
        "shade": names.get(cup["shade"], clear if cup["shade"] == "clear" else cup["shade"]),
        "colour": colours.get(cup["shade"], "#e4ddcf"),
        "a": show.number(cup["read_a"], 4),
        "b": show.number(cup["read_b"], 4),
        "pastes": [
            (n, show.number(g, 2) if g < 1 else show.fixed(g, 1)) for n, g in pastes.items()
        ],
        "advice": dose["advice"] if dose else [],
        "off": show.span(off) if off else "",
        "off_far": bool(off) and max(abs(off["p05"]), abs(off["p95"])) > FAR_OFF,
        "mixed": show.moment(tick[1].astimezone().isoformat()) if tick else "",
    }


async def _page(
    request: Request, job: JobState, form: Form | None = None, status: int = 200
) -> Response:
    show = show_for(request, job)
    words = show.words
    now = await plan_of(request, job.id)
    ticks = deps.store(request).happened.ticks(job.id)
    return page(
        request, "mix.html", job, "mix", show, form or Form(normal(job.document), show), status,
        plan=now.plan, planning=planning(now), counts=counts(now.plan or now.old),
        refresh=None if now.plan or now.error else 4,
        coats=coat_views(now.plan, ticks, show) if now.plan else [],
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


@router.post("/jobs/{job_id}/mix/tick")
async def tick(request: Request, job_id: str) -> Response:
    """A cup is mixed, or is not after all."""
    posted = await fields(request)
    key = posted.get("cup", "")
    if not 3 <= len(key) <= 80 or not key.isprintable():
        raise InputError("cup", key, "it is a cup of the plan", "Take one from the list.")
    on = bool(posted.get("mixed"))
    deps.store(request).happened.tick(job_id, f"cup:{key}", on, deps.who_of(request))
    return on_to(f"/jobs/{job_id}/mix#cup-{key.replace('/', '-')}")
