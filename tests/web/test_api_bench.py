"""Single calculations, the catalogue, typed measures, settings, backup over HTTP."""

from __future__ import annotations

import io
import zipfile


def test_every_calculation_has_a_form_and_one_runs(client):
    listed = client.get("/api/calc").json()
    assert len(listed) > 30
    for c in listed:
        schema = client.get(f"/api/calc/{c['name']}").json()
        assert schema["input"]["properties"] and schema["sources"] and schema["example"]
    example = client.get("/api/calc/quantity.coverage").json()["example"]
    done = client.post("/api/calc/quantity.coverage", json=example).json()
    assert done["value"]["film_mm"] > 0 and done["sources"] and done["cautions"]


def test_a_bad_calculation_input_names_its_field(client):
    r = client.post("/api/calc/quantity.coverage", json={"film_mm": -1, "area_m2": 1})
    assert r.status_code == 422 and r.json()["error"]["field"] == "film_mm"
    assert client.post("/api/calc/none.none", json={}).status_code == 404


def test_what_a_typed_measure_means(client):
    said = client.post("/api/read", json={"text": "2' 3 1/2\"", "dimension": "length"}).json()
    assert abs(said["value"] - 0.6985) < 1e-12 and "698.5 mm" in said["echo"]
    comma = client.post("/api/read", json={"text": "2,5 mm", "dimension": "length", "locale": "de"})
    assert abs(comma.json()["value"] - 0.0025) < 1e-15
    bad = client.post("/api/read", json={"text": "seven", "dimension": "length"})
    assert bad.status_code == 422 and bad.json()["error"]["remedy"]


def test_the_catalogue_is_told_with_sources(client):
    kinds = client.get("/api/catalogue").json()
    assert {"resin", "core", "shade"} <= set(kinds)
    for kind in kinds:
        found = client.get(f"/api/catalogue/{kind}").json()
        assert found and all(m["id"] for m in found)


def test_shop_settings_are_kept(client):
    body = {"units": "us", "language": "de", "currency": "USD", "glove": True}
    assert client.put("/api/settings", json=body).json() == body
    assert client.get("/api/settings").json() == body
    assert client.put("/api/settings", json={**body, "units": "ells"}).status_code == 422


def test_backup_and_restore_over_http(client, job_id, document):
    got = client.get("/api/backup")
    assert got.headers["content-type"] == "application/zip"
    assert set(zipfile.ZipFile(io.BytesIO(got.content)).namelist()) == {
        "backup.json",
        "pourwright.sqlite",
    }
    client.put(
        f"/api/jobs/{job_id}", json={"base_revision": 1, "document": {**document, "seed": 9}}
    )
    bad = client.post("/api/restore", files={"file": ("x.zip", got.content[:-40])})
    assert bad.status_code == 422
    assert client.get(f"/api/jobs/{job_id}").json()["revision"] == 2
    done = client.post("/api/restore", files={"file": ("x.zip", got.content)})
    assert done.status_code == 200, done.text
    assert client.get(f"/api/jobs/{job_id}").json()["revision"] == 1
    folder = client.app.state.settings.data / "backups"
    assert [p.name for p in folder.iterdir()] == [done.json()["set_aside"]], "no half files stay"


def test_demo_jobs_come_with_a_new_store_once(make_client, settings):
    from dataclasses import replace

    client = make_client(replace(settings, demo=True))
    assert {x["id"] for x in client.get("/api/jobs").json()} == {"galley", "cafe-bar", "wet-room"}
    client.post("/api/jobs/galley/archive")
    again = make_client(replace(settings, demo=True))
    assert {x["id"] for x in again.get("/api/jobs").json()} == {"cafe-bar", "wet-room"}


def test_the_demo_jobs_pass_the_check_that_they_are_spared(make_client, settings):
    from dataclasses import replace

    from pourwright.store.document import check, trusted

    client = make_client(replace(settings, demo=True))
    for line in client.get("/api/jobs").json():
        job = client.get(f"/api/jobs/{line['id']}").json()
        kept = check(job["document"], job["files"], 1)
        assert kept == trusted(job["document"], job["files"], 1)
        assert (kept.name, kept.client) == (line["name"], line["client"])
