"""Steps, ticks, log and client links."""

from __future__ import annotations

import math
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from pourwright.errors import InputError
from pourwright.store import links
from pourwright.store.errors import NotThere
from pourwright.store.models import Base


@pytest.fixture
def job(store, document):
    return store.jobs.create(document).id


def test_a_step_noted_again_counts_as_last_noted(store, job):
    store.happened.step_done(job, "colour-mix-1", 100.0, 200.0, "Ann")
    store.happened.step_done(job, "colour-mix-1", 110.0, 230.0, "Bo")
    assert store.happened.done(job) == {"colour-mix-1": (110.0, 230.0)}
    store.happened.take_back(job, "colour-mix-1")
    assert store.happened.done(job) == {}
    with pytest.raises(NotThere):
        store.happened.take_back(job, "colour-mix-1")
    assert [x.text for x in store.happened.log(job)] == [
        "done: colour-mix-1",
        "done: colour-mix-1",
        "taken back: colour-mix-1",
    ]


@pytest.mark.parametrize("times", [(5.0, 4.0), (math.nan, 4.0), (-1.0, 4.0), (0.0, 1e12)])
def test_impossible_times_are_refused(store, job, times):
    with pytest.raises(InputError):
        store.happened.step_done(job, "x", *times)
    assert store.happened.done(job) == {}


def test_a_log_line_sent_twice_is_kept_once(store, job):
    first = store.happened.note(job, "note", "resin tacky", mark="tablet-1:17")
    again = store.happened.note(job, "note", "resin tacky", mark="tablet-1:17")
    assert first == again
    assert len(store.happened.log(job)) == 1


def test_the_log_is_read_on_from_where_one_was(store, job):
    ids = [store.happened.note(job, "note", f"line {k}").id for k in range(5)]
    assert [x.text for x in store.happened.log(job, after=ids[2])] == ["line 3", "line 4"]


def test_ticks_stay_until_opened_again(store, job):
    store.happened.tick(job, "cup:colour-1-a", who="Ann")
    store.happened.tick(job, "cup:colour-1-a", who="Bo")
    assert store.happened.ticks(job)["cup:colour-1-a"][0] == "Ann"
    store.happened.tick(job, "cup:colour-1-a", on=False)
    assert store.happened.ticks(job) == {}


def test_a_client_link_shows_its_revision_and_is_signed_once(store, job, renamed):
    secret = store.links.make(job)
    store.jobs.save(job, 1, renamed("changed after the link"))
    assert store.links.find(secret).revision == 1
    with pytest.raises(InputError, match="name"):
        store.links.sign(secret, "  ", "2027-03-10")
    with pytest.raises(InputError, match="date"):
        store.links.sign(secret, "Client Name", "tomorrow")
    signed = store.links.sign(secret, "Client Name", "2027-03-10")
    assert (signed.signed_name, signed.signed_date) == ("Client Name", "2027-03-10")
    with pytest.raises(InputError, match="signed already"):
        store.links.sign(secret, "Another", "2027-03-10")


def test_links_end(store, job, monkeypatch):
    secret, closed = store.links.make(job, days=2), store.links.make(job)
    mark = store.links.find(closed).mark
    store.links.close(job, mark)
    with pytest.raises(NotThere):
        store.links.find(closed)
    with pytest.raises(NotThere):
        store.links.find("guess")
    later = links.now() + timedelta(days=3)
    monkeypatch.setattr(links, "now", lambda: later)
    with pytest.raises(NotThere):
        store.links.find(secret)


def test_the_secret_of_a_link_is_not_kept(store, job):
    secret = store.links.make(job)
    rows: list[object] = []
    with store.engine.connect() as db:
        for table in Base.metadata.sorted_tables:
            rows += db.execute(select(table)).all()
    assert links._hash(secret) in repr(rows)
    assert secret not in repr(rows)
    store.close()
    if "://" not in store.place:
        raw = Path(store.place).read_bytes()
        assert links._hash(secret).encode() in raw and secret.encode() not in raw


def test_old_computations_are_forgotten_the_newest_stay(store, job):
    at = store.jobs.get(job)
    for k in range(6):
        things = {"plan": ("application/json", b"{}"), "x.svg": ("image/svg+xml", b"<svg/>")}
        store.kept.put(at, f"key{k}", things)
    assert store.kept.prune(most=2) == 8
    assert [k for k in range(6) if store.kept.get(f"key{k}", "plan")] == [4, 5]
    assert store.kept.last_plan(job) == (1, b"{}")


def test_a_mark_counts_in_its_own_job_only(store, job, document):
    other = store.jobs.create(document).id
    first = store.happened.note(job, "note", "mine", mark="m")
    second = store.happened.note(other, "note", "theirs", mark="m")
    assert (first.text, second.text) == ("mine", "theirs") and first.id != second.id
    assert store.happened.note(other, "note", "again", mark="m") == second
    assert store.happened.known(job, "m") and not store.happened.known(job, "n")
    assert not store.happened.known(job, "") and not store.happened.known(job, None)


def test_letters_sent_twice_change_nothing_the_second_time(store, job):
    """A tablet whose link dropped sends again; meanwhile somebody did the opposite."""
    happened = store.happened
    happened.step_done(job, "mix", 1.0, 2.0, "Ann", mark="a")
    happened.take_back(job, "mix", "Bo")
    happened.step_done(job, "mix", 1.0, 2.0, "Ann", mark="a")
    assert happened.done(job) == {}
    happened.step_done(job, "mix", 3.0, 4.0, "Bo")
    happened.take_back(job, "mix", "Ann", mark="b")
    happened.take_back(job, "mix", "Ann", mark="b")
    happened.step_done(job, "mix", 5.0, 6.0, "Bo")
    happened.take_back(job, "mix", "Ann", mark="b")
    assert happened.done(job) == {"mix": (5.0, 6.0)}
    happened.tick(job, "cup", True, "Ann", mark="c")
    happened.tick(job, "cup", False, "Bo")
    happened.tick(job, "cup", True, "Ann", mark="c")
    assert happened.ticks(job) == {}
    assert len([x for x in happened.log(job) if x.who == "Ann"]) == 3
