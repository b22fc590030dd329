"""A day lost to weather, illness or a hold point: what happens then, and planning with it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages.asked import Asked, asked
from pourwright.web.pages.render import fields, on_to, show_for
from pourwright.web.pages.sentences import sentences
from pourwright.web.pages.show import Show

router = APIRouter()
MOST_MOVED = 6


async def if_lost(request: Request, job: JobState, day: str, start: bool) -> Asked:
    """What the plan of `job` becomes when `day` [-] is lost, for `request`.

    Worked out if `start`, else only looked at.
    """
    return await asked(request, job, "lost", {"date": day}, start)


def lost_view(found: Mapping[str, Any], show: Show) -> dict[str, Any]:
    """A lost day as a page says it [-], `found` by the worker, written as `show` says."""
    found = sentences(dict(found), show)  # what the worker had no sentence for
    moved = sorted(found["moved"], key=lambda m: m["to"])
    return {
        "day": show.day(found["date"], True),
        "later": found["finish_then"] != found["finish"],
        "finish": show.moment(found["finish"]),
        "then": show.moment(found["finish_then"]),
        "serve": show.day(found["serve_then"]) if found.get("serve_then") else "",
        "days": (date.fromisoformat(found["finish_then"][:10])
                 - date.fromisoformat(found["finish"][:10])).days,
        "moved": [{"title": m["title"], "from": show.moment(m["from"]), "to": show.moment(m["to"])}
                  for m in moved[:MOST_MOVED]],
        "moved_more": max(len(moved) - MOST_MOVED, 0),
        "more": [{"title": m["title"], "to": show.moment(m["to"]), "why": m["why"]}
                 for m in found["more"]],
        "fewer": [m["title"] for m in found["fewer"]],
        "holds": found["holds"],
        "warnings": found["warnings"],
        "cost": show.money(float(found["cost"]), found["currency"]) if found.get("cost") else "",
    }  # fmt: skip


def lost_days(job: JobState, show: Show) -> list[tuple[str, str]]:
    """Days of `job` on which nobody could work: ISO date and words [-], as `show` writes."""
    return [(str(d)[:10], show.day(str(d)[:10])) for d in job.document["site"].get("lost", [])]


@router.post("/jobs/{job_id}/day/lost")
async def lost(request: Request, job_id: str) -> Response:
    """Look what happens when a day is lost; plan with it; or take that back."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    day = posted.get("date", "")[:10]
    try:
        date.fromisoformat(day)
    except ValueError:
        raise InputError("date", day, "it is a date", "Choose a day of the job.") from None
    do = posted.get("do", "")
    if do == "look":
        await if_lost(request, job, day, True)
        return on_to(f"/jobs/{job_id}/day?date={day}&if=lost#d-lost")
    if do not in ("lose", "back"):
        raise InputError("do", do, "it is look, lose or back", "Use the buttons.")

    def change(document: dict[str, Any]) -> dict[str, Any]:
        site = dict(document["site"])
        known = {str(d)[:10] for d in site.get("lost", [])}
        kept = known | {day} if do == "lose" else known - {day}
        site["lost"] = sorted(kept)
        if not site["lost"]:
            site.pop("lost")
        return {**document, "site": site}

    why = show.words("why.lost" if do == "lose" else "why.lost_back", day=show.day(day))
    deps.edit(request, job_id, change, why)
    deps.store(request).happened.note(
        job_id, "lost", f"{'lost' if do == 'lose' else 'not lost after all'}: {day}",
        {"date": day, "lost": do == "lose"}, deps.who_of(request),
    )  # fmt: skip
    return on_to(f"/jobs/{job_id}/day", "saved")
