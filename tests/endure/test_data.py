"""The catalogue's boards, films, colours and limits: sources, ranges, sense."""

from __future__ import annotations

import re

import pytest

from pourwright.catalogue import of_kind
from pourwright.endure.materials import layer_of

KINDS = ("core", "comparison", "cured", "suncolour", "limit")


@pytest.mark.parametrize("kind", KINDS)
def test_every_value_has_source_mark_and_range(kind: str) -> None:
    for material in of_kind(kind):
        assert material.summary
        if kind != "suncolour":
            assert material.cautions, material.id
        for prop in material.properties.values():
            assert prop.source.strip() and prop.mark, (material.id, prop.key)
            assert prop.low <= prop.value <= prop.high, (material.id, prop.key)
            if prop.log:
                assert prop.low > 0, (material.id, prop.key)


@pytest.mark.parametrize("kind", ("core", "comparison", "cured"))
def test_values_lie_where_materials_lie(kind: str) -> None:
    bands = {
        "density_kg_m3": (20, 9000), "E_Pa": (1e6, 250e9), "nu": (0.0, 0.49),
        "cte_per_K": (2e-6, 2e-4), "k_W_mK": (0.02, 60), "cp_J_kgK": (300, 2500),
        "emittance": (0.05, 1.0), "service_max_K": (320, 700), "tg_K": (295, 380),
    }  # fmt: skip
    for material in of_kind(kind):
        for key, (low, high) in bands.items():
            if key in material.properties:
                p = material.prop(key)
                assert low <= p.low and p.high <= high, (material.id, key)
        layer_of(material, 0.01)


def test_all_cores_of_the_trade_are_there() -> None:
    assert {m.id for m in of_kind("core")} >= {
        "mdf", "mdf-moisture", "particleboard", "plywood", "osb", "xps", "eps-foam",
        "eps-foam-dense", "pvc-foam", "pet-foam", "cement-board",
    }  # fmt: skip


def test_dark_colours_take_up_more() -> None:
    values = [m["absorptance"] for m in of_kind("suncolour")]
    assert values == sorted(values)


def test_limits_name_agency_and_year() -> None:
    for m in of_kind("limit"):
        assert re.search(r"\w", str(m.facts["twa_agency"])), m.id
        assert int(m.facts["twa_year"]) >= 1980, m.id
