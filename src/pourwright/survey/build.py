"""From a job file's surfaces to a checked survey: pieces, seams, areas, levels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.errors import InputError
from pourwright.survey.assemble import RECTANGLE_EDGES, Stretch, make_cut_out, make_surface
from pourwright.survey.edges import EDGE_KINDS, EdgeProfile, make_profile
from pourwright.survey.joints import Meeting, join_surfaces
from pourwright.survey.outline import make_outline, rectangle
from pourwright.survey.spec import EdgeSpec, SurfaceSpec
from pourwright.survey.surface import CutOut, Surface, SurfaceAreas
from pourwright.words import say

TOTALS = (
    "gross",
    "cut_out",
    "face",
    "masked",
    "cover",
    "flat",
    "strip",
    "poured",
    "free_run",
    "tape_run",
    "perimeter",
)
"""Keys of `Survey.totals`: sums over all pieces [m2, m]."""


@dataclass(frozen=True)
class Survey:
    """All surfaces of a job, checked and joined, with the warnings met on the way."""

    surfaces: tuple[Surface, ...]
    meetings: tuple[Meeting, ...]
    warnings: tuple[str, ...]

    def __getitem__(self, name: str) -> Surface:
        """The surface called `name` [-]; raises `InputError` listing the known ones."""
        for s in self.surfaces:
            if s.name == name:
                return s
        raise InputError(
            "surface",
            name,
            say("the surfaces are {names}", names=", ".join(s.name for s in self.surfaces)),
            "Use one of these names.",
        )

    @property
    def areas(self) -> dict[str, SurfaceAreas]:
        """Areas and runs of one piece of each surface [m2, m]."""
        return {s.name: s.areas for s in self.surfaces}

    def totals(self, purpose: str | None = None) -> dict[str, float]:
        """Sums over all pieces [m2, m], of one purpose (``surface``, ``board``) or of all."""
        chosen = [s for s in self.surfaces if purpose in (None, s.purpose)]
        return {k: math.fsum(s.count * getattr(s.areas, k) for s in chosen) for k in TOTALS}

    def runs(self) -> dict[str, float]:
        """Length of all outer edges by kind [m]; a seam between two pieces counts once."""
        out = {k: math.fsum(s.count * s.areas.runs[k] for s in self.surfaces) for k in EDGE_KINDS}
        for m in self.meetings:
            out[m.kind] -= m.run * self[m.surface].count
        return out


def build_survey(specs: Sequence[SurfaceSpec]) -> Survey:
    """Check and join all surfaces of a job.

    Parameters
    ----------
    specs : sequence of SurfaceSpec [m]

    Returns
    -------
    survey : Survey [m], [m2]

    Raises
    ------
    InputError
        Naming the surface and the corner, edge or cut-out that cannot be.
    """
    if not specs:
        raise InputError(
            "surfaces", None, "a job has at least one surface", "Add a [[surfaces]] table."
        )
    made = [build_surface(spec) for spec in specs]
    open_edges = [
        (s.name, e.name)
        for spec, s in zip(specs, made, strict=True)
        for e in s.edges
        if not _named(spec, e.number)
    ]
    surfaces, meetings, warnings = join_surfaces(made, open_edges)
    told = [w for s in surfaces for w in s.warnings]
    told += [
        say(
            "surface {name} is upright and has cut-outs poured over; resin runs through them.",
            name=s.name,
        )
        for s in surfaces
        if s.lie == "upright" and any(c.edges[0].kind == "free" for c in s.cut_outs)
    ]
    return Survey(surfaces, meetings, (*told, *warnings))


def build_surface(spec: SurfaceSpec) -> Surface:
    """Check one surface and measure it; partners of joints are looked up by `build_survey`.

    Parameters
    ----------
    spec : SurfaceSpec [m]

    Returns
    -------
    surface : Surface [m]

    Raises
    ------
    InputError
        Naming the corner, edge or cut-out that cannot be.
    """
    where = f"surface {spec.name}"
    if spec.size is not None:
        for name, value in zip(("width", "depth"), spec.size, strict=True):
            if not (math.isfinite(value) and value > 0):
                raise InputError(
                    f"{where}, {name}",
                    f"{value * 1e3:.6g} mm",
                    "it is more than 0 mm",
                    'Write size = ["2100 mm", "600 mm"].',
                )
        outline = make_outline(rectangle(*spec.size), spec.corner_radius, where)
        names: Sequence[str] | None = RECTANGLE_EDGES[spec.lie]
    else:
        assert spec.outline is not None
        outline = make_outline(
            [(c.x, c.y) for c in spec.outline],
            [spec.corner_radius if c.radius is None else c.radius for c in spec.outline],
            where,
        )
        names = None
    count = len(outline.sides)
    stretches: dict[int, list[Stretch]] = {
        k: [(_profile(spec.other_edges, f"other_edges of {where}"), None, spec.other_edges.meets)]
        for k in range(1, count + 1)
    }
    for key, parts in spec.edges.items():
        number = _edge_number(key, count, names, where)
        if not parts:
            raise InputError(
                f"edge {key} of {where}", None, "it has no stretch", "Give its kind, or drop it."
            )
        stretches[number] = [
            (_profile(part, f"edge {key} of {where}"), part.length, part.meets) for part in parts
        ]
    return make_surface(
        spec.name,
        outline,
        stretches,
        names,
        [_cut_out(c, where) for c in spec.cut_outs],
        spec.lie,
        spec.purpose,
        spec.count,
        spec.keep_off,
    )


def _cut_out(c, where: str) -> CutOut:
    radius: float | list[float] = c.corner_radius
    if c.outline is not None:
        radius = [c.corner_radius if k.radius is None else k.radius for k in c.outline]
    return make_cut_out(
        c.name,
        _profile(c.edge, f"edge of cut-out {c.name} of {where}"),
        c.size,
        c.diameter,
        [(k.x, k.y) for k in c.outline] if c.outline is not None else None,
        radius,
        c.at,
        c.turn,
        c.cut == "after",
        where,
    )


def _profile(spec: EdgeSpec, where: str) -> EdgeProfile:
    if spec.meets is not None and spec.kind not in ("joint", "waterfall"):
        raise InputError(
            f"{where}, meets",
            spec.meets,
            say("a {kind} edge meets no other surface", kind=spec.kind),
            'Make it kind = "joint" or "waterfall", or take meets out.',
        )
    return make_profile(
        spec.kind,
        spec.round_over,
        spec.drop,
        spec.lip,
        spec.height,
        spec.cove,
        spec.mask,
        where,
    )


def _edge_number(key: str, count: int, names: Sequence[str] | None, where: str) -> int:
    if names and key in names:
        return names.index(key) + 1
    if key.isdigit() and 1 <= int(key) <= count:
        return int(key)
    known = f"{', '.join(names)} or " if names else ""
    raise InputError(
        f"edges of {where}",
        key,
        say(
            "its edges are {known}1 to {count}, by the corner where each starts",
            known=known,
            count=count,
        ),
        "Use one of these.",
    )


def _named(spec: SurfaceSpec, number: int) -> bool:
    keys = set(spec.edges)
    if spec.size is not None and RECTANGLE_EDGES[spec.lie][number - 1] in keys:
        return True
    return str(number) in keys
