"""``pourwright check JOB``: read a job file and say what it means, or what is wrong in it."""

from __future__ import annotations

import argparse
from pathlib import Path

from pourwright.cli import show


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
    print(
        f"{job.name}: {seen['surfaces_count']} surfaces, {seen['totals']['poured_m2']:.2f} m2 "
        f"to pour, {seen['totals']['free_run_m']:.2f} m of free edge"
    )
    show.table(
        "Surfaces",
        ["surface", "size", "face m2", "free edge m", "cut-outs"],
        [
            [
                s["name"],
                s["size"],
                f"{s['face_m2']:.3f}",
                f"{s['free_run_m']:.2f}",
                ", ".join(s["cut_outs"]) or "none",
            ]
            for s in seen["surfaces"]
        ],
    )
    for line in (*seen["materials"], *seen["warnings"]):
        print(line)
    print("The job file can be planned.")
    return 0
