"""Draws docs/pictures/survey-*.svg from the demo surfaces."""

from __future__ import annotations

import tomllib
from pathlib import Path

from pourwright.survey import SurfaceSpec, build_survey
from pourwright.survey.plan_view import draw_plan

ROOT = Path(__file__).parents[2]


def main() -> None:
    """Write the plan views."""
    for name, title in (("galley", "Galley: surfaces"), ("cafe_bar", "Cafe bar: surfaces")):
        raw = tomllib.loads((ROOT / f"examples/parts/{name}_surfaces.toml").read_text())
        survey = build_survey([SurfaceSpec.model_validate(s) for s in raw["surfaces"]])
        out = ROOT / f"docs/pictures/survey-{name.replace('_', '-')}.svg"
        out.write_text(draw_plan(survey, title=title).svg(), encoding="utf-8")
        print(name, {k: round(v, 4) for k, v in survey.totals().items()})


if __name__ == "__main__":
    main()
