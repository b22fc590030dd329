"""A tablet in the shop, in a real browser: signing in, a session that ends, what http cannot do."""

from __future__ import annotations

import io

import pytest

from pourwright.web import network

pytestmark = pytest.mark.usefixtures("built")
PHRASE = "copper heron under the lock gate"


def sign_in(page, who="Ann"):
    """Type the pass phrase."""
    page.fill("[name=phrase]", PHRASE)
    page.fill("[name=who]", who)
    with page.expect_navigation():
        page.locator("form[action='/login'] button").first.tap()


def test_what_is_drawn_after_the_session_ended_is_kept_and_sent(serve, person, until):
    server = serve("--lan", typed=f"{PHRASE}\n")
    ann = person(server.address)
    page = ann.go("/jobs/new")
    sign_in(page)
    page.fill("[name=name]", "Shelf")
    with page.expect_navigation():
        page.locator("form[action='/jobs/new'] button.go").tap()
    page.locator(".pw-state", has_text="Saved").wait_for()
    ask = page.url.partition("?")[0].replace("/jobs/", "/api/jobs/").removesuffix("/site")
    ann.context.clear_cookies()  # a day is over
    field = page.locator(".pw-side [data-key='size-0']")
    field.fill("725 mm")
    field.press("Enter")
    notice = page.locator(".pw-signed-out")
    notice.wait_for()
    assert ann.look() == []
    assert page.request.get(ask).status == 401
    with page.expect_navigation():
        notice.get_by_role("link").tap()
    sign_in(page)
    page.locator("[data-item='edge-0-0']").wait_for()
    until(lambda: page.request.get(ask).json()["document"]["surfaces"][0]["size"][0] == "725 mm")
    page.locator(".pw-state", has_text="Saved").wait_for()


def test_the_square_leads_a_tablet_in_and_http_keeps_the_screen_asleep(serve, person):
    """The QR code on the screen reads as the address; wake lock is there over https alone."""
    zxing = pytest.importorskip("zxingcpp", reason="zxing-cpp is not installed")
    from PIL import Image

    found = [a for a in network.lan_addresses() if ":" not in a]
    if not found:
        pytest.skip("this machine is on no network")
    for https in (True, False):
        server = serve("--lan", *(["--https"] if https else []), typed=f"{PHRASE}\n")
        ann = person(server.address, ignore_https_errors=True)
        page = ann.go("/settings")
        sign_in(page)
        ann.go("/settings")
        assert ann.look() == []
        square = page.locator("img[src='/api/share/qr.svg']")
        square.evaluate("i => i.decode()")
        read = zxing.read_barcodes(Image.open(io.BytesIO(square.screenshot())))
        assert [x.text for x in read] == server.told["addresses"][:1]
        text = page.locator("main").inner_text()
        print_ = server.told["fingerprint"].replace(":", "")
        assert bool(print_) == https and print_ in text.replace(":", "")
        assert ("cannot be kept awake" in text) == (not https)
        tablet = person(server.told["addresses"][0], ignore_https_errors=True)
        tablet.go("/login")
        safe = "[isSecureContext, 'wakeLock' in navigator]"
        assert tablet.page.evaluate(safe) == [https, https]
        server.stop()
