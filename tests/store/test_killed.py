"""A writer killed without warning: what it was told is kept is there, and the store is sound."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from pourwright.store.store import Store

WRITER = """
import sys
from pourwright.store.store import Store
store = Store(sys.argv[1])
job = store.jobs.get("one")
at, k = job.revision, 0
while True:
    k += 1
    at = store.jobs.save("one", at, {**job.document, "about": f"save {k}"}).revision
    print("saved", at, k, flush=True)
    line = store.happened.note("one", "note", f"note {k}")
    print("noted", line.id, k, flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is of Unix")
def test_nothing_acknowledged_is_lost_on_kill(store: Store, document, tmp_path: Path):
    store.jobs.create(document, job_id="one")
    saved: dict[int, str] = {}
    noted: dict[int, str] = {}
    for turn in range(3):
        out = tmp_path / f"told-{turn}"
        with out.open("w") as f:
            writer = subprocess.Popen([sys.executable, "-c", WRITER, store.place], stdout=f)
            until = time.monotonic() + 60
            while out.read_text().count("\n") < 25 + 7 * turn and time.monotonic() < until:
                time.sleep(0.005)
            writer.send_signal(signal.SIGKILL)
            assert writer.wait() == -signal.SIGKILL
        for line in out.read_text().splitlines():
            if line.count(" ") == 2:
                kind, number, k = line.split()
                {"saved": saved, "noted": noted}[kind][int(number)] = k
        again = Store(store.place)
        for number, k in saved.items():
            assert again.jobs.get("one", number).document["about"] == f"save {k}"
        lines = {x.id: x.text for x in again.happened.log("one", most=100_000)}
        assert {n: f"note {k}" for n, k in noted.items()}.items() <= lines.items()
        head = again.jobs.get("one")
        assert head.revision in (max(saved), max(saved) + 1), "the head is the last save"
        if "://" not in store.place:
            with sqlite3.connect(store.place) as db:
                assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
                assert db.execute("PRAGMA foreign_key_check").fetchone() is None
            db.close()
        again.close()
    assert len(saved) > 30
