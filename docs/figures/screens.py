"""Pictures of all screens, on a tablet and on a phone, from the app itself: docs/screens/*.jpg.

Plans and pours the three demo jobs in a store of its own, serves it on a free port and photographs
every screen in this machine's chromium. Takes some minutes, most of them for the pours. A folder
given as argument keeps its store, so that the next run need not pour again; with jobs named behind
it, only those are planned and poured and no screen is taken, so that it can be done in parts.
"""

from __future__ import annotations

import io
import json
import shutil
import socket
import sys
import tempfile
import threading
import time
import tomllib
import urllib.request
from collections.abc import Callable
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any

from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
OUT = ROOT / "docs" / "screens"
SIZES = {"tablet": (1180, 820), "phone": (390, 844)}
JOB = "/jobs/galley"
PAST = "second-cabin"
DEMO = ("galley", "cafe-bar", "wet-room")
SCREENS = {
    "jobs": "/", "new": "/jobs/new", "site": f"{JOB}/site", "site-place": f"{JOB}/site#s-place",
    "finish": f"{JOB}/finish", "finish-shades": f"{JOB}/finish#f-shades",
    "finish-score": f"{JOB}/finish#f-score", "build": f"{JOB}/build",
    "build-checks": f"{JOB}/build#b-checks", "mix": f"{JOB}/mix",
    "day": f"{JOB}/day?date=2027-03-19", "day-steps": f"{JOB}/day?date=2027-03-19#d-steps",
    "floor": f"{JOB}/floor?step=colour-mix-1", "papers": f"{JOB}/papers",
    "record": f"{JOB}/record", "history": f"/jobs/{PAST}/history", "board": f"{JOB}/board",
    "bench": "/bench", "bench-calculation": "/bench/film.level", "settings": "/settings",
    "sign-in": "/login", "mix-one": f"{JOB}/mix/cup",
}  # fmt: skip
LARGEST = 280_000


def serve(data: Path) -> tuple[str, Any, Callable[[], int]]:
    """The app on a free port with the demo jobs planned and the galley poured."""
    import uvicorn

    from pourwright.web.app import create_app
    from pourwright.web.settings import Settings
    from pourwright.web.workers import run_task

    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = s.getsockname()[1]
    app = create_app(Settings(data=data, port=port, workers=False, demo=False))
    store = app.state.store
    for ident, name in {"wet-room": "wet_room", "cafe-bar": "cafe_bar", "galley": "galley"}.items():
        document = tomllib.loads((ROOT / f"examples/{name}.toml").read_text("utf-8"))
        score = document["finish"]["score"]
        files = {score: (ROOT / "examples" / score).read_text("utf-8")}
        if ident not in store.jobs.ids():
            store.jobs.create(document, files, "Pourwright", "demo job", ident)
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="warning"))
    threading.Thread(target=server.run, daemon=True).start()
    while not server.started:
        time.sleep(0.05)
    base = f"http://127.0.0.1:{port}"
    for ident in sys.argv[2:] or DEMO:
        ask = urllib.request.Request(f"{base}/jobs/{ident}/build", headers={"accept": "text/html"})
        urllib.request.urlopen(ask).read()
    for ident in sys.argv[2:] or DEMO:
        if not store.pictures.of_job(ident):
            ask_picture(base, ident)

    def work() -> int:
        """Do what waits, as the workers would; how many tasks that were."""
        count = 0
        for lane in ("plan", "picture"):
            while (task := store.tasks.claim(lane, "screens", 1)) is not None:
                print(f"{task.kind} of {task.job_id}", flush=True)
                run_task(store, task, "screens", data)
                if (ended := store.tasks.get(task.id)).state != "done":
                    raise SystemExit(f"{task.kind} of {task.job_id}: {ended.error}")
                count += 1
        return count

    work()
    if not sys.argv[2:] and not store.happened.log("galley", 0):
        store.happened.tick("galley", "cup:colour/S1A", True, "Ann")
        store.happened.tick("galley", "cup:colour/S1B", True, "Ann")
        store.happened.note("galley", "lot", "A lot 2403, B lot 2404", {}, "Ann")
        store.happened.note("galley", "note", "Stove lit at seven, doors shut.", {}, "Ann")
        with_history(store)
    return base, server, work


def with_history(store: Any) -> None:
    """A second cabin, put away, that has a history: two changes and one taken back."""
    first = store.jobs.get("wet-room")
    document = {**first.document, "name": "Shower of the second cabin"}
    store.jobs.create(document, dict(first.files), "Ann", "new job", PAST)
    for path, value, why in (
        ("core.support_span", "500 mm", "core changed"), ("client", "A. Client", "site changed"),
    ):  # fmt: skip

        def edit(document: dict[str, Any], path: str = path, value: str = value) -> dict[str, Any]:
            table, _, key = path.rpartition(".")
            (document[table] if table else document)[key] = value
            return document

        store.jobs.change(PAST, edit, "Ann", why, None)
    store.jobs.undo(PAST, "Ann", None)
    store.jobs.archive(PAST, True, "Ann")


def change(base: str, path: str, wants: dict[str, Any]) -> Any:
    """Ask for a change through the API as a page would; returns its answer."""
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    token = json.loads(opener.open(f"{base}/api/session").read())["token"]
    head = {"Content-Type": "application/json", "X-Pourwright-Token": token}
    sent = urllib.request.Request(base + path, json.dumps(wants).encode(), head)
    return json.loads(opener.open(sent).read())


def ask_picture(base: str, ident: str) -> None:
    """Queue pictures of a job."""
    change(base, f"/api/jobs/{ident}/pictures", {"cell_mm": 6.0, "pixel_mm": 1.5})


def client_link(base: str, job: str) -> str:
    """Path of a fresh link for a client."""
    return str(change(base, f"/api{job}/links", {"days": 30})["address"])


def keep(png: bytes, path: Path) -> None:
    """Write a screenshot as a JPEG that is small enough to be kept."""
    image = Image.open(io.BytesIO(png)).convert("RGB")
    for quality in (88, 80, 70, 60):
        raw = io.BytesIO()
        image.save(raw, "JPEG", quality=quality, optimize=True, progressive=True)
        if raw.tell() <= LARGEST:
            break
    path.write_bytes(raw.getvalue())


def main() -> None:
    """Photograph every screen at both sizes."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        print("screens: playwright is not installed, nothing drawn")
        return
    if found is None:
        print("screens: no chromium on this machine, nothing drawn")
        return
    OUT.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as own, sync_playwright() as p:
        base, server, work = serve(Path(sys.argv[1] if len(sys.argv) > 1 else own))
        if sys.argv[2:]:
            print(f"poured: {', '.join(sys.argv[2:])}")
            return
        browser = p.chromium.launch(executable_path=found, args=["--no-sandbox", "--lang=en-GB"])
        for size, (wide, high) in SIZES.items():
            context = browser.new_context(
                viewport={"width": wide, "height": high}, locale="en-GB", has_touch=True
            )
            tab = context.new_page()
            for name, path in SCREENS.items():
                tab.goto("about:blank")
                tab.goto(base + path, wait_until="load")
                tab.wait_for_timeout(900)
                for _ in range(3):
                    if work():
                        tab.reload(wait_until="load")
                        tab.wait_for_timeout(900)
                if name == "bench-calculation":
                    tab.locator("form[action^='/bench/'] button.go").click()
                    tab.wait_for_load_state("load")
                    tab.evaluate("document.querySelector('h1').scrollIntoView()")
                keep(tab.screenshot(), OUT / f"{name}-{size}.jpg")
            link = client_link(base, JOB)
            for _ in range(2):  # its price is reckoned once it is asked for
                tab.goto(f"{base}{link}")
                work()
            for name, place in (("client", ".title"), ("client-price", "#c-what")):
                tab.locator(place).scroll_into_view_if_needed()
                tab.evaluate("s => document.querySelector(s).scrollIntoView()", place)
                tab.wait_for_timeout(600)
                keep(tab.screenshot(), OUT / f"{name}-{size}.jpg")
            context.add_cookies([{"name": "pw_language", "value": "de", "url": base}])
            tab.goto(f"{base}{JOB}/mix")
            keep(tab.screenshot(), OUT / f"mix-german-{size}.jpg")
            context.close()
        browser.close()
        server.should_exit = True
        time.sleep(0.5)
    print(f"{len(SCREENS) + 3} screens at {len(SIZES)} sizes in {OUT.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
