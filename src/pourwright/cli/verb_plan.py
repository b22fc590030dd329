"""``pourwright plan JOB -o DIR``: plan a job and write what a crew needs."""

from __future__ import annotations

import argparse
import json
import re
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.cli import files, show

if TYPE_CHECKING:
    from pourwright.plan import Job, Plan, Working


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
        summary(work.plan, written)
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


def summary(plan: Plan, written: list[Path]) -> None:
    """Print one screen about a `plan` [-] and what was `written` [-]."""
    from pourwright.plan import show as words

    units = plan.job["show"]["units"]
    print(f"{plan.name}: {words.day(plan.days[0].date)} to {words.day(plan.days[-1].date)}")
    print()
    show.table(
        "Coats",
        ["coat", "mix", "batches", "cups", "out of the cup in", "veins after", "gel"],
        [
            [
                c.title,
                words.volume(c.mix_total_mL, units),
                str(sum(b.kind == "field" for b in c.batches)),
                str(len(c.cups)),
                f"{c.pour_within_min.p05:.0f} min",
                f"{c.vein_wait_min.p50:.0f} min" if c.vein_wait_min else "",
                f"{c.gel_min.p50 / 60:.1f} h" if c.gel_min else "not reached",
            ]
            for c in plan.coats
        ],
    )
    print()
    print("Days")
    for d in plan.days:
        steps = "; ".join(
            f"{words.clock(s.starts)} {s.title[0].lower()}{s.title[1:]}"
            for s in d.steps
            if s.kind not in ("pour", "torch", "leave", "edges")
        )
        head = (
            f"  {words.day(d.date):<11}{words.temperature(d.air_low_degC, units)} to "
            f"{words.temperature(d.air_high_degC, units)}  "
        )
        print(textwrap.fill(steps, 110, initial_indent=head, subsequent_indent=" " * len(head)))
    print()
    for p in plan.purchases:
        sets = ", ".join(f"{n} x {p.set_names[k]}" for k, n in p.sets.items()) or "nothing"
        print(f"Buy for {p.resin}: {sets}")
    _build(plan, units)
    met = sum(h.check.passed == "yes" for h in plan.holds)
    print(f"Hold points: {met} of {len(plan.holds)} met as planned")
    print()
    print("Three things that need most care")
    for k, c in enumerate(plan.cares, 1):
        print(textwrap.fill(f"{k}. {c.title}: {c.text}", 110, initial_indent="  ",
                            subsequent_indent="     "))  # fmt: skip
    _change(plan)
    if written:
        print()
        print("Written: " + ", ".join(str(p) for p in written))


WIDE = 110
SHOWN = 3
"""Most answers printed on the one screen of a plan [-]; plan.md has all of them."""


def _build(plan: Plan, units: str) -> None:
    """Print weight, what comes out, and the coupon, each on a line or two."""
    from pourwright.plan import show as words
    from pourwright.plan.text_build import coupon_lines, reader_of

    if plan.weight is not None:
        w = plan.weight
        line = (
            f"Weight in all: {words.mass(w.total_kg.p50, units)} "
            f"({words.mass(w.total_kg.p05, units)} to {words.mass(w.total_kg.p95, units)})"
        )
        if w.change_kg is not None:
            more = "more" if w.change_kg.p50 > 0 else "less"
            line += f", {words.mass(abs(w.change_kg.p50), units)} {more} than what comes out"
        print(line)
        for r in w.rests:
            print(
                f"  {r.name}: {r.change_kg.p50:+.0f} kg, then {r.after_kg.p50:.0f} of "
                f"{r.limit_kg:.0f} kg"
                if units != "us"
                else f"  {r.name}: {words.mass(r.after_kg.p50, units)} of "
                f"{words.mass(r.limit_kg, units)}"
            )
    if plan.coupon is not None:
        for line in coupon_lines(plan.coupon, reader_of(plan)):
            print(textwrap.fill(line, WIDE, subsequent_indent="  "))


def _change(plan: Plan) -> None:
    """Print what fails or is unsure, with what to change; a hot pan is left to plan.md."""
    from pourwright.plan.text_build import reader_of

    reader = reader_of(plan)
    weak = [a for a in plan.advice if a.passed != "yes" and not a.key.startswith("endure.heat.pan")]
    print()
    if not weak:
        print("To change: nothing; weight, shape, strength, heat and air stand as planned.")
        return
    print("To change (x not met, ? not sure)")
    said: set[str] = set()
    for a in weak[:SHOWN]:
        head = f"  {'x' if a.passed == 'no' else '?'}   "
        text = f"{reader.text(a.asks)} {reader.text(a.answer)}"
        print(textwrap.fill(text, WIDE, initial_indent=head, subsequent_indent=" " * 6))
        for d in a.do[: 2 if a.passed == "no" else 1]:
            print(
                textwrap.fill(
                    reader.text(d), WIDE, initial_indent="      - ", subsequent_indent=" " * 8
                )
            )
        if a.caution and a.caution not in said:
            said.add(a.caution)
            print(
                textwrap.fill(
                    f"({reader.text(a.caution)})", WIDE,
                    initial_indent=" " * 6, subsequent_indent=" " * 6,
                )
            )  # fmt: skip
    if len(weak) > SHOWN:
        print(f"  and {len(weak) - SHOWN} more, with further changes, in plan.md")
