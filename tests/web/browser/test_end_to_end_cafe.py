"""The cafe bar from its dimensions to a restored backup: the real server, a real browser, touch."""

from __future__ import annotations

import io
import re
import shutil
from datetime import datetime

import pytest

pytestmark = pytest.mark.usefixtures("built")
SHADES = (
    ("warm-sand", "45 %", "field"), ("burnt-umber", "12 %", "field"),
    ("ivory", "20 %", "field"), ("clear", "23 %", "field"),
)  # fmt: skip


# the Site editor


def saved(bar):
    bar.page.locator(".pw-state", has_text="Saved").wait_for()


def side(bar, name):
    return bar.page.get_by_role("group", name=name, exact=True).first


def surface(bar, name):
    bar.page.locator("[data-key^='pick-']", has_text=re.compile(f"^{name}$")).tap()
    side(bar, name).wait_for()


def add(bar, name, length, depth):
    bar.page.get_by_role("button", name="Add a surface").tap()
    bar.page.locator("[data-key='new-name']").fill(name)
    bar.page.locator("[data-key='new-0']").fill(length)
    bar.page.locator("[data-key='new-1']").fill(depth)
    bar.page.locator("[data-key='new-go']").tap()
    side(bar, name).wait_for()


def edge(bar, name, kind, drop="", meets=""):
    bar.page.locator("[data-key^='edge-']", has_text=re.compile(f"^{name}")).first.tap()
    fields = side(bar, f"Edge {name}")
    fields.locator(f"[data-key='kind-{kind}']").check()
    if drop:
        fields.locator("[data-key='drop']").fill(drop)
        fields.locator("[data-key='drop']").press("Tab")
    if meets:
        fields.locator("[data-key='meets']").select_option(meets)


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
    saved(bar)
    name = page.locator("[data-key='name']")
    name.fill("bar-1")
    name.press("Tab")
    add(bar, "bar-2", "1600 mm", "620 mm")
    add(bar, "bar-3", "1500 mm", "620 mm")
    page.locator("#surface-new summary").first.tap()  # the upright end by the plain form below
    page.fill("[name='new.name']", "end")
    page.fill("[name='new.size.0']", "620 mm")
    page.fill("[name='new.size.1']", "890 mm")
    page.select_option("[name='new.lie']", "upright")
    page.select_option("[name='new.other_edges.kind']", "wall")
    bar.send("#surface-new button.go")
    saved(bar)
    for sheet in ("bar-1", "bar-2", "bar-3"):
        surface(bar, sheet)
        edge(bar, "front", "free", drop="44 mm")
        edge(bar, "back", "free", drop="44 mm")
    surface(bar, "bar-1")
    edge(bar, "left", "waterfall", meets="end.top")
    edge(bar, "right", "joint", meets="bar-2.left")
    surface(bar, "bar-2")
    edge(bar, "right", "joint", meets="bar-3.left")
    surface(bar, "end")
    edge(bar, "left", "free", drop="44 mm")
    edge(bar, "right", "free", drop="44 mm")
    surface(bar, "bar-2")
    page.locator("[data-key='add-circle']").tap()
    cut = page.locator(".pw-side")
    for key, text in (("d", "380 mm"), ("cx", "900 mm")):
        cut.locator(f"[data-key='{key}']").fill(text)
        cut.locator(f"[data-key='{key}']").press("Tab")
    bar.until(lambda: "900 mm" in [c["at"][0] for s in bar.asked()["document"]["surfaces"]
                                   for c in s.get("cut_outs", [])])  # fmt: skip
    saved(bar)
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
    bar.look()  # once it is planned
    page.get_by_label("Fineness").select_option("quick")
    page.get_by_label("How many").select_option("1")
    bar.draw()
    drawn = page.locator("pw-picture img[src*='/api/pictures/']").first
    assert bar.width_of(drawn) > 300
    bar.look()


def plan(bar):
    """Core, sheets, endurance and cups are there for these surfaces."""
    page = bar.page
    bar.go("build")
    page.locator("img[src*='cut-plan']").first.wait_for()
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
    ticks = list(bar.until(lambda: bar.asked("/ticks")))
    assert ticks == [f"cup:{key}"]
    return made


def change_the_air(bar, made):
    """On the day it is hotter than forecast: one entry, and everything after it is planned anew."""
    page = bar.page
    day = next(d["date"] for d in made["days"] for s in d["steps"] if s["id"] == "colour-mix-1")
    bar.go(f"day?date={day}")
    page.locator(".pw-band").first.wait_for()
    bar.look()
    before = page.locator(".pw-air-line").first.get_attribute("d")
    field = page.get_by_label("Room temperature")
    field.fill("33 °C")
    field.press("Enter")
    page.get_by_text("Planned again from your reading").wait_for()
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
    heading.wait_for()
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
    done = bar.until(lambda: bar.asked("/steps").get("colour-mix-1"))
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
        got = page.request.get(link, timeout=0)
        assert got.ok and got.body().startswith(b"%PDF")
        text = "".join(p.extract_text() for p in PdfReader(io.BytesIO(got.body())).pages)
        assert "Cafe bar" in text
    bar.go("mix")
    sheet = "".join(p.extract_text() for p in PdfReader(io.BytesIO(page.pdf())).pages)
    cup = page.locator("li.cup h4").first.inner_text().split()[0]
    assert cup in sheet and "Next:" not in sheet


def test_the_cafe_bar_from_its_dimensions_to_a_restored_backup(serve, at_work, tmp_path):
    server = serve()
    bar = at_work(server.address)
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
    before = bar.told()
    kept = tmp_path / "kept.zip"
    bar.kept(kept)
    assert bar.faults == []
    server.stop()
    shutil.rmtree(server.data)

    again = serve()
    other = at_work(again.address, bar.job)
    other.brought_back(kept, "Cafe bar")
    after = other.told()
    assert before["pixels"] and after == before
    again.stop()
