"""The app in this process, on a store of its own, with a client that knows its token."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

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
def settings(tmp_path: Path) -> Settings:
    """Loopback, no workers, no demo jobs."""
    return Settings(data=tmp_path / "data", workers=False, demo=False)


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
