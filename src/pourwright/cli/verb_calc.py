"""``pourwright calc NAME < in.json > out.json``: one calculation by name."""

from __future__ import annotations

import argparse

from pourwright.cli import files, show


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("name", nargs="?", help="which calculation, for example cure.cup")
    p.add_argument("--list", action="store_true", help="list all calculations")
    p.add_argument("--schema", action="store_true", help="show the JSON schema of input and result")
    p.add_argument("--example", action="store_true", help="run the calculation's own example")
    p.add_argument("-i", "--input", default="-", help="JSON file; standard input by default")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright import calc
    from pourwright.errors import InputError

    if args.list or args.name is None:
        listed = [calc.get(n) for n in calc.names()]
        if args.json:
            show.print_json(
                [{"name": c.name, "title": c.title, "question": c.question} for c in listed]
            )
        else:
            show.table("Calculations", ["name", "question"], [[c.name, c.question] for c in listed])
        return 0
    one = calc.get(args.name)
    if args.schema:
        show.print_json(one.schema())
        return 0
    data = one.example if args.example else files.read_json(files.read_text(args.input))
    if not isinstance(data, dict):
        raise InputError("input", type(data).__name__, "a JSON object is needed", "Wrap it in {}.")
    result = calc.run(args.name, data).model_dump(mode="json")
    if args.json or not show.is_terminal():
        show.print_json(result)
    else:
        _show_result(one.title, result)
    return 0


def _show_result(title: str, result: dict) -> None:
    rows = []
    for key, value in result["value"].items():
        spread = result["range"].get(key)
        span = f"{spread['p05']:.4g} to {spread['p95']:.4g}" if spread else ""
        shown = f"{value:.5g}" if isinstance(value, float) else str(value)
        rows.append([key, shown, span])
    show.table(title, ["", "value", "5 to 95 %"], rows)
    for head in ("warnings", "cautions", "sources"):
        for line in result[head]:
            print(f"{head[:-1]}: {line}")
