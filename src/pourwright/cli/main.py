"""The command ``pourwright``: parse, call, show, and end with an honest exit code."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence

from pourwright import __version__

# verb -> (module, one line for --help); the module is imported only when its verb is used.
VERBS: dict[str, tuple[str, str]] = {
    "new": ("verb_new", "write a new job file to fill in"),
    "check": ("verb_check", "read a job file and say what it means, or what is wrong in it"),
    "plan": ("verb_plan", "plan a job: amounts, batches, windows, days, run sheet"),
    "picture": ("verb_picture", "draw what the client will see"),
    "cut": ("verb_cut", "lay the core parts out on sheets"),
    "papers": ("verb_papers", "write the papers of a job as PDF files"),
    "quote": ("verb_quote", "reckon what a job costs and what to offer it for"),
    "record": ("verb_record", "write down what happened, see it against the plan, learn from it"),
    "stock": ("verb_stock", "what is on the shelf, reserved, used, and to be reordered"),
    "export": ("verb_export", "hand a job to other programs: tables, calendar, model, bundle"),
    "import": ("verb_import", "take in a job bundle or hourly weather"),
    "app": ("verb_app", "open the whole job in a browser"),
    "calc": ("verb_calc", "run one calculation on JSON input"),
}

EPILOG = """exit codes: 0 ok; 2 bad input (one line says what and how to mend it);
3 a hold point is not met (only with --strict)"""


def _parser(verb: str | None) -> argparse.ArgumentParser:
    p = argparse.ArgumentParser(
        prog="pourwright",
        description="Plans, times, pictures and documents poured self-levelling resin surfaces.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    p.add_argument("--version", action="version", version=f"pourwright {__version__}")
    sub = p.add_subparsers(dest="verb", metavar="VERB")
    for name, (module, line) in VERBS.items():
        s = sub.add_parser(name, help=line, description=line, allow_abbrev=False)
        s.add_argument("--json", action="store_true", help="print the result as JSON")
        if name == verb:
            importlib.import_module(f"pourwright.cli.{module}").arguments(s)
    return p


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line on `argv` [-]; returns the exit code [-]."""
    args_in = list(sys.argv[1:] if argv is None else argv)
    verb = next((a for a in args_in if not a.startswith("-")), None)
    parser = _parser(verb if verb in VERBS else None)
    args = parser.parse_args(args_in)
    if args.verb is None:
        parser.print_help()
        return 0
    module = importlib.import_module(f"pourwright.cli.{VERBS[args.verb][0]}")
    from pourwright.errors import InputError

    try:
        return int(module.run(args))
    except InputError as err:
        _say_error(err, args.json)
        return 2
    except KeyboardInterrupt:
        print("stopped; nothing half-written was left", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except Exception as err:
        if os.environ.get("POURWRIGHT_TRACE"):
            raise
        words = " ".join(f"{type(err).__name__}: {err}".split())[:300]
        print(
            f"pourwright: this is a fault of the program, nothing was written: {words} "
            "(set POURWRIGHT_TRACE=1 to see where)",
            file=sys.stderr,
        )
        return 1


def _say_error(err: object, as_json: bool) -> None:
    from pourwright.errors import InputError

    assert isinstance(err, InputError)
    if as_json:
        import json

        print(json.dumps({"error": err.as_dict()}, ensure_ascii=False))
    print(f"pourwright: {err.line()}", file=sys.stderr)


def run() -> None:
    """Entry point of the installed command; ends the process with the exit code."""
    raise SystemExit(main())
