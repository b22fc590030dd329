"""Forms over a job's document: dotted paths as field names, quantities read at the edge.

A form shows quantities in the reader's units and language. What comes back unchanged leaves the
document as it was to the last digit; what was changed is read strictly and stored as exact text.
"""

from __future__ import annotations

import itertools
import re
import typing
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from pourwright.errors import InputError
from pourwright.quantities import exact, read, understand
from pourwright.quantities.locales import find_locale
from pourwright.web.pages.show import Show
from pourwright.words import say

# last name of a path -> dimension of the quantity it holds
DIMENSIONS = {
    "length": "length", "round_over": "length", "drop": "length", "lip": "length",
    "height": "length", "mask": "length", "corner_radius": "length", "radius": "length",
    "diameter": "length", "x": "length", "y": "length", "door_width": "length",
    "door_height": "length", "thickness": "length", "support_span": "length", "skin": "length",
    "along": "length", "across": "length", "vein_width": "length", "vein_thread": "length",
    "scale": "length", "metacentric_height": "length", "waterline": "length",
    "centre_height": "length", "keep_off": "length", "reading_error": "length",
    "weight": "mass", "carry": "mass", "taken_out": "mass", "displacement": "mass",
    "scale_step": "mass", "tilt": "angle", "tilt_towards": "angle", "direction": "angle",
    "turn": "angle", "coolest": "temperature", "warmest": "temperature",
    "temperature": "temperature", "hottest_outside": "temperature",
    "coldest_store": "temperature", "humidity": "share", "share": "share", "risk": "share",
    "separation": "share", "film": "coverage", "vessel": "volume", "room_volume": "volume",
    "mix_time": "time", "spread_time": "time", "vein_wait": "time", "waterplane": "area",
    "wheelbase": "length", "track": "length", "front_weighed": "mass", "rear_weighed": "mass",
    "front_plate": "mass", "rear_plate": "mass", "total_plate": "mass", "cove": "length",
    "surface_below_air": "temperature_difference", "joint": "length", "paid_wait": "time",
    "least_visit": "time", "travel_time": "time", "markup": "share", "cover": "share",
    "left_over_credit": "share", "lost_day_chance": "share", "tax": "share",
}  # fmt: skip
PLAIN = {"surface_below_air"}
"""Quantities that the document holds as a plain number of their SI unit."""
PAIRS = {"size": "length", "at": "length"}
NUMBERS = {
    "coats",
    "count",
    "people",
    "seed",
    "day",
    "wood_moisture",
    "trips",
    "valid_days",
    "air_changes",
    "sun",
}
WHOLE = {"coats", "count", "people", "seed", "day", "trips", "valid_days"}


def dimension_of(path: str) -> str | None:
    """Dimension of the quantity at `path` [-], or None."""
    parts = path.split(".")
    if len(parts) > 1 and parts[-1] in ("0", "1"):
        return PAIRS.get(parts[-2])
    parts = [p for p in parts if not p.isdigit()]
    return _as_the_model_says(tuple(parts)) or DIMENSIONS.get(parts[-1])


@lru_cache(maxsize=512)
def _as_the_model_says(parts: tuple[str, ...]) -> str | None:
    """Dimension of a field of the job by its model; so a new one there is read rightly here."""
    from pourwright.plan.job import Job

    model: Any = Job
    for part in parts[:-1]:
        info = model.model_fields.get(part)
        model = model_in(info.annotation) if info else None
        if model is None:
            return None
    found: str | None = model.dimensions_of_fields().get(parts[-1])
    return found


def model_in(annotation: Any) -> Any:
    """The pydantic model named in an `annotation` [-], through unions and defaults, or None."""
    if hasattr(annotation, "model_fields"):
        return annotation
    found = (model_in(inner) for inner in typing.get_args(annotation))
    return next((m for m in found if m is not None), None)


def is_plain(path: str) -> bool:
    """Whether the quantity at `path` stands in the document as a plain number [-]."""
    return path.rsplit(".", 1)[-1] in PLAIN


def get(document: Any, path: str, default: Any = None) -> Any:
    """What stands at a dotted `path` in `document` [-], or `default`."""
    at = document
    for part in path.split("."):
        if isinstance(at, Mapping) and part in at:
            at = at[part]
        elif isinstance(at, list) and part.isdigit() and int(part) < len(at):
            at = at[int(part)]
        else:
            return default
    return at


def put(document: dict[str, Any], path: str, value: Any) -> None:
    """Set `path` in `document` to `value` [-], making tables and lists; None takes it out."""
    parts = path.split(".")
    at: Any = document
    for here, following in itertools.pairwise(parts):
        empty: Any = [] if following.isdigit() else {}
        if isinstance(at, list):
            k = int(here)
            while len(at) <= k:
                at.append({} if not following.isdigit() else [])
            at = at[k]
        else:
            if value is None and here not in at:
                return
            if at.get(here) is None:
                at[here] = empty
            at = at[here]
    last = parts[-1]
    if isinstance(at, list):
        k = int(last)
        while len(at) <= k:
            at.append(None)
        at[k] = value
    elif value is None:
        at.pop(last, None)
    else:
        at[last] = value


def shown(value: Any, path: str, show: Show) -> str:
    """What a field for `path` shows for the stored `value` [-] in the units of `show`."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else ""
    dim = dimension_of(path)
    if dim is not None and (isinstance(value, str) or is_plain(path)):
        try:
            si = float(value) if is_plain(path) else read(value, dim)
            if dim == "time":
                scale, unit = (1, "s") if si < 90 else (60, "min") if si < 7200 else (3600, "h")
                return f"{show.number(si / scale, 6)} {unit}"
            if dim == "share":
                return f"{show.number(si * 100, 6)} %"
            if dim == "angle":
                return show.quantity(si, dim).replace("deg", "°")
            text = show.quantity(si, dim)
            if dim == "length" and text.endswith(" mil"):  # a tape has no mils
                return f"{show.number(si / 0.0254, 4)} in".replace("−", "-")
            return text
        except InputError:
            return str(value)
    if isinstance(value, float) and path.rsplit(".", 1)[-1] in NUMBERS:
        return show.number(value, 6)
    return str(value)


def taken(text: str, path: str, show: Show, dim: str | None = None) -> Any:
    """What the `text` typed into the field for `path` [-] means, ready for the document.

    `dim` [-] is its dimension where the path does not tell. Raises `InputError` at the path.
    """
    text = re.sub(r"[ \t\r\n]+", " ", text).strip()
    if not text:
        return None
    dim = dim or dimension_of(path)
    if dim is not None:
        typed = text.replace("°", " deg") if dim == "angle" else text
        found = understand(typed, dim, path, show.locale).value_si
        return found if is_plain(path) else exact(found, dim)
    last = path.rsplit(".", 1)[-1]
    if last in NUMBERS:
        return _number(text, path, last in WHOLE, show)
    return text


def _number(text: str, path: str, whole: bool, show: Show) -> float | int:
    mark = find_locale(show.locale).decimal
    plain = text.replace("−", "-").removesuffix("%").strip().replace(mark, ".")
    if not re.fullmatch(r"-?\d{1,9}(\.\d{1,9})?", plain) or (whole and "." in plain):
        kind = "a whole number" if whole else "a number"
        raise InputError(
            path,
            text,
            say("it is {kind}", kind=kind),
            say("Write {kind}, for example 2.", kind=kind),
        )
    return int(plain) if whole else float(plain)


class Form:
    """A form as shown: texts by path, and what is wrong by path.

    Parameters
    ----------
    document : dict [-]
        The job's document; its values fill the fields.
    show : Show [-]
        Units and language.
    posted : mapping of str to str or None [-]
        What was typed, kept when something was wrong.
    error : InputError or None [-]
        What was wrong.
    """

    def __init__(
        self,
        document: Any,
        show: Show,
        posted: Mapping[str, str] | None = None,
        error: InputError | None = None,
    ) -> None:
        self.document = document
        self.show = show
        self.posted = posted
        self.problem = error
        self.at = plain_path(error.field) if error else ""

    def value(self, path: str, default: str = "") -> str:
        """What the field for `path` shows [-]."""
        if self.posted is not None and path in self.posted:
            return str(self.posted[path])
        found = shown(get(self.document, path), path, self.show)
        return found or default

    def error(self, path: str) -> InputError | None:
        """What is wrong with the field for `path` [-], if anything."""
        return self.problem if self.problem is not None and self.at == path else None

    def known(self, paths: Iterable[str]) -> bool:
        """Whether the problem belongs to one of the fields `paths` [-]."""
        return self.at in set(paths)


def as_typed(raw: Any, before: Any, after: Any) -> Any:
    """`after` with everything that is as it was `before` written as it was typed in `raw` [-].

    `before` is `raw` as the model writes it, `after` the changed `before`.
    """
    if before == after:
        return raw
    if isinstance(raw, dict) and isinstance(before, dict) and isinstance(after, dict):
        out: dict[str, Any] = {}
        for key, value in after.items():
            spelled = [k for k in raw if k == key or (k.startswith(f"{key}_") and k not in before)]
            if key in before and before[key] == value:
                out |= {k: raw[k] for k in spelled}
            else:
                out[key] = as_typed(raw.get(key), before.get(key), value)
        return out
    lists = isinstance(raw, list) and isinstance(before, list) and isinstance(after, list)
    if lists and len(raw) == len(before) == len(after):
        return [as_typed(r, b, a) for r, b, a in zip(raw, before, after)]
    if lists and len(raw) == len(before):
        left = list(zip(raw, before))
        return [_member_as_typed(left, a) for a in after]
    return after


def _member_as_typed(left: list[tuple[Any, Any]], member: Any) -> Any:
    """A `member` of a list that grew or shrank [-], written as its own old self was typed."""
    name = member.get("name") if isinstance(member, dict) else None
    for k, (raw, before) in enumerate(left):
        mine = before == member or (
            name is not None and isinstance(before, dict) and before.get("name") == name
        )
        if mine:
            del left[k]
            return as_typed(raw, before, member)
    return member


def plain_path(field: str) -> str:
    """An error's field such as ``surfaces[0].size[1]`` as a form's path [-]."""
    return re.sub(r"\[(\w+)\]", r".\1", field)


def merged(
    document: dict[str, Any],
    posted: Mapping[str, str],
    paths: Iterable[str],
    show: Show,
) -> dict[str, Any]:
    """A copy of `document` with the fields `paths` taken from what was `posted` [-].

    Unchanged texts leave their values alone. Raises `InputError` at the first that cannot be read.
    """
    import copy

    out = copy.deepcopy(document)
    for path in paths:
        if path not in posted:
            continue
        text = str(posted[path])
        before = get(document, path)
        if " ".join(text.split()) == " ".join(shown(before, path, show).split()):
            continue
        put(out, path, taken(text, path, show))
    return out
