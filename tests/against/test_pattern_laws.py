"""Pattern against published and derived laws: drag, skin speed, veins, falling films, mixing.

Sources: plane Couette flow and Nusselt's falling film as in any text on viscous flow (from memory);
Jeffreys 1930, Proc. Camb. Phil. Soc. 26, 204 (formula re-derived); Danckwerts 1952 on the intensity
of segregation (from memory); vein law w + 1.5 A/h derived from thin-film theory (docs/pattern.md).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from pourwright.pattern import carry, pour, read_score, rectangle, separation
from pourwright.pattern.bake import look_back
from pourwright.pattern.domain import make_domain
from pourwright.pattern.faces import _face_run
from pourwright.pattern.layer import LINES, Layer, index_lines
from pourwright.pattern.paths import Lines, _rows
from pourwright.pattern.player import Player, coarse
from pourwright.pattern.strokes import carried, mean_carried

WEIGHT = 1100 * 9.80665


def test_full_contact_carries_b_s_over_one_minus_s():
    """A point of a plane Couette layer under a blade of contact b, followed in time.

    Source: u = U s; time under the blade b/(U - u). Tolerance 1e-3: explicit steps of 1e-4 b/U.
    """
    b, speed = 0.012, 0.05
    for s in (0.2, 0.5, 0.9):
        front, x, dt = 0.0, 0.0, 1e-4 * b / speed
        while x > front - b:  # the blade's trailing edge has not yet passed the point
            front += speed * dt
            x += s * speed * dt
        assert x == pytest.approx(carried(b, 1.0, s), rel=1e-3)
    assert carried(b, 1.0, 0.5) == pytest.approx(b)
    assert carried(b, 1.0, 0.9) == pytest.approx(9 * b)


@pytest.mark.parametrize("grip", [0.1, 0.5, 0.9])
def test_mean_carry_is_the_depth_mean(grip):
    """Gauss-Legendre quadrature over the depth; tolerance 1e-9: 40 nodes, smooth integrand."""
    nodes, weights = np.polynomial.legendre.leggauss(40)
    s = (nodes + 1) / 2
    mean = float((weights / 2 * carried(0.01, grip, s)).sum())
    assert mean == pytest.approx(mean_carried(0.01, grip), rel=1e-9)


def test_skin_moves_one_and_a_half_times_the_mean():
    """Half-parabola profile: skin 1.5 x mean. An eight-part film's top part moves 1.492."""
    assert carry._speed(1 - 1e-9, 1.0, 0.0) == pytest.approx(1.5, rel=1e-6)
    assert carry._speed(7 / 8, 1.0, 0.0) == pytest.approx(1.4922, abs=1e-4)


def _board(cell, width=0.12, height=0.06):
    domain = make_domain(rectangle(width, height), cell)
    play = Player(domain, coarse(domain, 1), 1, ["a", "b"])
    none = Lines(np.zeros((0, 16)), 0)
    return domain, play, none


def _even(play, none, volume):
    coat = Layer("coat", 0, np.array([0]), np.ones(1), none, np.zeros((1, 1)), np.ones(6), 1)
    play.lay(coat, volume, np.array([volume]), 0.0)


def test_a_stroke_carries_every_layer_as_couette_says():
    """Four equal coats under one even drag: each map shows the mean carry over its own heights.

    Tolerance 3 %: the drag is taken in steps of 0.4 cell.
    """
    domain, play, none = _board(0.003)
    for _ in range(4):
        _even(play, none, 0.12 * 0.06 * 0.00075)
    grip, contact = 0.6, 0.010
    x, _ = domain.centres()
    ramp = np.clip((x - 0.01) / 0.03, 0, 1) * np.clip((0.11 - x) / 0.03, 0, 1)
    ux = mean_carried(contact, grip) * ramp
    play.drag(ux, np.zeros_like(ux), grip)
    middle = (domain.shape[0] // 2, int(np.argmin(np.abs(x[0] - 0.062))))
    nodes, weights = np.polynomial.legendre.leggauss(30)
    for k in range(4):
        s = (k + (nodes + 1) / 2) / 4
        expected = float((weights / 2 * carried(contact, grip, s)).sum())
        assert play.maps[k, 0][middle] == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize(("film", "width"), [(0.003, 0.012), (0.0015, 0.012)])
def test_a_broad_vein_widens_by_one_and_a_half_a_over_h(film, width):
    """Final width w + 1.5 A/h (thin-film limit) of a resolved bead, by the maps.

    Tolerance 2.5 %: a bead six cells broad; a little relief is left, and the film thickens by a
    twelfth while the bead sinks in.
    """
    cell = 0.002
    domain, play, none = _board(cell, 0.16, 0.04)
    _even(play, none, 0.16 * 0.04 * film)
    pts = np.stack([np.full(40, 0.08), np.linspace(-0.02, 0.06, 40)], 1)
    lines = Lines(_rows(pts, np.full(40, width / 2), np.full(40, 0.0004), 0), 1)
    one = np.ones(1)
    vein = Layer("v", LINES, np.array([1]), one, lines, np.zeros((1, 1)), np.ones(6), 2)
    index_lines(vein)
    area = 0.25 * width * film
    play.lay(vein, area * 0.04, np.array([area * 0.04]), 0.0)
    play.advance(400.0)
    play.carry(force=True)
    row = domain.shape[0] // 2
    x = domain.centres()[0][row]
    landed = x - play.maps[1, 0, row]
    edges = [np.interp(0.08 + sign * width / 2, landed, x) for sign in (-1, 1)]
    # on a board of length L the vein's own span W keeps its part A W/L of the liquid
    k, length = 1.5 * area / (film + area / 0.16), 0.16
    expected = (width + k) / (1 + k / length)
    assert edges[1] - edges[0] == pytest.approx(expected, rel=0.025)


def test_a_face_drains_as_jeffreys_says():
    """h = sqrt(z/(rho g tau)) long after a full face was left to drain.

    First-order upwind: the error halves with the cell (ratio above 1.7), and is below 3 % beyond a
    quarter of the face at 120 cells.
    """
    drop, worst = 0.04, []
    for nz in (60, 120):
        h = np.full((nz, 1), 0.002)
        held = h[None].copy()
        entry, off = np.full((nz, 1), -1.0), np.zeros((1, 1))
        when = np.linspace(0, 150.0, 31)
        _face_run(np.zeros((30, 1, 1)), when, WEIGHT, drop / nz, nz, 2e-5, h, held, entry, off)
        z = (np.arange(nz) + 0.5) / nz * drop
        law = np.sqrt(z / (WEIGHT * 150.0))
        far = z > 0.25 * drop
        worst.append(np.abs(h[far, 0] / law[far] - 1).max())
    assert worst[1] < 0.03
    assert worst[0] / worst[1] > 1.7


def test_a_fed_face_comes_to_nusselts_film():
    """Steady feed q: h = (3 q/(rho g))^(1/3). Tolerance 1e-3: steady state of the same flux law."""
    q, nz = 2e-6, 30
    h, held = np.zeros((nz, 1)), np.zeros((1, nz, 1))
    entry, off = np.full((nz, 1), -1.0), np.zeros((1, 1))
    when = np.linspace(0, 60.0, 241)
    feed = np.full((240, 1, 1), q * 0.25)
    _face_run(feed, when, WEIGHT, 0.04 / nz, nz, 2e-5, h, held, entry, off)
    assert h[:, 0] == pytest.approx((3 * q / WEIGHT) ** (1 / 3), rel=1e-3)


def test_skin_on_a_steady_face_enters_at_the_right_moment():
    """z = rho g h^2/2 x time since entry (skin of Nusselt's film); 6 %: first-order upwind."""
    q, nz = 2e-6, 60
    h, held = np.zeros((nz, 1)), np.zeros((1, nz, 1))
    entry, off = np.full((nz, 1), -1.0), np.zeros((1, 1))
    when = np.linspace(0, 60.0, 241)
    feed = np.full((240, 1, 1), q * 0.25)
    _face_run(feed, when, WEIGHT, 0.04 / nz, nz, 2e-5, h, held, entry, off)
    film = (3 * q / WEIGHT) ** (1 / 3)
    age = 60.0 - entry[nz // 2, 0]
    assert age == pytest.approx(0.02 / (WEIGHT * film**2 / 2), rel=0.06)


def test_segregation_limits():
    """Danckwerts' intensity: 1 for unmixed shades, 0 for one even mixture."""
    moves = [{"do": "coat", "uses": {"a": 0.5, "b": 0.5}, "folds": 0.0}]
    data = {"name": "x", "cups": {"a": 0.5, "b": 0.5}, "moves": moves}
    even = separation(pour(read_score(data), rectangle(0.2, 0.16), 0.003, cell=0.006))
    assert even.index < 0.02
    data["moves"] = [{**moves[0], "folds": 1.0, "band_mm": 120.0}]
    bands = separation(pour(read_score(data), rectangle(0.4, 0.3), 0.003, cell=0.006))
    assert bands.index > 0.75


def test_colour_is_looked_up_where_a_steady_drift_took_it():
    """An even tilt of an even film: everything moves alike, rho g h^2 sin(a) tau/3 on average.

    Middle of a long board, before its ends are felt; tolerance 2 %.
    """
    _, play, none = _board(0.004, 0.6, 0.04)
    _even(play, none, 0.6 * 0.04 * 0.003)
    slope, flow = math.tan(math.radians(0.5)), 40.0
    play.flow.lean(-slope, 0.0)
    play.advance(flow)
    play.carry(force=True)

    class Shown:
        grid, maps, smear = play.grid, play.maps, play.smear

    x, y = np.array([0.3]), np.array([0.02])
    back = look_back(Shown, 0, x, y, 0.001)[0]  # type: ignore[arg-type]
    drift = WEIGHT * slope * 0.003**2 / 3 * flow
    assert x[0] - back[0] == pytest.approx(drift, rel=0.02)
