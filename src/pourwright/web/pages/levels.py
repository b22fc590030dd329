"""How level each surface lies: readings and stated tilt drawn as a map of heights, with words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from pourwright.drawing import STYLE, Drawing
from pourwright.errors import InputError
from pourwright.store.errors import NotThere
from pourwright.web import deps
from pourwright.web.pages.render import show_for
from pourwright.web.pages.show import Show

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from pourwright.plan.job import Job
    from pourwright.survey import Surface
    from pourwright.survey.levels import LevelReport, Tilt

router = APIRouter()
LOW, MID, HIGH = "#3f6f68", "#f3ecdf", "#b3652b"
"""Colours of the lowest place, the middle and the highest place."""
CELLS = 110
WIDE, HIGH_MM = 180.0, 92.0
SAMPLES = 200


@dataclass(frozen=True)
class Lying:
    """How one surface lies: its heights [m] above its middle, and what the readings say.

    `tilt` is the slope used [-], `points` the readings as x, y, height [m] (empty when only the
    site's tilt is stated), `report` what they say.
    """

    surface: Surface
    tilt: Tilt
    points: tuple[tuple[float, float, float], ...]
    report: LevelReport | None

    @property
    def fall(self) -> float:
        """Height lost across the face down the steepest way [m]."""
        from pourwright.survey.levels import fall_across

        return fall_across(self.surface.polygon, self.tilt)


def lying(job: Job, k: int) -> Lying | None:
    """How surface `k` [-] of `job` lies; None for an upright one, or when nothing is known.

    Raises `InputError` for readings that cannot be used.
    """
    from pourwright.calc import Draws
    from pourwright.survey.build import build_surface
    from pourwright.survey.levels import read_levels, stated_tilt

    spec = job.surfaces[k]
    site = stated_tilt(job.site.tilt, job.site.tilt_towards) if job.site.tilt else None
    if spec.lie == "upright" or (spec.levels is None and site is None):
        return None
    surface = build_surface(spec)
    if spec.levels is None:
        assert site is not None
        return Lying(surface, site, (), None)
    rows = tuple((r.x, r.y, r.height) for r in spec.levels.readings)
    added = site if spec.levels.against == "site" else None
    x, y, z = ([r[a] for r in rows] for a in range(3))
    report = read_levels(surface.polygon, x, y, z, added, spec.levels.reading_error,
                         Draws(job.seed, SAMPLES))  # fmt: skip
    return Lying(surface, report.tilt, rows, report)


def grid(found: Lying) -> tuple[NDArray, float, NDArray]:
    """Middles of the squares over the box of a surface [m], their side [m], their heights [m].

    Shapes (n, 2) and (n,); heights are taken from their own middle value.
    """
    import numpy as np

    x0, y0, x1, y1 = found.surface.polygon.bounds
    step = max(x1 - x0, y1 - y0) / CELLS
    xs = np.arange(x0 + step / 2, x1 + step / 2, step)
    ys = np.arange(y0 + step / 2, y1 + step / 2, step)[::-1]
    at = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    z = at @ np.array([found.tilt.slope_x, found.tilt.slope_y])
    if found.report is not None and len(found.points) > 3:
        from scipy.interpolate import RBFInterpolator

        rows = np.asarray(found.points)
        places, first = np.unique(np.round(rows[:, :2], 3), axis=0, return_index=True)
        sag = np.asarray(found.report.residuals)
        if len(sag) == len(rows):
            span = max(float(np.ptp(places)), 1e-3)
            spline = RBFInterpolator(places / span, sag[first], kernel="thin_plate_spline",
                                     degree=1)  # fmt: skip
            z = z + spline(at / span)
    return at, step, z - (z.max() + z.min()) / 2


def tape(metres: float, show: Show, signed: bool = True) -> str:
    """A small height [m] as one reads it off a feeler: tenths of mm, or thousandths of an inch."""
    us = show.units == "us"
    text = show.fixed(metres / 0.0254, 3) if us else show.fixed(metres * 1e3, 1)
    sign = "+" if signed and metres > 0 else ""
    return f"{sign}{text} {'in' if us else 'mm'}"


def colour_of(t: float) -> str:
    """Colour [-] of a height from -1, the lowest, to 1, the highest [-]."""
    import numpy as np

    ends = LOW if t < 0 else HIGH
    a = np.array([int(MID[k : k + 2], 16) for k in (1, 3, 5)])
    b = np.array([int(ends[k : k + 2], 16) for k in (1, 3, 5)])
    mixed = a + (b - a) * min(abs(t), 1.0)
    return "#" + "".join(f"{round(float(v)):02x}" for v in mixed)


def draw(found: Lying, show: Show) -> Drawing:
    """The map of heights of one surface [mm], measures written as `show` says."""
    w = show.words
    x0, y0, x1, y1 = found.surface.polygon.bounds
    scale = min((WIDE - 24) / (x1 - x0), (HIGH_MM - 6) / (y1 - y0))
    wide, high = (x1 - x0) * scale, (y1 - y0) * scale
    left, top = (WIDE - wide) / 2, 8.0
    page = Drawing(WIDE, high + 34.0, w("levels.title", name=found.surface.name),
                   words_of(found, show)[0], background=None)  # fmt: skip

    def put(x: float, y: float) -> tuple[float, float]:
        return left + (x - x0) * scale, top + high - (y - y0) * scale

    at, step, z = grid(found)
    most = max(float(abs(z).max()), 1e-9)
    side = step * scale
    bands = (z / most * 7 + 1e-6).round() / 7
    k = 0
    while k < len(at):  # squares of one colour in a row become one bar
        j = k
        while j + 1 < len(at) and at[j + 1, 1] == at[k, 1] and bands[j + 1] == bands[k]:
            j += 1
        px, py = put(at[k, 0] - step / 2, at[k, 1] + step / 2)
        page.rect(px, py, side * (j - k + 1) + 0.2, side + 0.2, fill=colour_of(float(bands[k])))
        k = j + 1
    _cover(page, found, put, high + 34.0)
    for x, y, height in found.points:
        px, py = put(x, y)
        page.circle(px, py, 1.2, fill=STYLE.ink, stroke=STYLE.paper, stroke_width=0.4)
        end = px > WIDE - 22
        page.text(px + (-2 if end else 2), py - 1.4, tape(height, show), size=3.2,
                  anchor="end" if end else "start", paint_order="stroke", stroke="#fcf9f3",
                  stroke_width=0.9)  # fmt: skip
    if found.tilt.slope:
        _arrow(page, found, put)
    _legend(page, show, most, top + high + 9)
    return page


def _cover(page: Drawing, found: Lying, put: Any, tall: float) -> None:
    """Hide what lies outside the outline and in the cut-outs, and draw their lines."""
    rings = [found.surface.polygon.exterior.coords, *(r.coords for r in
             found.surface.polygon.interiors)]  # fmt: skip
    parts = []
    for ring in rings:
        points = [put(*p[:2]) for p in ring]
        parts.append("M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + "Z")
    outside = f"M-2 -2H{WIDE + 2}V{tall + 2}H-2Z{parts[0]}"
    page.path(outside, fill="#fcf9f3", fill_rule="evenodd")
    for n, d in enumerate(parts):
        page.path(d, fill="#fcf9f3" if n else "none", stroke=STYLE.ink, stroke_width=0.4)


def _arrow(page: Drawing, found: Lying, put: Any) -> None:
    centre = found.surface.polygon.representative_point()
    x, y = put(centre.x, centre.y)
    a = found.tilt.towards
    dx, dy = math.cos(a), -math.sin(a)
    ex, ey = x + 14 * dx, y + 14 * dy
    sx, sy = x - 14 * dx, y - 14 * dy
    tip = f"M{ex + 5 * dx:.2f} {ey + 5 * dy:.2f}"
    tip += f"L{ex - 2.4 * dy:.2f} {ey + 2.4 * dx:.2f}L{ex + 2.4 * dy:.2f} {ey - 2.4 * dx:.2f}Z"
    for width, colour in ((2.6, "#fcf9f3"), (1.1, STYLE.ink)):
        page.line(sx, sy, ex, ey, stroke=colour, stroke_width=width, stroke_linecap="round")
    page.path(tip, fill=STYLE.ink, stroke="#fcf9f3", stroke_width=0.5)


def _legend(page: Drawing, show: Show, most: float, y: float) -> None:
    wide, n = 72.0, 15
    left = (WIDE - wide) / 2
    for k in range(n):
        t = 2 * k / (n - 1) - 1
        page.rect(left + wide * k / n, y, wide / n + 0.05, 4, fill=colour_of(t))
    page.rect(left, y, wide, 4, fill="none", stroke=STYLE.ink, stroke_width=0.2)
    w = show.words
    for x, anchor, text in (
        (left - 3, "end", f"{w('levels.low')} {tape(-most, show)}"),
        (left + wide + 3, "start", f"{w('levels.high')} {tape(most, show)}"),
    ):
        page.text(x, y + 3.3, text, size=3.6, anchor=anchor)


def words_of(found: Lying, show: Show) -> list[str]:
    """What the map says, in sentences [-], measures as `show` writes them."""
    w = show.words
    side = towards(found.tilt.towards, w)
    out = [w("levels.falls", name=found.surface.name, fall=tape(found.fall, show, False),
             side=side)]  # fmt: skip
    r = found.report
    if r is None:
        return [*out, w("levels.stated")]
    if r.angle_range is not None:
        reach = found.fall / max(math.tan(found.tilt.angle), 1e-12)
        low, high = (tape(reach * math.tan(v), show, False)
                     for v in (r.angle_range.p05, r.angle_range.p95))  # fmt: skip
        out.append(w("levels.range", low=low, high=high))
    if r.lowest_depth > 0.2e-3:
        out.append(w("levels.sag", depth=tape(r.lowest_depth, show, False),
                     x=show.length(r.lowest[0] * 1e3), y=show.length(r.lowest[1] * 1e3),
                     fill=show.said(r.low_volume * 1e6)))  # fmt: skip
    out.append(w("levels.fill", fill=show.said(r.level_volume * 1e6)))
    return [*out, *r.warnings]


def towards(angle: float, words: Any) -> str:
    """Where a direction [rad], anticlockwise from the right of the plan, points to in `words`."""
    names = ("right", "back_right", "back", "back_left", "left", "front_left", "front",
             "front_right")  # fmt: skip
    return str(words(f"towards.{names[round(angle / (math.pi / 4)) % 8]}"))


def views(document: Mapping[str, Any], show: Show) -> list[dict[str, Any]]:
    """How each surface of a `document` lies, for the page [-]: number, name, fall, words, problem."""
    from pourwright.plan import job_from

    try:
        job = job_from(dict(document))
    except InputError:
        return []
    out = []
    for k, spec in enumerate(job.surfaces):
        if spec.purpose == "board" and spec.levels is None:
            continue
        try:
            found = lying(job, k)
        except InputError as err:
            out.append({"k": k, "name": spec.name, "words": [], "error": err})
            continue
        if found is not None:
            out.append({"k": k, "name": spec.name, "words": words_of(found, show), "error": None,
                        "fall": tape(found.fall, show, False)})  # fmt: skip
    return out


@router.get("/jobs/{job_id}/site/levels/{k}.svg")
async def levels_svg(request: Request, job_id: str, k: int) -> Response:
    """The map of heights of one surface."""
    from pourwright.plan import job_from

    job = deps.job(request, job_id)
    show = show_for(request, job)

    def made() -> str:
        spec = job_from(job.document)
        found = lying(spec, k) if 0 <= k < len(spec.surfaces) else None
        if found is None:
            raise NotThere("surface", k, "no height is known there", "Enter level readings.")
        return draw(found, show).svg()

    body = await run_in_threadpool(made)
    keep = {"Cache-Control": "private, max-age=600"}
    return Response(body, media_type="image/svg+xml", headers=keep)
