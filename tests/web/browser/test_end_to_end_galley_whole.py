"""The galley in a real browser from the list of jobs to a restored backup, every paper opened."""

from __future__ import annotations

import io
import re
import shutil
from datetime import datetime

import pytest

pytestmark = pytest.mark.usefixtures("built")
PIECE = "table"
"""What is drawn often here: the drop-leaf table is small, and quick to draw."""


def finish(gal):
    """Pictures: progress, one stopped in the middle, two variants side by side, one chosen."""
    page = gal.page
    gal.go("finish")
    page.locator("ul.shades").wait_for()
    gal.look()
    assert page.locator("ul.shades > li").count() == 4  # three shades and the clear resin
    pieces = page.get_by_label("Of", exact=True).locator("option").all_inner_texts()
    table = next(p for p in pieces if PIECE in p)
    top = next(p for p in pieces if "leg-a" in p)
    state = page.locator("pw-picture .pw-state")
    page.get_by_label("Fineness").select_option("fine")
    page.get_by_label("How many").select_option("4")
    page.get_by_label("Of", exact=True).select_option(top)
    page.get_by_role("button", name="Draw a picture").tap()
    page.get_by_role("button", name="Stop drawing").tap()  # there while it draws, for minutes
    state.filter(has_text="Stopped. Nothing was lost.").wait_for()
    assert gal.asked("/pictures") == []
    page.get_by_label("Fineness").select_option("quick")
    page.get_by_label("How many").select_option("2")
    page.get_by_label("Of", exact=True).select_option(table)
    gal.draw()
    lot = page.locator("ul.variants").first
    assert [gal.width_of(i) > 100 for i in lot.locator("> li > a > img").all()] == [True, True]
    with page.expect_navigation():
        lot.locator("form button").last.tap()
    assert page.locator("li.picked").count() == 1
    page.get_by_label("Fineness").select_option("quick")
    page.get_by_label("How many").select_option("1")
    page.get_by_label("Of", exact=True).select_option(top)
    gal.draw()
    assert page.locator("ul.variants").count() == 2
    gal.look()


def in_the_hand(gal):
    """The solid view: turned by keys and by finger, each drawn piece to be picked."""
    page = gal.page
    page.get_by_role("button", name="Turn it in the hand").tap()
    piece = page.locator("canvas[data-yaw]")
    piece.wait_for()
    piece.scroll_into_view_if_needed()
    pick = page.get_by_label("Piece")
    assert len(pick.locator("option").all_inner_texts()) == 2
    first = piece.get_attribute("data-scene")
    pick.select_option("1")
    page.locator(f"canvas[data-yaw]:not([data-scene='{first}'])").wait_for()
    was = piece.get_attribute("data-yaw")
    piece.focus()
    page.keyboard.press("ArrowRight")
    page.locator(f'canvas:not([data-yaw="{was}"])').wait_for()
    was = piece.get_attribute("data-yaw")
    box = piece.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 120, y, steps=4)
    page.mouse.up()
    page.locator(f'canvas:not([data-yaw="{was}"])').wait_for()
    seen = piece.screenshot()
    assert shades_of(seen) > 50, "the piece is drawn with its picture"
    gal.look()
    page.get_by_role("button", name="Put it away").tap()
    gal.go("board")
    assert gal.width_of(page.locator("figure.hero img")) > 100
    gal.look()


def shades_of(png):
    """How many different colours a picture has."""
    from PIL import Image

    seen = Image.open(io.BytesIO(png)).convert("RGB")
    return len(seen.getcolors(seen.width * seen.height))


def plan_and_mix(gal):
    """Core and cut plan; a cup ticked off with what it really weighed."""
    page = gal.page
    gal.go("build")
    assert gal.width_of(page.locator("img[src*='cut-plan']").first) > 300
    gal.look()
    gal.go("mix")
    cup = page.locator("li.cup").first
    key = cup.get_attribute("data-cup")
    cup.locator("summary").first.tap()
    weight = cup.locator(".ab dd").first.inner_text().split("\n")[0]
    cup.get_by_label("A really").fill(" ".join(weight.split()))
    gal.look()
    cup.get_by_role("button", name=re.compile("^Mixed")).tap()
    page.locator("li.cup.mixed .stamp").first.wait_for()
    assert list(gal.until(lambda: gal.asked("/ticks"))) == [f"cup:{key}"]
    return key


def on_the_day(gal):
    """The colour coat's day: a hold point met, the room warmer than forecast, all planned anew."""
    page = gal.page
    plan = gal.asked("/plan?wait=100")["plan"]
    day = next(d for d in plan["days"] for s in d["steps"] if s["id"] == "colour-mix-1")["date"]
    gal.go(f"day?date={day}")
    page.locator(".pw-band").first.wait_for()
    gal.look()
    page.locator("li.hold summary").first.tap()
    gal.send("li.hold details[open] button[value='met']")
    assert page.locator("li.hold.met").count() == 1
    field = page.get_by_label("Room temperature").first
    field.fill("21 °C")
    field.press("Enter")
    page.get_by_text("Planned again from your reading").first.wait_for()
    assert gal.asked()["document"]["site"]["measured"][0]["temperature"] == "21 degC"
    again = gal.asked("/plan?wait=100")["plan"]

    def pour(p):
        return next(c["pour_within_min"]["p05"] for c in p["coats"] if c["id"] == "colour")

    assert pour(again) < pour(plan), "a warmer room leaves less time to pour"
    return next(s for d in again["days"] for s in d["steps"] if s["id"] == "colour-mix-1")


def on_the_floor(gal, step):
    """The floor view on that day: one step, its clock, a timer that runs out, done, and a log."""
    page = gal.page
    page.clock.install(time=datetime.fromisoformat(step["starts"]))
    gal.go(f"floor?step={step['id']}")
    heading = page.locator(".pw-step h1")
    heading.wait_for()
    assert heading.inner_text() == step["title"]
    gal.look()
    page.get_by_role("button", name=re.compile("^Start")).first.tap()
    page.get_by_role("button", name="5 min", exact=True).tap()
    page.clock.fast_forward(5 * 60_000 + 1_000)
    ring = page.get_by_role("alert")
    ring.get_by_text("time is up").first.wait_for()
    ring.get_by_role("button", name="Silence").first.tap()
    page.get_by_role("textbox", name="Note").fill("Skin begins at the sink.")
    page.get_by_role("textbox", name="Note").press("Enter")
    page.get_by_role("button", name="Done", exact=True).tap()
    page.locator(".pw-step h1", has_not_text=step["title"]).wait_for()
    done = gal.until(lambda: gal.asked("/steps").get(step["id"]))
    assert 300 <= done["finish_s"] - done["start_s"] < 600
    gal.until(lambda: "Skin begins" in str(gal.asked("/log")))


def open_the_papers(gal):
    """Every paper is set, is a PDF, speaks of this job and shows ink on every page."""
    import pypdfium2
    from pypdf import PdfReader

    page = gal.page
    gal.go("papers")
    links = page.locator("main a[href$='.pdf']").evaluate_all("es => es.map(e => e.href)")
    assert len(set(links)) >= 12
    names = set()
    for link in set(links):
        got = gal.until(lambda link=link: fetched(page, link))
        pages = PdfReader(io.BytesIO(got)).pages
        text = " ".join(" ".join(p.extract_text().split()) for p in pages)
        assert "Galley" in text, link
        shown = pypdfium2.PdfDocument(got)
        for k in range(len(shown)):
            ink = shown[k].render(scale=1.5).to_pil().convert("L").getextrema()
            assert ink[0] < 120 and ink[1] > 200, (link, k)
        shown.close()
        names.add(link.rpartition("/")[2])
    assert {"pack.pdf", "quote.pdf", "cups.pdf", "runsheet.pdf", "safety.pdf"} <= names
    gal.go("papers")
    page.locator("ul.sheets img[src^='blob:']").first.wait_for()
    gal.look()


def fetched(page, link):
    """A paper, or None while it is still being set."""
    got = page.request.get(link, timeout=0)
    assert got.ok or got.status == 503, got.text()[:300]
    if not got.headers["content-type"].startswith("application/pdf"):
        return None  # a page that says it is being set
    return got.body()


def write_the_record(gal, key):
    """What really happened stands in the record: the cup, the note of the floor, a fault, a check."""
    page = gal.page
    gal.go("record?write=fault")
    gal.send("#write form button.go")
    gal.go("record")
    log = page.locator("ol.log").first
    log.wait_for()
    text = " ".join(log.inner_text().split())
    assert "Skin begins at the sink." in text and key.split("/")[-1] in text
    page.locator("article.fault").first.wait_for()
    gal.look()
    gal.go("history")
    gal.look()


def test_the_galley_from_the_list_to_a_restored_backup(serve, galley, at_work, tmp_path):
    gal = at_work(galley.address, "galley")
    page = gal.person.go("/")
    page.locator("main a[href^='/jobs/galley']").first.tap()
    page.wait_for_url("**/jobs/galley/**")
    gal.go("site")
    page.locator(".pw-state", has_text="Saved").wait_for()
    page.locator("[data-key^='pick-']", has_text=re.compile("^table$")).tap()
    field = page.locator(".pw-side [data-key='size-0']")
    field.fill("880 mm")
    field.press("Enter")
    gal.until(lambda: "880 mm" in str(gal.asked()["document"]["surfaces"]))
    gal.look()
    finish(gal)
    in_the_hand(gal)
    key = plan_and_mix(gal)
    step = on_the_day(gal)
    on_the_floor(gal, step)
    open_the_papers(gal)
    write_the_record(gal, key)
    assert gal.faults == []
    before, kept = gal.told(), tmp_path / "kept.zip"
    gal.kept(kept)
    galley.stop()
    shutil.rmtree(galley.data)

    again = serve()
    other = at_work(again.address, "galley")
    other.brought_back(kept, "Galley")
    after = other.told()
    assert len(before["pixels"]) >= 3 and after == before
    again.stop()
