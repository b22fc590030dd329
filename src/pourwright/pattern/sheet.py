"""Pictures to hand over: scale bar, caption of what was assumed, variants side by side."""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pourwright.drawing import STYLE
from pourwright.errors import InputError
from pourwright.pattern.caption import NOTE, caption
from pourwright.pattern.clock import FlowClock
from pourwright.pattern.domain import Surface
from pourwright.pattern.picture import View, render, whole
from pourwright.pattern.play import Pour, pour
from pourwright.pattern.progress import Progress, part_of
from pourwright.pattern.score import Score
from pourwright.words import say

if TYPE_CHECKING:
    from PIL import Image, ImageFont

    from pourwright.colour.finish import Finish
    from pourwright.colour.shade import Shade, Undercoat


def letters(size: float) -> ImageFont.FreeTypeFont:
    """A plain typeface.

    Parameters
    ----------
    size : float [px]
        Its height.

    Returns
    -------
    font [px]
        That draws text.
    """
    from PIL import ImageFont

    return ImageFont.load_default(size)  # type: ignore[return-value]


def _wrap(text: str, font: ImageFont.FreeTypeFont, width: float) -> list[str]:
    lines, line = [], ""
    for word in text.split():
        trial = f"{line} {word}".strip()
        if line and font.getlength(trial) > width:
            lines.append(line)
            line = word
        else:
            line = trial
    return [*lines, line] if line else lines


def scale_bar_length(width: float) -> float:
    """A round length for a scale bar.

    Parameters
    ----------
    width : float [m]
        Breadth of what is shown.

    Returns
    -------
    float [m]
        1, 2 or 5 times a power of ten, at most a quarter of the breadth.
    """
    aim = 0.25 * width
    power = 10 ** math.floor(math.log10(aim))
    return max(k * power for k in (1, 2, 5) if k * power <= aim * (1 + 1e-9))


def _bar_words(metres: float) -> str:
    return f"{metres:g} m" if metres >= 1 else f"{metres * 1000:g} mm"


def picture_sheet(
    played: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    view: View | None = None,
    pixel: float = 0.001,
    progress: Progress | None = None,
) -> Image.Image:
    """The straight-down picture on paper, with scale bar and caption.

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
    view : View [m]
        Window; default the whole outline.
    pixel : float [m]
        Pixel of the default window.
    progress : callable [-]
        Called with the share done; return True to stop.

    Returns
    -------
    PIL image [-]
        sRGB; the picture itself at one pixel per `pixel`.

    Raises
    ------
    InputError
        As `render`.
    """
    window = view or whole(played, pixel)
    image = render(played, shades, primer, finish, view=window, progress=progress)
    title = f"{played.score.name} · {played.surface.name} · seed {played.seed}"
    return on_paper([image], [""], title, caption(played, shades), window.pixel)


def on_paper(
    images: Sequence[Image.Image],
    names: Sequence[str],
    title: str,
    lines: Sequence[str],
    pixel: float,
) -> Image.Image:
    """Pictures side by side on paper with a title, a scale bar and lines of text.

    Parameters
    ----------
    images : sequence of PIL images [px]
        The pictures, all at the same pixel.
    names : sequence of str [-]
        Written under each; may be empty.
    title : str [-]
        Written above.
    lines : sequence of str [-]
        Written below, wrapped.
    pixel : float [m]
        True size of a pixel.

    Returns
    -------
    PIL image [px]
        sRGB.
    """
    from PIL import Image, ImageDraw

    inner = sum(i.width for i in images)
    unit = max(11.0, min(inner, 2600) / 68)
    gap, margin = round(1.2 * unit), round(2.2 * unit)
    wide = max(inner + gap * (len(images) - 1), round(26 * unit))
    big, text, small = letters(1.5 * unit), letters(0.95 * unit), letters(0.82 * unit)
    wrapped = [w for line in lines for w in _wrap(line, small, wide)]
    high = max(i.height for i in images)
    under = round(1.6 * unit) if any(names) else 0
    top = round(3.4 * unit)
    foot = round(3.4 * unit) + round(1.25 * unit) * len(wrapped)
    page = Image.new("RGB", (wide + 2 * margin, top + high + under + foot + margin), STYLE.paper)
    draw = ImageDraw.Draw(page)
    draw.text((margin, round(1.1 * unit)), title, STYLE.ink, big)
    x = margin
    for image, name in zip(images, names):
        page.paste(image, (x, top))
        if name:
            draw.text((x, top + high + 0.3 * unit), name, STYLE.ink_soft, text)
        x += image.width + gap
    y = top + high + under + round(1.1 * unit)
    bar = scale_bar_length(images[0].width * pixel)
    length = round(bar / pixel)
    thick = max(3, round(0.28 * unit))
    half = length // 2
    draw.rectangle((margin, y, margin + half, y + thick), fill=STYLE.ink)
    draw.rectangle((margin + half, y, margin + length, y + thick), outline=STYLE.ink)
    draw.text((margin + length + 0.6 * unit, y - 0.45 * unit), _bar_words(bar), STYLE.ink, text)
    y += round(1.9 * unit)
    for line in wrapped:
        draw.text((margin, y), line, STYLE.ink_soft, small)
        y += round(1.25 * unit)
    return page


def variants(
    score: Score,
    surface: Surface,
    film: float,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    seeds: Sequence[int] = (1, 2, 3),
    clock: FlowClock | None = None,
    cell: float = 0.004,
    pixel: float = 0.001,
    progress: Progress | None = None,
) -> tuple[Image.Image, list[Pour]]:
    """The same score with several seeds, side by side on one sheet.

    Parameters
    ----------
    score : Score [-]
        The score.
    surface : Surface [m]
        What is poured.
    film : float [m]
        Mean wet film.
    shades : mapping of str to Shade [-]
        Optics of every shade, by name.
    primer : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Gloss or matte.
    seeds : sequence of int [-]
        One picture each, 1 to 8.
    clock : FlowClock [min, 1/Pa]
        Flow left over mix age.
    cell, pixel : float [m]
        Film cell and picture pixel.
    progress : callable [-]
        Called with the share done; return True to stop.

    Returns
    -------
    (PIL image [-], list of Pour [-])
        The sheet and the pours in order.

    Raises
    ------
    InputError
        No or too many seeds, or as `pour` and `render`.
    """
    if not 1 <= len(seeds) <= 8:
        raise InputError("seeds", len(seeds), "1 to 8 variants fit a sheet", "Give 2 to 4 seeds.")
    pours, images = [], []
    count = 2 * len(seeds)
    for n, seed in enumerate(seeds):
        part = part_of(progress, 2 * n / count, (2 * n + 1) / count)
        second = part_of(progress, (2 * n + 1) / count, (2 * n + 2) / count)
        played = pour(score, surface, film, clock, seed=seed, cell=cell, progress=part)
        pours.append(played)
        images.append(render(played, shades, primer, finish, pixel=pixel, progress=second))
    lines = [pours[0].assumed[0] + "; " + pours[0].assumed[1] + ".", NOTE]
    names = [f"seed {s}" for s in seeds]
    return on_paper(images, names, f"{score.name} · variants", lines, pixel), pours


def texture(
    played: Pour,
    shades: Mapping[str, Shade],
    primer: Undercoat,
    finish: Finish | None = None,
    *,
    longest: int = 2048,
) -> Image.Image:
    """The picture of the top for a 3-D viewer, without paper beside it.

    Parameters
    ----------
    played : Pour [-]
        A played score.
    shades : mapping of str to Shade [-]
        Optics of every shade, by name.
    primer : Undercoat [-]
        What lies below.
    finish : Finish [-]
        Gloss or matte; the viewer adds the mirror reflection.
    longest : int [-]
        Pixels of the longer side, 64 to 8192.

    Returns
    -------
    PIL image [-]
        sRGB; it spans the outline's bounding box, x to the right and y down the plan.

    Raises
    ------
    InputError
        A size out of range or as `render`.
    """
    from PIL import Image

    from pourwright.pattern.picture import reflect_xyz, to_screen

    if not 64 <= longest <= 8192:
        raise InputError("longest", longest, "64 to 8192 pixels", "Use 2048.")
    box = whole(played, 1.0)
    pixel = max(box.width, box.height) / longest
    return Image.fromarray(to_screen(reflect_xyz(played, shades, primer, finish, pixel=pixel)))


def save_png(image: Image.Image, path: str | Path, pixel: float | None = None) -> Path:
    """Write a PNG whole or not at all.

    Parameters
    ----------
    image : PIL image [-]
        What to write.
    path : str or Path [-]
        Where; its folder must exist.
    pixel : float [m]
        True size of a pixel; written as resolution so that it prints at full size.

    Returns
    -------
    Path [-]
        Where it lies now.

    Raises
    ------
    InputError
        The folder is missing or cannot be written to.
    """
    path = Path(path)
    part = path.with_name(path.name + ".part")
    dots = None if pixel is None else (0.0254 / pixel, 0.0254 / pixel)
    try:
        # run lengths after the row filter: half the time of searching for repeats, and no larger
        how = {"compress_level": 1, "compress_type": zlib.Z_RLE}
        image.save(part, "PNG", **how, **({"dpi": dots} if dots else {}))
        part.replace(path)
    except OSError as err:
        part.unlink(missing_ok=True)
        raise InputError(
            "picture",
            path.name,
            say("it cannot be written ({why})", why=str(err.strerror)),
            "Check the folder.",
        ) from None
    return path
