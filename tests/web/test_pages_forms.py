"""The screens as plain forms over HTTP: every form sent as a browser without scripts would."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from pourwright.errors import InputError
from pourwright.web.access import set_phrase
from pourwright.web.pages.jobs import PALETTES, opened
from pourwright.web.pages.proposal import facts
from pourwright.web.pages.shop import safe_path

HTML = {"accept": "text/html"}
SCREENS = ("site", "finish", "build", "mix", "day", "floor", "papers", "record", "history", "board")


class Forms(HTMLParser):
    """All forms of a page with what a browser would send, and its links and ids."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.forms: list[dict] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.labels: list[str] = []
        self.controls: list[tuple[str, dict]] = []
        self.headings: list[int] = []
        self._select: tuple[str, list[tuple[str, bool]]] | None = None
        self._area: str | None = None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        if a.get("id"):
            self.ids.append(a["id"])
        if tag == "a" and a.get("href") is not None:
            self.links.append(a["href"])
        if tag == "label" and a.get("for"):
            self.labels.append(a["for"])
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "form":
            self.forms.append({"action": a.get("action"), "method": a.get("method", "get"),
                               "fields": {}, "buttons": []})  # fmt: skip
        fields = self.forms[-1]["fields"] if self.forms else {}
        if tag in ("input", "select", "textarea") and a.get("type") != "hidden":
            self.controls.append((tag, a))
        if tag == "input" and a.get("name"):
            kind = a.get("type", "text")
            if kind == "file" or (kind in ("checkbox", "radio") and "checked" not in a):
                return
            fields[a["name"]] = a.get("value") or ""
        if tag == "button" and self.forms:
            self.forms[-1]["buttons"].append((a.get("name"), a.get("value", "")))
        if tag == "select":
            self._select = (a.get("name", ""), [])
        if tag == "option" and self._select:
            self._select[1].append((a.get("value", ""), "selected" in a))
        if tag == "textarea":
            self._area = a.get("name", "")
            fields[self._area] = ""

    def handle_endtag(self, tag):
        if tag == "select" and self._select:
            name, options = self._select
            chosen = [v for v, on in options if on] or [v for v, _ in options[:1]]
            if self.forms and chosen:
                self.forms[-1]["fields"][name] = chosen[0]
            self._select = None
        if tag == "textarea":
            self._area = None

    def handle_data(self, data):
        if self._area is not None:
            self.forms[-1]["fields"][self._area] += data

    def to(self, action: str) -> dict:
        """What the form sent to `action` carries."""
        return dict(next(f for f in self.forms if f["action"] == action)["fields"])


def see(client, path: str, status: int = 200) -> Forms:
    answer = client.get(path, headers=HTML)
    assert answer.status_code == status, answer.text[:2000]
    return Forms(answer.text)


def send(client, path: str, data: dict, status: int = 303):
    answer = client.post(path, data=data, headers=HTML, follow_redirects=False)
    assert answer.status_code == status, answer.text[:3000]
    return answer


def revision(client, job_id: str) -> int:
    return client.get(f"/api/jobs/{job_id}").json()["revision"]


def document_of(client, job_id: str) -> dict:
    return client.get(f"/api/jobs/{job_id}").json()["document"]


@pytest.fixture
def planned(client, job_id, work):
    """A job whose plan is there."""
    client.get(f"/jobs/{job_id}/build", headers=HTML)
    assert work(client) >= 1
    return job_id


def test_every_screen_shows_before_and_after_planning(client, job_id, work):
    for screen in SCREENS:
        page = see(client, f"/jobs/{job_id}/{screen}")
        assert page.headings[0] == 1, screen
    work(client)
    for screen in SCREENS:
        see(client, f"/jobs/{job_id}/{screen}")
    for path in ("/", "/?away=yes", "/?find=shelf", "/jobs/new", "/bench", "/settings", "/login"):
        see(client, path)


@pytest.mark.parametrize("language", ["en", "de"])
def test_pages_are_sound_for_screen_readers(client, planned, language):
    """One h1, no heading level skipped, unique ids, every control labelled, words in one language."""
    client.cookies.set("pw_language", language)
    paths = [f"/jobs/{planned}/{s}" for s in SCREENS]
    for path in [*paths, "/", "/jobs/new", "/bench", "/bench/mix.batch", "/settings", "/login"]:
        text = client.get(path, headers=HTML).text
        page = Forms(text)
        assert f'<html lang="{language}"' in text
        assert page.headings.count(1) == 1, path
        for above, below in zip(page.headings, page.headings[1:], strict=False):
            assert below <= above + 1, (path, page.headings)
        assert len(page.ids) == len(set(page.ids)), (path, sorted(page.ids))
        for tag, a in page.controls:
            named = a.get("id") in page.labels or "aria-label" in a
            wrapped = a.get("type") in ("checkbox", "radio")
            assert named or wrapped, (path, tag, a)
            for other in (a.get("aria-describedby") or "").split():
                assert other in page.ids, (path, other)
        assert "{{" not in text and "None" not in re.sub(r"<[^>]*>", " ", text), path


def test_links_on_the_screens_lead_somewhere(client, planned):
    seen = set()
    for path in ["/", "/bench", *(f"/jobs/{planned}/{s}" for s in SCREENS)]:
        for link in see(client, path).links:
            url, _, part = link.partition("#")
            if part and not url:
                assert part in see(client, path).ids or part == "main", (path, link)
            if url and url not in seen and not url.endswith(".pdf") and "backup" not in url:
                seen.add(url)
    for url in sorted(seen):
        assert client.get(url, headers=HTML).status_code == 200, url
    assert len(seen) > 40


def test_no_form_changes_anything_when_sent_as_it_stands(client, planned):
    before = document_of(client, planned)
    sent = 0
    for screen in ("site", "finish", "build", "mix", "day"):
        page = see(client, f"/jobs/{planned}/{screen}")
        for form in page.forms:
            action = form["action"]
            if form["method"] != "post" or not action.startswith(f"/jobs/{planned}/"):
                continue
            if re.search(
                r"/(readings|tick|pictures|steps/.*|site/surfaces|outlines|photos?|links)$", action
            ):
                continue
            if (
                action.endswith(("/holds", "/day/lost", "/back"))
                or form["fields"].get("do") == "file"
            ):
                continue
            send(client, action, {**form["fields"], "base_revision": ""})
            sent += 1
    from pourwright.plan import job_from

    after = document_of(client, planned)
    assert sent >= 8
    assert {**job_from(after).to_document(), "revision": 0} == {
        **job_from(before).to_document(), "revision": 0,
    }  # fmt: skip


def test_a_new_job_in_seven_fields_is_planned(client, work):
    form = see(client, "/jobs/new").to("/jobs/new")
    form |= {"name": "Bar top", "length": "1,2 m".replace(",", "."), "coolest": "16 °C"}
    where = send(client, "/jobs/new", form).headers["location"]
    job_id = where.split("/")[2]
    made = document_of(client, job_id)
    assert made["name"] == "Bar top"
    client.get(f"/jobs/{job_id}/mix", headers=HTML)
    work(client)
    page = client.get(f"/jobs/{job_id}/mix", headers=HTML).text
    assert "Batch 1" in page and 'class="cup' in page


@pytest.mark.parametrize("palette", sorted(PALETTES))
@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_first_look_and_both_units_make_a_job(client, palette, units):
    client.cookies.set("pw_units", units)
    form = see(client, "/jobs/new").to("/jobs/new")
    assert form["length"] == ("72 in" if units == "us" else "1800 mm")
    where = send(client, "/jobs/new", {**form, "name": "x", "palette": palette}).headers["location"]
    assert document_of(client, where.split("/")[2])["show"]["units"] == units
    assert client.get(f"/palette/{palette}.svg").status_code == 200


@pytest.mark.parametrize(
    ("field", "value"),
    [("name", ""), ("length", "long"), ("length", "3"), ("width", "5 mm"), ("coolest", "30 °C"),
     ("start", "soon"), ("humidity", "140 %"), ("warmest", "")],
)  # fmt: skip
def test_a_wrong_new_job_keeps_what_was_typed_and_says_where(client, field, value):
    form = see(client, "/jobs/new").to("/jobs/new")
    form |= {"name": "Kept name", field: value}
    answer = send(client, "/jobs/new", form, 422)
    page = Forms(answer.text)
    kept = page.to("/jobs/new")
    assert kept[field] == value
    assert kept["name"] == ("" if field == "name" else "Kept name")
    assert 'class="problem"' in answer.text and 'role="alert"' in answer.text
    assert client.get("/api/jobs").json() == []


def test_the_place_is_changed_and_a_mistake_is_kept_at_its_field(client, job_id):
    url = f"/jobs/{job_id}/site"
    form = see(client, url).to(url)
    send(client, url, {**form, "site.air.coolest": "14.5 °C", "weekday.sat": "yes"})
    made = document_of(client, job_id)
    assert made["site"]["air"]["coolest"] == "14.5 degC"
    assert "sat" in made["site"]["hours"]["weekdays"]
    form = see(client, url).to(url)
    answer = send(client, url, {**form, "site.limits.weight": "heavy", "client": "Kept"}, 422)
    kept = Forms(answer.text).to(url)
    assert (kept["site.limits.weight"], kept["client"]) == ("heavy", "Kept")
    assert 'aria-invalid="true"' in answer.text
    assert document_of(client, job_id)["site"] == made["site"]


def test_what_a_form_leaves_alone_stays_as_it_was_typed(client, document):
    document["core"]["thickness_mm"] = 18
    del document["core"]["thickness"]
    document["colour"]["film"] = "3 fl oz/ft2"
    job_id = client.post("/api/jobs", json={"document": document}).json()["id"]
    url = f"/jobs/{job_id}/site"
    send(client, url, {**see(client, url).to(url), "site.air.warmest": "21 °C"})
    made = document_of(client, job_id)
    assert made["core"]["thickness_mm"] == 18 and "thickness" not in made["core"]
    assert made["colour"]["film"] == "3 fl oz/ft2"
    assert made["site"]["air"]["warmest"] == "21 degC"
    build = f"/jobs/{job_id}/build"
    send(client, build, {**see(client, build).to(build), "core.thickness": "22 mm"})
    made = document_of(client, job_id)
    assert made["core"]["thickness"] == "22 mm" and "thickness_mm" not in made["core"]


def test_a_stale_form_loses_nothing(client, job_id):
    url = f"/jobs/{job_id}/site"
    form = see(client, url).to(url)
    send(client, url, {**form, "client": "First"})
    answer = send(client, url, {**form, "client": "Second"}, 409)
    assert "Someone else saved meanwhile" in answer.text
    assert document_of(client, job_id)["client"] == "First"


def test_surfaces_are_added_edited_and_taken_out(client, job_id):
    url = f"/jobs/{job_id}/site"
    form = see(client, url).to(f"{url}/surfaces")
    form |= {"new.name": "leaf", "new.size.0": "900 mm", "new.size.1": "500 mm"}
    send(client, f"{url}/surfaces", form)
    page = see(client, url)
    k = len(document_of(client, job_id)["surfaces"]) - 1
    mine = page.to(f"{url}/surfaces/{k}")
    mine |= {f"surfaces.{k}.cut_outs.0.name": "socket", f"surfaces.{k}.cut_outs.0.diameter": "60 mm",
             f"surfaces.{k}.cut_outs.0.at.0": "450 mm", f"surfaces.{k}.cut_outs.0.at.1": "250 mm",
             f"surfaces.{k}.edges.front.0.kind": "free", f"surfaces.{k}.edges.front.0.drop": "30 mm",
             f"surfaces.{k}.readings": "0 mm; 0 mm; 0 mm\n900 mm; 0 mm; 2 mm\n0 mm; 500 mm; 1 mm",
             "do": "save"}  # fmt: skip
    send(client, f"{url}/surfaces/{k}", mine)
    made = document_of(client, job_id)["surfaces"][k]
    assert made["cut_outs"][0]["name"] == "socket"
    assert made["edges"]["front"][0]["kind"] == "free"
    assert len(made["levels"]["readings"]) == 3
    mine = see(client, url).to(f"{url}/surfaces/{k}")
    bad = {**mine, f"surfaces.{k}.cut_outs.0.at.0": "3000 mm"}
    answer = send(client, f"{url}/surfaces/{k}", bad, 422)
    assert (
        Forms(answer.text).to(f"{url}/surfaces/{k}")[f"surfaces.{k}.cut_outs.0.at.0"] == "3000 mm"
    )
    send(client, f"{url}/surfaces/{k}", {**mine, "do": "remove"})
    assert len(document_of(client, job_id)["surfaces"]) == k


def test_the_same_name_twice_is_refused(client, job_id):
    url = f"/jobs/{job_id}/site"
    form = see(client, url).to(f"{url}/surfaces")
    name = document_of(client, job_id)["surfaces"][0]["name"]
    form |= {"new.name": name, "new.size.0": "900 mm", "new.size.1": "500 mm"}
    send(client, f"{url}/surfaces", form, 422)


def test_shades_must_add_up_and_can_be_added(client, job_id):
    url = f"/jobs/{job_id}/finish"
    form = see(client, url).to(f"{url}/shades")
    answer = send(client, f"{url}/shades", {**form, "colour.shades.0.share": "50 %"}, 422)
    assert "100 %" in answer.text
    good = {**form, "colour.shades.0.share": "60 %", "colour.shades.2.shade": "copper",
            "colour.shades.2.share": "5 %", "colour.shades.2.part": "vein"}  # fmt: skip
    send(client, f"{url}/shades", good)
    assert [s["shade"] for s in document_of(client, job_id)["colour"]["shades"]][2] == "copper"


def test_the_score_goes_from_words_to_moves_and_back(client, job_id):
    url = f"/jobs/{job_id}/finish"
    form = see(client, url).to(f"{url}/score")
    send(client, f"{url}/score", {**form, "finish.mood": "lively", "do": "save"})
    assert document_of(client, job_id)["finish"]["mood"] == "lively"
    form = see(client, url).to(f"{url}/score")
    send(client, f"{url}/score", {**form, "do": "text"})
    form = see(client, url).to(f"{url}/score")
    assert "[[moves]]" in form["score_text"]
    answer = send(client, f"{url}/score", {**form, "score_text": "moves = 3", "do": "save"}, 422)
    assert "moves = 3" in answer.text
    text = form["score_text"].replace("\n", "\r\n")
    send(client, f"{url}/score", {**form, "score_text": text, "do": "save"})
    send(client, f"{url}/score", {**see(client, url).to(f"{url}/score"), "do": "words"})
    assert "score" not in document_of(client, job_id)["finish"]


def test_a_colour_is_matched_and_a_bad_one_is_refused(client, job_id):
    page = client.get(f"/jobs/{job_id}/finish?target=%235f8f7a&batch=500+g", headers=HTML).text
    assert "CIEDE2000" in page
    for query in ("target=green", "target=%235f8f7a&batch=much"):
        page = client.get(f"/jobs/{job_id}/finish?{query}", headers=HTML)
        assert page.status_code == 200 and 'class="problem"' in page.text


def test_core_and_crew_are_changed(client, planned):
    url = f"/jobs/{planned}/build"
    form = see(client, url).to(url)
    send(client, url, {**form, "core.thickness": "22 mm"})
    assert document_of(client, planned)["core"]["thickness"] == "22 mm"
    answer = send(client, url, {**form, "core.thickness": "1 mm", "base_revision": ""}, 422)
    assert Forms(answer.text).to(url)["core.thickness"] == "1 mm"


def test_cups_are_ticked_and_opened_again(client, planned):
    page = see(client, f"/jobs/{planned}/mix")
    form = page.to(f"/jobs/{planned}/mix/tick")
    send(client, f"/jobs/{planned}/mix/tick", {**form, "mixed": "yes"})
    text = client.get(f"/jobs/{planned}/mix", headers=HTML).text
    assert 'class="cup mixed"' in text
    send(client, f"/jobs/{planned}/mix/tick", {**form, "mixed": ""})
    assert 'class="cup mixed"' not in client.get(f"/jobs/{planned}/mix", headers=HTML).text
    log = client.get(f"/jobs/{planned}/record", headers=HTML).text
    assert log.count("<time") >= 2


def test_a_reading_is_tapped_or_typed_and_plans_anew(client, planned, work):
    url = f"/jobs/{planned}/readings"
    page = see(client, f"/jobs/{planned}/day")
    form = page.to(url)
    taps = [
        v for f in page.forms if f["action"] == url for n, v in f["buttons"] if n == "tap" and v
    ]
    assert len(taps) == 9
    send(client, url, {**form, "at": "09:00", "tap": taps[0]})
    send(
        client, url, {**form, "at": "09:30", "temperature": "16,5 °C".replace(",", "."), "tap": ""}
    )
    measured = document_of(client, planned)["site"]["measured"]
    assert [m["temperature"] for m in measured] == [taps[0], "16.5 degC"]
    for bad in ({"temperature": "warm"}, {"temperature": ""}, {"date": "2020-01-01"},
                {"temperature": "300 °C"}, {"at": "", "temperature": "16 °C"}):  # fmt: skip
        send(client, url, {**form, "tap": "", "temperature": "16 °C", **bad}, 422)
    assert revision(client, planned) == 3
    work(client)
    assert "16.5 °C" in client.get(f"/jobs/{planned}/day", headers=HTML).text


def test_a_step_really_happened_and_is_taken_back(client, planned, work):
    page = see(client, f"/jobs/{planned}/day?date=2027-03-15")
    step = next(f for f in page.forms if "/steps/" in (f["action"] or ""))
    send(client, step["action"], {**step["fields"], "start": "08:10", "finish": "09:00",
                                  "do": "done"})  # fmt: skip
    done = client.get(f"/api/jobs/{planned}/steps").json()
    assert list(done.values()) == [{"start_s": 29400.0, "finish_s": 32400.0}]
    client.get(f"/jobs/{planned}/day", headers=HTML)
    work(client)
    text = client.get(f"/jobs/{planned}/day?date=2027-03-15", headers=HTML).text
    assert re.search(r'<li class="[^"]*done"', text)
    send(client, step["action"], {**step["fields"], "do": "back"})
    assert client.get(f"/api/jobs/{planned}/steps").json() == {}


def test_the_floor_view_goes_step_by_step(client, planned):
    page = see(client, f"/jobs/{planned}/floor")
    seen, url = [], f"/jobs/{planned}/floor"
    while True:
        page = see(client, url)
        after = [x for x in page.links if "floor?step=" in x and x not in seen]
        after = [x for x in after if x != url]
        seen.append(url)
        nexts = [x for x in after if x not in seen]
        if not nexts or len(seen) > 60:
            break
        url = nexts[-1]
    assert len(seen) > 8
    form = see(client, f"/jobs/{planned}/floor").to(f"/jobs/{planned}/floor")
    send(client, f"/jobs/{planned}/floor", {**form, "do": "start"})
    assert "Begun at" in client.get(f"/jobs/{planned}/floor?step={form['step']}", headers=HTML).text


def test_history_undo_redo_and_going_back(client, job_id):
    url = f"/jobs/{job_id}/site"
    send(client, url, {**see(client, url).to(url), "client": "A"})
    here = f"/jobs/{job_id}/history"
    token = {"base_revision": str(revision(client, job_id))}
    send(client, f"/jobs/{job_id}/undo", token)
    assert document_of(client, job_id).get("client", "") == ""
    send(client, f"/jobs/{job_id}/redo", {})
    assert document_of(client, job_id)["client"] == "A"
    send(client, here, {"revision": "1"})
    assert document_of(client, job_id).get("client", "") == ""
    send(client, here, {"revision": "many"}, 422)
    assert "Revision 3" in client.get(here, headers=HTML).text


def test_jobs_are_copied_put_away_and_taken_back(client, job_id):
    where = send(client, f"/jobs/{job_id}/duplicate", {}).headers["location"]
    assert len(client.get("/api/jobs").json()) == 2
    send(client, f"/jobs/{where.split('/')[2]}/archive", {"away": "yes"})
    assert len(client.get("/api/jobs").json()) == 1
    assert "(copy)" in client.get("/?away=yes", headers=HTML).text
    send(client, f"/jobs/{where.split('/')[2]}/archive", {"away": ""})
    assert len(client.get("/api/jobs").json()) == 2
    assert client.get(f"/jobs/{job_id}/look").headers["content-type"] == "image/svg+xml"


def test_a_job_file_is_opened_with_the_texts_it_names(client):
    from pathlib import Path

    files = [("file", ("galley.toml", Path("examples/galley.toml").read_bytes())),
             ("file", ("galley-score.toml", Path("examples/scores/galley.toml").read_bytes()))]  # fmt: skip
    text = Path("examples/galley.toml").read_text("utf-8")
    document, kept = opened({"galley.toml": text, "scores/galley.toml": "x = 1"})
    assert kept == {"scores/galley.toml": "x = 1"} and document["name"]
    with pytest.raises(InputError, match="names this text"):
        opened({"galley.toml": text})
    with pytest.raises(InputError, match="0 job files"):
        opened({"a.toml": "x = 1"})
    answer = client.post("/jobs/open", files=files, headers=HTML, follow_redirects=False)
    assert answer.status_code == 422
    files[1] = ("file", ("galley.toml", Path("examples/scores/galley.toml").read_bytes()))
    files[0] = ("file", ("my-galley.toml", Path("examples/galley.toml").read_bytes()))
    answer = client.post("/jobs/open", files=files, headers=HTML, follow_redirects=False)
    assert answer.status_code == 303
    assert client.get("/api/jobs").json()[0]["name"] == document["name"]


def test_settings_are_kept_in_the_browser(client, job_id):
    form = see(client, "/settings").to("/settings")
    send(client, "/settings", {**form, "language": "de", "units": "us", "glove": "yes",
                               "who": "Ann at the bench"})  # fmt: skip
    text = client.get("/", headers=HTML).text
    assert '<html lang="de" data-glove>' in text and "Aufträge" in text
    assert "72 in" in client.get("/jobs/new", headers=HTML).text
    url = f"/jobs/{job_id}/site"
    send(client, url, {**see(client, url).to(url), "client": "A"})
    assert "Ann at the bench" in client.get(f"/jobs/{job_id}/history", headers=HTML).text


def test_the_browser_s_language_counts_when_none_was_chosen(client):
    text = client.get("/", headers={**HTML, "accept-language": "fr-FR,de;q=0.8,en;q=0.5"}).text
    assert '<html lang="de"' in text


def test_a_german_reader_types_a_decimal_comma(client, job_id):
    client.cookies.set("pw_language", "de")
    url = f"/jobs/{job_id}/build"
    send(client, url, {**see(client, url).to(url), "core.thickness": "18,5 mm"})
    assert document_of(client, job_id)["core"]["thickness"] == "18.5 mm"


def test_client_links_show_one_revision_and_take_one_signature(client, planned):
    url = f"/jobs/{planned}/links"
    answer = send(client, url, {"days": "30"}, 200)
    link = re.search(r'value="[^"]*(/client/[\w-]+)"', answer.text)
    assert link
    send(client, url, {"days": "many"}, 422)
    form = see(client, link[1]).to(link[1])
    send(client, link[1], {**form, "name": ""}, 422)
    send(client, link[1], {**form, "name": "Jo Example", "date": "2027-03-10"})
    text = client.get(link[1], headers=HTML).text
    assert "Jo Example" in text and 'name="name"' not in text
    assert f"/jobs/{planned}" not in text, "a client sees no way into the shop"
    assert client.get("/client/nothing", headers=HTML).status_code == 404


def test_signing_in_goes_on_to_where_one_wanted_to_be(make_client, settings):
    settings.data.mkdir()
    set_phrase(settings.data, "heron on the tow path")
    lan = make_client(replace(settings, lan=True))
    answer = lan.get("/jobs/new", headers=HTML, follow_redirects=False)
    assert answer.headers["location"] == "/login?next=/jobs/new"
    form = see(lan, "/login?next=/jobs/new").to("/login")
    assert "http" in lan.get("/login", headers=HTML).text
    answer = send(lan, "/login", {**form, "phrase": "wrong phrase here"}, 401)
    assert "wrong phrase here" not in answer.text
    answer = send(lan, "/login", {**form, "phrase": "heron on the tow path", "who": "Ann"})
    assert answer.headers["location"] == "/jobs/new"
    assert lan.get("/jobs/new", headers=HTML).status_code == 200


@pytest.mark.parametrize(
    "text", ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere", "javascript:x", ""]
)
def test_signing_in_never_leads_away(text):
    assert safe_path(text) == "/"
    assert safe_path("/jobs/x/day?date=2027-03-15") == "/jobs/x/day?date=2027-03-15"


def test_the_bench_works_things_out_and_keeps_mistakes(client):
    form = see(client, "/bench/film.level").to("/bench/film.level#answer")
    answer = send(client, "/bench/film.level", form, 200)
    assert 'class="answers"' in answer.text
    key = next(k for k in form if k.endswith("_mm"))
    answer = send(client, "/bench/film.level", {**form, key: "thick"}, 422)
    assert Forms(answer.text).to("/bench/film.level#answer")[key] == "thick"
    assert 'class="problem"' in answer.text
    assert client.get("/bench/no.such", headers=HTML).status_code == 404


def test_errors_are_pages_in_the_reader_s_language(client):
    client.cookies.set("pw_language", "de")
    answer = client.get("/nowhere", headers=HTML)
    assert answer.status_code == 404 and "Das ging nicht" in answer.text
    answer = client.get("/jobs/none-such/site", headers=HTML)
    assert answer.status_code == 404 and 'lang="de"' in answer.text


def test_odd_texts_stay_texts(client, job_id):
    evil = "<script>alert(1)</script>\"'{{ 7*7 }}"
    url = f"/jobs/{job_id}/site"
    send(client, url, {**see(client, url).to(url), "client": evil, "name": "Shelf " + evil})
    for screen in ("site", "history", "papers", "board", "floor"):
        text = client.get(f"/jobs/{job_id}/{screen}", headers=HTML).text
        assert "<script>alert" not in text and "Shelf 49" not in text
    assert "<script>alert" not in client.get("/", headers=HTML).text


def test_a_plan_that_cannot_be_is_said_with_its_remedy(client, document, work):
    document["colour"]["resin"] = "no-such-resin"
    job_id = client.post("/api/jobs", json={"document": document}).json()["id"]
    client.get(f"/jobs/{job_id}/mix", headers=HTML)
    work(client)
    text = client.get(f"/jobs/{job_id}/mix", headers=HTML).text
    assert "cannot be planned yet" in text and "no-such-resin" in text


def test_facts_for_a_client_name_area_and_dates(client, planned):
    from pourwright.web.pages.show import Show
    from pourwright.web.pages.words import Words

    plan = client.get(f"/api/jobs/{planned}/plan").json()["plan"]
    found = facts(plan, Show("metric", Words("en")))
    assert [f["label"] for f in found][:2] == ["Poured surface", "Handover"]
