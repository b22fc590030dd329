"""What screens say first: the list of jobs, the history, the proposal to a client, folded forms."""

from __future__ import annotations

import copy
import itertools
import json
import re
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.store.kept import key_of
from pourwright.web.pages import history, jobs, proposal
from pourwright.web.pages.show import Show
from pourwright.web.pages.words import words_in

HTML = {"Accept": "text/html"}
PRICE = {"hourly": "40 EUR", "markup": "30 %", "tax": "19 %", "tax_name": "value added tax"}
leaves = st.integers(-3, 3) | st.sampled_from(["12 mm", "oak", ""])
documents = st.recursive(
    leaves, lambda x: st.lists(x, max_size=3) | st.dictionaries(st.sampled_from("abc"), x),
    max_leaves=12,
)  # fmt: skip


@pytest.fixture
def show():
    return Show("metric", words_in("en"))


def seen(client, path: str, status: int = 200) -> str:
    answer = client.get(path, headers=HTML)
    assert answer.status_code == status, answer.text[:2000]
    return answer.text


def next_key(client, job_id: str) -> str:
    store = client.store
    return key_of(store.jobs.get(job_id), store.happened.done(job_id))


def saved(client, job_id: str, document: dict) -> int:
    base = client.get(f"/api/jobs/{job_id}").json()["revision"]
    answer = client.put(f"/api/jobs/{job_id}", json={"base_revision": base, "document": document})
    assert answer.status_code == 200, answer.text
    return answer.json()["revision"]


# the history -------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=80)
@given(documents, documents)
def test_changes_are_told_if_and_only_if_there_are_any(old, new):
    found = list(history.changes(old, new))
    assert bool(found) == (old != new)
    assert all(was != now for _, was, now in found)
    assert not list(history.changes(new, copy.deepcopy(new)))


@settings(deadline=None, max_examples=60)
@given(documents, documents)
def test_changes_backwards_are_the_same_with_was_and_is_swapped(old, new):
    there = {(p, str(a), str(b)) for p, a, b in history.changes(old, new)}
    back = {(p, str(b), str(a)) for p, a, b in history.changes(new, old)}
    assert there == back


def test_counters_of_a_document_are_not_told():
    assert list(history.changes({"revision": 1, "a": 1}, {"revision": 2, "a": 1})) == []
    assert list(history.changes({"x": {"revision": 1}}, {"x": {"revision": 2}}))


def test_the_history_says_what_a_revision_changed_and_on_which_screen(client, job_id, document):
    thick = {**document, "core": {**document["core"], "thickness": "22 mm"}}
    saved(client, job_id, thick)
    text = seen(client, f"/jobs/{job_id}/history")
    was = document["core"]["thickness"]
    assert f'<del>{was}</del> → <span class="num">22 mm' in text.replace(
        "</span> <del>", "</span> <del>"
    )
    assert '<li class="where serif">Build</li>' in text and "The job begins" in text
    assert text.count("This is how the job stands now") == 1


def test_a_change_is_named_in_the_words_of_the_page():
    job = {
        "core": {"support_span": "600 mm"},
        "surfaces": [{"name": "leg-a", "size": ["1", "2"]}],
        "colour": {"shades": [{"shade": "slate", "share": "3 %"}]},
    }
    said = history.where_said
    assert said("core.support_span", job, "en") == "core › support span"
    assert said("core.support_span", job, "de") == "Träger › Stützweite"
    assert said("surfaces.1.size.2", job, "en") == "leg-a › size"
    assert said("colour.shades.1.share", job, "de") == "slate › Anteil"
    assert said("surfaces.9.gone", job, "en") == "surfaces › gone"


def test_a_revision_is_told_against_what_it_was_made_from(client, job_id, document):
    """After going back, the next change is compared with the revision it really came from."""
    saved(client, job_id, {**document, "client": "First"})
    client.post(f"/api/jobs/{job_id}/undo")
    saved(client, job_id, {**document, "client": "Second"})
    text = seen(client, f"/jobs/{job_id}/history")
    newest = text[: text.index("First")]
    assert "Second" in newest and "<del>First" not in text


# the list of jobs --------------------------------------------------------------------------------


def test_a_job_says_its_next_step_once_planned_and_shows_its_picture_being_poured(
    client, job_id, work
):
    before = seen(client, "/")
    assert "Next," not in before and "<pw-task" not in before
    client.get(f"/api/jobs/{job_id}/plan?wait=0")
    work(client)
    plan = client.get(f"/api/jobs/{job_id}/plan?wait=0").json()["plan"]
    first = plan["days"][0]["steps"][0]
    text = seen(client, "/")
    assert first["title"] in text and "Next," in text and "m²" in text
    task = client.post(f"/api/jobs/{job_id}/pictures", json={"cell_mm": 12}).json()["task"]
    assert f'<pw-task task="{task}"' in seen(client, "/")
    client.post(f"/api/tasks/{task}/cancel")
    assert "<pw-task" not in seen(client, "/")


def test_an_old_plan_says_nothing_of_a_changed_job(client, job_id, document, work):
    client.get(f"/api/jobs/{job_id}/plan?wait=0")
    work(client)
    assert "Next," in seen(client, "/")
    saved(client, job_id, {**document, "client": "Somebody"})
    assert "Next," not in seen(client, "/")


# the proposal ------------------------------------------------------------------------------------


def line(scene: str, sort: str, minute: int, revision: int = 1, **about: object) -> SimpleNamespace:
    at = datetime(2027, 3, 1, tzinfo=UTC) + timedelta(minutes=minute)
    return SimpleNamespace(scene=scene, sort=sort, at=at, revision=revision, about=about,
                           name=f"{scene}-{sort}-{minute}")  # fmt: skip


def test_the_best_picture_of_each_piece_is_shown_largest_piece_first():
    found = [line("top", "view", 1), line("top", "sheet", 1), line("leaf", "view", 2),
             line("board", "sheet", 3, board=True), line("top", "view", 9),
             line("top", "view", 4, picked="2027-03-02"), line("old", "view", 0, revision=0)]  # fmt: skip
    assert [p.name for p in proposal.best_pictures(found, 1)] == ["top-view-4", "leaf-view-2"]
    only = [line("board", "sheet", 3, board=True)]
    assert [p.name for p in proposal.best_pictures(only, 1)] == ["board-sheet-3"]
    assert proposal.best_pictures(found, 2) == []


def test_a_client_sees_pieces_days_care_and_price_but_no_costs(client, document, work):
    priced = {**document, "price": PRICE, "client": "A. Client"}
    job_id = client.post("/api/jobs", json={"document": priced}).json()["id"]
    client.get(f"/api/jobs/{job_id}/plan?wait=0")
    work(client)
    link = client.post(f"/api/jobs/{job_id}/links", json={"days": 30}).json()["address"]
    assert "just being reckoned" in seen(client, link)
    work(client)
    text = seen(client, link)
    kept, key = client.store.kept, next_key(client, job_id)
    plan = client.get(f"/api/jobs/{job_id}/plan?wait=0").json()
    assert not [t.error for t in client.store.tasks.of_job(job_id) if t.error]
    names = [n for n in kept.names(key) if n.startswith("money ")]
    assert len(names) == 1
    money = json.loads(kept.get(key, names[0])[1])
    assert f">{money['gross']} <small>{money['currency']}</small>" in text
    for hidden in ("cost", "markup", "risk_margin"):
        assert money[hidden] not in text, f"{hidden} is the shop's own"
    assert "A. Client" in text and "600 mm × 400 mm" in text and "Knives" in text
    assert f'datetime="{plan["plan"]["finish"][:10]}"' in text
    assert f"/jobs/{job_id}" not in text, "a client sees no way into the shop"


def test_a_job_without_prices_offers_none(client, job_id, work):
    client.get(f"/api/jobs/{job_id}/plan?wait=0")
    work(client)
    link = client.post(f"/api/jobs/{job_id}/links", json={"days": 30}).json()["address"]
    text = seen(client, link)
    assert "has not put a price" in text and 'class="price' not in text
    assert not [t for t in client.store.tasks.of_job(job_id) if t.kind == "money"]


def test_shares_fill_the_bar_to_its_end(client, job_id, work, show):
    client.get(f"/api/jobs/{job_id}/plan?wait=0")
    work(client)
    plan = client.get(f"/api/jobs/{job_id}/plan?wait=0").json()["plan"]
    parts = proposal.shades(plan, show)
    assert parts[0]["at"] == 0
    for a, b in itertools.pairwise(parts):
        assert b["at"] == pytest.approx(a["at"] + a["wide"], abs=0.2)  # each is rounded to 0.1
    assert parts[-1]["at"] + parts[-1]["wide"] == pytest.approx(600, abs=0.2)


# folded forms ------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["site.limits.weight", "site.tilt", "site.coldest_store"])
def test_a_refused_value_in_a_folded_group_unfolds_it(client, job_id, path):
    text = seen(client, f"/jobs/{job_id}/site")
    names = re.findall(r'<(?:input|select)[^>]* name="([^"]+)"[^>]*?(?: value="([^"]*)")?', text)
    assert '<details class="group">' in text and '<details class="group" open' not in text
    form = re.search(rf'<form method="post" action="/jobs/{job_id}/site" .*?</form>', text, re.S)
    assert form and path in [n for n, _ in names]
    fields = dict(re.findall(r'name="([^"]+)" type="\w+" value="([^"]*)"', form[0]))
    token = client.get("/api/session").json()["token"]
    sent = {**fields, path: "a lot", "site.kind": "building", "token": token}
    answer = client.post(f"/jobs/{job_id}/site", data=sent, headers=HTML)
    assert answer.status_code == 422
    assert answer.text.count('<details class="group" open') == 1
    opened = answer.text.partition('<details class="group" open')[2].partition("</details>")[0]
    assert f'name="{path}"' in opened and "a lot" in opened


# shades before there is a plan -------------------------------------------------------------------


def test_a_job_nobody_planned_yet_shows_its_own_shades(client, job_id, document):
    parts = jobs.unplanned(document)
    given_shares = [float(s["share"].rstrip(" %")) for s in document["colour"]["shades"]]
    assert [share for _, share, _ in parts] == given_shares
    svg = seen(client, f"/jobs/{job_id}/look")
    assert all(colour in svg for colour, share, _ in parts if share > 0)


@pytest.mark.parametrize(
    "colour",
    [{}, {"shades": []}, {"shades": [{"shade": "nobody-knows-it", "share": "50 %"}]},
     {"shades": [{"share": "much"}]}],
)  # fmt: skip
def test_shades_that_cannot_be_shown_leave_plain_paper(colour):
    assert jobs.unplanned({"colour": colour}) == jobs.unplanned({})
