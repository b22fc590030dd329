"""Somebody taps for another screen, or is at work, while a page's own answer comes: neither is lost.

A page that waits for long work shows it as soon as it is there. It must never do so by loading
itself anew: that would throw away the page just tapped for, which is still on its way.
"""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.usefixtures("built")


@pytest.fixture(scope="module")
def place(host):
    """An app whose long work the tests do themselves."""
    return host()


def own(path):
    """Whether a request is for the page at `path` [-], by whatever way."""
    return lambda request: request.url.partition("?")[0].endswith(path)


def held(page, path):
    """Keep answers for a path back; returns the list in which they wait."""
    waiting = []
    page.route(lambda url: url.partition("?")[0].endswith(path), lambda r: waiting.append(r))
    return waiting


def judged_later(place, look):
    """A page where a fault waits to be judged, and its job."""
    job = place.job()
    page = look(f"/jobs/{job}/build")
    assert place.work() > 0
    page.locator("img[src*='cut-plan']").first.wait_for(state="attached")
    page.goto(f"{place.url}/jobs/{job}/record?write=fault")
    with page.expect_navigation():
        page.locator("#write form button.go").tap()
    page.locator("[aria-labelledby=r-faults] pw-task progress").wait_for()
    page.evaluate("window.same = true")
    return job, page


def test_a_tap_is_not_lost_when_the_plan_comes_meanwhile(look, place):
    job = place.job()
    page = look(f"/jobs/{job}/finish")
    page.locator("pw-wait progress").wait_for()
    waiting = held(page, f"/{job}/build")
    with page.expect_request(own(f"/{job}/build")):
        page.locator("nav.work a[href$='/build']").tap(no_wait_after=True)
    with page.expect_request(own(f"/{job}/finish")):
        assert place.work() > 0
    waiting[0].continue_()
    page.wait_for_url(f"**/{job}/build")
    assert page.locator("nav.work [aria-current]").get_attribute("href").endswith("/build")


def test_a_tap_is_not_lost_when_the_answer_is_torn_down_by_leaving(look, place):
    job, page = judged_later(place, look)
    page.route(
        f"**/{job}/record?*",
        lambda r: r.abort() if r.request.resource_type == "fetch" else r.fallback(),
    )
    waiting = held(page, f"/{job}/papers")
    with page.expect_request(own(f"/{job}/papers")):
        page.locator("nav.work a[href$='/papers']").tap(no_wait_after=True)
    with page.expect_event("requestfailed", own(f"/{job}/record")):
        assert place.work() > 0
    waiting[0].continue_()
    page.wait_for_url(f"**/{job}/papers")


def test_a_page_without_an_answer_keeps_watching(look, place):
    """The link is down just when the work is done: nothing is loaded onto a dead network."""
    job, page = judged_later(place, look)
    left = [3]

    def fail_thrice(route):
        if route.request.resource_type != "fetch" or left[0] == 0:
            return route.fallback()
        left[0] -= 1
        return route.fulfill(status=503) if left[0] == 1 else route.abort()

    page.route(f"**/{job}/record?*", fail_thrice)
    assert place.work() > 0
    page.locator(".fault .causes li").first.wait_for()
    assert left == [0] and page.locator("[aria-labelledby=r-faults] pw-task").count() == 0
    assert page.evaluate("window.same"), "it is still the same page"


def test_what_is_chosen_is_not_lost_when_the_plan_comes(look, place):
    """A choice, an opened part, a finger on the glass: the plan waits for all of them."""
    job = place.job()
    page = look(f"/jobs/{job}/finish")
    page.locator("pw-wait progress").wait_for()
    mood = page.locator("[name='finish.mood']")
    was = mood.input_value()
    other = next(v for v in mood.locator("option").evaluate_all("o => o.map(x => x.value)")
                 if v and v != was)  # fmt: skip
    mood.select_option(other)
    assert place.work() > 0
    page.get_by_text("The plan is ready").wait_for()
    assert mood.input_value() == other
    mood.select_option(was)
    page.locator("pw-wait").wait_for(state="detached")
    assert page.locator("[name='finish.mood']").input_value() == was
