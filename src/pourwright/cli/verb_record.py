"""``pourwright record JOB ...``: write down what happened, see it against the plan, learn from it."""

from __future__ import annotations

import argparse
import textwrap
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.cli import files, show
from pourwright.cli.learning import fill
from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from pourwright.plan import Job
    from pourwright.record import Record

EPILOG = """what to write down, as KIND key=value ... right behind the job:
  reading  at= temperature= humidity= surface=
  cup      at= cup=colour/1A a= b= mixing= poured= left= lot_a= lot_b= pastes.umber=
  step     step=colour-torch at= ended=
  look     stage='tack-free' coat=colour seen=no|yes watched=yes at=
           stage='cup gel' cup=colour/1A mass= seen= at=
  account  coat=colour ran_off= tools= left_over= at=
  check    what='cup release' cup= release=clean|tacky|soft|streaks at=
           what=hardness shore_d= | what=moisture moisture_percent= | what=bow bow=
  fault    fault='soft spot' surface= coat= cup= across= at=
  note     text= at=          struck  of=e0007 why= at=
moments: 'day 4 09:40' or '2027-08-12 09:40', on the clock of the site; a correction is a new entry
with instead_of=e0007; nothing is ever erased"""


LATEST = 12


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.epilog = EPILOG
    p.formatter_class = argparse.RawDescriptionHelpFormatter
    p.add_argument("job", help="job file (TOML)")
    p.add_argument("words", nargs="*", metavar="KIND key=value", help="an entry to write down")
    p.add_argument("--record", help="record file, if not NAME.record.json beside the job")
    p.add_argument("--log", metavar="CSV", help="take in a logger's temperatures")
    p.add_argument("--dates", choices=("guess", "day first", "month first"), default="guess")
    p.add_argument("--zone", help="the site's offset from UTC, for logs that carry a time zone")
    p.add_argument("--photo", metavar="FILE", help="take in a photo (with at= caption= of=)")
    p.add_argument("--now", metavar="MOMENT", help="plan the rest of the job as known by then")
    p.add_argument("--all", action="store_true", help="show every entry")
    p.add_argument("--faults", action="store_true", help="rank the causes of the faults found")
    p.add_argument("--repair", metavar="ENTRY", help="write the repair job of a fault to -o")
    p.add_argument("--start", metavar="DATE", help="first day of the repair, 2027-09-06")
    p.add_argument("--learn", metavar="FILE", help="write what was learned as a product file")
    p.add_argument("--also", nargs="+", action="append", default=[], metavar="JOB",
                   help="learn from this job too (and its record, if not beside it)")  # fmt: skip
    p.add_argument("--teach", metavar="JOB", help="write this job with the lessons in it to -o")
    p.add_argument("--forget", action="store_true",
                   help="write JOB with all that it was taught taken out again to -o")  # fmt: skip
    p.add_argument("-o", "--out", help="file to write a repair, a taught or an untaught job to")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.plan import load_job
    from pourwright.record import record_path

    job = load_job(args.job)
    path = Path(args.record) if args.record else record_path(args.job)
    if args.log:
        return _log(args, job, path)
    if args.photo:
        return _photo(args, job, path)
    if args.words:
        return _write(args, job, path)
    if args.forget:
        from pourwright.cli.learning import forget_job

        return forget_job(args)
    if args.learn or args.teach:
        from pourwright.cli.learning import learn_from

        return learn_from(args, path)
    if args.repair:
        return _repair(args, job, path)
    if args.faults:
        return _faults(args, job, path)
    return _look(args, job, path)


def pairs(words: list[str]) -> dict[str, Any]:
    """Words such as ``a=410 g`` or ``pastes.umber=13 g`` [-] as nested data; yes, no as bools."""
    out: dict[str, Any] = {}
    for word in words:
        key, sign, value = word.partition("=")
        if not sign or not key.strip():
            raise InputError("entry", word, "it is key=value", "Write for example a='410 g'.")
        into = out
        *path, last = key.strip().split(".")
        for part in path:
            into = into.setdefault(part, {})
            if not isinstance(into, dict):
                raise InputError("entry", word, "its key is used twice", "Write each key once.")
        if last in into:
            raise InputError("entry", word, "its key is used twice", "Write each key once.")
        plain: Any = {"yes": True, "no": False}.get(value.strip().lower(), value.strip())
        if last.endswith(("_percent", "shore_d")) or last in ("people", "count"):
            plain = _as_number(plain)
        into[last] = plain
    return out


def _as_number(text: Any) -> Any:
    try:
        value = float(text)
    except (TypeError, ValueError):
        return text
    return int(value) if value.is_integer() else value


def _write(args: argparse.Namespace, job: Job, path: Path) -> int:
    from pourwright.record import append, read_entry

    entry = read_entry(args.words[0], pairs(args.words[1:]), job.site.start)
    made = append(path, job.name, job.site.start, [entry])
    return _said(args, made, 1, path)


def _log(args: argparse.Namespace, job: Job, path: Path) -> int:
    from pourwright.record import append, open_record, read_logger

    logged = read_logger(files.read_text(args.log), args.dates, args.zone)
    old = open_record(path, job.name, job.site.start)
    for e in old.of_kind("logger"):
        if e.sha256 == logged.sha256:
            raise InputError(
                "--log", args.log, f"the same file was taken in before ({e.id})",
                "Nothing more is to be done.",
            )  # fmt: skip
    made = append(path, job.name, job.site.start, [logged.entry()])
    if not args.json:
        print(f"Columns read: {logged.columns}")
        print(f"{len(logged.times)} readings, {logged.times[0]} to {logged.times[-1]}")
        for line in (*logged.notes, *(f"Gap: {g}" for g in logged.gaps)):
            print(line)
        for k in logged.spikes:
            kelvin = logged.kelvin[k]
            assert kelvin is not None
            print(f"Spike, kept but not used: {logged.times[k]} {kelvin - 273.15:.1f} degC")
    return _said(args, made, 1, path)


def _photo(args: argparse.Namespace, job: Job, path: Path) -> int:
    from pourwright.record import append, keep_photo
    from pourwright.record.moments import read_moment

    data = pairs(args.words)
    unknown = set(data) - {"at", "caption", "of"}
    if unknown:
        raise InputError("photo", sorted(unknown)[0], "it has at, caption and of", "Correct it.")
    at = read_moment(data["at"], job.site.start) if "at" in data else None
    entry = keep_photo(Path(args.photo), path, at, str(data.get("caption", "")), data.get("of"))
    return _said(args, append(path, job.name, job.site.start, [entry]), 1, path)


def _said(args: argparse.Namespace, made: Record, count: int, path: Path) -> int:
    new = made.entries[-count:]
    if args.json:
        show.print_json([e.model_dump(mode="json", exclude_none=True) for e in new])
        return 0
    for e in new:
        print(f"Written as {e.id}: {in_words(e)} ({path})")
    return 0


def in_words(entry: Any) -> str:
    """An entry [-] on one line."""
    data = entry.model_dump(mode="json", exclude_none=True)
    kind, at = data.pop("kind"), data.pop("at")
    if kind == "logger":
        return f"{at[:16].replace('T', ' ')} logger, {len(entry.minutes)} readings"
    for key in ("id", "sha256", "width_px", "height_px"):
        data.pop(key, None)
    parts = []
    for k, v in data.items():
        if v in ("", [], {}) or (k == "count" and v == 1) or (k == "watched" and not v):
            continue
        if isinstance(v, dict):
            v = ", ".join(f"{a} {b}" for a, b in v.items())
        parts.append(f"{k} {'yes' if v is True else 'no' if v is False else v}")
    return f"{at[:16].replace('T', ' ')} {kind}: {'; '.join(parts)}"


def _look(args: argparse.Namespace, job: Job, path: Path) -> int:
    from pourwright.plan import plan_job
    from pourwright.record import as_happened, open_record
    from pourwright.record.moments import read_moment

    record = open_record(path, job.name, job.site.start)
    now = read_moment(args.now, job.site.start) if args.now else None
    real, done = as_happened(job, record, now)
    folder = Path(args.job).parent
    with show.progress("planning the rest", args.json):
        was = plan_job(job, folder)
        plan = plan_job(real, folder, done=done)
    before = {s.id: s for d in was.days for s in d.steps}
    rows: list[dict[str, Any]] = []
    for d in plan.days:
        for s in d.steps:
            old = before.get(s.id)
            rows.append(
                {
                    "step": s.id, "title": s.title, "planned": old.starts if old else None,
                    "starts": s.starts, "ends": s.ends, "done": s.done,
                }
            )  # fmt: skip
    changed = record.changed_by_hand()
    if args.json:
        show.print_json(
            {
                "record": record.document(), "steps": rows, "finish": plan.finish,
                "changed_by_hand": changed,
            }
        )  # fmt: skip
        return 0
    from pourwright.papers.wording import day_of
    from pourwright.plan import show as words
    from pourwright.words import Own

    r = show.reader(job)
    standing = record.standing()
    shown = standing if args.all else standing[-LATEST:]
    print(r.text(say("{job}: {n} entries, {count} of them count", job=Own(record.job),
                     n=len(record.entries), count=len(standing))))  # fmt: skip
    if len(shown) < len(standing):
        print("  " + r.text(say("the latest {n} (all of them with --all):", n=LATEST)))
    for e in shown:
        print(textwrap.fill(f"{e.id} {in_words(e)}", 110, initial_indent="  ",
                            subsequent_indent="        "))  # fmt: skip
    print()
    show.table(
        r.text("Steps"), [r.text(t) for t in ("Step", "Planned", "Now", "")],
        [
            [
                r.text(x["title"]),
                f"{day_of(r, x['planned'])} {words.clock(x['planned'])}" if x["planned"] else "",
                f"{day_of(r, x['starts'])} {words.clock(x['starts'])}",
                r.text("done") if x["done"] else "",
            ]
            for x in rows
        ],
    )  # fmt: skip
    print(r.text(say("Everything is done on {day} at {clock}", day=Own(day_of(r, plan.finish)),
                     clock=Own(words.clock(plan.finish)))))  # fmt: skip
    if changed:
        print(r.text(say("Changed outside Pourwright: {names}", names=Own(", ".join(changed)))))
    return 0


def _faults(args: argparse.Namespace, job: Job, path: Path) -> int:
    from pourwright.record import done_job, faults_of, repairs_of
    from pourwright.words import Own

    with show.progress("comparing with the plan", args.json):
        done = done_job(args.job, path)
        found = faults_of(done)
    mended = repairs_of(done.record, Path(args.job).parent)
    if args.json:
        show.print_json(
            [
                {
                    "entry": v.fault.id, "fault": v.fault.fault,
                    "causes": [
                        {"key": c.key, "share": c.share, "says": c.says, "evidence": c.evidence,
                         "next_time": c.next_time}
                        for c in v.causes
                    ],
                    "repair": v.repair, "remedy": v.remedy, "cautions": list(v.cautions),
                    "repairs": [
                        {"job": m.job, "state": m.state} for m in mended if m.fault == v.fault.id
                    ],
                }
                for v in found
            ]
        )  # fmt: skip
        return 0
    r = show.reader(job)
    if not found:
        print(r.text("No fault stands in the record."))
    for v in found:
        what = r.text(v.fault.fault)
        if v.fault.surface:
            what = r.text(
                say("{fault} on {surface}", fault=Own(what), surface=Own(v.fault.surface))
            )
        print(f"{v.fault.id} {what}: {r.text(v.looks)}")
        for c in v.causes:
            here = r.text(say(" Here: {evidence}.", evidence=c.evidence)) if c.evidence else ""
            later = r.text(say("Next time: {advice}", advice=c.next_time))
            print(fill(f"{c.share:4.0%}  {r.text(c.says)}.{here} {later}"))
        print(fill(r.text(say("Mend: {repair}. {remedy}", repair=v.repair, remedy=v.remedy))))
        for m in mended:
            if m.fault == v.fault.id:
                print(fill(r.text(say("Repair {state}: {job}", state=m.state, job=Own(m.job)))))
        for caution in v.cautions:
            print(fill(r.text(say("Caution: {text}", text=caution))))
    return 0


def _repair(args: argparse.Namespace, job: Job, path: Path) -> int:
    from pourwright.plan import write_job
    from pourwright.record import append, done_job, judge, repair_job
    from pourwright.record.entries import RepairEntry
    from pourwright.record.moments import moment_of
    from pourwright.words import Own

    if not args.out or not args.start:
        raise InputError(
            "--repair", args.repair, "it needs -o FILE and --start DATE",
            "Write --repair e0012 --start 2027-09-06 -o repair.toml.",
        )  # fmt: skip
    out = Path(args.out)
    if out.exists():
        raise InputError("-o", str(out), "it is there already", "Name a new file.")
    files.beside(out, args.job)
    try:
        start = date.fromisoformat(args.start)
    except ValueError:
        raise InputError("--start", args.start, "it is a date", "Write 2027-09-06.") from None
    done = done_job(args.job, path)
    fault = next((f for f in done.record.of_kind("fault") if f.id == args.repair), None)
    if fault is None:
        known = ", ".join(f.id for f in done.record.of_kind("fault")) or "none"
        raise InputError("--repair", args.repair, f"the faults are {known}", "Name one of them.")
    made = repair_job(job, judge(done, fault), start)
    files.write_whole(out, write_job(made))
    entry = RepairEntry(at=moment_of(0.0, start), fault=fault.id, job=out.name)
    append(path, job.name, job.site.start, [entry])
    if args.json:
        show.print_json({"job": str(out), "fault": fault.id})
    else:
        print(show.reader(job).text(say("Written: {file}. See it with: pourwright plan {file}",
                                        file=Own(str(out)))))  # fmt: skip
    return 0
