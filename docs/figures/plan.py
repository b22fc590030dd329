"""Draws the day ribbons of the example jobs into docs/pictures/."""

from __future__ import annotations

from pathlib import Path

from pourwright.plan import load_job, work_out
from pourwright.plan.ribbon import coat_ribbon

ROOT = Path(__file__).resolve().parents[2]
OUT = ROOT / "docs" / "pictures"


def main() -> None:
    for job, coat, name in (
        ("galley", 0, "ribbon-colour.svg"),
        ("cafe_bar", 0, "ribbon-cafe-bar.svg"),
    ):
        work = work_out(load_job(ROOT / "examples" / f"{job}.toml"), ROOT / "examples")
        drawn = coat_ribbon(work.ctx, work.timed, work.timed.coats[coat])
        (OUT / name).write_text(drawn.svg(), encoding="utf-8")
        print(f"docs/pictures/{name}")


if __name__ == "__main__":
    main()
