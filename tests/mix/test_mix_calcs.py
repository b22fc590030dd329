"""The calculations of `mix` through the registry."""

from __future__ import annotations

import json

import pytest

from pourwright.calc import get, run
from pourwright.errors import InputError

NAMES = ["mix.volume", "mix.short", "mix.batch", "mix.sets"]


@pytest.mark.parametrize("name", NAMES)
def test_example_runs_is_json_and_cautions(name):
    calc = get(name)
    result = run(name, calc.example)
    json.dumps(result.model_dump(mode="json"), allow_nan=False)
    json.dumps(calc.schema())
    assert result.sources and result.cautions
    assert run(name, calc.example) == result


def test_volume_reads_coverage_text_or_film():
    by_text = run("mix.volume", {"flat_m2": 2, "coverage": "3 fl oz/ft2"}).value
    by_film = run("mix.volume", {"flat_m2": 2, "film_mm": by_text.film_mm}).value
    assert by_text.mixed_mL == pytest.approx(by_film.mixed_mL, rel=1e-12)
    with pytest.raises(InputError):
        run("mix.volume", {"flat_m2": 2})
    with pytest.raises(InputError):
        run("mix.volume", {"flat_m2": 2, "film_mm": 1, "coverage_mL_m2": 900})
    with pytest.raises(InputError):
        run("mix.volume", {"flat_m2": -2, "film_mm": 1})


def test_batch_sums_to_its_total():
    r = run("mix.batch", get("mix.batch").example)
    v = r.value
    assert sum(c.volume_mL for c in v.cups) == pytest.approx(v.mixed_mL, rel=1e-12)
    assert sum(b.volume_mL for b in v.batches) == pytest.approx(v.mixed_mL, rel=1e-12)
    assert sum(v.shades_mL.values()) == pytest.approx(v.mixed_mL, rel=1e-12)
    assert sum(c.mass_g for c in v.cups) == pytest.approx(v.a_g + v.b_g + v.pigment_g, rel=1e-12)
    want = v.nominal_mL * (1 + v.over_mix_percent / 100) + v.spare_mL
    assert v.mixed_mL == pytest.approx(want, rel=1e-9)
    assert r.range["nominal_mL"].p05 < v.nominal_mL < r.range["nominal_mL"].p95


def test_batch_tells_a_ratio_that_disagrees():
    example = json.loads(json.dumps(get("mix.batch").example))
    example["ratio"]["by_mass"] = [100, 60]
    assert any("disagree" in w for w in run("mix.batch", example).warnings)


def test_short_uses_what_is_mixed():
    base = {"flat_m2": 2.3, "film_mm": 0.95}
    little = run("mix.short", {**base, "mixed_mL": 2000}).value
    much = run("mix.short", {**base, "mixed_mL": 3000}).value
    solved = run("mix.short", base).value
    assert little.short_percent > 50 > much.short_percent
    assert solved.short_percent <= 5.0
    assert solved.over_mix_low_percent <= solved.over_mix_percent <= solved.over_mix_high_percent


def test_sets_refuse_what_cannot_cover():
    with pytest.raises(InputError, match="of B are missing"):
        run(
            "mix.sets",
            {"need_a_mL": 10, "need_b_mL": 10, "sets": [{"name": "a", "a_mL": 5, "b_mL": 0}]},
        )
