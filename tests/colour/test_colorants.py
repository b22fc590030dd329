"""The library of pastes, recipes, hiding, calibration, reports, ageing."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import run
from pourwright.catalogue import load, of_kind
from pourwright.colour import (
    BLACK_CARD,
    CLEAR,
    CONFIDENCE,
    WHITE_CARD,
    Recipe,
    colorant,
    colorant_ids,
    delta_e_2000,
    demo_recipe,
    demo_shade,
    hiding,
    hiding_thickness,
    primer,
    shade_from_recipe,
    shade_report,
    stack_reflectance,
    to_lab,
)
from pourwright.colour.calibrate import Swatch, calibrate, calibration_toml
from pourwright.colour.contrast import (
    contrast_by_coat,
    contrast_over,
    hiding_dose,
    undercoat_advice,
)
from pourwright.colour.dose import scaled_recipe
from pourwright.colour.yellowing import yellow_depth, yellowed, yellowing_flag
from pourwright.errors import InputError


@pytest.mark.parametrize("ident", colorant_ids())
def test_every_paste_is_usable_and_honest(ident) -> None:
    c = colorant(ident)
    assert c.confidence in CONFIDENCE
    assert c.origin
    assert c.strength[0] < 1 < c.strength[2]
    assert np.all(np.isfinite(c.k + c.s))
    assert c.k.min() >= 0
    assert c.s.min() >= 0
    assert c.k.max() + c.s.max() + c.flake_area > 0
    assert np.all(c.flake_colour + c.flake_through <= 1 + 1e-9)
    if "illustrative" in c.origin:
        assert any("llustrative until calibrated" in n for n in c.notes)
        assert c.confidence == "C"
    if c.origin.startswith("fitted"):
        assert c.confidence in "BC"


def test_no_lead_mercury_or_arsenic_pigment_is_offered() -> None:
    used = {m.facts["column"] for m in of_kind("colorant") if m.facts.get("table") == "drawdowns"}
    toxic = ("lead-white", "chrome-yellow", "minium", "vermillion", "emerald-green")
    assert used
    assert not [u for u in used if u.startswith(toxic)]


def over(ident: str, dose: float, white: float = 0.02) -> np.ndarray:
    r = Recipe("t", "T", {"white-rutile": white, ident: dose})
    return to_lab(stack_reflectance([(shade_from_recipe(r), 2e-3)], BLACK_CARD))


@pytest.mark.parametrize(
    "ident, low, high",
    [
        ("red-oxide-bright", 20, 60),
        ("red-oxide", -10, 60),
        ("ochre", 65, 95),
        ("viridian", 150, 200),
        ("green-phthalo", 150, 210),
        ("ultramarine", 255, 285),
        ("cobalt-blue", 240, 275),
        ("blue-phthalo", 215, 265),
        ("iron-blue", 220, 270),
        ("magenta-quinacridone", 320, 360),
        ("red-organic", 0, 45),
        ("yellow-organic", 80, 110),
    ],
)
def test_hue_family_in_a_tint_with_white(ident, low, high) -> None:
    # the open drawdowns' 10:90 tints lie at 271 (ultramarine), 261 (cobalt), 267 (iron blue) and
    # 191 degrees (viridian): 15 degrees either way for another white and dose; the others are hue
    # families as the trade names them (common practice)
    lab = over(ident, 0.002)
    hue = np.degrees(np.arctan2(lab[2], lab[1])) % 360
    assert low <= hue <= high or low <= hue - 360 <= high


def test_pale_extender_hides_less_than_titanium_white() -> None:
    def cr(ident: str) -> float:
        return contrast_over(shade_from_recipe(Recipe("t", "T", {ident: 0.03})), 1e-3)

    assert cr("barytes-white") < cr("zinc-white") < cr("white-rutile")
    assert cr("white-rutile") > 0.95


def test_thin_black_darkens_clear_resin() -> None:
    # 0.01 % by weight of 0.06 um carbon in 0.5 mm over white leaves Y near 0.06 by two-flux theory;
    # the engine's shorter paths leave more, so 0.05 to 0.15
    c = colorant("black-carbon")
    r = Recipe("t", "T", {"black-carbon": 1e-4 / 0.2}, {"black-carbon": c})
    y = stack_reflectance([(shade_from_recipe(r), 5e-4)], WHITE_CARD)[15]
    assert 0.05 < y < 0.15


def test_demo_shades_look_like_their_names() -> None:
    def lab(ident: str, ground: str) -> np.ndarray:
        r = demo_recipe(ident)
        return to_lab(stack_reflectance([(demo_shade(ident), r.film)], primer(ground)))

    sea, slate, copper = (lab(i, "dark-primer") for i in ("sea-green", "slate", "copper"))
    assert sea[1] < -10
    assert 25 < slate[0] < 50 and np.hypot(*slate[1:]) < 15
    assert copper[1] > 15 and copper[2] > 20
    sand, umber, ivory = (lab(i, "sand-primer") for i in ("warm-sand", "burnt-umber", "ivory"))
    assert ivory[0] > sand[0] > umber[0]
    assert sand[2] > 8
    chalk = lab("chalk-white", "white-primer")
    assert chalk[0] > 88 and np.hypot(*chalk[1:]) < 10


@pytest.mark.parametrize("m", of_kind("shade"), ids=lambda m: m.id)
def test_pours_keep_the_load_limit(m) -> None:
    load_ = sum(m.facts["paste_g_per_kg"].values()) / 1000
    if m.facts["role"] != "primer":
        assert load_ <= 0.06


@settings(deadline=None, max_examples=20)
@given(st.floats(0.1, 3.0))
def test_thicker_hides_more(factor) -> None:
    sh = demo_shade("chalk-white")
    assert contrast_over(sh, 3e-4 * factor) <= contrast_over(sh, 3.3e-4 * factor) + 1e-12


def test_thickness_and_dose_for_hiding_really_hide() -> None:
    r = demo_recipe("chalk-white")
    sh = shade_from_recipe(r)
    x = hiding_thickness(sh)
    assert abs(contrast_over(sh, x) - 0.98) < 2e-3
    f = hiding_dose(r, 4e-4)
    assert abs(contrast_over(shade_from_recipe(scaled_recipe(r, f)), 4e-4) - 0.98) < 2e-3
    assert hiding_thickness(CLEAR) is None


def test_each_coat_adds_to_hiding() -> None:
    chalk = demo_shade("chalk-white")
    steps = contrast_by_coat([(chalk, 3e-4)] * 3)
    assert steps == sorted(steps)
    assert abs(steps[2] - contrast_over(chalk, 9e-4)) < 1e-9
    assert contrast_by_coat([(chalk, 3e-4), (CLEAR, 1e-3)])[1] == pytest.approx(steps[0])


def test_sheet_overrides_the_load_limits_in_the_calculation() -> None:
    ask = {"shade": "copper", "film_mm": 0.6, "batches_kg": [0.2]}
    assert run("colour.shade", ask).value.load_state == "fine"
    strict = run("colour.shade", {**ask, "warn_load_percent": 1, "stop_load_percent": 2})
    assert strict.value.load_state == "stop"
    assert any("above the limit of 2 %" in w for w in strict.warnings)


def test_grain_shows_through_a_wash_and_not_through_a_hiding_coat() -> None:
    assert hiding(demo_shade("grey-green-wash"), 3e-4).grain_seen
    h = hiding(demo_shade("sea-green"), 1.5e-3)
    assert not h.grain_seen
    assert h.contrast > 0.999
    assert h.translucency < 0.5
    assert hiding(CLEAR, 1e-3).translucency > 70


def test_advice_is_to_tint_the_primer_when_it_shows() -> None:
    wash = demo_shade("grey-green-wash")
    assert "Tint the primer" in undercoat_advice(wash, 3e-4, BLACK_CARD)
    assert "does not matter" in undercoat_advice(demo_shade("slate"), 1.5e-3, BLACK_CARD)


@pytest.mark.parametrize(
    "ident, ground", [("copper", "dark-primer"), ("chalk-white", "white-primer")]
)
def test_a_film_that_hides_only_over_its_own_primer_is_not_said_to_hide(ident, ground) -> None:
    r = demo_recipe(ident)
    shade, ground_ = demo_shade(ident), primer(ground)
    seen = [to_lab(stack_reflectance([(shade, r.film)], u)) for u in (WHITE_CARD, BLACK_CARD)]
    turn = float(delta_e_2000(*seen))
    assert turn > 1.0
    advice = undercoat_advice(shade, r.film, ground_)
    assert "does not matter" not in advice
    assert "keep this primer" in advice
    assert f"{turn:.1f} dE00" in advice


def swatches(truth, spectra: bool) -> list[Swatch]:
    out = []
    for dose, white, film in ((0.01, 0.0, 1e-3), (0.004, 0.02, 1e-3), (0.03, 0.0, 5e-4)):
        doses = {"ultramarine": dose, "white-rutile": white}
        r = Recipe(
            "t", "T", doses, {"ultramarine": truth, "white-rutile": colorant("white-rutile")}
        )
        for card in (WHITE_CARD, BLACK_CARD):
            seen = stack_reflectance([(shade_from_recipe(r), film)], card)
            given_ = {"reflectance": seen} if spectra else {"lab": to_lab(seen)}
            out.append(Swatch(doses, film, card, **given_))
    return out


@pytest.mark.parametrize("spectra, letter", [(True, "A"), (False, "B")])
def test_calibration_finds_the_strength(spectra, letter, tmp_path) -> None:
    truth = colorant("ultramarine").scaled(1.6)
    c = calibrate("ultramarine", swatches(truth, spectra))
    assert abs(c.factor - 1.6) < 0.08
    assert max(c.de00) < 0.5
    assert c.held_out < 1.0
    assert c.colorant.confidence == letter
    # a mix that was not among the swatches
    doses = {"white-rutile": 0.03, "ultramarine": 0.008}
    want, got = (
        to_lab(
            stack_reflectance(
                [(shade_from_recipe(Recipe("t", "T", doses, {**whites, "ultramarine": u})), 8e-4)],
                BLACK_CARD,
            )
        )
        for u, whites in (
            (truth, {"white-rutile": colorant("white-rutile")}),
            (c.colorant, {"white-rutile": colorant("white-rutile")}),
        )
    )
    assert float(delta_e_2000(got, want)) < 1.0
    path = tmp_path / "own.toml"
    path.write_text(calibration_toml(c))
    own = colorant("my-paste", load([path]))
    assert np.allclose(own.k, c.colorant.k, rtol=1e-4)
    assert own.confidence == letter


def test_calibration_refuses_in_words() -> None:
    s = swatches(colorant("ultramarine"), True)
    with pytest.raises(InputError, match="1 to 60"):
        calibrate("ultramarine", [])
    with pytest.raises(InputError, match="every swatch"):
        calibrate("viridian", s)
    with pytest.raises(InputError, match="all have"):
        calibrate("ultramarine", [*s, *swatches(colorant("ultramarine"), False)])


def test_report_has_all_a_finisher_needs() -> None:
    r = shade_report(demo_recipe("copper"), undercoat=primer("dark-primer"), batches=[0.2, 0.7])
    assert [p.over for p in r.panels] == ["white card", "black card", "Dark primer"]
    assert len(r.sheets) == 2
    assert r.flake_cover > 0.9
    assert r.flop["L15"] > r.flop["L45"] > r.flop["L110"]
    assert r.confidence == "C"
    assert r.ranges["de00"].p05 < r.ranges["de00"].p95
    assert any("metal dust burns" in c for c in r.cautions)
    plain = shade_report(demo_recipe("slate"))
    assert plain.flop == {}
    assert len(plain.panels) == 2


# b* that ageing adds over a white ground of 0.9 under clear film by Williams-Clapper, n 1.55, for
# 45/0 (own quadrature): amount -> db* at 30 and at 50 nm; 0.3 for the geometry read here
@pytest.mark.parametrize(
    "amount, at_30, at_50", [(0.01, 2.0, 2.3), (0.05, 8.3, 9.5), (0.2, 23, 25.2)]
)
def test_yellowing_slider(amount, at_30, at_50) -> None:
    from pourwright.colour import Undercoat

    ground = Undercoat("white", np.full(31, 0.9))
    for length, want in ((30.0, at_30), (50.0, at_50)):
        aged = yellowed(CLEAR, 1e-3, amount, length)
        b = [
            to_lab(stack_reflectance([(c, 1e-3)], ground, geometry="45/0"))[2]
            for c in (CLEAR, aged)
        ]
        assert abs(b[1] - b[0] - want) < 0.3
    with pytest.raises(InputError, match="slider"):
        yellow_depth(0.9)


def test_yellowing_speaks_without_numbers() -> None:
    pale = yellowing_flag("window", "unknown", 85, True)
    assert "yellow" in pale
    assert not any(ch.isdigit() for ch in pale)
    assert "Dark" in yellowing_flag("indoor", "aliphatic", 20, False)


def test_calculations_agree_with_the_functions() -> None:
    film = run("colour.film", {"shade": "slate", "film_mm": 1.5, "primer": "dark-primer"})
    want = to_lab(stack_reflectance([(demo_shade("slate"), 1.5e-3)], primer("dark-primer")))
    assert np.allclose(film.value.lab, want)
    assert film.range["de00"].p95 > 1
    aged = run("colour.film", {"shade": "ivory", "yellow_what_if": 0.1})
    assert any("What-if" in w for w in aged.warnings)
    text = run("colour.film", {"shade": "slate", "film_mm": "1/16 in"})
    assert text.value.lab[0] > 0


@pytest.mark.parametrize(
    "name, bad",
    [
        ("colour.film", {}),
        ("colour.film", {"shade": "slate", "doses_g_kg": {"ochre": 3}}),
        ("colour.film", {"shade": "no-such"}),
        ("colour.film", {"doses_g_kg": {}}),
        ("colour.film", {"doses_g_kg": {"ochre": -3}}),
        ("colour.film", {"doses_g_kg": {"ochre": 3}, "primer": "mud"}),
        ("colour.hiding", {"shade": "slate", "film_mm": 0}),
        ("colour.difference", {"lab_1": [50, 0], "lab_2": [50, 0, 0]}),
        ("colour.difference", {"lab_1": [500, 0, 0], "lab_2": [50, 0, 0]}),
        ("colour.match", {"pastes": ["ochre"]}),
        ("colour.shade", {"shade": "slate", "batches_kg": [-1]}),
        ("colour.calibrate", {"start": "ochre", "swatches": []}),
    ],
)
def test_calculations_refuse_in_words(name, bad) -> None:
    with pytest.raises(InputError) as err:
        run(name, bad)
    assert "\n" not in err.value.line()


def test_importing_colour_loads_no_heavy_library() -> None:
    code = (
        "import sys, pourwright.colour; heavy = {'scipy', 'numba', 'PIL', 'pydantic', 'colour',"
        " 'miepython', 'iadpython', 'coloraide', 'matplotlib'} & set(sys.modules);"
        " sys.exit(','.join(sorted(heavy)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
