"""Transport: exact sums, profile weights, maps that follow a steady flow, faces."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.pattern import carry, maps
from pourwright.pattern.faces import _face_run


@given(st.floats(0, 1), st.floats(0, 1), st.sampled_from([0.0, 0.2, 0.5, 0.9]))
@settings(deadline=None, max_examples=80)
def test_speed_is_the_slope_of_the_weight(a, b, grip):
    low, high = sorted((a, b))
    if high - low < 1e-3:
        return
    mean = carry._speed(low, high, grip)
    slope = (carry._weight(high, grip) - carry._weight(low, grip)) / (high - low)
    assert mean == pytest.approx(slope, rel=1e-9, abs=1e-12)


def test_weights_run_from_nothing_to_all():
    for grip in (0.0, 0.3, 0.9):
        assert carry._weight(0.0, grip) == pytest.approx(0.0, abs=1e-15)
        assert carry._weight(1.0, grip) == pytest.approx(1.0, rel=1e-12)


@given(st.integers(0, 1000))
@settings(deadline=None, max_examples=25)
def test_random_flows_keep_every_volume(seed):
    rng = np.random.default_rng(seed)
    ny, nx, cell = 7, 9, 0.01
    wet = rng.random((ny, nx)) > 0.15
    v = (0.2 + rng.random((3, ny, nx))) * 1e-3 * wet
    layer_of = np.array([0, 1, 1])
    qx, qy = np.zeros((ny, nx + 1)), np.zeros((ny + 1, nx))
    qx[:, 1:-1] = rng.normal(size=(ny, nx - 1)) * 1e-6 * (wet[:, 1:] & wet[:, :-1])
    qy[1:-1] = rng.normal(size=(ny - 1, nx)) * 1e-6 * (wet[1:] & wet[:-1])
    gone = np.zeros((ny, nx))
    r, u = np.zeros((2, ny, nx)), np.zeros((2, 2, ny, nx), np.float32)
    over = np.zeros((2, ny, nx))
    shear = np.zeros((2, 4, ny, nx), np.float32)
    flows = (0.0, qx, qy, over, wet, cell)
    share = carry.rates(v, layer_of, 2, *flows, r, u, shear, 3e-4, 0, ny)
    assert share < 1
    out = np.zeros_like(v)
    carry.move_volumes(v, r, layer_of, qx, qy, gone, wet, out, cell, 0, ny)
    assert np.allclose(out.sum((1, 2)), v.sum((1, 2)), rtol=1e-13)
    assert out.min() >= 0
    film = v.sum(0) - (np.diff(qx, axis=1) + np.diff(qy, axis=0)) / cell
    assert np.abs((out.sum(0) - film)[wet]).max() < 1e-15


def test_maps_follow_a_turning_flow_to_second_order():
    """A rigid turn by a quarter: the map brings every place back; error falls with the cell."""
    errors = []
    for n in (24, 48):
        cell = 1.0 / n
        c = (np.arange(n) + 0.5) * cell - 0.5
        x, y = np.meshgrid(c, c)
        wet = np.ones((n, n), bool)
        fade = np.clip(1.6 * (0.45 - np.hypot(x, y)) / 0.45, 0, 1)
        fade = fade * fade * (3 - 2 * fade)
        steps = 2 * n
        w = 0.5 * math.pi / steps
        u = np.stack([-y * fade * w, x * fade * w]).astype(np.float32)
        m = np.zeros((2, n, n), np.float32)
        out = np.empty_like(m)
        for _ in range(steps):
            maps.move_maps(m, u, wet, cell, out)
            m, out = out, m
        turn = 0.5 * math.pi * fade
        bx, by = x * np.cos(turn) + y * np.sin(turn), -x * np.sin(turn) + y * np.cos(turn)
        errors.append(float(np.abs(np.stack([x - m[0] - bx, y - m[1] - by])).max()))
    assert errors[1] < 0.012
    assert errors[0] / errors[1] > 3.0


def test_face_keeps_its_volume_and_drains():
    feed = np.zeros((40, 2, 3))
    feed[:10, 0] = 4e-6
    feed[5:12, 1] = 2e-6
    when = np.concatenate([[0.0], np.cumsum(np.full(40, 2.5))])
    nz, dz = 25, 0.04 / 25
    h, held = np.zeros((nz, 3)), np.zeros((2, nz, 3))
    entry, off = np.full((nz, 3), -1.0), np.zeros((2, 3))
    _face_run(feed, when, 10787.0, dz, nz, 20e-6, h, held, entry, off)
    assert np.allclose(held.sum(1) * dz + off, feed.sum(0), rtol=1e-12)
    assert np.all(np.diff(h[:, 0]) > 0)
    assert np.all(np.diff(entry[:, 0]) <= 1e-9)
    assert entry.max() <= when[-1]
