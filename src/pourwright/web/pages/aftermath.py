"""What follows from a record: causes of faults and their repair, money spent, lessons learned."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.store.happened import LogLine
from pourwright.store.jobs import JobState
from pourwright.store.store import Store
from pourwright.web import deps, written
from pourwright.web.pages import entries
from pourwright.web.pages.asked import Asked, asked, own_words
from pourwright.web.pages.render import fields, on_to, show_for
from pourwright.web.pages.show import Show
from pourwright.web.record_work import LEARNED
from pourwright.words import in_words

router = APIRouter()
PRODUCT = LEARNED
TEACHING = ("look", "cup", "account")
"""Kinds of entries that teach something."""
WIDE = 300.0
"""Width of the bars of ranges [-]."""


async def views(request: Request, job: JobState, log: list[LogLine], show: Show) -> dict[str, Any]:
    """All that follows from the `log` of `job` as the page of its record needs it [-].

    For `request`, as `show` writes.
    """
    marks = fingerprint(log)
    gone, numbers = written.struck(log), written.numbered(log)
    faults = [
        {**x.data["entry"], "number": numbers[x.id], "said": entries.words_of(x.data["entry"], show),
         "when": show.moment(x.data["entry"]["at"])}
        for x in log
        if x.kind == "fault" and "entry" in x.data and numbers[x.id] not in gone
    ]  # fmt: skip
    judged = Asked()
    if faults or any(x.kind == "account" for x in log):
        judged = await asked(request, job, "causes", {"marks": marks})
    spent = spent_of(log)
    money = await asked(request, job, "money", {"spent": spent}, start=bool(spent))
    if money.data is None and not spent:
        money = await asked(request, job, "money", {"spent": {}})
    wants = deps.store(request).setting(f"lessons {job.id}", None)
    learned = await asked(request, job, "lessons", wants, False) if wants else Asked()
    repairs = {x.data["entry"]["fault"]: x.data["entry"]["job"] for x in log
               if x.kind == "repair" and "entry" in x.data}  # fmt: skip
    busy = judged.task or money.task or learned.task
    own = own_words(job)
    causes, costs = judged.said(show, own), money.said(show, own, ("compared", "titles"))
    lessons = learned.said(show, own, ("document", "product_file"))
    return {
        "faults": [fault_view(f, causes, repairs, show) for f in faults],
        "judging": judged.task, "judge_error": judged.error,
        "accounts": [account_view(a, show) for a in (causes or {}).get("accounts", [])],
        "money": money_view(costs, spent, show) if costs else None,
        "reckoning": money.task, "money_error": money.error,
        "lessons": lessons_view(lessons, show) if lessons else None,
        "learning": learned.task, "learn_error": learned.error,
        "can_learn": any(x.kind in TEACHING and "entry" in x.data for x in log),
        "taught": PRODUCT in job.document.get("products", []) or bool(
            deps.store(request).setting(f"taught {job.id}", None)),
        "repair_start": (date.today() + timedelta(days=7)).isoformat(),
        "refresh": 4 if busy else None,
    }  # fmt: skip


def fingerprint(log: Iterable[LogLine]) -> str:
    """A mark [-] of all entries in a `log`: what is worked out of them is kept under it."""
    data = [(x.id, x.data["entry"]) for x in log if "entry" in x.data]
    return hashlib.sha256(json.dumps(data, sort_keys=True).encode()).hexdigest()[:24]


def fault_view(
    fault: Mapping[str, Any], judged: Mapping[str, Any] | None, repairs: Mapping[str, str],
    show: Show,
) -> dict[str, Any]:  # fmt: skip
    """A `fault` with its ranked causes [-], once they are `judged`, and its repair if planned.

    `repairs` [-] are entries to jobs; words as `show` writes.
    """
    found = next(
        (v for v in (judged or {}).get("faults", []) if v["entry"] == fault["number"]), None
    )
    out: dict[str, Any] = {
        "number": fault["number"], "said": fault["said"], "when": fault["when"], "causes": [],
        "job": repairs.get(fault["number"], ""),
    }  # fmt: skip
    if found:
        out |= {k: found[k] for k in ("looks", "repair", "remedy", "cautions")}
        out["causes"] = [
            {**c, "percent": show.fixed(100 * c["share"]), "wide": round(WIDE * c["share"], 1)}
            for c in found["causes"]
        ]
    return out


def account_view(a: Mapping[str, Any], show: Show) -> dict[str, str]:
    """Where the resin of a coat went [-], account `a` [kg, m] as `show` writes."""

    def mass(key: str) -> str:
        return show.mass(a[key] * 1e3) if a.get(key) is not None else "–"

    return {
        "coat": show.words(f"entry.coat_{a['coat']}"),
        "cups": f"{a['cups']} / {a['cups_planned']}",
        "mixed": mass("mixed_kg"), "in_cups": mass("in_cups_kg"), "ran_off": mass("ran_off_kg"),
        "tools": mass("tools_kg"), "left_over": mass("left_over_kg"),
        "on_surface": mass("on_surface_kg"),
        "film": show.length(a["film_m"] * 1e3) if a.get("film_m") else "–",
        "film_planned": show.length(a["film_planned_m"] * 1e3),
    }  # fmt: skip


# money -------------------------------------------------------------------------------------------


def spent_of(log: Iterable[LogLine]) -> dict[str, str]:
    """What a `log` says was really spent [currency]: group to money; the last line counts."""
    out: dict[str, str] = {}
    for x in log:
        for group, text in x.data.get("spent", {}).items():
            if text:
                out[group] = text
            else:
                out.pop(group, None)
    return out


def money_view(money: Mapping[str, Any], spent: Mapping[str, str], show: Show) -> dict[str, Any]:
    """Planned against `spent`, group by group, with bars [-]; `money` [currency] as `show` writes."""
    currency = money["currency"]
    titles = {g: in_words(x, show.locale) for g, x in money["titles"].items()}
    known = {c["group"]: c for c in money.get("compared", {}).get("groups", [])}
    ranges = money["group_ranges"]
    top = max([float(m) for m in money["groups"].values()]
              + [r["p95"] for r in ranges.values()]
              + [float(c["spent"]) for c in known.values()] + [1.0])  # fmt: skip
    rows = []
    for g, title in titles.items():
        if g not in money["groups"] and g not in known:
            continue
        r = ranges.get(g, {"p05": 0.0, "p95": 0.0})
        real = known.get(g) if g in spent else None
        rows.append(
            {
                "group": g, "title": title,
                "planned": show.fixed(float(money["groups"].get(g, 0)), 2),
                "low": round(WIDE * r["p05"] / top, 1), "high": round(WIDE * r["p95"] / top, 1),
                "at": round(WIDE * float(money["groups"].get(g, 0)) / top, 1),
                "spent": show.fixed(float(real["spent"]), 2) if real else "",
                "spent_at": round(WIDE * float(real["spent"]) / top, 1) if real else None,
                "place": real["place"] if real else "",
                "range": show.words("show.to", low=show.fixed(r["p05"]), high=show.fixed(r["p95"])),
            }
        )  # fmt: skip
    done = money.get("compared")
    return {
        "currency": currency, "rows": rows,
        "net": show.money(float(money["net"]), currency),
        "spent": show.money(float(done["spent"]), currency) if done else "",
        "earned": show.money(float(done["earned"]), currency) if done else "",
        "all": done is not None and all(r["spent"] for r in rows),
    }  # fmt: skip


@router.post("/jobs/{job_id}/record/spent")
async def spent(request: Request, job_id: str) -> Response:
    """What groups really cost."""
    from pourwright.price.items import GROUPS
    from pourwright.quantities.money import read_money

    job = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    currency = str((job.document.get("show") or {}).get("currency", "EUR"))
    store = deps.store(request)
    known = spent_of(store.happened.log(job_id, most=written.EVERY))
    new: dict[str, str] = {}
    for group in GROUPS:
        text = posted.get(f"spent.{group}", "").strip()
        if text:
            found = read_money(text, f"spent.{group}", show.locale, currency)
            if found.amount < 0:
                raise InputError(
                    f"spent.{group}", text, "it is not below nought", "Check the sign."
                )
            text = f"{found.currency} {found.amount:f}"
        if text != known.get(group, ""):
            new[group] = text
    if new:
        words = ", ".join(f"{GROUPS[g]} {m or '–'}" for g, m in new.items())
        store.happened.note(job_id, "spent", words, {"spent": new}, deps.who_of(request))
    return on_to(f"/jobs/{job_id}/record#r-money", "noted")


# repair ------------------------------------------------------------------------------------------


@router.post("/jobs/{job_id}/record/repair")
async def repair(request: Request, job_id: str) -> Response:
    """Plan the repair of a fault as a job of its own."""
    job = deps.job(request, job_id)
    posted = await fields(request)
    try:
        start = date.fromisoformat(posted.get("start", "")[:10])
    except ValueError:
        raise InputError(
            "start", posted.get("start"), "it is a date", "Choose the first day."
        ) from None
    from starlette.concurrency import run_in_threadpool

    made = await run_in_threadpool(
        plan_repair, deps.store(request), job, posted.get("fault", ""), start, deps.who_of(request)
    )
    return on_to(f"/jobs/{made.id}/day", "repair")


def plan_repair(store: Store, job: JobState, number: str, start: date, who: str) -> JobState:
    """A job that mends the fault with entry `number` of `job`, from day `start` on [-].

    Kept in `store`, as written by `who` [-]. Raises `NotThere` for a number that is no fault.
    """
    from pourwright.plan import job_from
    from pourwright.record import repair_job
    from pourwright.record.faults import Verdict, fault_tables

    fault = next(
        (e for e in written.record_of(store, job).of_kind("fault") if e.id == number), None
    )
    if fault is None:
        raise NotThere("fault", number, "no such fault stands in the record", "Look again.")
    tables = fault_tables()
    table = next(f for f in tables["fault"] if f["name"] == fault.fault)
    verdict = Verdict(fault, table["looks"], (), table["repair"],
                      tables["repairs"][table["repair"]], ())  # fmt: skip
    document = repair_job(job_from(job.document), verdict, start).to_document()
    named = {*document.get("products", []), (document.get("finish") or {}).get("score")}
    files = {k: v for k, v in job.files.items() if k in named}
    made = store.jobs.create(document, files, who, f"repair of {job.id}, {number}")
    data = {"at": f"{date.today()} 00:00", "fault": number, "job": made.id}
    written.write(store, job, "repair", data, f"{number}: {made.id}", who)
    return made


# lessons -----------------------------------------------------------------------------------------


def lessons_view(found: Mapping[str, Any], show: Show) -> dict[str, Any]:
    """What was learned as bars before and after [-], `found` [min] by the worker, as `show` writes."""
    resins = []
    for r in found["resins"]:
        figures = [
            {"title": f["title"], "before": _band(f["before_min"], show),
             "after": _band(f["after_min"], show), **_bars(f["before_min"], f["after_min"])}
            for f in r["figures"]
        ]  # fmt: skip
        resins.append({"name": r["name"], "air": show.temperature(r["air_degC"]), **r["evidence"],
                       "figures": figures, "warnings": r["warnings"]})  # fmt: skip
    rates = [
        {"title": x["title"], "unit": x["unit"], "jobs": len(x["evidence"]),
         "before": show.span(x["before"]), "after": show.span(x["after"]),
         **_bars(x["before"], x["after"])}
        for x in found["rates"]
    ]  # fmt: skip
    return {
        "jobs": found["jobs"], "resins": resins, "rates": rates, "notes": found["notes"],
        "file": bool(found.get("product_file")) or bool(rates), "said": found.get("said", []),
        "changes": [change_view(c, show) for c in found.get("changes", [])],
    }  # fmt: skip


def change_view(c: Mapping[str, Any], show: Show) -> dict[str, str]:
    """One figure of the plan before and after learning [its unit], as `show` writes."""

    def said(x: Any) -> str:
        if x is None or x == "":
            return "–"
        if isinstance(x, str):
            return x if not x[:4].isdigit() else show.day(x)
        unit = "" if c["unit"] == "-" else c["unit"]
        if isinstance(x, Mapping):
            return f"{show.span(dict(x))} {unit}".strip()
        if c["unit"] == "L":
            return show.volume(1000.0 * float(x))
        return f"{show.number(float(x))} {unit}".strip()

    return {"title": c["title"], "before": said(c["before"]), "after": said(c["after"])}


def _band(minutes: Mapping[str, float], show: Show) -> str:
    return show.hours({k: v / 60.0 for k, v in minutes.items()})


def _bars(before: Mapping[str, float], after: Mapping[str, float]) -> dict[str, float]:
    top = 1.05 * max(before["p95"], after["p95"], 1e-9)

    def at(x: float) -> float:
        return round(WIDE * max(x, 0.0) / top, 1)

    return {"b0": at(before["p05"]), "b1": at(before["p50"]), "b2": at(before["p95"]),
            "a0": at(after["p05"]), "a1": at(after["p50"]), "a2": at(after["p95"])}  # fmt: skip


@router.post("/jobs/{job_id}/record/learn")
async def learn(request: Request, job_id: str) -> Response:
    """Learn from the records, use what was learned in this job, or take it out again."""
    from starlette.concurrency import run_in_threadpool

    job = deps.job(request, job_id)
    posted = await fields(request)
    do = posted.get("do", "")
    store, who = deps.store(request), deps.who_of(request)
    words = show_for(request, job).words
    if do == "learn":
        jobs = await run_in_threadpool(teaching_jobs, store, job.id, posted.get("all") == "yes")
        wants = {"jobs": [i for i, _ in jobs], "marks": [m for _, m in jobs], "teach": job.id}
        store.set_setting(f"lessons {job.id}", wants)
        found = await asked(request, job, "lessons", wants, again=True)
        del found
        return on_to(f"/jobs/{job_id}/record#r-learned")
    if do == "use":
        wants = store.setting(f"lessons {job.id}", None)
        found = await asked(request, job, "lessons", wants, False) if wants else Asked()
        if found.data is None or not found.data.get("document"):
            raise InputError(
                "lessons", "", "nothing was learned yet", "Learn from the records first."
            )
        await run_in_threadpool(use_lessons, store, job, found.data, who, words("why.learned"))
        return on_to(f"/jobs/{job_id}/record#r-learned", "learned")
    if do == "back":
        await run_in_threadpool(forget_lessons, store, job, who, words("why.unlearned"))
        return on_to(f"/jobs/{job_id}/record#r-learned", "unlearned")
    raise InputError("do", do, "it is learn, use or back", "Use the buttons.")


def teaching_jobs(store: Store, own: str, all_: bool) -> list[tuple[str, str]]:
    """Jobs in `store` whose record teaches something: id and mark of its entries [-].

    Only the job `own` [-] unless `all_`.
    """
    out = []
    for ident in store.jobs.ids() if all_ else [own]:
        log = store.happened.log(ident, most=written.EVERY)
        if any(x.kind in TEACHING and "entry" in x.data for x in log):
            out.append((ident, fingerprint(log)))
    if not out:
        raise InputError(
            "record", own, "no record holds a look, a cup or a weighing yet",
            "Write down when a cup gelled or a film was tack-free.",
        )  # fmt: skip
    return out


def use_lessons(
    store: Store, job: JobState, found: Mapping[str, Any], who: str, why: str
) -> JobState:
    """`job` in `store` with what was `found` in it, saved by `who` with the words `why` [-].

    What stood there before is kept in the job itself, under ``learned``.
    """
    from pourwright.record.teach import GONE
    from pourwright.web.pages.forms import get, put

    document = without_lessons(job.document)
    learned = dict(found["document"]["learned"])
    # what stood there as it was typed, so that taking it out again leaves no trace
    learned["was"] = {p: get(document, p, GONE) for p in learned["was"]}
    for path in learned["was"]:
        put(document, path, get(found["document"], path))
    document["learned"] = learned
    files = {**job.files}
    if found.get("product_file"):
        files[PRODUCT] = found["product_file"]
    made = store.jobs.save(job.id, job.revision, document, files, who, why)
    store.happened.note(job.id, "learned", "; ".join(found.get("said", []))[:2000],
                        {"jobs": found["jobs"]}, who)  # fmt: skip
    return made


def without_lessons(document: Mapping[str, Any]) -> dict[str, Any]:
    """A copy of a job's `document` [-] as it was before it learned."""
    from pourwright.record.teach import put_back

    out = copy.deepcopy(dict(document))
    if out.get("learned"):
        put_back(out, out["learned"].get("was", {}))
    return out


def forget_lessons(store: Store, job: JobState, who: str, why: str) -> JobState:
    """`job` in `store` as it was before lessons were put in; `who` and `why` [-] for the history.

    Raises `InputError` when it has learned nothing.
    """
    if not job.document.get("learned"):
        raise InputError("learned", None, "this job has learned nothing", "Nothing to take out.")
    document = without_lessons(job.document)
    made = store.jobs.save(job.id, job.revision, document, job.files, who, why)
    store.happened.note(job.id, "learned", "taken out again", {}, who)
    return made
