"""Turned-down faces: every free edge drains, faces join at corners, pictures on paper."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.pattern import edge_faces, edge_runs, edge_sheet, pour, read_score, rectangle
from pourwright.pattern.domain import make_domain


@pytest.mark.parametrize("size", [(0.3, 0.2), (0.35, 0.25), (0.301, 0.199), (0.302, 0.35)])
@pytest.mark.parametrize("cell", [0.003, 0.004, 0.005])
def test_a_free_edge_drains_wherever_the_cells_fall(size: tuple[float, float], cell: float) -> None:
    """Also where cell centres lie exactly on the outline."""
    domain = make_domain(rectangle(*size, free=(0, 1, 2, 3)), cell)
    for axis in (0, 1):
        for sense in (1, -1):
            meets = domain.wet & np.roll(domain.drain, sense, axis)
            along = meets.sum() * cell
            assert along > size[axis] - 2 * cell


def test_a_corner_feeds_both_its_faces(open_edge) -> None:
    """The corner's cell stands under both edges, half its run-off for each; none is lost or doubled."""
    diary = open_edge.diary
    i, j = diary.cells
    corner = (i == i.max()) & (j == j.max())
    assert sorted(diary.edge[corner]) == [1, 2]
    assert np.array_equal(diary.share[corner], [0.5, 0.5])
    assert (diary.share[~corner] == 1).all()
    before, after = open_edge.faces
    assert after.film[:, 0] == pytest.approx(before.film[:, -1], rel=0.05)
    assert max(map(abs, open_edge.balance().values())) < 1e-9


def test_faces_run_on_without_a_step_round_the_corner(open_edge, shades, primer) -> None:
    """The step across the corner is no larger than the largest step between columns beside it."""
    run = edge_runs(open_edge, shades, primer, pixel=0.001)[0]
    steps = np.abs(np.diff(run.xyz[..., 1], axis=1)).mean(0)
    at = 199
    beside = np.concatenate([steps[at - 12 : at], steps[at + 1 : at + 13]])
    assert steps[at] <= 1.5 * beside.max() + 1e-4


def test_faces_run_on_round_the_corner(open_edge, shades, primer) -> None:
    """One run over both faces; no column at the corner is stranger than the run's own borders."""
    run = edge_runs(open_edge, shades, primer, pixel=0.001)[0]
    assert run.edges == [1, 2]
    assert run.corners == [pytest.approx(0.2)]
    assert run.length == pytest.approx(0.5)
    assert run.xyz.shape == (40, 500, 3)
    steps = np.abs(np.diff(run.xyz[..., 1], axis=1)).mean(0)
    assert steps[199] < steps.max()


def test_runs_hold_their_faces(open_edge, shades, primer) -> None:
    faces = {f.edge: f for f in edge_faces(open_edge, shades, primer, pixel=0.002)}
    run = edge_runs(open_edge, shades, primer, pixel=0.002)[0]
    assert np.array_equal(run.xyz[:, :100], faces[1].xyz)
    assert np.array_equal(run.xyz[:, 100:], faces[2].xyz)
    # a rectangle's corners run clockwise on the plan: from right to left for who stands before it
    assert run.mirror
    assert run.image().size == (250, 20)


def test_all_round(data, shades, primer) -> None:
    surface = rectangle(0.2, 0.15, free=(0, 1, 2, 3), drop=0.03)
    played = pour(read_score(data), surface, 0.003, cell=0.005)
    (run,) = edge_runs(played, shades, primer)
    assert run.closed and len(run.edges) == 4 and len(run.corners) == 3
    assert run.length == pytest.approx(0.7)


def test_faces_on_paper(open_edge, small, shades, primer) -> None:
    page = edge_sheet(open_edge, shades, primer, pixel=0.001)
    assert page is not None and page.width > 500
    assert edge_sheet(small, shades, primer) is None


@pytest.mark.parametrize("shift", [0.0, 0.25, 0.5, 0.999])
def test_every_column_of_a_face_is_fed_wherever_the_cells_lie(shift):
    """Cells of 8 mm along 0.4 m, anywhere against the columns and a rounding to either side, each
    letting go the same: all that crossed stays or drips, and no column between the ends has more or
    less than the others."""
    from types import SimpleNamespace

    from pourwright.pattern.faces import Diary, run_faces

    at = (np.arange(51) + shift - 0.5) * 0.008 + 1e-12 * (-1.0) ** (np.arange(51) // 2)
    at = np.clip(at, 0.0, 0.4)
    none = np.zeros(len(at), np.int64)
    diary = Diary((none, none), none, at, np.ones(len(at)))
    diary.when, diary.crossed = [100.0], [np.full((1, len(at)), 2e-7)]
    frame = {0: ((0.0, 0.0), (1.0, 0.0), (0.0, -1.0), 0.4)}
    domain = SimpleNamespace(surface=SimpleNamespace(drop=0.04), frames=frame)
    faces, stays, off = run_faces(diary, domain, 0.008, 10787.0, 1)
    assert stays[0] + off[0] == pytest.approx(51 * 2e-7, rel=1e-12)
    inner = faces[0].film.mean(0)[2:-2]
    assert inner == pytest.approx(inner.mean(), rel=1e-6)
