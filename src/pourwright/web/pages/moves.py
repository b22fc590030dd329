"""The score move by move as plain forms: what, when, with which shades; order, new moves, gone moves."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pourwright.errors import InputError
from pourwright.quantities import read, write
from pourwright.web.pages.forms import taken
from pourwright.web.pages.show import Show
from pourwright.words import in_words

if TYPE_CHECKING:
    from pourwright.pattern import Score

KINDS = ("coat", "ribbons", "spread", "tilt", "rest", "torch", "veins", "push")
SUFFIX = {"_mm": ("length", 1e-3), "_s": ("time", 1.0), "_min": ("time", 60.0),
          "_deg": ("angle", 0.017453292519943295)}  # fmt: skip
"""Ending of a field's name to its dimension and SI per unit."""
TIMES = ("at_min", "at_flow_left", "takes_s")
COMPOSITION = ("direction_deg", "scale_mm", "lively")


def split(name: str) -> tuple[str, tuple[str, float] | None]:
    """The stem of a field's `name` [-] and its dimension with SI per unit, or None."""
    for end, found in SUFFIX.items():
        if name.endswith(end):
            return name.removesuffix(end), found
    return name, None


def shown(value: Any, name: str, show: Show) -> str:
    """What the field `name` shows for `value` [unit of the name] in the units of `show`."""
    if value is None:
        return ""
    _, found = split(name)
    if found is None:
        return show.number(float(value), 6) if isinstance(value, float) else str(value)
    dim, scale = found
    if dim == "angle":
        return f"{show.number(float(value), 6)} °"
    if dim == "time" and (name == "at_min" or float(value) * scale >= 120):
        return f"{show.number(float(value) * scale / 60, 6)} min"
    text = write(float(value) * scale, dim, show.units, show.locale)
    if text.endswith(" mil"):
        return f"{show.number(float(value) * scale / 0.0254, 4)} in"
    return text


def taken_as(text: str, name: str, field: str, show: Show, whole: bool) -> Any:
    """What the `text` in `field` means for the score's field `name` [unit of the name].

    `whole` numbers stay whole; `show` says how it is written. Raises `InputError` at `field`.
    """
    text = " ".join(text.split())
    if not text:
        return None
    _, found = split(name)
    if found is not None:
        dim, scale = found
        if dim == "time" and re.fullmatch(r"\d+([.,]\d+)?", text):
            text += " min" if name == "at_min" else " s"
        if dim == "angle" and re.fullmatch(r"[-−]?\d+([.,]\d+)?", text):
            text += " deg"
        value = read(taken(text.replace("−", "-"), field, show, dim), dim, field=field) / scale
        return round(value, 9)
    return taken(text, f"{field}.{'count' if whole else 'sun'}", show)


def usual(kind: str, score: Score) -> dict[str, Any]:
    """A new move of a `kind` [-] for `score`, with what its cups still hold."""
    from pourwright.pattern.score import LAYING

    made: dict[str, Any] = {"do": kind}
    if kind in ("coat", "ribbons", "veins"):
        left = dict(score.cups)
        for m in score.moves:
            if isinstance(m, LAYING):
                for shade, share in m.uses.items():
                    left[shade] = left.get(shade, 0.0) - share
        some = {k: round(v, 6) for k, v in left.items() if v > 1e-4}
        if not some:
            raise InputError("moves.add", kind, "the other moves use up every cup",
                             "Let one of them use less first.")  # fmt: skip
        if kind == "veins":
            name = min(some, key=lambda k: score.cups[k])
            some = {name: min(some[name], 0.02)}
        made["uses"] = some
    return made


def views(score: Score, names: Mapping[str, str], show: Show) -> list[dict[str, Any]]:
    """The moves of a `score` as their forms need them [-], with `names` of shades."""
    w = show.words
    out = []
    for k, m in enumerate(score.moves):
        data = m.model_dump()
        fields = []
        for name in type(m).model_fields:
            if name in ("do", "uses"):
                continue
            stem, found = split(name)
            fields.append(
                {
                    "path": f"moves.{k}.{name}",
                    "label": w(f"movefield.{stem}"),
                    "help": w(f"movefield.{stem}_help"),
                    "value": shown(data[name], name, show),
                    "measured": found[0] if found and name != "at_min" else "",
                    "when": name in TIMES,
                }
            )
        uses = [
            {"path": f"moves.{k}.uses.{s}", "label": in_words(names.get(s, s), show.locale),
             "value": _percent(data["uses"].get(s), show)}
            for s in score.cups
        ] if "uses" in data else []  # fmt: skip
        out.append({"k": k, "do": m.do, "fields": fields, "uses": uses})
    return out


def composition_views(score: Score, show: Show) -> list[dict[str, str]]:
    """Fields of the large forms and of the cups of a `score` [-], written as `show` says."""
    out = []
    for name in COMPOSITION:
        stem, found = split(name)
        out.append({
            "path": f"composition.{name}", "label": show.words(f"movefield.{stem}"),
            "help": show.words(f"movefield.{stem}_help"), "measured": found[0] if found else "",
            "value": shown(getattr(score.composition, name), name, show),
        })  # fmt: skip
    return out


def cup_views(score: Score, names: Mapping[str, str], show: Show) -> list[dict[str, str]]:
    """Fields of the cups of a `score` [-]: how much of the mixed resin each shade is."""
    return [
        {
            "path": f"cups.{s}",
            "label": in_words(names.get(s, s), show.locale),
            "value": _percent(share, show),
        }
        for s, share in score.cups.items()
    ]


def _percent(share: float | None, show: Show) -> str:
    return "" if share is None else f"{show.number(100 * share, 6)} %"


def edited(text: str, posted: Mapping[str, str], show: Show) -> str:
    """The score `text` [-] with the forms of its moves put in: new order, new moves, gone moves.

    `posted` are the form's fields, `show` how they are written. Raises `InputError` at the field.
    """
    from pourwright.pattern import read_score
    from pourwright.pattern.score import write_score

    score = read_score(tomllib.loads(text))
    data = score.model_dump(exclude_none=True)
    models = [type(m) for m in score.moves]
    rows: list[dict[str, Any]] = []
    for k, (row, model) in enumerate(zip(data["moves"], models)):
        made = dict(row)
        for name, info in model.model_fields.items():
            path = f"moves.{k}.{name}"
            if name == "uses":
                made["uses"] = _uses(made["uses"], score, path, posted, show)
                continue
            if name == "do" or path not in posted:
                continue
            if " ".join(posted[path].split()) == " ".join(shown(row.get(name), name, show).split()):
                continue
            value = taken_as(posted[path], name, path, show, info.annotation is int)
            made.pop(name, None)
            if value is not None:
                made[name] = value
        rows.append(made)
    for name in COMPOSITION:
        path = f"composition.{name}"
        before = shown(getattr(score.composition, name), name, show)
        if path in posted and posted[path].strip() != before.strip():
            value = taken_as(posted[path], name, path, show, False)
            if value is not None:
                data["composition"][name] = value
    cups = dict(data["cups"])
    for shade, before_share in cups.items():
        path = f"cups.{shade}"
        if posted.get(path, "").strip() not in ("", _percent(before_share, show).strip()):
            cups[shade] = read(taken(posted[path], path, show, "share"), "share", field=path)
    data["cups"] = cups
    data["moves"] = _ordered(rows, posted, score)
    try:
        return write_score(read_score(data))
    except InputError as err:
        field = re.sub(r"^score\.", "", re.sub(r"\[(\w+)\]", r".\1", err.field))
        raise InputError(field, err.value, err.limit, err.remedy) from None


def _uses(
    before: Mapping[str, float], score: Score, path: str, posted: Mapping[str, str], show: Show
) -> dict[str, float]:
    out = {}
    for shade in score.cups:
        here = f"{path}.{shade}"
        if here not in posted:
            if shade in before:
                out[shade] = before[shade]
            continue
        text = " ".join(posted[here].split())
        if text == _percent(before.get(shade), show):
            if shade in before:
                out[shade] = before[shade]
        elif text:
            share = read(taken(text, here, show, "share"), "share", field=here)
            if share > 0:
                out[shade] = share
    if not out:
        raise InputError(path + "." + next(iter(score.cups)), "", "a laying move uses a shade",
                         "Give a share, or take the move out.")  # fmt: skip
    return out


def _ordered(
    rows: list[dict[str, Any]], posted: Mapping[str, str], score: Score
) -> list[dict[str, Any]]:
    """The moves after one of the buttons up, down, gone or add was pressed."""
    do = posted.get("do", "")
    found = re.fullmatch(r"(up|down|gone)\.(\d{1,3})", do)
    if found and int(found[2]) < len(rows):
        k = int(found[2])
        if found[1] == "gone":
            return [r for n, r in enumerate(rows) if n != k]
        other = k - 1 if found[1] == "up" else k + 1
        if 0 <= other < len(rows):
            rows[k], rows[other] = rows[other], rows[k]
        return rows
    kind = posted.get("moves.add", "")
    if do == "add" and kind in KINDS:
        return [*rows, usual(kind, score)]
    return rows
