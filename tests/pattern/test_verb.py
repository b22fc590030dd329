"""`pourwright picture`: scores that cannot be poured are refused by name, and nothing is written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pourwright.cli.main import main

ROOT = Path(__file__).parents[2]
SCORE = """
name = "trial"
seed = 3
[cups]
sea-green = 0.4
slate = 0.3
[[moves]]
do = "coat"
uses = { sea-green = 0.4, slate = 0.3 }
"""


def a_job(folder: Path, score: str) -> Path:
    text = (ROOT / "examples" / "galley.toml").read_text(encoding="utf-8")
    lines = [
        'score = "score.toml"' if line.strip().startswith("score =") else line
        for line in text.splitlines()
    ]
    assert 'score = "score.toml"' in lines
    (folder / "score.toml").write_text(score, encoding="utf-8")
    for extra in ("parts", "records"):
        if (ROOT / "examples" / extra).is_dir():
            (folder / extra).symlink_to(ROOT / "examples" / extra)
    path = folder / "job.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("score", "names"),
    [
        (
            SCORE + '[[moves]]\ndo = "ribbons"\nuses = { slate = 0.1 }\n',
            ("score.moves[1].uses.slate", "0.4", "mixed share 0.3"),
        ),
        (SCORE.replace("sea-green = 0.4\nslate = 0.3", "sea-green = 0.8\nslate = 0.3"),
         ("score.cups", "1.1", "at most 1")),
        (
            SCORE + '[[moves]]\ndo = "veins"\nuses = { gold-dust = 0.01 }\n',
            ("score.moves[1].uses.gold-dust", "sea-green, slate"),
        ),
        (
            SCORE.replace("slate", "mauve"),
            ("score.cups.mauve", "the job mixes"),
        ),
        (
            SCORE.replace("slate = 0.3 }", "slate = 0.2 }")
            + '[[moves]]\ndo = "veins"\nat_min = 5000\nuses = { slate = 0.01 }\n',
            ("score.moves[1].at_min", "5000", "gels at"),
        ),
        (SCORE + "[[moves]]\ndo = \"stir\"\n", ("score.moves", "stir")),
        ("name = [", ("score.toml", "TOML")),
    ],
    ids=["too much of a shade", "more than all", "no such cup", "not mixed", "after gel", "no such move",
         "no TOML"],
)  # fmt: skip
def test_scores_that_cannot_be_poured(tmp_path, capsys, score: str, names: tuple[str, ...]) -> None:
    out = tmp_path / "pictures"
    code = main(["picture", str(a_job(tmp_path, score)), "-o", str(out), "--only", "board"])
    said = capsys.readouterr()
    assert code == 2
    for word in names:
        assert word in said.err
    assert "Traceback" not in said.err
    assert not list(out.glob("*")) if out.exists() else True


@pytest.mark.parametrize(
    ("more", "word"),
    [
        (["--cell", "0.1 mm"], "--cell"),
        (["--pixel", "9 mm"], "--pixel"),
        (["--seeds", "one"], "--seeds"),
        (["--only", "ballroom"], "--only"),
    ],
)
def test_bad_options(capsys, tmp_path, more: list[str], word: str) -> None:
    job = str(ROOT / "examples" / "galley.toml")
    assert main(["picture", job, "-o", str(tmp_path / "p"), *more]) == 2
    assert word in capsys.readouterr().err


def test_one_board(capsys, tmp_path) -> None:
    job = str(ROOT / "examples" / "galley.toml")
    args = ["--only", "board", "--cell", "6 mm", "--pixel", "2 mm", "--seeds", "none", "--json"]
    assert main(["picture", job, "-o", str(tmp_path), *args]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [Path(p).name for p in told["written"]] == ["picture-board.png"]
    assert not list(tmp_path.glob("*.part"))


def test_stopping_leaves_no_half_written_file(monkeypatch, tmp_path) -> None:
    """Ctrl-C in the middle of a pour: no picture, no part of one."""
    from pourwright.pattern import play
    from pourwright.plan import picture

    picture._POURS.clear()
    calls = 0
    carry = play.Player.carry

    def cut(self, *args, **more):
        nonlocal calls
        calls += 1
        if calls > 5:
            raise KeyboardInterrupt
        return carry(self, *args, **more)

    monkeypatch.setattr(play.Player, "carry", cut)
    job = str(ROOT / "examples" / "galley.toml")
    with pytest.raises((KeyboardInterrupt, SystemExit)):
        raise SystemExit(
            main(["picture", job, "-o", str(tmp_path), "--only", "board", "--seeds", "7"])
        )
    assert not list(tmp_path.glob("*"))
