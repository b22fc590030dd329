"""Pictures of docs/pattern.md: galley, film and edge, board, variants, intents, other finishes.

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
    FlowClock,
    Pour,
    Surface,
    edge_runs,
    edge_sheet,
    picture_sheet,
    pour,
    read_score,
    rectangle,
    render,
    render_view,
    score_from_intent,
    separation,
    variants,
)
from pourwright.pattern.sheet import on_paper

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


CLOCK = FlowClock.doubling(1.0, 60.0, 510.0)  # a slow resin in a cool saloon
FILM = 0.001  # of the demo galley [m]
BEND = 0.006  # round-over of its free edges [m]


def galley_top() -> Surface:
    """Both legs of the demo galley with sink and turned-down front, poured level [m]."""
    ring = [(0, 0), (2.1, 0), (2.1, 1.81), (1.54, 1.81), (1.54, 0.6), (0, 0.6)]
    sink = [(0.5, 0.12), (0.95, 0.12), (0.95, 0.5), (0.5, 0.5)]
    return Surface(ring, [sink], (2, 3, 4, 5), 0.04, (0.0, 0.0), "galley top", BEND)


def galley() -> None:
    """The whole galley: sheet, its turned-down faces, film thickness map and profile to the edge."""
    score = read_score(SCORES / "galley.toml")
    played = pour(score, galley_top(), FILM, CLOCK)
    shades, ground = optics(), primer("dark-primer")
    keep(picture_sheet(played, shades, ground, Finish(gloss_60=92)), "pattern-galley")
    faces = edge_sheet(played, shades, ground, Finish(gloss_60=92))
    assert faces is not None
    keep(faces, "pattern-edges", 1900)
    film(played)


def film(played: Pour) -> None:
    """Thickness map of a pour, and the mean film towards its free front."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    d = played.domain
    h = np.where(d.wet, played.h * 1e3, np.nan)
    fig, (ax, below) = plt.subplots(
        2, 1, figsize=(9, 9.4), facecolor="#f6f1e7", height_ratios=(2.3, 1)
    )
    span = (d.x0, d.x0 + d.shape[1] * d.cell, d.y0 + d.shape[0] * d.cell, d.y0)
    shown = ax.imshow(h, extent=span, cmap="YlGnBu", vmin=0, vmax=np.nanquantile(h, 0.998))
    ax.set_facecolor("#f6f1e7")
    ax.set_xlabel("x [m]")
    ax.set_ylabel("y [m]")
    ax.set_title("Film at gel [mm]; free front edges, walls at the back")
    fig.colorbar(shown, ax=ax, shrink=0.85)
    gx, gy = d.centres()
    front = d.wet & (gx > 0.2) & (gx < 1.4) & (gy > 0.53)
    rows = np.nonzero(front.any(1))[0]
    back = 600 - gy[rows, 0] * 1e3
    low, mid, high = (
        [float(np.quantile(played.h[r][front[r]], q)) * 1e3 for r in rows]
        for q in (0.05, 0.5, 0.95)
    )
    below.set_facecolor("#f6f1e7")
    below.fill_between(
        back, low, high, color="#8fa79a", alpha=0.5, lw=0, label="5 to 95 % along it"
    )
    below.plot(back, mid, color="#b3652b", lw=2, label="middle")
    below.set_xlim(70, 0)
    below.set_ylim(0)
    below.set_xlabel("distance from the free front edge of the long leg [mm]")
    below.set_ylabel("film [mm]")
    below.set_title("Towards the edge: the film thins where it runs over")
    below.legend(frameon=False, loc="lower left")
    for side in ("top", "right"):
        below.spines[side].set_visible(False)
    fig.tight_layout()
    data = io.BytesIO()
    fig.savefig(data, dpi=110, facecolor="#f6f1e7")
    keep(Image.open(data), "pattern-film", 1000)


def board() -> None:
    """The 250 x 300 mm sample board, and its front and side face joined at the corner."""
    score = read_score(SCORES / "galley.toml")
    shades, ground = optics(), primer("dark-primer")
    surface = rectangle(0.3, 0.25, (1, 2), 0.04, "sample board", BEND)
    played = pour(score, surface, 0.0015, CLOCK, seed=3, cell=0.001)
    image = picture_sheet(played, shades, ground, Finish(gloss_60=92), pixel=0.00025)
    keep(image, "pattern-board", 1300)
    run = edge_runs(played, shades, ground, Finish(gloss_60=92), pixel=0.0003)[0]
    keep(run.image(), "pattern-face", 1800)


def view() -> None:
    """A lit view of a table leaf."""
    score = read_score(SCORES / "galley.toml")
    surface = rectangle(0.9, 0.6, (1, 2), 0.04, "leaf", BEND)
    played = pour(score, surface, 0.0015, CLOCK, seed=4)
    image = render_view(played, optics(), primer("dark-primer"), Finish(gloss_60=95), pixel=0.0007)
    keep(image, "pattern-view", 1400)


def three() -> None:
    """Three variants of the board by seed."""
    score = read_score(SCORES / "galley.toml")
    sheet, _ = variants(
        score,
        rectangle(0.3, 0.25, (), 0.0, "sample board"),
        FILM,
        optics(),
        primer("dark-primer"),
        Finish(gloss_60=92),
        seeds=(2, 3, 8),
        clock=CLOCK,
        cell=0.001,
        pixel=0.0005,
    )
    keep(sheet, "pattern-variants", 1900)


def intents() -> None:
    """Scores written from a few words: calm to lively, fine to bold, soft to crisp."""
    shades, ground = optics(), primer("sand-primer")
    parts = {"warm-sand": 4.0, "ivory": 2.0, "burnt-umber": 1.0, "clear": 2.0}
    asked = (
        ("calm, bold, soft, 5 degrees", {"mood": "calm", "scale": "bold", "separate": "soft",
                                         "direction_deg": 5}),
        ("flowing, medium, clear, 35 degrees", {"direction_deg": 35}),
        ("lively, fine, crisp, -30 degrees", {"mood": "lively", "scale": "fine", "separate": "crisp",
                                              "direction_deg": -30}),
    )  # fmt: skip
    images = []
    for k, (_, words) in enumerate(asked):
        score = score_from_intent(parts, clear="clear", seed=k + 2, **words)  # type: ignore[arg-type]
        played = pour(score, rectangle(0.8, 0.6), 0.002)
        images.append(render(played, shades, ground, Finish(gloss_60=80), pixel=0.001))
    names = [n for n, _ in asked]
    lines = ["800 x 600 mm each; the same shades, 2 mm of film."]
    keep(on_paper(images, names, "From a few words", lines, 0.001), "pattern-intents", 2000)


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
                "grip": 0.6,
                "contact_mm": 14,
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
        data = {
            "name": "strokes",
            "written_for_m2": 0.0432,
            "cups": {"ivory": 0.5, "slate": 0.5},
            "moves": moves,
        }
        played = pour(read_score(data), rectangle(0.24, 0.18), 0.003)
        images.append(render(played, shades, primer("dark-primer"), pixel=0.0005))
        index = separation(played, shades).index
        names.append(f"{strokes} strokes: index {index:.2f}")
    lines = [
        "Blade 70 mm, grip 0.6, contact 14 mm, on 240 x 180 mm; index below 0.22 is called muddy."
    ]
    keep(
        on_paper(images, names, "What too much spreading does", lines, 0.0005),
        "pattern-spreading",
        2000,
    )


ALL = {"board": board, "view": view, "variants": three, "intents": intents, "spreading": spreading,
       "finishes": finishes, "galley": galley}  # fmt: skip

if __name__ == "__main__":
    for chosen in sys.argv[1:] or ALL:
        ALL[chosen]()
