"""Build as plain forms: joints by hand, off-cuts, a measured strip, prices and terms."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path

import pytest

from pourwright.errors import InputError
from pourwright.plan import job_from
from pourwright.web.pages import build, joints, marks, prices
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words

HTML = {"accept": "text/html"}
EN, DE = Show("metric", Words("en")), Show("metric", Words("de"))
EXAMPLES = Path(__file__).parents[2] / "examples"


class Fields(HTMLParser):
    """Names and values of the fields of the form with an action, as a browser sends them."""

    def __init__(self, text: str, action: str) -> None:
        super().__init__()
        self.action, self.found, self._in, self._select, self._area = action, {}, False, "", ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        if tag == "form":
            self._in = a.get("action") == self.action
        if not self._in:
            return
        ticked = a.get("type") not in ("radio", "checkbox") or "checked" in a
        if tag == "input" and a.get("name") and a.get("type") != "file" and ticked:
            self.found[a["name"]] = a.get("value") or ""
        elif tag == "select":
            self._select = a.get("name", "")
        elif tag == "textarea":
            self._area = a.get("name", "")
            self.found[self._area] = ""
        elif tag == "option" and self._select:
            chosen = "selected" in a or self._select not in self.found
            self.found |= {self._select: a.get("value", "")} if chosen else {}

    def handle_endtag(self, tag):
        self._select = "" if tag == "select" else self._select
        self._area = "" if tag == "textarea" else self._area
        self._in = self._in and tag != "form"

    def handle_data(self, data):
        if self._area:
            self.found[self._area] += data


def form(client, url: str, action: str) -> dict[str, str]:
    """The fields of the form that goes to `action` on the page at `url`."""
    answer = client.get(url, headers=HTML)
    assert answer.status_code == 200, answer.text[:1500]
    return Fields(answer.text, action).found


def send(client, url: str, data: dict, status: int = 303):
    answer = client.post(url, data=data, headers=HTML, follow_redirects=False)
    assert answer.status_code == status, answer.text[:3000]
    return answer


def document_of(client, job_id: str) -> dict:
    return client.get(f"/api/jobs/{job_id}").json()["document"]


@pytest.fixture
def bar(client, document) -> str:
    """A bar of 4.6 m with a basin, too long for one sheet."""
    document["surfaces"] = [{
        "name": "bar", "size": ["4600 mm", "620 mm"], "other_edges": {"kind": "wall"},
        "cut_outs": [{"name": "basin", "diameter": "380 mm", "at": ["2300 mm", "310 mm"]}],
    }]  # fmt: skip
    document["core"] = {"material": "mdf-moisture", "thickness": "22 mm"}
    made: str = client.post("/api/jobs", json={"document": document}).json()["id"]
    return made


def test_joints_are_drawn_and_moved_by_hand(client, bar):
    url, post = f"/jobs/{bar}/build", f"/jobs/{bar}/build/joints"
    text = client.get(url, headers=HTML).text
    assert 'class="joint"' in text and 'class="joint hand"' not in text
    mine = Fields(text, post).found
    assert mine["joints.bar"] == ""
    send(client, post, {**mine, "joints.bar": "1700 mm; 3.3 m"})
    core = job_from(document_of(client, bar)).core
    assert core.joints["bar"] == pytest.approx([1.7, 3.3])
    text = client.get(url, headers=HTML).text
    assert text.count('class="joint hand"') == 2 and "1600 mm" in text
    mine = Fields(text, post).found
    assert mine["joints.bar"] == "1700 mm; 3300 mm"
    before = document_of(client, bar)["core"]["joints"]
    send(client, post, mine)
    assert document_of(client, bar)["core"]["joints"] == before
    send(client, post, {**mine, "joints.bar": ""})
    assert job_from(document_of(client, bar)).core.joints == {}


@pytest.mark.parametrize("places", ["2300 mm", "40 mm", "9 m", "left", "1700; 3300 mm"])
def test_a_joint_that_cannot_be_is_refused_with_what_was_typed(client, bar, places):
    url, post = f"/jobs/{bar}/build", f"/jobs/{bar}/build/joints"
    before = document_of(client, bar)
    answer = send(client, post, {**form(client, url, post), "joints.bar": places}, 422)
    assert Fields(answer.text, post).found["joints.bar"] == places
    assert 'class="problem"' in answer.text
    assert document_of(client, bar) == before


def test_masses_of_the_pieces_at_a_joint_add_up(client, bar):
    document = {**document_of(client, bar)}
    document["core"] = {**document["core"], "joints": {"bar": ["1700 mm", "3300 mm"]}}
    survey, found = joints.found_in(document, Path())
    plan = found["bar"]
    area = sum(p.area for p in plan.pieces)
    assert area == pytest.approx(survey["bar"].polygon.area, abs=1e-9)
    per_m2 = {round(m / p.area, 6) for m, p in zip(plan.masses, plan.pieces)}
    assert len(per_m2) == 1
    assert sum(plan.masses) == pytest.approx(area * next(iter(per_m2)), rel=1e-6)


def test_off_cuts_and_a_measured_strip_are_kept_and_go_again(client, job_id):
    url = f"/jobs/{job_id}/build"
    offs, strip = f"{url}/off-cuts", f"{url}/coupon"
    row = {"name": "left of the bench", "length": "1200 mm", "width": "610 mm", "count": "2"}
    send(
        client,
        offs,
        {**form(client, url, offs), **{f"core.off_cuts.0.{k}": v for k, v in row.items()}},
    )
    core = job_from(document_of(client, job_id)).core
    assert core.off_cuts[0].count == 2 and core.off_cuts[0].length == pytest.approx(1.2)
    values = {"length": "600 mm", "bow": "1.1 mm", "film": "2.4 mm", "board": "6 mm"}
    mine = form(client, url, strip)
    assert "core.coupon.after" in mine
    answer = send(client, strip, {**mine, "core.coupon.bow": "1.1 mm"}, 422)
    assert "needed and missing" in answer.text
    send(client, strip, {**mine, **{f"core.coupon.{k}": v for k, v in values.items()}})
    core = job_from(document_of(client, job_id)).core
    assert core.coupon.bow == pytest.approx(1.1e-3) and core.coupon.reading == pytest.approx(0.3e-3)
    mine = form(client, url, strip)
    assert mine["core.coupon.film"] == "2.4 mm"
    send(client, strip, {k: "" if k.startswith("core.coupon.") else v for k, v in mine.items()})
    assert job_from(document_of(client, job_id)).core.coupon is None
    mine = form(client, url, offs)
    send(client, offs, {k: "" if k.startswith("core.off_cuts.") else v for k, v in mine.items()})
    assert job_from(document_of(client, job_id)).core.off_cuts == []


def test_a_core_can_be_said_to_be_ready(client, job_id):
    url = f"/jobs/{job_id}/build"
    mine = form(client, url, url)
    assert "core.ready" not in mine
    send(
        client, url, {**mine, "core.ready": "yes", "core.overhang": "150 mm", "core.kerf": "2.4 mm"}
    )
    core = job_from(document_of(client, job_id)).core
    assert (
        core.ready and core.overhang == pytest.approx(0.15) and core.kerf == pytest.approx(2.4e-3)
    )
    mine = form(client, url, url)
    assert mine.pop("core.ready") == "yes"
    send(client, url, mine)
    assert not job_from(document_of(client, job_id)).core.ready


def test_prices_sent_back_unchanged_state_nothing(client, job_id, work):
    url, post = f"/jobs/{job_id}/build", f"/jobs/{job_id}/prices"
    client.get(url, headers=HTML)
    work(client)
    mine = form(client, url, post)
    things = [k for k in mine if k.startswith("price.own_prices.")]
    assert len(things) >= 4, "resin sets, sheet, primer and pastes of the plan"
    send(client, post, mine)
    assert "price" not in document_of(client, job_id)


def test_the_galley_s_prices_are_shown_changed_and_kept(client):
    text = (EXAMPLES / "galley.toml").read_text("utf-8")
    document = tomllib.loads(text)
    score = document["finish"]["score"]
    job = client.store.jobs.create(document, {score: (EXAMPLES / score).read_text("utf-8")}).id
    url, post = f"/jobs/{job}/build", f"/jobs/{job}/prices"
    mine = form(client, url, post)
    assert mine["price.hourly"] == "38.00 GBP" and mine["price.tax"] == "20 %"
    assert mine["price.not_included"].splitlines()[0] == "plumbing in the sink"
    before = job_from(document_of(client, job)).price
    send(client, post, mine)
    assert job_from(document_of(client, job)).price == before
    send(client, post, {
        **mine, "price.hourly": "42.50", "price.per_distance": "GBP 0.50/km", "price.markup": "30 %",
        "price.other": "sheet-foam-2440x1220", "price.other_price": "61",
        "price.stages.0.share": "50 %", "price.stages.1.share": "20 %",
    })  # fmt: skip
    price = job_from(document_of(client, job)).price
    assert str(price.hourly) == "42.50 GBP" and price.markup == pytest.approx(0.3)
    assert [s.share for s in price.stages] == pytest.approx([0.5, 0.2, 0.3])
    assert price.own_prices["sheet-foam-2440x1220"].amount == Decimal("61")
    assert price.options == before.options, "what the form does not show stays"
    mine = form(client, url, post)
    assert mine["price.own_prices.sheet-foam-2440x1220"].startswith("61")
    send(client, post, {**mine, "price.own_prices.sheet-foam-2440x1220": ""})
    assert "sheet-foam-2440x1220" not in job_from(document_of(client, job)).price.own_prices


@pytest.mark.parametrize(
    ("field", "text"),
    [("price.hourly", "much"), ("price.tax", "-5 %"), ("price.per_distance", "0.45"),
     ("price.trips", "2.5"), ("price.stages.0.share", "90 %"), ("price.travel_time", "25"),
     ("price.other_price", "12.50")],
)  # fmt: skip
def test_wrong_prices_are_refused_and_kept_on_the_page(client, job_id, field, text):
    url, post = f"/jobs/{job_id}/build", f"/jobs/{job_id}/prices"
    answer = send(client, post, {**form(client, url, post), field: text}, 422)
    assert Fields(answer.text, post).found[field] == text
    assert 'role="alert"' in answer.text
    assert "price" not in document_of(client, job_id)


def test_german_decimals_in_prices():
    document = job_from(tomllib.loads((EXAMPLES / "galley.toml").read_text("utf-8"))).to_document()
    assert prices.value_of(document, "hourly", DE) == "38,00 GBP"
    made = prices.priced(document, {"price.hourly": "41,25", "price.round_price_to": "2,50"}, DE)
    assert made["price"]["hourly"] == "41.25 GBP" and made["price"]["round_price_to"] == "2.50"
    with pytest.raises(InputError):
        prices.priced(document, {"price.hourly": "41.25.3"}, DE)


def test_the_screen_says_first_how_many_limits_are_not_met(client, job_id, work):
    client.get(f"/jobs/{job_id}/build", headers=HTML)
    work(client)
    text = client.get(f"/jobs/{job_id}/build", headers=HTML).text
    plan = client.get(f"/api/jobs/{job_id}/plan").json()["plan"]
    bad = sum(c["passed"] == "no" for c in plan["checks"])
    first = text[text.index('<dl class="facts heads">') : text.index('id="b-core"')]
    assert "Limits not met" in first
    assert (f">{bad} of {len(plan['checks'])}</a>" in first) == (bad > 0)
    assert text.index('id="b-core"') < text.index('id="b-checks"') < text.index('id="b-cut"')


def test_bars_of_limits_far_missed_still_show_value_range_and_limit():
    check = {"value": 2.8, "limit": 1.6, "sense": "at most", "passed": "no",
             "spread": {"p05": 2.4, "p50": 2.8, "p95": 3.4}}  # fmt: skip
    b = build.spanned(check, marks.bar(check))
    assert not b["over"] and b["limit"] < b["low"] < b["value"] < b["high"] < marks.WIDE
    # all to one scale: value over limit is 2.8 / 1.6
    assert b["value"] / b["limit"] == pytest.approx(2.8 / 1.6, rel=1e-3)
    far = {**check, "value": 400.0, "spread": None}
    b = build.spanned(far, marks.bar(far))
    assert b["over"] and b["limit"] == build.LEAST_LIMIT and b["low"] is None
    fine = {**check, "value": 1.0}
    assert build.spanned(fine, marks.bar(fine)) == marks.bar(fine)
