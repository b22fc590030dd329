"""Browsers for the tests here: people with tablets and phones, and the app for them to open.

Nothing waits for a set time: every wait is for something on the page, and gives up only after
`LONG`, far longer than it takes on a busy machine. `POURWRIGHT_BROWSER_SLOW="600,4"` makes every
request of every page take 600 ms longer and its scripts run four times slower, as on an old tablet
at the end of the garden: what only holds on a quick machine falls over then.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[3]
BUILT = ROOT / "src" / "pourwright" / "web" / "static" / "built" / "app.js"
TABLET = (1180, 820)
ENDED = re.compile("Done:|not drawn|Stopped")
LONG = 240_000
"""After how long a wait gives up [ms]."""
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
ARGS = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync "
    "--disable-background-networking --disable-component-update"
).split()
TARGETS = """
() => [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')]
  .filter(e => e.checkVisibility({checkVisibilityCSS: true}) && !e.closest('.hidden, .skip'))
  .filter(e => !(e.tagName === 'A' && e.closest('p, figcaption, li span') && !e.classList.contains('button')))
  .map(e => { const b = (['checkbox', 'radio'].includes(e.type) ? e.closest('label') : e).getBoundingClientRect();
    return [e.tagName + ' ' + (e.name || e.innerText || '').slice(0, 40), Math.round(b.width), Math.round(b.height)]; })
"""  # noqa: E501


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Every test here needs a browser; those of one file share it, so they go to one process."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.xdist_group(item.path.stem))


@pytest.fixture(scope="session")
def built() -> None:
    """The elements' bundle."""
    if not BUILT.is_file():
        pytest.skip("needs the bundle that scripts/build_ui.py makes")


PROGRESS = """() => { // noted by the page itself: on a busy machine we may look too late
  const box = document.querySelector('pw-picture');
  const there = s => [...box.querySelectorAll(s)].some(e => !e.hidden);
  window.progress = false;
  new MutationObserver(() => { window.progress ||= there('progress') && there('progress + button'); })
    .observe(box, {subtree: true, childList: true, attributes: true}); }
"""
"""Notes that a drawing's progress was shown, with the button that stops it."""
READY = {
    "site": ".pw-knob", "finish": ".pw-picture-form", "mix": ".pw-state", "day": "ol.days a",
    "floor": ".pw-acts-now, .pw-step h1",
}  # fmt: skip
"""What shows on a screen of a job once its elements have done their work; with a plan."""


def settle(page: Any, scripts: bool = True, worked: bool = True) -> None:
    """Wait until a screen has what it shows: its elements are there, and where the shop's long
    work is done (`worked`) its plan too. Without scripts there is nothing to wait for.

    Tasks beside the plan (a reckoning, causes of a fault) are not waited for: they may take
    minutes, and what comes of them is put in its own section only.
    """
    if not scripts:
        return
    waits = "pw-wait, :not(:defined)" if worked else ":not(:defined)"
    page.wait_for_function("s => !document.querySelector(s)", arg=waits, polling=100)
    parts = page.url.partition("?")[0].split("/")
    if parts[3:4] == ["jobs"] and (first := READY.get(parts[-1])):
        page.locator(first).first.wait_for(state="attached")


class Hosted:
    """The app in this process on a free port of loopback, with a store of its own."""

    def __init__(self, data: Path, **settings: Any) -> None:
        import uvicorn

        from pourwright.web.app import create_app
        from pourwright.web.settings import Settings

        with socket.socket() as s:
            s.bind(("127.0.0.1", 0))
            port = s.getsockname()[1]
        self.data, self.url, self.count = data, f"http://127.0.0.1:{port}", 0
        settings = {"workers": False, "demo": False, **settings}
        self.app = create_app(Settings(data=data, port=port, **settings))
        self.store = self.app.state.store
        self._over = threading.Event()
        self._server = uvicorn.Server(uvicorn.Config(self.app, port=port, log_level="critical"))
        self._threads = [threading.Thread(target=self._server.run, daemon=True)]
        self._threads[0].start()
        self.until(lambda: self._server.started)

    def job(self, first: date = date(2027, 3, 15), **change: Any) -> str:
        """A small new job that starts on `first`, at all hours; returns its id."""
        from pourwright.plan.new import new_job

        self.count += 1
        made = tomllib.loads(new_job(f"Shelf {self.count}", first))
        made["surfaces"] = [{"name": "top", "size": ["600 mm", "400 mm"],
                             "other_edges": {"kind": "wall"}}]  # fmt: skip
        days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
        hours = {"from": "00:00", "to": "23:59", "weekdays": days}
        site = {**made["site"], "start": first.isoformat(), "hours": hours}
        made = {**made, "samples": 50, "site": site, **change}
        job: str = self.store.jobs.create(made, {}, "test").id
        return job

    def galley(self) -> str:
        """The demo galley, sampled coarsely; returns its id."""
        return galley_in(self.store)

    def document(self, job: str) -> dict[str, Any]:
        """The document of a job as it stands."""
        found: dict[str, Any] = self.store.jobs.get(job).document
        return found

    def log(self, job: str) -> list[Any]:
        """What happened in a job."""
        found: list[Any] = self.store.happened.log(job, most=100_000)
        return found

    def until(self, true: Callable[[], Any], what: str = "it did not happen in time") -> Any:
        """Wait until something is true, and return it."""
        end = time.monotonic() + LONG / 1e3
        while not (found := true()):
            assert time.monotonic() < end, what
            time.sleep(0.05)
        return found

    def becomes(self, job: str, true: Callable[[dict[str, Any]], Any]) -> None:
        """Wait until the stored document of a job is as said."""
        self.until(lambda: true(self.document(job)), "the document did not become so")

    def work(self, lane: str = "plan") -> int:
        """Do what waits, as a worker would; returns how much that was."""
        from pourwright.web.workers import run_task

        count = 0
        while (task := self.store.tasks.claim(lane, "test", 1)) is not None:
            run_task(self.store, task, "test", self.data)
            count += 1
        return count

    def keep_working(self) -> None:
        """Do the work of the plan lane in a thread from now on."""

        def go_on() -> None:
            while not self._over.wait(0.05):
                self.work()

        self._threads.append(threading.Thread(target=go_on, daemon=True))
        self._threads[-1].start()

    def stop(self) -> None:
        """End it."""
        self._over.set()
        self._server.should_exit = True
        for thread in self._threads:
            thread.join(30)


def galley_in(store: Any) -> str:
    """Put the demo galley into a store, its uncertainty sampled coarsely so that it is planned
    soon; returns its id."""
    folder = ROOT / "examples"
    document = tomllib.loads((folder / "galley.toml").read_text("utf-8"))
    score = document["finish"]["score"]
    files = {score: (folder / score).read_text("utf-8")}
    job: str = store.jobs.create({**document, "samples": 50}, files, job_id="galley").id
    return job


@pytest.fixture(scope="module")
def host(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., Hosted]]:
    """Apps in this process; they end with the module."""
    made: list[Hosted] = []

    def start(**settings: Any) -> Hosted:
        made.append(Hosted(tmp_path_factory.mktemp("app") / "data", **settings))
        return made[-1]

    yield start
    for one in made:
        one.stop()


@pytest.fixture
def galley(serve: Callable[..., Any], tmp_path: Path) -> Any:
    """A server, as a process of its own, that holds the demo galley."""
    from pourwright.store.store import Store

    store = Store(tmp_path / "data")
    galley_in(store)
    store.close()
    return serve()


def hinder(page: Any) -> None:
    """Make a page as slow as `POURWRIGHT_BROWSER_SLOW` says: more latency [ms], a slower processor
    [times]."""
    if not (said := os.environ.get("POURWRIGHT_BROWSER_SLOW")):
        return
    latency, times = (float(v) for v in said.split(","))
    cdp = page.context.new_cdp_session(page)
    cdp.send("Network.enable")
    line = {"latency": latency, "downloadThroughput": -1, "uploadThroughput": -1}

    def set_offline(off: bool) -> None:
        if not page.is_closed():
            cdp.send("Network.emulateNetworkConditions", {**line, "offline": off})

    set_offline(False)
    page.context.set_offline = set_offline  # the browser's own would take the latency back
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": times})


class Person:
    """Somebody with a tablet or a phone: one page with touch, and what it asked and complained of.

    `wrong` collects requests to anywhere else, refusals of the content policy, faults of scripts.
    """

    def __init__(
        self, browser: Any, address: str, view: tuple[int, int] = TABLET, **more: Any
    ) -> None:
        size = {"width": view[0], "height": view[1]}
        more = {"has_touch": True, "accept_downloads": True, "locale": "en-GB", **more}
        self.address = address.rstrip("/")
        self.wide = view[0]
        self.context = browser.new_context(viewport=size, **more)
        self.context.set_default_timeout(LONG)
        self.page = self.context.new_page()
        if more.get("java_script_enabled", True):  # a page without scripts has none that come late
            hinder(self.page)
        self.asked = 0
        self.wrong: list[str] = []
        self.page.on("request", self._request)
        self.page.on("pageerror", lambda e: self.wrong.append(f"script: {e}"))
        self.page.on("console", self._console)

    def _request(self, request: Any) -> None:
        self.asked += 1
        if not request.url.startswith((f"{self.address}/", "data:", "blob:", "about:")):
            self.wrong.append(f"asked {request.url}")

    def _console(self, message: Any) -> None:
        passing = ("Failed to load resource", "ERR_CONNECTION", "net::", "navigator.vibrate")
        if message.type == "error" and not any(p in message.text for p in passing):
            self.wrong.append(f"console: {message.text}")

    def go(self, path: str) -> Any:
        """Open a path of the app; returns the page."""
        self.page.goto(f"{self.address}{path}")
        return self.page

    def look(self) -> list[Any]:
        """What is wrong with the screen once it stands still: axe-core's rules, sideways scroll."""
        settle(self.page)
        return faults(self.page, self.wide, least=0)

    def token(self) -> dict[str, str]:
        """The header that a change made by this browser's session must carry."""
        asked = self.page.request.get(f"{self.address}/api/session")
        return {"X-Pourwright-Token": asked.json()["token"]}


def faults(page: Any, wide: int, least: int = 48) -> list[Any]:
    """What is wrong with a screen `wide` [px]: WCAG 2.2 A and AA and best practice as axe-core
    finds them, sideways scroll, and targets smaller than `least` [px].

    Links inside a sentence may be smaller, as WCAG 2.5.8 allows.
    """
    package = pytest.importorskip("axe_playwright_python", reason="axe is not here")
    page.evaluate((Path(package.__file__).parent / "axe.min.js").read_text("utf-8"))
    run = "tags => axe.run({runOnly: {type: 'tag', values: tags}, resultTypes: ['violations']})"
    found = page.evaluate(
        f"async tags => (await ({run})(tags)).violations.map(v => "
        "[location.pathname, v.id, v.nodes.slice(0, 3).map(n => n.html.slice(0, 160))])", TAGS,
    )  # fmt: skip
    got = page.evaluate("document.documentElement.scrollWidth")
    found += [[page.url, "sideways", got]] if got > wide else []
    return [*found, *(small_targets(page, least) if least else [])]


def small_targets(page: Any, least: int) -> list[Any]:
    """What is to be tapped and is smaller than `least` [px]."""
    return [[page.url, *t] for t in page.evaluate(TARGETS) if min(t[1], t[2]) < least]


@pytest.fixture
def watch_drawing() -> Callable[[Any], None]:
    """From now on a page notes in `window.progress` that a drawing's progress was shown."""
    return lambda page: page.evaluate(PROGRESS)


@pytest.fixture
def still() -> Callable[..., None]:
    """Waits until a screen stands still: `still(page)`, or `still(page, False)` without scripts."""
    return settle


@pytest.fixture
def fair() -> Callable[..., list[Any]]:
    """What is wrong with a page at its own width; `least` is the smallest target [px]."""

    def judge(page: Any, least: int = 48, axe: bool = True) -> list[Any]:
        wide = page.viewport_size["width"]
        return faults(page, wide, least) if axe else small_targets(page, least)

    return judge


@pytest.fixture(scope="module")  # two at a time in one process would be refused
def chrome() -> Iterator[Any]:
    """This machine's chromium."""
    sync = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    names = (os.environ.get("POURWRIGHT_CHROMIUM", ""), "chromium", "chromium-browser")
    found = next((w for n in names if n and (w := shutil.which(n))), None)
    if found is None:
        pytest.skip("no chromium on this machine: apt-get install chromium")
    with sync.sync_playwright() as p:
        browser = p.chromium.launch(executable_path=found, args=ARGS, timeout=LONG)
        yield browser
        browser.close()


@pytest.fixture
def person(chrome: Any) -> Iterator[Callable[..., Person]]:
    """People with browsers; at the end none of them asked outside or met a fault."""
    made: list[Person] = []

    def come(address: str, view: tuple[int, int] = TABLET, **more: Any) -> Person:
        made.append(Person(chrome, address, view, **more))
        return made[-1]

    yield come
    for p in made:
        p.context.close()
    assert [w for p in made for w in p.wrong] == []
    assert all(p.asked for p in made)


@pytest.fixture
def look(person: Callable[..., Person], place: Hosted) -> Callable[..., Any]:
    """Opens a path of the module's `place` and gives the page; scripts on or off."""

    def go(
        path: str = "", view: tuple[int, int] = TABLET, scripts: bool = True, **more: Any
    ) -> Any:
        one = person(place.url, view, java_script_enabled=scripts, **more)
        return one.go(path) if path else one.page

    return go


class Work:
    """One job in one browser: what a finisher does with it, and what the server holds."""

    def __init__(self, person: Person, job: str = "") -> None:
        self.person, self.page, self.job = person, person.page, job
        self.faults: list[Any] = []

    def go(self, screen: str) -> None:
        """Open a screen of the job."""
        self.person.go(f"/jobs/{self.job}/{screen}")

    def send(self, selector: str) -> None:
        """Tap a form's button and wait for the page that comes of it."""
        with self.page.expect_navigation():
            self.page.locator(selector).first.tap()

    def draw(self) -> None:
        """Have a picture drawn as the fields say, and wait for it; its progress is seen."""
        page = self.page
        page.evaluate(PROGRESS)
        page.get_by_role("button", name="Draw a picture").tap()
        ended = page.locator("pw-picture .pw-state", has_text=ENDED)
        ended.wait_for(timeout=900_000)  # minutes of work where others work too
        assert "Done:" in ended.inner_text()
        assert page.evaluate("window.progress")

    def asked(self, path: str = "") -> Any:
        """What the API says; a plan is waited for."""
        address = f"{self.person.address}/api/jobs/{self.job}{path}"
        end = time.monotonic() + LONG / 1e3
        while (found := self.page.request.get(address, timeout=LONG)).status == 202:
            assert time.monotonic() < end, f"{path} is not ready"
        assert found.ok, found.text()
        return found.json()

    def until(self, true: Callable[[], Any]) -> Any:
        """Wait until something is true, and return it: letters go out behind what is seen."""
        end = time.monotonic() + LONG / 1e3
        while not (found := true()):
            assert time.monotonic() < end
            time.sleep(0.1)
        return found

    def look(self) -> None:
        """Note what is wrong with this screen."""
        self.faults += self.person.look()

    def width_of(self, image: Any) -> int:
        """Width of an image once it is there [px]; those below the fold come when scrolled to."""
        image.scroll_into_view_if_needed()
        self.page.wait_for_function(
            "i => i.complete && i.naturalWidth", arg=image.element_handle(), timeout=LONG
        )
        wide: int = image.evaluate("i => i.naturalWidth")
        return wide

    def told(self) -> dict[str, Any]:
        """All that the server holds of the job."""
        paths = ("", "/revisions", "/ticks", "/steps", "/log", "/plan?wait=100", "/pictures")
        found = {p: self.asked(p) for p in paths}
        found["pixels"] = [
            self.page.request.get(f"{self.person.address}{p['url']}").body()
            for p in found["/pictures"]
        ]
        return found

    def kept(self, where: Path) -> None:
        """Take the backup of the shop home."""
        self.person.go("/settings")
        self.look()
        with self.page.expect_download(timeout=LONG) as coming:
            self.page.locator("a[href='/api/backup']").tap()
        coming.value.save_as(where)

    def brought_back(self, backup: Path, name: str) -> None:
        """Restore a backup in an empty shop and open the job called `name` from the list."""
        page = self.person.go("/")
        assert page.locator("main", has_text=name).count() == 0
        self.person.go("/settings")
        page.set_input_files("input[type=file]", backup)
        self.send("form[action='/settings/restore'] button")
        self.person.go("/")
        page.locator("main a", has_text=name).first.tap()
        page.wait_for_url(f"**/jobs/{self.job}/**")


@pytest.fixture
def at_work(person: Callable[..., Person]) -> Callable[..., Work]:
    """A person with a job in hand."""

    def come(address: str, job: str = "", view: tuple[int, int] = TABLET, **more: Any) -> Work:
        return Work(person(address, view, **more), job)

    return come
