"""Scripts come late on a slow tablet: what somebody did before they ran is taken up, never lost.

Each page is used while its script is held back, as a plain form; then the script is let go.
"""

from __future__ import annotations

import io
import json
import time
import urllib.request
from datetime import date, timedelta

import pytest

pytestmark = pytest.mark.usefixtures("built")
WAIT_S = 240.0
BAR = {"name": "bar", "size": ["4600 mm", "620 mm"], "other_edges": {"kind": "wall"}}


@pytest.fixture(scope="module")
def place(host):
    """An app whose plans the tests make themselves."""
    return host()


@pytest.fixture(scope="module")
def job(place):
    """A planned job with a joint, and the day of its pour."""
    ident = place.job(surfaces=[BAR], core={"material": "mdf-moisture", "thickness": "22 mm"})
    ask = urllib.request.Request(f"{place.url}/jobs/{ident}/build", headers={"accept": "text/html"})
    urllib.request.urlopen(ask).read()
    assert place.work() > 0
    return ident


def poured(place, job):
    """The day of the colour coat."""
    days = json.loads(place.store.kept.last_plan(job)[1])["days"]
    return next(d["date"] for d in days for s in d["steps"] if s["id"] == "colour-mix-1")


class Late:
    """A page whose script is on its way."""

    def __init__(self, page, address, seen):
        self.page, self.waiting = page, []
        page.route("**/static/built/app.js", lambda r: self.waiting.append(r))
        page.goto(address, wait_until="commit")  # a page counts as loaded only with its script
        page.locator(seen).first.wait_for()
        assert page.locator(":not(:defined)").count(), "no element is there yet"

    def comes(self):
        """The script runs."""
        end = time.monotonic() + WAIT_S
        while not self.waiting:
            assert time.monotonic() < end, "the script was not asked for"
            self.page.locator("main").count()
        self.waiting.pop().continue_()
        self.page.wait_for_function("() => !document.querySelector(':not(:defined)')", polling=100)


def says(page, field, text):
    """Wait until a field says what it should."""
    page.wait_for_function(
        "([f, t]) => document.querySelector(f)?.value === t", arg=[field, text], polling=100
    )


def has_focus(page, field):
    """Wait until the focus is there."""
    page.wait_for_function("f => document.activeElement.matches(f)", arg=field, polling=100)


def test_units_chosen_and_a_length_typed_on_a_new_job(look, place):
    page = look()
    late = Late(page, f"{place.url}/jobs/new", "form button.go")
    usual = json.loads(page.locator("pw-units").get_attribute("usual"))["us"]
    page.get_by_role("radio", name="US (in").check()
    page.fill("[name=length]", "48 1/2 in")
    assert page.locator("[name=width]").input_value() != usual["width"]
    late.comes()
    says(page, "[name=width]", usual["width"])
    says(page, "[name=length]", "48 1/2 in")
    page.locator("pw-quantity:has([name=length]) .pw-means", has_text="1231.9 mm").wait_for()


def test_a_picture_as_it_was_chosen(look, place, job):
    page = look()
    late = Late(page, f"{place.url}/jobs/{job}/finish", "#f-fine")
    scene = page.locator("#f-scene option").last.get_attribute("value")
    page.select_option("#f-scene", scene)
    page.select_option("#f-many", "2")
    page.select_option("#f-fine", "usual")
    page.fill("#f-seed", "77")
    late.comes()
    page.locator(".pw-picture-form").wait_for()
    found = page.locator(".pw-picture-form :is(select, input)").evaluate_all(
        "f => f.map(x => x.value)"
    )
    assert found == [scene, "77", "2", "usual"]
    has_focus(page, ".pw-picture-form input")


def test_a_temperature_half_typed_goes_on_where_it_was(look, place, job):
    page = look()
    day = poured(place, job)
    late = Late(page, f"{place.url}/jobs/{job}/day?date={day}", ".taps button")
    after = (date.fromisoformat(day) + timedelta(days=1)).isoformat()
    page.fill("#f-date", after)
    page.fill("#f-at", "07:35")
    page.fill("#f-temperature", "16.5 ")
    late.comes()
    page.locator("pw-ribbon .pw-band").first.wait_for()
    assert not page.locator("#f-temperature").is_visible(), "one place to type it"
    has_focus(page, ".pw-reading input")
    page.keyboard.press("End")
    page.keyboard.type("°C")
    says(page, ".pw-reading input", "16.5 °C")
    says(page, ".pw-reading input[type=time]", "07:35")
    with page.expect_request(lambda r: r.url.endswith("/readings")) as sent:
        page.route("**/readings", lambda r: r.abort())  # what it would send is enough
        page.keyboard.press("Enter")
    first = date.fromisoformat(place.document(job)["site"]["start"])
    said = sent.value.post_data_json
    assert said["temperature"].startswith("16.5") and said["at"] == "07:35"
    assert said["day"] == (date.fromisoformat(after) - first).days


def test_a_measure_typed_at_a_hold_point_on_the_floor(look, place, job):
    page = look()
    late = Late(page, f"{place.url}/jobs/{job}/floor?step=colour-mix-1", ".quick button")
    row = page.locator(".floorholds .hold", has_text="Hottest air")
    row.locator("[name=value]").fill("2")
    late.comes()
    page.locator(".pw-acts-now").wait_for()
    field = ".pw-holds .hold details[open] input"
    has_focus(page, field)
    page.keyboard.press("End")
    page.keyboard.type("1")
    says(page, field, "21")
    assert page.locator(".pw-holds .hold:has(details[open])").inner_text().startswith("Hottest air")
    page.get_by_role("button", name="Start now").tap()
    page.locator(".pw-acts-now button[disabled]").first.wait_for()
    says(page, field, "21")


def test_a_joint_typed_before_is_drawn_and_pulled_on(look, place, job):
    page = look()
    late = Late(page, f"{place.url}/jobs/{job}/build", "#b-prices")
    page.fill("[name='joints.bar']", "2100 mm; 3400 mm")
    late.comes()
    page.locator("[data-joint='1'][aria-valuenow='3400']").wait_for()
    says(page, "[name='joints.bar']", "2100 mm; 3400 mm")
    page.locator("[data-joint='0']").focus()
    page.keyboard.press("ArrowRight")
    says(page, "[name='joints.bar']", "2110 mm; 3400 mm")


def test_corners_half_typed_stay(look, place):
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (600, 400), (112, 150, 128)).save(out, "JPEG")
    page = look(f"/jobs/{place.job()}/finish")
    file = {"name": "tile.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}
    page.set_input_files("#f-colour-photo", files=[file])
    with page.expect_navigation():
        page.get_by_role("button", name="Mark its corners").tap()
    late = Late(page, page.url, "form.sheet [name=card]")
    page.fill("form.sheet [name=area]", "100,120 300,120")
    late.comes()
    page.locator("svg.pw-corners [data-corner='area-0']").wait_for()
    says(page, "form.sheet [name=area]", "100,120 300,120")
    assert page.locator("form.sheet [name=card]").input_value().count(",") == 4


def test_what_is_typed_at_a_cup_while_its_card_comes_anew_stays(look, place, job):
    page = look(f"/jobs/{job}/mix")
    page.locator(".pw-state").first.wait_for(state="attached")
    card = page.locator("li.cup").first
    key, ident = card.get_attribute("data-cup"), card.get_attribute("id")
    card.locator("summary").first.tap()
    waiting = []
    page.route(f"**/jobs/{job}/mix", lambda r: waiting.append(r))
    with page.expect_request(lambda r: r.url.endswith(f"/{job}/mix")):
        card.locator("button[name=mixed]").first.tap()
    place.until(lambda: f"cup:{key}" in place.store.happened.ticks(job), "the tick is kept")
    lot = f"[id='{ident}'] [name=lot_a]"
    page.fill(lot, "2403")
    end = time.monotonic() + WAIT_S
    while not waiting:
        assert time.monotonic() < end
        page.locator("main").count()
    waiting.pop().continue_()
    page.locator(f"[id='{ident}'] .stamp").wait_for()
    says(page, lot, "2403")
    has_focus(page, lot)
    page.locator(f"[id='{ident}'] button[value='']").tap()
    place.until(lambda: f"cup:{key}" not in place.store.happened.ticks(job), "taken back")


def test_what_was_unfolded_stays_open_when_the_plan_comes(look, place):
    job = place.job()
    page = look(f"/jobs/{job}/build")
    page.locator("pw-wait progress").wait_for()
    page.locator("#b-strip > summary").tap()
    page.evaluate("document.activeElement.blur()")  # the hands are off
    assert place.work() > 0
    page.locator("#b-checks").wait_for()
    assert page.locator("#b-strip[open]").count() == 1
