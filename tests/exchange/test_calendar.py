"""The calendar and the tables speak the language of the job; their keys and identifiers do not."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import icalendar
import pytest

from pourwright.exchange import named, plan_ics, plan_tables
from pourwright.plan import Working, job_from, load_job, work_out

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NOW = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def german() -> Working:
    doc = load_job(EXAMPLES / "galley.toml").to_document()
    show = {**doc["show"], "language": "de"}
    doc = {k: v for k, v in doc.items() if k != "price"}
    return work_out(job_from({**doc, "samples": 50, "show": show}), EXAMPLES)


def events(plan) -> list:
    return icalendar.Calendar.from_ical(plan_ics(plan, "job-1", NOW)).walk("VEVENT")


def test_every_event_is_german_and_keeps_its_identifier_and_time(german: Working) -> None:
    said = events(german.plan)
    show = {**german.plan.job["show"], "language": "en"}
    english = german.plan.model_copy(update={"job": {**german.plan.job, "show": show}})
    plain = events(english)
    assert [e["UID"] for e in said] == [e["UID"] for e in plain]
    assert [e["DTSTART"].dt for e in said] == [e["DTSTART"].dt for e in plain]
    for a, b in zip(said, plain, strict=True):
        assert str(a["SUMMARY"]) != str(b["SUMMARY"])
    told = "\n".join(f"{e['SUMMARY']}\n{e['DESCRIPTION']}" for e in said)
    for english_word in (
        "Hold point",
        "Caution",
        "mix and pour",
        "full service",
        " the ",
        "Surely",
    ):
        assert english_word not in told, english_word
    for word in ("Haltepunkt: ", "Vorsicht: ", "Farbschicht: mischen und gießen", "volle Nutzung"):
        assert word in told, word


def test_tables_are_told_in_german_under_the_same_headings(german: Working) -> None:
    tables = plan_tables(german.plan)
    show = {**german.plan.job["show"], "language": "en"}
    english = german.plan.model_copy(update={"job": {**german.plan.job, "show": show}})
    assert [(t.name, t.head) for t in tables] == [(t.name, t.head) for t in plan_tables(english)]
    titles = [r[1] for r in named(tables, "steps").rows]
    assert "Träger zuschneiden" in titles and "Übergeben" in titles
    cups = named(tables, "cups")
    labels = [r[cups.head.index("label")] for r in cups.rows]
    assert len(set(labels)) == len(labels) > 10 and "Rücken 2 U1A" in labels
