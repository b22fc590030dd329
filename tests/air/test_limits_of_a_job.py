"""Every limit that a plan's checks are held against can be the user's own, and then says so."""

from __future__ import annotations

import math
import textwrap
from pathlib import Path

import pytest

from pourwright import catalogue
from pourwright.calc.check import Check
from pourwright.errors import InputError
from pourwright.plan import read_job, work_out
from pourwright.plan.context import Context
from pourwright.plan.hold_limits import OF_CHECK, figure, limit, marked
from pourwright.plan.hold_vapour import torch_hold

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "catalogue.md").read_text(encoding="utf-8")
EXAMPLES = ROOT / "examples"
TOPCOAT = next(m for m in catalogue.of_kind("topcoat") if "butyl-acetate" in m.facts["solvents"])

OWN = {
    # entry, property, own figure
    ("rule-dew-point", "margin_K"): 4.0,
    ("rule-dew-point", "humidity_percent"): 70.0,
    ("rule-confined-space", "flammable_share"): 0.05,
    ("criterion-window", "coldest_degC"): 12.0,
    ("criterion-window", "hottest_degC"): 26.0,
    ("criterion-torch", "flammable_percent"): 0.5,
    ("criterion-level", "slope_percent"): 0.1,
    ("criterion-flat", "length_over_bow"): 800.0,
    ("criterion-sag", "span_over_sag"): 720.0,
    ("criterion-strength", "strength_over_stress"): 4.0,
    ("criterion-strain", "break_over_strain"): 5.0,
    ("criterion-shake-boat", "least_Hz"): 25.0,
    ("criterion-lift", "each_kg"): 15.0,
    ("criterion-float", "heel_deg"): 0.5,
    ("criterion-float", "waterline_over_trim"): 400.0,
    ("criterion-float", "kept_percent"): 95.0,
    ("criterion-float", "pour_mm"): 0.2,
    ("criterion-board", "most_percent"): 10.0,
    ("criterion-board", "near_percent"): 1.0,
    ("rule-open-flame", "clear_m"): 15.0,
    ("rule-open-flame", "watch_min"): 60.0,
}
# how a check's limit follows from the figure: as it is, or as the one over the other
INVERSE = {"length_over_bow", "span_over_sag", "strength_over_stress", "break_over_strain",
           "waterline_over_trim"}  # fmt: skip


def products(own: dict[tuple[str, str], float]) -> str:
    out = []
    for ident in dict.fromkeys(i for i, _ in own):
        out += ["[[material]]", f'id = "{ident}"', "[material.facts]",
                'agency = "our shop"', "year = 2026", "[material.properties]"]  # fmt: skip
        out += [f"{k} = {x}" for (i, k), x in own.items() if i == ident]
    return "\n".join(out)


def job_text(own: bool, board: str = "plywood") -> str:
    text = (EXAMPLES / "galley.toml").read_text(encoding="utf-8")
    top = f'[topcoat]\nmaterial = "{TOPCOAT.id}"\ncoats = 1\n'
    text = text.replace("[core]", top + "\n[core]", 1)
    text = text.replace('material = "pvc-foam"\nthickness = "20 mm"',
                        f'material = "{board}"\nthickness = "18 mm"')  # fmt: skip
    text = text.replace('carry = "40 kg", ', "")
    return text.replace("seed = 17", 'seed = 17\nproducts = ["own.toml"]', 1) if own else text


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Check], dict[str, Check]]:
    folder = tmp_path_factory.mktemp("job")
    for part in ("parts", "scores"):
        (folder / part).symlink_to(EXAMPLES / part)
    (folder / "own.toml").write_text(products(OWN), encoding="utf-8")
    found = []
    for own in (False, True):
        plan = work_out(read_job(job_text(own)), folder).plan
        checks = [*plan.checks, *(h.check for h in plan.holds)]
        found.append({c.name: c for c in checks})
    return found[0], found[1]


def test_each_check_of_a_job_takes_the_users_limit_and_says_so(plans) -> None:
    usual, own = plans
    shipped = catalogue.default()
    seen = set()
    for name, c in own.items():
        key = ("criterion-shake-boat", "least_Hz") if name == "endure.shake.first" else next(
            (OF_CHECK[n] for n in OF_CHECK if name.startswith(n)), None
        )  # fmt: skip
        if key is None:
            assert c.source == usual[name].source, name
            continue
        seen.add(key)
        ratio = OWN[key] / shipped.get(key[0])[key[1]]
        wanted = usual[name].limit * (1 / ratio if key[1] in INVERSE else ratio)
        if key[1] == "flammable_percent":  # airing is held against the handover
            assert c.limit == usual[name].limit, name
        else:
            assert c.limit == pytest.approx(wanted, rel=1e-9) != usual[name].limit, name
        assert c.source == "our shop 2026, product file own.toml [user]", name
        assert "in place of" in c.criterion and "[user]" not in usual[name].source, name
        # what it stands in for is named: nobody takes the shop's own for the usual one
        assert usual[name].source.partition(" [")[0][:40] in c.criterion, name
    # all of them are met with in this one job but the flame's, which is held in words
    assert seen == {k for k in OWN if k[0] != "rule-open-flame"}


def test_airing_follows_its_limit(plans) -> None:
    usual, own = plans
    name = "air.vapour.purge"
    assert own[name].value > usual[name].value
    assert "0.5 %" in own[name].criterion and "1 %" in usual[name].criterion


def test_words_follow_the_figures(plans) -> None:
    _, own = plans
    assert "at most 25 % of the layer's strength" in own["endure.strength.bending"].criterion
    assert "at most 20 % of" in own["endure.film.strain"].criterion
    assert "no more than 5 % lost" in own["endure.stiffness"].criterion
    assert "0.2 mm across" in own["endure.heel.pour"].criterion
    assert "peak under 5 %" in own["air.vapour.fire"].criterion
    assert "above 25 Hz" in own["endure.shake.first"].criterion


def test_the_flame_keeps_the_users_distance_and_watch(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(products(OWN), encoding="utf-8")
    told = torch_hold(Context(read_job(job_text(True)), tmp_path))
    plain = torch_hold(Context(read_job(job_text(False)), tmp_path))
    assert "15 m" in told and "60 min" in told
    assert "11 m" in plain and "30 min" in plain


@pytest.mark.parametrize(("ident", "key"), sorted(OWN))
def test_what_cannot_be_meant_is_refused(ident: str, key: str, tmp_path: Path) -> None:
    least, most = catalogue.get(ident).facts["within"][key]
    assert least <= catalogue.get(ident)[key] <= most
    job = read_job(job_text(True))
    wide = most - least
    for bad in (least - 0.01 * wide, most + 0.01 * wide, -1.0):
        (tmp_path / "own.toml").write_text(products({(ident, key): bad}), encoding="utf-8")
        with pytest.raises(InputError, match=f"{ident}.{key}"):
            limit(Context(job, tmp_path), ident, key)


def test_no_shop_goes_past_the_law() -> None:
    """29 CFR 1910.146(b), 10 %; 29 CFR 1910.252(a)(2), 35 ft and 30 min: stricter only."""
    fire = catalogue.get("rule-confined-space")
    assert fire.facts["within"]["flammable_share"][1] == fire["flammable_share"] == 0.10
    flame = catalogue.get("rule-open-flame")
    assert flame.facts["within"]["clear_m"][0] == flame["clear_m"]
    assert flame.facts["within"]["watch_min"][0] == flame["watch_min"] == 30


@pytest.mark.parametrize("entry", catalogue.of_kind("criterion"), ids=lambda m: m.id)
def test_a_criterion_is_marked_and_bounded(entry) -> None:
    assert set(entry.facts["within"]) == set(entry.properties)
    for p in entry.properties.values():
        assert p.mark in ("common practice", "from memory", "computed") and p.source
        assert entry.facts["within"][p.key][0] <= p.low <= p.value <= p.high


def test_a_figure_in_the_wrong_entry_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(products({("criterion-sag", "length_over_bow"): 900.0}), encoding="utf-8")
    with pytest.raises(InputError, match="length_over_bow"):
        catalogue.load([path])
    path.write_text('[[material]]\nid = "criterion-flta"\nkind = "criterion"\nname = "x"\n'
                    'summary = "x"\n', encoding="utf-8")  # fmt: skip
    with pytest.raises(InputError, match="criterion-flat"):
        catalogue.load([path])


def test_a_limit_set_in_the_job_itself_is_left_alone() -> None:
    ctx = Context(read_job(job_text(False)), EXAMPLES)
    c = Check.of(
        "endure.lift", "x", 1.0, "kg", 30.0, "at most", "x", "limit set for this job [user]"
    )
    assert marked(ctx, c) is c
    assert figure(ctx, "criterion-flat", "length_over_bow").mark == "common practice"


def test_the_pages_example_is_taken(tmp_path: Path) -> None:
    block = PAGE.partition("## Limits of your own")[2].partition("```toml")[2].partition("```")[0]
    (tmp_path / "own.toml").write_text(textwrap.dedent(block), encoding="utf-8")
    ctx = Context(read_job(job_text(True)), tmp_path)
    assert limit(ctx, "criterion-flat", "length_over_bow") == 1000
    assert limit(ctx, "criterion-window", "coldest_degC") == 12
    assert math.isclose(limit(ctx, "rule-dew-point", "margin_K"), 5.0)
    assert figure(ctx, "rule-dew-point", "margin_K").mark == "user"
