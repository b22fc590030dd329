"""Hold points ticked off with a measured value, by whom and when; a failed one says stop and why.

Each tick is a line of the log whose data has `hold`; the last line about a hold point counts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import Field

from pourwright.errors import InputError
from pourwright.quantities import understand
from pourwright.quantities.locales import find_locale
from pourwright.store.errors import NotThere
from pourwright.store.happened import LogLine
from pourwright.store.jobs import JobState
from pourwright.web import deps, written
from pourwright.web.answers import answer
from pourwright.web.api_jobs import Body
from pourwright.web.pages.render import fields, on_to, plan_of, show_for
from pourwright.web.pages.show import Show
from pourwright.words import say

router = APIRouter()
# unit of a check -> dimension, SI per unit, offset to SI; other units are plain numbers
READ_AS = {
    "degC": ("temperature", 1.0, 273.15), "K": ("temperature_difference", 1.0, 0.0),
    "mm": ("length", 1e-3, 0.0), "kg": ("mass", 1.0, 0.0), "mL": ("volume", 1e-6, 0.0),
}  # fmt: skip
BARE = {
    "metric": {"temperature": "degC", "temperature_difference": "K", "length": "mm", "mass": "kg",
               "volume": "mL"},
    "us": {"temperature": "degF", "temperature_difference": "degF diff", "length": "in",
           "mass": "lb", "volume": "fl oz"},
}  # fmt: skip


def hold_id(step: str, name: str) -> str:
    """The id [-] of a hold point: its step, and the name of its check or its place."""
    mark = re.sub(r"[^a-z0-9.]+", "-", name.lower()).strip("-")
    return f"{step}:{mark}"[:150]


def holds_by_step(plan: Mapping[str, Any]) -> dict[str, list[dict[str, Any]]]:
    """Hold points of a `plan` [-] by step: those that are computed, then those only looked at."""
    out: dict[str, list[dict[str, Any]]] = {}
    for h in plan["holds"]:
        c = h["check"]
        out.setdefault(h["step"], []).append(
            {"id": hold_id(h["step"], c["name"]), "title": c["title"], "says": c["criterion"],
             "check": c}
        )  # fmt: skip
    for day in plan["days"]:
        for step in day["steps"]:
            mine = out.setdefault(step["id"], [])
            # a step's words name the computed ones first; the others stand behind them
            mine += [
                {"id": hold_id(step["id"], f"look-{k}"), "title": text, "says": "", "check": None}
                for k, text in enumerate(step["holds"][len(mine) :])
            ]
    return {k: v for k, v in out.items() if v}


def ticked(log: Iterable[LogLine]) -> dict[str, tuple[dict[str, Any], LogLine]]:
    """What a `log` [-] says last of each hold point, by its id; taken back ones are left out."""
    out: dict[str, tuple[dict[str, Any], LogLine]] = {}
    for line in log:
        if line.kind == "hold" and "hold" in line.data:
            found = line.data["hold"]
            if found.get("state") == "open":
                out.pop(found["id"], None)
            else:
                out[found["id"]] = (found, line)
    return out


def hold_views(
    plan: Mapping[str, Any], log: Iterable[LogLine], show: Show
) -> dict[str, list[dict[str, Any]]]:
    """Hold points of a `plan` by step as pages need them [-]: with what `log` says, as `show` writes.

    ``state`` is ``open``, ``met`` or ``failed``.
    """
    known = ticked(log)
    out = {}
    for step, holds in holds_by_step(plan).items():
        views = []
        for h in holds:
            found, line = known.get(h["id"], (None, None))
            c = h["check"]
            view = {
                **h,
                "mark": re.sub(r"[^a-z0-9]+", "-", h["id"]),
                "state": found["state"] if found else "open",
                "unit": shown_unit(c["unit"], show) if c else "",
                "limit": limit_words(c, show) if c else "",
                "computed": show.measured(c["value"], c["unit"]) if c else "",
                "expected": c["passed"] if c else "",
                "measured": "",
                "when": show.moment(line.at.astimezone().isoformat()) if line else "",
                "who": line.who if line else "",
                "note": found.get("note", "") if found else "",
                "remedy": (c["remedies"][0] if c and c["remedies"] else ""),
                "caution": c["caution"] if c else "",
            }
            if found and found.get("value") is not None and c:
                view["measured"] = show.measured(found["value"], c["unit"])
            views.append(view)
        out[step] = views
    return out


def shown_unit(unit: str, show: Show) -> str:
    """The unit [-] in which a value of a check is typed."""
    if show.units == "us" and unit in READ_AS:
        return {"degC": "°F", "K": "°F", "mm": "in", "kg": "lb", "mL": "fl oz"}[unit]
    return {"degC": "°C"}.get(unit, unit)


def limit_words(check: Mapping[str, Any], show: Show) -> str:
    """The limit of a `check` in words [-]: "at least 15 °C"."""
    sense = show.words(f"sense.{check['sense'].replace(' ', '_')}")
    return f"{sense} {show.measured(check['limit'], check['unit'])}"


def measured_value(text: str, check: Mapping[str, Any], show: Show) -> float:
    """What was measured at a hold point [unit of its `check`] out of typed `text`.

    A number without a unit is taken in the unit that stands beside the field. Raises `InputError`.
    """
    unit = str(check["unit"])
    mark = find_locale(show.locale).decimal
    plain = text.replace("−", "-").removesuffix(unit).removesuffix("%").strip()
    number = plain.replace(mark, ".") if re.fullmatch(r"-?\d{1,6}([.,]\d{1,6})?", plain) else ""
    if mark == "." and "," in number:
        number = ""
    if unit in READ_AS:
        dimension, scale, offset = READ_AS[unit]
        if unit == "K":  # a difference: 5 K, 5 °C or 9 °F
            found = re.fullmatch(
                r"(-?\d{1,4}(?:[.,]\d{1,4})?)\s*(?:°|deg)?\s*([KCF]?)", plain, re.IGNORECASE
            )
            if found:
                value = float(found[1].replace(mark, "."))
                letter = found[2].upper() or ("F" if show.units == "us" else "K")
                return value / 1.8 if letter == "F" else value
            raise InputError("value", text, "it is a difference in degrees", "Write 4 °C or 7 °F.")
        if number:
            text = f"{plain} {BARE[show.units][dimension]}"
        return (understand(text, dimension, "value", show.locale).value_si - offset) / scale
    if not number:
        raise InputError(
            "value", text, "it is a number", say("Write a number in {unit}.", unit=unit or "points")
        )
    return float(number)


def judged(check: Mapping[str, Any], value: float) -> str:
    """``met`` or ``failed`` [-]: a measured `value` [unit of `check`] against its limit."""
    good = value <= check["limit"] if check["sense"] == "at most" else value >= check["limit"]
    return "met" if good else "failed"


def find_hold(plan: Mapping[str, Any], ident: str) -> dict[str, Any]:
    """The hold point with the id `ident` in a `plan` [-]; raises `NotThere`."""
    for step, holds in holds_by_step(plan).items():
        for h in holds:
            if h["id"] == ident:
                return {**h, "step": step}
    raise NotThere("hold", ident[:80], "it is a hold point of the plan", "Take one from the day.")


async def tick(
    request: Request, job: JobState, ident: str, do: str, text: str, note: str,
    mark: str | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Tick a hold point of `job` off for `request`.

    Parameters
    ----------
    request, job : [-]
        Who ticks what.
    ident : str [-]
        The hold point.
    do : str [-]
        ``met``, ``failed`` or ``open`` (take it back).
    text, note : str [-]
        What was measured, with or without its unit; anything else.
    mark : str or None [-]
        The sender's own mark.

    Returns
    -------
    dict [unit of the check]
        What was kept: state, value, why. A measured value decides, whatever was tapped.
    """
    now = await plan_of(request, job.id)
    plan = now.plan or now.old
    if plan is None:
        raise InputError("hold", ident, "the job has no plan yet", "Wait for the plan.")
    if do not in ("met", "failed", "open"):
        raise InputError("do", do, "it is met, failed or open", "Use the buttons.")
    show = show_for(request, job)
    hold = find_hold(plan, ident)
    check, value, state = hold["check"], None, do
    if text.strip() and do != "open":
        if check is None:
            note = f"{text.strip()} {note}".strip()
        else:
            value = measured_value(text.strip(), check, show)
            state = judged(check, value)
    kept: dict[str, Any] = {"id": ident, "step": hold["step"], "title": hold["title"],
                            "state": state, "note": note[:300]}  # fmt: skip
    if value is not None:
        kept |= {"value": value, "unit": check["unit"], "limit": check["limit"],
                 "sense": check["sense"]}  # fmt: skip
    store, who = deps.store(request), deps.who_of(request)
    words = {"met": "held", "failed": "FAILED", "open": "open again"}[state]
    shown = f": {value:.4g} {check['unit']}" if value is not None else ""
    store.happened.note(
        job.id, "hold", f"{words}: {hold['title']}{shown}", {"hold": kept}, who, mark
    )
    if value is not None and check["unit"] == "%" and "moisture" in check["name"]:
        data = {"what": "moisture", "moisture_percent": value, "at": _now()}
        own = f"{mark}-m" if mark else None
        written.write(store, job, "check", data, f"moisture {value:.3g} %", who, own)
    return kept


def _now() -> Any:
    from datetime import datetime

    return datetime.now().replace(microsecond=0)


@router.post("/jobs/{job_id}/holds")
async def hold(request: Request, job_id: str) -> Response:
    """A hold point is met, or is not."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    ident = posted.get("hold", "")
    kept = await tick(
        request, job, ident, posted.get("do", ""), posted.get("value", ""), posted.get("note", "")
    )
    said = {"met": "held", "failed": "stop", "open": "noted"}[kept["state"]]
    if posted.get("from") == "floor":
        return on_to(f"/jobs/{job_id}/floor?step={kept['step']}", said)
    mark = re.sub(r"[^a-z0-9]+", "-", ident)
    return on_to(f"/jobs/{job_id}/day?date={posted.get('date', '')[:10]}#hold-{mark}", said)


class HoldTick(Body):
    """A hold point ticked off."""

    hold: str = Field(max_length=160)
    do: str = Field("met", max_length=8)
    value: str = Field("", max_length=40, description="as measured, with or without its unit")
    note: str = Field("", max_length=300)


@router.post("/api/jobs/{job_id}/holds", status_code=201)
async def api_hold(request: Request, job_id: str, body: HoldTick) -> Response:
    """The same for the floor view."""
    job = deps.job(request, job_id)
    mark = request.headers.get("x-pourwright-mark", "")[:70] or None
    kept = await tick(request, job, body.hold, body.do, body.value, body.note, mark)
    return answer(kept, 201)
