"""The gate: token, origin, host, headers, pass phrase, tries, cookies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pourwright.errors import InputError
from pourwright.web import session as session_module
from pourwright.web.access import load_keys, set_phrase
from pourwright.web.app import create_app
from pourwright.web.guard import host_name

PHRASE = "copper heron under the lock gate"
NEW = {"name": "x"}


def test_a_change_without_the_token_is_refused(make_client, settings):
    client = make_client(settings, token=False)
    client.get("/api/session")
    for headers in ({}, {"X-Pourwright-Token": "guess"}, {"X-Pourwright-Token": "ü".encode()}):
        assert client.post("/api/jobs", json=NEW, headers=headers).status_code == 403
    assert client.get("/api/jobs").json() == []


def test_the_token_of_one_session_is_no_use_in_another(make_client, settings):
    mine = make_client(settings)
    stolen = mine.token
    mine.cookies.clear()
    mine.get("/api/session")
    assert mine.post("/api/jobs", json=NEW).status_code == 403
    assert stolen != mine.take_token()
    assert mine.post("/api/jobs", json=NEW).status_code == 201


def test_a_form_field_carries_the_token_too(client):
    path = "/api/restore"
    del client.headers["X-Pourwright-Token"]
    files = {"file": ("x.zip", b"no zip")}
    assert client.post(path, files=files).status_code == 403
    assert client.post(path, files=files, data={"token": client.token}).status_code == 422


@pytest.mark.parametrize(
    ("origin", "status"),
    [
        ("http://127.0.0.1:8737", 201),
        ("http://127.0.0.1:9999", 403),
        ("https://127.0.0.1:8737", 403),
        ("http://evil.example", 403),
        ("http://127.0.0.1:8737.evil.example", 403),
        ("null", 403),
        ("http://[", 403),
        ("", 403),
    ],
)
def test_changes_come_from_our_own_pages(client, origin, status):
    assert client.post("/api/jobs", json=NEW, headers={"Origin": origin}).status_code == status


@pytest.mark.parametrize(("site", "status"), [("same-origin", 201), ("cross-site", 403)])
def test_the_browser_s_word_counts_where_origin_is_missing(client, site, status):
    r = client.post("/api/jobs", json=NEW, headers={"Sec-Fetch-Site": site})
    assert r.status_code == status


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1:8737", 200), ("localhost:8737", 200), ("[::1]:8737", 200), ("LOCALHOST", 200),
        ("evil.example", 403), ("127.0.0.1.evil.example", 403), ("", 403), ("a@localhost", 403),
        ("192.168.1.9", 403), ("localhost/../x", 403),
    ],
)  # fmt: skip
def test_only_our_own_names_are_answered(client, host, status):
    """A name elsewhere that was made to point here (DNS rebinding) reads nothing."""
    assert client.get("/api/jobs", headers={"Host": host}).status_code == status


def test_host_names_are_read_strictly():
    assert host_name("[fe80::1]:80") == "fe80::1"
    assert host_name("Tablet.Local.:8737") == "tablet.local"
    assert host_name("[") == ""


@pytest.mark.parametrize("path", ["/api/jobs", "/api/none", "/", "/static/none.js"])
def test_every_answer_is_dressed(client, path):
    h = client.get(path).headers
    policy = dict(p.split(" ", 1) for p in h["content-security-policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["connect-src"] == policy["form-action"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert (
        "unsafe" not in h["content-security-policy"] and "http" not in h["content-security-policy"]
    )
    assert h["x-content-type-options"] == "nosniff" and h["x-frame-options"] == "DENY"
    assert h["referrer-policy"] == "same-origin"
    again = client.get(path).headers["content-security-policy"]
    assert again != h["content-security-policy"], "the nonce changes with every answer"


def test_the_cookie_is_out_of_reach_of_scripts(make_client, settings):
    client = make_client(settings, token=False)
    cookie = client.get("/api/session").headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=Lax" in cookie and "Secure" not in cookie
    assert "set-cookie" not in client.get("/api/session").headers
    safe = make_client(settings, base="https://127.0.0.1:8737", token=False)
    assert "; Secure" in safe.get("/api/session").headers["set-cookie"]


def test_the_network_is_never_opened_without_a_pass_phrase(settings):
    with pytest.raises(InputError, match="pass phrase"):
        create_app(replace(settings, lan=True))


@pytest.mark.parametrize("phrase", ["", "short", "aaaaaaaaaaaaaaaa", "x" * 500])
def test_weak_phrases_are_refused(tmp_path, phrase):
    with pytest.raises(InputError):
        set_phrase(tmp_path, phrase)


def test_the_phrase_is_kept_as_a_hash_that_only_its_owner_reads(tmp_path):
    set_phrase(tmp_path, PHRASE)
    path = tmp_path / "keys.json"
    assert "argon2id" in path.read_text() and PHRASE not in path.read_text()
    assert path.stat().st_mode & 0o077 == 0
    assert load_keys(tmp_path).right(PHRASE) and not load_keys(tmp_path).right(PHRASE + " ")


def test_nothing_is_shown_before_signing_in(lan):
    r = lan.get("/api/jobs")
    assert r.status_code == 401 and r.json()["error"]["remedy"]
    page = lan.get("/jobs/x/day", headers={"Accept": "text/html"}, follow_redirects=False)
    assert page.status_code == 303
    assert page.headers["location"] == "/login?next=/jobs/x/day"
    for path in ("/api/openapi.json", "/api/backup", "/api/pictures/x.png", "/api/share"):
        assert lan.get(path).status_code == 401
    assert lan.post("/api/jobs", json=NEW).status_code == 401


def test_signing_in_opens_and_signing_out_closes(lan):
    assert lan.post("/api/login", json={"phrase": "wrong phrase here"}).status_code == 401
    before = lan.cookies["pourwright"]
    r = lan.post("/api/login", json={"phrase": PHRASE, "who": "Ann"})
    assert r.status_code == 200 and r.json()["signed_in"] and r.json()["who"] == "Ann"
    assert lan.cookies["pourwright"] != before, "a new session, so that none is planted"
    assert lan.post("/api/jobs", json=NEW).status_code == 403, "the old token is no use"
    lan.take_token()
    assert lan.post("/api/jobs", json=NEW).status_code == 201
    lan.post("/api/logout")
    assert lan.get("/api/jobs").status_code == 401


def test_a_cookie_made_elsewhere_or_changed_is_no_session(lan, tmp_path):
    lan.post("/api/login", json={"phrase": PHRASE})
    good = lan.cookies["pourwright"]
    assert lan.get("/api/jobs").status_code == 200
    forged = session_module.Signer(load_keys(tmp_path / "other")).write(
        session_module.Session("m", True, "x")
    )
    for bad in (good[:-2] + "xx", forged, "", "a.b.c", "x" * 5000):
        lan.cookies.clear()
        assert lan.get("/api/jobs", headers={"Cookie": f"pourwright={bad}"}).status_code == 401


def test_a_session_ends_after_a_day(lan, monkeypatch):
    lan.post("/api/login", json={"phrase": PHRASE})
    assert lan.get("/api/jobs").status_code == 200
    monkeypatch.setattr(session_module, "LASTS_S", -1)
    assert lan.get("/api/jobs").status_code == 401


def test_a_new_phrase_signs_everybody_out(lan, make_client, settings):
    lan.post("/api/login", json={"phrase": PHRASE})
    old = lan.cookies["pourwright"]
    set_phrase(settings.data, "another heron under the gate")
    again = make_client(replace(settings, lan=True), token=False)
    assert again.get("/api/jobs", headers={"Cookie": f"pourwright={old}"}).status_code == 401


def test_guessing_is_stopped(lan, monkeypatch):
    for _ in range(session_module.TRIES):
        assert lan.post("/api/login", json={"phrase": "wrong phrase"}).status_code == 401
    r = lan.post("/api/login", json={"phrase": PHRASE})
    assert r.status_code == 429 and "retry-after" in r.headers
    now = session_module.time.monotonic()
    monkeypatch.setattr(session_module.time, "monotonic", lambda: now + session_module.WINDOW_S + 1)
    assert lan.post("/api/login", json={"phrase": PHRASE}).status_code == 200


def test_many_addresses_together_are_stopped_too():
    tries = session_module.Tries()
    for k in range(session_module.TRIES_ALL):
        tries.check(f"10.0.0.{k}")
    with pytest.raises(session_module.TooOften):
        tries.check("10.0.1.1")


def test_an_own_machine_needs_no_phrase(client):
    assert client.get("/api/session").json()["signed_in"]
    assert client.get("/api/share").json()["addresses"] == []
    assert client.get("/api/share/qr.svg").status_code == 422


def test_sharing_says_what_plain_http_cannot_do(lan):
    lan.post("/api/login", json={"phrase": PHRASE})
    words = lan.get("/api/share").json()
    said = " ".join(words["mind"])
    assert "readable" in said and "awake" in said and "--https" in said
    if words["addresses"]:
        qr = lan.get("/api/share/qr.svg")
        assert qr.headers["content-type"].startswith("image/svg+xml") and b"<svg" in qr.content


def test_a_pass_phrase_comes_from_a_pipe_once(settings, monkeypatch):
    import io

    from pourwright.cli.verb_app import _phrase

    monkeypatch.setattr("sys.stdin", io.StringIO(f"{PHRASE}\n"))
    _phrase(settings, new=False)
    assert load_keys(settings.data).right(PHRASE)
    monkeypatch.setattr("sys.stdin", io.StringIO("must not be read\n"))
    _phrase(settings, new=False)
    assert load_keys(settings.data).right(PHRASE)
    monkeypatch.setattr("sys.stdin", io.StringIO("short\n"))
    with pytest.raises(InputError):
        _phrase(settings, new=True)
    assert load_keys(settings.data).right(PHRASE)


@pytest.mark.parametrize(("path", "status"), [("/jobs/none/site", 404), ("/nowhere", 404)])
def test_people_get_errors_as_pages(client, path, status):
    r = client.get(path, headers={"Accept": "text/html"})
    assert r.status_code == status
    assert r.headers["content-type"].startswith("text/html") and "<h1" in r.text
    assert "Traceback" not in r.text


def test_texts_are_escaped_on_pages(client, document):
    text = "<script>alert(1)</script>"
    job = client.post("/api/jobs", json={"document": {**document, "name": text}}).json()["id"]
    for path in ("/", f"/jobs/{job}/site", f"/jobs/{job}/history", f"/jobs/{text}/site"):
        assert text not in client.get(path, headers={"Accept": "text/html"}).text
