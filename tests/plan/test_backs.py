"""The film on the backs: volumes by hand, accounts that close, steps in order, price, jobs without."""

from __future__ import annotations

import json
import subprocess
import sys
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import Spread
from pourwright.day import (
    Amounts,
    BackSteps,
    CoatClock,
    JobSteps,
    PourBatch,
    PrimerPlan,
    ResinCoat,
    WorkHours,
    fixed_lag,
    job_steps,
    schedule,
)
from pourwright.endure import layer_of
from pourwright.errors import InputError
from pourwright.papers import cost_job
from pourwright.papers.costing import _doings
from pourwright.plan import Working, job_from, load_job, read_job, work_out
from pourwright.plan.backs import (
    back_area,
    back_edge,
    back_primed,
    back_specs,
    has_backs,
    takes_two,
    turned_kg,
)
from pourwright.plan.context import Context
from pourwright.plan.drawings import drawings
from pourwright.plan.endurance import build_up
from pourwright.plan.text import plan_markdown

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
BALANCED, SEALED = 'back = "balanced"', 'back = "sealed"'


def context(text: str, *pairs: tuple[str, str]) -> Context:
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return Context(read_job(text), EXAMPLES)


@pytest.fixture(scope="module")
def sealed(galley_text: str) -> Working:
    return work_out(read_job(galley_text.replace(BALANCED, SEALED)), EXAMPLES)


class TestWhich:
    def test_a_balanced_back_carries_the_films_of_the_face(self, galley: Working) -> None:
        colour, flood = back_specs(galley.ctx)
        job = galley.ctx.job
        assert job.flood is not None
        assert (colour.spec.resin, colour.spec.film) == (job.colour.resin, job.colour.film)
        assert (flood.spec.resin, flood.spec.film) == (job.flood.resin, job.flood.film)
        assert (colour.covered, flood.covered) == (True, False)
        assert not colour.spec.shades and colour.spec.vein_width is None

    def test_the_film_is_the_one_that_is_weighed_and_bent(self, galley: Working) -> None:
        plies = [p for p in build_up(galley.ctx, galley.timed) if p.role == "back"]
        assert [p.thickness for p in plies] == [b.spec.film for b in back_specs(galley.ctx)]

    def test_coats_of_one_resin_are_one_pour_where_it_may_be_that_thick(self) -> None:
        text = (EXAMPLES / "wet_room.toml").read_text(encoding="utf-8")
        one = back_specs(context(text))
        assert [b.id for b in one] == ["back-1"]
        assert one[0].spec.film == pytest.approx(0.5e-3) and not one[0].covered
        thick = ('film = "0.2 L/m2"', 'film = "2.9 L/m2"')  # 3.2 mm; the class is poured to 3 mm
        assert [b.id for b in back_specs(context(text, thick))] == ["back-1", "back-2"]

    def test_a_job_may_say_no(self, galley_text: str) -> None:
        for say in ("sealed", "bare"):
            ctx = context(galley_text, (BALANCED, f'back = "{say}"'))
            assert not has_backs(ctx) and back_specs(ctx) == []
            assert back_area(ctx) == back_edge(ctx) == 0.0
        ready = context(galley_text, (BALANCED, f"{BALANCED}\nready = true"))
        assert not has_backs(ready)

    def test_a_board_without_skin_is_primed_once_and_a_skinned_foam_is_not(
        self, galley_text: str
    ) -> None:
        assert not back_primed(context(galley_text))
        wood = (('"pvc-foam"', '"plywood"'), ('thickness = "20 mm"', 'thickness = "18 mm"'))
        assert back_primed(context(galley_text, *wood))
        bare = ('[primer]\nmaterial = "primer-acrylic-dark"\ncoats = 2', "")
        none = context("primer = false\n" + galley_text, *wood, bare)
        assert not back_primed(none)

    def test_a_stated_range_of_the_film_is_kept(self, galley_text: str) -> None:
        text = galley_text.replace(
            'film = "1.2 L/m2"', 'film = "1.2 L/m2"\nfilm_range = ["1.0 L/m2", "1.5 L/m2"]'
        )
        film = back_specs(context(text))[1].spec.films()[0]
        assert (film.low, film.value, film.high) == pytest.approx((1.0e-3, 1.2e-3, 1.5e-3))


class TestVolumes:
    def test_backs_by_hand(self, galley: Working) -> None:
        # leg-a 2100 x 600 less the sink 480 x 380 with 60 mm corners; the tap hole is cut later;
        # leg-b 560 x 1250 less the hob 270 x 490 with 8 mm corners; table 900 x 600, 60 mm corners
        less = (4 - 3.141592653589793) * 1e-6
        area = 2.1 * 0.6 - (0.48 * 0.38 - less * 60**2)
        area += 0.56 * 1.25 - (0.27 * 0.49 - less * 8**2)
        area += 0.9 * 0.6 - less * 60**2
        assert back_area(galley.ctx) == pytest.approx(area, rel=1e-9)
        films = (3 * 29.5735295625e-6 / 0.09290304, 1.2e-3)  # 3 US fl oz/ft2; 1.2 L/m2
        for coat, film in zip(galley.timed.backs, films, strict=True):
            v = coat.plan.volume
            assert v.face == pytest.approx(area * film, rel=1e-9)
            assert v.edge == v.run_off == v.boards == 0.0

    def test_what_is_mixed_is_on_faces_backs_edges_lost_and_spare(self, galley: Working) -> None:
        mixed = parts = 0.0
        for coat in galley.timed.poured:
            v, batches = coat.plan.volume, coat.plan.batches
            on = v.face + v.edge + v.run_off + v.loss_fixed + v.loss_share
            over = (coat.plan.factor - 1.0) * v.mixed
            parts += on + over + batches.spare
            mixed += batches.volume
        assert mixed == pytest.approx(parts, rel=1e-9)
        bought = {p.resin: p.need_a_mL + p.need_b_mL for p in galley.plan.purchases}
        cups = dict.fromkeys(bought, 0.0)
        for c in galley.plan.coats:
            cups[c.resin] += sum(q.a_mL + q.b_mL for q in c.cups)
        assert bought == pytest.approx(cups, rel=1e-9)

    def test_the_back_takes_as_much_more_as_its_own_coats(
        self, galley: Working, sealed: Working
    ) -> None:
        more = sum(c.face_mL for c in galley.plan.coats if c.side == "back")
        assert more == pytest.approx(4710.0, abs=15.0)
        for with_back, without in zip(galley.plan.faces, sealed.plan.coats, strict=True):
            assert with_back.face_mL == pytest.approx(without.face_mL, rel=1e-12)
        for p in galley.plan.purchases:
            was = next(q for q in sealed.plan.purchases if q.resin == p.resin)
            assert p.need_a_mL > was.need_a_mL * 1.5

    def test_cups_of_the_backs_have_their_own_names(self, galley: Working) -> None:
        for c in galley.plan.coats:
            starts = {q.id[:1] == "U" for q in c.cups}
            assert starts == {c.side == "back"}
        backs = [q for c in galley.plan.coats if c.side == "back" for q in c.cups]
        assert {q.shade for q in backs} == {"clear"}

    def test_weight_counts_the_film_once(self, galley: Working, sealed: Working) -> None:
        films = [p for p in build_up(galley.ctx, galley.timed) if p.role == "back"]
        seal = [p for p in build_up(sealed.ctx, sealed.timed) if p.role == "back"]
        assert galley.plan.weight and sealed.plan.weight
        more = galley.plan.weight.total_kg.p50 - sealed.plan.weight.total_kg.p50
        area = back_area(galley.ctx)
        density = float(layer_of(films[0].material, 1.0).density)
        by_hand = area * density * (sum(p.thickness for p in films) - seal[0].thickness)
        assert more == pytest.approx(by_hand, rel=0.05)  # middles of sampled densities and films


class TestDays:
    def test_steps_in_order(self, galley: Working) -> None:
        place = galley.timed.schedule
        order = ["round-over", "back-mask", "back-1-mix-1", "back-1-leave", "back-2-mix-1",
                 "back-2-leave", "back-turn", "primer-1", "mask", "colour-mix-1"]  # fmt: skip
        starts = [place.of(i).start_s for i in order]
        assert starts == sorted(starts)
        for one, two in pairwise(order):
            assert place.of(two).start_s >= place.of(one).finish_s - 1e-6

    def test_nothing_is_turned_before_its_back_is_hard(self, galley: Working) -> None:
        timed = galley.timed
        last = timed.backs[-1]
        end = timed.spread_end(last.id)
        waited = timed.schedule.of("back-turn").start_s - end
        assert waited >= timed.clocks[last.id].clock(end).handle.p95 - 1.0
        hold = next(h for h in galley.plan.holds if h.key == "back-hard")
        assert hold.step == "back-turn" and hold.check.passed == "yes"
        assert hold.check.value == pytest.approx(waited / 3600.0)

    def test_turned_too_soon_is_not_met(self, galley_text: str, galley: Working) -> None:
        place = galley.timed.schedule
        before = [p for p in place.placed if p.finish_s <= place.of("back-2-leave").finish_s]
        done = {p.id: (p.start_s, p.finish_s) for p in before}
        end = galley.timed.spread_end("back-2")
        done["back-turn"] = (end + 3600.0, end + 5400.0)
        early = work_out(galley.ctx.job, EXAMPLES, done)
        hold = next(h for h in early.plan.holds if h.key == "back-hard")
        assert hold.check.passed == "no"

    def test_air_and_level_are_held_for_the_backs_too(self, galley: Working) -> None:
        held = {(h.step, h.key) for h in galley.plan.holds}
        for step in ("back-1-mix-1", "back-2-mix-1"):
            assert {(step, "dew-point"), (step, "humidity"), (step, "blush")} <= held
        assert ("back-mask", "level") in held and ("mask", "level") in held

    def test_two_turn_what_is_long_or_heavy(self, galley: Working, galley_text: str) -> None:
        name, kilos = turned_kg(galley.ctx, galley.core.strips_kg(galley.ctx))
        assert name == "leg-a" and takes_two(galley.ctx, kilos)  # 2.1 m long
        assert galley.plan.weight is not None
        assert kilos < galley.plan.weight.pieces_kg["leg-a"].p95  # its face is still to come
        turn = galley.timed.schedule.of("back-turn").step
        assert "Two people" in turn.say and turn.cautions
        table = '[[surfaces]]\nname = "table"' + galley_text.partition('name = "table"')[2]
        small = galley_text.partition("# Edges of a surface")[0] + table
        ctx = context(small)
        assert not takes_two(ctx, turned_kg(ctx, {})[1])

    def test_one_alone_is_told_to_ask_for_help(self, galley_text: str) -> None:
        alone = galley_text.replace("people = 2", "people = 1")
        plan = work_out(read_job(alone), EXAMPLES).plan
        assert any("takes two people" in w for w in plan.warnings)

    def test_the_old_warning_is_gone(self, galley: Working) -> None:
        assert not any("not in the amounts" in w for w in galley.plan.warnings)

    def test_ribbons_of_the_backs_end_in_turning(self, galley: Working) -> None:
        drawn = drawings(galley)
        assert {"ribbon-back-1", "ribbon-back-2", "ribbon-colour", "ribbon-flood"} <= set(drawn)
        assert "turn over" in drawn["ribbon-back-2"].svg()
        last = next(c for c in galley.plan.coats if c.id == "back-2")
        assert {w.key for w in last.windows}.isdisjoint({"recoat", "sand_first", "edges"})

    def test_plan_text_says_it_plainly(self, galley: Working) -> None:
        text = plan_markdown(galley.plan)
        assert "## Back film 1 of 2" in text and "pieces face down" in text
        assert "Turn the pieces over" in text


class TestPrice:
    def test_resin_rises_by_the_sets_less_what_goes_to_the_shelf(
        self, galley: Working, sealed: Working
    ) -> None:
        def by_hand(work: Working) -> float:
            assert work.ctx.job.price is not None
            rate = float(work.ctx.job.price.exchange["EUR"])
            total = 0.0
            for p in work.plan.purchases:
                kinds = {k: work.ctx.catalogue.get(k) for k in p.sets}
                volume = sum(n * kinds[k]["volume_L"] * 1e3 for k, n in p.sets.items())
                share = (p.left_a_mL + p.left_b_mL) / volume
                for k, n in p.sets.items():
                    price = kinds[k].price
                    assert price is not None
                    middle = float(price.middle.amount) * rate
                    total += middle * (n - 0.5 * float(round(Decimal(n * share), 2)))
            return total

        more = cost_job(galley).reckoning, cost_job(sealed).reckoning
        found = float(more[0].groups["resin"].amount - more[1].groups["resin"].amount)
        assert found == pytest.approx(by_hand(galley) - by_hand(sealed), abs=0.05)
        assert found > 0
        assert more[0].net.amount > more[1].net.amount

    def test_work_and_tape_of_the_backs_are_paid(self, galley: Working, sealed: Working) -> None:
        dear, plain = cost_job(galley), cost_job(sealed)
        assert dear.hours > plain.hours
        tape = [_doings(w, 2).tape_m for w in (galley, sealed)]
        assert tape[0] - tape[1] == pytest.approx(back_edge(galley.ctx))
        spreader = [{x.item.id: x.item.bought for x in c.reckoning.lines}["spreader-notched"]
                    for c in (dear, plain)]  # fmt: skip
        assert spreader[0] - spreader[1] == 2


class TestWithout:
    def test_no_back_leaves_no_trace(self, sealed: Working) -> None:
        assert sealed.timed.backs == () and sealed.timed.poured == sealed.timed.coats
        assert {c.side for c in sealed.plan.coats} == {"face"}
        steps = [p.id for p in sealed.timed.schedule.placed]
        assert not any(i.startswith("back") for i in steps)
        assert not any(h.key == "back-hard" for h in sealed.plan.holds)
        assert sum(h.key == "level" for h in sealed.plan.holds) == 1

    def test_bare_and_sealed_are_poured_alike_to_the_last_digit(
        self, sealed: Working, galley_text: str
    ) -> None:
        bare = work_out(read_job(galley_text.replace(BALANCED, 'back = "bare"')), EXAMPLES).plan
        # what holds the saw does differ: bow and weight are not those of a sealed back
        other = sealed.plan.model_copy(deep=True)
        for plan in (bare, other):
            plan.holds[:] = [h for h in plan.holds if h.key != "build-up"]
            for step in (s for d in plan.days for s in d.steps if s.id == "core-cut"):
                step.holds.clear()
        for part in ("coats", "purchases", "days", "holds", "paints"):
            one = [x.model_dump_json() for x in getattr(bare, part)]
            two = [x.model_dump_json() for x in getattr(other, part)]
            assert one == two


LENGTH = st.floats(0.3, 2.4)


@settings(deadline=None, max_examples=40)
@given(LENGTH, LENGTH, st.floats(0.3e-3, 3e-3), st.floats(0.3e-3, 3e-3), st.integers(1, 4))
def test_any_piece_takes_its_area_times_its_films(
    a: float, b: float, colour: float, flood: float, count: int
) -> None:
    job = read_job(
        f"""
        name = "any"
        [site]
        start = 2027-03-15
        air = {{ coolest = "18 degC", warmest = "20 degC" }}
        [core]
        back = "balanced"
        [[surfaces]]
        name = "top"
        count = {count}
        size = ["{a} m", "{b} m"]
        other_edges = {{ kind = "free", round_over = "6 mm", drop = "30 mm" }}
        [colour]
        film = "{colour * 1e3} mm"
        [flood]
        film = "{flood * 1e3} mm"
        """
    )
    ctx = Context(job)
    specs = back_specs(ctx)
    assert sum(s.spec.film for s in specs) == pytest.approx(colour + flood, rel=1e-12)
    assert len(specs) == (1 if colour + flood <= 3e-3 else 2)  # one resin, poured to 3 mm
    assert back_area(ctx) == pytest.approx(count * a * b, rel=1e-9)
    assert back_edge(ctx) == pytest.approx(count * 2 * (a + b), rel=1e-9)


def _coat(name: str, hard_h: float) -> ResinCoat:
    def h(x: float) -> Spread:
        return Spread(p05=0.8 * 3600 * x, p50=3600 * x, p95=1.3 * 3600 * x)

    clock = CoatClock(
        torch=h(0.1), veins=h(0.2), edges=h(0.5), hands_off=h(0.6 * hard_h),
        recoat_opens=h(0.4 * hard_h), recoat_closes=h(2.5 * hard_h), handle=h(hard_h),
        light_use=h(3 * hard_h), serve=h(10 * hard_h),
    )  # fmt: skip
    work = Spread(p05=300.0, p50=600.0, p95=900.0)
    batch = PourBatch("1", 1, 0.5, 1.0, h(0.5), "clear", work, work)
    return ResinCoat(name, name, (batch,), lambda _finish: clock)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.floats(2.0, 60.0), min_size=1, max_size=2),
    st.booleans(),
    st.booleans(),
    st.floats(0.2, 20.0),
)
def test_backs_are_hard_before_turning_and_turned_before_the_faces(
    hard: list[float], primed: bool, heated: bool, area: float
) -> None:
    coats = tuple(_coat(f"back-{k}", x) for k, x in enumerate(hard, 1))
    back = BackSteps(
        coats, area, 4 * area, 2, "top", 9.0, area > 5, primed,
        frozenset(c.id for c in coats) if heated else frozenset(),
    )  # fmt: skip
    primer = PrimerPlan(2, fixed_lag(4 * 3600.0), "dry")
    faces = (_coat("colour", 12.0),)
    made = JobSteps(Amounts(area, 4.0, 2.0, 4, 8.0, 2, 2), primer, faces, None, fixed_lag(7200.0),
                    lambda _t: Spread(p05=1.0, p50=1.0, p95=1.0), None, False, back)  # fmt: skip
    place = schedule(job_steps(made), WorkHours())
    turn = place.of("back-turn")
    last = coats[-1]
    assert turn.start_s >= place.of(last.end_step).finish_s + last.clock(0.0).handle.p95 - 1e-6
    assert place.of("primer-1").start_s >= turn.finish_s - 1e-6
    assert place.of("colour-mix-1").start_s >= turn.finish_s
    assert place.has("back-prime") == primed
    assert all(place.has(f"{c.id}-torch") == heated for c in coats)
    for one, two in pairwise(coats):
        opens = one.clock(0.0).recoat_opens.p95
        mixed = place.of(f"{two.id}-mix-1").start_s
        assert mixed >= place.of(one.end_step).finish_s + opens - 1e-6
        closed = mixed > place.of(one.end_step).finish_s + one.clock(0.0).recoat_closes.p05
        assert place.has(f"{one.id}-sand") or not closed


def test_command_line_shows_the_backs(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from pourwright.cli.main import run; run()", "plan",
         str(EXAMPLES / "galley.toml"), "--json"],
        capture_output=True, text=True, check=True, cwd=tmp_path,
    )  # fmt: skip
    plan = json.loads(done.stdout)
    assert [c["side"] for c in plan["coats"]] == ["back", "back", "face", "face"]
    assert any(s["id"] == "back-turn" for d in plan["days"] for s in d["steps"])


@pytest.mark.parametrize("asked", ["clear", {"resin": "resin-coating-1to1", "film": "1 mm"}, None])
def test_a_film_of_its_own_on_the_back_is_refused_by_name(asked):
    doc = load_job(Path(__file__).resolve().parents[2] / "examples" / "galley.toml").to_document()
    with pytest.raises(InputError) as refused:
        job_from({**doc, "core": {**doc["core"], "back": asked}})
    assert refused.value.field == "core.back"
    assert "balanced" in str(refused.value) and "sealed" in str(refused.value)
    assert "no film of its own" in str(refused.value)
