"""Writing lessons down: a product file, and a new job file that uses them. Old files stay."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pourwright.calc import Spread
from pourwright.errors import InputError
from pourwright.plan import Working, read_job
from pourwright.record.lessons import Lessons


def product_file(lessons: Lessons) -> str:
    """The product file [-] of what was learned of resins; raises `InputError` if it is nothing."""
    import tomlkit

    if not lessons.resins:
        raise InputError(
            "record", ", ".join(lessons.jobs), "no look at a cup or film was recorded",
            "Record when a cup gelled or a film was tack-free: "
            "pourwright record JOB look stage='tack-free' coat=colour seen=yes at='day 4 15:10'.",
        )  # fmt: skip
    doc = tomlkit.document()
    for line in (
        "Learned from this shop's own records: " + ", ".join(lessons.jobs) + ".",
        "Name this file under 'products' in a job to use it; take it out again to undo it.",
        "The products' data sheets stay in force.",
    ):
        doc.add(tomlkit.comment(line))
    tables = tomlkit.aot()
    for r in lessons.resins:
        t = tomlkit.table()
        for key in ("id", "notes"):
            t.add(key, tomlkit.item(r.table[key]))
        for key in ("facts", "properties"):
            inner = tomlkit.table()
            for name, entry in dict(r.table[key]).items():  # type: ignore[call-overload]
                inline = tomlkit.inline_table()
                inline.update(entry)
                inner.add(name, inline)
            t.add(key, inner)
        tables.append(t)
    doc.add("material", tables)
    return tomlkit.dumps(doc)


def taught_job(
    text: str, lessons: Lessons, product: str, planned: Working | None = None
) -> tuple[str, list[str]]:
    """A job file that uses lessons.

    Parameters
    ----------
    text : str [-]
        The job file as it is; its comments and order stay.
    lessons : Lessons [-]
        From `lessons_of`.
    product : str [-]
        Name of the product file, from the new job file's folder.
    planned : Working or None [SI]
        The job planned with the product file in place, for the run-off, which is learned as a
        factor; None leaves the run-off to the plan.

    Returns
    -------
    tuple of str and list of str [-]
        The new text, and what was changed in words. Values that the job states itself are
        replaced only where they were learned.

    Raises
    ------
    InputError
        The text is no job file.
    """
    import tomlkit

    job = read_job(text)
    doc = tomlkit.parse(text)
    said: list[str] = []
    listed = [str(p) for p in job.products]
    if lessons.resins and product not in listed:
        doc["products"] = [*listed, product]
        if "products" not in tomllib.loads(text):
            _move_up(doc, "products")
        said.append(f"products: {product}")
    mix = _table(doc, "mix")
    why = f"learned from {len(lessons.jobs)} job{'s' if len(lessons.jobs) != 1 else ''}"

    def put(table: Any, key: str, value: Any, words: str) -> None:
        from tomlkit.items import InlineTable

        table[key] = value
        if not isinstance(table, InlineTable):
            table[key].comment(why)
        said.append(words)

    cup = lessons.rate("loss.per_cup_mL")
    if cup is not None:
        loss = _table(mix, "loss")
        put(loss, "per_cup", f"{cup.after.p50:.3g} mL", f"mix.loss.per_cup: {_words(cup.after)} mL")
        loss["per_cup_range"] = [f"{cup.after.p05:.3g} mL", f"{cup.after.p95:.3g} mL"]
    share = lessons.rate("loss.share_percent")
    if share is not None:
        loss = _table(mix, "loss")
        put(loss, "share", f"{share.after.p50:.3g} %",
            f"mix.loss.share: {_words(share.after)} %")  # fmt: skip
        loss["share_range"] = [f"{share.after.p05:.3g} %", f"{share.after.p95:.3g} %"]
    crew = job.mix.crew
    for kind, key, was in (("mix", "mix_time", crew.mix_time), ("pour", "spread_time",
                                                               crew.spread_time)):  # fmt: skip
        pace = lessons.rate(f"pace.{kind}")
        if pace is not None:
            now = was * pace.factor
            put(_table(mix, "crew"), key, f"{now:.0f} s",
                f"mix.crew.{key}: {was:.0f} s becomes {now:.0f} s")  # fmt: skip
    for coat in planned.plan.coats if planned is not None else ():
        ran = lessons.rate(f"run_off.{coat.id}")
        spec = getattr(job, coat.id)
        if ran is None or coat.run_off_mL_m is None or spec is None or spec.run_off is not None:
            continue
        mid = coat.run_off_mL_m.p50
        table = _table(doc, coat.id)
        put(table, "run_off", f"{mid * ran.after.p50:.3g} mL/m",
            f"{coat.id}.run_off: {mid:.0f} mL/m becomes {mid * ran.after.p50:.0f} mL/m")  # fmt: skip
        table["run_off_range"] = [
            f"{mid * ran.after.p05:.3g} mL/m", f"{mid * ran.after.p95:.3g} mL/m"
        ]  # fmt: skip
    out = tomlkit.dumps(doc)
    read_job(out)  # what is handed out can be read
    return out, said


def _table(parent: Any, key: str) -> Any:
    import tomlkit

    if key not in parent:
        parent[key] = tomlkit.table()
    return parent[key]


def _move_up(doc: Any, key: str) -> None:
    """A bare key must stand before the first table; tomlkit appends it behind."""
    import tomlkit

    value = doc[key]
    del doc[key]
    body = list(doc.body)
    at = next((k for k, (name, item) in enumerate(body) if _is_table(item)), len(body))
    doc._insert_at(at, tomlkit.key(key), value) if at < len(body) else doc.add(key, value)


def _is_table(item: Any) -> bool:
    from tomlkit.items import AoT, Table

    return isinstance(item, Table | AoT)


def _words(s: Spread) -> str:
    return f"{s.p50:.3g} ({s.p05:.3g} to {s.p95:.3g})"


def beside(file: Path, other: Path) -> str:
    """The path of `file` [-] as written in the file `other` [-]: relative where it can be."""
    import os

    try:
        return Path(os.path.relpath(file.resolve(), other.resolve().parent)).as_posix()
    except ValueError:
        return file.resolve().as_posix()


def lessons_document(lessons: Lessons) -> Mapping[str, Any]:
    """Lessons as plain JSON data [unit-suffixed keys], for ``--json``."""
    return {
        "jobs": list(lessons.jobs),
        "resins": [
            {
                "resin": r.resin, "name": r.name, "air_degC": r.degC,
                "evidence": {"jobs": r.jobs, "lots": r.lots, "looks": r.looks},
                "figures": [
                    {"title": f.title, "before_min": _minutes(f.before),
                     "after_min": _minutes(f.after)}
                    for f in r.figures
                ],
                "strain_ratio": r.strain, "warnings": list(r.warnings),
            }
            for r in lessons.resins
        ],
        "rates": [
            {
                "key": x.key, "title": x.title, "unit": x.unit, "before": x.before.model_dump(),
                "after": x.after.model_dump(),
                "evidence": [{"job": s.job, "value": s.value} for s in x.seen],
            }
            for x in lessons.rates
        ],
        "notes": list(lessons.notes),
    }  # fmt: skip


def _minutes(s: Spread) -> dict[str, float]:
    return {k: v / 60.0 for k, v in s.model_dump().items()}
