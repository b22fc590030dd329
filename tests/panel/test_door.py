"""Through the door: the closed form against brute force, and straight answers in plain cases."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.panel.door import Opening, passage, passes_all, rectangle_in_rectangle

SIZE = st.floats(0.05, 3.0)


def spare(p: float, q: float, a: float, b: float) -> float:
    """Most room left over all angles, by brute force [m]."""
    t = np.linspace(0, math.pi / 2, 20001)
    c, s = np.cos(t), np.sin(t)
    return float(np.maximum.reduce(np.minimum(a - p * c - q * s, b - p * s - q * c)))


class TestRectangleInRectangle:
    """Carver 1957 against 20 001 angles; the grid misses at most 1.2e-4 rad x 3 m."""

    @settings(deadline=None, max_examples=100)
    @given(SIZE, SIZE, SIZE, SIZE)
    def test_against_brute_force(self, p, q, a, b) -> None:
        room = spare(p, q, a, b)
        assume(abs(room) > 5e-4)
        assert rectangle_in_rectangle(p, q, a, b) == (room > 0)

    def test_diagonal_stick(self) -> None:
        assert rectangle_in_rectangle(4.99, 0.001, 3.0, 4.0)
        assert not rectangle_in_rectangle(5.0, 0.001, 3.0, 4.0)


class TestPassage:
    def test_plain_cases(self) -> None:
        door = Opening("door", 0.76, 1.95)
        on_edge = passage(2.1, 0.6, 0.04, door)
        assert on_edge.passes
        assert on_edge.clearance == pytest.approx((0.76 - 0.04) / 2, abs=1e-6)
        assert not passage(2.5, 2.2, 0.04, Opening("hatch", 0.6, 0.6)).passes

    def test_leans_over_the_diagonal(self) -> None:
        p = passage(1.5, 0.7, 0.02, Opening("hatch", 0.55, 0.55))
        assert p.passes and math.degrees(p.lean) == pytest.approx(45, abs=0.5)

    def test_little_depth_needs_a_slant(self) -> None:
        roomy = Opening("hatch", 0.6, 0.5)
        tight = Opening("hatch", 0.6, 0.5, depth=0.05, clear=1.5)
        assert passage(2.0, 0.6, 0.03, roomy).passes
        assert passage(2.0, 0.6, 0.03, tight).passes
        slanted = passage(2.0, 0.6, 0.03, tight)
        assert math.sin(math.pi / 2 - slanted.slant) == pytest.approx(1.5 / 2.0)
        assert passage(2.0, 0.6, 0.03, tight).clearance < passage(2.0, 0.6, 0.03, roomy).clearance

    @settings(deadline=None, max_examples=60)
    @given(SIZE, SIZE, st.floats(0.01, 0.2), SIZE, SIZE, st.floats(0.3, 4.0))
    def test_more_room_never_hurts(self, length, width, t, a, b, clear) -> None:
        c0 = passage(length, width, t, Opening("o", a, b, 0.03, clear)).clearance
        assert (
            passage(length, width, t, Opening("o", a + 0.1, b, 0.03, clear)).clearance >= c0 - 1e-9
        )
        assert (
            passage(length, width, t, Opening("o", a, b, 0.03, clear + 0.1)).clearance >= c0 - 1e-9
        )
        assert passage(length, width, t, Opening("o", a, b, 0.03)).clearance >= c0 - 1e-9

    @settings(deadline=None, max_examples=40)
    @given(SIZE, SIZE, st.floats(0.01, 0.5), st.integers(0, 10**6))
    def test_no_other_attitude_passes_when_refused(self, length, width, t, seed) -> None:
        """Straight moves in any attitude: the shadow of the box must fit the opening, turned.

        Random attitudes near and far; an opening 2 % too small for the best aligned way must
        be too small for all of them.
        """
        rng = np.random.default_rng(seed)
        a = rng.uniform(0.2, 1.0) * max(length, width)
        b = rng.uniform(0.2, 1.0) * max(length, width)
        dims = np.array(sorted((length, width, t), reverse=True))
        lo, hi = 1e-4, 20.0
        for _ in range(60):  # scale the opening to where the best aligned way just fits
            mid = (lo + hi) / 2
            fits = rectangle_in_rectangle(dims[1], dims[2], a * mid, b * mid)
            lo, hi = (lo, mid) if fits else (mid, hi)
        o = Opening("o", a * hi * 0.98, b * hi * 0.98)
        assume(0.05 <= min(o.width, o.height) and max(o.width, o.height) <= 20)
        assert not passage(length, width, t, o).passes
        half = dims / 2
        for k in range(200):
            m = rng.normal(size=(3, 3)) * (0.02 if k % 2 else 1.0) + (k % 2) * np.eye(3)[::-1]
            q, _ = np.linalg.qr(m)
            # widths of the shadow over the opening's two directions
            need = 2 * np.abs(q[:2]) @ half
            assert need[0] > o.width or need[1] > o.height

    def test_the_first_refusing_opening_is_named(self) -> None:
        way = [Opening("gate", 1.0, 2.0), Opening("hatch", 0.3, 0.3)]
        assert passes_all(1.0, 0.6, 0.04, way) == "hatch"
        assert passes_all(1.0, 0.3, 0.04, way) is None

    @pytest.mark.parametrize(
        "bad",
        [
            lambda: passage(0, 1, 1, Opening("o", 1, 1)),
            lambda: passage(1, math.nan, 1, Opening("o", 1, 1)),
            lambda: passage(1, 1, 1, Opening("o", 0, 1)),
            lambda: passage(1, 1, 1, Opening("o", 1, 1, depth=-1)),
            lambda: passage(1, 1, 1, Opening("o", 1, 1, clear=0)),
        ],
    )
    def test_bad_sizes(self, bad) -> None:
        with pytest.raises(InputError):
            bad()
