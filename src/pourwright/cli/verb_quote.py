"""``pourwright quote JOB``: what a job costs, what it is offered for, and how sure that is."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.cli import files, show

if TYPE_CHECKING:
    from pourwright.papers import Costing, Priced
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
    from pourwright.plan import load_job, work_out
    from pourwright.price import compare

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
    summary(work.plan.name, costing, options)
    if compared is not None:
        rows, total, earned = compared
        print()
        show.table(
            "Afterwards",
            ["group", "planned", "range", "spent", "difference", ""],
            [
                [c.title, str(c.planned), f"{c.range.p05:,.0f} to {c.range.p95:,.0f}",
                 str(c.actual), str(c.difference), c.place]
                for c in rows
            ],
        )  # fmt: skip
        print(f"Spent {total}, earned {earned}")
    if out is not None:
        print(f"\nWritten: {out / 'quote.pdf'}, {out / 'costs.pdf'}")
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


def summary(name: str, costing: Costing, options: list[Priced]) -> None:
    """Print one screen about a job's `costing` and `options` [currency]; `name` [-]."""
    from pourwright.plan import show as words
    from pourwright.price.items import GROUPS
    from pourwright.quantities.money import write_money

    r, be, lost = costing.reckoning, costing.break_even, costing.lost_day
    print(f"{name}: quote")
    print()
    show.table(
        "Cost",
        ["group", "charged", "5 to 95 %"],
        [
            [GROUPS[g], write_money(m),
             f"{r.group_ranges[g].p05:,.0f} to {r.group_ranges[g].p95:,.0f}"]
            for g, m in r.groups.items()
        ],
    )  # fmt: skip
    print()
    show.table(
        "Price",
        ["step", "money"],
        [
            ["cost", write_money(r.cost)],
            ["risk margin", write_money(r.risk)],
            ["mark-up", write_money(r.profit)],
            ["net price", write_money(r.net)],
            [costing.spec.tax_name, write_money(r.tax)],
            ["to pay in all", write_money(r.gross)],
        ],
    )
    print()
    low, high = r.cost_range.p05, r.cost_range.p95
    print(f"Cost as things turn out: {low:,.0f} to {high:,.0f} {r.currency}; the net price covers "
          f"it in {100 * r.covered:.0f} of 100 cases.")  # fmt: skip
    hours = f"; it pays up to {be.hours} h" if be.hours is not None else ""
    print(f"Paid hours: {costing.hours} h{hours}.")
    print(f"A day lost to the weather: {write_money(lost.cost)} at the worst, done "
          f"{words.day(costing.finish_if_lost)} then.")  # fmt: skip
    show.table(
        "If a day is lost",
        ["day", "costs more", "then done on", "more work"],
        [[words.day(x.day), write_money(x.cost), words.day(x.finish), x.extra_text]
         for x in costing.lost_days],
    )  # fmt: skip
    if len(options) > 1:
        print()
        show.table(
            "The same job otherwise",
            ["option", "to pay in all", "difference", "handover", "full service"],
            [
                [o.name, write_money(o.costing.reckoning.gross),
                 write_money(o.costing.reckoning.gross - r.gross) if o.option else "",
                 words.day(o.work.plan.finish),
                 words.day(o.work.plan.serve) if o.work.plan.serve else "not reached"]
                for o in options
            ],
        )  # fmt: skip
    for w in costing.warnings:
        print(f"\nMind: {w}")
