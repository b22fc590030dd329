"""Core, endurance, colour, air and drawings of a plan: one change moves what it should."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from pourwright.errors import InputError
from pourwright.plan import Working, read_job, work_out
from pourwright.plan.colours import sun_absorptance
from pourwright.plan.context import Context
from pourwright.plan.core import plan_core
from pourwright.plan.drawings import drawings
from pourwright.plan.text import plan_markdown

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def context(text: str, *pairs: tuple[str, str]) -> Context:
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return Context(read_job(text), EXAMPLES)


def checks(work: Working) -> dict[str, float]:
    return {c.name: c.value for c in work.plan.checks}


class TestCore:
    def test_board_comes_out_of_a_cut_out(self, galley: Working) -> None:
        assert any("drop-out" in n for n in galley.core.summary.notes)
        assert "board" not in {p.name for p in galley.core.cores.parts}

    def test_bound_is_kept_and_every_part_is_placed(self, galley: Working) -> None:
        s = galley.core.summary
        assert s.bound_sheets <= sum(s.sheets.values())
        placed = sum(len(x.placements) for x in galley.core.layout.sheets)
        assert placed == s.parts == sum(p.quantity for p in s.pieces)

    def test_unsold_thickness_names_what_is_sold(self, galley_text: str) -> None:
        with pytest.raises(InputError, match="10, 15, 20"):
            plan_core(context(galley_text, ('thickness = "20 mm"', 'thickness = "21 mm"')))

    def test_small_door_makes_joints_clear_of_the_sink(self, galley_text: str) -> None:
        core = plan_core(context(galley_text, ('carry = "40 kg"', 'carry = "4 kg"')))
        joint = core.joints["leg-a"]
        assert joint.at and joint.axis == "x"
        for x in joint.at:
            assert abs(x - 1.05) > 0.24 + 0.10 - 1e-9

    def test_joint_through_the_sink_is_refused(self, galley_text: str) -> None:
        with pytest.raises(InputError, match="sink"):
            plan_core(context(galley_text, ('back = "balanced"',
                                            'back = "balanced"\njoints = { leg-a = ["1 m"] }')))  # fmt: skip


class TestEndurance:
    def test_weight_is_the_sum_of_the_pieces(self, galley: Working) -> None:
        w = galley.plan.weight
        assert w is not None
        assert w.total_kg.p50 == pytest.approx(sum(p.p50 for p in w.pieces_kg.values()), rel=0.02)
        assert w.compared["Granite slab, 30 mm"] > 5 * w.total_kg.p50

    def test_bare_back_bows_more_than_a_balanced_one(
        self, galley: Working, galley_text: str
    ) -> None:
        bare = galley_text.replace('back = "balanced"', 'back = "bare"')
        now = checks(work_out(read_job(bare), EXAMPLES))
        was = checks(galley)
        assert now["endure.bow.cure"] > 1.5 * was["endure.bow.cure"]

    def test_boat_floats_and_lists(self, galley: Working) -> None:
        names = {c.name for c in galley.plan.checks}
        assert {n for n in names if n.startswith("endure.heel")}

    def test_plate_below_what_is_weighed_is_refused(self, galley_text: str) -> None:
        van = (
            'vehicle = { wheelbase = "3.6 m", track = "1.7 m", front_weighed = "1500 kg", '
            'rear_weighed = "1700 kg", front_plate = "1600 kg", rear_plate = "1600 kg", '
            'total_plate = "3500 kg" }'
        )
        text = galley_text.replace("wood_moisture = 9.0", van)
        with pytest.raises(InputError, match="rear axle"):
            work_out(read_job(text), EXAMPLES)


class TestColour:
    def test_every_cup_of_a_tinted_shade_has_its_doses(self, galley: Working) -> None:
        for shade in galley.plan.shades:
            cups = {q.id for c in galley.plan.coats for q in c.cups if q.shade == shade.id}
            assert {d.cup for d in shade.doses} == cups
            assert all(re.fullmatch("#[0-9a-f]{6}", h) for h in shade.swatches.values())
            assert 0 < shade.load_percent < 6

    def test_dark_finish_takes_up_more_sun_than_a_pale_one(self, galley_text: str) -> None:
        dark = sun_absorptance(context(galley_text))
        pale = sun_absorptance(
            context(galley_text, ('shade = "sea-green"', 'shade = "chalk-white"'),
                    ('shade = "slate"', 'shade = "ivory"'), ('shade = "clear"', 'shade = "warm-sand"'))
        )  # fmt: skip
        assert 0.5 < dark < 0.98
        assert pale < dark - 0.15


class TestHolds:
    def verdicts(self, work: Working) -> dict[tuple[str, str], str]:
        return {(h.step, h.check.name): h.check.passed for h in work.plan.holds}

    def test_level_site_passes_and_damp_air_fails(self, galley: Working, galley_text: str) -> None:
        assert self.verdicts(galley)["mask", "survey.level"] == "no"
        text = galley_text.replace('tilt = "0.4 deg"', 'tilt = "0 deg"')
        text = text.replace('humidity = "62 %"', 'humidity = "96 %"')
        now = self.verdicts(work_out(read_job(text), EXAMPLES))
        assert now["mask", "survey.level"] == "yes"
        assert now["colour-mix-1", "air.margin"] == "no"

    def test_solvent_topcoat_in_a_cabin_is_held_back(self, galley_text: str) -> None:
        text = galley_text + '\n[topcoat]\nmaterial = "topcoat-solvent-matte"\ncoats = 2\n'
        work = work_out(read_job(text), EXAMPLES)
        vapour = [h for h in work.plan.holds if h.key == "vapour"]
        assert vapour and any(h.check.passed == "no" for h in vapour)
        assert all(h.check.caution for h in vapour)
        flame = [s for d in work.plan.days for s in d.steps if s.id == "topcoat-1"]
        assert "no flame" in " ".join(flame[0].cautions)


def test_upright_pour_is_held_back_unless_coated_flat() -> None:
    text = (EXAMPLES / "wet_room.toml").read_text(encoding="utf-8")
    flat = work_out(read_job(text), EXAMPLES)
    assert not [h for h in flat.plan.holds if h.key == "upright"]
    text = text.replace("coldest_store", "coat_flat = false\ncoldest_store")
    hung = [h for h in work_out(read_job(text), EXAMPLES).plan.holds if h.key == "upright"]
    assert {h.check.passed for h in hung} == {"no"}
    assert all("lying flat" in h.check.remedies[0] for h in hung)


def test_drawings_are_well_formed_and_speak(galley: Working) -> None:
    for name, d in drawings(galley).items():
        root = ET.fromstring(d.svg())
        assert root.tag.endswith("svg"), name
        assert d.title
        assert np.isfinite([d.width, d.height]).all()


def test_markdown_carries_cautions_ranges_and_provenance(galley: Working) -> None:
    text = plan_markdown(galley.plan)
    for words in ("Caution", " to ", "sha256", "Hold points", "To buy", "Windows, hours"):
        assert words in text
    assert "nan" not in text.lower().replace("finance", "")
