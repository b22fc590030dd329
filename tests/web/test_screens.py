"""The screens in a real browser: scripts off, keyboard only, 390 px, 48 px targets, axe."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import socket
import threading
import time
from pathlib import Path

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("screens")]
TABLET, PHONE = {"width": 1180, "height": 820}, {"width": 390, "height": 844}
SCREENS = ("site", "finish", "build", "mix", "day", "floor", "papers", "record", "history", "board")
MEASURE = """
() => [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')]
  .filter(e => e.checkVisibility({checkVisibilityCSS: true}) && !e.closest('.hidden, .skip'))
  .filter(e => !(e.tagName === 'A' && e.closest('p, figcaption, li span') && !e.classList.contains('button')))
  .map(e => { const box = (['checkbox', 'radio'].includes(e.type) ? e.closest('label') : e).getBoundingClientRect();
    return [e.tagName + ' ' + (e.name || e.innerText || '').slice(0, 40), Math.round(box.width), Math.round(box.height)]; })
"""  # noqa: E501


def chromium() -> str | None:
    """Where this machine's browser is."""
    for name in (os.environ.get("POURWRIGHT_CHROMIUM", ""), "chromium", "chromium-browser"):
        if name and (found := shutil.which(name)):
            return found
    return None


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    """The app on a free port with the galley planned, without its workers running on."""
    import tomllib

    import uvicorn

    from pourwright.web.app import create_app
    from pourwright.web.settings import Settings
    from pourwright.web.workers import run_task

    data = tmp_path_factory.mktemp("screens")
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = s.getsockname()[1]
    app = create_app(Settings(data=data, port=port, workers=False, demo=False))
    store = app.state.store
    examples = Path(__file__).parents[2] / "examples"
    document = tomllib.loads((examples / "galley.toml").read_text("utf-8"))
    score = document["finish"]["score"]
    files = {score: (examples / score).read_text("utf-8")}
    store.jobs.create({**document, "samples": 50}, files, job_id="galley")
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="critical"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    import urllib.request

    base = f"http://127.0.0.1:{port}"
    ask = urllib.request.Request(f"{base}/jobs/galley/build", headers={"accept": "text/html"})
    urllib.request.urlopen(ask).read()
    while (task := store.tasks.claim("plan", "test", 1)) is not None:
        run_task(store, task, "test", data)
    yield base
    server.should_exit = True
    thread.join(10)


@pytest.fixture(scope="module")
def browser():
    """This machine's chromium."""
    found = chromium()
    if found is None:
        pytest.skip("no chromium on this machine: apt-get install chromium")
    with playwright.sync_playwright() as p:
        b = p.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield b
        b.close()


def is_fault(message) -> bool:
    """Whether a console message is a fault: a refused form (status 422) is none."""
    return message.type == "error" and "status of 422" not in message.text


@pytest.fixture
def look(browser, address):
    """Open a page: viewport, scripts on or off; nothing may leave this machine or be refused."""
    with contextlib.ExitStack() as kept:
        wrong: list[str] = []

        def go(path: str, view: dict = TABLET, scripts: bool = True, **more):
            context = browser.new_context(viewport=view, java_script_enabled=scripts, **more)
            kept.callback(context.close)
            tab = context.new_page()

            def asked(request):
                if not request.url.startswith((address, "data:", "blob:")):
                    wrong.append(f"asked {request.url}")

            tab.on("request", asked)
            tab.on("console", lambda m: wrong.append(m.text) if is_fault(m) else None)
            tab.on("pageerror", lambda e: wrong.append(str(e)))
            tab.goto(address + path)
            return tab

        yield go
    assert wrong == []


def paths(screens=SCREENS) -> list[str]:
    return [f"/jobs/galley/{s}" for s in screens] + [
        "/", "/jobs/new", "/bench", "/bench/cure.cup", "/settings", "/login"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("view", "scripts"), [(TABLET, False), (PHONE, True)], ids=["tablet plain", "phone scripts"]
)
def test_every_screen_fits_can_be_hit_and_passes_axe(look, view, scripts):
    """No sideways scroll, targets of 48 px, and the WCAG 2.2 A and AA rules of axe-core.

    Links inside a sentence may be smaller, as WCAG 2.5.8 allows. "Plain" keeps the elements' own
    script away (axe itself needs scripts).
    """
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not here")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    options = {"runOnly": {"type": "tag", "values": tags}}
    found = []
    tab = look("/", view, bypass_csp=True)
    base = tab.url.rstrip("/")
    if not scripts:
        tab.route(
            "**/static/built/**", lambda r: r.fulfill(body="", content_type="text/javascript")
        )
    for path in paths():
        tab.goto(base + path)
        if scripts:
            tab.wait_for_timeout(250)
        wide = tab.locator("html").evaluate("e => e.scrollWidth")
        if wide > view["width"]:
            found.append((path, "wide", wide))
        found += [(path, *m) for m in tab.evaluate(MEASURE) if min(m[1], m[2]) < 48]
        for v in axe.Axe().run(tab, options=options).response["violations"]:
            found.append((path, v["id"], [n["html"][:160] for n in v["nodes"][:3]]))
    assert found == []


def test_targets_grow_for_gloves(look):
    tab = look("/", PHONE)
    base = tab.url.rstrip("/")
    tab.context.add_cookies([{"name": "pw_glove", "value": "yes", "url": base}])
    for screen in ("mix", "day", "floor"):
        tab.goto(f"{base}/jobs/galley/{screen}")
        assert [m for m in tab.evaluate(MEASURE) if min(m[1], m[2]) < 56] == [], screen


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


def test_without_scripts_a_surface_is_drawn_added_and_mixed(look):
    """Plain forms: add a shelf, see it in the list, tick a cup, tap a temperature."""
    tab = look("/jobs/galley/site", PHONE, scripts=False)
    tab.locator("#surface-new summary").first.click()
    tab.fill("[name='new.name']", "shelf")
    tab.fill("[name='new.size.0']", "600 mm")
    tab.fill("[name='new.size.1']", "thin")
    tab.locator("#surface-new button.go").click()
    assert tab.locator(".problem").count() == 1
    assert tab.input_value("[name='new.name']") == "shelf"
    tab.fill("[name='new.size.1']", "200 mm")
    tab.locator("#surface-new button.go").click()
    assert tab.locator("summary:has-text('shelf')").count() == 1
    base = tab.url.partition("/jobs/")[0]
    tab.goto(f"{base}/jobs/galley/history")
    tab.locator("form[action$='/undo'] button").click()
    tab.goto(f"{base}/jobs/galley/mix")
    tab.locator(".cup button").first.click()
    assert tab.locator(".cup.mixed").count() == 1
    tab.locator(".cup.mixed button[value='']").click()
    assert tab.locator(".cup.mixed").count() == 0


def test_the_day_shows_ribbon_and_steps_without_scripts(look):
    tab = look("/jobs/galley/day?date=2027-03-18", scripts=False)
    assert tab.locator("pw-ribbon img").first.evaluate("e => e.naturalWidth") > 200
    assert tab.locator(".steps > li").count() > 4
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
