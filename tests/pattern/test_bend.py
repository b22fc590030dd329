"""The round-over of the free edges in a pour: what stays on the top, what the faces get."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pourwright.errors import InputError
from pourwright.pattern import edge_faces, edge_sheet, pour, read_score, rectangle
from pourwright.pattern.edges import _between, _front

EXAMPLES = Path(__file__).parents[2] / "examples"
FEW = {
    "name": "two",
    "cups": {"green": 0.7, "slate": 0.3},
    "moves": [
        {"do": "coat", "uses": {"slate": 0.3, "green": 0.3}, "folds": 0.6, "band_mm": 20},
        {"do": "ribbons", "uses": {"green": 0.4}, "width_mm": 30, "length_mm": 250},
    ],
}


def poured(film: float, round_over: float):
    surface = rectangle(0.3, 0.2, (1, 2), 0.04, "board", round_over)
    return pour(read_score(FEW), surface, film, cell=0.005)


@pytest.fixture(scope="module")
def thin():
    """1 mm of film over a sharp edge, and over 6 mm of round-over."""
    return poured(0.001, 0.0), poured(0.001, 0.006)


def test_a_round_over_keeps_film_on_the_top_and_every_drop_is_counted(thin):
    sharp, bent = thin
    assert sum(bent.on_surface.values()) > 1.02 * sum(sharp.on_surface.values())
    assert max(abs(v) for v in bent.balance().values()) < 1e-9
    edge = bent.domain.wet & ~np.roll(bent.domain.wet, -1, axis=1)
    assert bent.h[edge].mean() > 1.1 * sharp.h[edge].mean()


def test_a_bend_out_of_range_is_refused_by_name():
    with pytest.raises(InputError) as e:
        poured(0.001, -0.002)
    assert e.value.field == "round_over"


def test_the_job_says_how_round_its_edges_are():
    """The galley's free edges have 6 mm in the job file; its scenes are poured so."""
    from pourwright.plan import load_job
    from pourwright.plan.context import Context
    from pourwright.plan.scenes import scenes

    found = scenes(Context(load_job(EXAMPLES / "galley.toml"), EXAMPLES))
    assert [s.surface.round_over for s in found] == pytest.approx([0.006] * len(found))


def test_the_front_on_a_face_is_a_line_between_columns():
    film = np.zeros((20, 3))
    film[:, 0] = 1e-4
    film[:10, 1] = 1e-4
    at = np.array([0.0, 0.5, 1.0, 1.5, 2.0])
    reach, above = _front(film, 40, at)
    assert reach.tolist() == [20, 10, 0]
    assert above.sum(0).tolist() == [40, 30, 20, 10, 0]
    shown = _between(film, 40, at, reach)
    assert shown[above[:, 1], 1] == pytest.approx(1e-4)  # even down to the front, no steps
    assert _between(film[:, :1].repeat(3, 1), 40, at, np.full(3, 20.0)) == pytest.approx(1e-4)


def test_the_sheet_says_how_much_of_the_faces_stays_bare(thin, shades, primer, monkeypatch):
    from pourwright.pattern import unrolled

    said: list[list[str]] = []
    real = unrolled.on_paper

    def listen(parts, names, title, lines, pixel):
        said.append([str(line) for line in lines])
        return real(parts, names, title, lines, pixel)

    monkeypatch.setattr(unrolled, "on_paper", listen)
    bent = thin[1]
    bare = [f.bare for f in edge_faces(bent, shades, primer)]
    dry = replace(bent, faces=[replace(f, film=f.film.copy()) for f in bent.faces])
    for face in dry.faces:
        face.film[:, ::4] = 0.0
    wet = replace(bent, faces=[replace(f, film=f.film + 1e-5) for f in bent.faces])
    assert edge_sheet(wet, shades, primer) is not None
    assert edge_sheet(dry, shades, primer) is not None
    assert not any("bare" in line for line in said[0])
    assert any("bare: push it over" in line for line in said[1])
    assert all(0 <= b < 1 for b in bare)
