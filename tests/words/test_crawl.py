"""Every page of the app: a German reader meets no English, a job in US units no metric amounts."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from pourwright.calc import get, names
from pourwright.record.entries import FAULTS
from pourwright.web.app import create_app
from pourwright.web.demo import load_demo
from pourwright.web.pages.words import catalogue as messages
from pourwright.web.session import HERE
from pourwright.web.settings import Settings
from pourwright.web.workers import run_task
from pourwright.words import catalogue

BASE = "http://127.0.0.1:8737"
INSIDE = re.compile(r'href="(/(?:jobs|bench|settings|share|catalogue)[^"#]*)')
FILES = re.compile(r"\.(pdf|png|svg|toml|json|csv|dxf|ics|xlsx|glb|zip)\b|/exports/|/backup")
MACHINE = ("textarea", "code", "pre")
"""Elements with a job file, a score or JSON in them: the same in every language and unit."""
WHY = "Seen by a test"
ASKED = (
    "air.dew_point", "quantity.coverage", "film.level", "colour.difference", "endure.weight",
    "panel.joints", "mix.batch", "survey.areas",
)  # fmt: skip
"""Calculations that are worked out as well as shown."""


SILENT = ("script", "style", "template")
EMPTY = frozenset(
    "area base br col embed hr img input link meta source track wbr rect line path circle polygon"
    " polyline use stop image ellipse".split()
)
SPOKEN = ("aria-label", "alt", "title", "placeholder", "aria-description", "data-label")


@dataclass(frozen=True)
class Seen:
    """One text of a page, the language it is marked as, and the element it stands in."""

    text: str
    lang: str
    tag: str


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[tuple[str, str]] = []
        self.seen: list[Seen] = []

    @property
    def lang(self) -> str:
        return self.open[-1][1] if self.open else ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        lang = (given.get("lang") or self.lang)[:2]
        for key in SPOKEN:
            if text := " ".join((given.get(key) or "").split()):
                self.seen.append(Seen(text, lang, f"{tag}@{key}"))
        if tag == "input" and given.get("type") in ("submit", "button") and given.get("value"):
            self.seen.append(Seen(str(given["value"]), lang, "input@value"))
        if tag not in EMPTY:
            self.open.append((tag, lang))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        count = len(self.open)
        self.handle_starttag(tag, attrs)
        del self.open[count:]

    def handle_endtag(self, tag: str) -> None:
        if any(t == tag for t, _ in self.open):
            while self.open.pop()[0] != tag:
                pass

    def handle_data(self, data: str) -> None:
        text = " ".join(data.split())
        if text and not any(t in SILENT for t, _ in self.open):
            self.seen.append(Seen(text, self.lang, self.open[-1][0] if self.open else ""))


def texts_of(html: str) -> list[Seen]:
    """Every text that a reader of the page `html` sees or hears."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader.seen


ENGLISH = re.compile(
    r"\b(the|with|and|of|is|are|before|until|from|this|that|your|for|than|by|at|it|no|cup|cups|coat|"
    r"shade|shades|core|edge|room|mixed|pour|poured|sand|left|day|days|time|hours|width|"
    r"depth|air|give|use|yes|none|or)\b"
)
"""Words that stand in nearly every English sentence of the app, and in no German one."""
METRIC = re.compile(
    r"(?<![\w.,/])[\d.,−-]+[\s\u00a0\u202f]?(mm|cm|m|kg|mL|L|°C|degC|K|m²|m2|m³)(?![\w²³/]|\s?/)"
)
"""An amount in a metric unit; grams and minutes stand on scales and clocks everywhere."""


class Visit:
    """The app with the galley in it, seen by a reader of one language and one system of units."""

    def __init__(self, data: Path, language: str, units: str) -> None:
        self.data = data
        app = create_app(Settings(data=data, workers=False, demo=False))
        self.client = TestClient(app, base_url=BASE)
        self.client.__enter__()
        self.store = app.state.store
        load_demo(self.store, prepare=False)
        token = self.client.get("/api/session").json()["token"]
        self.client.headers["X-Pourwright-Token"] = self.token = token
        self.client.cookies.set("pw_language", language)
        self.client.cookies.set("pw_units", units)
        at = self.store.jobs.get("galley")
        document = {**at.document, "samples": 50}
        document["show"] = {**document.get("show", {}), "units": units}
        self.job = self.store.jobs.save("galley", at.revision, document, at.files, "", WHY)
        self.start = str(self.job.document["site"]["start"])[:10]
        all_ = [self.store.jobs.get(i).document for i in self.store.jobs.ids()]
        asked = _strings([dict(get(n).example) for n in ASKED])
        headed = {x[:1].upper() + x[1:] for x in asked}  # a name that heads a row
        self.own = sorted({WHY, *_strings(all_), *asked, *headed}, key=len, reverse=True)
        self.pages: dict[str, list[Seen]] = {}

    def work(self) -> None:
        """Do all waiting plans here, as a worker would; pictures are left."""
        while (task := self.store.tasks.claim("plan", "test", 1)) is not None:
            run_task(self.store, task, "test", self.data)

    def name_parts(self) -> None:
        """Names that are pencilled on the parts and stand in the DXF are the same everywhere."""
        plan = self.client.get("/api/jobs/galley/plan").json()["plan"]
        self.own = sorted(
            {*self.own, *(p["name"] for p in plan["cut"]["pieces"])}, key=len, reverse=True
        )

    def send(self, path: str, **form: str) -> None:
        """Send a form that must be taken."""
        sent = self.client.post(path, data={"token": self.token, **form}, follow_redirects=False)
        assert sent.status_code == 303, (path, form, sent.status_code)

    def look(self, path: str, method: str = "get", **kw: Any) -> str:
        """Read a page; returns its HTML, empty when it is none."""
        found = getattr(self.client, method)(path, **kw)
        if "html" not in found.headers.get("content-type", ""):
            return ""
        assert found.status_code in (200, 422), (path, found.status_code)
        key = path if method == "get" else f"{method} {path}"
        self.pages[key] = texts_of(found.text)
        return str(found.text)

    def without_own(self, text: str) -> str:
        """A text without what somebody named or wrote."""
        for word in self.own:
            if word in text:
                text = re.sub(rf"(?<!\w){re.escape(word)}(?!\w)", "·", text)
        return text

    def crawl(self, *first: str) -> None:
        """Read pages and whatever they lead to."""
        todo, done = list(first), set()
        while todo:
            path = todo.pop()
            if path in done or FILES.search(path):
                continue
            done.add(path)
            for link in INSIDE.findall(self.look(path)):
                link = link.replace("&amp;", "&")
                if not link.startswith("/jobs/") or link.startswith("/jobs/galley"):
                    todo.append(link)

    def texts(self) -> list[tuple[str, Seen]]:
        """All that is read, outside of machine data and of what is marked as English."""
        return [
            (page, seen)
            for page, all_ in self.pages.items()
            for seen in all_
            if seen.tag not in MACHINE and seen.text not in self.own
        ]


def _strings(data: Any) -> list[str]:
    if isinstance(data, str):
        return [" ".join(data.split())] if len(data) > 2 and not data[0].isdigit() else []
    if isinstance(data, dict):
        return [
            x
            for k, v in data.items()
            if k not in ("kind", "lie", "mood", "role")
            for x in _strings(v)
        ]
    return [x for v in data for x in _strings(v)] if isinstance(data, list) else []


@pytest.fixture
def visit(tmp_path: Path) -> Any:
    """A visit that has planned the galley, recorded faults and a look, and read every page."""
    made: list[Visit] = []

    def go(language: str, units: str) -> Visit:
        v = Visit(tmp_path / "data", language, units)
        made.append(v)
        v.client.get("/jobs/galley/day")
        v.work()
        v.name_parts()
        record = "/jobs/galley/record"
        for fault in FAULTS:
            v.send(record, kind="fault", fault=fault, coat="flood", date=v.start, at="18:00")
        v.send(
            record,
            kind="look",
            stage="tack-free",
            of="colour",
            seen="yes",
            date=v.start,
            at="20:00",
        )
        v.send(
            record,
            kind="account",
            coat="colour",
            ran_off="100 g",
            tools="50 g",
            date=v.start,
            at="20:05",
        )
        v.client.get(record)
        v.client.get("/jobs/galley/day")
        v.work()
        v.crawl("/", "/jobs/new", "/settings", "/bench", "/jobs/galley/site", "/jobs/galley/board",
                *(f"{record}?write={k}" for k in ("reading", "cup", "logger", "photo", "check")),
                *(f"/bench/{n}" for n in names()))  # fmt: skip
        for name in ASKED:
            form = _form_of(v, name)
            v.look(f"/bench/{name}", "post", data={"token": v.token, **form})
        v.look("/bench/film.level", "post", data={"token": v.token, "film_mm": "-3"})
        return v

    yield go
    for v in made:
        v.client.__exit__(None, None, None)


def _form_of(v: Visit, name: str) -> dict[str, str]:
    from pourwright.web.pages.bench_form import texts_of as filled
    from pourwright.web.pages.show import Show
    from pourwright.web.pages.words import words_in

    calc = get(name)
    units = v.job.document["show"]["units"]
    return filled(calc, calc.example, Show(units, words_in("en", units)))


def test_a_german_reader_meets_no_english(visit: Callable[..., Visit]) -> None:
    v = visit("de", "metric")
    assert len(v.pages) > 100
    known, english = catalogue("de"), messages("en")
    german = {*known.values(), *messages("de").values()}
    keys = {*known, *english.values(), HERE} - german
    wrong: dict[str, str] = {}
    marked = set()
    for page, seen in v.texts():
        if seen.lang == "en":
            marked.add(seen.text)
        elif seen.text in keys or (
            seen.text not in german and ENGLISH.search(v.without_own(seen.text))
        ):
            wrong.setdefault(seen.text, f"{page} <{seen.tag}>")
    assert not wrong, "\n".join(f"{v}: {k}" for k, v in wrong.items())
    assert marked & keys == set(), "marked as English, though there is German for it"
    record = " ".join(s.text for s in v.pages["/jobs/galley/record?write=check"])
    assert "Fischauge" in record and "Härter" in record
    assert "Trägerplatte" in record


def test_a_job_in_us_units_shows_no_metric_amounts(visit: Callable[..., Visit]) -> None:
    v = visit("en", "us")
    assert len(v.pages) > 100
    sources = [str(s) for n in names() for s in get(n).sources]
    wrong: dict[str, str] = {}
    for page, seen in v.texts():
        if METRIC.search(v.without_own(seen.text)) and not any(seen.text in s for s in sources):
            wrong.setdefault(seen.text, f"{page} <{seen.tag}>")
    assert not wrong, "\n".join(f"{v}: {k}" for k, v in wrong.items())
    assert any("°F" in s.text for s in v.pages["/jobs/galley/day"])


def test_english_and_metric_would_be_found() -> None:
    page = (
        '<p title="Cut the core">Der Film <b lang="en">with care</b></p><script>the</script>'
        '<img alt="5 mm"><p>bis 12.5 kg/m², 3 mm/m</p><textarea>and</textarea>'
    )
    seen = texts_of(page)
    assert Seen("Cut the core", "", "p@title") in seen and Seen("with care", "en", "b") in seen
    assert not any(s.text == "the" for s in seen)
    found = [s.text for s in seen if s.lang != "en" and s.tag not in MACHINE]
    assert [t for t in found if ENGLISH.search(t)] == ["Cut the core"]
    assert [t for t in found if METRIC.search(t)] == ["5 mm"]
