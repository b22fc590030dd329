"""Jobs as chains of revisions: saving, stale saves, undo and redo, copies, history."""

from __future__ import annotations

import math
import threading
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from pourwright.errors import InputError
from pourwright.store.errors import NotThere, Stale
from pourwright.store.models import RevisionRow
from pourwright.store.store import Store


def test_a_saved_job_reads_back_with_its_number(store, document):
    made = store.jobs.create(document, who="Ann")
    assert made.revision == 1 and made.document["name"] == "Shelf"
    changed = {**made.document, "about": "sink at the left"}
    saved = store.jobs.save(made.id, 1, changed, who="Bo", why="sink moved")
    assert saved.revision == 2
    assert saved.document["revision"] == 2
    assert store.jobs.get(made.id).document["about"] == "sink at the left"
    assert store.jobs.get(made.id, 1).document.get("about", "") == made.document.get("about", "")


def test_history_says_who_and_why(store, document, renamed):
    job = store.jobs.create(document, who="Ann")
    store.jobs.save(job.id, 1, renamed("B"), who="Bo", why="new name")
    lines = store.jobs.revisions(job.id)
    assert [(x.revision, x.who, x.why, x.now) for x in lines] == [
        (2, "Bo", "new name", True),
        (1, "Ann", "new job", False),
    ]
    assert lines[0].at >= lines[1].at


def test_a_stale_save_is_refused_with_both_documents(store, document, renamed):
    job = store.jobs.create(document)
    store.jobs.save(job.id, 1, renamed("theirs"))
    with pytest.raises(Stale) as caught:
        store.jobs.save(job.id, 1, renamed("mine"))
    assert caught.value.yours["name"] == "mine"
    assert caught.value.theirs["name"] == "theirs"
    assert caught.value.revision == 2
    assert store.jobs.get(job.id).document["name"] == "theirs"


def test_an_equal_save_makes_no_revision(store, document):
    job = store.jobs.create(document)
    assert store.jobs.save(job.id, 1, job.document).revision == 1
    assert len(store.jobs.revisions(job.id)) == 1


def test_undo_and_redo_outlast_a_restart(store, document, renamed):
    job = store.jobs.create(document)
    for k, name in enumerate("bcd", 1):
        store.jobs.save(job.id, k, renamed(name))
    store.jobs.undo(job.id)
    assert store.jobs.undo(job.id).document["name"] == "b"
    again = Store(store.place)
    state = again.jobs.get(job.id)
    assert state.document["name"] == "b" and state.can_undo and state.can_redo
    assert again.jobs.redo(job.id).document["name"] == "c"
    assert again.jobs.redo(job.id).document["name"] == "d"
    with pytest.raises(InputError, match="nothing is left to redo"):
        again.jobs.redo(job.id)
    again.close()


def test_a_save_after_undo_ends_redo_but_keeps_the_undone_revision(store, document, renamed):
    job = store.jobs.create(document)
    store.jobs.save(job.id, 1, renamed("b"))
    store.jobs.undo(job.id)
    new = store.jobs.save(job.id, 1, renamed("c"))
    assert new.revision == 3 and not new.can_redo
    assert store.jobs.get(job.id, 2).document["name"] == "b"
    assert store.jobs.undo(job.id).revision == 1
    assert store.jobs.redo(job.id).document["name"] == "c"
    assert store.jobs.bring_back(job.id, 2).document["name"] == "b"


def test_undo_at_the_first_revision_is_refused(store, document):
    job = store.jobs.create(document)
    with pytest.raises(InputError, match="nothing is left to undo"):
        store.jobs.undo(job.id)


def test_undo_minds_what_the_sender_saw(store, document, renamed):
    job = store.jobs.create(document)
    store.jobs.save(job.id, 1, renamed("b"))
    with pytest.raises(Stale):
        store.jobs.undo(job.id, base=1)
    assert store.jobs.get(job.id).revision == 2


def test_revisions_are_never_changed(store, document, renamed):
    """Whatever is done to a job, every row once written stays as it was."""
    job = store.jobs.create(document)

    def rows():
        with store.sessions.reading() as s:
            found = s.query(RevisionRow).filter_by(job_id=job.id).order_by(RevisionRow.number)
            return [(r.number, r.parent, r.document, r.sha256, r.who, r.at) for r in found]

    seen = rows()
    for act in (
        lambda: store.jobs.save(job.id, 1, renamed("b")),
        lambda: store.jobs.undo(job.id),
        lambda: store.jobs.redo(job.id),
        lambda: store.jobs.bring_back(job.id, 1),
        lambda: store.jobs.archive(job.id),
    ):
        act()
        now = rows()
        assert now[: len(seen)] == seen
        seen = now


def test_copies_start_afresh(store, document):
    job = store.jobs.create(document)
    copy = store.jobs.duplicate(job.id, who="Ann")
    assert copy.id != job.id and copy.revision == 1
    assert copy.document["name"] == "Shelf (copy)"


def test_archived_jobs_leave_the_list_and_come_back(store, document):
    job = store.jobs.create(document)
    store.jobs.archive(job.id)
    assert store.jobs.lines() == []
    assert [x.id for x in store.jobs.lines(archived=True)] == [job.id]
    store.jobs.archive(job.id, away=False)
    assert [x.id for x in store.jobs.lines()] == [job.id]


def test_jobs_are_found_by_name_and_client(store, document):
    store.jobs.create({**document, "name": "Bar", "client": "Example cafe"})
    store.jobs.create({**document, "name": "Table"})
    assert [x.name for x in store.jobs.lines(find="CAFE")] == ["Bar"]
    assert store.jobs.lines(find="%") == store.jobs.lines(find="")


def test_texts_that_a_job_names_travel_with_it(store, examples):
    document = tomllib.loads((examples / "galley.toml").read_text("utf-8"))
    with pytest.raises(InputError, match=r"finish\.score"):
        store.jobs.create(document)
    score = (examples / "scores" / "galley.toml").read_text("utf-8")
    job = store.jobs.create(document, {"scores/galley.toml": score})
    assert job.document["site"]["start"] == "2027-03-15"
    kept = store.jobs.save(job.id, 1, {**job.document, "name": "other"})
    assert kept.files == {"scores/galley.toml": score}


@pytest.mark.parametrize(
    "name", ["../x", "/etc/passwd", "a/../b", "", ".", "a//b", "a\\b", "x\x00", "-x", "a/b/c/d/e"]
)
def test_names_of_texts_stay_inside(store, document, name):
    with pytest.raises(InputError):
        store.jobs.create(document, {name: "x"})


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/passwd", "scores/none.toml"])
def test_a_document_reaches_no_file_of_the_machine(store, document, name):
    with pytest.raises(InputError, match=r"finish\.score"):
        store.jobs.create({**document, "finish": {"score": name}})
    with pytest.raises(InputError, match="products"):
        store.jobs.create({**document, "products": [name]})


@pytest.mark.parametrize(
    "change",
    [
        {"surfaces": []},
        {"name": ""},
        {"schema": 99},
        {"unknown": 1},
        {"seed": math.nan},
        {"about": "\ud800"},
        {"about": "a\x00b"},
        {"name": None},
    ],
)
def test_a_bad_document_changes_nothing(store, document, change):
    job = store.jobs.create(document)
    with pytest.raises(InputError):
        store.jobs.save(job.id, 1, {**document, **change})
    assert store.jobs.get(job.id).revision == 1


def test_a_document_nested_too_deeply_is_refused(store, document):
    deep: dict = {}
    for _ in range(100_000):
        deep = {"a": deep}
    with pytest.raises(InputError, match="nested"):
        store.jobs.create({**document, "about": deep})
    while deep:  # taken apart by hand: freeing it at once would recurse as deeply
        deep = deep.get("a", {})


@pytest.mark.parametrize("job_id", ["", "x", "../a", "A", "a b", "a" * 60, "'; drop table jobs"])
def test_an_unknown_job_is_not_there(store, job_id):
    with pytest.raises(NotThere):
        store.jobs.get(job_id)


def test_savers_at_once_lose_nothing(store, document):
    """Eight threads append to one list; each save goes through or says that it was stale."""
    job = store.jobs.create({**document, "about": ""})
    won: list[str] = []

    def saver(k: int) -> None:
        for n in range(4):
            word = f"{k}.{n}"
            store.jobs.change(job.id, lambda d, w=word: {**d, "about": f"{d['about']} {w}"})
            won.append(word)

    threads = [threading.Thread(target=saver, args=(k,)) for k in range(8)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    kept = store.jobs.get(job.id).document["about"].split()
    assert sorted(kept) == sorted(won) and len(won) == 32
    assert store.jobs.get(job.id).revision == 33


def test_the_database_is_set_safely(store):
    if "://" in store.place:
        with store.engine.connect() as conn:
            assert conn.execute(text("SHOW synchronous_commit")).scalar() == "on"
        return
    with store.engine.connect() as conn:
        ask = lambda name: conn.execute(text(f"PRAGMA {name}")).scalar()  # noqa: E731
        assert ask("journal_mode") == "wal"
        assert ask("foreign_keys") == 1
        assert ask("synchronous") == 2  # FULL
        assert ask("busy_timeout") >= 5000


def test_foreign_keys_hold(store):
    with pytest.raises(InputError):
        store.happened.note("nojob", "note", "x")


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(acts=st.lists(st.sampled_from(["save", "undo", "redo"]), max_size=14))
def test_undo_and_redo_are_a_line_of_states(store, document, acts):
    """Against a plain list with a pointer: the head always shows what the list shows."""
    job = store.jobs.create(document)
    states, at = ["Shelf"], 0
    for k, act in enumerate(acts):
        head = store.jobs.get(job.id)
        if act == "save":
            name = f"n{k}"
            store.jobs.save(job.id, head.revision, {**document, "name": name})
            states, at = [*states[: at + 1], name], at + 1
        elif act == "undo" and at > 0:
            store.jobs.undo(job.id)
            at -= 1
        elif act == "redo" and at < len(states) - 1:
            store.jobs.redo(job.id)
            at += 1
        head = store.jobs.get(job.id)
        assert head.document["name"] == states[at]
        assert head.can_undo == (at > 0)
        assert head.can_redo == (at < len(states) - 1)
