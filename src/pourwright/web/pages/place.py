"""Boat, vehicle or trailer: what the finished pieces ride on, and the table of masses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.web import deps
from pourwright.web.pages.forms import get, put
from pourwright.web.pages.render import fields, on_to, show_for
from pourwright.web.pages.show import Show
from pourwright.web.pages.tables import fields_of, take_rows, take_table

router = APIRouter()
CARRIERS = {"boat": ("boat",), "vehicle": ("vehicle", "trailer")}
"""Kind of site to the tables of its particulars under ``site``; only one of them is filled."""
MASS = ("name", "piece", "mass", "along", "across", "height")


def carrier(document: Mapping[str, Any], show: Show) -> dict[str, Any]:
    """What the form of boat, vehicle or trailer shows [-], of a normal job `document`.

    `tables` are its particulars, `place` where the pieces sit, `rows` how many masses there are;
    empty for a building. Labels are in the language of `show`.
    """
    kind = get(document, "site.kind", "building")
    tables = [
        {
            "name": name,
            "fields": fields_of(f"site.{name}", (), f"carrier.{name}", show),
            "filled": get(document, f"site.{name}") is not None,
        }
        for name in CARRIERS.get(kind, ())
    ]
    if not tables:
        return {}
    return {
        "tables": tables,
        "place": fields_of("site.place", (), "carrier.place", show),
        "mass": fields_of("site.masses", MASS, "carrier.mass", show),
        "rows": len(get(document, "site.masses", []) or []),
        "out": [bool(m.get("out")) for m in get(document, "site.masses", []) or []],
    }


@router.post("/jobs/{job_id}/site/carrier")
async def save_carrier(request: Request, job_id: str) -> Response:
    """Particulars of the boat, vehicle or trailer, where the pieces sit, the table of masses."""
    from pourwright.web.pages.edits import keep

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)

    def change(document: dict[str, Any]) -> dict[str, Any]:
        for name in CARRIERS.get(get(document, "site.kind", ""), ()):
            take_table(document, f"site.{name}", posted, show)
        take_table(document, "site.place", posted, show, always=True)
        before = len(get(document, "site.masses", []) or [])
        asked = [k for k in range(before + 1)
                 if any(posted.get(f"site.masses.{k}.{n}", "").strip() for n in MASS)]  # fmt: skip
        take_rows(document, "site.masses", MASS, posted, show)
        for n, k in enumerate(asked):
            out = bool(posted.get(f"site.masses.{k}.out")) or None
            if n < len(document["site"]["masses"]):
                put(document["site"]["masses"][n], "out", out)
        return document

    refused = await keep(request, job, posted, change, show.words("why.carrier"), "carrier")
    return refused or on_to(f"/jobs/{job_id}/site#s-carrier", "saved")
