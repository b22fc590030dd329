"""What every paper carries: job, revision, mark, date, ranges, cautions; and its pictures."""

from __future__ import annotations

import base64
import io
import re
from datetime import date
from functools import lru_cache
from typing import Any
from xml.sax.saxutils import escape, unescape

from pourwright.drawing import Drawing
from pourwright.errors import InputError
from pourwright.papers.plain import plain
from pourwright.papers.wording import Wording
from pourwright.words import Own

MARK = 10
"""Characters of the job's hash that are printed as its mark."""
LARGEST_PICTURE = 40_000_000  # bytes
PRINTED_PX = 2200
"""Longest side of a picture on paper [px]: 300 dots an inch across a page."""
_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_WORDS = re.compile(r"(<(text|title|desc)\b[^>]*>)([^<]*)(</\2>)")


def ranges(w: Wording) -> str:
    """What the ranges mean and who decides, as it stands on every page of `w` [-]."""
    return w.say(
        "Ranges run from the 5 to the 95 % point. Over every number here decide the product's data "
        "sheet, local codes and licensed practice."
    )


def frame(
    w: Wording,
    kind: str,
    title: str,
    printed: date,
    sub: str = "",
    cautions: tuple[str, ...] = (),
) -> dict[str, Any]:
    """The common part of a paper's data.

    Parameters
    ----------
    w : Wording [-]
        The planned job and its reader.
    kind, title : str [-]
        Template and title.
    printed : date [-]
        Printed on it.
    sub : str [-]
        A line under the title.
    cautions : tuple of str [-]
        Printed at its end.

    Returns
    -------
    dict [-]
    """
    plan = w.plan
    mark = plan.provenance.job_sha256[:MARK]
    on = w.on(printed)
    foot = w.say(
        "{job}, revision {revision}, job {mark}, printed {on}.",
        job=w.own(plan.name, 50),
        revision=plan.provenance.job_revision,
        mark=Own(mark),
        on=Own(on),
    )
    return {
        "kind": kind,
        "id": kind,
        "title": title,
        "job": plain(plan.name, 90),
        "revision": str(plan.provenance.job_revision),
        "mark": mark,
        "printed": on,
        "paper": plan.job["show"]["paper"],
        "sub": sub,
        "foot": f"{foot} {ranges(w)}",
        "cautions": list(cautions),
        "degrees": "°F" if w.units == "us" else "°C",
        "picture": None,
    }


def figure(w: Wording, drawing: Drawing, alt: str = "") -> dict[str, str]:
    """A drawing said for `w` [-], with its description for those who cannot see it; `alt` [-] stands in."""
    known = {str(s): s for s in drawing.said}

    def say(text: str) -> str:
        said = w.text(known.get(text, text))
        return said if w.language == "en" else _POINT.sub(w.number("."), said)

    def again(found: re.Match[str]) -> str:
        return f"{found[1]}{escape(say(unescape(found[3])))}{found[4]}"

    svg = drawing.svg()
    if w.language != "en":
        svg = _WORDS.sub(again, svg)
    return {"svg": svg, "alt": plain(alt or say(drawing.about or drawing.title), 900)}


def photo_figure(picture: bytes, alt: str, longest: int = PRINTED_PX) -> dict[str, str]:
    """A PNG or JPEG `picture` [-] as a figure, upright, without its metadata and at most `longest`
    [px] long; `alt` [-] describes it.

    Raises `InputError` when it is no whole picture, larger than 40 MB or than 80 megapixels.
    """
    if len(picture) > LARGEST_PICTURE:
        raise InputError("picture", f"{len(picture)} bytes", "at most 40 MB", "Make it smaller.")
    kind, width, height, data = _clean_picture(picture, longest)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}"><image width="{width}" height="{height}" '
        f'href="data:image/{kind};base64,{data}"/></svg>'
    )
    return {"svg": svg, "alt": plain(alt, 900)}


@lru_cache(maxsize=8)
def _clean_picture(picture: bytes, longest: int) -> tuple[str, int, int, str]:
    """Kind, width and height [px] and base64 data of a picture as it is printed."""
    from PIL import Image, ImageOps

    refused = InputError("picture", "these bytes", "a whole PNG or JPEG picture of at most 80 "
                         "megapixels", "Give another file.")  # fmt: skip
    try:
        with Image.open(io.BytesIO(picture), formats=("PNG", "JPEG")) as im:
            if im.width * im.height > 80e6:
                raise refused
            kind = "png" if im.format == "PNG" else "jpeg"
            upright = ImageOps.exif_transpose(im).convert("RGB")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise refused from None
    upright.thumbnail((longest, longest))
    out = io.BytesIO()
    if kind == "png":
        upright.save(out, "PNG")
    else:
        upright.save(out, "JPEG", quality=90)
    return kind, upright.width, upright.height, base64.b64encode(out.getvalue()).decode("ascii")


def paper_width(w: Wording) -> float:
    """Width between the margins of the job's paper [mm]; `w` is the wording [-]."""
    return 215.9 - 32.0 if w.plan.job["show"]["paper"] == "letter" else 210.0 - 32.0


def pretty(text: str) -> str:
    """Our own sentences with unit signs as print has them [-]: °C for degC, m² for m2."""
    text = re.sub(r"\bdegC\b", "°C", text)
    text = re.sub(r"\bdegF\b", "°F", text)
    return re.sub(r"\b(mm?|ft)([23])\b", lambda m: m[1] + "²³"[int(m[2]) - 2], text)


def resin_text(w: Wording, name: str, ratio: str) -> str:
    """A resin's name with its mix ratio by volume [-], the ratio once, as `w` [-] says it."""
    if ratio in name:
        return name
    return w.say("{name}, {ratio} by volume", name=Own(name), ratio=Own(ratio))
