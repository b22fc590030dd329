"""Weight, axles, boats: conservation, symmetry, refusals."""

from __future__ import annotations

from math import degrees, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.endure.boat import Hull, float_after, metacentric_from_test, roll_period
from pourwright.endure.checks_boat import heel_checks
from pourwright.endure.checks_weight import axle_checks, lift_check, weight_check
from pourwright.endure.layers import Layer
from pourwright.endure.vehicle import Load, axle_room, axle_share, centre_height, stability_factor
from pourwright.endure.weight import (
    areal_mass,
    compare_tops,
    people_needed,
    piece_weight,
    relative_sag,
)
from pourwright.errors import InputError

FILM = Layer("film", "coat", 0.003, 2.8e9, 1120)
MDF = Layer("MDF", "core", 0.018, 3e9, 750)
PLY = Layer("plywood", "core", 0.018, 7e9, 550)
HULL = Hull(16500, 0.6, 31.0, 16.5, 0.8)

LOADS = st.lists(
    st.builds(
        Load,
        st.just("x"),
        st.floats(-300, 300),
        st.floats(-8, 8),
        st.floats(-1, 1),
        st.floats(0, 2),
    ),
    min_size=1,
    max_size=6,
)


@given(loads=LOADS, wheelbase=st.floats(1, 8), track=st.floats(1, 2.5))
@settings(deadline=None, max_examples=80)
def test_axle_shares_add_up_and_balance(loads, wheelbase: float, track: float) -> None:
    share = axle_share(loads, wheelbase, track)
    total = sum(a.mass for a in loads)
    assert share.front + share.rear == pytest.approx(total, abs=1e-6)
    assert share.left + share.right == pytest.approx(total, abs=1e-6)
    moment = sum(a.mass * a.along for a in loads)
    assert share.front * wheelbase == pytest.approx(moment, abs=1e-6)


@given(loads=LOADS)
@settings(deadline=None, max_examples=60)
def test_what_goes_in_and_out_again_changes_nothing(loads) -> None:
    out = [Load(a.name, -a.mass, a.along, a.across, a.height) for a in loads]
    after = float_after(HULL, [*loads, *out])
    assert after.sinkage == pytest.approx(0.0, abs=1e-12)
    assert after.heel == pytest.approx(0.0, abs=1e-12)
    assert after.trim == pytest.approx(0.0, abs=1e-12)
    assert after.metacentric == pytest.approx(HULL.metacentric, abs=1e-9)


@given(loads=LOADS)
@settings(deadline=None, max_examples=40)
def test_mirrored_loads_mirror_the_heel(loads) -> None:
    mirrored = [Load(a.name, a.mass, -a.along, -a.across, a.height) for a in loads]
    one, two = float_after(HULL, loads), float_after(HULL, mirrored)
    assert one.heel == pytest.approx(-two.heel, abs=1e-12)
    assert one.trim == pytest.approx(-two.trim, abs=1e-12)


def test_high_weight_lowers_stability() -> None:
    low = float_after(HULL, [Load("x", 400, 0, 0, 0.2)])
    high = float_after(HULL, [Load("x", 400, 0, 0, 2.0)])
    assert high.metacentric < HULL.metacentric < low.metacentric


def test_existing_heel_stays_without_work() -> None:
    leaning = Hull(16500, 0.6, 31.0, 16.5, 0.8, heel=radians(0.4))
    assert degrees(float_after(leaning, [Load("nothing", 0.0)]).heel) == pytest.approx(0.4)


def test_the_ballast_remedy_levels_the_boat() -> None:
    leaning = Hull(16500, 0.6, 31.0, 16.5, 0.8, heel=radians(0.4))
    pour = next(c for c in heel_checks(leaning, [Load("x", 1.0)], 0.6) if "pour" in c.name)
    words = pour.remedies[0]
    mass = float(words.split(" kg")[0])
    moved = [Load("in", mass, 0, -0.5, 0.8), Load("out", -mass, 0, 0.5, 0.8)]
    # printed to a whole kilogram of about 69
    assert abs(degrees(float_after(leaning, moved).heel)) < 0.005


def test_pour_on_a_leaning_boat_is_a_hold_point() -> None:
    leaning = Hull(16500, 0.6, 31.0, 16.5, 0.8, heel=radians(0.4))
    pour = next(c for c in heel_checks(leaning, [Load("x", 1.0)], 0.6) if "pour" in c.name)
    assert pour.passed == "no" and pour.value == pytest.approx(4.19, abs=0.01)


def test_weight_of_a_piece_adds_up() -> None:
    piece = piece_weight("leg", 1.26, [FILM, MDF], edge_area=0.2, extra=1.5)
    assert float(piece.mass) == pytest.approx(
        1.26 * (0.003 * 1120 + 0.018 * 750) + 0.2 * 0.003 * 1120 + 1.5
    )
    assert float(sum(piece.by_layer.values()) + piece.edges) == pytest.approx(float(piece.mass))
    assert float(areal_mass([FILM, MDF])) * 1.26 < float(piece.mass)


def test_comparison_is_sorted_against_what_comes_out() -> None:
    rows = compare_tops(1.2, {"mdf": [FILM, MDF], "ply": [FILM, PLY]}, existing=30.0)
    assert [r[0] for r in rows] == ["ply", "mdf"]
    assert rows[0][2] == pytest.approx(rows[0][1] - 30.0)
    assert relative_sag([FILM, PLY], [FILM, MDF]) < 1.0


def test_weight_check_says_what_would_be_lighter() -> None:
    c = weight_check("leg", 20.0, 17.0, [FILM, MDF], 1.2, {"plywood": [FILM, PLY]})
    assert c.passed == "no" and c.margin == pytest.approx(-3.0)
    assert any("plywood saves 4.3 kg (enough)" in r for r in c.remedies)
    assert any("millimetre less core saves 0.90 kg" in r for r in c.remedies)


def test_people() -> None:
    assert people_needed(12.0, 1.2) == 1
    assert people_needed(12.0, 2.1) == 2
    assert people_needed(41.0, 1.2) == 3
    assert lift_check("leg", 45.0, 2.1).passed == "no"


def test_an_axle_over_its_plate() -> None:
    room = axle_room("rear axle", 1900, 140, 2000)
    c = axle_checks([room])[0]
    assert c.passed == "no" and room.spare == pytest.approx(-40)
    assert "40 kg" in c.remedies[0]


@pytest.mark.parametrize(
    "call",
    [
        lambda: axle_room("rear axle", 2100, 40, 2000),
        lambda: axle_room("rear axle", -1, 40, 2000),
        lambda: axle_room("rear axle", 1900, 40, 0),
        lambda: axle_share([Load("x", 1.0)], 0.0, 1.7),
        lambda: axle_share([Load("x", 1.0)], 3.6, float("nan")),
        lambda: centre_height(100, 1.0, [Load("x", -100.0)]),
        lambda: stability_factor(1.7, 0.0),
        lambda: float_after(Hull(0, 0.6, 31, 16.5), [Load("x", 1.0)]),
        lambda: float_after(Hull(16500, -0.1, 31, 16.5), [Load("x", 1.0)]),
        lambda: float_after(HULL, [Load("x", 9000.0)]),
        lambda: float_after(HULL, [Load("x", 3000.0, 0, 0, 30.0)]),
        lambda: metacentric_from_test(16500, 50, 1.0, radians(30)),
        lambda: metacentric_from_test(16500, -50, 1.0, radians(1)),
        lambda: roll_period(0.0, 2.0),
        lambda: piece_weight("x", -1.0, [MDF]),
        lambda: compare_tops(1.0, {}),
    ],
)
def test_refusals_have_a_remedy(call) -> None:
    with pytest.raises(InputError) as err:
        call()
    assert err.value.remedy and "\n" not in err.value.line()


def test_a_plate_below_the_weighed_load_says_so() -> None:
    with pytest.raises(InputError) as err:
        axle_room("rear axle", 2100, 40, 2000)
    assert "below the 2100 kg weighed" in err.value.line()
