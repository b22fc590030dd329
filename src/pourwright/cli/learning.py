"""What ``pourwright record`` says of learning: before and after, evidence, and how to undo it."""

from __future__ import annotations

import argparse
import textwrap
from pathlib import Path
from typing import Any

from pourwright.cli import files, show
from pourwright.errors import InputError
from pourwright.words import Amount, Own, Reader, say


def fill(text: str) -> str:
    """A paragraph `text` [-] for the terminal."""
    return textwrap.fill(text, 110, initial_indent="  ", subsequent_indent="        ")


def forget_job(args: argparse.Namespace) -> int:
    """Write a taught job with all that it learned taken out; returns the exit code [-]."""
    from pourwright.plan import read_job
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
    w = show.reader(read_job(text))
    print(w.text(say("Written: {file}; {old} is unchanged. In it:", file=Own(str(out)),
                     old=Own(args.job))))  # fmt: skip
    for line in said:
        print(f"  {w.text(line)}")
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
    w = show.reader(read_job(files.read_text(args.job), args.job))
    for x in found.resins:
        show.table(
            w.text(say(
                "{resin} at {air:.0f} ({looks}, {lots}, {jobs})", resin=x.name,
                air=Amount(x.degC, "degC"),
                looks=say("{n} stages seen" if x.looks > 1 else "{n} stage seen", n=x.looks),
                lots=say("{n} lots" if x.lots > 1 else "{n} lot", n=x.lots),
                jobs=say("{n} jobs" if x.jobs > 1 else "{n} job", n=x.jobs),
            )),
            [w.text(t) for t in ("Stage", "Before", "After")],
            [[w.text(f.title), _hours(w, f.before), _hours(w, f.after)] for f in x.figures],
        )  # fmt: skip
        for text in x.warnings:
            print(fill(w.text(text)))
    if found.rates:
        show.table(
            w.text("The shop's own rates"),
            [w.text(t) for t in ("Rate", "Unit", "Before", "After", "Jobs")],
            [[w.text(x.title), x.unit.strip("-"), _span(w, x.before), _span(w, x.after),
              str(len(x.seen))]
             for x in found.rates],
        )  # fmt: skip
    for n in found.notes:
        print(w.text(n))
    if text is not None:
        print(w.text(say("Written: {file}. To undo it, take it out of a job's products.",
                         file=Own(str(target)))))  # fmt: skip
    if args.teach:
        print(w.text(say("Written: {file}; {old} is unchanged. In it:", file=Own(str(args.out)),
                         old=Own(str(args.teach)))))  # fmt: skip
        for s in said:
            print(f"  {w.text(s)}")
        print()
        show.table(
            w.text("What changes in the plan"),
            ["", *(w.text(t) for t in ("Unit", "Before", "After"))],
            [[w.text(c.title), c.unit.replace("-", ""), _any(w, c.before), _any(w, c.after)]
             for c in changes],
        )  # fmt: skip
        print(w.text(say("To undo it all: pourwright record {file} --forget -o NEW",
                         file=Own(str(args.out)))))  # fmt: skip
    return 0


def _any(w: Reader, x: Any) -> str:
    if isinstance(x, float):
        return w.number(f"{x:.4g}")
    return "" if x is None else w.text(x) if isinstance(x, str) else _span(w, x)


def _hours(w: Reader, s: Any) -> str:
    scale, unit = (60.0, "min") if s.p50 < 5400 else (3600.0, "h")
    return f"{w.number(f'{s.p50 / scale:.3g}')} {unit} ({_ends(w, s, scale)})"


def _span(w: Reader, s: Any) -> str:
    return f"{w.number(f'{s.p50:.3g}')} ({_ends(w, s)})"


def _ends(w: Reader, s: Any, scale: float = 1.0) -> str:
    low, high = (Own(w.number(f"{x / scale:.3g}")) for x in (s.p05, s.p95))
    return w.text(say("{low} to {high}", low=low, high=high))
