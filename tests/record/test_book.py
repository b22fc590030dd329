"""Entries are only ever added: nothing is lost, a change of the file shows, corrections stand."""

from __future__ import annotations

import json
import threading
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.quantities.fields import si
from pourwright.record.book import (
    Record,
    append,
    migrate,
    open_record,
    read_entry,
    read_record,
    record_from,
    record_path,
    record_text,
)
from pourwright.record.entries import KINDS, NoteEntry, ReadingEntry, StruckEntry
from pourwright.record.moments import Moment, moment_of, read_moment, seconds

START = date(2027, 8, 9)
NOON = datetime(2027, 8, 12, 12, 0)


def note(text: str, minutes: int = 0, **more: str) -> NoteEntry:
    return NoteEntry(at=NOON + timedelta(minutes=minutes), text=text, **more)


texts = st.text(min_size=1, max_size=40).filter(lambda s: s.encode("utf-8", "ignore").decode() == s)


class TestRoundTrip:
    @settings(deadline=None, max_examples=60)
    @given(
        st.lists(texts, max_size=6),
        st.lists(st.floats(250.0, 320.0), max_size=6),
    )
    def test_text_reads_back_exactly(self, notes: list[str], kelvins: list[float]) -> None:
        record = Record(job="x", start=START).add(
            *[note(t, k) for k, t in enumerate(notes)],
            *[ReadingEntry(at=NOON, temperature=si(k)) for k in kelvins],
        )
        again = record_from(json.loads(record_text(record)))
        assert again == record
        assert record_text(again) == record_text(record)
        assert again.changed_by_hand() == []

    def test_every_kind_of_entry_has_a_model_with_its_own_name(self) -> None:
        for kind, model in KINDS.items():
            assert model.model_fields["kind"].default == kind
            assert model.__doc__


class TestOnlyAdded:
    def test_adding_keeps_what_was_there(self) -> None:
        record = Record(job="x", start=START)
        for k in range(5):
            longer = record.add(note(str(k), k))
            assert longer.entries[: len(record.entries)] == record.entries
            assert longer.marks[: len(record.marks)] == record.marks
            record = longer
        assert [e.id for e in record.entries] == ["e0001", "e0002", "e0003", "e0004", "e0005"]

    def test_correction_replaces_and_striking_it_brings_the_first_back(self) -> None:
        record = Record(job="x", start=START).add(note("a"))
        record = record.add(note("b", instead_of="e0001"))
        assert [e.text for e in record.of_kind("note")] == ["b"]
        assert [e.text for e in record.entries] == ["a", "b"]  # type: ignore[union-attr]
        record = record.add(StruckEntry(at=NOON, of="e0002", why="the first was right"))
        assert [e.text for e in record.of_kind("note")] == ["a"]
        assert len(record.entries) == 3

    @pytest.mark.parametrize("field", ["instead_of", "of"])
    def test_an_entry_that_is_not_there_cannot_be_corrected(self, field: str) -> None:
        entry = (
            note("b", instead_of="e0009")
            if field == "instead_of"
            else StruckEntry(at=NOON, of="e0009", why="x")
        )
        with pytest.raises(InputError, match="no such entry"):
            Record(job="x", start=START).add(entry)

    def test_a_change_by_hand_shows_and_a_removed_entry_is_refused(self, tmp_path: Path) -> None:
        path = tmp_path / "x.record.json"
        append(path, "x", START, [note("one"), note("two", 1), note("three", 2)])
        data = json.loads(path.read_text(encoding="utf-8"))
        data["entries"][1]["text"] = "changed"
        assert record_from(data).changed_by_hand() == ["e0002"]
        del data["entries"][1]
        with pytest.raises(InputError, match="without a gap"):
            record_from(data)

    def test_writers_at_the_same_time_lose_nothing(self, tmp_path: Path) -> None:
        path = tmp_path / "x.record.json"

        def write(who: int) -> None:
            for k in range(8):
                append(path, "x", START, [note(f"{who}-{k}")])

        threads = [threading.Thread(target=write, args=(k,)) for k in range(3)]
        for t in threads:
            t.start()
        for t in threads:
            t.join()
        record = read_record(path)
        assert {e.text for e in record.of_kind("note")} == {
            f"{w}-{k}" for w in range(3) for k in range(8)
        }
        assert record.changed_by_hand() == []
        assert [p.name for p in tmp_path.iterdir()] == ["x.record.json"]

    def test_a_refused_entry_leaves_the_file_as_it_was(self, tmp_path: Path) -> None:
        path = tmp_path / "x.record.json"
        append(path, "x", START, [note("one")])
        before = path.read_bytes()
        with pytest.raises(InputError):
            append(path, "x", START, [note("two"), note("three", instead_of="e0042")])
        assert path.read_bytes() == before

    def test_a_folder_that_cannot_be_written_is_named(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="folder"):
            append(tmp_path / "none" / "x.record.json", "x", START, [note("one")])

    def test_missing_file_is_an_empty_record(self, tmp_path: Path) -> None:
        record = open_record(tmp_path / "x.record.json", "x", START)
        assert record.entries == () and record.start == START
        assert record_path(tmp_path / "bar.toml") == tmp_path / "bar.record.json"


class TestBroken:
    @pytest.mark.parametrize("text", ["", "[]", "{", "[" * 100_000, '{"schema": 1}', "null", "3"])
    def test_hostile_text_is_refused(self, tmp_path: Path, text: str) -> None:
        path = tmp_path / "x.record.json"
        path.write_text(text, encoding="utf-8")
        with pytest.raises(InputError) as err:
            read_record(path)
        assert "\n" not in err.value.line()

    @pytest.mark.parametrize("version", [2, 99, 0, "1", True, 1.5])
    def test_newer_or_odd_schema_is_refused(self, version: object) -> None:
        with pytest.raises(InputError, match="schema"):
            record_from({"schema": version, "job": "x", "start": "2027-08-09"})

    def test_migrations_run_one_by_one(self) -> None:
        def one(d: dict) -> dict:
            return {"schema": 2, "b": d["a"]}

        def two(d: dict) -> dict:
            return {"schema": 3, "c": d["b"] + 1}

        assert migrate({"schema": 1, "a": 4}, "x", 3, {1: one, 2: two}) == {"schema": 3, "c": 5}
        assert migrate({"schema": 2, "b": 4}, "x", 3, {1: one, 2: two}) == {"schema": 3, "c": 5}


CUP = {"cup": "colour/1A", "a": "519 g", "b": "459 g", "at": "day 4 09:30"}
BAD = [
    ("cup", {**CUP, "a": 519}, "a"),
    ("cup", {**CUP, "a": "-3 g"}, "a"),
    ("cup", {**CUP, "left": "2 kg"}, "left"),
    ("cup", {**CUP, "poured": "day 4 09:20"}, "poured"),
    ("cup", {**CUP, "at": "day 4 25:30"}, "at"),
    ("cup", {**CUP, "at": "2027-08-12T09:30+02:00"}, "at"),
    ("cup", {**CUP, "at": "2027-08-12 09:30Z"}, "at"),
    ("cup", {**CUP, "wrong": "x"}, "wrong"),
    ("step", {"step": "mask", "at": "day 4 09:30", "ended": "day 4 09:00"}, "ended"),
    ("look", {"stage": "cup gel", "seen": True, "at": "day 4 09:30"}, "cup"),
    ("look", {"stage": "tack-free", "seen": True, "at": "day 4 09:30"}, "coat"),
    ("look", {"stage": "hard", "coat": "colour", "seen": True, "at": "day 4 09:30"}, "stage"),
    ("check", {"what": "hardness", "at": "day 4 09:30"}, "shore_d"),
    ("check", {"what": "cup release", "release": "clean", "at": "day 4 09:30"}, "cup"),
    ("fault", {"fault": "ugly", "at": "day 4 09:30"}, "fault"),
    ("reading", {"at": "day 4 09:30"}, "temperature"),
    ("reading", {"at": "day 4 09:30", "temperature": "20"}, "temperature"),
    ("photo", {"at": "day 4 09:30", "file": "../x.jpg", "sha256": "0" * 64}, "file"),
    ("nonsense", {"at": "day 4 09:30"}, "kind"),
]


@pytest.mark.parametrize(
    "kind,data,field", BAD, ids=[f"{b[0]}-{b[2]}-{k}" for k, b in enumerate(BAD)]
)
def test_bad_entries_name_the_field(kind: str, data: dict, field: str) -> None:
    with pytest.raises(InputError) as err:
        read_entry(kind, data, START)
    assert field in err.value.field
    assert "\n" not in err.value.line() and err.value.remedy.endswith((".", "?"))


class TestMoments:
    def test_day_and_date_mean_the_same(self) -> None:
        assert read_moment("day 4 09:40", START) == read_moment("2027-08-12 09:40")
        assert read_moment("DAY 1 0:00", START) == datetime(2027, 8, 9)

    @settings(deadline=None, max_examples=60)
    @given(st.integers(0, 60 * 86400))
    def test_seconds_there_and_back(self, s: int) -> None:
        assert seconds(moment_of(float(s), START), START) == s
        assert read_moment(moment_of(float(s), START).isoformat()) == moment_of(float(s), START)

    @pytest.mark.parametrize(
        "bad", ["", "noon", "day 0 09:00", "2027-02-30 09:00", 5, None, "x" * 99]
    )
    def test_nonsense_is_refused(self, bad: object) -> None:
        with pytest.raises(InputError):
            read_moment(bad, START)

    def test_the_field_type_is_exported(self) -> None:
        assert Moment is not None
