"""``pourwright plan JOB -o DIR``: plan a job and write what a crew needs."""

from __future__ import annotations

import argparse
import json
import re
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.cli import files, show
from pourwright.words.said import first_low

if TYPE_CHECKING:
    from pourwright.papers.wording import Wording
    from pourwright.plan import Job, Working


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML)")
    p.add_argument("-o", "--out", help="folder to write plan.json, plan.md and run-sheet.pdf to")
    p.add_argument(
        "--measured",
        action="append",
        default=[],
        metavar="'TIME TEMPERATURE'",
        help="a thermometer reading, e.g. 'day 2 09:40 16.5 degC'; plans again from it",
    )
    p.add_argument("--strict", action="store_true", help="exit with 3 if a hold point is not met")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.plan import load_job, work_out

    job = with_readings(load_job(args.job), args.measured)
    folder = Path(args.job).parent
    out = files.folder(args.out) if args.out else None
    with show.progress("planning", args.json) as tell:
        work = work_out(job, folder, tell=tell)
        written = write_all(work, out) if out else []
    if args.json:
        show.print_json(work.plan.model_dump(mode="json", by_alias=True))
    else:
        summary(work, written)
    failed = work.plan.holds_not_met()
    if args.strict and failed:
        return 3
    return 0


def with_readings(job: Job, texts: list[str]) -> Job:
    """The `job` with thermometer readings given as `texts` [-] put to it."""
    from pourwright.calc.registry import validate
    from pourwright.errors import InputError
    from pourwright.plan.job import Measured

    read = list(job.site.measured)
    for text in texts:
        found = re.fullmatch(r"(?:day (\d{1,2}) )?(\d\d:\d\d) (.{1,40})", text.strip())
        if not found:
            raise InputError(
                "--measured", text, "it is a day, a clock time and a temperature",
                "Write for example 'day 2 09:40 16.5 degC'.",
            )  # fmt: skip
        day = int(found[1]) - 1 if found[1] else 0
        data = {"day": day, "at": found[2], "temperature": found[3]}
        read.append(validate(Measured, data, "--measured"))
    site = job.site.model_copy(update={"measured": read})
    return job.model_copy(update={"site": site})


def write_all(work: Working, out: Path) -> list[Path]:
    """Write the plan of `work` [-] into the folder `out` [-]; returns the paths."""
    from pourwright.papers.runsheet import run_sheet
    from pourwright.plan.drawings import drawings
    from pourwright.plan.text import plan_markdown

    document: dict[str, Any] = work.plan.model_dump(mode="json", by_alias=True)
    parts: list[tuple[str, str | bytes]] = [
        ("plan.json", json.dumps(document, ensure_ascii=False, indent=1) + "\n"),
        ("plan.md", plan_markdown(work.plan)),
        ("run-sheet.pdf", run_sheet(work)),
    ]
    parts += [(f"{name}.svg", d.svg()) for name, d in drawings(work).items()]
    for name, data in parts:
        files.write_whole(out / name, data)
    return [out / name for name, _ in parts]


def summary(work: Working, written: list[Path]) -> None:
    """Print one screen about a planned job `work` [-] in its language, and what was `written` [-]."""
    from pourwright.papers.frame import pretty
    from pourwright.papers.wording import Wording
    from pourwright.plan import show as words
    from pourwright.words import Own

    w = Wording.of(work)
    plan = w.plan
    first, last = Own(w.day(plan.days[0].date)), Own(w.day(plan.days[-1].date))
    print(f"{plan.name}: {w.say('{low} to {high}', low=first, high=last)}")
    print()
    show.table(
        w.say("Coats"),
        [w.say("Coat"), w.say("Mixed"), w.say("Batches"), w.say("Cups"),
         w.say("Out of the cup in"), w.say("Veins after"), w.say("Gelled after")],
        [
            [
                c.title,
                w.volume(c.mix_total_mL),
                str(sum(b.kind == "field" for b in c.batches)),
                str(len(c.cups)),
                f"{w.fixed(c.pour_within_min.p05)} min",
                f"{w.fixed(c.vein_wait_min.p50)} min" if c.vein_wait_min else "",
                f"{w.fixed(c.gel_min.p50 / 60, 1)} h" if c.gel_min else w.say("not reached"),
            ]
            for c in plan.coats
        ],
    )  # fmt: skip
    print()
    print(w.say("Days"))
    for d in plan.days:
        steps = "; ".join(
            f"{words.clock(s.starts)} {first_low(s.title) if w.language == 'en' else s.title}"
            for s in d.steps
            if s.kind not in ("pour", "torch", "leave", "edges")
        )
        air = w.say("{low} to {high}", low=Own(w.temperature(d.air_low_degC)),
                    high=Own(w.temperature(d.air_high_degC)))  # fmt: skip
        head = f"  {w.day(d.date):<12}{air}  "
        print(textwrap.fill(steps, WIDE, initial_indent=head, subsequent_indent=" " * len(head)))
    print()
    for p in plan.purchases:
        sets = ", ".join(f"{n} {w.times} {p.set_names[k]}" for k, n in p.sets.items())
        print(w.say("Buy for {resin}: {sets}", resin=w.text(work.ctx.catalogue.get(p.resin).name),
                    sets=Own(sets or w.say("nothing"))))  # fmt: skip
    _build(w)
    met = sum(h.check.passed == "yes" for h in plan.holds)
    print(w.say("Hold points: {met} of {total} met as planned", met=met, total=len(plan.holds)))
    print()
    print(w.say("Three things that need most care"))
    for k, c in enumerate(plan.cares, 1):
        print(textwrap.fill(pretty(f"{k}. {c.title}: {c.text}"), WIDE, initial_indent="  ",
                            subsequent_indent="     "))  # fmt: skip
    _change(w)
    if written:
        print()
        print(w.say("Written: {files}", files=Own(", ".join(str(p) for p in written))))


WIDE = 110
SHOWN = 3
"""Most answers printed on the one screen of a plan [-]; plan.md has all of them."""


def _build(w: Wording) -> None:
    """Print weight, what comes out, and the coupon, each on a line or two."""
    from pourwright.plan.text_build import coupon_lines
    from pourwright.words import Own

    plan = w.plan
    if plan.weight is not None:
        x = plan.weight
        total = Own(w.mass_range(x.total_kg))
        if x.change_kg is None:
            line = w.say("Weight in all: {total}", total=total)
        else:
            line = w.say(
                "Weight in all: {total}, {change} more than what comes out"
                if x.change_kg.p50 > 0
                else "Weight in all: {total}, {change} less than what comes out",
                total=total,
                change=Own(w.mass(abs(x.change_kg.p50))),
            )
        print(line)
        for r in x.rests:
            print("  " + w.say(
                "{place}: {change}, then {after} of {limit}",
                place=w.text(r.name),
                change=Own(("+" if r.change_kg.p50 >= 0 else "\u2212")
                           + w.mass(abs(r.change_kg.p50))),
                after=Own(w.mass(r.after_kg.p50)),
                limit=Own(w.mass(r.limit_kg)),
            ))  # fmt: skip
    if w.work.plan.coupon is not None:
        for line in coupon_lines(w.work.plan.coupon, w.reader):
            print(textwrap.fill(line, WIDE, subsequent_indent="  "))


def _change(w: Wording) -> None:
    """Print what fails or is unsure, with what to change; a hot pan is left to plan.md."""
    from pourwright.papers.frame import pretty

    weak = [
        a for a in w.plan.advice if a.passed != "yes" and not a.key.startswith("endure.heat.pan")
    ]
    print()
    if not weak:
        print(w.say("To change: nothing; weight, shape, strength, heat and air stand as planned."))
        return
    print(w.say("To change (x not met, ? not sure)"))
    said: set[str] = set()
    for a in weak[:SHOWN]:
        head = f"  {'x' if a.passed == 'no' else '?'}   "
        print(textwrap.fill(pretty(f"{a.asks} {a.answer}"), WIDE, initial_indent=head,
                            subsequent_indent=" " * 6))  # fmt: skip
        for d in a.do[: 2 if a.passed == "no" else 1]:
            print(
                textwrap.fill(pretty(d), WIDE, initial_indent="      - ", subsequent_indent=" " * 8)
            )
        if a.caution and a.caution not in said:
            said.add(a.caution)
            print(textwrap.fill(pretty(f"({a.caution})"), WIDE, initial_indent=" " * 6,
                                subsequent_indent=" " * 6))  # fmt: skip
    if len(weak) > SHOWN:
        print("  " + w.say("and {n} more, with further changes, in plan.md", n=len(weak) - SHOWN))
