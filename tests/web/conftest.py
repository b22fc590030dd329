"""The app in this process, on a store of its own, with a client that knows its token."""

from __future__ import annotations

import json
import signal
import ssl
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.testclient import TestClient

from pourwright.plan.new import new_job
from pourwright.store.store import Store
from pourwright.web.access import set_phrase
from pourwright.web.app import create_app
from pourwright.web.settings import Settings
from pourwright.web.workers import run_task

BASE = "http://127.0.0.1:8737"
PHRASE = "copper heron under the lock gate"


class Client(TestClient):
    """A client that sends the token of its session with every change, as a page does."""

    token = ""

    def take_token(self) -> str:
        """Ask for the token of this session and send it from now on."""
        self.token = self.get("/api/session").json()["token"]
        self.headers["X-Pourwright-Token"] = self.token
        return self.token

    @property
    def store(self) -> Store:
        """The app's store."""
        found: Store = self.app.state.store  # type: ignore[attr-defined]
        return found


@pytest.fixture
def database() -> str:
    """Where the jobs are kept: the built-in database; some modules run on PostgreSQL as well."""
    return ""


@pytest.fixture
def settings(tmp_path: Path, database: str) -> Settings:
    """Loopback, no workers, no demo jobs."""
    return Settings(data=tmp_path / "data", database=database, workers=False, demo=False)


@pytest.fixture
def make_client() -> Iterator[Callable[..., Client]]:
    """Clients on apps made from settings; all are closed at the end."""
    made: list[Client] = []

    def make(settings: Settings, base: str = BASE, token: bool = True, **kw: Any) -> Client:
        client = Client(create_app(settings), base_url=base, **kw)
        client.__enter__()
        made.append(client)
        if token:
            client.take_token()
        return client

    yield make
    for client in made:
        client.__exit__(None, None, None)


@pytest.fixture
def client(make_client: Callable[..., Client], settings: Settings) -> Client:
    """A client on loopback, with its token."""
    return make_client(settings)


@pytest.fixture
def lan(make_client: Callable[..., Client], settings: Settings) -> Client:
    """A client on an app opened to the network, not signed in."""
    settings.data.mkdir()
    set_phrase(settings.data, PHRASE)
    return make_client(replace(settings, lan=True))


@pytest.fixture
def document() -> dict[str, Any]:
    """A small new job, quick to plan."""
    made = tomllib.loads(new_job("Shelf", date(2027, 3, 15)))
    made["surfaces"][0]["size"] = ["600 mm", "400 mm"]
    return {**made, "samples": 50, "site": {**made["site"], "start": "2027-03-15"}}


@pytest.fixture
def job_id(client: Client, document: dict[str, Any]) -> str:
    """A job in the store of `client`."""
    made: str = client.post("/api/jobs", json={"document": document}).json()["id"]
    return made


@pytest.fixture
def work() -> Callable[[Client], int]:
    """Do all waiting tasks in this process, as a worker would; returns how many."""

    def do(client: Client) -> int:
        store, count = client.store, 0
        data = client.app.state.settings.data  # type: ignore[attr-defined]
        for lane in ("plan", "picture"):
            while (task := store.tasks.claim(lane, "test", 1)) is not None:
                run_task(store, task, "test", data)
                count += 1
        return count

    return do


class Server:
    """``pourwright app`` as a process of its own, on a free port."""

    def __init__(self, data: Path, *more: str, typed: str = "", demo: bool = False) -> None:
        self.data = data
        code = "from pourwright.cli.main import run; run()"
        words = ["app", "--port", "0", "--data", str(data), "--no-open", "--json", *more]
        if not demo:
            words.append("--no-demo")
        self.process = subprocess.Popen(
            [sys.executable, "-c", code, *words], text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.write(typed)
        self.process.stdin.close()
        text = ""
        while not text.rstrip().endswith("}"):
            line = self.process.stdout.readline()
            text += line
            if not line:
                self.kill()
                raise AssertionError(f"it did not start: {text}")
        self.told: dict[str, Any] = json.loads(text)
        self.address: str = self.told["address"]

    @contextmanager
    def client(self, token: bool = True) -> Iterator[httpx.Client]:
        """A client with a session and its token; over https it trusts the server's own
        certificate and nothing else."""
        trust: ssl.SSLContext | bool = True
        if self.address.startswith("https"):
            trust = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
            trust.load_verify_locations(self.data / "certificate.pem")
        with httpx.Client(base_url=self.address, timeout=60, verify=trust) as made:
            if token:
                made.headers["X-Pourwright-Token"] = made.get("/api/session").json()["token"]
            yield made

    def kill(self) -> None:
        """End it without warning."""
        self.process.kill()
        self.process.wait()
        self._close()

    def stop(self) -> None:
        """End it as Ctrl+C does."""
        with suppress(ProcessLookupError):
            self.process.send_signal(signal.SIGINT)
        self.process.wait(240)  # work in hand is let go first
        self._close()

    def _close(self) -> None:
        assert self.process.stdout is not None
        self.process.stdout.close()


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Server]]:
    """Servers on one folder; those still running at the end are ended."""
    made: list[Server] = []

    def start(*more: str, **kw: Any) -> Server:
        made.append(Server(tmp_path / "data", *more, **kw))
        return made[-1]

    yield start
    for server in made:
        if server.process.poll() is None:
            server.kill()


@pytest.fixture
def until() -> Callable[..., Any]:
    """Wait until something is true, and return it."""

    def wait(what: Callable[[], Any], seconds: float = 240.0) -> Any:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if found := what():
                return found
            time.sleep(0.05)
        raise AssertionError("it did not happen in time")

    return wait
