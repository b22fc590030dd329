"""How fast the app answers: first response cold, then pages and JSON with 200 jobs in the store.

The peer in the same run is the same server answering its smallest request (`/api/session`): what a
page costs beyond it is the store, the templates and the plan's JSON. One client thread, loopback;
the server runs as a process of its own, as users run it. Goals: first page under 1 s cold, pages
under 200 ms at the 95th percentile.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
from datetime import date
from pathlib import Path

import httpx

from pourwright.plan.new import new_job
from pourwright.store.store import Store

JOBS = 200
ROUNDS = 40
START = "from pourwright.cli.main import run; run()"


def fill(data: Path) -> list[str]:
    """200 jobs with 5 revisions each in a store at `data` [-]; returns their ids."""
    store = Store(data)
    document = tomllib.loads(new_job("Bench", date(2027, 3, 15)))
    ids = []
    for k in range(JOBS):
        job = store.jobs.create({**document, "name": f"Job {k}"})
        for n in range(1, 5):
            store.jobs.save(job.id, n, {**document, "name": f"Job {k}", "about": f"try {n}"})
        ids.append(job.id)
    store.close()
    return ids


def started(data: Path, *more: str) -> tuple[subprocess.Popen[str], str, float]:
    """A fresh server on `data`; its process, its address, and seconds to its first page [s]."""
    began = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-c", START, "app", "--port", "0", "--data", str(data), "--no-open",
         "--json", *more],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    text = ""
    while not text.rstrip().endswith("}"):
        text += process.stdout.readline()
    address = str(json.loads(text)["address"])
    httpx.get(f"{address}", timeout=30).read()
    return process, address, time.perf_counter() - began


def processor_time(process: subprocess.Popen[str]) -> float | None:
    """Processor time that a server used so far [s]; None where the system does not tell."""
    path = Path(f"/proc/{process.pid}/stat")
    if not path.exists():
        return None
    fields = path.read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def stop(process: subprocess.Popen[str]) -> None:
    """End a server that this script started."""
    process.terminate()
    process.wait(30)
    if process.stdout is not None:
        process.stdout.close()


def timed(client: httpx.Client, path: str) -> tuple[float, float, int]:
    """Median and 95th percentile [s] of `path`, and the worst status seen [-]."""
    took, worst = [], 0
    for _ in range(ROUNDS):
        began = time.perf_counter()
        answer = client.get(path)
        took.append(time.perf_counter() - began)
        worst = max(worst, answer.status_code)
    return statistics.median(took), statistics.quantiles(took, n=20)[-1], worst


def main() -> None:
    """Print the table."""
    print(f"{os.cpu_count()} cores; one client thread; {JOBS} jobs, {JOBS * 5} revisions")
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        ids = fill(data)
        cold, used = [], []
        for _ in range(3):
            process, address, took = started(data, "--no-demo")
            cold.append(took)
            used.append(processor_time(process))
            stop(process)
        print(f"first page, cold start to last byte: best {min(cold):.2f} s of 3 (goal 1 s)")
        told = [u for u in used if u is not None]
        if told:
            print(f"processor time of the server until then: best {min(told):.2f} s of 3")
        process, address, _ = started(data, "--no-demo")
        try:
            with httpx.Client(base_url=address, timeout=120, follow_redirects=True) as client:
                job = ids[0]
                planned = client.get(f"/api/jobs/{job}/plan?wait=100").status_code
                print(f"plan of one job ready: {planned == 200}")
                base, base95, _ = timed(client, "/api/session")
                print(f"{'path':<34}{'median ms':>10}{'p95 ms':>9}{'ratio':>7}  status")
                rows = ["/", f"/api/jobs/{job}", "/api/jobs", f"/api/jobs/{job}/plan",
                        f"/api/jobs/{job}/ribbon/colour", f"/api/jobs/{job}/plan-view.svg"]  # fmt: skip
                rows += [f"/jobs/{job}/{w}" for w in
                         ("site", "finish", "build", "mix", "day", "floor", "papers", "record",
                          "history")]  # fmt: skip
                rows += ["/bench", "/bench/cure.windows", "/settings", "/jobs/new"]
                print(
                    f"{'/api/session (peer)':<34}{base * 1e3:>10.1f}{base95 * 1e3:>9.1f}{1:>7.1f}"
                )
                for path in rows:
                    middle, late, status = timed(client, path)
                    shown = path.replace(job, "ID")
                    print(f"{shown:<34}{middle * 1e3:>10.1f}{late * 1e3:>9.1f}"
                          f"{middle / base:>7.1f}  {status}")  # fmt: skip
                token = client.get("/api/session").json()["token"]
                document = client.get(f"/api/jobs/{job}").json()
                saves = []
                revision = document["revision"]
                for n in range(ROUNDS):
                    body = {"base_revision": revision,
                            "document": {**document["document"], "about": f"bench {n}"}}  # fmt: skip
                    began = time.perf_counter()
                    r = client.put(f"/api/jobs/{job}", json=body,
                                   headers={"X-Pourwright-Token": token})  # fmt: skip
                    saves.append(time.perf_counter() - began)
                    revision = r.json()["revision"]
                late = statistics.quantiles(saves, n=20)[-1]
                middle = statistics.median(saves)
                print(f"{'PUT (a save, synced to disk)':<34}{middle * 1e3:>10.1f}{late * 1e3:>9.1f}"
                      f"{middle / base:>7.1f}")  # fmt: skip
        finally:
            stop(process)


if __name__ == "__main__":
    main()
