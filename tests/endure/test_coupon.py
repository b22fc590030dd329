"""A measured strip in place of the class's shrinkage: round trip, range, notes, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc.sampling import Draws
from pourwright.catalogue import get
from pourwright.endure import Coupon, coupon_notes, coupon_spread
from pourwright.endure.bow import panel_bow
from pourwright.endure.build import Panel, Ply, Service, Shape
from pourwright.endure.checks_shape import bow_checks
from pourwright.endure.coupon import TRANSFER, strip_for
from pourwright.endure.layers import Layer
from pourwright.errors import InputError

FILM, BOARD = get("cured-coating"), get("mdf")
STRIP = Coupon(0.6, 6.0e-3, 2.5e-3, 6.0e-3, BOARD, FILM, reading=0.3e-3, film_off=0.05)
SHAPE = Shape("top", 1.6, 0.62, span=0.7)


def _panel(coupon: Coupon | None, back: bool = False, seed: int = 1) -> Panel:
    plies = [
        Ply(get("cured-coating"), 2.5e-3, "coat", 0.1),
        Ply(get("cured-primer"), 0.08e-3, "coat", 0.2),
        Ply(get("mdf-moisture"), 0.022, "core"),
    ]
    if back:
        plies.append(Ply(get("cured-coating"), 2.5e-3, "back", 0.1))
    return Panel(tuple(plies), SHAPE, Service(), Draws(seed, 400), coupon)


@settings(deadline=None, max_examples=40)
@given(
    de=st.floats(2e-4, 4e-3),
    film=st.floats(0.5e-3, 4e-3),
    board=st.floats(4e-3, 20e-3),
    cooled=st.floats(-30, 30),
)
def test_a_strip_bent_by_the_laminate_gives_its_shrinkage_back(
    de: float, film: float, board: float, cooled: float
) -> None:
    """The strip is bent by the general laminate (as a strip), then read back as a coupon."""
    top = Layer("film", "coat", film, FILM["E_Pa"], 1120.0, shrinkage=de,
                expansion=FILM["cte_per_K"])  # fmt: skip
    low = Layer("board", "core", board, BOARD["E_Pa"], 750.0, expansion=BOARD["cte_per_K"])
    bow = float(panel_bow([top, low], 0.5, -cooled, strip=True).bow)
    if not 1e-5 < bow < 0.05:
        return  # the strip went the other way, or rolled up
    strip = Coupon(0.5, bow, film, board, BOARD, FILM, solid=293.15, measured=293.15 - cooled)
    assert float(strip.shrinkage()) == pytest.approx(de, rel=1e-9, abs=1e-12)


def test_it_replaces_the_class_on_face_and_back_and_leaves_the_primer() -> None:
    own, wide = _panel(STRIP, back=True), _panel(None, back=True)
    face, primer, _, back = own.layers
    assert np.allclose(face.shrinkage, STRIP.shrinkage(own.draws))
    assert np.allclose(back.shrinkage, face.shrinkage)
    assert np.allclose(primer.shrinkage, wide.layers[1].shrinkage)
    assert float(own.middle[0].shrinkage) == pytest.approx(float(STRIP.shrinkage()))


def test_the_range_narrows() -> None:
    def width(panel: Panel) -> float:
        spread = bow_checks(panel)[0].spread
        assert spread is not None
        return (spread.p95 - spread.p05) / spread.p50

    assert width(_panel(STRIP)) < 0.45 * width(_panel(None))


def test_stiffness_that_bent_the_strip_cancels_in_the_panel() -> None:
    """A stiff film bent the strip too: with the same draws its stiffness does not count twice."""
    same = replace(STRIP, board_material=get("mdf-moisture"), reading=0.0, film_off=0.0)
    panel = _panel(same)
    rows = panel.layers
    together = np.std(panel_bow(rows, 1.6).bow)
    mixed = np.random.default_rng(5).permutation(np.asarray(rows[0].shrinkage))
    apart = np.std(panel_bow([rows[0].with_(shrinkage=mixed), *rows[1:]], 1.6).bow)
    assert together < 0.9 * apart


def test_spread_grows_with_reading_and_never_falls_below_the_transfer() -> None:
    draws = Draws(3, 2000)
    fine = replace(STRIP, reading=0.0, film_off=0.0)
    values = [coupon_spread(replace(fine, reading=r), draws) for r in (0.0, 0.5e-3, 1.5e-3)]
    sds = [sd / middle for middle, sd in values]
    assert sds == sorted(sds)
    assert sds[0] > 0.95 * TRANSFER


def test_zero_error_zero_width_apart_from_stiffness_and_transfer() -> None:
    """With no draws the answer is one number: 8 bow / (length2 kappa)."""
    assert np.ndim(STRIP.shrinkage()) == 0
    doubled = float(replace(STRIP, bow=2 * STRIP.bow).shrinkage())
    assert doubled == pytest.approx(2 * float(STRIP.shrinkage()), rel=1e-12)


def test_notes_on_a_young_strip_another_film_and_a_poor_reading() -> None:
    assert coupon_notes(STRIP, 2.5e-3) == []
    assert "10 days" in coupon_notes(replace(STRIP, age=10 * 86400.0), 2.5e-3)[0]
    assert "films so different" in coupon_notes(STRIP, 0.5e-3)[0]
    assert "hardly wider" in coupon_notes(replace(STRIP, reading=2e-3), 2.5e-3)[0]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"bow": 0.0}, "coupon.bow"),
        ({"bow": -1e-3}, "coupon.bow"),
        ({"bow": 0.2}, "coupon.bow"),
        ({"film": 0.0}, "coupon.film"),
        ({"board": -1.0}, "coupon.board"),
        ({"reading": -1.0}, "coupon.reading"),
        ({"age": float("nan")}, "coupon.age"),
    ],
)
def test_refusals_name_the_field(change: dict, field: str) -> None:
    with pytest.raises(InputError) as err:
        replace(STRIP, **change).shrinkage()
    assert err.value.field == field and "\n" not in err.value.line()


def test_strip_to_cut_bows_far_enough_to_read_and_one_step_thicker_would_not() -> None:
    board = strip_for(2.5e-3, 0.93, 1e-3, 0.6, 3e-3)
    ratio = FILM["E_Pa"] / BOARD["E_Pa"]

    def bow(t: float) -> float:
        from pourwright.endure.bow import bilayer_curvature

        return float(bilayer_curvature(2.5e-3, t, 0.93, 1e-3)) * 0.6**2 / 8

    assert ratio > 0 and bow(board) >= 3e-3 > bow(board + 2e-4)
