"""``pourwright import FILE``: a job bundle into a folder, or hourly weather into a job."""

from __future__ import annotations

import argparse
from pathlib import Path

from pourwright.cli import files, show
from pourwright.errors import InputError


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("file", help="a job bundle (.json), or hourly weather (.epw, .csv)")
    p.add_argument("-o", "--out", required=True,
                   help="bundle: folder to write to; weather: job file to write")  # fmt: skip
    p.add_argument("--into", metavar="JOB", help="weather: the job that gets it")
    p.add_argument("--days", type=int, default=14, help="weather: how many days (1 to 60)")
    p.add_argument("--dates", choices=("guess", "day first", "month first"), default="guess")
    p.add_argument("--zone", help="weather CSV: the site's offset from UTC, as +02:00")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    suffix = Path(args.file).suffix.lower()
    if suffix == ".json":
        return _bundle(args)
    if suffix in (".epw", ".csv"):
        return _weather(args, suffix)
    raise InputError("file", args.file, "it is .json, .epw or .csv", "Name such a file.")


def _bundle(args: argparse.Namespace) -> int:
    from pourwright.exchange import read_bundle, unpack
    from pourwright.store.files import read_text

    bundle = read_bundle(read_text(Path(args.file), "file", 400_000_000))
    target = Path(args.out)
    if target.exists() and not target.is_dir():
        raise InputError("-o", str(target), "it must be a folder", "Name another folder.")
    written = unpack(bundle, target)
    if args.json:
        show.print_json({"job": bundle.job.name, "files": [str(p) for p in written]})
    else:
        print(f"{bundle.job.name}: every part is as it was written")
        print("Written: " + ", ".join(str(p) for p in written))
    return 0


def _weather(args: argparse.Namespace, suffix: str) -> int:
    from pourwright.exchange import read_epw, read_weather_csv, with_air
    from pourwright.plan import read_job

    if not args.into:
        raise InputError("--into", None, "weather goes into a job", "Name it: --into JOB.")
    out = Path(args.out)
    if out.exists():
        raise InputError("-o", str(out), "it is there already", "Name a new file.")
    if out.resolve().parent != Path(args.into).resolve().parent:
        raise InputError(
            "-o", str(out), "it lies beside the job it is made from, whose files it names",
            f"Name a file in {Path(args.into).parent}.",
        )  # fmt: skip
    text = files.read_text(args.into)
    start = read_job(text, args.into).site.start
    raw = files.read_text(args.file)
    if suffix == ".epw":
        hourly = read_epw(raw, start, args.days)
    else:
        hourly = read_weather_csv(raw, start, args.days, args.dates, args.zone)
    files.write_whole(out, with_air(text, hourly, start))
    low, high = min(hourly.kelvin) - 273.15, max(hourly.kelvin) - 273.15
    if args.json:
        show.print_json(
            {
                "file": str(out), "about": hourly.about, "hours": len(hourly.times),
                "coolest_degC": low, "warmest_degC": high, "warnings": list(hourly.notes),
            }
        )  # fmt: skip
        return 0
    print(f"{hourly.about}: {len(hourly.times)} hours, {low:.1f} to {high:.1f} degC")
    for n in hourly.notes:
        print(f"Note: {n}")
    print(f"Written: {out}")
    return 0
