"""The example of the page on air: your own limits take the place of the listed ones."""

from __future__ import annotations

import textwrap
from pathlib import Path

import pytest

from pourwright import catalogue
from pourwright.air.limits import limit_of, listed_limits
from pourwright.plan import read_job
from pourwright.plan.context import Context
from pourwright.plan.hold_vapour import limits_said, topcoat_solvents

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "air.md").read_text(encoding="utf-8")


@pytest.fixture
def own(tmp_path: Path) -> Path:
    block = PAGE.partition('products = ["own.toml"]`:')[2].partition("\nThe job's hold")[0]
    path = tmp_path / "own.toml"
    path.write_text(textwrap.dedent(block), encoding="utf-8")
    return path


def test_the_pages_example_replaces_and_adds(own: Path) -> None:
    mine = listed_limits(298.15, catalogue.load([own]))
    listed = listed_limits(298.15)
    ester, thinner = mine["butyl-acetate"], mine["my-thinner"]
    assert ester.twa is not None and listed["butyl-acetate"].twa is not None
    assert ester.twa == pytest.approx(listed["butyl-acetate"].twa / 3)  # 50 for 150 ppm
    assert (ester.agency, ester.year) == ("our safety data sheet", 2026)
    assert "[user]" in ester.source and "[user]" not in listed["butyl-acetate"].source
    assert thinner.twa == pytest.approx(listed["xylene"].twa / 5)  # type: ignore[operator]
    assert thinner.lfl == pytest.approx(listed["xylene"].lfl * 0.8)  # type: ignore[operator]
    assert "my-thinner" not in listed


def test_a_jobs_hold_points_reckon_with_it(own: Path) -> None:
    text = (ROOT / "examples" / "galley.toml").read_text(encoding="utf-8")
    top = '[topcoat]\nmaterial = "{}"\ncoats = 1\n'
    solvent = next(
        m for m in catalogue.of_kind("topcoat") if "butyl-acetate" in m.facts["solvents"]
    )
    text = text.replace("seed = 17", 'seed = 17\nproducts = ["own.toml"]', 1)
    text = text.replace("[core]", top.format(solvent.id) + "\n[core]", 1)
    ctx = Context(read_job(text), own.parent)
    found = {s.limit.id: s.limit for s in topcoat_solvents(ctx)}
    plain = limit_of(catalogue.get("butyl-acetate"))
    ester = found["butyl-acetate"]
    assert ester.twa == pytest.approx(plain.twa / 3)  # type: ignore[operator]
    assert "our safety data sheet 2026" in limits_said(list(found.values()))
