"""Draws the example jobs' ribbons and the galley's picture into docs/pictures/."""

from __future__ import annotations

from pathlib import Path

from pourwright.plan import load_job, picture, work_out
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
        if job == "galley":
            scene = picture.scenes(work.ctx)[0]
            poured = picture.draw(work.ctx, work.timed, scene, pixel=0.0014)
            (OUT / "galley.jpg").write_bytes(picture.as_jpeg(poured.sheet, 1500))
            view = picture.lit_view(work.ctx, poured)
            (OUT / "galley-view.jpg").write_bytes(picture.as_jpeg(view, 1400))
            print("docs/pictures/galley.jpg, galley-view.jpg")


if __name__ == "__main__":
    main()
