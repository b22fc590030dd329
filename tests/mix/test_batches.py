"""Batches and cups: exact accounting, limits kept, even splits, clock, veins and boards."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Draws
from pourwright.errors import InputError
from pourwright.mix import (
    CoatPiece,
    Crew,
    Limits,
    Loss,
    Measuring,
    Pigment,
    Shade,
    Uncertain,
    coat_volume,
    cup_steps,
    even_groups,
    plan_batches,
    plan_coat,
    resin_ratio,
    split_pour,
)

U = Uncertain.of
RATIO = resin_ratio(1130, 970, by_volume=(2, 1))
SHADES = (
    Shade("sea", 0.55, "field", (Pigment("sea paste", 0.03, 0.06),)),
    Shade("slate", 0.37, "field", (Pigment("slate paste", 0.02, 0.06),)),
    Shade("copper", 0.08, "vein", (Pigment("copper paste", 0.04, 0.06),)),
)
LOSS = Loss(U(0.05, 0.3), U(4e-6, 0.5), U(10e-6, 0.5))


def piece(name="top", flat=1.0, strip=0.1, run=2.0, **more):
    return CoatPiece(name, flat, strip, run, U(0.95e-3, 0.1), U(0.3e-3, 0.3), U(60e-6, 0.4), **more)


GALLEY = [
    piece("leg-a", 1.06, 0.14, 3.7),
    piece("leg-b", 0.56, 0.08, 1.8),
    piece("table", 0.52, 0.08, 2.9),
    piece("board", 0.07, 0.02, 1.1, board=True),
]


def plan(pieces=GALLEY, shades=SHADES, within=25 * 60, cup=0.6, people=2, over=1.0, **more):
    limits = Limits(within, cup, **more)
    return plan_batches("colour", pieces, shades, RATIO, limits, Crew(people), LOSS, over=over)


@settings(deadline=None, max_examples=60)
@given(
    flats=st.lists(st.floats(0.05, 3), min_size=1, max_size=5),
    shares=st.lists(st.floats(0.05, 1), min_size=1, max_size=4),
    vein=st.floats(0.02, 0.3),
    cup=st.floats(0.1, 2.0),
    within=st.floats(20, 120),
    over=st.floats(1, 1.3),
    people=st.integers(1, 4),
    count=st.integers(1, 3),
)
def test_volumes_add_up_exactly(flats, shares, vein, cup, within, over, people, count):
    total = sum(shares)
    shades = [Shade(f"f{k}", s / total * (1 - vein)) for k, s in enumerate(shares)]
    shades.append(Shade("v", vein, "vein", (Pigment("p", 0.05),)))
    pieces = [piece(f"p{k}", f, f / 10, f * 2, count=count) for k, f in enumerate(flats)]
    p = plan(pieces, shades, within * 60, cup, people, over)
    volume = coat_volume("colour", pieces, LOSS, len(p.cups), Draws(1, 50))
    # cups = over-mix x volume of the coat with that many cups, plus what least cups add
    assert p.volume == pytest.approx(volume.mixed * over + p.spare, rel=1e-9)
    assert sum(p.shades().values()) == pytest.approx(p.volume, rel=1e-12)
    assert sum(b.volume for b in p.batches) == pytest.approx(p.volume, rel=1e-12)
    t = p.totals()
    assert t["a_mass"] + t["b_mass"] + t["pigment_mass"] == pytest.approx(t["mass"], rel=1e-12)
    assert t["a_volume"] / t["b_volume"] == pytest.approx(2, rel=1e-12)
    # every stretch of every piece is poured once by field batches and once by vein batches
    for kind in ("field", "vein"):
        net = sum(b.net for b in p.batches if b.kind == kind)
        assert net == pytest.approx(sum(q.net for q in pieces), rel=1e-9)
    for b in p.batches:
        for c in b.cups:
            assert c.portion.mass <= cup * (1 + 1e-9) or c.spare > 0
            assert c.spare == 0 or c.volume == pytest.approx(30e-6)
    fields = [b for b in p.batches if b.kind == "field"]
    for b in fields:
        assert {c.shade for c in b.cups} == {s.name for s in shades if s.role == "field"}
    for a, b in pairwise(fields):
        assert b.pour_start >= a.spread_end - 1e-6
    if p.feasible:
        for b in p.batches:
            assert b.margin >= -1e-6
    else:
        assert p.warnings


def test_galley_by_hand():
    p = plan()
    kinds = [b.kind for b in p.batches]
    assert kinds[0] == "board" and set(kinds[1:]) == {"field", "vein"}
    assert p.feasible
    # the sample board: 0.07 m2 x 0.95 mm + strip + run-off, all shades, copper at the least cup
    board = p.batches[0]
    copper = [c for c in board.cups if c.shade == "copper"]
    assert copper[0].volume == pytest.approx(30e-6)
    assert copper[0].spare > 0
    ids = [c.id for c in p.cups]
    assert len(ids) == len(set(ids))


def test_shorter_pot_life_makes_more_batches_and_none_is_tiny():
    long, short = plan(within=45 * 60, cup=2.0), plan(within=13 * 60, cup=0.6)
    count = {k: sum(b.kind == "field" for b in q.batches) for k, q in (("l", long), ("s", short))}
    assert count["s"] > count["l"]
    nets = [b.net for b in short.batches if b.kind == "field"]
    assert min(nets) > 0.3 * max(nets)


def test_one_surface_splits_evenly():
    p = plan([piece("bar", 6.0, 0.5, 9.0)], cup=0.5, within=20 * 60)
    nets = [b.net for b in p.batches if b.kind == "field"]
    assert len(nets) > 2
    assert max(nets) == pytest.approx(min(nets), rel=1e-9)
    words = [b.stretches[0].words for b in p.batches if b.kind == "field"]
    assert words[0].startswith("bar, 0 to")


def test_impossible_clock_is_told_not_hidden():
    p = plan(within=5 * 60, people=1)
    assert not p.feasible
    assert any("must be out within 5 min" in w for w in p.warnings)
    with pytest.raises(InputError):
        plan(within=0)
    with pytest.raises(InputError):
        plan(cup=-1)
    with pytest.raises(InputError):
        plan(least_cup=5e-3)


def test_one_person_waits_two_overlap():
    one, two = plan(people=1, within=15 * 60), plan(people=2, within=15 * 60)

    def first_two(q):
        return [b for b in q.batches if b.kind == "field"][:2]

    a, b = first_two(one)
    assert b.start == pytest.approx(a.spread_end)
    a, b = first_two(two)
    assert b.start < a.spread_end <= b.pour_start + 1e-9


def test_veins_are_laid_after_their_wait():
    p = plan()
    fields = {s.words: b for b in p.batches if b.kind == "field" for s in b.stretches}
    for v in (b for b in p.batches if b.kind == "vein"):
        first = fields[v.stretches[0].words]
        assert v.pour_start == pytest.approx(first.pour_start + 900)
        assert v.cups[-1].mix_at < v.pour_start


def test_a_least_cup_beyond_the_safe_mass_breaks_the_plan():
    p = plan(cup=0.02)
    assert not p.feasible
    assert any("more than the 20 g that stay safe" in w for w in p.warnings)


@settings(deadline=None, max_examples=30)
@given(st.floats(0.3, 6), st.floats(0.3, 3), st.integers(1, 4))
def test_clear_first_accounts_for_every_gram(flat, cup, people):
    limits = Limits(20 * 60, cup)
    crew = Crew(people, clear_first=True)
    clear = plan_batches("c", [piece("a", flat)], SHADES, RATIO, limits, crew, LOSS)
    for b in clear.batches:
        if len(b.cups) == 1:  # a single cup is mixed on its own
            assert b.buckets == () and not b.cups[0].clear
            continue
        for key in ("a_mass", "b_mass", "a_volume"):
            wanted = sum(getattr(c.portion, key) for c in b.cups)
            assert sum(getattr(x.portion, key) for x in b.buckets) == pytest.approx(wanted)
        assert all(x.portion.mass <= cup * (1 + 1e-9) for x in b.buckets)
        assert all(c.clear and c.mix_at == b.start for c in b.cups)
        assert b.ready <= b.pour_start + 1e-9
        rounds = [math.ceil(len(x) / crew.mixers) for x in (b.buckets, b.cups)]
        assert b.ready - b.start == pytest.approx(240 * rounds[0] + 60 * rounds[1])
    steps = cup_steps(next(c for c in clear.cups if c.clear))
    assert "clear mix" in steps[0] and "20 min" in steps[-1]


def test_clear_first_saves_a_hot_day():
    """Five shades and ten minutes: apart it cannot be done alone, clear first it can."""
    shades = tuple(Shade(f"s{k}", 0.2) for k in range(5))
    limits = Limits(10 * 60, 1.0)
    one = [piece("bar", 0.5)]
    assert not plan_batches("c", one, shades, RATIO, limits, Crew(1), LOSS).feasible
    quick = Crew(1, clear_first=True, tint_time=45)
    assert plan_batches("c", one, shades, RATIO, limits, quick, LOSS).feasible


def test_too_many_cups_are_refused_quickly():
    with pytest.raises(InputError, match="at most 2000 cups"):
        plan([piece("floor", 900.0)], cup=0.005, within=5 * 60, people=1)


def test_hands_that_are_missing_are_told():
    """One person cannot mix veins while spreading the next batch; three can."""
    alone = plan(people=1, within=15 * 60)
    assert any("pairs of hands" in w for w in alone.warnings)
    assert not any("pairs of hands" in w for w in plan(people=4, within=15 * 60).warnings)
    plain = (Shade("sea", 0.6), Shade("slate", 0.4))
    for people in (1, 2, 3):
        q = plan(shades=plain, people=people, within=15 * 60)
        assert not any("pairs of hands" in w for w in q.warnings)


def test_wet_edge_and_spreading_limits_are_told():
    slow = Crew(1, spread_rate=0.02 / 60)
    limits = Limits(60 * 60, 0.3, spread_within=10 * 60, wet_edge_within=5 * 60)
    p = plan_batches("colour", GALLEY, SHADES, RATIO, limits, slow, LOSS)
    assert any("the edge waits" in w for w in p.warnings)


def test_spread_limit_makes_smaller_batches():
    wide = plan(within=60 * 60, cup=3.0)
    tight = plan(within=60 * 60, cup=3.0, spread_within=2 * 60)

    def fields(q):
        return sum(b.kind == "field" for b in q.batches)

    assert fields(tight) > fields(wide)


@settings(deadline=None, max_examples=80)
@given(st.lists(st.floats(0.01, 1), min_size=1, max_size=8), st.floats(1, 3))
def test_even_groups_against_every_partition(sizes, most):
    import itertools

    groups = even_groups(sizes, most)
    assert [i for g in groups for i in g] == list(range(len(sizes)))
    sums = [sum(sizes[i] for i in g) for g in groups]
    assert max(sums) <= most * (1 + 1e-9)
    best = None
    for cuts in itertools.product((0, 1), repeat=len(sizes) - 1):
        runs, now = [], sizes[0]
        for cut, size in zip(cuts, sizes[1:]):
            if cut:
                runs.append(now)
                now = size
            else:
                now += size
        runs.append(now)
        if max(runs) <= most * (1 + 1e-9):
            key = (len(runs), sum(r * r for r in runs))
            best = key if best is None else min(best, key)
    assert len(groups) == best[0]
    assert sum(s * s for s in sums) == pytest.approx(best[1], rel=1e-9)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(0.05, 4), min_size=1, max_size=5), st.floats(0.2, 3))
def test_stretches_cover_every_piece_once(flats, litres):
    pieces = [piece(f"p{k}", f) for k, f in enumerate(flats)]
    batches = split_pour(pieces, litres * 1e-3)
    for k, p in enumerate(pieces):
        mine = [s for b in batches for s in b if s.surface == f"p{k}"]
        assert mine[0].start == 0 and mine[-1].end == 1
        for a, b in pairwise(mine):
            assert a.end == pytest.approx(b.start)
        assert math.fsum(s.net for s in mine) == pytest.approx(p.net, rel=1e-9)
    assert all(math.fsum(s.net for s in b) <= litres * 1e-3 * (1 + 1e-6) for b in batches)


def test_breaks_fall_between_surfaces():
    batches = split_pour([piece("a", 1.0), piece("b", 1.0), piece("c", 1.0)], 2.5e-3)
    assert [[s.words for s in b] for b in batches] in ([["a"], ["b", "c"]], [["a", "b"], ["c"]])


def test_cutting_through_saves_a_batch():
    """Three sheets of 1.2 batches each: 4 even batches across the joints, not 6."""
    pieces = [piece(n, 1.2) for n in ("bar-1", "bar-2", "bar-3")]
    most = pieces[0].net / 1.2
    batches = split_pour(pieces, most)
    assert len(batches) == 4
    nets = [sum(s.net for s in b) for b in batches]
    assert max(nets) <= most * (1 + 1e-9)
    assert min(nets) > 0.75 * max(nets)


def test_too_many_stretches_are_refused():
    with pytest.raises(InputError, match="at most 400"):
        split_pour([piece("floor", 900.0)], 0.1e-3)


def test_plan_coat_agrees_with_its_own_risk():
    p = plan_coat(
        "colour", GALLEY, SHADES, RATIO, Limits(25 * 60, 0.6), Crew(2), LOSS, draws=Draws(3, 4000)
    )
    assert p.factor > 1
    assert p.over.chance <= 0.05 + 1e-9
    assert p.batches.volume == pytest.approx(p.volume.mixed * p.factor + p.batches.spare, rel=1e-9)
    again = plan_coat(
        "colour", GALLEY, SHADES, RATIO, Limits(25 * 60, 0.6), Crew(2), LOSS, draws=Draws(3, 4000)
    )
    assert again == p


def test_cup_card_says_what_to_do_in_order():
    p = plan()
    cup = p.batches[1].cups[0]
    steps = cup_steps(cup)
    assert "Tare" in steps[0] and f"{cup.spoken.a * 1e3:.0f} g of A" in steps[0]
    assert "paste" in steps[1]
    assert f"{cup.spoken.b * 1e3:.0f} g of B" in steps[2]
    assert "2 min" in steps[3] and "Scrape" in steps[4]
    assert "25 min" in steps[-1]
    assert cup.ratio_error.low < cup.spoken.off_ratio < cup.ratio_error.high


def test_measuring_by_volume_and_too_fine_amounts():
    limits = Limits(25 * 60, 0.6, least_cup=5e-6)
    shades = (Shade("field", 0.999), Shade("dot", 0.001, "accent"))
    p = plan_batches(
        "c", [piece("b", 0.05, 0, 0)], shades, RATIO, limits, measuring=Measuring("volume")
    )
    dot = next(c for c in p.cups if c.shade == "dot")
    assert dot.spoken is None
    assert any("too small for the scale" in w for w in p.warnings)
    field = next(c for c in p.cups if c.shade == "field")
    assert field.spoken.by == "volume"
    assert "mL of A" in cup_steps(field)[0]
