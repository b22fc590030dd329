"""What a finisher must change to get under a weight limit or out of a bow, said in numbers."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from pourwright.calc.check import Check
from pourwright.plan import Working, read_job, work_out
from pourwright.plan.advice import advice_of
from pourwright.plan.backs import turned_kg
from pourwright.plan.cares import three_cares
from pourwright.plan.context import Context
from pourwright.plan.core import plan_core
from pourwright.plan.endurance import back_notes, build_up, endurance
from pourwright.plan.holds import hold_points
from pourwright.plan.text import plan_markdown
from pourwright.plan.text_build import reader_of

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NEVER_UNSURE = {
    "endure.sandwich.crushing": "a stated load on a stated patch, capped at the contact pressure",
    "air.vapour.short": "the range may close up where the peak is a steady state",
    "cure.back.hard": "the wait is planned; what is unsure is the limit, which is sampled",
}


@pytest.fixture(scope="module")
def jobs(galley: Working) -> dict[str, Working]:
    found = {"galley": galley}
    for name in ("cafe_bar", "wet_room"):
        text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
        found[name] = work_out(read_job(text), EXAMPLES)
    return found


def changed(work: Working, name: str, *pairs: tuple[str, str]) -> list[Check]:
    """Endurance of a demo job with changed words, on its own clock."""
    text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    ctx = Context(read_job(text), EXAMPLES)
    return endurance(ctx, work.timed, plan_core(ctx))[0]


def one(checks: list[Check], name: str) -> Check:
    return next(c for c in checks if c.name == name)


def number(pattern: str, text: str) -> float:
    found = re.search(pattern, text)
    assert found, (pattern, text)
    return float(found.group(1))


def all_checks(work: Working) -> list[Check]:
    return [*work.plan.checks, *(h.check for h in work.plan.holds)]


@pytest.mark.parametrize("name", ["galley", "cafe_bar", "wet_room"])
class TestEveryCheck:
    def test_has_a_caution_and_a_source(self, jobs: dict[str, Working], name: str) -> None:
        for c in all_checks(jobs[name]):
            assert c.caution, c.name
            assert c.source and c.criterion, c.name

    def test_has_a_range_where_inputs_are_unsure(self, jobs: dict[str, Working], name: str) -> None:
        for c in all_checks(jobs[name]):
            if c.name in NEVER_UNSURE:
                assert c.margin_spread is not None or c.spread is not None, c.name
                continue
            assert c.spread is not None and c.spread.p95 > c.spread.p05, c.name

    def test_that_does_not_pass_says_what_to_change_in_numbers(
        self, jobs: dict[str, Working], name: str
    ) -> None:
        failing = [c for c in all_checks(jobs[name]) if c.passed != "yes"]
        assert failing
        for c in failing:
            assert c.remedies, c.name
            assert any(ch.isdigit() for ch in str(c.remedies[0])), (c.name, c.remedies)

    def test_is_told_in_the_plan(self, jobs: dict[str, Working], name: str) -> None:
        plan = jobs[name].plan
        document, reader = plan_markdown(plan), reader_of(plan)
        for a in plan.advice:
            if a.passed != "yes":
                assert reader.text(a.answer) in document, a.key
                assert a.do and reader.text(a.do[0]) in document, a.key


class TestWeight:
    @pytest.mark.parametrize(
        ("name", "pairs"),
        [
            ("galley", [('weight = "45 kg"', 'weight = "16 kg"')]),
            ("cafe_bar", [("limits = { carry", 'limits = { weight = "60 kg", carry')]),
            ("wet_room", [("limits = { carry", 'limits = { weight = "24 kg", carry')]),
        ],
    )
    def test_a_board_and_what_it_saves_are_named(
        self, jobs: dict[str, Working], name: str, pairs: list[tuple[str, str]]
    ) -> None:
        checks = changed(jobs[name], name, *pairs)
        c = one(checks, "endure.weight")
        assert c.passed == "no"
        first = str(c.remedies[0])
        after = number(r"instead: ([\d.]+) kg", first)
        less = number(r"\(([\d.]+) kg less\)", first)
        assert after + less == pytest.approx(c.value, abs=0.15)
        assert after < c.limit
        said = next(a for a in advice_of(checks) if a.key == "endure.weight")
        assert said.do[0] == first

    @pytest.mark.parametrize("back", ["balanced", "sealed"])
    def test_a_thinner_film_saves_what_is_said(self, jobs: dict[str, Working], back: str) -> None:
        pairs = [('weight = "45 kg"', 'weight = "12 kg"'), ('"balanced"', f'"{back}"')]
        checks = changed(jobs["galley"], "galley", *pairs)
        c = one(checks, "endure.weight")
        told = next(str(r) for r in c.remedies if "less film" in str(r))
        saved = number(r"saves ([\d.]+) kg", told)
        work = jobs["galley"]
        thinner = replace(
            work.timed,
            coats=[
                replace(p, film=replace(p.film, value=p.film.value - 1e-4))
                if p.id == "flood"
                else p
                for p in work.timed.coats
            ],
        )
        after = one(changed(replace(work, timed=thinner), "galley", *pairs), "endure.weight")
        # edge films follow their own law, so only the faces grow thinner here: up to a sixth less
        assert 0.8 * saved - 0.01 <= c.value - after.value <= 1.02 * saved + 0.01

    def test_it_stands_first_among_the_three_cares(self, jobs: dict[str, Working]) -> None:
        work = jobs["galley"]
        checks = changed(work, "galley", ('weight = "45 kg"', 'weight = "16 kg"'))
        cares = three_cares(work.plan.model_copy(update={"checks": checks}))
        assert "weight" in cares[0].title and " kg" in cares[0].text
        assert "instead" in cares[0].text


class TestBow:
    def test_the_back_that_is_named_takes_it_out(self, jobs: dict[str, Working]) -> None:
        work = jobs["galley"]
        bare = changed(work, "galley", ('back = "balanced"', 'back = "bare"'))
        c = one(bare, "endure.bow.cure")
        assert c.passed == "no" and c.value > 3 * c.limit
        told = next(str(r) for r in c.remedies if "Coat the back" in str(r))
        left = number(r"at most ([\d.]+) mm of bow", told)
        more = number(r"weighs ([\d.]+) kg more", told)
        done = changed(work, "galley")
        after = one(done, "endure.bow.cure")
        assert after.spread is not None and left <= c.limit
        # the same films on both faces: only how unevenly they are poured differs by draw
        assert after.spread.p95 == pytest.approx(left, rel=0.15)
        assert after.passed == "yes"
        assert more > 0.5
        cares = three_cares(work.plan.model_copy(update={"checks": bare}))
        assert "bow" in cares[0].title and "Coat the back" in cares[0].text

    def test_where_the_back_is_not_enough_the_core_is_named_too(
        self, jobs: dict[str, Working]
    ) -> None:
        work = jobs["wet_room"]
        bare = changed(work, "wet_room", ('back = "balanced"', 'back = "bare"'))
        c = one(bare, "endure.bow.cold")
        told = next(str(r) for r in c.remedies if "With that back" in str(r))
        told = told[told.index("With that back") :]
        more = number(r"a core (\d+) mm thicker", told)
        left = number(r"at most ([\d.]+) mm", told)
        assert left <= c.limit
        sold = min(t for t in (20, 25, 30, 40) if t >= 15 + more)
        thick = ('thickness = "15 mm"', f'thickness = "{sold} mm"')
        after = one(changed(work, "wet_room", thick), "endure.bow.cold")
        assert after.spread is not None
        # at least as thick as told, so at most as bowed but for unevenly poured films
        assert after.spread.p95 <= 1.15 * left
        assert after.spread.p95 <= c.limit and after.passed == "yes"

    def test_what_is_not_enough_alone_is_said_in_one_breath_with_what_is(
        self, jobs: dict[str, Working]
    ) -> None:
        work = jobs["wet_room"]
        bare = changed(work, "wet_room", ('back = "balanced"', 'back = "bare"'))
        cares = three_cares(work.plan.model_copy(update={"checks": bare}))
        c = one(bare, "endure.bow.cold")
        assert number(r"at most ([\d.]+) mm of bow", str(c.remedies[0])) > c.limit
        care = next(x for x in cares if "bow in the cold" in x.title)
        assert "With that back and a core" in care.text

    def test_a_thick_film_on_one_side(self, jobs: dict[str, Working]) -> None:
        checks = changed(jobs["cafe_bar"], "cafe_bar", ('back = "sealed"', 'back = "bare"'))
        for name in ("endure.bow.cure", "endure.bow.moisture"):
            c = one(checks, name)
            assert c.passed == "no"
            # the change brings it under the limit, and says so
            told = str(c.remedies[0])
            assert number(r"at most ([\d.]+) mm", told) < c.limit < c.value, name


class TestBoth:
    """A weight limit and a bow at once: the cure of the one must not hide that it breaks the other."""

    BARE = ('back = "balanced"', 'back = "bare"')

    def test_coating_the_back_says_that_it_breaks_the_limit(self, jobs: dict[str, Working]) -> None:
        work = jobs["galley"]
        c = one(
            changed(work, "galley", self.BARE, ('weight = "45 kg"', 'weight = "15 kg"')),
            "endure.bow.cure",
        )
        told = str(c.remedies[0])
        assert "Coat the back" in told and "15 kg is the limit" in told
        heavy = number(r"all pieces weigh up to ([\d.]+) kg", told)
        after = one(changed(work, "galley"), "endure.weight")
        assert after.spread is not None
        # the seal's and the backs' own scatter is left out of what is said
        assert heavy == pytest.approx(after.spread.p95, rel=0.02)

    def test_with_room_under_the_limit_nothing_is_said_of_it(
        self, jobs: dict[str, Working]
    ) -> None:
        c = one(changed(jobs["galley"], "galley", self.BARE), "endure.bow.cure")
        assert "Coat the back" in str(c.remedies[0]) and "is the limit" not in str(c.remedies[0])

    def test_a_limit_that_nothing_reaches_is_said_to_be_out_of_reach(
        self, jobs: dict[str, Working]
    ) -> None:
        c = one(
            changed(jobs["galley"], "galley", ('weight = "45 kg"', 'weight = "6 kg"')),
            "endure.weight",
        )
        told = next(str(r) for r in c.remedies if "not even with half the film" in str(r))
        assert 0.0 < number(r"film: ([\d.]+) kg more", told) < c.value - c.limit
        assert "the limit must rise" in told

    def test_a_thinner_film_that_is_enough_says_how_much(self, jobs: dict[str, Working]) -> None:
        c = one(
            changed(jobs["galley"], "galley", ('weight = "45 kg"', 'weight = "20.2 kg"')),
            "endure.weight",
        )
        assert c.passed == "unsure"
        told = next(str(r) for r in c.remedies if "less film" in str(r))
        need, saved = number(r"([\d.]+) mm less is enough", told), number(r"saves ([\d.]+)", told)
        assert c.spread is not None
        over = c.spread.p95 - c.limit
        # rounded up to a tenth, and said of the middle value times the range
        assert over <= 10.0 * need * saved * 1.1 and 10.0 * (need - 0.1) * saved <= over * 1.1

    def test_the_first_advice_names_every_new_trouble(self, jobs: dict[str, Working]) -> None:
        c = one(
            changed(jobs["galley"], "galley", ('weight = "45 kg"', 'weight = "16 kg"')),
            "endure.weight",
        )
        told = str(c.remedies[0])
        assert "seal on the back" in told
        assert number(r"sags ([\d.]+) mm", told) > number(r"sags [\d.]+ mm \(may ([\d.]+)", told)
        assert number(r"bows ([\d.]+) mm", told) > number(r"bows [\d.]+ mm \(may ([\d.]+)", told)


class TestBackPrimer:
    PLY = (
        ('material = "pvc-foam"', 'material = "plywood"'),
        ('thickness = "20 mm"', 'thickness = "18 mm"'),
    )

    def ctx(self, *pairs: tuple[str, str]) -> Context:
        text = (EXAMPLES / "galley.toml").read_text(encoding="utf-8")
        for old, new in pairs:
            assert old in text, old
            text = text.replace(old, new, 1)
        return Context(read_job(text), EXAMPLES)

    def test_primer_on_a_bare_board_back_is_weighed_and_bent(
        self, jobs: dict[str, Working]
    ) -> None:
        timed, wood = jobs["galley"].timed, self.ctx(*self.PLY)
        backs = [p for p in build_up(wood, timed) if p.role == "back"]
        paint = wood.catalogue.get("primer-acrylic-dark")
        dry = paint["coverage_L_m2"] * 1e-3 * paint["volume_solids_percent"] / 100
        assert [p.material.id for p in backs] == ["cured-primer", "cured-art", "cured-coating"]
        assert backs[0].thickness == pytest.approx(dry)
        foam = [p for p in build_up(self.ctx(), timed) if p.role == "back"]
        assert [p.material.id for p in foam] == ["cured-art", "cured-coating"]
        name, kilos = turned_kg(wood, {})
        bare = replace(wood, job=wood.job.model_copy(update={"primer": None}))
        area = wood.survey[name].areas.face
        less = area * dry * wood.catalogue.get("cured-primer")["density_kg_m3"]
        assert kilos - turned_kg(bare, {})[1] == pytest.approx(less, rel=1e-9)
        assert not back_notes(wood, timed) or "primer" not in " ".join(back_notes(wood, timed))


class TestBeforeTheSaw:
    @pytest.mark.parametrize("name", ["galley", "cafe_bar", "wet_room"])
    def test_what_no_later_step_mends_holds_the_saw(
        self, jobs: dict[str, Working], name: str
    ) -> None:
        plan = jobs[name].plan
        held = {h.check.name: h for h in plan.holds if h.key == "build-up"}
        assert {h.step for h in held.values()} == {"core-cut"}
        for c in plan.checks:
            later = c.name.startswith(("endure.heat", "endure.heel.pour"))
            wanted = c.name in ("endure.weight", "endure.lift") or c.passed != "yes"
            assert (c.name in held) == (wanted and not later), c.name
        for h in held.values():
            assert h.check in plan.checks and h.check.source and h.check.limit > 0.0
        step = next(s for d in plan.days for s in d.steps if s.id == "core-cut")
        assert len(step.holds) >= len(held)
        text = plan_markdown(plan)
        assert f"| core-cut | {next(iter(held.values())).check.title}" in text

    def test_a_core_that_is_ready_has_no_saw_to_hold(self) -> None:
        text = (EXAMPLES / "galley.toml").read_text(encoding="utf-8")
        ready = text.replace('back = "balanced"', 'back = "balanced"\nready = true', 1)
        plan = work_out(read_job(ready), EXAMPLES).plan
        assert not any(h.key == "build-up" for h in plan.holds)


BURDEN = (
    'centre_height = "0.75 m" }',
    'centre_height = "0.75 m" }\nmasses = [ { name = "range", mass = "900 kg", along = "6 m", '
    'across = "1 m", height = "3 m" } ]',
)
VAN = (
    'kind = "boat"',
    'kind = "vehicle"\nvehicle = { wheelbase = "3.6 m", track = "1.7 m", front_weighed = "1500 kg", '
    'rear_weighed = "1980 kg", front_plate = "1650 kg", rear_plate = "1990 kg", '
    'total_plate = "3500 kg" }\nmasses = [ { name = "water", mass = "120 kg", along = "0.2 m" } ]',
)


class TestWheelsAndWater:
    def test_a_boat_that_leans_trims_and_stands_less_firm(self, jobs: dict[str, Working]) -> None:
        checks = changed(jobs["galley"], "galley", BURDEN)
        for name, words in (
            ("endure.heel", r"(\d+) kg of ballast moved one metre to starboard"),
            ("endure.trim", r"(\d+) kg of stores or ballast moved one metre along"),
            ("endure.stiffness", r"Lower (\d+) kg by one metre"),
        ):
            c = one(checks, name)
            assert c.passed == "no", name
            assert number(words, str(c.remedies[0])) > 0, name
        said = {a.key: a for a in advice_of(checks)}
        assert all(said[n].do for n in ("endure.heel", "endure.trim", "endure.stiffness"))

    def test_an_axle_over_its_plate(self, jobs: dict[str, Working]) -> None:
        checks = changed(
            jobs["galley"], "galley", VAN, ('limits = { weight = "45 kg", ', "limits = { "),
            ('boat = { displacement = "14500 kg", metacentric_height = "0.55 m", '
             'waterplane = "29 m2", waterline = "16.2 m", centre_height = "0.75 m" }', ""),
        )  # fmt: skip
        c = one(checks, "endure.axle.rear axle")
        assert c.passed == "no" and c.spread is not None
        left = number(r"Leave (\d+) kg", str(c.remedies[0]))
        assert left == pytest.approx(c.spread.p95 - c.limit, abs=0.6)
        moved = number(r"move (\d+) kg one metre away", str(c.remedies[1]))
        assert moved == pytest.approx(left * 3.6, abs=2.5)
        cares = three_cares(jobs["galley"].plan.model_copy(update={"checks": checks}))
        assert "rear axle" in str(cares[0].title).lower() or any(
            "axle" in str(x.title).lower() for x in cares
        )


class TestHeat:
    def test_a_dark_top_in_a_hot_cabin_names_shade_colour_and_cure(
        self, jobs: dict[str, Working]
    ) -> None:
        film = one(list(jobs["galley"].plan.checks), "endure.heat.film")
        core = one(list(jobs["galley"].plan.checks), "endure.heat.core")
        assert film.passed == "no" and film.spread is not None
        assert number(r"above (\d+) degC", str(film.remedies[0])) == pytest.approx(
            film.spread.p95, abs=1.0
        )
        shade = number(r"shade alone brings it to (\d+) degC", str(film.remedies[1]))
        assert shade < film.value
        assert number(r"bears (\d+) degC", str(core.remedies[0])) == pytest.approx(
            film.spread.p95, abs=1.0
        )
        colour = number(r"at most (\d+) % of the sun", str(core.remedies[-1]))
        lighter = shade + (film.value - shade) * colour / 93.0
        assert lighter == pytest.approx(core.limit, abs=2.0)

    def test_a_pan_core_remedy_is_computed(self, jobs: dict[str, Working]) -> None:
        c = one(list(jobs["galley"].plan.checks), "endure.heat.pan_core")
        assert c.spread is not None and c.spread.p95 - c.spread.p05 > 2.0
        assert number(r"keeps the core at (\d+) degC", str(c.remedies[0])) < c.value


class TestDewPointWording:
    def test_each_step_says_what_is_wet(self, jobs: dict[str, Working]) -> None:
        seen = set()
        for work in jobs.values():
            steps = {p.id: p.step.kind for p in work.timed.schedule.placed}
            backs = {f"{c.id}-mix-1" for c in work.timed.backs}
            for h in hold_points(work.ctx, work.timed):
                if h.check.name != "air.margin":
                    continue
                title = str(h.check.title)
                if steps[h.step] == "prime":
                    want = "primer dries"
                elif steps[h.step] == "topcoat":
                    want = "topcoat dries"
                else:
                    want = "film on the backs" if h.step in backs else "resin is soft"
                assert want in title, (h.step, title)
                seen.add(want)
        assert seen == {"primer dries", "topcoat dries", "film on the backs", "resin is soft"}
