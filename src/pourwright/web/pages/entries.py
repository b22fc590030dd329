"""What can be written into the record by hand: fields of each kind, what was typed, words for it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from pourwright.errors import InputError
from pourwright.quantities import exact, read, understand
from pourwright.quantities.locales import find_locale
from pourwright.store.jobs import JobState
from pourwright.web import written
from pourwright.web.pages.show import Show
from pourwright.words import say

KINDS = ("reading", "look", "fault", "check", "photo", "logger", "account", "note")
"""Kinds with a form of their own, in the order in which a job asks for them."""
STAGES = ("cup gel", "film gel", "tack-free")
WHATS = ("cup release", "hardness", "moisture", "bow")
RELEASES = ("clean", "tacky", "soft", "streaks")
QUANTITIES = {
    "temperature": "temperature", "surface_temperature": "temperature", "humidity": "share",
    "ran_off": "mass", "tools": "mass", "left_over": "mass", "mass": "mass", "bow": "length",
    "across": "length",
}  # fmt: skip
NUMBERS = ("shore_d", "moisture_percent", "count")
BARE = {
    "metric": {"temperature": "degC", "share": "%", "mass": "g", "length": "mm"},
    "us": {"temperature": "degF", "share": "%", "mass": "oz", "length": "in"},
}  # fmt: skip


def slug(text: str) -> str:
    """A choice such as ``soft spot`` as the end of a key in the catalogue [-]."""
    return text.replace(" ", "_").replace("-", "_")


def moment_of(posted: Mapping[str, str], now: datetime) -> datetime:
    """When it was [-]: the date and clock time that were `posted`, else `now`."""
    day, at = posted.get("date", "").strip()[:10], posted.get("at", "").strip()[:5]
    if not day and not at:
        return now.replace(microsecond=0, tzinfo=None)
    try:
        return datetime.fromisoformat(f"{day or now.date().isoformat()}T{at or f'{now:%H:%M}'}")
    except ValueError:
        raise InputError(
            "at", f"{day} {at}", "it is a day and a clock time", "Choose both."
        ) from None


def typed(kind: str, posted: Mapping[str, str], show: Show, now: datetime) -> dict[str, Any]:
    """What was `posted` as the fields of an entry of `kind`.

    Parameters
    ----------
    kind : str [-]
        One of `KINDS` but photo and logger.
    posted : mapping of str to str [-]
        What was typed, by field.
    show : Show [-]
        Units and language: a bare number is in these units.
    now : datetime [-]
        Counts where no moment was given.

    Returns
    -------
    dict [text with units]

    Raises
    ------
    InputError
        At the field that cannot be read.
    """
    fields = {
        "reading": ("temperature", "humidity", "surface_temperature"),
        "look": ("stage", "seen", "watched", "of", "mass"),
        "fault": ("fault", "surface", "coat", "cup", "across", "count"),
        "check": ("what", "cup", "surface", "release", "shore_d", "moisture_percent", "bow"),
        "account": ("coat", "ran_off", "tools", "left_over"),
        "note": ("text",),
    }.get(kind)
    if fields is None:
        raise InputError("kind", kind, say("one of {names}", names=", ".join(KINDS)), "Choose one.")
    out: dict[str, Any] = {"at": moment_of(posted, now)}
    for name in fields:
        text = " ".join(posted.get(name, "").split()) if name != "text" else posted.get(name, "")
        text = text.strip()
        if not text:
            continue
        if name in QUANTITIES:
            out["surface" if name == "surface_temperature" else name] = quantity(
                text, name, QUANTITIES[name], show
            )
        elif name in NUMBERS:
            out[name] = number(text, name, show)
        elif name in ("seen", "watched"):
            out[name] = text == "yes"
        else:
            out[name] = text
    if posted.get("note", "").strip() and kind != "note":
        out["note"] = posted["note"].strip()[:1000]
    if kind == "look":
        return _look(out)
    if kind == "check":
        wanted = {"cup release": "release", "hardness": "shore_d", "moisture": "moisture_percent",
                  "bow": "bow"}.get(str(out.get("what")), "")  # fmt: skip
        for other in ("release", "shore_d", "moisture_percent", "bow"):
            if other != wanted:
                out.pop(other, None)
        if out.get("what") != "cup release":
            out.pop("cup", None)
    return out


def _look(out: dict[str, Any]) -> dict[str, Any]:
    of = str(out.pop("of", ""))
    out.setdefault("seen", False)
    if out.get("stage") == "cup gel":
        if "/" not in of:
            raise InputError("of", of, "a cup's gel is of a cup", "Choose the cup.")
        out["cup"] = of
    else:
        out["coat"] = of.partition("/")[0]
        out.pop("mass", None)
        if not out["coat"]:
            raise InputError("of", of, "a film belongs to a coat", "Choose the coat.")
    return out


def quantity(text: str, field: str, dimension: str, show: Show) -> str:
    """A quantity of `dimension` [-] as exact text; a bare number is in the units of `show`.

    Raises `InputError` at `field` [-].
    """
    mark = find_locale(show.locale).decimal
    plain = text.replace("−", "-").strip()
    if plain.replace(mark, "", 1).replace("-", "", 1).isdigit():
        text = f"{plain} {BARE[show.units][dimension]}"
    return exact(understand(text, dimension, field, show.locale).value_si, dimension)


def number(text: str, field: str, show: Show) -> float | int:
    """A plain number [-] as typed in the language of `show`; raises `InputError` at `field` [-]."""
    plain = text.removesuffix("%").strip().replace(find_locale(show.locale).decimal, ".")
    try:
        value = float(plain)
    except ValueError:
        raise InputError(field, text, "it is a number", "Write a number such as 62.") from None
    return int(value) if field == "count" and value.is_integer() else value


def to_plan(document: dict[str, Any], kind: str, entry: Mapping[str, Any], job: JobState) -> bool:
    """Put what an `entry` of `kind` says of air or cure into a job's `document` for the plan [-].

    Temperatures go under ``site.measured``, looks at a film and hardness under ``site.seen``; what
    lies before the first day of `job` or far behind it changes no plan. Returns whether anything
    was put in; `document` is changed in place.
    """
    at = entry["at"] if isinstance(entry["at"], datetime) else datetime.fromisoformat(entry["at"])
    day = (at.date() - written.start_of(job)).days
    if not 0 <= day <= 60:
        return False
    site = document["site"]
    here = {"day": day, "at": f"{at:%H:%M}"}
    if kind == "reading" and entry.get("temperature"):
        old = [
            m for m in site.get("measured", []) if (m.get("day", 0), m["at"]) != (day, here["at"])
        ]
        site["measured"] = [*old, {**here, "temperature": entry["temperature"]}]
        return True
    if kind == "look" and entry.get("stage") in ("film gel", "tack-free"):
        seen = {**here, "coat": entry["coat"], "stage": entry["stage"], "reached": entry["seen"]}
        if entry["coat"] in ("colour", "flood"):
            site["seen"] = [*site.get("seen", []), seen]
            return True
    return False


def words_of(entry: Mapping[str, Any], show: Show) -> str:
    """An entry of the record in words [-], as `show` writes numbers."""
    w, e, kind = show.words, entry, entry["kind"]

    def q(key: str) -> str:
        dimension = QUANTITIES.get(key, "mass")
        return show.quantity(read(e[key], dimension), dimension)

    parts: list[str] = []
    if kind == "reading":
        for key, dimension in (("temperature", "temperature"), ("humidity", "share"),
                               ("surface", "temperature")):  # fmt: skip
            if key in e:
                si = read(e[key], dimension)
                said = show.number(100 * si) + " %" if dimension == "share" else show.quantity(
                    si, dimension)  # fmt: skip
                parts.append(w(f"entry.{key}_said", value=said))
    elif kind == "cup":
        mass = [show.quantity(read(e[k], "mass"), "mass") for k in ("a", "b")]
        parts = [w("entry.cup_said", cup=e["cup"], a=mass[0], b=mass[1])]
        lots = [e[k] for k in ("lot_a", "lot_b") if e.get(k)]
        parts += [w("entry.lots", lots=" / ".join(lots))] if lots else []
    elif kind == "look":
        of = e.get("cup") or w(f"entry.coat_{e['coat']}") if e.get("coat") in (
            None, "colour", "flood") else e["coat"]  # fmt: skip
        reached = "reached" if e["seen"] else "not_yet"
        parts = [w(f"entry.look_{reached}", stage=w(f"stage.{slug(e['stage'])}"), of=of)]
    elif kind == "fault":
        where = [e[k] for k in ("surface", "cup") if e.get(k)]
        if e.get("coat"):
            where.insert(0, w(f"entry.coat_{e['coat']}") if e["coat"] in ("colour", "flood")
                         else e["coat"])  # fmt: skip
        parts = [
            w(f"fault.{slug(e['fault'])}") + (f" × {e['count']}" if e.get("count", 1) > 1 else "")
        ]
        parts += where
        parts += [w("entry.across_said", value=q("across"))] if "across" in e else []
    elif kind == "check":
        value = {"cup release": lambda: w(f"release.{e['release']}"),
                 "hardness": lambda: f"{show.number(e['shore_d'])} Shore D",
                 "moisture": lambda: f"{show.number(e['moisture_percent'])} %",
                 "bow": lambda: q("bow")}[e["what"]]()  # fmt: skip
        parts = [f"{w('what.' + slug(e['what']))}: {value}"]
        parts += [e[k] for k in ("cup", "surface") if e.get(k)]
    elif kind == "account":
        parts = [w(f"entry.coat_{e['coat']}") if e["coat"] in ("colour", "flood") else e["coat"]]
        parts += [
            w(f"entry.{k}_said", value=q(k)) for k in ("ran_off", "tools", "left_over") if k in e
        ]
    elif kind == "logger":
        parts = [w("entry.logger_said", n=len(e["minutes"]))]
        if e.get("left_out"):
            parts.append(w("entry.spikes", n=len(e["left_out"])))
        parts += list(e.get("gaps", []))[:2]
    elif kind == "photo":
        parts = [e.get("caption") or w("entry.photo_said")]
    elif kind == "note":
        parts = [e["text"]]
    elif kind == "repair":
        parts = [w("entry.repair_said", fault=e["fault"], job=e["job"])]
    elif kind == "struck":
        parts = [w("entry.struck_said", of=e["of"])]
    if e.get("note"):
        parts.append(e["note"] if e["note"] != "as on the card" else w("entry.as_card"))
    return ", ".join(x for x in parts if x)


def day_choices(job: JobState, plan: Mapping[str, Any] | None, show: Show) -> list[tuple[str, str]]:
    """Days to choose from for an entry of `job` [-]: those of its `plan`, today and two before.

    Written as `show` writes days.
    """
    today = datetime.now().date()
    days = {(today - timedelta(days=k)).isoformat() for k in range(3)}
    days |= {d["date"] for d in plan["days"]} if plan else {written.start_of(job).isoformat()}
    return [(d, show.day(d, True)) for d in sorted(days)]
