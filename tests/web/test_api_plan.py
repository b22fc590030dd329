"""Plan, ribbon, drawings, papers, readings, steps and pictures of one small job."""

from __future__ import annotations

import io
import json
import tomllib
import zipfile
from datetime import date

import pytest
from PIL import Image

from pourwright.plan.new import new_job
from pourwright.web import work as work_module
from pourwright.web.settings import Settings

GROUP = pytest.mark.xdist_group("postgres")
BOTH = ["sqlite", pytest.param("postgres", marks=[pytest.mark.postgres, GROUP])]


@pytest.fixture(scope="module", params=BOTH)
def planned(request, tmp_path_factory):
    """A client on a store with one planned job (planned once for this module), on each database."""
    from starlette.testclient import TestClient

    from pourwright.web.app import create_app
    from pourwright.web.workers import run_task

    data = tmp_path_factory.mktemp("data")
    database = request.getfixturevalue("new_postgres")() if request.param == "postgres" else ""
    app = create_app(Settings(data=data, database=database, workers=False, demo=False))
    with TestClient(app, base_url="http://127.0.0.1:8737") as client:
        client.headers["X-Pourwright-Token"] = client.get("/api/session").json()["token"]
        document = tomllib.loads(new_job("Shelf", date(2027, 3, 15)))
        document["samples"] = 50
        document["surfaces"][0]["size"] = ["600 mm", "400 mm"]
        made = client.post(
            "/api/jobs", json={"document": json.loads(json.dumps(document, default=str))}
        )
        client.job = f"/api/jobs/{made.json()['id']}"

        def do():
            store = app.state.store
            for lane in ("plan", "picture"):
                while (task := store.tasks.claim(lane, "test", 1)) is not None:
                    run_task(store, task, "test", data)

        client.do = do
        assert client.get(f"{client.job}/plan?wait=0").status_code == 202
        do()
        yield client


def test_the_plan_is_kept_for_its_revision(planned):
    first = planned.get(f"{planned.job}/plan")
    assert first.status_code == 200
    body = first.json()
    assert body["revision"] == 1 and body["plan"]["name"] == "Shelf"
    assert body["plan"]["job"]["revision"] == 1
    assert planned.get(f"{planned.job}/plan").content == first.content
    assert [t["state"] for t in planned.get(f"{planned.job}/tasks").json()] == ["done"]


def test_the_ribbon_agrees_with_the_plan(planned):
    plan = planned.get(f"{planned.job}/plan").json()["plan"]
    steps = {s["id"]: s for d in plan["days"] for s in d["steps"]}
    for coat in plan["coats"]:
        r = planned.get(f"{planned.job}/ribbon/{coat['id']}").json()
        assert {"title", "start", "bands", "now_s"} <= set(r)
        for band in r["bands"]:
            n = len(band["t_s"])
            assert len(band["flow"]) == 3 and all(len(row) == n for row in band["flow"])
            assert len(band["air_degC"]) == n and n > 100
            low, mid, high = band["flow"]
            assert all(a <= b <= c for a, b, c in zip(low, mid, high, strict=True))
            assert mid == sorted(mid, reverse=True), "flow left never grows"
            assert all(w["start_s"] < w["end_s"] and w["text"] for w in band["words"])
            for pin in band["pins"]:
                step = steps[pin["step"]]
                at = work_module.date.fromisoformat(r["first_midnight"][:10])
                assert step["starts"][:10] >= at.isoformat()
                assert pin["done"] is False
        mine = {p["step"] for b in r["bands"] for p in b["pins"]}
        assert f"{coat['id']}-mix-1" in mine
    assert planned.get(f"{planned.job}/ribbon/nothing").status_code == 404


def test_pins_stand_at_their_step_s_clock_time(planned):
    from datetime import datetime, timedelta

    plan = planned.get(f"{planned.job}/plan").json()["plan"]
    steps = {s["id"]: s for d in plan["days"] for s in d["steps"]}
    r = planned.get(f"{planned.job}/ribbon/colour").json()
    first = datetime.fromisoformat(r["first_midnight"])
    seen = 0
    for pin in r["bands"][0]["pins"]:
        at = first + timedelta(seconds=pin["t_s"])
        starts = datetime.fromisoformat(steps[pin["step"]]["starts"])
        assert abs((at - starts).total_seconds()) < 60
        seen += 1
    assert seen >= 3


@pytest.mark.parametrize(
    "name", ["plan-view.svg", "cut-plan.svg", "ribbon/colour.svg", "drawings/surfaces.svg"]
)
def test_drawings_are_svg_without_script(planned, name):
    r = planned.get(f"{planned.job}/{name}")
    assert r.status_code == 200 and r.headers["content-type"].startswith("image/svg+xml")
    assert (
        b"<svg" in r.content
        and b"<script" not in r.content
        and b"http://" not in (r.content.replace(b"http://www.w3.org/", b""))
    )
    assert r.headers["content-security-policy"].startswith("default-src 'none'")


def test_drawings_and_papers_that_do_not_exist(planned):
    for name in ("drawings/nothing.svg", "papers/nothing.pdf", "papers/..%2fx.pdf"):
        assert planned.get(f"{planned.job}/{name}").status_code == 404


def test_a_paper_is_set_once_a_day(planned, monkeypatch):
    from pourwright.web import deps

    monkeypatch.setattr(deps, "settled", lambda request, task, wait: _at_once(planned, task))
    first = planned.get(f"{planned.job}/run-sheet.pdf")
    assert first.status_code == 200 and first.content[:5] == b"%PDF-"
    assert first.headers["content-type"] == "application/pdf"
    monkeypatch.setattr(work_module, "do_task", None)  # a second setting would fail
    assert planned.get(f"{planned.job}/papers/runsheet.pdf").content == first.content


async def _at_once(client, task):
    client.do()
    return client.app.state.store.tasks.get(task.id)


def test_pictures_are_drawn_kept_and_not_drawn_twice(planned, monkeypatch):
    scenes = planned.get(f"{planned.job}/scenes").json()
    assert [s["board"] for s in scenes] == [False, True]
    asked = {"scene": scenes[0]["name"], "cell_mm": 12, "pixel_mm": 5, "seed": 3}
    r = planned.post(f"{planned.job}/pictures", json=asked)
    assert r.status_code == 202
    task = r.json()
    assert task["state"] == "waiting"
    assert planned.post(f"{planned.job}/pictures", json=asked).json()["task"] == task["task"]
    planned.do()
    done = planned.get(f"/api/tasks/{task['task']}").json()
    assert (done["state"], done["share"]) == ("done", 1.0), done["error"]
    assert len(done["result"]["urls"]) == len(done["result"]["pictures"]) >= 3
    for url in done["result"]["urls"]:
        big, small = planned.get(url), planned.get(f"{url}?small=1")
        assert big.headers["content-type"] == "image/png"
        assert max(Image.open(io.BytesIO(small.content)).size) <= 560
        Image.open(io.BytesIO(big.content)).verify()
    listed = planned.get(f"{planned.job}/pictures").json()
    assert {p["sort"] for p in listed} == {"sheet", "view", "texture"}
    assert all(
        p["current"] and p["seed"] == 3 and len(p["about"]["outline_m"]) >= 4 for p in listed
    )
    line = planned.get("/api/jobs").json()[0]
    assert planned.get(line["picture"]).status_code == 200

    from pourwright.plan import picture

    def not_again(*_a, **_k):
        raise AssertionError("drawn again")

    monkeypatch.setattr(picture, "draw", not_again)
    again = planned.post(f"{planned.job}/pictures", json=asked).json()
    assert again["task"] != task["task"]
    planned.do()
    found = planned.get(f"/api/tasks/{again['task']}").json()
    assert found["state"] == "done" and found["result"] == done["result"]


def test_a_picture_of_an_unknown_scene_fails_in_plain_words(planned):
    r = planned.post(f"{planned.job}/pictures", json={"scene": "nowhere"}).json()
    planned.do()
    found = planned.get(f"/api/tasks/{r['task']}").json()
    assert found["state"] == "failed" and found["error"]["field"] == "scene"


def test_too_fine_a_picture_is_refused_at_once(planned):
    for bad in ({"cell_mm": 0.1}, {"pixel_mm": 0}, {"seeds": [1] * 9}, {"seed": -1}, {"x": 1}):
        assert planned.post(f"{planned.job}/pictures", json=bad).status_code == 422


def test_a_step_that_happened_and_one_that_did_not(planned):
    plan = planned.get(f"{planned.job}/plan").json()["plan"]
    first = plan["days"][0]["steps"][0]
    path = f"{planned.job}/steps/{first['id']}"
    assert planned.post(f"{planned.job}/steps/dance", json={}).status_code == 422
    wrong = {"start": first["ends"], "finish": first["starts"]}
    assert planned.post(path, json=wrong).status_code == 422
    assert planned.post(path, json={"start": "soon"}).status_code == 422
    noted = planned.post(path, json={"start": first["starts"], "finish": first["ends"]})
    assert noted.status_code == 201
    assert first["id"] in planned.get(f"{planned.job}/steps").json()
    assert planned.get(f"{planned.job}/plan?wait=0").status_code == 202, "planned again"
    assert planned.delete(path).status_code == 200
    assert planned.get(f"{planned.job}/plan?wait=0").status_code == 200, "the old plan is kept"
    for task in planned.get(f"{planned.job}/tasks").json():
        planned.post(f"/api/tasks/{task['task']}/cancel")


def test_a_reading_makes_a_revision_and_can_be_undone(planned):
    before = planned.get(planned.job).json()["revision"]
    body = {"day": 1, "at": "09:40", "temperature": "61 degF"}
    made = planned.post(f"{planned.job}/readings", json=body)
    assert made.status_code == 201
    assert made.json()["document"]["site"]["measured"] == [body]
    body["temperature"] = 16.5
    again = planned.post(f"{planned.job}/readings", json=body).json()
    assert [m["temperature"] for m in again["document"]["site"]["measured"]] == ["16.5 degC"]
    assert again["revision"] == before + 2
    assert planned.post(f"{planned.job}/undo").json()["revision"] == before + 1
    for bad in ({"at": "25:00"}, {"day": -1}, {"temperature": "hot"}, {"temperature": "900 degC"}):
        assert planned.post(f"{planned.job}/readings", json={**body, **bad}).status_code == 422
    planned.post(f"{planned.job}/undo")
    assert "measured" not in planned.get(planned.job).json()["document"]["site"]
    assert any(x["kind"] == "reading" for x in planned.get(f"{planned.job}/log").json())


def test_a_job_that_cannot_be_planned_says_why(planned):
    job = planned.get(planned.job).json()
    document = {**job["document"], "core": {"material": "no-such-board"}}
    bad = planned.post("/api/jobs", json={"document": document}).json()["id"]
    assert planned.get(f"/api/jobs/{bad}/plan?wait=0").status_code == 202
    planned.do()
    for name in ("plan", "ribbon/colour", "plan-view.svg"):
        r = planned.get(f"/api/jobs/{bad}/{name}")
        assert r.status_code == 422 and r.json()["error"]["field"] == "core.material"


def test_a_fault_of_the_program_is_said_without_a_traceback(planned, monkeypatch):
    job = planned.get(planned.job).json()
    new = planned.post("/api/jobs", json={"document": {**job["document"], "seed": 99}}).json()["id"]

    def broken(*_a):
        raise ZeroDivisionError("secret inside")

    planned.get(f"/api/jobs/{new}/plan?wait=0")
    monkeypatch.setattr(work_module, "working", broken)
    planned.do()
    r = planned.get(f"/api/jobs/{new}/plan")
    assert r.status_code == 500 and "Traceback" not in r.text
    log = planned.app.state.settings.data / "faults.log"
    assert "Traceback" in log.read_text() and "ZeroDivisionError" in log.read_text()


def test_a_client_sees_one_revision_and_signs_it(planned):
    made = planned.post(f"{planned.job}/links", json={"days": 5})
    assert made.status_code == 201
    api = "/api" + made.json()["address"]
    seen = planned.get(api).json()
    assert seen["name"] == "Shelf" and "document" not in seen and "price" not in json.dumps(seen)
    for url in seen["pictures"]:
        assert planned.get(url).content[:4] == b"\x89PNG"
    assert planned.get(f"{api}/pictures/other.png").status_code == 404
    signed = planned.post(f"{api}/sign", json={"name": "Client Name", "date": "2027-03-10"})
    assert signed.json()["signed_name"] == "Client Name"
    (line,) = planned.get(f"{planned.job}/links").json()
    assert line["signed_name"] == "Client Name" and "address" not in line
    assert planned.delete(f"{planned.job}/links/{line['mark']}").status_code == 200
    assert planned.get(api).status_code == 404


def test_ticks_and_log(planned):
    assert planned.post(f"{planned.job}/ticks/cup:a").json() == {"key": "cup:a", "on": True}
    assert list(planned.get(f"{planned.job}/ticks").json()) == ["cup:a"]
    planned.post(f"{planned.job}/ticks/cup:a", json={"on": False})
    assert planned.get(f"{planned.job}/ticks").json() == {}
    note = {"kind": "note", "text": "dust on the film", "mark": "t1:1"}
    a = planned.post(f"{planned.job}/log", json=note).json()
    assert planned.post(f"{planned.job}/log", json=note).json() == a
    after = planned.get(f"{planned.job}/log?after={a['id'] - 1}").json()
    assert [x["text"] for x in after] == ["dust on the film"]


def test_files_to_take_away(planned):
    sheet = planned.get(f"{planned.job}/exports/tables.xlsx")
    assert sheet.status_code == 200 and sheet.content[:2] == b"PK"
    assert sheet.headers["content-disposition"].startswith("attachment")
    tables = zipfile.ZipFile(io.BytesIO(planned.get(f"{planned.job}/exports/tables.zip").content))
    assert any(n.startswith("steps") for n in tables.namelist())
    text = planned.get(f"{planned.job}/exports/plan.ics").text
    assert text.startswith("BEGIN:VCALENDAR") and "BEGIN:VALARM" in text
    assert b"ENTITIES" in planned.get(f"{planned.job}/exports/cut-plan.dxf").content
    assert planned.get(f"{planned.job}/exports/model.glb").content[:4] == b"glTF"
    assert planned.get(f"{planned.job}/exports/nothing.txt").status_code == 404


def test_a_drawing_comes_in_as_surfaces_that_the_job_takes(planned):
    import ezdxf

    doc = ezdxf.new()
    doc.header["$INSUNITS"] = 4
    space = doc.modelspace()
    space.add_lwpolyline([(100, 50), (1300, 50), (1300, 650), (100, 650)], close=True)
    space.add_lwpolyline([(500, 200), (900, 200), (900, 500), (500, 500)], close=True)
    out = io.StringIO()
    doc.write(out)
    r = planned.post(f"{planned.job}/drawing", files={"file": ("x.dxf", out.getvalue().encode())})
    assert r.status_code == 200, r.text
    (surface,) = r.json()["surfaces"]
    assert r.json()["unit"] == "mm" and len(surface["cut_outs"]) == 1
    assert {c[0] for c in surface["outline"]} == {"0 mm", "1200 mm"}
    job = planned.get(planned.job).json()
    made = planned.post("/api/jobs", json={"document": {**job["document"], "surfaces": [surface]}})
    assert made.status_code == 201, made.text


@pytest.mark.parametrize(
    "raw",
    [
        b"", b"\x00" * 5000, b"PK\x03\x04" + b"\x00" * 3000, b"0\nSECTION\n" * 40_000,
        b"0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n90\n999999999\n0\nENDSEC\n0\nEOF\n",
        b"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n" + b"9" * 4000 + b"\n0\nENDSEC\n0\nEOF\n",
        b"Some Binary DXF\r\n\x1a\x00" + b"\xff" * 4000,
    ],
)  # fmt: skip
def test_broken_drawings_are_refused_in_plain_words(planned, raw):
    r = planned.post(f"{planned.job}/drawing", files={"file": ("x.dxf", raw)})
    assert r.status_code == 422 and r.json()["error"]["remedy"], r.text


def test_a_giant_drawing_is_refused_before_it_is_read(planned):
    big = b"0\nSECTION\n" + b"999\nx\n" * 1_600_000
    r = planned.post(f"{planned.job}/drawing", files={"file": ("x.dxf", big)})
    assert r.status_code == 422 and "MB" in r.json()["error"]["limit"]
    huge = planned.post(f"{planned.job}/drawing", files={"file": ("x.dxf", big * 4)})
    assert huge.status_code == 413


def test_a_plan_asked_for_meanwhile_takes_the_place_of_the_old_one(planned):
    job = planned.get(planned.job).json()
    new = planned.post("/api/jobs", json={"document": {**job["document"], "seed": 7}}).json()
    path = f"/api/jobs/{new['id']}"
    first = planned.get(f"{path}/plan?wait=0").json()["task"]
    body = {"base_revision": 1, "document": {**new["document"], "seed": 8}}
    planned.put(path, json=body)
    second = planned.get(f"{path}/plan?wait=0").json()["task"]
    assert second["task"] != first["task"]
    assert planned.get(f"/api/tasks/{first['task']}").json()["state"] == "cancelled"
    planned.post(f"/api/tasks/{second['task']}/cancel")
