"""Pictures of the finish for models and papers come by themselves, piece by piece."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pourwright.cli.main import main
from pourwright.exchange import has_finish, model_textures, paper_pictures
from pourwright.plan import Working, load_job, work_out

SMALL = """
name = "Two shelves"
samples = 50
seed = 3
[show]
currency = "EUR"
[site]
start = 2027-03-15
air = { coolest = "18 degC", warmest = "22 degC" }
[[surfaces]]
name = "shelf"
size = ["500 mm", "200 mm"]
[[surfaces]]
name = "board"
purpose = "board"
size = ["250 mm", "200 mm"]
[colour]
film = "1.2 mm"
"""
SHADES = (
    'shades = [ { shade = "sea-green", share = "60 %" }, { shade = "clear", share = "40 %" } ]\n'
)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("finish") / "job.toml"
    path.write_text(SMALL + SHADES, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def small(job: Path) -> Working:
    return work_out(load_job(job), job.parent)


def test_a_model_gets_a_picture_for_each_piece_but_boards(small: Working) -> None:
    found = model_textures(small, 2.0)
    assert set(found) == {"shelf"}
    image = Image.open(io.BytesIO(found["shelf"]))
    assert image.format == "JPEG" and image.size == (250, 100)
    assert np.asarray(image).std() > 1.0  # a pattern, not one colour


def test_papers_get_the_room_and_the_board(small: Working) -> None:
    room, board = paper_pictures(small)
    assert room is not None and board is not None
    assert Image.open(io.BytesIO(room)).width >= 1000
    w, h = Image.open(io.BytesIO(board)).size
    assert w / h == pytest.approx(250 / 200, rel=0.01)
    assert paper_pictures(small, room=False)[0] is None


def test_clear_resin_has_no_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "clear.toml"
    path.write_text(SMALL, encoding="utf-8")
    work = work_out(load_job(path), tmp_path)
    assert not has_finish(work)
    assert model_textures(work) == {} and paper_pictures(work) == (None, None)
    assert main(["export", str(path), "--as", "png", "-o", str(tmp_path / "x.png")]) == 2
    assert "colour.shades" in capsys.readouterr().err


def test_models_and_pictures_through_the_command_line(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    glb = tmp_path / "x.gltf"
    assert main(["export", str(job), "--as", "gltf", "--pixel", "2 mm", "-o", str(glb)]) == 0
    doc = json.loads(glb.read_text(encoding="utf-8"))
    assert doc["images"][0]["mimeType"] == "image/jpeg"
    assert main(["export", str(job), "--as", "obj", "--pixel", "2 mm", "-o",
                 str(tmp_path / "x.zip")]) == 0  # fmt: skip
    with zipfile.ZipFile(tmp_path / "x.zip") as z:
        assert sorted(z.namelist()) == ["x-finish-1.jpg", "x.mtl", "x.obj"]
        assert b"map_Kd x-finish-1.jpg" in z.read("x.mtl")
    assert main(["export", str(job), "--as", "png", "--pixel", "2 mm", "-o",
                 str(tmp_path / "x.png")]) == 0  # fmt: skip
    with Image.open(tmp_path / "x.png") as im:
        assert im.size == (250, 100)
    capsys.readouterr()
    for bad in (["--pixel", "1 kg"], ["--pixel", "90 mm"], ["--piece", "attic"]):
        here = sorted(tmp_path.iterdir())
        assert main(["export", str(job), "--as", "png", *bad, "-o", str(tmp_path / "y.png")]) == 2
        assert len(capsys.readouterr().err.strip().splitlines()) == 1
        assert sorted(tmp_path.iterdir()) == here
