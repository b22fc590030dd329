"""Twenty tablets at work on one job at once: what was acknowledged is there, whoever came between.

Nothing here depends on how fast the machine is: all twenty start together, each goes on until its
own work is acknowledged, and only what the store holds in the end is judged.
"""

from __future__ import annotations

import threading
from collections import Counter
from contextlib import contextmanager
from typing import Any

TABLETS, ROUNDS = 20, 3


class Shop:
    """What all tablets were told together: status codes, and what the server took."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.codes: Counter[str] = Counter()
        self.kept: list[tuple[str, str]] = []
        self.wrong: list[str] = []

    def note(self, kind: str, answer: Any, *taken: str) -> int:
        """Remember an answer, and what it acknowledges."""
        with self.lock:
            self.codes[f"{kind} {answer.status_code}"] += 1
            if answer.status_code in (200, 201):
                self.kept += [(kind, t) for t in taken]
            elif not (kind == "surface" and answer.status_code == 409):
                self.wrong.append(f"{kind} {answer.status_code} {answer.text[:200]}")
        return int(answer.status_code)

    @contextmanager
    def told(self):
        """Faults of a tablet are faults of the test."""
        try:
            yield
        except Exception as err:
            with self.lock:
                self.wrong.append(repr(err))


def tablet(shop: Shop, server: Any, path: str, k: int, start: threading.Barrier) -> None:
    """Its own surface, its own readings, its own cups and lines of the log; each letter is sent
    twice, as after a link that dropped."""
    with shop.told(), server.client() as mine:
        start.wait(120)
        for n in range(ROUNDS):
            size, code = [f"{300 + k} mm", f"{200 + n} mm"], 409
            while (
                code == 409
            ):  # somebody saved meanwhile: put it to what they saved, as a page does
                at = mine.get(path).json()
                document = at["document"]
                next(s for s in document["surfaces"] if s["name"] == f"top-{k}")["size"] = size
                body = {"base_revision": at["revision"], "document": document}
                code = shop.note("surface", mine.put(path, json=body), f"{k} {size[1]}")
            clock = f"{(k + 20 * n) // 60:02d}:{(k + 20 * n) % 60:02d}"
            reading = {"day": 0, "at": clock, "temperature": "18 degC"}
            line = {"kind": "note", "text": f"tablet {k} round {n}", "mark": f"log-{k}-{n}"}
            for what, body, taken in (("readings", reading, clock), ("log", line, line["text"])):
                mark = {"X-Pourwright-Mark": f"{what}-{k}-{n}"}
                for _ in range(2):
                    shop.note(what, mine.post(f"{path}/{what}", json=body, headers=mark), taken)
            tick = {"on": True}
            shop.note("tick", mine.post(f"{path}/ticks/own:{k}.{n}", json=tick), f"own:{k}.{n}")


def test_twenty_tablets_at_once_lose_nothing(serve, document):
    surfaces = [
        {"name": f"top-{k}", "size": ["600 mm", "400 mm"], "other_edges": {"kind": "wall"}}
        for k in range(TABLETS)
    ]
    server, shop = serve(), Shop()
    with server.client() as one:
        made = one.post("/api/jobs", json={"document": {**document, "surfaces": surfaces}}).json()
        path = f"/api/jobs/{made['id']}"
        start = threading.Barrier(TABLETS)
        threads = [
            threading.Thread(target=tablet, args=(shop, server, path, k, start))
            for k in range(TABLETS)
        ]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        assert shop.wrong == []
        at = one.get(path).json()
        sizes = {s["name"]: s["size"] for s in at["document"]["surfaces"]}
        assert sizes == {
            f"top-{k}": [f"{300 + k} mm", f"{200 + ROUNDS - 1} mm"] for k in range(TABLETS)
        }
        kept = Counter(shop.kept)
        read = Counter(("readings", m["at"]) for m in at["document"]["site"]["measured"])
        log = one.get(f"{path}/log").json()
        said = Counter(("log", x["text"]) for x in log if x["kind"] == "note")
        ticks = Counter(("tick", t) for t in one.get(f"{path}/ticks").json())
        for found, kind in ((read, "readings"), (said, "log"), (ticks, "tick")):
            asked = {x for x in kept if x[0] == kind}
            assert len(asked) == TABLETS * ROUNDS
            assert set(found) == asked and set(found.values()) == {1}, kind
        assert sum(x["kind"] == "reading" for x in log) == TABLETS * ROUNDS
        # every surface that was acknowledged stands in a revision of its own, in one line
        saved = one.get(f"{path}/revisions").json()
        numbers = [r["revision"] for r in saved]
        assert len(set(numbers)) == len(numbers) == at["revision"]
        assert at["revision"] == 1 + 2 * TABLETS * ROUNDS
        assert shop.codes["surface 409"] > 0, "they did come between each other"
    server.stop()
