"""A plan as a calendar (RFC 5545): steps with alarms, windows, stable identifiers.

Times are floating (RFC 5545, 3.3.5, form 1): the clock on the wall of the site, wherever the
calendar is opened. An event keeps its UID for the life of the job, so that a new revision moves
events instead of doubling them.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from pourwright.plan import Plan
from pourwright.plan.result import StepPlan
from pourwright.plan.text import own_reader, said_plan
from pourwright.words import Own, Reader, say

SPACE = uuid.UUID("7d0f0c3e-2c2a-5b6e-9a51-3f0d1c5a9b10")  # namespace of our identifiers (RFC 9562)
LEAD_MIN = {"mix": 60, "build": 60, "prime": 30, "topcoat": 45, "sand": 30, "finish": 30}
"""How long before a step its alarm goes off [min] (common practice)."""
USUAL_LEAD_MIN = 15
PIECES = ("pour", "edges", "torch", "veins", "leave")
"""Steps inside a pour: in the calendar they belong to the event of the whole pour."""


def plan_ics(plan: Plan, job_key: str = "", now: datetime | None = None) -> str:
    """A plan as an iCalendar file.

    Parameters
    ----------
    plan : Plan [-]
        The plan; it is told in the language and units of its job.
    job_key : str [-]
        What makes the job's identifiers its own; the job's name when empty.
    now : datetime or None [-]
        Written as DTSTAMP; None takes the clock.

    Returns
    -------
    str [-]
        CRLF lines of at most 75 octets.
    """
    key = job_key or plan.name
    reader = own_reader(plan)
    if reader != Reader():
        plan = said_plan(plan, reader.language, reader.units)
    told = _Told(reader)
    stamp = (now or datetime.now(UTC)).astimezone(UTC)
    out = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:-//Pourwright//Day plan//{reader.language.upper()}",
        "CALSCALE:GREGORIAN",
        f"NAME:{_text(plan.name)}",
    ]
    coats = [c.id for c in plan.coats]
    events = [e for day in plan.days for e in _day_events(day.steps, coats, told)]
    for ident, title, starts, ends, words, kind in events:
        out += _event(
            plan, key, stamp, ident, title, starts, ends, words,
            None if kind == "waits" else LEAD_MIN.get(kind, USUAL_LEAD_MIN),
        )  # fmt: skip
    for ident, title, starts, ends, words in _windows(plan, told):
        out += _event(plan, key, stamp, ident, title, starts, ends, words, 30, busy=False)
    if plan.serve:
        at = datetime.fromisoformat(plan.serve)
        out += _event(
            plan, key, stamp, "serve", told.say("{job}: full service", job=Own(plan.name)),
            at, at + timedelta(hours=1), told.say(
                "Full service from now on, by the cautious end of the range. Heat, cutting and "
                "cleaning limits: care sheet."), None, busy=False,
        )  # fmt: skip
    out.append("END:VCALENDAR")
    return "".join(_folded(line) for line in out)


class _Told:
    """The calendar's own sentences for the job's reader."""

    def __init__(self, reader: Reader) -> None:
        self.reader = reader

    def say(self, template: str, /, **values: Any) -> str:
        """A sentence [-]: its pattern and the values of its blanks."""
        return self.reader.text(say(template, **values))


def _day_events(
    steps: Iterable[StepPlan],
    coats: Iterable[str],
    told: _Told,
) -> list[tuple[str, str, datetime, datetime, str, str]]:
    """Steps of a day as events; a pour with all its pieces is one."""
    out: list[tuple[str, str, datetime, datetime, str, str]] = []
    for s in steps:
        if s.done:
            continue
        starts, ends = datetime.fromisoformat(s.starts), datetime.fromisoformat(s.ends)
        coat = next((c for c in coats if s.id.startswith(f"{c}-")), s.id.partition("-")[0])
        pour = s.kind in ("mix", *PIECES)
        says = "\n".join([s.say, *(told.say("Hold point: {hold}.", hold=Own(h)) for h in s.holds),
                          *(told.say("Caution: {text}", text=Own(c)) for c in s.cautions)])  # fmt: skip
        if pour and out and out[-1][0] == f"{coat}-pour":
            ident, title, first, last, words, kind = out[-1]
            line = f"{starts:%H:%M} {s.title}. {says}"
            out[-1] = (ident, title, first, max(last, ends), f"{words}\n{line}", kind)
        elif pour:
            title = s.title.partition(":")[0]
            out.append((f"{coat}-pour", told.say("{coat}: mix and pour", coat=Own(title)), starts,
                        ends, f"{starts:%H:%M} {s.title}. {says}", "mix"))  # fmt: skip
        else:
            out.append((s.id, s.title, starts, ends, says, s.kind))
    return out


def _windows(plan: Plan, told: _Told) -> list[tuple[str, str, datetime, datetime, str]]:
    """Bonding windows between coats, by the cautious ends of their ranges."""
    out = []
    ends = {
        s.id: datetime.fromisoformat(s.ends) for d in plan.days for s in d.steps if s.kind == "pour"
    }
    for c in plan.coats[:-1]:
        spread = [t for k, t in ends.items() if k.startswith(f"{c.id}-spread-")]
        for w in c.windows:
            if w.key != "recoat" or w.opens_h is None or w.closes_h is None or not spread:
                continue
            a = max(spread) + timedelta(hours=w.opens_h.p95)
            b = max(spread) + timedelta(hours=w.closes_h.p05)
            if b > a:
                out.append(
                    (f"{c.id}-window", f"{c.title}: {w.label}", a, b,
                     told.say(
                         "Surely open from {low} to {high}; sand first after that. The data sheet "
                         "decides.", low=Own(f"{a:%H:%M}"), high=Own(f"{b:%H:%M}")))
                )  # fmt: skip
    return out


def _event(
    plan: Plan, key: str, stamp: datetime, ident: str, title: str, starts: datetime,
    ends: datetime, words: str, lead_min: int | None, busy: bool = True,
) -> list[str]:  # fmt: skip
    uid = uuid.uuid5(SPACE, f"{key}\n{ident}")
    lines = [
        "BEGIN:VEVENT",
        f"UID:{uid}",
        f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}",
        f"SEQUENCE:{plan.provenance.job_revision}",
        f"DTSTART:{starts:%Y%m%dT%H%M%S}",
        f"DTEND:{max(ends, starts + timedelta(minutes=1)):%Y%m%dT%H%M%S}",
        f"SUMMARY:{_text(title)}",
        f"DESCRIPTION:{_text(words)}",
        f"TRANSP:{'OPAQUE' if busy else 'TRANSPARENT'}",
    ]
    if lead_min is not None:
        lines += [
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"DESCRIPTION:{_text(title)}",
            f"TRIGGER:-PT{lead_min}M",
            "END:VALARM",
        ]
    return [*lines, "END:VEVENT"]


def _text(value: str) -> str:
    """Escaped text (RFC 5545, 3.3.11)."""
    clean = "".join(c for c in value.replace("\r\n", "\n") if c == "\n" or c.isprintable())
    return clean.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _folded(line: str) -> str:
    """A line folded to 75 octets (RFC 5545, 3.1), never inside a character."""
    out, room = [], 75
    part = ""
    size = 0
    for c in line:
        n = len(c.encode("utf-8"))
        if size + n > room:
            out.append(part)
            part, size, room = "", 0, 74
        part += c
        size += n
    out.append(part)
    return "\r\n ".join(out) + "\r\n"
