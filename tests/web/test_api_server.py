"""The server as a process on loopback: kills, twenty clients, one server a folder, certificate."""

from __future__ import annotations

import os
import signal
import ssl
import threading
from contextlib import suppress

import httpx
import pytest

from pourwright.store.store import Store
from pourwright.web import network
from pourwright.web.server import Open, only_one
from pourwright.web.settings import Settings

unix = pytest.mark.skipif(os.name == "nt", reason="kill -9 is of Unix")


def alive(pid):
    """Whether a process runs (a dead one that nobody collected yet does not)."""
    try:
        with open(f"/proc/{pid}/stat", encoding="utf-8") as f:  # noqa: PTH123
            return f.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


@unix
def test_twenty_tablets_and_a_kill_lose_nothing_acknowledged(tmp_path, document, serve, until):
    server = serve()
    with server.client() as first:
        ids = [first.post("/api/jobs", json={"document": document}).json()["id"] for _ in range(4)]
    kept: list[tuple[str, int, str]] = []
    codes: list[int] = []
    lock = threading.Lock()

    def tablet(k: int) -> None:
        with suppress(httpx.HTTPError), server.client() as mine:
            for n in range(1000):
                path = f"/api/jobs/{ids[(k + n) % 4]}"
                at = mine.get(path).json()
                word = f"{k}.{n}"
                body = {"base_revision": at["revision"], "document": {**document, "about": word}}
                r = mine.put(path, json=body)
                with lock:
                    codes.append(r.status_code)
                    if r.status_code == 200:
                        kept.append((ids[(k + n) % 4], r.json()["revision"], word))

    tablets = [threading.Thread(target=tablet, args=(k,)) for k in range(20)]
    for t in tablets:
        t.start()
    until(lambda: len(kept) > 120)
    server.kill()
    for t in tablets:
        t.join()
    assert set(codes) <= {200, 409}
    again = serve()
    with again.client() as client:
        for job, revision, word in kept:
            found = client.get(f"/api/jobs/{job}?revision={revision}").json()
            assert found["document"]["about"] == word
    again.stop()


@unix
def test_work_goes_on_after_the_worker_and_then_the_server_are_killed(
    tmp_path, document, serve, until
):
    data = tmp_path / "data"
    server = serve()
    store = Store(data, migrate=False)
    with server.client() as client:
        job = client.post("/api/jobs", json={"document": document}).json()["id"]
        task = client.get(f"/api/jobs/{job}/plan?wait=0").json()["task"]["task"]
        busy = lambda: store.tasks.get(task).state == "running" and pid_of(store, task)  # noqa: E731
        first = until(busy)
        os.kill(first, signal.SIGKILL)
        second = until(lambda: (p := busy()) and p != first and p)
    server.kill()
    until(lambda: not alive(second))  # a worker does not outlive its server
    assert store.tasks.get(task).state == "running", "nobody could say goodbye"
    again = serve()
    with again.client() as client:
        done = until(lambda: (t := client.get(f"/api/tasks/{task}?wait=5").json())["state"]
                     not in ("waiting", "running") and t, 120)  # fmt: skip
        assert done["state"] == "done", done
        assert client.get(f"/api/jobs/{job}/plan?wait=0").status_code == 200
    again.stop()
    store.close()


def pid_of(store, task):
    """Process id of the worker that runs a task."""
    from pourwright.store.models import TaskRow

    with store.sessions.reading() as s:
        return s.get(TaskRow, task).pid


@unix
def test_a_picture_goes_on_after_the_server_is_killed(tmp_path, document, serve, until):
    """The first of two variants is drawn when it dies: it is found again, the second is drawn."""
    data = tmp_path / "data"
    server = serve()
    store = Store(data, migrate=False)
    with server.client() as client:
        job = client.post("/api/jobs", json={"document": document}).json()["id"]
        note = client.post(f"/api/jobs/{job}/log", json={"text": "stove lit"}).json()
        wants = {"cell_mm": 8, "pixel_mm": 2, "seeds": [1, 2]}
        scene = client.get(f"/api/jobs/{job}/scenes?wait=100").json()[0]["name"]
        task = client.post(f"/api/jobs/{job}/pictures", json={**wants, "scene": scene}).json()[
            "task"
        ]
        first = until(lambda: store.pictures.of_job(job))
        assert store.tasks.get(task).state == "running"
    server.kill()
    kept = {p.name: p.at for p in store.pictures.of_job(job)}
    assert {p.seed for p in first} == {1}
    again = serve()
    with again.client() as client:
        done = until(lambda: (t := client.get(f"/api/tasks/{task}?wait=5").json())["state"]
                     not in ("waiting", "running") and t, 240)  # fmt: skip
        assert done["state"] == "done", done
        drawn = client.get(f"/api/jobs/{job}/pictures").json()
        assert {p["seed"] for p in drawn} == {1, 2}
        assert note["id"] in [x["id"] for x in client.get(f"/api/jobs/{job}/log").json()]
        for p in drawn:
            assert client.get(p["url"]).content.startswith(b"\x89PNG")
    now = {p.name: p.at for p in store.pictures.of_job(job)}
    whole = [n for n in kept if n.endswith("-texture")]  # the last of a variant to be kept
    base = [n.rpartition("-")[0] for n in whole]
    assert all(now[n] == at for n, at in kept.items() if n.rpartition("-")[0] in base)
    again.stop()
    store.close()


@unix
def test_a_cancelled_task_stops_and_its_worker_lives_on(tmp_path, document, serve, until):
    server = serve()
    with server.client() as client:
        big = {**document, "samples": 4000}
        job = client.post("/api/jobs", json={"document": big}).json()["id"]
        task = client.get(f"/api/jobs/{job}/plan?wait=0").json()["task"]["task"]
        until(lambda: client.get(f"/api/tasks/{task}").json()["state"] == "running")
        client.post(f"/api/tasks/{task}/cancel")
        state = lambda: client.get(f"/api/tasks/{task}").json()["state"]  # noqa: E731
        until(lambda: state() == "cancelled")
    server.stop()
    assert server.process.returncode == 0


def test_a_folder_is_served_once(tmp_path):
    with only_one(tmp_path):
        (tmp_path / "server.json").write_text('{"address": "http://127.0.0.1:1/"}')
        with pytest.raises(Open) as caught, only_one(tmp_path):
            pass
        assert caught.value.address == "http://127.0.0.1:1/"
    with only_one(tmp_path):
        pass


def test_the_certificate_is_good_for_its_names_and_no_others(tmp_path):
    """A handshake in memory: the client trusts the file alone, and checks the name."""
    names = {"127.0.0.1", "localhost", "tablet.local"}
    pem, key = network.certificate(tmp_path, names)
    assert key.stat().st_mode & 0o077 == 0
    assert network.certificate(tmp_path, {"localhost"}) == (pem, key)
    before = pem.read_bytes()
    assert greet(pem, key, "localhost") == greet(pem, key, "127.0.0.1") == "TLSv1.3"
    with pytest.raises(ssl.SSLCertVerificationError):
        greet(pem, key, "other.local")
    network.certificate(tmp_path, names | {"other.local"})
    assert pem.read_bytes() != before and greet(pem, key, "other.local") == "TLSv1.3"
    raw = ssl.PEM_cert_to_DER_cert(pem.read_text())
    import hashlib

    mark = hashlib.sha256(raw).hexdigest().upper()
    assert network.fingerprint(pem).replace(":", "") == mark


def greet(pem, key, name):
    """TLS version after a handshake between two ends in memory."""
    server, client = (
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH),
        ssl.create_default_context(),
    )
    server.load_cert_chain(pem, key)
    client.load_verify_locations(pem)
    a, b, c, d = (ssl.MemoryBIO() for _ in range(4))
    del c, d
    left = server.wrap_bio(a, b, server_side=True)
    right = client.wrap_bio(b, a, server_hostname=name)
    for _ in range(6):
        for end in (right, left):
            with suppress(ssl.SSLWantReadError):
                end.do_handshake()
    return right.version()


def test_sharing_names_follow_the_settings(tmp_path):
    alone = network.host_names(Settings(data=tmp_path))
    assert alone == {"127.0.0.1", "localhost", "::1"}
    shared = Settings(data=tmp_path, lan=True, https=True, names=("bench.local",))
    assert "bench.local" in network.host_names(shared)
    assert "https://bench.local:8737/" in network.addresses(shared)
    assert network.addresses(Settings(data=tmp_path)) == []


def test_a_qr_code_reads_back(tmp_path):
    """The modules of the drawing are those that the standard's encoder gives for the address."""
    import segno

    text = "https://192.0.2.7:8737/"
    svg = network.qr_svg(text).decode()
    assert text in svg and segno.make(text, error="m", micro=False).symbol_size(8, 4)[0] > 200
