"""The cafe bar from its dimensions to a restored backup: the real server, a real browser, touch."""

from __future__ import annotations

import io
import re
import shutil
import time
from datetime import datetime
from pathlib import Path

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("end-to-end")]
BUILT = Path(__file__).parents[2] / "src" / "pourwright" / "web" / "static" / "built" / "app.js"
needs = pytest.mark.skipif(
    not BUILT.is_file(), reason="needs the bundle that scripts/build_ui.py makes"
)
SHADES = (
    ("warm-sand", "45 %", "field"), ("burnt-umber", "12 %", "field"),
    ("ivory", "20 %", "field"), ("clear", "23 %", "field"),
)  # fmt: skip
LONG = 300_000
"""For a plan or a picture on a busy machine [ms]."""


class Bar:
    """The bar job in one browser: what a finisher does with it, and what the server holds."""

    def __init__(self, person, job=""):
        self.person, self.page, self.job = person, person.page, job
        self.faults = []

    def go(self, screen):
        self.person.go(f"/jobs/{self.job}/{screen}")

    def send(self, selector):
        """Tap a form's button and wait for the page that comes of it."""
        with self.page.expect_navigation():
            self.page.locator(selector).first.tap()

    def asked(self, path=""):
        """What the API says."""
        address = f"{self.person.address}/api/jobs/{self.job}{path}"
        found = self.page.request.get(address, timeout=LONG)
        assert found.ok, found.text()
        return found.json()

    def look(self):
        """Note what axe finds on this screen."""
        self.faults += self.person.look()

    def width_of(self, image):
        """Width of an image once it is there [px]; those below the fold come when scrolled to."""
        image.scroll_into_view_if_needed()
        self.page.wait_for_function(
            "i => i.complete && i.naturalWidth", arg=image.element_handle(), timeout=LONG
        )
        return image.evaluate("i => i.naturalWidth")

    # the Site editor

    def saved(self):
        self.page.locator(".pw-state", has_text="Saved").wait_for()

    def side(self, name):
        return self.page.get_by_role("group", name=name, exact=True).first

    def surface(self, name):
        self.page.locator("[data-key^='pick-']", has_text=re.compile(f"^{name}$")).tap()
        self.side(name).wait_for()

    def add(self, name, length, depth):
        self.page.get_by_role("button", name="Add a surface").tap()
        self.page.locator("[data-key='new-name']").fill(name)
        self.page.locator("[data-key='new-0']").fill(length)
        self.page.locator("[data-key='new-1']").fill(depth)
        self.page.locator("[data-key='new-go']").tap()
        self.side(name).wait_for()

    def edge(self, name, kind, drop="", meets=""):
        self.page.locator("[data-key^='edge-']", has_text=re.compile(f"^{name}")).first.tap()
        side = self.side(f"Edge {name}")
        side.locator(f"[data-key='kind-{kind}']").check()
        if drop:
            side.locator("[data-key='drop']").fill(drop)
            side.locator("[data-key='drop']").press("Tab")
        if meets:
            side.locator("[data-key='meets']").select_option(meets)


def new_job(bar):
    """From the empty list of jobs to a first surface: the fields say what they cannot read."""
    page = bar.page
    bar.person.go("/")
    bar.look()
    page.locator("main a[href='/jobs/new']").first.tap()
    page.wait_for_url("**/jobs/new")
    page.fill("[name=name]", "Cafe bar")
    page.fill("[name=length]", "1500 mm")
    page.fill("[name=width]", "620 mm")
    page.fill("[name=start]", "2027-08-09")
    page.fill("[name=coolest]", "23")
    bar.send("form[action='/jobs/new'] button.go")
    assert "unit is missing" in page.locator(".problem").first.inner_text()
    assert page.input_value("[name=name]") == "Cafe bar", "nothing typed is lost"
    bar.look()
    page.fill("[name=coolest]", "23 °C")
    page.fill("[name=warmest]", "29 °C")
    page.fill("[name=humidity]", "48 %")
    bar.send("form[action='/jobs/new'] button.go")
    bar.job = re.search("/jobs/([a-z0-9]+)/site", page.url)[1]


def draw(bar):
    """Three sheets, two joints, a waterfall end and a basin, by touch and by typed measures."""
    page = bar.page
    bar.saved()
    name = page.locator("[data-key='name']")
    name.fill("bar-1")
    name.press("Tab")
    bar.add("bar-2", "1600 mm", "620 mm")
    bar.add("bar-3", "1500 mm", "620 mm")
    page.locator("#surface-new summary").first.tap()  # the upright end by the plain form below
    page.fill("[name='new.name']", "end")
    page.fill("[name='new.size.0']", "620 mm")
    page.fill("[name='new.size.1']", "890 mm")
    page.select_option("[name='new.lie']", "upright")
    page.select_option("[name='new.other_edges.kind']", "wall")
    bar.send("#surface-new button.go")
    bar.saved()
    for sheet in ("bar-1", "bar-2", "bar-3"):
        bar.surface(sheet)
        bar.edge("front", "free", drop="44 mm")
        bar.edge("back", "free", drop="44 mm")
    bar.surface("bar-1")
    bar.edge("left", "waterfall", meets="end.top")
    bar.edge("right", "joint", meets="bar-2.left")
    bar.surface("bar-2")
    bar.edge("right", "joint", meets="bar-3.left")
    bar.surface("end")
    bar.edge("left", "free", drop="44 mm")
    bar.edge("right", "free", drop="44 mm")
    bar.surface("bar-2")
    page.locator("[data-key='add-circle']").tap()
    cut = page.locator(".pw-side")
    for key, text in (("d", "380 mm"), ("cx", "900 mm")):
        cut.locator(f"[data-key='{key}']").fill(text)
        cut.locator(f"[data-key='{key}']").press("Tab")
    page.wait_for_function(
        "async () => { const d = (await (await fetch(location.pathname.replace('/site', '')"
        ".replace('/jobs', '/api/jobs'))).json()).document;"
        "return d.surfaces.some(s => (s.cut_outs || []).some(c => c.at[0] === '900 mm')); }"
    )
    bar.saved()
    bar.look()
    made = {s["name"]: s for s in bar.asked()["document"]["surfaces"]}
    assert set(made) == {"bar-1", "board", "bar-2", "bar-3", "end"}
    assert made["bar-1"]["edges"]["left"]["meets"] == "end.top"
    assert made["bar-2"]["cut_outs"][0]["diameter"] == "380 mm"
    assert made["bar-3"]["edges"]["front"]["drop"] == "44 mm"


def design(bar):
    """Sand, umber and ivory; a score from a few words; its picture, with progress."""
    page = bar.page
    bar.go("finish")
    rows = page.locator("[name^='colour.shades.'][name$='.shade']").count()
    for k in range(rows):
        shade, share, part = SHADES[k] if k < len(SHADES) else ("", "", "field")
        page.select_option(f"[name='colour.shades.{k}.shade']", shade)
        page.fill(f"[name='colour.shades.{k}.share']", share)
        page.select_option(f"[name='colour.shades.{k}.part']", part)
    bar.send("form[action$='/finish/shades'] button.go")
    page.fill("[name='finish.name']", "Dry river")
    page.select_option("[name='finish.mood']", "flowing")
    bar.send("form[action$='/finish/score'] button.go")
    document = bar.asked()["document"]
    assert [s["shade"] for s in document["colour"]["shades"]] == [s for s, _, _ in SHADES]
    assert document["finish"]["mood"] == "flowing"
    page.reload()
    page.get_by_label("Fineness").wait_for(timeout=LONG)  # there once it is planned
    bar.look()
    page.get_by_label("Fineness").select_option("quick")
    page.get_by_label("How many").select_option("1")
    page.get_by_role("button", name="Draw a picture").tap()
    page.locator("pw-picture progress").first.wait_for()
    ended = page.locator("pw-picture .pw-state", has_text=re.compile("Done:|not drawn|Stopped"))
    ended.wait_for(timeout=LONG)
    assert "Done:" in ended.inner_text()
    drawn = page.locator("pw-picture img[src*='/api/pictures/']").first
    assert bar.width_of(drawn) > 300
    bar.look()


def plan(bar):
    """Core, sheets, endurance and cups are there for these surfaces."""
    page = bar.page
    bar.go("build")
    page.locator("img[src*='cut-plan']").first.wait_for(timeout=LONG)
    assert bar.width_of(page.locator("img[src*='cut-plan']").first) > 300
    bar.look()
    made = bar.asked("/plan?wait=100")["plan"]
    assert {"colour", "flood"} <= {c["id"] for c in made["coats"]}
    bar.go("mix")
    bar.look()
    cup = page.locator("li.cup").first
    key = cup.get_attribute("data-cup")
    cup.get_by_role("button").first.tap()
    page.locator("li.cup.mixed").first.wait_for()
    # the cup turns at once, its letter to the server goes out behind it
    end = time.monotonic() + 20
    while not (ticks := list(bar.asked("/ticks"))) and time.monotonic() < end:
        time.sleep(0.2)
    assert ticks == [f"cup:{key}"]
    return made


def change_the_air(bar, made):
    """On the day it is hotter than forecast: one entry, and everything after it is planned anew."""
    page = bar.page
    day = next(d["date"] for d in made["days"] for s in d["steps"] if s["id"] == "colour-mix-1")
    bar.go(f"day?date={day}")
    page.locator(".pw-band").first.wait_for(timeout=LONG)
    bar.look()
    before = page.locator(".pw-air-line").first.get_attribute("d")
    field = page.get_by_label("Room temperature")
    field.fill("33 °C")
    field.press("Enter")
    page.get_by_text("Planned again from your reading").wait_for(timeout=LONG)
    assert page.locator(".pw-air-line").first.get_attribute("d") != before
    assert bar.asked()["document"]["site"]["measured"][0]["temperature"] == "33 degC"
    hotter = bar.asked("/plan?wait=100")["plan"]

    def within(p):
        return next(c["pour_within_min"]["p05"] for c in p["coats"] if c["id"] == "colour")

    assert within(hotter) < within(made), "hotter air leaves less time to pour"
    hold = page.locator("li.hold").first
    hold.locator("summary").tap()
    bar.send("li.hold details[open] button[value='met']")
    assert page.locator("li.hold.met").count() == 1
    bar.look()
    return day, next(s for d in hotter["days"] for s in d["steps"] if s["id"] == "colour-mix-1")


def run_the_clock(bar, step):
    """The floor view on the day, its clock set to just before the first cup."""
    page = bar.page
    at = datetime.fromisoformat(step["starts"])
    page.clock.install(time=at)
    bar.go(f"floor?step={step['id']}")
    heading = page.locator(".pw-step h1")
    heading.wait_for(timeout=LONG)
    title = heading.inner_text()
    assert title == step["title"]
    bar.look()
    page.get_by_role("button", name="Start now").tap()
    page.get_by_role("button", name="10 min", exact=True).tap()
    page.clock.fast_forward(9 * 60_000)
    assert page.get_by_role("alert").get_by_text("time is up").count() == 0
    page.clock.fast_forward(61_000)
    page.get_by_role("alert").get_by_text("time is up").first.wait_for()
    page.get_by_role("alert").get_by_role("button", name="Silence").first.tap()
    page.get_by_role("button", name="Done", exact=True).tap()
    page.locator(".pw-step h1", has_not_text=title).wait_for()
    page.wait_for_function(
        "async id => (await (await fetch(`/api/jobs/${id}/steps`)).json())['colour-mix-1']",
        arg=bar.job,
    )
    done = bar.asked("/steps")["colour-mix-1"]
    assert 600 < done["finish_s"] - done["start_s"] < 900


def print_papers(bar):
    """The papers as PDF, and a screen as it would be printed."""
    from pypdf import PdfReader

    page = bar.page
    bar.go("papers")
    page.locator("main a[href$='.pdf']").first.wait_for()
    bar.look()
    links = page.locator("main a[href$='.pdf']").evaluate_all("es => es.map(e => e.href)")
    assert len(links) >= 5
    for name in ("runsheet", "pack"):
        link = next(u for u in links if u.endswith(f"/{name}.pdf"))
        got = page.request.get(link, timeout=LONG)
        assert got.ok and got.body().startswith(b"%PDF")
        text = "".join(p.extract_text() for p in PdfReader(io.BytesIO(got.body())).pages)
        assert "Cafe bar" in text
    bar.go("mix")
    sheet = "".join(p.extract_text() for p in PdfReader(io.BytesIO(page.pdf())).pages)
    cup = page.locator("li.cup h4").first.inner_text().split()[0]
    assert cup in sheet and "Next:" not in sheet


def told(bar):
    """All that the server holds of the job."""
    paths = ("", "/revisions", "/ticks", "/steps", "/log", "/plan?wait=100")
    found = {p: bar.asked(p) for p in paths}
    pictures = bar.asked("/pictures")
    found["pictures"] = pictures
    found["pixels"] = [
        bar.page.request.get(f"{bar.person.address}{p['url']}").body() for p in pictures
    ]
    return found


@needs
def test_the_cafe_bar_from_its_dimensions_to_a_restored_backup(serve, person, tmp_path):
    server = serve()
    bar = Bar(person(server.address))
    new_job(bar)
    draw(bar)
    design(bar)
    made = plan(bar)
    _, step = change_the_air(bar, made)
    run_the_clock(bar, step)
    print_papers(bar)
    for screen in ("record", "history", "board"):
        bar.go(screen)
        bar.look()
    before = told(bar)
    bar.person.go("/settings")
    bar.look()
    with bar.page.expect_download(timeout=LONG) as coming:
        bar.page.locator("a[href='/api/backup']").tap()
    kept = tmp_path / "kept.zip"
    coming.value.save_as(kept)
    assert bar.faults == []
    server.stop()
    shutil.rmtree(server.data)

    again = serve()
    other = Bar(person(again.address), bar.job)
    page = other.person.go("/")
    assert page.locator("main", has_text="Cafe bar").count() == 0
    other.person.go("/settings")
    page.set_input_files("input[type=file]", kept)
    other.send("form[action='/settings/restore'] button")
    other.person.go("/")
    page.locator("main a", has_text="Cafe bar").first.tap()
    page.wait_for_url(f"**/jobs/{bar.job}/**")
    after = told(other)
    assert before["pixels"] and after == before
    again.stop()
