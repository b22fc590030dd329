"""The elements of the app in a real browser, with touch, on the app's own server and policy."""

from __future__ import annotations

import json
import math
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from fastapi import Request
from fastapi.responses import HTMLResponse

from pourwright.errors import InputError
from pourwright.quantities import read

ROOT = Path(__file__).resolve().parents[3]
needs = pytest.mark.usefixtures("built")

PAGES = {
    "site": '<pw-site-editor job="{j}"><figure data-plain>plain</figure></pw-site-editor>',
    "ribbon": '<pw-ribbon job="{j}" coat="colour"></pw-ribbon>',
    "floor": '<pw-floor job="{j}"></pw-floor>',
    "picture": '<pw-picture job="{j}"></pw-picture><pw-slab job="{j}"></pw-slab>',
    "quantity": '<label for="q">Length</label><pw-quantity dimension="length"><input id="q">'
    "</pw-quantity>",
}


@pytest.fixture(scope="module")
def place(host: Callable[..., Any]) -> Any:
    """The app with its workers, and bare pages that hold one element each."""
    from pourwright.web.session import token_of

    made = host(workers=True)

    @made.app.get("/bare/{which}/{job}")
    def bare(request: Request, which: str, job: str) -> HTMLResponse:
        kind = ' class="floor"' if which == "floor" else ""
        return HTMLResponse(
            '<!doctype html><html lang="en"><meta charset="utf-8"><title>Bare</title>'
            '<meta name="viewport" content="width=device-width, initial-scale=1">'
            f'<meta name="pw-token" content="{token_of(request)}">'
            '<link rel="icon" href="/static/mark.svg"><link rel="stylesheet" href="/static/app.css">'
            f'<script type="module" src="/static/built/app.js"></script><body{kind}><main>'
            f"{'' if which == 'floor' else '<h1>Bare</h1>'}{PAGES[which].format(j=job)}</main>"
        )

    return made


@pytest.fixture
def tablet(look: Callable[..., Any]) -> Any:
    """A page with touch, nowhere yet."""
    return look()


def touch_drag(page: Any, start: tuple[float, float], by: tuple[float, float]) -> None:
    """One finger down at `start` [px], moved `by` [px], lifted."""
    cdp = page.context.new_cdp_session(page)
    x, y = start
    for k in range(9):
        at = {"x": x + by[0] * k / 8, "y": y + by[1] * k / 8}
        kind = "touchMove" if k else "touchStart"
        cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [at]})
        page.wait_for_timeout(20)
    cdp.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def middle(page: Any, item: str, inner: str = "") -> tuple[float, float]:
    """Middle of an item of the drawing [px]."""
    box = page.locator(f'[data-item="{item}"] {inner}').first.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def opened(page: Any, place: Any, job: str) -> None:
    """The site editor, ready."""
    page.goto(f"{place.url}/bare/site/{job}")
    page.locator('[data-item="corner-0"]').wait_for()
    page.locator(".pw-state", has_text="Saved").wait_for()


def test_typed_lengths_mean_the_same_here_and_on_the_server() -> None:
    """The list the elements' own unit tests read, read by the app's reader: 1e-12 m apart at
    most, the rounding of one product."""
    cases = json.loads((ROOT / "ui" / "test" / "lengths.json").read_text("utf-8"))
    assert sum(c["metres"] is None for c in cases) >= 8
    for c in cases:
        try:
            got = read(c["text"], "length", locale=c["locale"])
        except InputError:
            got = None
        assert (got is None) == (c["metres"] is None), c
        assert got is None or abs(got - c["metres"]) < 1e-12, c


@needs
def test_draw_a_rectangle_from_its_dimensions(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    opened(tablet, place, job)
    assert tablet.locator("figure").is_hidden()
    tablet.get_by_role("button", name="Add a surface").tap()
    tablet.get_by_label("Name").first.fill("bar-1")
    tablet.get_by_label("Length").first.fill("4.6")
    tablet.get_by_role("button", name="Draw it").tap()
    assert "“4.6” is no length" in tablet.locator(".pw-adder").inner_text()
    tablet.get_by_label("Length").first.fill("4.6 m")
    tablet.get_by_label("Depth").first.fill("24 1/2 in")
    tablet.get_by_role("button", name="Draw it").tap()
    place.becomes(job, lambda d: len(d["surfaces"]) == 2)
    made = place.document(job)["surfaces"][1]
    assert made["name"] == "bar-1" and made["size"] == ["4.6 m", "24 1/2 in"]
    tablet.locator(".pw-length", has_text="4600 mm · wall edge").first.wait_for()


@needs
def test_tap_an_edge_and_choose_what_it_is(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    opened(tablet, place, job)
    tablet.touchscreen.tap(*middle(tablet, "edge-0-0", ".pw-reach"))
    tablet.get_by_role("radio", name="free edge").check()
    drop = tablet.get_by_label("Drop, top to bottom")
    drop.fill("1 3/4 in")
    drop.press("Tab")
    place.becomes(job, lambda d: d["surfaces"][0].get("edges", {}).get("front", {}).get("drop"))
    assert place.document(job)["surfaces"][0]["edges"] == {
        "front": {"kind": "free", "drop": "1 3/4 in"}
    }
    assert "free edge" in tablet.locator('[data-item="edge-0-0"]').get_attribute("aria-label")
    assert tablet.locator('[data-item="edge-0-0"] .pw-kind-free').count() == 1


@needs
def test_drag_a_corner_with_a_finger_then_undo(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    opened(tablet, place, job)
    touch_drag(tablet, middle(tablet, "corner-2", ".pw-knob"), (83, -61))
    place.becomes(job, lambda d: d["surfaces"][0]["size"] != ["600 mm", "400 mm"])
    size = [read(t, "length") * 1e3 for t in place.document(job)["surfaces"][0]["size"]]
    assert size[0] > 620 and size[1] > 420
    assert all(abs(v / 10 - round(v / 10)) < 1e-9 for v in size), "on the 10 mm grid"
    tablet.get_by_role("button", name="Undo").tap()
    place.becomes(job, lambda d: d["surfaces"][0]["size"] == ["600 mm", "400 mm"])
    tablet.reload()
    tablet.get_by_role("button", name="Redo").tap()
    place.becomes(job, lambda d: d["surfaces"][0]["size"] != ["600 mm", "400 mm"])


@needs
def test_cut_out_and_corners_by_keyboard_alone(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    opened(tablet, place, job)
    for _ in range(40):
        tablet.keyboard.press("Tab")
        if tablet.evaluate("document.activeElement.dataset.item") == "edge-1-0":
            break
    tablet.keyboard.press("ArrowRight")
    place.becomes(job, lambda d: d["surfaces"][0]["size"] == ["610 mm", "400 mm"])
    assert tablet.evaluate("document.activeElement.dataset.item") == "edge-1-0"
    tablet.keyboard.press("Escape")
    tablet.get_by_role("button", name="Add a round hole").press("Enter")
    field = tablet.get_by_role("textbox", name="Diameter")
    field.fill("35 mm")
    field.press("Enter")
    place.becomes(
        job, lambda d: d["surfaces"][0].get("cut_outs", [{}])[0].get("diameter") == "35 mm"
    )
    tablet.locator('[data-item="cut-0"]').focus()
    tablet.keyboard.press("Shift+ArrowUp")
    place.becomes(job, lambda d: d["surfaces"][0]["cut_outs"][0]["at"][1] == "300 mm")
    tablet.keyboard.press("Escape")
    tablet.get_by_role("button", name="Set its corners free").press("Enter")
    place.becomes(job, lambda d: "outline" in d["surfaces"][0])
    assert place.document(job)["surfaces"][0]["outline"][2] == ["610 mm", "400 mm"]


@needs
def test_nothing_is_lost_without_a_link(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    opened(tablet, place, job)
    tablet.context.set_offline(True)
    field = tablet.locator(".pw-side").get_by_label("Length")
    field.fill("72 cm")
    field.press("Enter")
    tablet.locator(".pw-state", has_text="No link").wait_for()
    assert place.document(job)["surfaces"][0]["size"][0] == "600 mm"
    other = tablet.context.new_page()  # the battery dies, the tablet is opened again
    tablet.close()
    tablet.context.set_offline(False)
    other.goto(f"{place.url}/bare/site/{job}")
    place.becomes(job, lambda d: d["surfaces"][0]["size"][0] == "72 cm")


@needs
def test_two_people_draw_at_once(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    opened(tablet, place, job)
    elsewhere = place.document(job)
    now = place.store.jobs.get(job).revision
    place.store.jobs.save(job, now, {**elsewhere, "client": "Example client"}, None, "other", "")
    field = tablet.locator(".pw-side").get_by_label("Length")
    field.fill("700 mm")
    field.press("Enter")
    place.becomes(job, lambda d: d["surfaces"][0]["size"][0] == "700 mm")
    assert place.document(job)["client"] == "Example client"
    tablet.locator(".pw-state", has_text="Saved").wait_for()
    theirs = place.document(job)
    theirs["surfaces"][0]["size"] = ["500 mm", "400 mm"]
    now = place.store.jobs.get(job).revision
    place.store.jobs.save(job, now, theirs, None, "other", "")
    field.fill("800 mm")
    field.press("Enter")
    tablet.get_by_text("Both drawings are kept until you choose").wait_for()
    assert place.document(job)["surfaces"][0]["size"][0] == "500 mm"
    tablet.get_by_role("button", name="Keep my drawing").tap()
    place.becomes(job, lambda d: d["surfaces"][0]["size"][0] == "800 mm")


def ribbon(page: Any, place: Any, job: str) -> None:
    """The ribbon page, drawn."""
    page.goto(f"{place.url}/bare/ribbon/{job}")
    page.locator(".pw-band").first.wait_for()


@needs
def test_a_temperature_on_the_ribbon(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    ribbon(tablet, place, job)
    before = tablet.locator(".pw-air-line").first.get_attribute("d")
    field = tablet.get_by_label("Room temperature")
    field.fill("warm")
    field.press("Enter")
    assert "“warm” is no temperature" in tablet.locator(".pw-reading-box").inner_text()
    field.fill("75 F")
    field.press("Enter")
    place.becomes(job, lambda d: d["site"].get("measured"))
    assert place.document(job)["site"]["measured"][0]["temperature"] == "23.9 degC"
    tablet.get_by_text("Planned again from your reading").wait_for()
    assert tablet.locator(".pw-air-line").first.get_attribute("d") != before
    handle = tablet.get_by_role("slider").first
    handle.focus()
    was = float(handle.get_attribute("aria-valuenow"))
    handle.press("ArrowUp")
    # the next half degree above what stood there, and from then on by exactly one half
    up = math.floor(was * 2 + 1e-6) / 2 + 0.5
    assert float(handle.get_attribute("aria-valuenow")) == up
    handle.press("ArrowUp")
    assert float(handle.get_attribute("aria-valuenow")) == up + 0.5
    handle.press("ArrowDown")
    handle.press("PageDown")
    assert float(handle.get_attribute("aria-valuenow")) == up - 2
    assert f"{up - 2:g} °C" in handle.get_attribute("aria-valuetext")
    handle.press("ArrowRight")
    assert float(handle.get_attribute("aria-valuenow")) != up - 2, "elsewhere the air is another"
    box = tablet.locator(".pw-handle").first.bounding_box()
    at = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    touch_drag(tablet, at, (90, 22))
    place.becomes(job, lambda d: len(d["site"]["measured"]) == 2)
    tablet.get_by_text("Planned again from your reading").wait_for()


@needs
def test_timers_survive_a_reload_and_ring(tablet: Any, place: Any) -> None:
    job = place.job(date.today())
    tablet.goto(f"{place.url}/bare/floor/{job}")
    began = time.monotonic()
    tablet.get_by_role("button", name="10 min", exact=True).tap()
    begun = time.monotonic()
    tablet.get_by_label("Minutes").fill("0.05")
    tablet.get_by_label("What for").fill("torch")
    tablet.get_by_role("button", name="Set").tap()
    assert tablet.locator(".pw-timer").count() == 2
    tablet.reload()
    tablet.get_by_role("alert").get_by_text("torch: time is up").wait_for()
    read_from = time.monotonic()
    left = tablet.locator(".pw-timer", has_text="Timer").locator(".pw-left").inner_text()
    minutes, seconds = (int(v) for v in left.split(":"))
    # what is shown may be a second old, or more where the machine is busy: the page's own clock
    # ticks once a second, and whole seconds are shown
    gone = 600 - (60 * minutes + seconds)
    assert read_from - begun - 3 <= gone <= time.monotonic() - began + 1
    tablet.get_by_role("alert").get_by_role("button", name="Silence").tap()
    assert tablet.get_by_role("alert").get_by_text("torch").count() == 0
    title = tablet.locator(".pw-step h1").inner_text()
    tablet.get_by_role("button", name="Done").tap()
    done = place.until(lambda: place.store.happened.done(job), "the step is kept")
    tablet.locator(".pw-step h1", has_not_text=title).wait_for()
    assert len(done) == 1

    def noted() -> bool:
        texts = [line.text for line in place.store.happened.log(job)]
        return any("torch" in t for t in texts) and any("done:" in t for t in texts)

    place.until(noted, "it is in the log")


@needs
def test_a_picture_and_the_piece_in_the_hand(tablet: Any, place: Any, watch_drawing: Any) -> None:
    job = place.job(date.today(), surfaces=[{"name": "tray", "size": ["240 mm", "160 mm"],
                               "other_edges": {"kind": "free", "drop": "20 mm"}}])  # fmt: skip
    tablet.goto(f"{place.url}/bare/picture/{job}")
    tablet.locator("pw-picture option").first.wait_for(state="attached")
    tablet.get_by_label("Fineness").select_option("quick")
    watch_drawing(tablet)
    tablet.get_by_role("button", name="Draw a picture").tap()
    tablet.locator(".pw-drawn img").first.wait_for()
    assert tablet.evaluate("window.progress"), "it was shown on the way, with the way to stop it"
    assert tablet.locator(".pw-drawn img").first.evaluate(
        "i => i.decode().then(() => i.naturalWidth)"
    )
    loaded: list[str] = []
    tablet.on("response", lambda r: loaded.append(r.url))
    tablet.get_by_role("button", name="Turn it in the hand").tap()
    piece = tablet.locator("canvas[data-yaw]")
    piece.wait_for()
    assert any(u.endswith("/built/three.js") for u in loaded), "the 3-D part comes on demand"
    was = piece.get_attribute("data-yaw")
    piece.focus()
    tablet.keyboard.press("ArrowRight")
    tablet.locator(f'canvas:not([data-yaw="{was}"])').wait_for()


@needs
def test_a_field_says_what_it_understood(tablet: Any, place: Any) -> None:
    tablet.goto(f"{place.url}/bare/quantity/none")
    tablet.get_by_label("Length").fill("2 ft 3 1/2 in")
    tablet.get_by_text("698.5 mm").wait_for()
    tablet.get_by_label("Length").fill("27")
    tablet.locator(".pw-means.problem").wait_for()
    assert tablet.get_by_label("Length").get_attribute("aria-invalid") == "true"


@needs
@pytest.mark.parametrize("which", ["site", "ribbon", "floor", "picture"])
@pytest.mark.parametrize("wide", [390, 1180])
def test_axe_finds_nothing_and_nothing_sticks_out(
    tablet: Any, place: Any, fair: Any, which: str, wide: int
) -> None:
    job = _shared(place)
    tablet.set_viewport_size({"width": wide, "height": 844})
    tablet.goto(f"{place.url}/bare/{which}/{job}")
    ready = {"site": ".pw-knob", "ribbon": ".pw-band", "floor": ".pw-step h1"}
    tablet.locator(ready.get(which, "pw-picture option")).first.wait_for(state="attached")
    if which == "site":
        tablet.locator('[data-key="edge-0-0"]').tap()
        tablet.get_by_role("radio").first.wait_for()
    assert fair(tablet, 0) == []


_kept: list[str] = []


def _shared(place: Any) -> str:
    """One job for all looks, so that it is planned once."""
    if not _kept:
        _kept.append(place.job(date.today()))
    return _kept[0]
