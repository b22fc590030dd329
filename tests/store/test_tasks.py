"""The durable queue: once each, in turn, handed out again, stopped."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest

from pourwright.store import tasks as tasks_module
from pourwright.store.errors import NotThere


@pytest.fixture
def job(store, document):
    return store.jobs.create(document).id


def test_equal_work_is_queued_once(store, job):
    a = store.tasks.add(job, 1, "plan", "k")
    assert store.tasks.add(job, 1, "plan", "k").id == a.id
    assert store.tasks.add(job, 1, "plan", "other").id != a.id
    store.tasks.claim("plan", "w", 1)
    assert store.tasks.add(job, 1, "plan", "k").id == a.id
    store.tasks.finish(a.id, "w", "done", {"x": 1})
    assert store.tasks.add(job, 1, "plan", "k").id != a.id


def test_a_task_is_claimed_by_one_worker_only(store, job):
    for k in range(12):
        store.tasks.add(job, 1, "plan", f"k{k}", who="a")
    got: list[str] = []

    def worker(name: str) -> None:
        while (task := store.tasks.claim("plan", name, 1)) is not None:
            got.append(task.id)

    threads = [threading.Thread(target=worker, args=(f"w{k}",)) for k in range(4)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert len(got) == len(set(got)) == 12


def test_what_somebody_asked_for_comes_before_the_demo(store, job):
    store.tasks.add(job, 1, "plan", "demo")
    asked = store.tasks.add(job, 1, "plan", "asked", who="Ann")
    assert store.tasks.claim("plan", "w", 1).id == asked.id
    assert store.tasks.claim("picture", "w", 1) is None


def test_progress_and_stopping(store, job):
    task = store.tasks.add(job, 1, "picture", "k", lane="picture")
    store.tasks.claim("picture", "w", 1)
    assert store.tasks.beat(task.id, "w", 0.4, "pouring")
    seen = store.tasks.get(task.id)
    assert (seen.state, seen.share, seen.words) == ("running", 0.4, "pouring")
    assert not store.tasks.beat(task.id, "somebody else", 0.9)
    store.tasks.cancel(task.id)
    assert store.tasks.stop_asked_of("w")
    assert not store.tasks.beat(task.id, "w", 0.5)
    assert store.tasks.finish(task.id, "w", "cancelled")
    assert store.tasks.get(task.id).state == "cancelled"


def test_a_waiting_task_stops_at_once(store, job):
    task = store.tasks.add(job, 1, "plan", "k")
    assert store.tasks.cancel(task.id).state == "cancelled"
    assert store.tasks.claim("plan", "w", 1) is None
    with pytest.raises(NotThere):
        store.tasks.cancel("nothing")


def test_a_lost_worker_s_task_is_done_again_then_fails(store, job, monkeypatch):
    task = store.tasks.add(job, 1, "plan", "k")
    for attempt in range(1, tasks_module.MOST_ATTEMPTS + 1):
        name = f"w{attempt}"
        assert store.tasks.claim("plan", name, 1).id == task.id
        assert store.tasks.hand_out_again() == 0  # its heartbeat is fresh
        later = tasks_module.now() + timedelta(seconds=tasks_module.STALE_S + 1)
        monkeypatch.setattr(tasks_module, "now", lambda later=later: later)
        store.tasks.hand_out_again()
        monkeypatch.undo()
        assert not store.tasks.finish(task.id, name, "done"), "it is no longer this worker's"
    assert store.tasks.get(task.id).state == "failed"
    assert "stopped three times" in store.tasks.get(task.id).error["limit"]


def test_ending_the_app_costs_a_task_no_attempt(store, job):
    task = store.tasks.add(job, 1, "plan", "k")
    for attempt in range(tasks_module.MOST_ATTEMPTS + 2):
        store.tasks.claim("plan", f"w{attempt}", 1)
        assert store.tasks.hand_out_again(worker=f"w{attempt}", forgive=True) == 1
    assert store.tasks.get(task.id).state == "waiting"


def test_a_newer_plan_takes_the_place_of_older_ones(store, job, document):
    other = store.jobs.create(document).id
    running = store.tasks.add(job, 1, "plan", "k1", who="a")
    assert store.tasks.claim("plan", "w", 1).id == running.id
    waiting = store.tasks.add(job, 2, "plan", "k2", instead=True)
    kept = [
        store.tasks.add(other, 1, "plan", "o", instead=True),
        store.tasks.add(job, 1, "paper", "p"),
        store.tasks.add(job, 3, "plan", "k3", instead=True),
    ]
    assert store.tasks.get(waiting.id).state == "cancelled"
    assert not store.tasks.beat(running.id, "w"), "the running one is asked to stop"
    assert [store.tasks.get(t.id).state for t in kept] == ["waiting"] * 3
    again = store.tasks.add(job, 1, "plan", "k1", instead=True)
    assert again.id != running.id, "one that is stopping is not joined"
