"""``pourwright app``: the whole job in a browser, on this machine or in the shop."""

from __future__ import annotations

import argparse
import getpass
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.cli import show

if TYPE_CHECKING:
    from pourwright.web.settings import Settings


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("--port", type=int, default=None, help="port to listen on; 0 for any free one")
    p.add_argument("--data", metavar="FOLDER", help="where the jobs are kept")
    p.add_argument("--database", metavar="URL", default="", help="a database server's URL instead")
    p.add_argument("--lan", action="store_true", help="open to the network, with a pass phrase")
    p.add_argument("--https", action="store_true", help="with a certificate made on this machine")
    p.add_argument(
        "--name", action="append", default=[], metavar="HOST",
        help="a further host name the app is called by",
    )  # fmt: skip
    p.add_argument("--new-phrase", action="store_true", help="set another pass phrase")
    p.add_argument("--no-demo", action="store_true", help="start without the demo jobs")
    p.add_argument("--no-open", action="store_true", help="do not open a browser")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.errors import InputError
    from pourwright.web.server import Open, serve
    from pourwright.web.settings import Settings

    settings = Settings(
        lan=args.lan,
        https=args.https,
        names=tuple(args.name),
        database=args.database,
        demo=not args.no_demo,
    )
    if args.data:
        settings = replace(settings, data=Path(args.data))
    if args.port is not None:
        if not 0 <= args.port <= 65535:
            raise InputError("--port", args.port, "0 to 65535", "Choose another port.")
        settings = replace(settings, port=args.port)
    if args.lan or args.new_phrase:
        _phrase(settings, args.new_phrase)
    try:
        serve(settings, not args.no_open, lambda s, a: _say(s, a, args.json))
    except KeyboardInterrupt:
        print("Stopped; everything is kept.", file=sys.stderr)
    except Open as err:
        if not err.address:
            raise
        print(f"The app runs already: {err.address}")
        if not args.no_open:
            import webbrowser

            webbrowser.open(err.address)
    return 0


def _phrase(settings: Settings, new: bool) -> None:
    """Ask for a pass phrase when none is set yet; from a pipe, its first line is taken."""
    from pourwright.errors import InputError
    from pourwright.web.access import load_keys, set_phrase

    if load_keys(settings.data).phrase_hash and not new:
        return
    if sys.stdin.isatty():
        first = getpass.getpass("Pass phrase for the shop (three or four words): ")
        if getpass.getpass("Once more: ") != first:
            raise InputError("pass phrase", "", "the two differ", "Try again.")
    else:
        first = sys.stdin.readline().rstrip("\n")
    set_phrase(settings.data, first)


def _say(settings: Settings, address: str, as_json: bool) -> None:
    """Say where the app is, and what sharing means."""
    from pourwright.web import network

    words = network.share_words(settings, settings.port)
    if as_json:
        show.print_json({"address": address, "data": str(settings.data), **words})
        sys.stdout.flush()
        return
    print(f"Pourwright is at {address}")
    print(f"Jobs are kept in {settings.data}. Stop with Ctrl+C.")
    if words["addresses"]:
        print()
        print("For tablets in the shop:")
        for a in words["addresses"]:
            print(f"  {a}")
        if sys.stdout.isatty():
            print(network.qr_text(words["addresses"][0]))
        if words["fingerprint"]:
            print(f"Fingerprint of the certificate: {words['fingerprint']}")
        for line in words["mind"]:
            print(f"Mind: {line}")
    sys.stdout.flush()
