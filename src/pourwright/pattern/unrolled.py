"""The turned-down faces on paper: unrolled, joined at their corners."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourwright.drawing import STYLE
from pourwright.pattern.caption import NOTE, litres
from pourwright.pattern.edges import edge_runs
from pourwright.pattern.faces import WET
from pourwright.pattern.play import Pour
from pourwright.pattern.sheet import letters, on_paper
from pourwright.words import Amount, say

if TYPE_CHECKING:
    from PIL import Image

    from pourwright.colour.finish import Finish
    from pourwright.colour.shade import Shade, Undercoat

SAID = 0.02  # share of the faces never reached from which the caption says so [-]
ROW = 1.0  # length of a row of unrolled faces [m]


def edge_sheet(
    played: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    pixel: float = 0.0005,
) -> Image.Image | None:
    """The turned-down faces unrolled on paper, joined at their corners, in rows of one metre.

    Parameters
    ----------
    played : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics of every shade, by name.
    primer : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Gloss or matte.
    pixel : float [m]
        Pixel along and down the faces.

    Returns
    -------
    PIL image or None [-]
        sRGB; None when the surface has no turned-down face.
    """
    from PIL import Image, ImageDraw

    runs = edge_runs(played, shades, primer, finish, pixel=pixel)
    if not runs:
        return None
    row = min(round(ROW / pixel), max(round(r.length / pixel) for r in runs))
    unit = max(11.0, row / 68)
    font, gap = letters(0.9 * unit), round(2.4 * unit)
    rows: list[tuple[Image.Image, str, list[float]]] = []
    for number, run in enumerate(runs, 1):
        image = run.image()
        marks = [run.length - c if run.mirror else c for c in run.corners]
        for a in range(0, image.width, row):
            b = min(a + row, image.width)
            here = [m / pixel - a for m in marks if a <= m / pixel < b]
            words = say(
                "run {number}, {start:.2f} to {end:.2f} m",
                number=number,
                start=a * pixel,
                end=b * pixel,
            )
            rows.append((image.crop((a, 0, b, image.height)), words, here))
    high = rows[0][0].height
    pile = Image.new("RGB", (row, len(rows) * (high + gap) - round(0.6 * unit)), STYLE.paper)
    draw = ImageDraw.Draw(pile)
    for k, (image, words, marks) in enumerate(rows):
        y = k * (high + gap)
        pile.paste(image, (0, y))
        draw.text((0, y + high + 0.35 * unit), words, STYLE.ink_soft, font)
        for x in marks:
            draw.line((x, y + high, x, y + high + 0.5 * unit), STYLE.copper, 3)
            draw.text((x + 0.4 * unit, y + high + 0.35 * unit), "corner", STYLE.copper, font)
    film = [f.film for f in played.faces if len(f.cells)]
    mean = 1e3 * sum(float(f.mean()) for f in film) / max(len(film), 1)
    stays = sum(played.on_faces.values())
    about = say(
        "Unrolled as one walks along it, upper side at the top edge; {drop:.0f} high. {stays} stays on the "
        "faces, mean film {film:.2f}; how much stays on a round-over is the edge engine's answer.",
        drop=Amount(played.surface.drop * 1e3, "mm"),
        stays=litres(stays),
        film=Amount(mean, "mm"),
    )
    lines = [about, *_bare(played), NOTE]
    title = f"{played.score.name} · {played.surface.name} · turned-down faces"
    return on_paper([pile], [""], title, lines, pixel)


def _bare(played: Pour) -> list[str]:
    """A line for the caption when resin running over by itself leaves part of the faces bare."""
    faces = [f for f in played.faces if len(f.cells)]
    area = sum(f.length for f in faces)
    bare = sum(f.length * float((f.film <= WET).mean()) for f in faces) / area if area else 0.0
    if bare < SAID:
        return []
    return [
        say(
            "Resin running over by itself leaves about {bare:.0f} % of the faces bare: push it over the "
            "edge there, or wet the faces by hand first.",
            bare=100 * bare,
        )
    ]
