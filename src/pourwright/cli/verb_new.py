"""``pourwright new FILE``: a new job file to fill in."""

from __future__ import annotations

import argparse
from datetime import date, timedelta
from pathlib import Path

from pourwright.cli import files, show


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("file", help="where to write it, for example kitchen.toml")
    p.add_argument("--name", default="", help="name of the job; the file's name by default")
    p.add_argument("--start", default="", help="first day of work, as 2027-03-15; a week from now")
    p.add_argument("--units", default="metric", help="metric or us")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.errors import InputError
    from pourwright.plan.new import new_job

    path = Path(args.file)
    if path.exists():
        raise InputError(
            "file", args.file, "it is there already and is not overwritten", "Name a new file."
        )
    if not path.parent.is_dir():
        raise InputError("file", args.file, "its folder does not exist", "Make the folder first.")
    try:
        start = date.fromisoformat(args.start) if args.start else date.today() + timedelta(days=7)
    except ValueError:
        raise InputError("--start", args.start, "it is a date", "Write it as 2027-03-15.") from None
    files.write_whole(path, new_job(args.name or path.stem, start, args.units))
    if args.json:
        show.print_json({"written": str(path)})
    else:
        print(f"Written: {path}")
        print(f"Fill it in, then: pourwright check {path}")
    return 0
