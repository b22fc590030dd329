"""``pourwright stock SHELF ...``: lots on the shelf, what jobs reserve and use, what to reorder."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pourwright.cli import files, show
from pourwright.cli.verb_record import pairs
from pourwright.errors import InputError
from pourwright.words import Own, Reader, say

if TYPE_CHECKING:
    from pourwright.store.shelf import Shelf

EPILOG = """what to write down, as WORD key=value ... right behind the file:
  lot        id= material= part=A|B mass=|volume=|pieces= received= keeps='12 months' keeps_open=
  used       lot= mass=|volume=|pieces= on= job=      (cups of a record: --used-by JOB)
  counted    lot= mass=|volume=|pieces= on=
  discarded  lot= ... on=        opened  lot= on=
  least      material= part= mass=|volume=|pieces=    what should always be there
dates as 2027-08-09; nothing is erased, a wrong move is set right by counting"""


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.epilog = EPILOG
    p.formatter_class = argparse.RawDescriptionHelpFormatter
    p.add_argument("shelf", help="the shop's file, NAME.toml or NAME.json; made when missing")
    p.add_argument("words", nargs="*", metavar="WORD key=value", help="something to write down")
    p.add_argument("--for", dest="job", metavar="JOB", help="what the shelf gives this job")
    p.add_argument("--reserve", action="store_true", help="with --for: reserve it")
    p.add_argument("--used-by", metavar="JOB", help="book what the recorded cups of JOB used")
    p.add_argument("--record", help="record file, if not NAME.record.json beside the job")
    p.add_argument("--on", metavar="DATE", help="today, if it is another day: 2027-08-09")
    p.add_argument(
        "-o", "--out", help="with --for: write the job with the stock of each resin in it"
    )


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    on = _day(args.on, "--on") if args.on else date.today()
    path = Path(args.shelf)
    if path.suffix not in (".toml", ".json"):
        raise InputError("shelf", str(path), "it is a .toml or .json file", "Name it so.")
    if args.words:
        return _write(args, path, on)
    if args.used_by:
        return _used(args, path)
    if args.job:
        return _for(args, path, on)
    return _look(args, path, on)


def _day(text: Any, field: str) -> date:
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        raise InputError(field, text, "it is a date", "Write 2027-08-09.") from None


def _write(args: argparse.Namespace, path: Path, on: date) -> int:
    from pourwright.calc.registry import validate
    from pourwright.store.shelf import Least, Lot, Move, change_shelf

    word, data = args.words[0], pairs(args.words[1:])
    if "pieces" in data:
        try:
            data["pieces"] = float(data["pieces"])
        except ValueError:
            raise InputError("pieces", data["pieces"], "it is a number", "Write 3.") from None
    for key in ("keeps", "keeps_open"):
        if str(data.get(key, "")).isdigit():
            data[key] = int(data[key])
    moves = ("used", "discarded", "counted", "released", "opened")
    if word == "lot":
        data.setdefault("received", on.isoformat())
        change_shelf(path, lots=[validate(Lot, data)])
    elif word == "least":
        change_shelf(path, least=[validate(Least, data)])
    elif word in moves:
        data.setdefault("on", on.isoformat())
        move = validate(Move, {"what": word, **data})
        if word in ("used", "discarded", "counted") and move.amount is None:
            raise InputError("mass", None, "an amount is needed", "Give mass, volume or pieces.")
        change_shelf(path, moves=[move])
    else:
        raise InputError(
            "stock", word, f"it is lot, least, {', '.join(moves)}", "Use one of these words."
        )
    return _look(args, path, on)


def _catalogue(job: str | None = None) -> Any:
    from pourwright.catalogue import load
    from pourwright.plan import load_job

    if job is None:
        return load()
    return load([Path(job).parent / p for p in load_job(job).products])


def _amount(value: float, kind: str) -> str:
    if kind == "mass":
        return f"{value:.3g} kg" if value >= 1 else f"{value * 1e3:.3g} g"
    if kind == "volume":
        return f"{value * 1e3:.3g} L" if value >= 1e-3 else f"{value * 1e6:.3g} mL"
    return f"{value:g}"


def _look(args: argparse.Namespace, path: Path, on: date) -> int:
    from pourwright.record.stock import densities, reorder
    from pourwright.store.shelf import read_shelf, states

    shelf: Shelf = read_shelf(path)
    catalogue = _catalogue()
    found = states(shelf, densities(catalogue, shelf))
    orders = reorder(shelf, catalogue, on)
    if args.json:
        show.print_json(
            {
                "lots": [
                    {
                        "id": s.lot.id, "material": s.lot.material, "part": s.lot.part,
                        "counted_as": s.lot.kind, "on_hand": s.on_hand, "reserved": s.reserved,
                        "free": s.free, "opened": s.opened and s.opened.isoformat(),
                        "good_until": s.until and s.until.isoformat(), "by_job": s.by_job,
                    }
                    for s in found
                ],
                "reorder": [vars(r) for r in orders],
            }
        )  # fmt: skip
        return 0
    show.table(
        f"On the shelf, {on}", ["lot", "material", "part", "on hand", "reserved", "free", "good until"],
        [
            [s.lot.id, s.lot.material, s.lot.part, _amount(s.on_hand, s.lot.kind),
             _amount(s.reserved, s.lot.kind), _amount(s.free, s.lot.kind),
             f"{s.until}{'' if s.good_on(on) else ' (past)'}" if s.until else "not said"]
            for s in found
        ],
    )  # fmt: skip
    _print_orders(orders, Reader())
    return 0


def _print_orders(orders: list[Any], w: Reader) -> None:
    for r in orders:
        what: Any = Own(r.material)
        if r.part:
            what = say("{material} part {part}", material=what, part=Own(r.part))
        if r.missing is None:
            print(w.text(say("See {what}: {why}", what=what, why=r.why)))
        else:
            much = Own(w.number(_amount(r.missing, r.kind)))
            print(w.text(say("Order {much}: {what}, {why}", much=much, what=what, why=r.why)))


def _for(args: argparse.Namespace, path: Path, on: date) -> int:
    from pourwright.plan import load_job, work_out
    from pourwright.record.stock import feed, reorder, reserve
    from pourwright.store.shelf import change_shelf, read_shelf

    shelf = read_shelf(path)
    job = load_job(args.job)
    w = show.reader(job)
    with show.progress("planning", args.json):
        work = work_out(job, Path(args.job).parent)
    feeds = feed(work, shelf)
    if args.reserve:
        change_shelf(path, moves=reserve(work, shelf, on))
    written = None
    if args.out:
        written = Path(args.out)
        if written.exists():
            raise InputError("-o", str(written), "it is there already", "Name a new file.")
        files.beside(written, args.job)
        files.write_whole(written, _with_stock(files.read_text(args.job), feeds))
    if args.json:
        show.print_json(
            {
                "job": work.plan.name, "reserved": bool(args.reserve),
                "resins": [
                    {
                        "resin": f.resin, "pour": f.pour.isoformat(), "lots": list(f.lots),
                        "need_a_mL": f.need[0] * 1e6, "need_b_mL": f.need[1] * 1e6,
                        "have_a_mL": f.have[0] * 1e6, "have_b_mL": f.have[1] * 1e6,
                        "left_out": list(f.left_out),
                    }
                    for f in feeds
                ],
                "written": str(written) if written else None,
            }
        )  # fmt: skip
        return 0
    show.table(
        w.text(say("The shelf for {job}", job=Own(work.plan.name))),
        [w.text(t) for t in ("Resin", "A needed", "A there", "B needed", "B there", "Lots")],
        [
            [f.resin, *(w.number(_amount(v, "volume"))
                        for v in (f.need[0], f.have[0], f.need[1], f.have[1])),
             ", ".join(f.lots) or w.text("none")]
            for f in feeds
        ],
    )  # fmt: skip
    for f in feeds:
        for line in f.left_out:
            print(w.text(say("Does not count: {lot}", lot=line)))
    _print_orders([r for r in reorder(shelf, work.ctx.catalogue, on, feeds) if r.missing], w)
    if args.reserve:
        print(w.text("Reserved."))
    if written:
        print(w.text(say("Written: {files}", files=Own(str(written)))))
    return 0


def _with_stock(text: str, feeds: list[Any]) -> str:
    """The job's text with the stock of each of its resins in it, in place of what stood there."""
    import tomlkit

    from pourwright.plan import read_job

    doc: Any = tomlkit.parse(text)
    if "mix" not in doc:
        doc["mix"] = tomlkit.table()
    doc["mix"].pop("stock", None)
    of = tomlkit.table()
    for f in feeds:
        if any(f.have):
            one = tomlkit.inline_table()
            one["a"] = f"{f.have[0] * 1e6:.6g} mL"
            one["b"] = f"{f.have[1] * 1e6:.6g} mL"
            of[f.resin] = one
    if of:
        doc["mix"]["stock"] = tomlkit.table(is_super_table=True)
        doc["mix"]["stock"]["of"] = of
    out = tomlkit.dumps(doc)
    read_job(out)
    return out


def _used(args: argparse.Namespace, path: Path) -> int:
    from pourwright.plan import load_job, work_out
    from pourwright.record import read_record, record_path
    from pourwright.record.stock import used_by
    from pourwright.store.shelf import change_shelf, read_shelf

    record = read_record(args.record or record_path(args.used_by))
    with show.progress("planning", args.json):
        work = work_out(load_job(args.used_by), Path(args.used_by).parent)
    shelf = read_shelf(path)
    moves, missing = used_by(work, record, shelf)
    made = change_shelf(path, moves=moves)
    booked = len(made.moves) - len(shelf.moves)
    if args.json:
        show.print_json({"booked": booked, "missing": missing})
        return 0
    print(
        f"Booked {booked} amounts used by {record.job}; {len(moves) - booked} stood there before."
    )
    for line in missing:
        print(f"Not booked: {line}")
    return 0
