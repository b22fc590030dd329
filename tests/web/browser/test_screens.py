"""The screens in a real browser: scripts off, keyboard only, 390 px, 48 px targets, axe."""

from __future__ import annotations

import json
import re
import urllib.request

import pytest

TABLET, PHONE = (1180, 820), (390, 844)
SCREENS = ("site", "finish", "build", "mix", "day", "floor", "papers", "record", "history", "board")


@pytest.fixture(scope="module")
def place(host):
    """The app with the galley planned, without workers."""
    made = host()
    made.galley()
    ask = urllib.request.Request(f"{made.url}/jobs/galley/build", headers={"accept": "text/html"})
    urllib.request.urlopen(ask).read()
    assert made.work() > 0
    return made


def paths(screens=SCREENS) -> list[str]:
    return [f"/jobs/galley/{s}" for s in screens] + [
        "/", "/jobs/new", "/bench", "/bench/cure.cup", "/settings", "/login"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("view", "scripts"), [(TABLET, False), (PHONE, True)], ids=["tablet plain", "phone scripts"]
)
def test_every_screen_fits_can_be_hit_and_passes_axe(look, fair, still, view, scripts):
    """No sideways scroll, targets of 48 px, and the WCAG 2.2 A and AA rules of axe-core.

    Links inside a sentence may be smaller, as WCAG 2.5.8 allows. "Plain" keeps the elements' own
    script away (axe itself needs scripts).
    """
    found = []
    tab = look("/", view, bypass_csp=True)
    base = tab.url.rstrip("/")
    if not scripts:
        tab.route(
            "**/static/built/**", lambda r: r.fulfill(body="", content_type="text/javascript")
        )
    for path in paths():
        tab.goto(base + path)
        still(tab, scripts, worked=False)
        found += fair(tab)
    assert found == []


def test_targets_grow_for_gloves(look, fair, still):
    tab = look("/", PHONE)
    base = tab.url.rstrip("/")
    tab.context.add_cookies([{"name": "pw_glove", "value": "yes", "url": base}])
    for screen in ("mix", "day", "floor"):
        tab.goto(f"{base}/jobs/galley/{screen}")
        still(tab, worked=False)
        assert fair(tab, 56, axe=False) == [], screen


def test_the_work_is_done_with_the_keyboard_alone(look):
    """From the list to a new job: only Tab, typing and Enter, and the focus is always seen."""
    tab = look("/")
    for _ in range(12):
        tab.keyboard.press("Tab")
        here = tab.evaluate("document.activeElement.getAttribute('href')")
        ring = tab.evaluate(
            "(s => s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2)"
            "(getComputedStyle(document.activeElement))"
        )
        assert ring, here
        if here == "/jobs/new":
            break
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/jobs/new")
    for _ in range(12):
        tab.keyboard.press("Tab")
        if tab.evaluate("document.activeElement.name") == "name":
            break
    tab.keyboard.type("Shelf by keyboard")
    tab.keyboard.press("Enter")
    tab.wait_for_url(re.compile(r"/jobs/\w+/site"), wait_until="commit")
    assert "Shelf by keyboard" in tab.locator(".jobname").inner_text()


def test_the_first_tab_skips_to_the_content(look):
    tab = look("/jobs/galley/mix")
    tab.keyboard.press("Tab")
    assert tab.evaluate("document.activeElement.className") == "skip"
    tab.keyboard.press("Enter")
    assert tab.evaluate("document.activeElement.id") == "main"


def sent(tab, button: str) -> None:
    """Tap a form's button and wait for the page that comes of it, all of it."""
    with tab.expect_navigation():
        tab.locator(button).first.click()


def test_without_scripts_a_surface_is_drawn_added_and_mixed(look):
    """Plain forms: add a shelf, see it in the list, tick a cup, tap a temperature."""
    tab = look("/jobs/galley/site", PHONE, scripts=False)
    tab.locator("#surface-new summary").first.click()
    tab.fill("[name='new.name']", "shelf")
    tab.fill("[name='new.size.0']", "600 mm")
    tab.fill("[name='new.size.1']", "thin")
    sent(tab, "#surface-new button.go")
    assert tab.locator(".problem").count() == 1
    assert tab.input_value("[name='new.name']") == "shelf"
    tab.fill("[name='new.size.1']", "200 mm")
    sent(tab, "#surface-new button.go")
    assert tab.locator("summary > b:has-text('shelf')").count() == 1
    base = tab.url.partition("/jobs/")[0]
    tab.goto(f"{base}/jobs/galley/history")
    sent(tab, "form[action$='/undo'] button")
    tab.goto(f"{base}/jobs/galley/mix")
    sent(tab, ".cup button")
    assert tab.locator(".cup.mixed").count() == 1
    sent(tab, ".cup.mixed button[value='']")
    assert tab.locator(".cup.mixed").count() == 0


def test_the_day_shows_ribbon_and_steps_without_scripts(look, place):
    days = json.loads(place.store.kept.last_plan("galley")[1])["days"]
    poured = next(d for d in days if any(s["id"] == "colour-mix-1" for s in d["steps"]))
    tab = look(f"/jobs/galley/day?date={poured['date']}", scripts=False)
    assert tab.locator("pw-ribbon img").first.evaluate("e => e.naturalWidth") > 200
    assert tab.locator(".steps > li").count() == len(poured["steps"]) > 3
    assert tab.locator(".taps button").count() == 9


def test_the_floor_view_is_dark_with_one_step(look):
    tab = look("/jobs/galley/floor", scripts=False)
    ground = tab.evaluate("getComputedStyle(document.body).backgroundColor")
    assert all(int(x) < 60 for x in re.findall(r"\d+", ground)[:3])
    assert tab.locator("h1").count() == 1


def test_printing_drops_what_is_only_for_the_screen(look):
    tab = look("/jobs/galley/mix", scripts=False)
    tab.emulate_media(media="print")
    assert not tab.locator("nav.work").is_visible()
    assert not tab.locator(".cup button").first.is_visible()
    assert tab.locator(".cup .ab").first.is_visible()


def test_a_narrow_german_phone_reads_well(look):
    tab = look("/", PHONE, scripts=False, locale="de-DE")
    base = tab.url.rstrip("/")
    for path in paths():
        tab.goto(base + path, wait_until="domcontentloaded")
        assert tab.locator("html").get_attribute("lang") == "de"
        assert tab.locator("html").evaluate("e => e.scrollWidth") <= 390, path
