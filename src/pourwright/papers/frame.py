"""What every paper carries: job, revision, mark, date, ranges, cautions; and its pictures."""

from __future__ import annotations

import base64
import io
import re
from datetime import date
from decimal import Decimal
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
    """A PNG or JPEG `picture` [-] as a figure; `alt` [-] describes it.

    Raises `InputError` when it is no picture or larger than 40 MB.
    """
    from PIL import Image, UnidentifiedImageError

    if len(picture) > LARGEST_PICTURE:
        raise InputError("picture", f"{len(picture)} bytes", "at most 40 MB", "Make it smaller.")
    try:
        with Image.open(io.BytesIO(picture)) as im:
            width, height = im.size
            kind = {"PNG": "png", "JPEG": "jpeg"}.get(str(im.format), "")
    except (UnidentifiedImageError, OSError, Image.DecompressionBombError):
        kind, width, height = "", 0, 0
    if not kind:
        raise InputError("picture", "these bytes", "a PNG or JPEG picture", "Give another file.")
    data = base64.b64encode(picture).decode("ascii")
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}"><image width="{width}" height="{height}" '
        f'href="data:image/{kind};base64,{data}"/></svg>'
    )
    return {"svg": svg, "alt": plain(alt, 900)}


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
