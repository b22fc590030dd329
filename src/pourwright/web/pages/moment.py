"""Plan and clock: what is ticked off bears the real time, and that is said on other days."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from pourwright.web.pages.show import Show


def other_day(show: Show, plan: Mapping[str, Any] | None, on: str = "") -> str:
    """What to say where a plan's day is not today [-]; empty when it is, or without a plan.

    Parameters
    ----------
    show : Show [-]
        Language and how dates are written.
    plan : mapping or None [unit-suffixed keys]
        The plan as JSON data.
    on : str [-]
        The day of the step in question as ISO text; empty: any day of the plan counts.

    Returns
    -------
    str [-]
        A sentence or two.
    """
    days = [str(d["date"]) for d in plan["days"]] if plan else []
    now = date.today().isoformat()
    if not days or now in ([on[:10]] if on else days):
        return ""

    def day(iso: str) -> str:
        return f"{show.day(iso, True)} {iso[:4]}"

    if on:
        said = show.words("day.other_day", day=day(on), today=day(now))
    else:
        said = show.words("day.other_days", first=day(days[0]), last=day(days[-1]), today=day(now))
    return f"{said} {show.words('day.early')}" if now < days[0] else said
