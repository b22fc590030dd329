"""A PostgreSQL server for the tests marked `postgres`: a given one, or one of their own.

``POURWRIGHT_TEST_POSTGRES`` is the URL of a server that the tests may make schemas on. Without
it, a server is started from this machine's binaries in a folder under the system's temporary one,
reached through a socket in that folder only, and removed at the end.
"""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

GIVEN = "POURWRIGHT_TEST_POSTGRES"


def binaries() -> Path | None:
    """The folder of the newest PostgreSQL server here; None without one."""
    debian = sorted(
        Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: int(p.parent.name or 0)
    )
    on_path = shutil.which("initdb")
    listed = [*debian, *([Path(on_path).resolve().parent] if on_path else [])]
    return next((p for p in reversed(listed) if (p / "pg_ctl").exists()), None)


def plain_user() -> dict[str, Any]:
    """Whom to run the server as: it refuses to run as root."""
    if os.name == "nt" or os.geteuid() != 0:
        return {}
    import pwd

    for name in ("postgres", "nobody"):
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}
    return {}


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """URL of a server's own database `postgres`."""
    pytest.importorskip("psycopg", reason="psycopg is not installed (extra: postgres)")
    if given := os.environ.get(GIVEN):
        yield given
        return
    bin_ = binaries()
    if bin_ is None:
        pytest.skip(f"no PostgreSQL server here: apt-get install postgresql, or set {GIVEN}")
    who = plain_user()
    folder = Path(tempfile.mkdtemp(prefix="pw-pg-"))
    if who:
        os.chown(folder, who["user"], who["group"])

    def call(program: str, *words: str) -> None:
        subprocess.run([bin_ / program, *words], check=True, cwd=folder, env=clean, **who,
                       stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT)  # fmt: skip

    clean = {"PATH": os.defpath, "LC_ALL": "C.UTF-8", "HOME": str(folder)}
    data = str(folder / "data")
    try:
        call("initdb", "-D", data, "-U", "pourwright", "-A", "trust", "-E", "UTF8", "-N")
        switches = f"-c listen_addresses='' -k {folder} -c fsync=off -c max_connections=200"
        call("pg_ctl", "-D", data, "-w", "-s", "-l", str(folder / "log"), "-o", switches, "start")
    except subprocess.CalledProcessError as err:
        log = (folder / "log").read_text() if (folder / "log").exists() else ""
        shutil.rmtree(folder, ignore_errors=True)
        pytest.fail(f"the test server did not start: {err}\n{log[-2000:]}")
    try:
        yield f"postgresql://pourwright@/postgres?host={folder}"
    finally:
        call("pg_ctl", "-D", data, "-w", "-s", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


def say(server: str, *lines: str) -> None:
    """Run statements on a server outside any transaction."""
    import psycopg

    with psycopg.connect(server, autocommit=True) as db:
        for line in lines:
            db.execute(line.encode())


@pytest.fixture(scope="session")
def new_postgres(postgres_server: str) -> Iterator[Callable[[], str]]:
    """Makes places for a store, each a schema of its own; none is left at the end."""
    from sqlalchemy.engine import make_url

    names: list[str] = []

    def make() -> str:
        names.append(f"pourwright_tests_{secrets.token_hex(6)}")
        say(postgres_server, f"CREATE SCHEMA {names[-1]}")
        url = make_url(postgres_server).update_query_dict(
            {"options": f"-c search_path={names[-1]}"}
        )
        return url.render_as_string(hide_password=False)

    yield make
    for name in names if GIVEN in os.environ else []:  # one's own server goes as a whole
        say(postgres_server, f"DROP SCHEMA {name} CASCADE")


@pytest.fixture
def postgres_url(new_postgres: Callable[[], str]) -> str:
    """URL of an empty place for a store."""
    return new_postgres()
