"""What every paper carries: job, revision, mark, date, ranges, cautions; and its pictures."""

from __future__ import annotations

import base64
import io
import re
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

from pourwright.drawing import Drawing
from pourwright.errors import InputError
from pourwright.papers.plain import plain
from pourwright.plan import Working, show

MARK = 10
"""Characters of the job's hash that are printed as its mark."""
RANGES = (
    "Ranges run from the 5 to the 95 % point. Over every number here decide the product's data "
    "sheet, local codes and licensed practice."
)
LARGEST_PICTURE = 40_000_000  # bytes
PRINTED_PX = 2200
"""Longest side of a picture on paper [px]: 300 dots an inch across a page."""


def frame(
    work: Working,
    kind: str,
    title: str,
    printed: date,
    sub: str = "",
    cautions: tuple[str, ...] = (),
) -> dict[str, Any]:
    """The common part of a paper's data.

    Parameters
    ----------
    work : Working [-]
        The planned job.
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
    plan = work.plan
    name = plain(plan.name, 90)
    mark = plan.provenance.job_sha256[:MARK]
    on = f"{printed.day} {printed:%b %Y}"
    return {
        "kind": kind,
        "id": kind,
        "title": title,
        "job": name,
        "revision": str(plan.provenance.job_revision),
        "mark": mark,
        "printed": on,
        "paper": plan.job["show"]["paper"],
        "sub": sub,
        "foot": f"{plain(plan.name, 50)}, revision {plan.provenance.job_revision}, job {mark}, "
        f"printed {on}. {RANGES}",
        "cautions": list(cautions),
        "picture": None,
    }


def figure(drawing: Drawing, alt: str = "") -> dict[str, str]:
    """A drawing with its description for those who cannot see it [-]; `alt` [-] stands in."""
    return {"svg": drawing.svg(), "alt": plain(alt or drawing.about or drawing.title, 900)}


def photo_figure(picture: bytes, alt: str) -> dict[str, str]:
    """A PNG or JPEG `picture` [-] as a figure, upright and without its metadata; `alt` [-]
    describes it.

    Raises `InputError` when it is no whole picture, larger than 40 MB or than 80 megapixels.
    """
    if len(picture) > LARGEST_PICTURE:
        raise InputError("picture", f"{len(picture)} bytes", "at most 40 MB", "Make it smaller.")
    kind, width, height, data = _clean_picture(picture)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}"><image width="{width}" height="{height}" '
        f'href="data:image/{kind};base64,{data}"/></svg>'
    )
    return {"svg": svg, "alt": plain(alt, 900)}


@lru_cache(maxsize=4)
def _clean_picture(picture: bytes) -> tuple[str, int, int, str]:
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
    upright.thumbnail((PRINTED_PX, PRINTED_PX))
    out = io.BytesIO()
    if kind == "png":
        upright.save(out, "PNG")
    else:
        upright.save(out, "JPEG", quality=90)
    return kind, upright.width, upright.height, base64.b64encode(out.getvalue()).decode("ascii")


def paper_width(work: Working) -> float:
    """Width between the margins of the job's paper [mm]; `work` is the plan [-]."""
    return 215.9 - 32.0 if work.plan.job["show"]["paper"] == "letter" else 210.0 - 32.0


def units_of(work: Working) -> str:
    """``metric`` or ``us`` [-], as the job `work` is shown."""
    return str(work.plan.job["show"]["units"])


def long_day(iso: str) -> str:
    """An ISO 8601 date or moment [-] as "Monday 15 March 2027"."""
    d = date.fromisoformat(iso[:10])
    return f"{d:%A} {d.day} {d:%B %Y}"


def size(work: Working, a_mm: float, b_mm: float) -> str:
    """Two lengths [mm] as "a x b" in the units of the job `work` [-]."""
    u = units_of(work)
    return f"{show.length(a_mm, u)} x {show.length(b_mm, u)}"


def counted(number: Decimal, unit: str) -> str:
    """A number with its unit [-], the unit in the plural where English asks for it."""
    plain_number = number.normalize()
    plural = "s" if number > 1 and len(unit) > 2 else ""
    return f"{plain_number:f} {unit}{plural}"


def run_text(metres: float, units: str) -> str:
    """A running length [m] in `units` [-]."""
    return f"{metres * 3.280839895:.1f} ft" if units == "us" else f"{metres:.2f} m"


def pretty(text: str) -> str:
    """Our own sentences with unit signs as print has them [-]: °C for degC, m² for m2."""
    text = re.sub(r"\bdegC\b", "°C", text)
    text = re.sub(r"\bdegF\b", "°F", text)
    return re.sub(r"\b(mm?|ft)([23])\b", lambda m: m[1] + "²³"[int(m[2]) - 2], text)


def resin_text(name: str, ratio: str) -> str:
    """A resin's name with its mix ratio by volume [-], the ratio once."""
    return name if ratio in name else f"{name}, {ratio} by volume"
