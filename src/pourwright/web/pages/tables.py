"""Tables and rows of a job's document as plain forms, their fields taken from the job's models.

A *table* is one group of fields (a boat's particulars, a measured strip): left wholly empty it is
not there. *Rows* are a list of such tables with one empty row at the end to add to.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pourwright.errors import InputError
from pourwright.web.pages.forms import dimension_of, get, model_in, put, shown, taken
from pourwright.web.pages.show import Show


def model_at(path: str) -> Any:
    """The model of the table, or of the rows, at `path` [-] of a job's document."""
    from pourwright.plan.job import Job

    model: Any = Job
    for part in path.split("."):
        model = model_in(model.model_fields[part].annotation)
    return model


def fields_of(path: str, names: Sequence[str], key: str, show: Show) -> list[dict[str, Any]]:
    """Fields of the table at `path` [-]: path, label, help, dimension, whether it is needed.

    `names` are the fields wanted, all of the model when empty; `key` [-] is where their words
    stand in the catalogue of `show`'s language.
    """
    model = model_at(path)
    w = show.words
    out = []
    for name in names or list(model.model_fields):
        info = model.model_fields[name]
        word = f"{key}.{name}"
        out.append(
            {
                "name": name,
                "path": f"{path}.{name}",
                "label": w(word) if w.has(word) else name.replace("_", " ").capitalize(),
                "help": w(f"{word}_help") if w.has(f"{word}_help") else "",
                "dimension": dimension_of(f"{path}.{name}") or "",
                "needed": bool(info.is_required()),
            }
        )
    return out


def take_table(
    document: dict[str, Any], path: str, posted: Mapping[str, str], show: Show, always: bool = False
) -> None:
    """Put what was `posted` into the table at `path` of a normal `document` [-].

    A table left wholly empty is taken out, unless it is `always` there. Raises `InputError` at
    the first field that cannot be read, or that is needed and missing.
    """
    names = [n for n in model_at(path).model_fields if f"{path}.{n}" in posted]
    texts = {n: str(posted[f"{path}.{n}"]).strip() for n in names}
    if not texts:
        return
    if not always and not any(texts.values()):
        put(document, path, None)
        return
    for name, text in texts.items():
        _take(document, f"{path}.{name}", text, show)
    for name in names:
        needed = model_at(path).model_fields[name].is_required()
        if needed and get(document, f"{path}.{name}") is None:
            raise InputError(f"{path}.{name}", None, "it is needed and missing",
                             "Fill it in, or empty the whole table.")  # fmt: skip


def take_rows(
    document: dict[str, Any],
    path: str,
    names: Sequence[str],
    posted: Mapping[str, str],
    show: Show,
    most: int = 100,
) -> None:
    """Put the rows `posted` under `path` into a normal `document` [-]; empty rows are left out.

    `names` [-] are the fields of a row that the form has; other values of a row stay. At most
    `most` rows are read. Raises `InputError` at the field that cannot be read.
    """
    old = get(document, path, []) or []
    made: list[Any] = []
    for k in range(min(len(old) + 1, most)):
        here = f"{path}.{k}"
        if not any(f"{here}.{n}" in posted for n in names):
            made += old[k : k + 1]
            continue
        asked = {n: str(posted.get(f"{here}.{n}", "")).strip() for n in names}
        if not any(asked.values()):
            continue
        row: dict[str, Any] = {"row": dict(old[k]) if k < len(old) else {}}
        for name, text in asked.items():
            before = old[k].get(name) if k < len(old) else None
            if " ".join(text.split()) != " ".join(shown(before, f"{here}.{name}", show).split()):
                put(row, f"row.{name}", taken_at(text, f"{here}.{name}", path, show))
        made.append({n: v for n, v in row["row"].items() if v is not None})
    put(document, path, made)


def taken_at(text: str, field: str, rows: str, show: Show) -> Any:
    """As `forms.taken`, for the `field` of a row whose dimension its model says [-]."""
    name = field.rpartition(".")[2]
    return taken(text, field, show, dimension_of(f"{rows}.{name}"))


def _take(document: dict[str, Any], path: str, text: str, show: Show) -> None:
    before = get(document, path)
    if " ".join(text.split()) != " ".join(shown(before, path, show).split()):
        put(document, path, taken(text, path, show))
