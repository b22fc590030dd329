"""The calculations of this room through their registry."""

from __future__ import annotations

from typing import Any

import pytest

from pourwright import calc
from pourwright.errors import InputError

FEW = {"sample_count": 60}


def run(name: str, **data: Any):  # type: ignore[no-untyped-def]
    return calc.run(name, {**FEW, **data})


def test_isothermal_without_vitrification_is_the_closed_form() -> None:
    from pourwright.catalogue import Catalogue
    from pourwright.cure import Resin
    from pourwright.cure.kinetics import arrhenius, time_horie

    r = Resin.from_material(Catalogue().get("resin-coating-1to1"), calc.Draws(1, 60))
    k1, k2 = (arrhenius(k, r.e2, 293.15) for k in (r.k1, r.k2))
    exact = time_horie(r.gel, k1, k2) / 3600.0
    got = run("cure.isothermal", film_degC=20, vitrification=False)
    import numpy as np

    assert got.value.gel_h == pytest.approx(float(np.median(exact)), rel=1e-3)
    assert got.range["gel_h"].p95 == pytest.approx(float(np.quantile(exact, 0.95)), rel=2e-3)


def test_a_data_sheet_narrows_every_answer() -> None:
    sheet = [
        {"kind": "cup_gel", "time": "45 min", "mass_g": 100, "at_degC": 25},
        {"kind": "cup_gel", "time": "100 min", "mass_g": 100, "at_degC": 15},
        {"kind": "tack_free", "time_h": 5.5, "at_degC": 25},
    ]
    answers = [run("cure.isothermal", sheet=lines) for lines in ([], sheet[:1], sheet)]
    ratio = [r.range["gel_h"].p95 / r.range["gel_h"].p05 for r in answers]
    assert ratio[2] < 0.9 * ratio[1] and ratio[2] < 0.9 * ratio[0]


def test_larger_warmer_cups_must_be_poured_sooner() -> None:
    small = run("cure.cup", mass_g=200, air_degC=18)
    large = run("cure.cup", mass_g=1500, air_degC=18)
    warm = run("cure.cup", mass_g=200, air_degC=28)
    within = [r.value.pour_within_surely_min for r in (small, large, warm)]
    assert within[1] < within[0] and within[2] < within[0]
    assert any("runs away" in w for w in large.warnings)
    assert any("Exotherm" in c for c in large.cautions)
    assert small.value.largest_safe_g < 200


def test_foam_halves_the_depth_that_stone_allows() -> None:
    foam = run("cure.layer", thickness_mm=3, air_degC=22)
    board = run(
        "cure.layer", thickness_mm=3, air_degC=22, under=[{"core": "mdf", "thickness_mm": 18}]
    )
    assert foam.value.thickest_mm < board.value.thickest_mm
    assert foam.value.peak_degC > board.value.peak_degC


def test_windows_read_text_and_veins() -> None:
    out = run(
        "cure.windows", film="0.95 mm", air="68 degF",
        veins=[{"width": "3 mm", "area_mm2": 1.5, "target": "1/4 in"}],
    )  # fmt: skip
    keys = [w.key for w in out.value.windows]
    assert "vein-6.35mm" in keys and keys[0] == "level"
    assert all(w.criterion for w in out.value.windows)


def test_flow_left_with_a_torch_pass() -> None:
    out = run("cure.flow_left", torch_min=20, torch_rise_K=25)
    assert out.value.torch_extra_per_Pa > 0
    assert out.value.flow_left_per_Pa == sorted(out.value.flow_left_per_Pa, reverse=True)
    assert any("flame" in c for c in out.cautions)


def test_board_on_a_warm_site_settles_sooner() -> None:
    out = run("cure.match_board", board_degC=17, air_degC=29, board_wait_min=20)
    assert out.value.wait_settled_min < 20
    assert out.range["wait_min"].p05 <= out.value.wait_min <= out.range["wait_min"].p95


def test_ratio_reads_the_cup() -> None:
    plain = run("cure.ratio", step_mL=20, amount_a_mL=150, amount_b_mL=150)
    tacky = run(
        "cure.ratio", step_mL=20, amount_a_mL=150, amount_b_mL=150, seen="tacky", seen_after_h=48
    )
    assert tacky.value.after_check_share > plain.value.soft_spot_share
    wrong = run("cure.ratio", amount_a_mL=300, amount_b_mL=150)
    assert any("mixing ratio" in w for w in wrong.warnings)


def test_fit_asks_for_a_second_temperature() -> None:
    out = run(
        "cure.fit", sheet=[{"kind": "cup_gel", "time_h": 0.75, "mass_g": 100, "at_degC": 25}],
        target="film_gel", target_degC=12,
    )  # fmt: skip
    assert any("one temperature" in w for w in out.warnings)
    assert "15 degC" in out.value.ask_next[0].figure
    assert out.value.ask_next[0].narrows_to_share < 0.8


def test_equivalent_weights_are_a_line() -> None:
    out = run(
        "cure.fit",
        sheet=[{"kind": "heat", "eew_g_mol": 190, "ahew_g_mol": 100},
               {"kind": "film_gel", "time_h": 4}],
    )  # fmt: skip
    assert out.value.heat_J_g == pytest.approx(107e3 / 290, rel=0.08)


def test_live_readings_of_a_warmer_room_bring_the_day_forward() -> None:
    before = run("cure.windows", air_degC=18)
    after = run("cure.live", air_degC=18, measured_min=[0, 60, 120], measured_degC=[24, 25, 26])

    def opens(result: Any) -> float:
        return next(w.opens_h for w in result.value.windows if w.key == "recoat")

    assert opens(after) < opens(before)


def test_air_outside_the_model_warns_with_the_range() -> None:
    assert any("5 to 40 degC" in w for w in run("cure.cup", air_degC=2).warnings)
    assert any("5 to 40 degC" in w for w in run("cure.windows", air_degC=45).warnings)


@pytest.mark.parametrize(
    ("name", "data", "field"),
    [
        ("cure.cup", {"mass_g": -5}, "mass_g"),
        ("cure.cup", {"mass_g": 0}, "mass_g"),
        ("cure.cup", {"resin": "mdf"}, "resin"),
        ("cure.windows", {"film_mm": -1}, "film_mm"),
        ("cure.windows", {"hourly_degC": [18, 19], "repeat_day": True}, "hourly_degC"),
        ("cure.windows", {"hourly_degC": [18, 190]}, "hourly_degC"),
        ("cure.windows", {"repeat_day": True}, "repeat_day"),
        ("cure.windows", {"veins": [{"width_mm": 8, "area_mm2": 2, "target_mm": 4}]}, "veins.target"),
        ("cure.ratio", {"amount_b_mL": 0}, "amount_b_mL"),
        ("cure.ratio", {"amount_a_mL": 10, "stuck_a_mL": 10}, "measuring.stuck_a"),
        ("cure.isothermal", {"balance_ratio": 0}, "balance_ratio"),
        ("cure.fit", {"sheet": []}, "sheet"),
        ("cure.fit", {"sheet": [{"kind": "cup_gel"}]}, "sheet.cup_gel"),
        ("cure.fit", {"sheet": [{"kind": "cup_gel", "time_h": 2},
                                {"kind": "full_cure", "time_h": 1}]}, "gel in a cup"),
        ("cure.match_board", {"board_wait_min": 1400, "board_degC": 30}, "board_wait_s"),
        ("cure.live", {"measured_min": [0, 1], "measured_degC": [20]}, "temps_K"),
        ("cure.live", {"looks": [{"after_min": 5, "kind": "stick"}]}, "reading.value"),
    ],
)  # fmt: skip
def test_bad_input_is_one_clear_line(name: str, data: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as err:
        run(name, **data)
    assert field in err.value.field and "\n" not in err.value.line()
    assert err.value.limit and err.value.remedy
