"""``pourwright check JOB``: read a job file and say what it means, or what is wrong in it."""

from __future__ import annotations

import argparse
from pathlib import Path

from pourwright.cli import show
from pourwright.words import Amount, Own, say


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML)")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.plan import load_job
    from pourwright.plan.context import Context
    from pourwright.plan.look import look_over

    job = load_job(args.job)
    seen = look_over(Context(job, Path(args.job).parent))
    if args.json:
        show.print_json(seen)
        return 0
    r = show.reader(job)
    totals = seen["totals"]
    print(r.text(say(
        "{job}: {n} surfaces, {area:.2f} to pour, {edge:.2f} of free edge",
        job=Own(job.name), n=seen["surfaces_count"], area=Amount(totals["poured_m2"], "m2"),
        edge=Amount(totals["free_run_m"], "m"),
    )))  # fmt: skip
    show.table(
        r.text("Surfaces"),
        [r.text(t) for t in ("Surface", "Size", "Face", "Free edge", "Cut-outs")],
        [
            [
                s["name"],
                r.number(s["size"]),
                r.text(say("{x:.3f}", x=Amount(s["face_m2"], "m2"))),
                r.text(say("{x:.2f}", x=Amount(s["free_run_m"], "m"))),
                ", ".join(s["cut_outs"]) or r.text("none"),
            ]
            for s in seen["surfaces"]
        ],
    )
    for line in (*seen["materials"], *seen["warnings"]):
        print(r.text(line))
    print(r.text("The job file can be planned."))
    return 0
