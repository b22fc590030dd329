"""One-file backup, restore, and files that only look like one."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zipfile
from pathlib import Path

import pytest
from PIL import Image

from pourwright.errors import InputError
from pourwright.store.backup import NOTE, restore, write_backup
from pourwright.store.store import FILE, Store


@pytest.fixture
def place(tmp_path):
    """One-file backup is for the built-in database alone."""
    return str(tmp_path / "data")


@pytest.fixture
def filled(store, document):
    job = store.jobs.create(document, job_id="one")
    store.jobs.save("one", 1, {**document, "about": "as backed up"}, who="Ann")
    store.happened.note("one", "note", "hello")
    store.pictures.put("p-1", "one", 1, Image.new("RGB", (8, 6)), "top", "sheet", 1)
    return job


def rewritten(path: Path, out: Path, db: bytes | None = None, note: dict | None = None) -> Path:
    """A copy of the backup at `path` with another database or note."""
    with zipfile.ZipFile(path) as z:
        old_note, old_db = json.loads(z.read(NOTE)), z.read(FILE)
    with zipfile.ZipFile(out, "w") as z:
        z.writestr(NOTE, json.dumps(old_note if note is None else note))
        z.writestr(FILE, old_db if db is None else db)
    return out


def changed_database(path: Path, out: Path, sql: str) -> Path:
    """A copy of the backup with `sql` run in its database and the hash made right again."""
    work = out.with_suffix(".sqlite")
    with zipfile.ZipFile(path) as z:
        work.write_bytes(z.read(FILE))
        note = json.loads(z.read(NOTE))
    db = sqlite3.connect(work)
    db.executescript(sql)
    db.close()
    raw = work.read_bytes()
    return rewritten(path, out, raw, {**note, "sha256": hashlib.sha256(raw).hexdigest()})


def test_a_backup_brings_everything_back(store, filled, document, tmp_path):
    note = write_backup(store, tmp_path / "b.zip")
    assert (note["jobs"], note["revisions"], note["pictures"]) == (1, 2, 1)
    store.jobs.save("one", 2, {**document, "about": "after"})
    store.jobs.create(document, job_id="two")
    restore(store, tmp_path / "b.zip", tmp_path / "aside.zip")
    assert [x.id for x in store.jobs.lines()] == ["one"]
    assert store.jobs.get("one").document["about"] == "as backed up"
    assert store.jobs.get("one").can_undo
    assert store.pictures.data("p-1")[:4] == b"\x89PNG"
    assert store.happened.log("one")[0].text == "hello"
    restore(store, tmp_path / "aside.zip", tmp_path / "aside-2.zip")
    assert store.jobs.get("one").document["about"] == "after"
    assert len(store.jobs.lines()) == 2


def test_a_backup_opens_in_another_place(store, filled, tmp_path):
    write_backup(store, tmp_path / "b.zip")
    other = Store(tmp_path / "elsewhere")
    restore(other, tmp_path / "b.zip", tmp_path / "aside.zip")
    other.close()
    again = Store(tmp_path / "elsewhere")
    assert again.jobs.get("one").document["about"] == "as backed up"
    again.close()


def test_a_restore_while_others_read_and_write(store, filled, document, tmp_path):
    """Connections that were open before see the restored jobs, and can save on."""
    write_backup(store, tmp_path / "b.zip")
    other = Store(store.place)
    assert other.jobs.get("one").revision == 2
    store.jobs.save("one", 2, {**document, "about": "lost on purpose"})
    restore(store, tmp_path / "b.zip", tmp_path / "aside.zip")
    assert other.jobs.get("one").document["about"] == "as backed up"
    assert other.jobs.save("one", 2, {**document, "about": "on"}).revision == 3
    assert store.jobs.get("one").document["about"] == "on"
    other.close()


def bad_files(good: Path, folder: Path) -> dict[str, str]:
    """Files that are no sound backups: name to a word of why."""
    raw = good.read_bytes()
    (folder / "empty").write_bytes(b"")
    (folder / "noise").write_bytes(b"PK\x03\x04" + bytes(range(256)) * 40)
    (folder / "cut").write_bytes(raw[: len(raw) // 2])
    with zipfile.ZipFile(good) as z:
        db, note = bytearray(z.read(FILE)), json.loads(z.read(NOTE))
    db[len(db) // 2] ^= 1
    rewritten(good, folder / "flipped", bytes(db))
    zero = bytes(len(db))
    rewritten(good, folder / "zeros", zero, {**note, "sha256": hashlib.sha256(zero).hexdigest()})
    rewritten(good, folder / "other form", note={**note, "form": 2})
    with zipfile.ZipFile(folder / "more files", "w") as z:
        for name in (NOTE, FILE, "../../evil"):
            z.writestr(name, b"x")
    sql = {
        "trigger": "CREATE TRIGGER t AFTER INSERT ON jobs BEGIN DELETE FROM log; END",
        "headless": "PRAGMA foreign_keys=OFF; UPDATE jobs SET head = 77",
        "astray": "PRAGMA foreign_keys=OFF; UPDATE log SET job_id = 'none'",
        "no table": "DROP TABLE ticks",
        "future": "UPDATE alembic_version SET version_num = '9999'",
        "not json": "UPDATE revisions SET document = '{'",
    }
    for name, text in sql.items():
        changed_database(good, folder / name, text)
    return {
        "empty": "not a zip", "noise": "not a zip", "cut": "not a zip", "flipped": "hash differs",
        "zeros": "damaged inside", "other form": "another form", "more files": "other files",
        "trigger": "programs of its own", "headless": "no newest revision",
        "astray": "point nowhere", "no table": "tables are missing", "future": "newer Pourwright",
        "not json": "Expecting property name",
    }  # fmt: skip


def test_files_that_only_look_like_backups_leave_the_store_alone(store, filled, tmp_path):
    write_backup(store, tmp_path / "good.zip")
    folder = tmp_path / "bad"
    folder.mkdir()
    for name, why in bad_files(tmp_path / "good.zip", folder).items():
        with pytest.raises(InputError, match=why):
            restore(store, folder / name, tmp_path / "aside.zip")
        assert store.jobs.get("one").document["about"] == "as backed up", name
    assert not (tmp_path / "aside.zip").exists()


def test_a_zip_bomb_is_stopped_by_its_size(store, filled, tmp_path, monkeypatch):
    from pourwright.store import backup

    write_backup(store, tmp_path / "good.zip")
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr(NOTE, json.dumps({"form": 1, "sha256": ""}))
        z.writestr(FILE, bytes(3_000_000))
    monkeypatch.setattr(backup, "LARGEST", 1_000_000)
    with pytest.raises(InputError, match="too large"):
        restore(store, tmp_path / "bomb.zip", tmp_path / "aside.zip")


@pytest.mark.postgres
@pytest.mark.xdist_group("postgres")
def test_a_database_server_has_its_own_tools(postgres_url, filled, tmp_path, store):
    other = Store(postgres_url)
    with pytest.raises(InputError, match="built-in database"):
        write_backup(other, tmp_path / "x.zip")
    write_backup(store, tmp_path / "good.zip")
    with pytest.raises(InputError, match="built-in database"):
        restore(other, tmp_path / "good.zip", tmp_path / "aside.zip")
    assert not (tmp_path / "x.zip").exists() and not (tmp_path / "aside.zip").exists()
    other.close()
