"""What ``pourwright record`` says of learning: before and after, evidence, and how to undo it."""

from __future__ import annotations

import argparse
import textwrap
from pathlib import Path
from typing import Any

from pourwright.cli import files, show
from pourwright.errors import InputError


def fill(text: str) -> str:
    """A paragraph `text` [-] for the terminal."""
    return textwrap.fill(text, 110, initial_indent="  ", subsequent_indent="        ")


def forget_job(args: argparse.Namespace) -> int:
    """Write a taught job with all that it learned taken out; returns the exit code [-]."""
    from pourwright.record import forget

    if not args.out:
        raise InputError("--forget", args.job, "it goes with -o FILE", "Name a new file.")
    out = Path(args.out)
    if out.exists():
        raise InputError("-o", str(out), "it is there already", "Name a new file.")
    files.beside(out, args.job)
    text, said = forget(files.read_text(args.job))
    files.write_whole(out, text)
    if args.json:
        show.print_json({"job": str(out), "put_back": said})
        return 0
    print(f"Written: {out}; {args.job} is unchanged. In it:")
    for line in said:
        print(f"  {line}")
    return 0


def learn_from(args: argparse.Namespace, path: Path) -> int:
    """Learn from records and write it down, `path` [-] being the first; returns the exit code."""
    from pourwright.plan import read_job, work_out
    from pourwright.record import (
        changes_document,
        done_job,
        lessons_document,
        lessons_of,
        plan_changes,
        product_file,
        taught_job,
    )
    from pourwright.record.teach import beside

    if not args.learn:
        raise InputError("--teach", args.teach, "it needs --learn FILE too", "Name that file.")
    if bool(args.teach) != bool(args.out):
        raise InputError("--teach", args.teach, "it goes with -o FILE", "Give both, or neither.")
    target = Path(args.learn)
    with show.progress("learning", args.json) as tell:
        jobs = [done_job(args.job, path)]
        for pair in args.also:
            if len(pair) > 2:
                raise InputError("--also", pair[2], "it is a job and its record", "Give two.")
            jobs.append(done_job(*pair))
        tell(0.4, "fitting")
        found = lessons_of(jobs)
        # working times alone go into the taught job: then there is no product file to write
        text = product_file(found) if found.resins or not (args.teach and found.rates) else None
        said: list[str] = []
        changes: list[Any] = []
        if args.teach:
            out = Path(args.out)
            if out.exists() and out.resolve() in (Path(args.teach).resolve(),
                                                  Path(args.job).resolve()):  # fmt: skip
                raise InputError("-o", str(out), "an old job is never changed", "Name a new file.")
            files.beside(out, args.teach)
            old = files.read_text(args.teach)
            was = read_job(old, args.teach)
            if text is not None:
                files.write_whole(target, text)
            name = beside(target, out)
            first, _ = taught_job(old, found, name)
            tell(0.6, "planning with the lessons")
            new, said = taught_job(old, found, name, work_out(read_job(first), out.parent))
            files.write_whole(out, new)
            tell(0.8, "holding the plans against each other")
            changes = plan_changes(
                work_out(was, out.parent).plan, work_out(read_job(new), out.parent).plan
            )
        else:
            assert text is not None
            files.write_whole(target, text)
    if args.json:
        show.print_json(
            {
                **lessons_document(found), "file": str(target) if text is not None else None,
                "taught": said, "changes": changes_document(changes),
            }
        )  # fmt: skip
        return 0
    for r in found.resins:
        head = (
            f"{r.name} at {r.degC:.0f} degC ({r.looks} stages seen, {r.lots} lots, {r.jobs} jobs)"
        )
        show.table(
            head, ["stage", "before", "after"],
            [[f.title, _hours(f.before), _hours(f.after)] for f in r.figures],
        )  # fmt: skip
        for w in r.warnings:
            print(fill(w))
    if found.rates:
        show.table(
            "The shop's own rates", ["rate", "unit", "before", "after", "jobs"],
            [[x.title, x.unit, _span(x.before), _span(x.after), str(len(x.seen))]
             for x in found.rates],
        )  # fmt: skip
    for n in found.notes:
        print(n)
    if text is not None:
        print(f"Written: {target}. To undo it, take it out of a job's products.")
    if args.teach:
        print(f"Written: {args.out}; {args.teach} is unchanged. In it:")
        for s in said:
            print(f"  {s}")
        print()
        show.table(
            "What changes in the plan", ["", "unit", "before", "after"],
            [[c.title, c.unit.replace("-", ""), _any(c.before), _any(c.after)] for c in changes],
        )  # fmt: skip
        print(f"To undo it all: pourwright record {args.out} --forget -o NEW")
    return 0


def _any(x: Any) -> str:
    if isinstance(x, float):
        return f"{x:.4g}"
    return "" if x is None else x if isinstance(x, str) else _span(x)


def _hours(s: Any) -> str:
    scale, unit = (60.0, "min") if s.p50 < 5400 else (3600.0, "h")
    return f"{s.p50 / scale:.3g} {unit} ({s.p05 / scale:.3g} to {s.p95 / scale:.3g})"


def _span(s: Any) -> str:
    return f"{s.p50:.3g} ({s.p05:.3g} to {s.p95:.3g})"
