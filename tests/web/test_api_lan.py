"""Opened to the shop on real sockets: https with the machine's own certificate, and plain http."""

from __future__ import annotations

import hashlib
import os
import socket
import ssl
import subprocess
import sys
from urllib.parse import urlsplit

import httpx
import pytest

from pourwright.web import network

PHRASE = "copper heron under the lock gate"
NEW = {"name": "Shelf"}


@pytest.fixture
def shop(serve):
    """``pourwright app --lan --https``, its pass phrase typed once, called bench.local as well."""
    return serve("--lan", "--https", "--name", "bench.local", typed=f"{PHRASE}\n")


def presented(address: str) -> bytes:
    """The certificate that the server at `address` shows, as DER."""
    parts = urlsplit(address)
    return ssl.PEM_cert_to_DER_cert(ssl.get_server_certificate((parts.hostname, parts.port)))


def test_a_client_that_trusts_the_certificate_signs_in_and_works(shop):
    assert shop.address.startswith("https://127.0.0.1:")
    shown = hashlib.sha256(presented(shop.address)).hexdigest().upper()
    assert shop.told["fingerprint"].replace(":", "") == shown, "what a tablet is told to compare"
    with shop.client() as tablet:
        page = tablet.get("/", headers={"Accept": "text/html"})
        assert page.status_code == 303 and page.headers["location"] == "/login?next=/"
        login = tablet.get("/login", headers={"Accept": "text/html"})
        assert login.status_code == 200 and 'type="password"' in login.text
        assert tablet.get("/api/jobs").status_code == 401
        r = tablet.post("/api/login", json={"phrase": PHRASE, "who": "Ann"})
        assert r.status_code == 200
        cookie = r.headers["set-cookie"]
        assert "; Secure" in cookie and "HttpOnly" in cookie and "SameSite=Lax" in cookie
        assert tablet.post("/api/jobs", json=NEW).status_code == 403, "a token of the old session"
        tablet.headers["X-Pourwright-Token"] = tablet.get("/api/session").json()["token"]
        made = tablet.post("/api/jobs", json=NEW)
        assert made.status_code == 201 and made.json()["who"] == "Ann"
        port = urlsplit(shop.address).port
        for headers, status in (
            ({"Origin": f"https://127.0.0.1:{port}"}, 201),
            ({"Origin": f"http://127.0.0.1:{port}"}, 403),
            ({"Origin": "https://evil.example"}, 403),
            ({"Host": "evil.example"}, 403),
            ({"Host": f"bench.local:{port}"}, 201),
            ({"X-Pourwright-Token": "guess"}, 403),
            ({"X-Pourwright-Token": ""}, 403),
        ):
            assert tablet.post("/api/jobs", json=NEW, headers=headers).status_code == status, (
                headers
            )
    data = shop.data
    assert PHRASE not in (data / "keys.json").read_text()
    if os.name != "nt":
        for name in ("keys.json", "certificate-key.pem"):
            assert (data / name).stat().st_mode & 0o077 == 0


def test_others_do_not_get_through_the_encryption(shop, tmp_path):
    with httpx.Client(base_url=shop.address) as stranger, pytest.raises(httpx.ConnectError) as err:
        stranger.get("/login")  # trusts the usual authorities, not ours
    assert "certificate verify failed" in str(err.value).lower()
    old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    old.load_verify_locations(shop.data / "certificate.pem")
    old.minimum_version = ssl.TLSVersion.TLSv1_2
    parts = urlsplit(shop.address)
    place = (parts.hostname, parts.port)
    with socket.create_connection(place) as raw, pytest.raises(ssl.SSLCertVerificationError):
        old.wrap_socket(raw, server_hostname="other.local")
    with (
        socket.create_connection(place) as raw,
        old.wrap_socket(raw, server_hostname="bench.local") as safe,
    ):
        assert safe.version() == "TLSv1.3"
    with pytest.raises(httpx.HTTPError):  # no answer in the clear on the same port
        httpx.get(shop.address.replace("https", "http"), timeout=10)


def test_guessing_the_phrase_is_stopped_over_the_wire(shop):
    with shop.client() as thief:
        codes = [
            thief.post("/api/login", json={"phrase": f"guess number {k}"}).status_code
            for k in range(7)
        ]
        assert codes == [401] * 5 + [429] * 2
        late = thief.post("/api/login", json={"phrase": PHRASE})
        assert late.status_code == 429 and late.json()["error"]["remedy"].startswith("Wait 5 min")
        form = {"phrase": PHRASE, "token": thief.headers["X-Pourwright-Token"], "next": "/"}
        page = thief.post("/login", data=form, headers={"Accept": "text/html"})
        assert page.status_code == 429 and "pourwright" in thief.cookies
        assert thief.get("/api/jobs").status_code == 401


def test_other_devices_reach_it_only_when_it_is_shared(serve):
    """The same machine by its address on the network, as a tablet comes in."""
    found = [a for a in network.lan_addresses() if ":" not in a]
    if not found:
        pytest.skip("this machine is on no network")
    alone = serve()
    port = urlsplit(alone.address).port
    with pytest.raises(OSError), socket.create_connection((found[0], port), timeout=3):
        pass
    alone.stop()
    shared = serve("--lan", "--https", typed=f"{PHRASE}\n")
    port = urlsplit(shared.address).port
    assert f"https://{found[0]}:{port}/" in shared.told["addresses"]
    trust = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    trust.load_verify_locations(shared.data / "certificate.pem")
    with httpx.Client(base_url=f"https://{found[0]}:{port}", verify=trust) as tablet:
        tablet.headers["X-Pourwright-Token"] = tablet.get("/api/session").json()["token"]
        assert tablet.get("/api/jobs").status_code == 401
        assert tablet.post("/api/login", json={"phrase": PHRASE}).status_code == 200
        assert tablet.get("/api/jobs").json() == []


def test_plain_http_says_what_it_cannot_do(serve):
    shop = serve("--lan", typed=f"{PHRASE}\n")
    assert shop.address.startswith("http://") and shop.told["fingerprint"] == ""
    said = " ".join(shop.told["mind"])
    for words in ("readable", "cannot be kept awake", "--https"):
        assert words in said
    with shop.client() as tablet:
        login = tablet.get("/login", headers={"Accept": "text/html"}).text
        assert "others on this network could read along" in login
        assert "cannot keep its screen awake" in login
        r = tablet.post("/api/login", json={"phrase": PHRASE})
        assert "Secure" not in r.headers["set-cookie"], "it would never come back"
        page = tablet.get("/settings", headers={"Accept": "text/html"}).text
        assert "/api/share/qr.svg" in page and "--https" in page
        for address in shop.told["addresses"]:
            assert address in page
    shop.stop()
    told = subprocess.run(
        [sys.executable, "-c", "from pourwright.cli.main import run; run()", "app", "--lan",
         "--data", str(shop.data / "none"), "--port", "0", "--no-open"],
        input="too short\n", capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert told.returncode == 2 and "pass phrase" in told.stderr
    assert "Traceback" not in told.stderr
