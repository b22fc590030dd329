"""What the command line prints about a job is in the job's language; keys of files stay."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pourwright.cli import show
from pourwright.cli.main import main
from pourwright.plan import job_from, load_job, write_job

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
ENGLISH = re.compile(r"\b(the|and|before|after|until|from|not|with|of|mixed|coat|is)\b")


@pytest.fixture(scope="module")
def german(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    doc = load_job(EXAMPLES / "wet_room.toml").to_document()
    doc = {**doc, "samples": 50, "show": {**doc["show"], "language": "de"}, "name": "Duschwände"}
    doc["finish"].pop("score", None)
    path = tmp_path_factory.mktemp("german") / "duschwand.toml"
    path.write_text(write_job(job_from(doc)), encoding="utf-8")
    return path, doc["name"]


@pytest.mark.parametrize(
    ("verb", "words"),
    [
        ("check", ("Die Auftragsdatei lässt sich planen.", "weiß getönt", "1,890 m²")),
        ("plan", ("Haltepunkte:", "Aus dem Becher in", "Drei Dinge", "Klarschicht")),
        ("record", ("0 Einträge", "Träger zuschneiden", "Alles ist fertig am")),
    ],
)
def test_a_german_job_is_spoken_of_in_german(
    german: tuple[Path, str], verb: str, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    path, name = german
    assert main([verb, str(path)]) == 0
    text = capsys.readouterr().out
    assert name in text
    for word in words:
        assert word in text
    assert not ENGLISH.search(text)


def test_the_shelf_speaks_to_the_job(
    german: tuple[Path, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shelf = tmp_path / "shop.toml"
    lot = ["id=L-1", "material=resin-coating-1to1", "part=A", "volume=4 L", "received=2025-01-01",
           "keeps=12 months"]  # fmt: skip
    assert main(["stock", str(shelf), "lot", *lot]) == 0
    capsys.readouterr()
    assert main(["stock", str(shelf), "--for", str(german[0]), "--on", "2027-05-01"]) == 0
    text = capsys.readouterr().out
    assert "Das Lager für Duschwände" in text and "Bestellen, " in text
    assert "Zählt nicht: L-1: haltbar bis 2026-01-01, gegossen am 2027-05" in text
    assert not ENGLISH.search(text)


def test_figures_stand_to_the_right_and_words_to_the_left(
    capsys: pytest.CaptureFixture[str],
) -> None:
    show.table("t", ["what", "sum", "use"], [["a", "1.50", "x"], ["b", "12.50", "long words"]])
    lines = capsys.readouterr().out.splitlines()
    assert lines[3] == "  a      1.50  x"
    assert lines[4] == "  b     12.50  long words"
