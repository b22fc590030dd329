"""``pourwright quote JOB``: what a job costs, what it is offered for, and how sure that is."""

from __future__ import annotations

import argparse
from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.cli import files, show

if TYPE_CHECKING:
    from pourwright.papers import Costing, Priced
    from pourwright.papers.wording import Wording
    from pourwright.price.compare import Compared
    from pourwright.quantities.money import Money


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML), its terms under [price]")
    p.add_argument("-o", "--out", help="folder to write quote.pdf and costs.pdf to")
    p.add_argument("--picture", metavar="FILE",
                   help="PNG or JPEG of the finish to print instead of the computed one")  # fmt: skip
    p.add_argument("--no-picture", action="store_true", help="print no picture of the finish")
    p.add_argument("--no-options", action="store_true", help="leave the job's options out")
    p.add_argument(
        "--spent",
        action="append",
        default=[],
        metavar="GROUP=MONEY",
        help="afterwards: what a group really cost, e.g. 'resin=GBP 310.00'; may be repeated",
    )


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.cli.verb_papers import read_picture
    from pourwright.exchange import paper_pictures
    from pourwright.papers import cost_job, papers_of, price_options
    from pourwright.papers.document import compared_document, costing_document
    from pourwright.papers.wording import Wording
    from pourwright.plan import load_job, work_out
    from pourwright.price import compare
    from pourwright.words import Own

    job = load_job(args.job)
    picture = read_picture(args.picture) if args.picture else None
    spent = read_spent(args.spent)
    out = files.folder(args.out) if args.out else None
    with show.progress("quote", args.json) as tell:
        work = work_out(job, Path(args.job).parent, tell=lambda x, w: tell(0.5 * x, w))
        costing = cost_job(work)
        options = []
        if not args.no_options:
            options = price_options(work, costing, lambda x, w: tell(0.5 + 0.4 * x, w))
        compared = compare(costing.reckoning, spent) if spent else None
        if out is not None and picture is None and not args.no_picture:
            picture = paper_pictures(work, lambda x, w: tell(0.9 + 0.05 * x, w))[0]
        if out is not None:
            papers = papers_of(work, ["quote", "costs"], picture=picture, options=options,
                               costing=costing)  # fmt: skip
            for name, data in papers.items():
                files.write_whole(out / f"{name}.pdf", data)
        tell(1.0, "done")
    if args.json:
        document = costing_document(costing, options)
        if compared is not None:
            document["compared"] = compared_document(*compared)
        show.print_json(document)
        return 0
    w = Wording.of(work)
    summary(w, costing, options)
    if compared is not None:
        afterwards(w, costing, compared, spent)
    if out is not None:
        print(
            "\n" + w.say("Written: {files}", files=Own(f"{out / 'quote.pdf'}, {out / 'costs.pdf'}"))
        )
    return 0


def read_spent(texts: list[str]) -> dict[str, Money]:
    """What groups really cost [currency], from `texts` [-] such as ``resin=GBP 310.00``."""
    from pourwright.errors import InputError
    from pourwright.price.items import GROUPS
    from pourwright.quantities.money import read_money

    out: dict[str, Money] = {}
    for text in texts:
        group, mark, money = text.partition("=")
        if not mark or group.strip() not in GROUPS:
            raise InputError("--spent", text, f"GROUP=MONEY with one of {', '.join(GROUPS)}",
                             "For example 'resin=GBP 310.00'.")  # fmt: skip
        out[group.strip()] = read_money(money.strip(), "--spent")
    return out


def summary(w: Wording, costing: Costing, options: list[Priced]) -> None:
    """Print one screen about a job's `costing` and `options` [currency] in the words of `w` [-]."""
    from pourwright.price.items import GROUPS
    from pourwright.words import Own

    r, be, lost = costing.reckoning, costing.break_even, costing.lost_day
    print(f"{w.plan.name}: {w.say('Quote')}")
    print()
    show.table(
        w.say("Cost"),
        [w.say("Group"), w.say("Charged"), w.say("5 to 95 %")],
        [
            [w.text(GROUPS[g]), w.money(m),
             w.both(w.grouped(r.group_ranges[g].p05), w.grouped(r.group_ranges[g].p95))]
            for g, m in r.groups.items()
        ],
    )  # fmt: skip
    print()
    tax = w.text(costing.spec.tax_name)
    show.table(
        w.say("Price"),
        [w.say("Step"), r.currency],
        [
            [w.say("Cost"), w.amount(r.cost)],
            [w.say("Risk margin"), w.amount(r.risk)],
            [w.say("Mark-up"), w.amount(r.profit)],
            [w.say("Net price"), w.amount(r.net)],
            [tax[:1].upper() + tax[1:], w.amount(r.tax)],
            [w.say("To pay in all"), w.amount(r.gross)],
        ],
    )
    print()
    print(w.say(
        "Cost as things turn out: {range} {currency}; the net price covers it in {cases} cases.",
        range=Own(w.both(w.grouped(r.cost_range.p05), w.grouped(r.cost_range.p95))),
        currency=Own(r.currency), cases=Own(w.cases(r.covered)),
    ))  # fmt: skip
    hours = Own(w.number(f"{costing.hours}"))
    print(
        w.say("Paid hours: {hours} h.", hours=hours)
        if be.hours is None
        else w.say("Paid hours: {hours} h; it pays up to {most} h.", hours=hours,
                   most=Own(w.number(f"{be.hours}")))
    )  # fmt: skip
    print(w.say(
        "A day lost to the weather: {cost} at the worst, done {finish} then.",
        cost=Own(w.money(lost.cost)), finish=Own(w.day(costing.finish_if_lost)),
    ))  # fmt: skip
    show.table(
        w.say("A day lost"),
        [w.say("Day lost"), w.say("Costs more"), w.say("Then done on"), w.say("More work")],
        [[w.day(x.day), w.money(x.cost), w.day(x.finish), w.text(x.extra_text)]
         for x in costing.lost_days],
    )  # fmt: skip
    if len(options) > 1:
        print()
        show.table(
            w.say("The same job otherwise"),
            [w.say("Option"), w.say("To pay in all"), w.say("Difference"), w.say("Handover"),
             w.say("Full service")],
            [
                [w.text(o.name), w.money(o.costing.reckoning.gross),
                 w.money(o.costing.reckoning.gross - r.gross) if o.option else "",
                 w.day(o.work.plan.finish),
                 w.day(o.work.plan.serve) if o.work.plan.serve else w.say("not reached")]
                for o in options
            ],
        )  # fmt: skip
    for text in costing.warnings:
        print("\n" + w.say("Mind: {text}", text=text))


def afterwards(
    w: Wording,
    costing: Costing,
    compared: tuple[list[Compared], Money, Money],
    named: Collection[str],
) -> None:
    """Print what was spent against the `costing` [currency], `compared` to it, in the words of `w` [-].

    Groups that are not among those `named` [-] have no figure yet and count as planned.
    """
    from pourwright.words import Own

    rows, total, earned = compared
    rest = costing.reckoning.cost
    for c in rows:
        rest = rest - c.planned if c.group in named else rest
    print()
    show.table(
        w.say("Afterwards"),
        [w.say("Group"), w.say("Planned"), w.say("5 to 95 %"), w.say("Spent"),
         w.say("Difference"), ""],
        [
            [w.text(c.title), w.money(c.planned),
             w.both(w.grouped(c.range.p05), w.grouped(c.range.p95)),
             *([w.money(c.actual), w.money(c.difference),
                w.say("below its range" if c.place == "below" else "above its range"
                      if c.place == "above" else "within its range")]
               if c.group in named else ["", "", ""])]
            for c in rows
        ],
    )  # fmt: skip
    print(
        w.say("Spent {total}; with the other groups as planned, {earned} is earned.",
              total=Own(w.money(total)), earned=Own(w.money(earned - rest)))
        if any(c.group not in named for c in rows)
        else w.say("Spent {total}, earned {earned}", total=Own(w.money(total)),
                   earned=Own(w.money(earned)))
    )  # fmt: skip
