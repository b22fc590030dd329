"""Writing lessons down: a product file, and a new job file that uses them. Old files stay."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pourwright.calc import Spread
from pourwright.errors import InputError
from pourwright.plan import Working, read_job
from pourwright.plan.job import PACED
from pourwright.record.lessons import Lessons
from pourwright.record.untaught import GONE, forget
from pourwright.record.untaught import put_back as put_back
from pourwright.words import Amount, Between, Own, say


def product_file(lessons: Lessons) -> str:
    """The product file [-] of what was learned of resins; raises `InputError` if it is nothing."""
    import tomlkit

    if not lessons.resins:
        raise InputError(
            "record", ", ".join(lessons.jobs), "no look at a cup or film was recorded",
            "Record when a cup gelled or a film was tack-free.",
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
    if job.learned is not None:  # what it learned before is in the lessons already
        text, _ = forget(text)
        job = read_job(text)
    doc = tomlkit.parse(text)
    notes = Notes(doc, lessons)
    listed = [str(p) for p in job.products]
    if lessons.resins and product not in listed:
        notes.was.setdefault("products", listed or None)
        doc["products"] = [*listed, product]
        if "products" not in tomllib.loads(text):
            _move_up(doc, "products")
        notes.said.append(say("{path}: {words}", path=Own("products"), words=Own(product)))
    _losses(notes, lessons)
    crew = job.mix.crew
    for kind, key, was in (("mix", "mix_time", crew.mix_time), ("pour", "spread_time",
                                                               crew.spread_time)):  # fmt: skip
        pace = lessons.rate(f"pace.{kind}")
        if pace is not None:
            now = was * pace.factor
            notes.put(
                f"mix.crew.{key}",
                f"{now:.0f} s",
                say("{was:.0f} becomes {now:.0f}", was=Amount(was, "s"), now=Amount(now, "s")),
            )
    for kind in PACED:
        pace = lessons.rate(f"pace.{kind}")
        if pace is not None:
            own = job.pace[kind].factor if kind in job.pace else 1.0
            s = pace.after
            notes.put(
                f"pace.{kind}",
                {
                    "factor": round(own * s.p50, 3),
                    "range": [round(own * s.p05, 3), round(own * s.p95, 3)],
                },
                say("{was:.3g} becomes {now:.3g} of the planned time", was=own, now=own * s.p50),
            )
    for coat in planned.plan.coats if planned is not None else ():
        ran = lessons.rate(f"run_off.{coat.id}")
        spec = getattr(job, coat.id, None)
        if ran is None or coat.run_off_mL_m is None or spec is None or spec.run_off is not None:
            continue
        mid = coat.run_off_mL_m.p50
        notes.put(f"{coat.id}.run_off", f"{mid * ran.after.p50:.3g} mL/m",
                  say("{was:.0f} becomes {now:.0f}", was=Amount(mid, "mL/m"),
                      now=Amount(mid * ran.after.p50, "mL/m")))  # fmt: skip
        notes.put(
            f"{coat.id}.run_off_range",
            [f"{mid * ran.after.p05:.3g} mL/m", f"{mid * ran.after.p95:.3g} mL/m"],
        )
    notes.finish()
    out = tomlkit.dumps(doc)
    read_job(out)  # what is handed out can be read
    return out, notes.said


def _losses(notes: Notes, lessons: Lessons) -> None:
    for key, name, unit in (
        ("loss.per_cup_mL", "per_cup", "mL"), ("loss.share_percent", "share", "%")
    ):  # fmt: skip
        r = lessons.rate(key)
        if r is not None:
            notes.put(f"mix.loss.{name}", f"{r.after.p50:.3g} {unit}", _words(r.after, unit))
            notes.put(
                f"mix.loss.{name}_range",
                [f"{r.after.p05:.3g} {unit}", f"{r.after.p95:.3g} {unit}"],
            )


class Notes:
    """Learned values put into a job file, each with what stood there before.

    `doc` [-] is the file as tomlkit has it, `lessons` [-] what is learned.
    """

    def __init__(self, doc: Any, lessons: Lessons) -> None:
        self.doc = doc
        self.said: list[str] = []
        self.was: dict[str, Any] = {}
        self.jobs = list(lessons.jobs)
        looks = sum(r.looks for r in lessons.resins)
        rates = sum(len(r.seen) for r in lessons.rates)
        n = len(lessons.jobs)
        self.evidence = (
            f"{n} recorded job{'s' if n != 1 else ''}, {looks} looks at cups and films, "
            f"{rates} rates"
        )
        self.why = f"learned from {n} job{'s' if n != 1 else ''}"

    def put(self, path: str, value: Any, words: str = "") -> None:
        """Set the key `path` [-] to `value` [-]; `words` [-] say the change."""
        from tomlkit.items import InlineTable

        *above, last = path.split(".")
        table = self.doc
        for part in above:
            table = _table(table, part)
        before = table.get(last)
        plain = before.unwrap() if hasattr(before, "unwrap") else before
        self.was.setdefault(path, GONE if plain is None else plain)
        table[last] = _inline(value)
        if not isinstance(table, InlineTable) and not isinstance(value, list):
            table[last].comment(self.why)
        if words:
            self.said.append(say("{path}: {words}", path=Own(path), words=words))

    def finish(self) -> None:
        """Write where the values come from under ``[learned]``."""
        import tomlkit

        if not self.said:
            return
        was = tomlkit.inline_table()
        was.update({k: GONE if v is None else v for k, v in self.was.items()})
        self.doc.pop("learned", None)
        table = tomlkit.table()
        table.comment("undo it all: pourwright record JOB --forget -o NEW")
        table["jobs"] = self.jobs
        table["evidence"] = self.evidence
        table["was"] = was
        self.doc["learned"] = table


def _inline(value: Any) -> Any:
    import tomlkit

    if not isinstance(value, dict):
        return value
    out = tomlkit.inline_table()
    out.update(value)
    return out


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


def _words(s: Spread, unit: str) -> str:
    return say(
        "{middle:.3g} ({ends:.3g})", middle=Amount(s.p50, unit), ends=Between(s.p05, s.p95, unit)
    )


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
