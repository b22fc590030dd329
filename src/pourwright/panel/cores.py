"""Core parts of a job's surfaces: tops, build-up strips or fronts, and what the cut-outs give back.

Where an edge is deeper than the core, the core is thickened under it: with strips glued up flat,
with a front set under the edge, or with a front mitred to it. How these are glued and clamped is
common practice and left to the maker; the sizes are geometry.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import TYPE_CHECKING, Literal

from pourwright.errors import InputError
from pourwright.panel.joints import JointPlan
from pourwright.panel.stock import Part, Sheet
from pourwright.words import Amount, Listed, Own, joined, say

if TYPE_CHECKING:
    from shapely import Polygon

    from pourwright.survey import Surface

EdgeBuild = Literal["strips", "front", "mitre"]
EDGE_BUILDS: tuple[str, ...] = ("strips", "front", "mitre")
LEVEL = 0.5e-3  # layers this near to the depth wanted need no planing [m]
MOST_LAYERS = 4


@dataclass(frozen=True, slots=True)
class CoreSpec:
    """How the core of a surface is made.

    Parameters
    ----------
    material : str [-]
        Catalogue id.
    thickness : float [m]
        Of the board.
    density : float [kg/m3]
        Of the board.
    grain : bool [-]
        True when the pieces' length must lie along the sheet's.
    edge : str [-]
        ``strips``: flat layers under the edge; ``front``: a board on edge under it; ``mitre``: a
        board on edge, mitred to the top.
    strip_width : float [m]
        Width of build-up strips.
    layers : tuple of float [m]
        Board thicknesses to build up with; empty: the core's own.
    film : float [m]
        Poured thickness that already counts towards the depth of the edge.
    longest : float [m]
        Longest strip that a sheet yields; longer ones are made of equal lengths.
    """

    material: str = "mdf-moisture"
    thickness: float = 0.018
    density: float = 750.0
    grain: bool = False
    edge: EdgeBuild = "strips"
    strip_width: float = 0.080
    layers: tuple[float, ...] = ()
    film: float = 0.0
    longest: float = 2.42


@dataclass(frozen=True, slots=True)
class Cores:
    """Core parts of a job: parts [m], drop-outs as small sheets [m], mass in all [kg], notes."""

    parts: tuple[Part, ...]
    drop_outs: tuple[Sheet, ...]
    mass: float
    warnings: tuple[str, ...]


def build_up(depth: float, thicknesses: Sequence[float]) -> tuple[tuple[float, ...], float]:
    """Layers that reach a depth, fewest first, and what must be planed off.

    Parameters
    ----------
    depth : float [m]
        Missing depth under the core.
    thicknesses : sequence of float [m]
        Boards to choose from; any number of each, at most 4 layers.

    Returns
    -------
    (layers, excess)
        Thicknesses from the top down [m] and what to plane off the last [m]; 0 when the layers
        are within 0.5 mm.

    Raises
    ------
    InputError
        When 4 layers of the thickest board do not reach the depth.
    """
    if depth <= LEVEL:
        return (), 0.0
    options = sorted(set(thicknesses), reverse=True)
    over: list[tuple[float, int, tuple[float, ...]]] = []
    for n in range(1, MOST_LAYERS + 1):
        level = []
        for layers in combinations_with_replacement(options, n):
            excess = sum(layers) - depth
            if abs(excess) <= LEVEL + 1e-9:
                level.append((abs(excess), layers))
            elif excess > 0:
                over.append((excess, n, layers))
        if level:
            return min(level)[1], 0.0
    if not over:
        raise InputError(
            "edge.drop",
            f"{depth * 1e3:.1f} mm under the core",
            say(
                "at most {n} layers of {thick:.0f}",
                n=MOST_LAYERS,
                thick=Amount(options[0] * 1e3, "mm"),
            ),
            "Build the edge with a front, or add a thicker board.",
        )
    excess, _, layers = min(over)
    return layers, excess


def inner_box(polygon: Polygon) -> tuple[float, float]:
    """Length along x and width along y of the largest centred rectangle inside a shape.

    Parameters
    ----------
    polygon : shapely Polygon [m]
        The shape; its box is shrunk evenly until it lies inside.

    Returns
    -------
    (length, width)
        In [m]; 0, 0 when there is none.
    """
    from shapely import box

    x0, y0, x1, y1 = polygon.bounds
    lo, hi = 0.0, min(x1 - x0, y1 - y0) / 2
    grown = polygon.buffer(1e-7)
    if grown.contains(box(x0, y0, x1, y1)):
        return x1 - x0, y1 - y0
    for _ in range(40):
        t = (lo + hi) / 2
        if hi - t > 1e-9 and not grown.contains(box(x0 + t, y0 + t, x1 - t, y1 - t)):
            lo = t
        else:
            hi = t
    size = x1 - x0 - 2 * hi, y1 - y0 - 2 * hi
    return size if min(size) > 1e-6 else (0.0, 0.0)


def core_parts(
    surfaces: Sequence[Surface],
    core: CoreSpec | Mapping[str, CoreSpec],
    joints: Mapping[str, JointPlan] | None = None,
    kerf: float = 3.2e-3,
) -> Cores:
    """The core parts of surfaces, with build-up under deep edges, and the drop-outs.

    Parameters
    ----------
    surfaces : sequence of Surface [m]
        From the survey.
    core : CoreSpec or mapping of surface name to CoreSpec [m]
        How the cores are made.
    joints : mapping of surface name to JointPlan [m] or None
        Where surfaces are split.
    kerf : float [m]
        Of the saw or bit that opens the cut-outs, inside their line.

    Returns
    -------
    Cores
        Parts [m] with masses [kg]; drop-outs ready to serve as stock.

    Raises
    ------
    InputError
        A depth that cannot be built up, a thickness or density that is not above 0.
    """
    parts: list[Part] = []
    drops: list[Sheet] = []
    notes: list[str] = []
    for s in surfaces:
        spec = core if isinstance(core, CoreSpec) else core[s.name]
        _check(spec, s.name)
        parts += _tops(s, spec, (joints or {}).get(s.name))
        edge_parts, more = _edges(s, spec)
        parts += edge_parts
        notes += more
        drops += _drop_outs(s, spec, kerf)
    parts = _unique(parts)
    if drops:
        names = Listed(d.name for d in drops)
        notes.append(
            say(
                "{names}: usable once the tops are cut and the holes opened; cut the tops first.",
                names=names,
            )
        )
    mass = sum((p.mass or 0.0) * p.quantity for p in parts)
    return Cores(tuple(parts), tuple(drops), mass, tuple(notes))


def _check(spec: CoreSpec, name: str) -> None:
    for key in ("thickness", "density", "strip_width", "longest"):
        v = getattr(spec, key)
        if not (math.isfinite(v) and v > 0):
            raise InputError(f"{name}.core.{key}", v, "more than 0", "Correct it.")
    if spec.edge not in EDGE_BUILDS:
        raise InputError(
            f"{name}.core.edge",
            spec.edge,
            say("one of {names}", names=", ".join(EDGE_BUILDS)),
            "Choose one.",
        )


def _unique(parts: list[Part]) -> list[Part]:
    from dataclasses import replace

    count: dict[str, int] = {}
    for p in parts:
        count[p.name] = count.get(p.name, 0) + 1
    seen: dict[str, int] = {}
    out = []
    for p in parts:
        if count[p.name] > 1:
            seen[p.name] = seen.get(p.name, 0) + 1
            p = replace(p, name=f"{p.name} ({seen[p.name]})")
        out.append(p)
    return out


def _tops(s: Surface, spec: CoreSpec, joint: JointPlan | None) -> list[Part]:
    whole = s.polygon
    pieces = joint.pieces if joint is not None and len(joint.pieces) > 1 else (whole,)
    water = [e.name for e in s.edges if e.kind == "waterfall"]
    note = ""
    if water:
        note = say("mitre 45 degrees along {water}, long point on the face",
                   water=Listed(Own(name) for name in water))  # fmt: skip
    out = []
    for i, poly in enumerate(pieces, 1):
        x0, y0, x1, y1 = poly.bounds
        if joint is not None and len(pieces) > 1:
            note_i = joined("; ", (note, say("joint on {axis}", axis=joint.axis)))
        else:
            note_i = note
        ring = tuple((x - x0, y - y0) for x, y in list(poly.exterior.coords)[:-1])
        holes = tuple(
            tuple((x - x0, y - y0) for x, y in list(h.coords)[:-1]) for h in poly.interiors
        )
        plain = not holes and abs(poly.area - (x1 - x0) * (y1 - y0)) < 1e-9
        out.append(
            Part(
                name=s.name if len(pieces) == 1 else f"{s.name} {i}",
                length=x1 - x0,
                width=y1 - y0,
                quantity=s.count,
                material=spec.material,
                thickness=spec.thickness,
                grain=spec.grain,
                outline=None if plain else ring,
                holes=() if plain else holes,
                mass=poly.area * spec.thickness * spec.density,
                role="board" if s.purpose == "board" else "top",
                note=note_i,
            )
        )
    return out


def _edges(s: Surface, spec: CoreSpec) -> tuple[list[Part], list[str]]:
    need = []
    for e in s.edges:
        depth = e.profile.drop - spec.film - spec.thickness if e.kind == "free" else 0.0
        need.append(depth if depth > LEVEL else 0.0)
    out: list[Part] = []
    notes: list[str] = []
    n = len(s.edges)
    for i, e in enumerate(s.edges):
        if not need[i]:
            continue
        across = spec.strip_width if spec.edge == "strips" else spec.thickness
        length = e.side.side
        convex = e.side.start.turn > 0
        if need[i - 1] and convex and n > 1 and spec.edge != "mitre":
            length -= across  # butts against the strip before it
        if length <= 0:
            continue
        count = max(1, math.ceil(length / spec.longest - 1e-9))
        each = length / count
        kind = "strip" if spec.edge == "strips" else "turn-down"
        label = f"{s.name} {kind} {e.name}"
        if count > 1:
            notes.append(
                say(
                    "{label}: made of {count} lengths of {each:.0f}; keep their joints away from joints "
                    "in the top.",
                    label=label,
                    count=count,
                    each=Amount(each * 1e3, "mm"),
                )
            )
        if spec.edge == "strips":
            layers, excess = build_up(need[i], spec.layers or (spec.thickness,))
            if excess > 0:
                notes.append(
                    say(
                        "{label}: the layers stand {excess:.1f} deeper than the edge; plane them off or "
                        "choose another board.",
                        label=label,
                        excess=Amount(excess * 1e3, "mm"),
                    )
                )
            for t in sorted(set(layers), reverse=True):
                out.append(
                    _strip(s, spec, label, each, spec.strip_width, t,
                           count * layers.count(t), "strip", "glue up flat under the edge")
                )  # fmt: skip
        else:
            high = need[i] if spec.edge == "front" else need[i] + spec.thickness
            note = (
                "on edge, flush under the top"
                if spec.edge == "front"
                else "mitre 45 degrees along the top, and where fronts meet"
            )
            out.append(_strip(s, spec, label, each, high, spec.thickness, count,
                              "front", note))  # fmt: skip
    return out, notes


def _strip(s, spec, name, length, width, thickness, count, role, note) -> Part:
    return Part(
        name=name if thickness == spec.thickness else f"{name} {thickness * 1e3:g} mm",
        length=length,
        width=width,
        quantity=count * s.count,
        material=spec.material,
        thickness=thickness,
        grain=spec.grain,
        mass=length * width * thickness * spec.density,
        role=role,
        note=note,
    )


def _drop_outs(s: Surface, spec: CoreSpec, kerf: float) -> list[Sheet]:
    from shapely import Polygon as _Polygon

    from pourwright.survey.paths import path_points

    out = []
    for c in s.cut_outs:
        if c.poured_over:
            continue  # comes out with resin on it: no core
        inside = _Polygon(path_points(c.outline.path)).buffer(-kerf, join_style="mitre")
        if inside.is_empty or inside.geom_type != "Polygon":
            continue
        length, width = inner_box(inside)
        if min(length, width) < 0.05:
            continue
        out.append(
            Sheet(
                name=say("drop-out {surface} {hole}", surface=s.name, hole=c.name),
                length=length,
                width=width,
                quantity=s.count,
                cost=0.0,
                material=spec.material,
                thickness=spec.thickness,
                offcut=True,
            )
        )
    return out
