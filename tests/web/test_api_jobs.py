"""The JSON API of jobs: contract, stale saves, undo, hostile input."""

from __future__ import annotations

import json
import threading

import pytest

GROUP = pytest.mark.xdist_group("postgres")
BOTH = ["sqlite", pytest.param("postgres", marks=[pytest.mark.postgres, GROUP])]
XSS = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>${7*7}{{7*7}}"


@pytest.fixture(params=BOTH)
def database(request):
    """Everything here is asked on both databases."""
    return request.getfixturevalue("postgres_url") if request.param == "postgres" else ""


def error(response, status):
    """The error of a refused request, with all its four parts."""
    assert response.status_code == status, response.text
    assert response.headers["content-type"].startswith("application/json")
    found = response.json()["error"]
    assert set(found) == {"field", "value", "limit", "remedy"}
    assert found["limit"] and found["remedy"]
    assert "Traceback" not in response.text
    return found


def test_a_job_is_made_read_saved_and_listed(client, document):
    made = client.post("/api/jobs", json={"document": document})
    assert made.status_code == 201
    job = made.json()
    assert {"id", "revision", "document", "can_undo", "can_redo"} <= set(job)
    assert (job["revision"], job["can_undo"], job["can_redo"]) == (1, False, False)
    path = f"/api/jobs/{job['id']}"
    body = {"base_revision": 1, "document": {**job["document"], "about": "x"}, "why": "words"}
    saved = client.put(path, json=body).json()
    assert (saved["revision"], saved["can_undo"], saved["who"]) == (2, True, "this machine")
    assert client.get(path).json() == saved
    assert client.get(f"{path}?revision=1").json()["document"] == job["document"]
    (line,) = client.get("/api/jobs").json()
    assert (line["id"], line["name"], line["revision"]) == (job["id"], "Shelf", 2)
    assert client.get(f"{path}/revisions").json()[0]["why"] == "words"


@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_new_job_needs_only_a_name(client, units):
    job = client.post("/api/jobs", json={"name": "Bar", "units": units}).json()
    assert job["document"]["name"] == "Bar"
    assert job["document"]["show"]["units"] == units


def test_a_job_file_goes_out_and_comes_in(client, job_id):
    text = client.get(f"/api/jobs/{job_id}/job.toml").text
    again = client.post("/api/jobs", json={"toml": text})
    assert again.status_code == 201
    assert client.get(f"/api/jobs/{again.json()['id']}/job.toml").text == text
    error(client.post("/api/jobs", json={"toml": "= nonsense"}), 422)


def test_a_stale_save_answers_with_both_documents(client, job_id, document):
    path = f"/api/jobs/{job_id}"
    body = lambda name: {"base_revision": 1, "document": {**document, "name": name}}  # noqa: E731
    assert client.put(path, json=body("theirs")).status_code == 200
    late = client.put(path, json=body("mine"))
    assert error(late, 409)["field"] == "base_revision"
    found = late.json()
    assert (found["yours"]["name"], found["theirs"]["name"], found["revision"]) == (
        "mine",
        "theirs",
        2,
    )


def test_undo_redo_bring_back_duplicate_archive(client, job_id, document):
    path = f"/api/jobs/{job_id}"
    client.put(path, json={"base_revision": 1, "document": {**document, "name": "B"}})
    undone = client.post(f"{path}/undo").json()
    assert (undone["revision"], undone["can_redo"]) == (1, True)
    error(client.post(f"{path}/undo"), 422)
    assert client.post(f"{path}/redo", json={"base_revision": 1}).json()["document"]["name"] == "B"
    error(client.post(f"{path}/undo", json={"base_revision": 1}), 409)
    assert client.post(f"{path}/bring-back", json={"revision": 1}).json()["revision"] == 3
    copy = client.post(f"{path}/duplicate", json={"name": "Copy"})
    assert copy.status_code == 201 and copy.json()["document"]["name"] == "Copy"
    assert client.post(f"{path}/archive").json()["archived"]
    assert [x["name"] for x in client.get("/api/jobs").json()] == ["Copy"]
    assert [x["id"] for x in client.get("/api/jobs?archived=1").json()] == [job_id]


def test_the_score_is_written_from_intent_and_editable(client, job_id, document):
    path = f"/api/jobs/{job_id}/score"
    first = client.get(path).json()
    assert not first["own"] and first["text"]
    edited = first["text"].replace("seed", "seed", 1) + "\n# mine\n"
    saved = client.put(path, json={"base_revision": 1, "text": edited})
    assert saved.status_code == 200, saved.text
    assert client.get(path).json() == {"revision": 2, "own": True, "text": edited}
    error(client.put(path, json={"base_revision": 2, "text": "nonsense"}), 422)
    error(client.put(path, json={"base_revision": 1, "text": edited + "#"}), 409)


def test_who_is_kept_with_each_revision(client, job_id, document):
    client.post("/api/session", json={"who": "  Ann\tB. \u0007 "})
    client.put(
        f"/api/jobs/{job_id}", json={"base_revision": 1, "document": {**document, "seed": 4}}
    )
    assert client.get(f"/api/jobs/{job_id}").json()["who"] == "Ann B."


@pytest.mark.parametrize("text", [XSS, "﷽" * 40, "\u202emoc.live", "a\u0000b", "' OR 1=1 --"])
def test_odd_texts_are_data_and_nothing_else(client, document, text):
    made = client.post("/api/jobs", json={"document": {**document, "about": text}})
    if "\x00" in text:
        error(made, 422)
        return
    job = client.get(f"/api/jobs/{made.json()['id']}")
    assert job.json()["document"]["about"] == text
    assert job.headers["content-type"] == "application/json"
    assert job.headers["x-content-type-options"] == "nosniff"
    assert "'unsafe" not in job.headers["content-security-policy"]


@pytest.mark.parametrize(
    "raw",
    [
        b"", b"{", b"[]", b"null", b"\xff\xfe", b'{"document": NaN}', b'{"document": []}',
        b'{"document": {"name": 1e999}}', b'{"base_revision": 99999999999999999999}',
        b'{"document":' * 4000, b"[" * 100_000, b'{"name": "' + b"9" * 5000 + b'"}',
        b'{"name": ' + b"9" * 5000 + b"}", b'{"surprise": 1}',
        b'{"document": {"name": "\\ud800"}}', b'{"name": "\\ud800"}',
    ],
)  # fmt: skip
def test_broken_bodies_are_refused_in_plain_words(client, job_id, raw):
    kind = {"Content-Type": "application/json"}
    for method, path in (("POST", "/api/jobs"), ("PUT", f"/api/jobs/{job_id}")):
        if raw == b"" and method == "POST":
            continue
        error(client.request(method, path, content=raw, headers=kind), 422)
    assert client.get(f"/api/jobs/{job_id}").json()["revision"] == 1


@pytest.mark.parametrize(
    "path",
    [
        "/api/jobs/none", "/api/jobs/..%2f..%2fetc%2fpasswd", "/api/jobs/%00", "/api/jobs/" + "a" * 900,
        "/api/tasks/none", "/api/pictures/none.png", "/api/calc/none.none", "/api/catalogue/none",
        "/api/nothing", "/static/../app.py", "/static/..%2fapp.py", "/static/%2e%2e/app.py",
        "/api/client/none", "/static/built/%00",
    ],
)  # fmt: skip
def test_what_is_not_there_is_404(client, path):
    error(client.get(path, headers={"Accept": "application/json"}), 404)


def test_a_wrong_method_is_said_so(client, job_id):
    error(client.delete(f"/api/jobs/{job_id}"), 405)


def test_bodies_too_large_are_refused_announced_or_not(client, job_id, settings):
    big = b'{"name": "' + b"x" * settings.largest_body + b'"}'
    kind = {"Content-Type": "application/json"}
    error(client.post("/api/jobs", content=big, headers=kind), 413)

    def pieces():
        for _ in range(settings.largest_body // 100_000 + 2):
            yield b"x" * 100_000

    error(client.post("/api/jobs", content=pieces(), headers=kind), 413)
    assert len(client.get("/api/jobs").json()) == 1


def test_twenty_clients_save_at_once_and_lose_nothing(make_client, settings, document):
    """Twenty tablets on one job, each tries until it is in: every word is there at the end."""
    first = make_client(settings)
    made = first.post("/api/jobs", json={"document": {**document, "about": ""}}).json()
    path = f"/api/jobs/{made['id']}"
    statuses: list[int] = []
    lock = threading.Lock()

    def tablet(k: int) -> None:
        for n in range(2):
            while True:
                job = first.get(path).json()
                doc = {**job["document"], "about": f"{job['document']['about']} {k}.{n}"}
                r = first.put(path, json={"base_revision": job["revision"], "document": doc})
                with lock:
                    statuses.append(r.status_code)
                if r.status_code == 200:
                    break

    threads = [threading.Thread(target=tablet, args=(k,)) for k in range(20)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    job = first.get(path).json()
    assert sorted(job["document"]["about"].split()) == sorted(
        f"{k}.{n}" for k in range(20) for n in range(2)
    )
    assert job["revision"] == 41
    assert set(statuses) <= {200, 409} and statuses.count(200) == 40


def test_answers_hold_no_odd_numbers(client, job_id):
    def strict(word: str) -> None:
        raise AssertionError(word)

    for path in ("/api/jobs", f"/api/jobs/{job_id}", "/api/catalogue/resin", "/api/calc"):
        json.loads(client.get(path).text, parse_constant=strict)
