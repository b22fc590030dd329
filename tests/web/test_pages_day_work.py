"""Holds, cups, lost days, papers and the record of one planned job, as forms and as JSON."""

from __future__ import annotations

import io
import re
import tomllib
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.record import read_record
from pourwright.web import written
from pourwright.web.app import create_app
from pourwright.web.pages import aftermath, cups, entries, holds, lost
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import Words
from pourwright.web.settings import Settings
from pourwright.web.workers import run_task

HTML = {"accept": "text/html"}
pytestmark = pytest.mark.xdist_group("day-work")  # its tests go on from one another
EN, DE, US = (Show(u, Words(w)) for u, w in (("metric", "en"), ("metric", "de"), ("us", "en")))
TODAY = date.today()
EXAMPLES = Path(__file__).parents[2] / "examples"


class Shop:
    """A running app in this process with one planned job that began yesterday."""

    def __init__(self, client, data: Path) -> None:
        self.client, self.data = client, data
        self.store = client.app.state.store

    def work(self) -> int:
        """Do all waiting tasks as a worker would; returns how many."""
        count = 0
        for lane in ("plan", "picture"):
            while (task := self.store.tasks.claim(lane, "test", 1)) is not None:
                run_task(self.store, task, "test", self.data)
                ended = self.store.tasks.get(task.id)
                assert ended.state in ("done", "cancelled"), ended.error
                count += 1
        return count

    def see(self, path: str, status: int = 200) -> str:
        """A page, its plan worked out."""
        for _ in range(3):
            answer = self.client.get(path, headers=HTML)
            if not self.work():
                break
        assert answer.status_code == status, answer.text[:1500]
        return str(answer.text)

    def send(self, path: str, data: dict, status: int = 303, **more):
        """A form sent as a browser without scripts would."""
        answer = self.client.post(path, data=data, headers=HTML, follow_redirects=False, **more)
        assert answer.status_code == status, answer.text[:1500]
        return answer

    def plan(self, job: str) -> dict:
        """The plan as data."""
        self.see(f"/jobs/{job}/mix")
        return self.client.get(f"/api/jobs/{job}/plan").json()["plan"]

    def document(self, job: str) -> dict:
        """The job as stored."""
        return self.client.get(f"/api/jobs/{job}").json()["document"]

    def log(self, job: str) -> list[dict]:
        """What happened."""
        return self.client.get(f"/api/jobs/{job}/log").json()


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    from starlette.testclient import TestClient

    data = tmp_path_factory.mktemp("shop")
    app = create_app(Settings(data=data, workers=False, demo=False))
    with TestClient(app, base_url="http://127.0.0.1:8737") as client:
        client.headers["X-Pourwright-Token"] = client.get("/api/session").json()["token"]
        yield Shop(client, data)


def small(**change) -> dict:
    from pourwright.plan.new import new_job

    made = tomllib.loads(new_job("Shelf", TODAY - timedelta(days=1)))
    made["surfaces"][0]["size"] = ["600 mm", "400 mm"]
    days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
    site = {**made["site"], "start": (TODAY - timedelta(days=1)).isoformat(),
            "hours": {"from": "06:00", "to": "22:00", "weekdays": days}}  # fmt: skip
    return {**made, "samples": 50, "site": site, **change}


@pytest.fixture(scope="module")
def job(shop) -> str:
    shop.store.jobs.create(small(), {}, "test", job_id="shelf")
    shop.see("/jobs/shelf/day")
    return "shelf"


# hold points --------------------------------------------------------------------------------------

MARGIN = {"name": "air.margin", "title": "surface above the dew point", "value": 3.2, "unit": "K",
          "limit": 3.0, "sense": "at least", "passed": "unsure"}  # fmt: skip
COLD = {**MARGIN, "unit": "degC", "limit": 15.0}
SLOPE = {**MARGIN, "unit": "mm/m", "limit": 2.0, "sense": "at most"}


@pytest.mark.parametrize(
    ("text", "check", "show", "value"),
    [
        ("4", MARGIN, EN, 4.0), ("4.1 K", MARGIN, EN, 4.1), ("4,1", MARGIN, DE, 4.1),
        ("4 °C", MARGIN, EN, 4.0), ("9", MARGIN, US, 5.0), ("9 °F", MARGIN, EN, 5.0),
        ("17", COLD, EN, 17.0), ("63 °F", COLD, EN, 155 / 9), ("62.6", COLD, US, 17.0),
        ("1.5", SLOPE, EN, 1.5), ("1.5 mm/m", SLOPE, EN, 1.5), ("−3", COLD, EN, -3.0),
    ],
)  # fmt: skip
def test_a_measured_value_is_read_in_the_unit_beside_its_field(text, check, show, value):
    assert holds.measured_value(text, check, show) == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize("text", ["warm", "17 kg", "1,250.5", "", "--3", "4 mm"])
def test_a_value_that_cannot_be_meant_is_refused(text):
    for check in (MARGIN, COLD):
        with pytest.raises(InputError) as err:
            holds.measured_value(text, check, EN)
        assert err.value.field == "value" and err.value.remedy


def test_the_limit_itself_holds_and_a_hair_beyond_does_not():
    assert holds.judged(MARGIN, 3.0) == "met" and holds.judged(MARGIN, 2.999) == "failed"
    assert holds.judged(SLOPE, 2.0) == "met" and holds.judged(SLOPE, 2.001) == "failed"


def test_a_hold_point_is_ticked_fails_says_stop_and_holds_again(shop, job):
    plan = shop.plan(job)
    hold = next(h for h in plan["holds"] if h["check"]["name"] == "air.window.cold"
                and h["step"] == "colour-mix-1")  # fmt: skip
    ident = f"{hold['step']}:air.window.cold"
    day = next(d["date"] for d in plan["days"] for s in d["steps"] if s["id"] == hold["step"])
    url, page = f"/jobs/{job}/holds", f"/jobs/{job}/day?date={day}"
    limit = hold["check"]["limit"]
    shop.send(url, {"hold": ident, "do": "met", "value": f"{limit - 4:g}", "date": day})
    text = shop.see(page)
    assert re.search(r'class="notice bad stop".*?Coldest air', text, re.S)
    assert f"{limit - 4:g} °C" in text and 'class="hold failed"' in text
    floor = shop.see(f"/jobs/{job}/floor?step=colour-mix-1")
    assert 'class="halt"' in floor
    kept = shop.log(job)[-1]
    assert kept["kind"] == "hold" and kept["data"]["hold"]["value"] == pytest.approx(limit - 4)
    assert kept["who"] and kept["data"]["hold"]["state"] == "failed", "a measured value decides"
    shop.send(url, {"hold": ident, "do": "met", "value": f"{limit + 2:g} °C", "date": day})
    text = shop.see(page)
    assert "notice bad stop" not in text and 'class="hold met"' in text
    shop.send(url, {"hold": ident, "do": "open", "date": day})
    assert 'class="hold met"' not in shop.see(page)
    shop.send(url, {"hold": ident, "do": "perhaps"}, 422)
    shop.send(url, {"hold": ident, "do": "met", "value": "warm"}, 422)
    shop.send(url, {"hold": "nothing:at-all", "do": "met"}, 404)
    assert [x["kind"] for x in shop.log(job)].count("hold") == 3, "the log keeps every one"


def test_a_hold_point_that_is_only_looked_at_and_the_floor_data(shop, job):
    plan = shop.plan(job)
    data = shop.client.get(f"/api/jobs/{job}/floor").json()
    steps = {s["id"]: s for d in data["days"] for s in d["steps"]}
    assert set(steps) == {s["id"] for d in plan["days"] for s in d["steps"]}
    looked = [h for s in steps.values() for h in s["holds"] if not h["measures"]]
    assert looked and data["units"] == "metric" and data["first"] < TODAY.isoformat()
    one = looked[0]
    answer = shop.client.post(f"/api/jobs/{job}/holds", json={"hold": one["id"], "do": "failed"},
                              headers={"X-Pourwright-Mark": "h-1"})  # fmt: skip
    assert answer.status_code == 201 and answer.json()["state"] == "failed"
    again = shop.client.post(f"/api/jobs/{job}/holds", json={"hold": one["id"], "do": "failed"},
                             headers={"X-Pourwright-Mark": "h-1"})  # fmt: skip
    assert again.status_code == 201
    assert sum(x["data"].get("hold", {}).get("id") == one["id"] for x in shop.log(job)) == 1
    shop.client.post(f"/api/jobs/{job}/holds", json={"hold": one["id"], "do": "met"})
    views = holds.hold_views(plan, shop.store.happened.log(job), EN)
    assert next(h for v in views.values() for h in v if h["id"] == one["id"])["state"] == "met"


def test_us_jobs_show_us_units_in_their_holds():
    plan = {"holds": [{"step": "a", "check": {**COLD, "criterion": "x", "remedies": [],
                                              "caution": ""}}],
            "days": [{"steps": [{"id": "a", "holds": ["x: x"]}]}]}  # fmt: skip
    (view,) = holds.hold_views(plan, [], US)["a"]
    assert view["limit"] == "at least 59 °F" and view["unit"] == "°F"


# cups ---------------------------------------------------------------------------------------------


def first_cup(plan) -> tuple[dict, dict, str]:
    coat = plan["coats"][0]
    cup = next(c for c in coat["cups"] if c["role"] == "field")
    return coat, cup, f"{coat['id']}/{cup['id']}"


def test_a_cup_ticked_off_stands_in_the_record_as_on_its_card(shop, job):
    plan = shop.plan(job)
    _, cup, key = first_cup(plan)
    shop.send(f"/jobs/{job}/mix/tick", {"cup": key, "mixed": "yes"})
    assert 'class="cup mixed"' in shop.see(f"/jobs/{job}/mix")
    entry = shop.log(job)[-2]["data"]["entry"]
    assert read(entry["a"], "mass") * 1e3 == pytest.approx(cup["a_g"], rel=1e-5)
    assert entry["note"] == "as on the card" and entry["cup"] == key
    shop.send(f"/jobs/{job}/mix/tick", {"cup": key, "mixed": ""})
    assert shop.store.happened.ticks(job) == {}
    record = written.record_of(shop.store, shop.store.jobs.get(job))
    assert record.of_kind("cup") == [] and len(record.entries) >= 2, "struck, not rubbed out"


def test_what_a_cup_weighed_its_lots_and_a_correction(shop, job):
    plan = shop.plan(job)
    _, cup, key = first_cup(plan)
    url = f"/jobs/{job}/mix/tick"
    given = {"cup": key, "mixed": "yes", "a": f"{cup['read_a'] + 3:g}", "b": "", "lot_a": "A-77",
             "lot_b": "B-78", "mixing": "4 min", "at": "10:15"}  # fmt: skip
    shop.send(url, given)
    (kept,) = written.record_of(shop.store, shop.store.jobs.get(job)).of_kind("cup")
    grams = cup["read_a"] + 3 if cup["read_by"] == "g" else None
    if grams is not None:
        assert kept.a * 1e3 == pytest.approx(grams + cup["less_a_g"], rel=1e-6)
    assert kept.b * 1e3 == pytest.approx(cup["b_g"], rel=1e-5), "left empty: as on the card"
    assert (kept.lot_a, kept.mixing, f"{kept.at:%H:%M}") == ("A-77", 240.0, "10:15")
    page = shop.see(f"/jobs/{job}/mix")
    assert "A-77" in page and 'value="A-77"' in page, "the next cup has the same lot ready"
    shop.send(url, {**given, "b": f"{cup['read_b'] - 2:g} g", "mixed": "again"})
    (now,) = written.record_of(shop.store, shop.store.jobs.get(job)).of_kind("cup")
    assert now.instead_of == kept.id and now.b * 1e3 == pytest.approx(cup["read_b"] - 2, rel=1e-6)
    answer = shop.send(url, {**given, "a": "4000 g"}, 422)
    assert "far from it" in answer.text and 'value="4000 g"' in answer.text
    shop.send(url, {**given, "a": "much"}, 422)
    shop.send(url, {"cup": "colour/9Z", "mixed": "yes"}, 404)
    shop.send(url, {"cup": "x", "mixed": "yes"}, 422)
    shop.send(url, {"cup": key, "mixed": ""})


def test_a_cup_sent_twice_by_a_tablet_counts_once(shop, job):
    _, _, key = first_cup(shop.plan(job))
    for _ in range(2):
        answer = shop.client.post(f"/api/jobs/{job}/cups", json={"cup": key, "at": "11:00"},
                                  headers={"X-Pourwright-Mark": "cup-twice"})  # fmt: skip
        assert answer.status_code == 201, answer.text
    lines = [
        x for x in shop.log(job) if x["data"].get("entry", {}).get("at", "").endswith("11:00:00")
    ]
    assert len(lines) == 1
    shop.send(f"/jobs/{job}/mix/tick", {"cup": key, "mixed": ""})


def test_one_cup_in_large_type_leads_on_to_the_next(shop, job):
    plan = shop.plan(job)
    keys = [f"{c['id']}/{i}" for c in plan["coats"] for b in c["batches"] for i in b["cups"]]
    text = shop.see(f"/jobs/{job}/mix/cup")
    assert keys[0].partition("/")[2] in text and 'class="huge"' in text
    answer = shop.send(f"/jobs/{job}/mix/tick", {"cup": keys[0], "mixed": "yes", "from": "one",
                                                 "next": keys[1]})  # fmt: skip
    assert answer.headers["location"].endswith(f"cup={keys[1]}")
    shop.send(f"/jobs/{job}/mix/tick", {"cup": keys[0], "mixed": ""})
    assert "Caution" in text


@pytest.mark.parametrize(("show", "number", "unit"), [(EN, "260", "g"), (US, "9.17", "oz")])
def test_numbers_on_a_card_are_in_the_jobs_units(show, number, unit):
    assert cups.reading(260.0, "g", show)[:2] == (number, unit)
    assert cups.reading(100.0, "mL", US)[:2] == ("3.4", "fl oz")


# readings, lost days ------------------------------------------------------------------------------


def test_a_reading_is_taken_back_by_form_and_by_the_ribbon(shop, job):
    day = TODAY.isoformat()
    shop.send(f"/jobs/{job}/readings", {"date": day, "at": "09:00", "tap": "18 degC"})
    shop.send(f"/jobs/{job}/readings", {"date": day, "at": "10:00", "tap": "19 degC"})
    assert len(shop.document(job)["site"]["measured"]) == 2
    page = shop.see(f"/jobs/{job}/day?date={day}")
    assert page.count('action="/jobs/shelf/readings/back"') == 2
    back = f"/jobs/{job}/readings/back"
    shop.send(back, {"day": "1", "at": "09:00", "date": day})
    assert [m["at"] for m in shop.document(job)["site"]["measured"]] == ["10:00"]
    shop.send(back, {"day": "1", "at": "09:00"}, 404)
    shop.send(back, {"day": "x", "at": "09:00"}, 404)
    gone = shop.client.delete(f"/api/jobs/{job}/readings?day=1&at=10:00")
    assert gone.status_code == 200 and shop.document(job)["site"]["measured"] == []
    assert shop.client.delete(f"/api/jobs/{job}/readings?day=1&at=10:00").status_code == 404


def test_a_lost_day_is_looked_at_planned_with_and_taken_back(shop, job):
    plan = shop.plan(job)
    day = next(
        d["date"] for d in plan["days"] if any(s["id"] == "colour-mix-1" for s in d["steps"])
    )
    url = f"/jobs/{job}/day/lost"
    where = shop.send(url, {"date": day, "do": "look"}).headers["location"].partition("#")[0]
    text = shop.see(where)
    assert re.search(r'class="then".*?instead of', text, re.S), "what happens then stands there"
    assert "lost" not in shop.document(job)["site"] or shop.document(job)["site"]["lost"] == []
    shop.send(url, {"date": day, "do": "lose"})
    assert shop.document(job)["site"]["lost"] == [day]
    later = shop.plan(job)
    poured = next(
        s["starts"] for d in later["days"] for s in d["steps"] if s["id"] == "colour-mix-1"
    )
    assert poured[:10] > day, "nothing is poured on a lost day"
    assert "It is not lost after all" in shop.see(f"/jobs/{job}/day")
    shop.send(url, {"date": day, "do": "back"})
    assert not shop.document(job)["site"].get("lost")
    assert shop.plan(job)["finish"] == plan["finish"]
    shop.send(url, {"date": "soon", "do": "look"}, 422)
    shop.send(url, {"date": day, "do": "dance"}, 422)


def test_a_lost_day_says_what_moves_and_what_is_new():
    found = {"date": "2027-03-18", "finish": "2027-03-22T13:00:00",
             "finish_then": "2027-03-24T13:00:00", "serve_then": None,
             "moved": [{"title": f"step {k}", "from": "2027-03-18T10:00:00",
                        "to": f"2027-03-19T1{k}:00:00"} for k in range(8)],
             "more": [{"title": "Sand", "to": "2027-03-19T08:00:00", "why": "closed"}],
             "fewer": [], "holds": [], "warnings": ["at least 15 degC"]}  # fmt: skip
    view = lost.lost_view(found, US)
    assert view["days"] == 2 and view["later"] and view["moved_more"] == 2
    assert view["warnings"] == ["at least 59 °F"] and view["more"][0]["title"] == "Sand"


# the record ---------------------------------------------------------------------------------------


def test_every_kind_of_entry_is_written_in_the_readers_units():
    now = datetime(2027, 3, 18, 15, 4, 30)
    e = entries.typed("reading", {"temperature": "64.4", "humidity": "60"}, US, now)
    assert read(e["temperature"], "temperature") == pytest.approx(291.15) and e["at"].minute == 4
    e = entries.typed("look", {"stage": "tack-free", "of": "flood/1A", "seen": "yes"}, EN, now)
    assert (e["coat"], e["seen"]) == ("flood", True)
    e = entries.typed("account", {"coat": "colour", "ran_off": "120", "date": "2027-03-19",
                                  "at": "08:30"}, EN, now)  # fmt: skip
    assert read(e["ran_off"], "mass") == pytest.approx(0.12)
    assert e["at"] == datetime(2027, 3, 19, 8, 30)
    e = entries.typed("check", {"what": "hardness", "shore_d": "62,5", "release": "clean"}, DE, now)
    assert e["shore_d"] == 62.5 and "release" not in e
    with pytest.raises(InputError):
        entries.typed("look", {"stage": "cup gel", "of": "colour"}, EN, now)
    with pytest.raises(InputError):
        entries.typed("photo", {}, EN, now)
    with pytest.raises(InputError):
        entries.typed("note", {"at": "soon"}, EN, now)


@pytest.fixture(autouse=True)
def rec(request):
    """The job `rec` is there for each test, in whichever process it runs."""
    if "shop" in request.fixturenames:
        shop = request.getfixturevalue("shop")
        if "rec" not in shop.store.jobs.ids():
            shop.store.jobs.create(small(), {}, "test", job_id="rec")


def test_entries_go_to_the_record_and_to_the_plan_and_are_taken_back(shop):
    url = "/jobs/rec/record"
    plan = shop.plan("rec")
    for kind in entries.KINDS:
        assert f'name="kind" value="{kind}"' in shop.see(f"{url}?write={kind}")
    day = TODAY.isoformat()
    shop.send(url, {"kind": "reading", "temperature": "18 °C", "humidity": "55", "date": day,
                    "at": "07:30"})  # fmt: skip
    assert shop.document("rec")["site"]["measured"][0]["at"] == "07:30"
    shop.send(url, {"kind": "look", "stage": "tack-free", "of": "colour", "seen": "no", "date": day,
                    "at": "18:00"})  # fmt: skip
    assert shop.document("rec")["site"]["seen"][0]["coat"] == "colour"
    shop.send(url, {"kind": "note", "text": "doors <b>shut</b>", "date": day, "at": "08:00"})
    shop.send(
        url, {"kind": "check", "what": "hardness", "shore_d": "61", "date": day, "at": "19:00"}
    )
    text = shop.see(url)
    assert "doors &lt;b&gt;shut&lt;/b&gt;" in text and "61 Shore D" in text
    assert "colour coat: not yet tack-free" in text
    number = next(e.id for e in written.record_of(shop.store, shop.store.jobs.get("rec")).entries
                  if e.kind == "reading")  # fmt: skip
    shop.send(f"{url}/strike", {"of": number})
    assert shop.document("rec")["site"]["measured"] == []
    assert re.search(r'<li class="gone">.*?room 18', shop.see(url), re.S)
    shop.send(f"{url}/strike", {"of": "e9999"}, 422)
    for bad in ({"kind": "note", "text": " "}, {"kind": "fault", "fault": "gremlin"},
                {"kind": "reading", "temperature": "warm"}, {"kind": "magic"},
                {"kind": "reading"}):  # fmt: skip
        answer = shop.send(url, bad, 422)
        assert "notice bad" in answer.text
    assert plan


def test_the_record_file_is_read_by_the_command_line(shop, tmp_path):
    text = shop.client.get("/jobs/rec/record.json").text
    file = tmp_path / "rec.record.json"
    file.write_text(text, encoding="utf-8")
    found = read_record(file)
    assert found.changed_by_hand() == [] and found.of_kind("check")[0].shore_d == 61
    data = shop.client.get("/api/jobs/rec/entries").json()
    assert len(data["entries"]) == len(found.entries)


def test_a_logger_file_is_taken_in_once_with_its_spike_left_out(shop):
    rows = ["time,temperature degC,humidity %"]
    start = datetime.combine(TODAY, datetime.min.time())
    for k in range(40):
        t = start + timedelta(minutes=15 * k)
        rows.append(f"{t:%Y-%m-%d %H:%M},{45 if k == 20 else 17 + 0.02 * k:.2f},{60 + 0.1 * k:.1f}")
    raw = "\n".join(rows).encode()
    file = {"file": ("log.csv", raw, "text/csv")}
    shop.send("/jobs/rec/record", {"kind": "logger", "dates": "guess"}, files=file)
    measured = shop.document("rec")["site"]["measured"]
    degc = [read(m["temperature"], "temperature") - 273.15 for m in measured]
    assert 15 <= len(measured) <= 21 and max(degc) < 20, "one in half an hour, the spike left out"
    answer = shop.send("/jobs/rec/record", {"kind": "logger"}, 422, files=file)
    assert "taken in before" in answer.text
    bad = {"file": ("log.csv", b"\x89PNG", "text/csv")}
    shop.send("/jobs/rec/record", {"kind": "logger"}, 422, files=bad)


def test_a_photo_is_turned_upright_and_its_hidden_data_are_gone(shop):
    from PIL import Image

    image = Image.new("RGB", (80, 40), (200, 60, 40))
    exif = Image.Exif()
    exif[0x0112] = 6  # lies on its side
    exif[0x010F] = "some camera"
    exif.get_ifd(0x8825)[1] = "N"  # a place
    raw = io.BytesIO()
    image.save(raw, "JPEG", exif=exif)
    file = {"file": ("p.jpg", raw.getvalue(), "image/jpeg")}
    shop.send("/jobs/rec/record", {"kind": "photo", "caption": "by the sink"}, files=file)
    line = next(x for x in reversed(shop.log("rec")) if x["kind"] == "photo")
    name = line["data"]["entry"]["file"].removesuffix(".jpg")
    body = shop.client.get(f"/api/pictures/{name}.png").content
    with Image.open(io.BytesIO(body)) as seen:
        assert seen.size == (40, 80) and not dict(seen.getexif())
    assert b"some camera" not in body and "by the sink" in shop.see("/jobs/rec/record")
    bad = {"file": ("p.jpg", b"GIF89a no photo", "image/jpeg")}
    shop.send("/jobs/rec/record", {"kind": "photo"}, 422, files=bad)


def test_a_fault_has_ranked_causes_a_remedy_and_a_repair_job(shop):
    url = "/jobs/rec/record"
    shop.client.post(
        "/api/jobs/rec/entries", json={"kind": "fault", "fault": "blush", "coat": "colour"}
    )
    text = shop.see(url)
    shares = [float(x) for x in re.findall(r'<b class="num">(\d+) %</b>', text)]
    assert len(shares) >= 3 and shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(100, abs=len(shares))
    assert "Mend:" in text and "Caution" in text
    number = re.search(r'name="fault" value="(e\d+)"', text)
    assert number
    start = (TODAY + timedelta(days=7)).isoformat()
    where = shop.send(f"{url}/repair", {"fault": number[1], "start": start}).headers["location"]
    made = where.split("/")[2]
    assert shop.document(made)["site"]["start"] == start and made != "rec"
    planned = {s["id"] for d in shop.plan(made)["days"] for s in d["steps"]}
    assert "core-cut" not in planned and any("mix" in i for i in planned), "only what is left"
    assert f'href="/jobs/{made}/day"' in shop.see(url)
    shop.send(f"{url}/repair", {"fault": "e9999", "start": start}, 404)
    shop.send(f"{url}/repair", {"fault": number[1], "start": "soon"}, 422)


def test_money_spent_stands_against_the_plan(shop):
    url = "/jobs/rec/record"
    text = shop.see(url)
    fields = re.findall(r'name="spent\.(\w+)"', text)
    assert "resin" in fields and "labour" in fields
    shop.send(f"{url}/spent", {"spent.resin": "1,000.50"})
    text = shop.see(url)
    assert 'value="1000.50"' in text and "above the planned range" in text
    shop.send(f"{url}/spent", {"spent.resin": "-4"}, 422)
    shop.send(f"{url}/spent", {"spent.resin": "dear"}, 422)
    shop.send(f"{url}/spent", {"spent.resin": ""})
    assert aftermath.spent_of(shop.store.happened.log("rec")) == {}


def test_lessons_are_used_in_a_job_and_taken_out_again(shop):
    shop.store.jobs.create(small(), {}, "test", job_id="learner")
    plan = shop.plan("learner")
    url = "/jobs/learner/record"
    shop.send(f"{url}/learn", {"do": "learn"}, 422)
    shop.send(f"{url}/learn", {"do": "use"}, 422)
    day = TODAY.isoformat()
    for coat in plan["coats"][:1]:
        for cup in coat["cups"]:
            shop.send("/jobs/learner/mix/tick", {"cup": f"{coat['id']}/{cup['id']}", "mixed": "yes",
                                                 "at": "08:00", "lot_a": "L1", "lot_b": "L2"})  # fmt: skip
    late = datetime.now().replace(microsecond=0) + timedelta(hours=1)
    shop.send(url, {"kind": "account", "coat": "colour", "tools": "25 g", "ran_off": "60 g",
                    "date": day, "at": "12:00"})  # fmt: skip
    tomorrow = (late + timedelta(days=1)).date().isoformat()
    shop.send(url, {"kind": "look", "stage": "tack-free", "of": "colour", "seen": "yes",
                    "date": tomorrow, "at": "06:00"})  # fmt: skip
    shop.send(f"{url}/learn", {"do": "learn"})
    text = shop.see(url)
    assert text.count('class="ranged"') > 3 and "Use it in this job" in text
    assert "What the plan of this job would say then" in text
    before_all = shop.document("learner")
    shop.send(f"{url}/learn", {"do": "use"})
    taught = shop.document("learner")
    assert taught["products"] == [aftermath.PRODUCT]
    assert shop.store.jobs.get("learner").files[aftermath.PRODUCT].startswith("#")
    assert shop.plan("learner")["coats"][0]["id"] == "colour", "it plans with what was learned"
    assert "Take it out again" in shop.see(url)
    shop.send(f"{url}/learn", {"do": "back"})
    after = shop.document("learner")
    assert {k: v for k, v in after.items() if k != "revision"} == {
        k: v for k, v in before_all.items() if k != "revision"
    }, "the job stands as it stood"
    shop.send(f"{url}/learn", {"do": "back"}, 422)
    shop.send(f"{url}/learn", {"do": "dance"}, 422)


# papers -------------------------------------------------------------------------------------------


def test_every_paper_has_a_picture_of_its_first_page(shop, job):
    from PIL import Image

    from pourwright.web.pages.papers import ORDER

    shop.see(f"/jobs/{job}/papers")
    import threading

    stop = threading.Event()

    def keep_working() -> None:
        while not stop.wait(0.05):
            shop.work()

    thread = threading.Thread(target=keep_working)
    thread.start()
    try:
        for name in ORDER:
            for _ in range(60):
                answer = shop.client.get(f"/jobs/{job}/papers/{name}.png")
                if answer.status_code != 202:
                    break
            assert answer.status_code == 200, (name, answer.text)
            with Image.open(io.BytesIO(answer.content)) as page:
                assert page.width == 460 and page.height > 300
                assert len(page.convert("L").getcolors(256) or []) > 20, "it is not a blank sheet"
    finally:
        stop.set()
        thread.join()
    assert shop.client.get(f"/jobs/{job}/papers/nothing.png").status_code == 404


def test_the_size_of_all_papers_is_one_tap(shop, job):
    url = f"/jobs/{job}/papers/size"
    shop.send(url, {"size": "letter"})
    assert shop.document(job)["show"]["paper"] == "letter"
    shop.send(url, {"size": "foolscap"}, 422)
    shop.send(url, {"size": "a4"})


def test_the_language_of_all_papers_is_one_tap(shop, job):
    url = f"/jobs/{job}/papers/language"
    shop.send(url, {"language": "de"})
    assert shop.document(job)["show"]["language"] == "de"
    page = shop.see(f"/jobs/{job}/papers")
    assert re.search(r'value="de" lang="de" aria-pressed="true"', page)
    shop.send(url, {"language": "la"}, 422)
    shop.send(url, {"language": "en"})


def test_options_of_the_quote_are_added_priced_and_taken_out(shop, job):
    url, page = f"/jobs/{job}/papers/options", f"/jobs/{job}/papers"
    form = {"option.name": "Ply core", "option.core": "ply-birch", "option.back": "",
            "option.topcoat": "", "option.says": ""}  # fmt: skip
    text = shop.see(page)
    core = re.search(r'<option value="(ply[\w-]*)"', text)
    assert core
    shop.send(url, {**form, "option.core": core[1]})
    assert shop.document(job)["price"]["options"][0]["change"] == {"core.material": core[1]}
    text = shop.see(page)
    assert "Ply core" in text and re.search(r"\(\+?-?[\d.]+ EUR; done", text)
    answer = shop.send(url, {**form, "option.core": ""}, 422)
    assert 'value="Ply core"' in answer.text, "what was typed stays"
    shop.send(url, {**form, "option.name": ""}, 422)
    shop.send(url, {**form, "option.core": core[1]}, 422)
    shop.send(url, {"remove": "0"})
    assert not (shop.document(job).get("price") or {}).get("options")
    shop.send(url, {"remove": "7"}, 422)
