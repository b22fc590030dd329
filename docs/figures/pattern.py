"""Pictures of docs/pattern.md: galley, board, variants, spreading, lit view, other finishes.

Run: python docs/figures/pattern.py [names...]   (minutes; pictures go to docs/pictures/)
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
from PIL import Image

from pourwright.colour import CLEAR, Finish
from pourwright.colour.recipe import demo_shade, primer
from pourwright.pattern import (
    Surface,
    edge_faces,
    picture_sheet,
    pour,
    read_score,
    rectangle,
    render,
    render_view,
    separation,
    variants,
)
from pourwright.pattern.sheet import _sheet

HERE = Path(__file__).resolve().parents[1]
SCORES = HERE.parent / "examples" / "scores"
MOST = 295_000  # bytes per picture


def optics() -> dict:
    """The demo shades under the names the scores use."""
    names = (
        "sea-green", "slate", "copper", "warm-sand", "burnt-umber", "ivory",
        "chalk-white", "grey-green-wash",
    )  # fmt: skip
    found = {n: demo_shade(n) for n in names}
    return {**found, "clear": CLEAR, "umber-vein": found["burnt-umber"]}


def keep(image: Image.Image, name: str, wide: int = 1600) -> None:
    """Write a JPEG below `MOST` bytes."""
    if image.width > wide:
        image = image.resize((wide, round(image.height * wide / image.width)), Image.LANCZOS)
    for quality in (92, 88, 84, 80, 74, 68, 60, 50):
        data = io.BytesIO()
        image.convert("RGB").save(data, "JPEG", quality=quality, optimize=True, progressive=True)
        if data.tell() < MOST:
            break
    (HERE / "pictures" / f"{name}.jpg").write_bytes(data.getvalue())
    print(name, image.size, data.tell())


def galley_top() -> Surface:
    """Both legs of the demo galley with sink, turned-down front, heel of 0.4 degrees [m]."""
    ring = [(0, 0), (2.1, 0), (2.1, 1.81), (1.54, 1.81), (1.54, 0.6), (0, 0.6)]
    sink = [(0.5, 0.12), (0.95, 0.12), (0.95, 0.5), (0.5, 0.5)]
    return Surface(ring, [sink], (3, 4), 0.04, (0.0, 0.007), "galley top")


def galley() -> None:
    """The whole galley: sheet and film thickness map."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    score = read_score(SCORES / "galley.toml")
    played = pour(score, galley_top(), 0.003)
    shades, ground = optics(), primer("dark-primer")
    keep(picture_sheet(played, shades, ground, Finish(gloss_60=92)), "pattern-galley")
    h = np.where(played.domain.wet, played.h * 1e3, np.nan)
    fig, ax = plt.subplots(figsize=(9, 7.2), facecolor="#f6f1e7")
    d = played.domain
    span = (d.x0, d.x0 + d.shape[1] * d.cell, d.y0 + d.shape[0] * d.cell, d.y0)
    shown = ax.imshow(h, extent=span, cmap="YlGnBu", vmin=0)
    ax.set_facecolor("#f6f1e7")
    ax.set_xlabel("x [m]")
    ax.set_ylabel("y [m]")
    ax.set_title("Film at gel [mm]; free front edge, hull heeled 0.4 degrees")
    fig.colorbar(shown, shrink=0.8)
    data = io.BytesIO()
    fig.savefig(data, dpi=110, bbox_inches="tight", facecolor="#f6f1e7")
    keep(Image.open(data), "pattern-film", 1000)


def board() -> None:
    """The 250 x 300 mm sample board, its front face, and a lit view."""
    score = read_score(SCORES / "galley.toml")
    shades, ground = optics(), primer("dark-primer")
    surface = rectangle(0.3, 0.25, (2,), 0.04, "sample board")
    played = pour(score, surface, 0.003, seed=8, cell=0.003)
    image = picture_sheet(played, shades, ground, Finish(gloss_60=92), pixel=0.00025)
    keep(image, "pattern-board", 1300)
    face = edge_faces(played, shades, ground, Finish(gloss_60=92), pixel=0.00025)[0]
    keep(face.image(), "pattern-face", 1200)


def view() -> None:
    """A lit view of a table leaf."""
    score = read_score(SCORES / "galley.toml")
    surface = rectangle(0.9, 0.6, (1, 2), 0.04, "leaf")
    played = pour(score, surface, 0.003, seed=6)
    image = render_view(played, optics(), primer("dark-primer"), Finish(gloss_60=95), pixel=0.0007)
    keep(image, "pattern-view", 1400)


def three() -> None:
    """Three variants of the board by seed."""
    score = read_score(SCORES / "galley.toml")
    sheet, _ = variants(
        score,
        rectangle(0.3, 0.25, (), 0.0, "sample board"),
        0.003,
        optics(),
        primer("dark-primer"),
        Finish(gloss_60=92),
        seeds=(3, 8, 11),
        cell=0.003,
        pixel=0.0005,
    )
    keep(sheet, "pattern-variants", 1900)


def finishes() -> None:
    """The cafe bar and the wet room."""
    for name, ground, gloss, size, film in (
        ("cafe-bar", "sand-primer", 10, (1.2, 0.6), 0.003),
        ("wet-room", "white-primer", 40, (0.9, 0.7), 0.0015),
    ):
        score = read_score(SCORES / f"{name}.toml")
        played = pour(score, rectangle(*size, name=f"part of the {name}"), film)
        image = picture_sheet(
            played, optics(), primer(ground), Finish(gloss_60=gloss), pixel=0.00075
        )
        keep(image, f"pattern-{name}", 1500)


def spreading() -> None:
    """What too much spreading does: none, 8, 20 and 60 strokes."""
    shades = optics()
    images, names = [], []
    for strokes in (0, 8, 20, 60):
        spread = [
            {
                "do": "spread",
                "strokes": strokes,
                "blade_mm": 70,
                "length_mm": 180,
                "grip": 0.85,
                "contact_mm": 20,
                "turn_deg": 70,
            }
        ]
        moves = [
            {"do": "coat", "uses": {"ivory": 0.2, "slate": 0.2}, "folds": 1.0, "band_mm": 12},
            {
                "do": "ribbons",
                "uses": {"ivory": 0.3, "slate": 0.3},
                "width_mm": 30,
                "strand_mm": 2,
                "length_mm": 250,
                "separate": 0.0,
            },
            *(spread if strokes else []),
        ]
        data = {"name": "strokes", "cups": {"ivory": 0.5, "slate": 0.5}, "moves": moves}
        played = pour(read_score(data), rectangle(0.24, 0.18), 0.003)
        images.append(render(played, shades, primer("dark-primer"), pixel=0.0005))
        index = separation(played, shades).index
        names.append(f"{strokes} strokes: index {index:.2f}")
    lines = [
        "Blade 70 mm, grip 0.85, contact 20 mm, on 240 x 180 mm; index below 0.22 is called muddy."
    ]
    keep(
        _sheet(images, names, "What too much spreading does", lines, 0.0005),
        "pattern-spreading",
        2000,
    )


ALL = {"board": board, "view": view, "variants": three, "spreading": spreading,
       "finishes": finishes, "galley": galley}  # fmt: skip

if __name__ == "__main__":
    for chosen in sys.argv[1:] or ALL:
        ALL[chosen]()
