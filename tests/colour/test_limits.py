"""Paste load limits: 3 and 6 per cent, or the pastes' own data sheets, in calculations and jobs."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from pourwright.calc import run
from pourwright.catalogue import load
from pourwright.colour import Recipe, colorant
from pourwright.errors import InputError


def test_limits_of_pastes_weigh_by_their_share() -> None:
    white, black = colorant("white-rutile"), colorant("black-carbon")
    plain = Recipe("t", "T", {"white-rutile": 0.02, "black-carbon": 0.02})
    assert plain.limits == pytest.approx({"warn": 0.03, "stop": 0.06})
    pastes = {"white-rutile": replace(white, load_limit=0.12), "black-carbon": black}
    mixed = Recipe("t", "T", {"white-rutile": 0.06, "black-carbon": 0.03}, pastes)
    # 0.06 of 0.12 and 0.03 of 0.06: each brings half of what it may, so this load is the limit
    assert mixed.limits["stop"] == pytest.approx(mixed.load)
    assert Recipe("t", "T", {}).limits["stop"] == 0.06
    with pytest.raises(InputError, match="data sheet"):
        replace(white, load_limit=0.0)


OWN = """
[[material]]
like = "white-rutile"
id = "own-white"
name = "Own white"
[material.properties]
load_limit_share = {value = 0.10, low = 0.10, high = 0.10, mark = "user", source = "its data sheet"}
"""


def test_a_paste_of_ones_own_brings_its_sheets_limit_into_the_calculations() -> None:
    ask = {"doses_g_kg": {"own-white": 80.0}, "film_mm": 1.0, "products": OWN}
    for name in ("colour.film", "colour.hiding"):
        assert run(name, ask).warnings == []
    assert run("colour.shade", ask).value.load_state == "fine"
    over = run("colour.shade", {**ask, "doses_g_kg": {"own-white": 110.0}})
    assert over.value.load_state == "stop"
    assert "limit of 10 %" in over.value.load_note
    strict = run("colour.film", {**ask, "stop_load_percent": 7})
    assert any("limit of 7 %" in w for w in strict.warnings)
    generic = {"doses_g_kg": {"white-rutile": 80.0}, "film_mm": 1.0}
    assert any("limit of 6 %" in w for w in run("colour.film", generic).warnings)
    with pytest.raises(InputError, match="not valid TOML"):
        run("colour.film", {**ask, "products": "[[material"})


def test_above_the_hard_stop_nothing_is_weighed_out() -> None:
    ask = {"doses_g_kg": {"white-rutile": 50.0, "ochre": 45.0}, "batches_kg": [1.0]}
    over = run("colour.shade", ask)
    assert over.value.load_state == "stop"
    assert over.value.sheets == []
    assert any("above the limit of 6 %" in w for w in over.warnings)
    allowed = run("colour.shade", {**ask, "stop_load_percent": 12, "warn_load_percent": 12})
    assert allowed.value.sheets[0].load_percent == pytest.approx(9.5)
    assert allowed.warnings == []


def test_a_job_refuses_a_shade_above_the_hard_stop_unless_its_sheets_allow_it(tmp_path) -> None:
    from pourwright.plan.colours import recipes_of

    shade = """
[[material]]
like = "warm-sand"
id = "thick-sand"
name = "Thick sand"
[material.facts]
paste_g_per_kg = {white-rutile = 50.0, ochre = 45.0}
"""
    sheets = "".join(
        f'[[material]]\nid = "{name}"\n[material.properties]\n'
        'load_limit_share = {value = 0.12, low = 0.12, high = 0.12, mark = "user"}\n'
        for name in ("white-rutile", "ochre")
    )
    path = tmp_path / "own.toml"

    def recipes(text: str) -> dict[str, Recipe]:
        path.write_text(text)
        own = load([path])
        part = SimpleNamespace(shade="thick-sand")
        job = SimpleNamespace(colour=SimpleNamespace(shades=[part]))
        return recipes_of(
            SimpleNamespace(job=job, catalogue=own, material=lambda i, kind, _: own.get(i, kind))
        )

    # each paste alone would be within 6 %: it is their sum that the cure meets
    with pytest.raises(InputError, match=r"9\.5 % paste.*at most 6 %"):
        recipes(shade)
    assert recipes(shade + sheets)["thick-sand"].limits["stop"] == pytest.approx(0.12)
