"""Playing scores: exact mass per shade, symmetry, repeatability, stopping."""

from __future__ import annotations

import copy

import numpy as np
import pytest

from pourwright.errors import InputError
from pourwright.pattern import FlowClock, pour, read_score, rectangle
from pourwright.pattern.domain import make_domain
from pourwright.pattern.layer import LINES, Layer, index_lines
from pourwright.pattern.paths import Lines, _rows
from pourwright.pattern.player import Player, coarse


def test_mass_per_shade_closes(small, open_edge):
    """What was poured stays on the top, on the faces or runs off: to 1e-9 of each shade."""
    for played in (small, open_edge):
        for gap in played.balance().values():
            assert abs(gap) < 1e-9
        kept = sum(played.on_surface.values())
        assert kept == pytest.approx(played.h.sum() * played.domain.cell**2, rel=1e-9)
    assert sum(small.run_off.values()) == 0.0
    assert sum(open_edge.run_off.values()) > 0.02 * sum(open_edge.poured.values())


def test_poured_is_what_the_score_says(small):
    mixed = 0.003 * 0.3 * 0.2
    assert small.mixed == pytest.approx(mixed, rel=1e-12)
    assert small.poured["green"] == pytest.approx(0.45 * mixed, rel=1e-9)
    assert small.poured["copper"] == pytest.approx(0.02 * mixed, rel=1e-9)
    assert small.left_in_cups["copper"] == pytest.approx(0.10 * mixed, rel=1e-9)


def test_volumes_stay_positive_and_add_up_to_the_film(small):
    assert small.volumes.min() > -1e-12
    film = small.volumes.sum(0)
    assert np.abs(film - small.h).max() < 1e-9


def test_same_seed_same_pour_other_seed_other_pour(data, small):
    again = pour(read_score(data), rectangle(0.3, 0.2), 0.003, cell=0.005)
    assert np.array_equal(again.volumes, small.volumes)
    assert np.array_equal(again.maps, small.maps)
    other = pour(read_score(data), rectangle(0.3, 0.2), 0.003, cell=0.005, seed=5)
    assert not np.allclose(other.volumes, small.volumes)


def test_mass_closes_with_a_slope_a_push_and_no_coat(data):
    d = copy.deepcopy(data)
    d["moves"][0] = {"do": "torch", "at_min": 0}
    d["moves"] = [d["moves"][1], d["moves"][0], {"do": "push", "carry_mm": 20}, *d["moves"][2:]]
    d["moves"][1].pop("at_min")
    surface = rectangle(0.3, 0.2, free=(0,), drop=0.0)
    played = pour(read_score(d), surface, 0.003, cell=0.006)
    assert max(abs(v) for v in played.balance().values()) < 1e-9
    assert sum(played.on_faces.values()) == 0.0
    assert any("lay only" in w for w in played.warnings)


def test_a_finer_film_carries_colour_coarser_and_keeps_mass(data):
    surface = rectangle(0.16, 0.12, free=(2,), drop=0.02)
    d = copy.deepcopy(data)
    d["moves"] = d["moves"][:2]
    played = pour(read_score(d), surface, 0.003, cell=0.002, carry_cell=0.006)
    assert played.grid.cell == pytest.approx(0.006)
    assert max(abs(v) for v in played.balance().values()) < 1e-9


def test_outline_with_a_cut_out_and_slanted_edge(data):
    from pourwright.pattern import Surface

    ring = [(0, 0), (0.3, 0.0), (0.3, 0.14), (0.2, 0.22), (0, 0.22)]
    hole = [(0.1, 0.06), (0.16, 0.06), (0.16, 0.12), (0.1, 0.12)]
    surface = Surface(ring, [hole], (2, 3), 0.03, (0.0, 0.005), "corner")
    d = copy.deepcopy(data)
    d["moves"] = [d["moves"][0], {"do": "spread", "strokes": 2, "blade_mm": 40, "length_mm": 90}]
    played = pour(read_score(d), surface, 0.003, cell=0.006)
    assert max(abs(v) for v in played.balance().values()) < 1e-9
    assert len(played.faces) == 2


def test_progress_rises_and_stops(data):
    seen: list[float] = []

    def stop(f: float) -> bool:
        seen.append(f)
        return len(seen) > 20

    with pytest.raises(InputError, match="stopped on request"):
        pour(read_score(data), rectangle(0.3, 0.2), 0.003, cell=0.005, progress=stop)
    assert seen == sorted(seen)
    assert 0 <= seen[0] and seen[-1] < 1


def test_clock_only_counts_as_flow_left(data):
    """Twice the viscosity and twice the time: the same pour."""
    d = copy.deepcopy(data)
    for move in d["moves"]:
        move.pop("at_min", None)
        move["takes_s"] = 0.0
    d["moves"] = [m for m in d["moves"] if m["do"] in ("coat", "ribbons", "veins")]
    one = FlowClock.doubling(1.0, 25.0, 100.0)
    two = FlowClock.from_arrays(np.array(one.minutes) * 2, one.flow_left)
    a = pour(read_score(d), rectangle(0.2, 0.16), 0.003, one, cell=0.006)
    b = pour(read_score(d), rectangle(0.2, 0.16), 0.003, two, cell=0.006)
    assert np.abs(a.h - b.h).max() < 1e-12


def _ribbon_pour(turn: str):
    """One coat and one ribbon, mirrored or turned, on a square board; no seeds involved."""
    domain = make_domain(rectangle(0.2, 0.2), 0.005)
    play = Player(domain, coarse(domain, 1), 1, ["a", "b"])
    blank = Lines(np.zeros((0, 16)), 0)
    one = np.ones(1)
    coat = Layer("coat", 0, np.array([0]), one, blank, np.zeros((1, 1)), np.ones(6), 1)
    play.lay(coat, 0.2 * 0.2 * 0.001, np.array([0.2 * 0.2 * 0.001]), 0.0)
    s = np.linspace(0, 1, 30)
    x, y = 0.04 + 0.10 * s, 0.05 + 0.03 * np.sin(3 * s)
    if turn == "mirror":
        x = 0.2 - x
    if turn == "transpose":
        x, y = y, x
    pts = np.stack([x, y], 1)
    lines = Lines(_rows(pts, np.full(30, 0.016), np.full(30, 0.006), 0), 1)
    ribbon = Layer("r", LINES, np.array([1]), one, lines, np.zeros((1, 1)), np.ones(6), 2)
    index_lines(ribbon)
    play.lay(ribbon, 4e-5, np.array([4e-5]), 0.0)
    play.advance(40.0)
    play.carry(force=True)
    return play


def test_mirror_symmetry():
    a, b = _ribbon_pour("as is"), _ribbon_pour("mirror")
    assert np.abs(a.flow.h - b.flow.h[:, ::-1]).max() < 1e-12
    assert np.abs(a.v - b.v[:, :, ::-1]).max() < 1e-12
    assert np.abs(a.maps[:, 0] + b.maps[:, 0, :, ::-1]).max() < 1e-6
    assert np.abs(a.maps[:, 1] - b.maps[:, 1, :, ::-1]).max() < 1e-6


def test_turning_symmetry():
    """x and y exchanged: the film's sweeps alternate, so equal to 2 %."""
    a, b = _ribbon_pour("as is"), _ribbon_pour("transpose")
    gap = np.linalg.norm(a.v[1] - b.v[1].T) / np.linalg.norm(a.v[1])
    assert gap < 0.02
