"""The demo galley from end to end, by keyboard alone and on a phone, on the real server."""

from __future__ import annotations

import re
from datetime import datetime

import pytest

pytestmark = pytest.mark.usefixtures("built")
PHONE = (390, 844)
SCREENS = ("site", "finish", "build", "mix", "day", "floor", "papers", "record", "history", "board")


def planned(page, address):
    """The galley's plan as it is now, waited for."""
    for _ in range(20):
        found = page.request.get(f"{address}/api/jobs/galley/plan?wait=30")
        if found.status == 200:
            return found.json()["plan"]
    raise AssertionError("the galley was not planned")


def focus_on(page, selector, keys="Tab", most=120):
    """Press Tab until the focus is on something that matches; it must be seen where it is."""
    for _ in range(most):
        page.keyboard.press(keys)
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            ring = page.evaluate(
                "() => { const s = getComputedStyle(document.activeElement);"
                "return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2; }"
            )
            assert ring, f"the focus cannot be seen on {selector}"
            return
    raise AssertionError(f"the keyboard does not reach {selector} on {page.url}")


def enter(page):
    """Press Enter on what has the focus and wait for the page that comes of it."""
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_the_galley_is_poured_on_a_phone(galley, person, until):
    """Every screen at 390 px: axe, no sideways scroll; a cup, a reading, a step, the sign-off."""
    ann = person(galley.address, PHONE, is_mobile=True)
    faults = []
    page = ann.go("/")
    faults += ann.look()
    page.locator("main a[href^='/jobs/galley']").first.tap()
    page.wait_for_url("**/jobs/galley/**")
    for screen in SCREENS:
        ann.go(f"/jobs/galley/{screen}")
        faults += ann.look()
    for path in ("/bench", "/bench/cure.windows", "/settings", "/jobs/new"):
        ann.go(path)
        faults += ann.look()
    assert faults == []

    ann.go("/jobs/galley/mix")
    page.locator("li.cup").first.get_by_role("button").first.tap()
    page.locator("li.cup.mixed").first.wait_for()
    last = planned(page, ann.address)["days"][-1]  # no ribbon takes readings there: the plain form
    ann.go(f"/jobs/galley/day?date={last['date']}")
    page.fill("form[action$='/readings'] [name=temperature]", "15 °C")
    with page.expect_navigation():
        page.locator("form[action$='/readings'] button.go").first.tap()
    document = page.request.get(f"{ann.address}/api/jobs/galley").json()["document"]
    assert document["site"]["measured"][-1]["temperature"].startswith("15")
    step = planned(page, ann.address)["days"][0]["steps"][0]
    page.clock.install(time=datetime.fromisoformat(step["starts"]))  # no step before its job
    ann.go(f"/jobs/galley/floor?step={step['id']}")
    page.locator(".pw-step h1").wait_for()
    page.get_by_role("button", name="Start now").tap()
    page.get_by_role("button", name="Done", exact=True).tap()
    until(lambda: step["id"] in page.request.get(f"{ann.address}/api/jobs/galley/steps").json())

    ann.go("/jobs/galley/papers")
    with page.expect_navigation():
        page.locator("form[action$='/links'] button.go").first.tap()
    link = page.locator("input[readonly]").first.input_value()
    client = person(galley.address, PHONE, is_mobile=True)
    seen = client.go(re.sub(r"^https?://[^/]+", "", link))
    assert client.look() == []
    assert seen.locator("nav.work").count() == 0, "the client sees nothing else"
    seen.fill("[name=name]", "Sam Example")
    if seen.locator("[name=date]").count():
        seen.fill("[name=date]", "2027-03-01")
    with seen.expect_navigation():
        seen.locator("form button.go").first.tap()
    links = page.request.get(f"{ann.address}/api/jobs/galley/links").json()
    assert links[0]["signed_name"] == "Sam Example"


def test_the_galley_by_keyboard_alone(galley, person, still, until):
    """No pointer: from the list through the row of work; change, undo, draw an edge, tick a cup."""
    ann = person(galley.address, has_touch=False)
    page = ann.go("/")
    focus_on(page, "main a[href^='/jobs/galley']")
    enter(page)
    page.wait_for_url("**/jobs/galley/**")
    ann.go("/jobs/galley/site")
    page.locator(".pw-state", has_text="Saved").wait_for()
    ask = f"{ann.address}/api/jobs/galley"
    before = page.request.get(ask).json()
    focus_on(page, "[data-key='edge-0-0']")
    page.keyboard.press("Enter")
    page.get_by_role("group", name="Edge front").first.wait_for()
    focus_on(page, "[data-key='drop']", "Shift+Tab")  # its fields stand above the list of edges
    page.keyboard.press("Control+a")
    page.keyboard.type("45 mm")
    page.keyboard.press("Enter")
    assert "'45 mm'" not in str(before["document"]["surfaces"][0]["edges"])
    until(lambda: "'45 mm'" in str(page.request.get(ask).json()["document"]["surfaces"][0]))
    for screen in ("finish", "build", "mix"):
        still(page)
        focus_on(page, f"nav.work a[href$='/{screen}']")
        enter(page)
        assert page.url.split("?")[0].endswith(f"/{screen}")
    still(page)
    focus_on(page, "li.cup button")
    page.keyboard.press("Enter")
    page.locator("li.cup.mixed").first.wait_for()
    for screen in ("day", "papers", "record"):
        still(page)
        focus_on(page, f"nav.work a[href$='/{screen}']")
        enter(page)
    still(page)
    ann.go("/jobs/galley/history")
    focus_on(page, "form[action$='/undo'] button")
    enter(page)
    assert page.request.get(ask).json()["document"] == {
        **before["document"], "revision": before["document"]["revision"]
    }  # fmt: skip
