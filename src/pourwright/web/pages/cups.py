"""Cups: one card each, ticked off as mixed with mass, time and lot; the card in large type."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import Field

from pourwright.errors import InputError
from pourwright.quantities import exact, read, understand, write
from pourwright.store.errors import NotThere
from pourwright.store.jobs import JobState
from pourwright.store.store import Store
from pourwright.web import deps, written
from pourwright.web.answers import answer
from pourwright.web.api_jobs import Body
from pourwright.web.pages import marks
from pourwright.web.pages.forms import Form
from pourwright.web.pages.moment import other_day
from pourwright.web.pages.render import counts, fields, on_to, page, plan_of, planning, show_for
from pourwright.web.pages.show import Show
from pourwright.words import Amount, say

router = APIRouter()
FAR_OFF = 5.0  # a ratio that may be off by more than this is said on the card [%]
GIVEN = ("a", "b", "lot_a", "lot_b", "mixing", "at")


@dataclass(frozen=True)
class Mixed:
    """A cup that was mixed: when [-], by whom, and its entry in the record."""

    at: str
    who: str
    number: str
    entry: dict[str, Any] = field(default_factory=dict)


def mixed_cups(store: Store, job: JobState) -> dict[str, Mixed]:
    """Cups of `job` in `store` that are mixed [-]: ``colour/1A`` to what is known of it."""
    log = store.happened.log(job.id, most=written.EVERY)
    numbers, gone = written.numbered(log), written.struck(log)
    entries = {
        x.data["entry"]["cup"]: (numbers[x.id], x)
        for x in log
        if x.kind == "cup" and "entry" in x.data and numbers[x.id] not in gone
    }
    out = {}
    for key, (who, at) in store.happened.ticks(job.id).items():
        if not key.startswith("cup:"):
            continue
        cup = key.removeprefix("cup:")
        if cup in entries:
            number, line = entries[cup]
            out[cup] = Mixed(line.data["entry"]["at"], line.who, number, line.data["entry"])
        else:
            out[cup] = Mixed(at.astimezone().isoformat(), who, "")
    return out


def last_lots(mixed: Mapping[str, Mixed], coat: str) -> tuple[str, str]:
    """Lot numbers of A and B [-] in the cup of `coat` that was mixed last: the next has them too.

    `mixed` [-] are the cups mixed so far.
    """
    own = sorted((m for k, m in mixed.items() if k.startswith(f"{coat}/")), key=lambda m: m.at)
    for m in reversed(own):
        if m.entry.get("lot_a") or m.entry.get("lot_b"):
            return m.entry.get("lot_a", ""), m.entry.get("lot_b", "")
    return "", ""


def reading(value: float, unit: str, show: Show) -> tuple[str, str, str]:
    """What a scale or cup shows [g or mL]: number, unit, and the same in the scale's own unit.

    `unit` [-] is ``g`` or ``mL``; in US units the number is ounces or fluid ounces.
    """
    plain = show.number(value, 4)
    if show.units != "us":
        return plain, unit, ""
    if unit == "g":
        return show.fixed(value / 28.349523125, 2), "oz", f"{plain} g"
    return show.fixed(value / 29.5735295625, 1), "fl oz", f"{plain} mL"


def cup_card(
    coat: Mapping[str, Any],
    cup: Mapping[str, Any],
    doses: Mapping[tuple[str, str], Mapping[str, Any]],
    colours: Mapping[str, str],
    names: Mapping[str, str],
    clear: str,
    mixed: Mapping[str, Mixed],
    show: Show,
) -> dict[str, Any]:
    """One cup's card [-] out of its `coat`, `doses`, `colours`, `names` and what is `mixed`."""
    key = f"{coat['id']}/{cup['id']}"
    dose = doses.get((coat["id"], cup["id"]))
    pastes = dose["weigh_g"] if dose else cup["pastes_g"]
    off = cup["off_ratio_percent"]
    done = mixed.get(key)
    a, a_unit, a_too = reading(cup["read_a"], cup["read_by"], show)
    b, b_unit, b_too = reading(cup["read_b"], cup["read_by"], show)
    both = cup["read_a"] + sum(pastes.values()) + cup["read_b"]
    return {
        "key": key,
        "mark": key.replace("/", "-"),
        "plan": cup,
        "shade": names.get(cup["shade"], clear if cup["shade"] == "clear" else cup["shade"]),
        "colour": colours.get(cup["shade"], "#e4ddcf"),
        "a": a, "a_unit": a_unit, "a_too": a_too,
        "b": b, "b_unit": b_unit, "b_too": b_too,
        "whole": " ".join(reading(round(both), "g", show)[:2]) if cup["read_by"] == "g" else "",
        "pastes": [
            (n, show.number(g, 2) if g < 1 else show.fixed(g, 1)) for n, g in pastes.items()
        ],
        "advice": dose["advice"] if dose else [],
        "off": show.span(off) if off else "",
        "off_far": bool(off) and max(abs(off["p05"]), abs(off["p95"])) > FAR_OFF,
        "mixed": show.moment(done.at) if done else "",
        "note": said_of(done, show) if done else "",
        "lots": last_lots(mixed, coat["id"]),
    }  # fmt: skip


def said_of(done: Mixed, show: Show) -> str:
    """What a mixed cup weighed and which lots went in, in words [-]."""
    e, w = done.entry, show.words
    if not e:
        return show.by(done.who)
    parts = [f"A {_mass(e['a'], show)}, B {_mass(e['b'], show)}"]
    if e.get("lot_a") or e.get("lot_b"):
        parts.append(w("mix.lots_said", a=e.get("lot_a") or "–", b=e.get("lot_b") or "–"))
    if e.get("mixing"):
        parts.append(w("mix.stirred", time=show.quantity(read(e["mixing"], "time"), "time")))
    return "; ".join([*parts, show.by(done.who)])


def _mass(text: str, show: Show) -> str:
    return write(read(text, "mass"), "mass", show.units, show.locale)


def find_cup(plan: Mapping[str, Any], key: str) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    """Coat and cup [-] called `key` (``colour/1A``) in a `plan`; raises `NotThere`."""
    for coat in plan["coats"]:
        for cup in coat["cups"]:
            if f"{coat['id']}/{cup['id']}" == key:
                return coat, cup
    raise NotThere("cup", key[:80], "it is a cup of the plan", "Take one from the list.")


def entry_of(
    plan: Mapping[str, Any], key: str, given: Mapping[str, str], show: Show, now: datetime
) -> dict[str, Any]:
    """A cup as an entry of the record.

    Parameters
    ----------
    plan : mapping [unit-suffixed keys]
        The plan.
    key : str [-]
        ``colour/1A``.
    given : mapping of str to str [-]
        What was typed: ``a`` and ``b`` as the scale or the cup's marks showed them, lots, how long
        it was stirred, and when it was finished. What is empty was as the card says.
    show : Show [-]
        Units and language of what was typed.
    now : datetime [-]
        When the cup was ticked off.

    Returns
    -------
    dict [text with units]

    Raises
    ------
    InputError
        At the field that cannot be read.
    """
    coat, cup = find_cup(plan, key)
    doses = {(d["coat"], d["cup"]): d for s in plan["shades"] for d in s["doses"]}
    dose = doses.get((coat["id"], cup["id"]))
    pastes = dose["weigh_g"] if dose else cup["pastes_g"]
    out: dict[str, Any] = {"cup": key, "at": now.replace(tzinfo=None, microsecond=0)}
    typed = False
    for part in ("a", "b"):
        text = given.get(part, "").strip()
        kilos = cup[f"{part}_g"] / 1e3
        if text:
            typed = True
            kilos = _kilos(text, part, cup, show)
        out[part] = f"{kilos * 1e3:.6g} g"
    if not typed:
        out["note"] = "as on the card"
    if pastes:
        out["pastes"] = {n[:60]: f"{g:.6g} g" for n, g in list(pastes.items())[:12]}
    for lot in ("lot_a", "lot_b"):
        if given.get(lot, "").strip():
            out[lot] = given[lot].strip()[:60]
    if given.get("mixing", "").strip():
        found = understand(given["mixing"], "time", "mixing", show.locale)
        out["mixing"] = exact(found.value_si, "time")
    if given.get("at", "").strip():
        try:
            hour, minute = (int(x) for x in given["at"].strip()[:5].split(":"))
            out["at"] = out["at"].replace(hour=hour, minute=minute, second=0)
        except ValueError:
            raise InputError(
                "at", given["at"], "it is a clock time", "Write it as 09:40."
            ) from None
    return out


def _kilos(text: str, part: str, cup: Mapping[str, Any], show: Show) -> float:
    """Mass [kg] of part A or B from what was typed: a mass, or a volume by the cup's density."""
    unit = "g" if cup["read_by"] == "g" else "mL"
    if show.units == "us":
        unit = "oz" if unit == "g" else "fl oz"
    bare = text.replace(" ", "")
    if bare.replace(",", ".").replace(".", "", 1).isdigit():
        text = f"{bare} {unit}"
    whole = cup[f"{part}_g"] / 1e3
    litres = cup[f"{part}_mL"] / 1e6
    try:
        found = understand(text, "mass", part, show.locale).value_si
    except InputError:
        found = understand(text, "volume", part, show.locale).value_si * whole / litres
        return _near(found, whole, text, part)
    brought = cup["less_a_g"] / 1e3 if part == "a" else 0.0
    return _near(found + brought, whole, text, part)


def _near(found: float, planned: float, text: str, part: str) -> float:
    if not planned / 4 <= found <= planned * 4:
        raise InputError(
            part, text,
            say("the card says {planned:.4g}; this is far from it",
                planned=Amount(planned * 1000.0, "g")),
            "Check number and unit. Was the cup tared?",
        )  # fmt: skip
    return found


async def _plan(request: Request, job_id: str) -> Mapping[str, Any]:
    now = await plan_of(request, job_id)
    plan = now.plan or now.old
    if plan is None:
        raise InputError("cup", "", "the job has no plan yet", "Open Mix and wait for the plan.")
    return plan


async def set_mixed(
    request: Request, job: JobState, key: str, on: bool, given: Mapping[str, str],
    mark: str | None = None,
) -> None:  # fmt: skip
    """Tick cup `key` of `job` off as mixed, or open it again if not `on`, for `request`.

    `given` [-] as `entry_of` says, `mark` [-] the sender's own.
    """
    store, who, show = deps.store(request), deps.who_of(request), show_for(request, job)
    already = mixed_cups(store, job).get(key)
    if not on:
        if already and already.number:
            data = {"of": already.number, "why": "not mixed after all", "at": _now()}
            written.write(store, job, "struck", data, key, who, mark)
        store.happened.tick(job.id, f"cup:{key}", False, who)
        return
    data = entry_of(await _plan(request, job.id), key, given, show, _now())
    if already and already.number:
        if not any(given.get(k, "").strip() for k in GIVEN):
            return
        data["instead_of"] = already.number
    text = f"{key}: A {data['a']}, B {data['b']}"
    written.write(store, job, "cup", data, text, who, mark)
    store.happened.tick(job.id, f"cup:{key}", True, who)


def _now() -> datetime:
    return datetime.now().replace(microsecond=0)


def good_key(key: str) -> str:
    """The name of a cup [-] if it may be one; raises `InputError`."""
    if not 3 <= len(key) <= 60 or not key.isprintable() or "/" not in key:
        raise InputError("cup", key, "it is a cup of the plan", "Take one from the list.")
    return key


@router.post("/jobs/{job_id}/mix/tick")
async def tick(request: Request, job_id: str) -> Response:
    """A cup is mixed, or is not after all."""
    posted = await fields(request)
    job = deps.job(request, job_id)
    key = good_key(posted.get("cup", ""))
    on = bool(posted.get("mixed"))
    try:
        await set_mixed(request, job, key, on, posted)
    except NotThere:
        raise
    except InputError as err:
        return await _one(request, job, key, Form({}, show_for(request, job), posted, err), 422)
    if posted.get("from") == "one":
        return on_to(f"/jobs/{job_id}/mix/cup?cup={posted.get('next') or key}")
    return on_to(f"/jobs/{job_id}/mix#cup-{key.replace('/', '-')}")


class CupMixed(Body):
    """A cup as it was mixed; what is empty was as the card says."""

    cup: str = Field(max_length=60)
    mixed: bool = True
    a: str = Field("", max_length=40)
    b: str = Field("", max_length=40)
    lot_a: str = Field("", max_length=60)
    lot_b: str = Field("", max_length=60)
    mixing: str = Field("", max_length=40)
    at: str = Field("", max_length=5)


@router.post("/api/jobs/{job_id}/cups", status_code=201)
async def api_tick(request: Request, job_id: str, body: CupMixed) -> Response:
    """The same for the element: sent again with the same mark it counts once."""
    job = deps.job(request, job_id)
    given = {k: getattr(body, k) for k in GIVEN}
    mark = request.headers.get("x-pourwright-mark", "")[:70] or None
    await set_mixed(request, job, good_key(body.cup), body.mixed, given, mark)
    return answer({"cup": body.cup, "mixed": body.mixed}, 201)


async def _one(
    request: Request, job: JobState, key: str, form: Form | None = None, status: int = 200
) -> Response:
    show = show_for(request, job)
    now = await plan_of(request, job.id)
    plan = now.plan or now.old
    card, following, place, count, batch = None, "", 0, 0, None
    if plan:
        coat, cup = find_cup(plan, key)
        keys = [f"{c['id']}/{i}" for c in plan["coats"] for b in c["batches"] for i in b["cups"]]
        place, count = keys.index(key) + 1, len(keys)
        following = keys[place] if place < count else ""
        batch = next(b for b in coat["batches"] if cup["id"] in b["cups"])
        doses = {(d["coat"], d["cup"]): d for s in plan["shades"] for d in s["doses"]}
        card = cup_card(
            coat, cup, doses, {s["id"]: marks.over_primer(s) for s in plan["shades"]},
            {s["id"]: s["name"] for s in plan["shades"]}, show.words("finish.clear"),
            mixed_cups(deps.store(request), job), show,
        )  # fmt: skip
        card["coat"], card["before"] = coat, keys[place - 2] if place > 1 else ""
    return page(
        request, "cup.html", job, "mix", show, form or Form({}, show), status, cup=card, key=key,
        following=following, place=place, count=count, batch=batch, planning=planning(now),
        plan=plan, refresh=None if plan or now.error else 4, counts=counts(plan),
        other_day=other_day(show, plan),
    )  # fmt: skip


@router.get("/jobs/{job_id}/mix/cup")
async def one(request: Request, job_id: str) -> Response:
    """One cup in large type, to be read from where one stirs."""
    job = deps.job(request, job_id)
    key = request.query_params.get("cup", "")
    if not key:
        now = await plan_of(request, job_id)
        plan = now.plan or now.old
        done = mixed_cups(deps.store(request), job)
        keys = [f"{c['id']}/{i}" for c in (plan or {"coats": []})["coats"] for b in c["batches"]
                for i in b["cups"]]  # fmt: skip
        key = next((k for k in keys if k not in done), keys[0] if keys else "a/b")
    return await _one(request, job, good_key(key))
