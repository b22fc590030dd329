"""Joints and waterfalls: which edges meet, whether they fit, and where the pieces then stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pourwright.errors import InputError
from pourwright.survey.edges import Edge
from pourwright.survey.surface import Surface
from pourwright.words import Amount, Own, say

FIT_M = 1e-3
"""Edges that meet may differ by this much in length [m]."""


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two edges that meet: ``joint`` (in one plane) or ``waterfall`` (a mitre turning down).

    `run` is the length of the seam [m].
    """

    kind: str
    surface: str
    edge: str
    other: str
    other_edge: str
    run: float


def join_surfaces(
    surfaces: Sequence[Surface], open_edges: Sequence[tuple[str, str]] = ()
) -> tuple[tuple[Surface, ...], tuple[Meeting, ...], tuple[str, ...]]:
    """Match the edges that name a partner, and place the joined pieces in one plan.

    Parameters
    ----------
    surfaces : sequence of Surface [m]
    open_edges : sequence of (str, str) [-]
        Surface and edge names that the user left to the default; such an edge takes the kind
        of the edge that meets it.

    Returns
    -------
    surfaces, meetings, warnings : tuples [m]
        Surfaces with `place` set, the pairs, and sentences about pieces that do not close up.

    Raises
    ------
    InputError
        A partner that does not exist or is taken, kinds that differ, lengths that differ by
        more than `FIT_M`, a waterfall without partner.
    """
    by_name: dict[str, Surface] = {}
    for s in surfaces:
        if s.name in by_name:
            raise InputError(
                f"surface {s.name}", s.name, "each surface has its own name", "Rename one."
            )
        by_name[s.name] = s
    free_to_set = set(open_edges)
    meetings: list[Meeting] = []
    done: dict[tuple[str, str], tuple[str, str]] = {}
    for name in list(by_name):
        for position in range(len(by_name[name].edges)):
            edge = by_name[name].edges[position]
            where = f"edge {edge.name} of surface {name}"
            if edge.meets is None:
                if edge.kind == "waterfall" and (name, edge.name) not in done:
                    raise InputError(
                        where,
                        None,
                        "a waterfall edge turns down into an upright surface",
                        'Name that surface and its edge, e.g. meets = "end.top".',
                    )
                continue
            key = _partner(edge, where, by_name)
            if (name, edge.name) in done:
                if done[name, edge.name] != key:
                    _taken(where, edge, done[name, edge.name])
                continue
            if key == (name, edge.name):
                raise InputError(
                    where, edge.meets, "an edge cannot meet itself", "Name the other surface."
                )
            other = by_name[key[0]].edge(key[1])
            other = _accept(edge, where, (name, edge.name), other, key, free_to_set)
            if key in done:
                _taken(where, edge, done[key])
            by_name[key[0]] = _with_edge(by_name[key[0]], other)
            _check_fit(by_name[name], edge, by_name[key[0]], other)
            done[name, edge.name] = key
            done[key] = (name, edge.name)
            meetings.append(Meeting(edge.kind, name, edge.name, *key, edge.run))
    placed, warnings = _place(by_name, meetings)
    return placed, tuple(meetings), tuple(warnings)


def _partner(edge: Edge, where: str, by_name: dict[str, Surface]) -> tuple[str, str]:
    assert edge.meets is not None
    surface, dot, other = edge.meets.rpartition(".")
    if not dot or surface not in by_name:
        raise InputError(
            f"{where}, meets",
            edge.meets,
            say(
                "it names a surface and its edge; the surfaces are {names}",
                names=", ".join(by_name),
            ),
            'Write it as "surface.edge".',
        )
    return surface, by_name[surface].edge(other).name


def _accept(
    edge: Edge,
    where: str,
    own: tuple[str, str],
    other: Edge,
    key: tuple[str, str],
    free_to_set: set[tuple[str, str]],
) -> Edge:
    """The partner edge made to agree, or refused."""
    back = f"{own[0]}.{own[1]}"
    if key in free_to_set and other.meets is None:
        return replace(other, profile=replace(edge.profile, mask=0.0), meets=back)
    if other.kind != edge.kind:
        raise InputError(
            where,
            edge.kind,
            say(
                "edge {key} of surface {key2}, which it meets, is {kind}",
                key=Own(key[1]),
                key2=Own(key[0]),
                kind=other.kind,
            ),
            say("Make both {kind}, or leave the other one out.", kind=edge.kind),
        )
    if other.meets is None:
        other = replace(other, meets=back)
    if edge.kind == "waterfall" and not math.isclose(
        edge.profile.round_over, other.profile.round_over, abs_tol=1e-6
    ):
        raise InputError(
            f"{where}, round_over",
            f"{edge.profile.round_over * 1e3:.6g} mm",
            say(
                "edge {edge} of surface {surface} has {round_over:.6g}",
                edge=Own(key[1]),
                surface=Own(key[0]),
                round_over=Amount(other.profile.round_over * 1000.0, "mm"),
            ),
            "Both sides of a waterfall share one round-over.",
        )
    return other


def _taken(where: str, edge: Edge, by: tuple[str, str]) -> None:
    raise InputError(
        f"{where}, meets",
        edge.meets,
        say(
            "that edge already meets edge {edge} of surface {surface}",
            edge=Own(by[1]),
            surface=Own(by[0]),
        ),
        "Each edge meets one other; split it into stretches where two pieces butt against it.",
    )


def _with_edge(surface: Surface, edge: Edge) -> Surface:
    return replace(surface, edges=tuple(edge if e.name == edge.name else e for e in surface.edges))


def _check_fit(a: Surface, edge: Edge, b: Surface, other: Edge) -> None:
    where = f"edge {edge.name} of surface {a.name}"
    if abs(edge.side.side - other.side.side) > FIT_M:
        raise InputError(
            where,
            f"{edge.side.side * 1e3:.6g} mm",
            say(
                "edge {edge} of surface {surface}, which it meets, is {side:.6g} long; they may differ "
                "by {most:.0f}",
                edge=Own(other.name),
                surface=Own(b.name),
                side=Amount(other.side.side * 1000.0, "mm"),
                most=Amount(FIT_M * 1000.0, "mm"),
            ),
            "Correct one of the two, or split the longer edge into stretches.",
        )
    if a.count != b.count:
        raise InputError(
            where,
            a.count,
            say(
                "surface {name}, which it meets, has count {count}", name=Own(b.name), count=b.count
            ),
            "Give joined surfaces the same count.",
        )
    if edge.kind == "waterfall" and {a.lie, b.lie} != {"horizontal", "upright"}:
        raise InputError(
            where,
            b.lie,
            "a waterfall joins a horizontal surface to an upright one",
            say(
                'Set lie = "upright" on the surface that turns down ({name} or {name2}).',
                name=Own(a.name),
                name2=Own(b.name),
            ),
        )


def _place(
    by_name: dict[str, Surface], meetings: Sequence[Meeting]
) -> tuple[tuple[Surface, ...], list[str]]:
    """Unfold joined pieces into one plane: each edge laid against its partner."""
    links: dict[str, list[tuple[str, str, str]]] = {name: [] for name in by_name}
    for m in meetings:
        links[m.surface].append((m.edge, m.other, m.other_edge))
        links[m.other].append((m.other_edge, m.surface, m.edge))
    places: dict[str, tuple[float, float, float]] = {}
    warnings = []
    for root, surface in by_name.items():
        if root in places or not links[root]:
            continue
        if surface.lie == "upright" and any(
            by_name[o].lie == "horizontal" for _, o, _ in links[root]
        ):
            continue
        queue = [root]
        places[root] = (0.0, 0.0, 0.0)
        while queue:
            name = queue.pop(0)
            for own, other, theirs in links[name]:
                e, f = by_name[name].edge(own), by_name[other].edge(theirs)
                spot = _against(places[name], e, f)
                if other not in places:
                    places[other] = spot
                    queue.append(other)
                elif _apart(places[other], spot, f) > 2 * FIT_M:
                    gap = _apart(places[other], spot, f)
                    warnings.append(
                        say(
                            "surfaces {name} and {other} miss each other by {gap:.0f} at edge {own} when all "
                            "pieces are joined; check sizes and corners.",
                            name=name,
                            other=other,
                            gap=Amount(gap * 1e3, "mm"),
                            own=own,
                        )
                    )
    placed = tuple(replace(s, place=places.get(s.name)) for s in by_name.values())
    return placed, list(dict.fromkeys(warnings))


def transform(place: tuple[float, float, float], x: float, y: float) -> tuple[float, float]:
    """A point of a piece in the plan.

    Parameters
    ----------
    place : (float, float, float) [m, m, rad]
        Where the piece's origin stands and how it is turned.
    x, y : float [m]
        The point in the piece's own coordinates.

    Returns
    -------
    x, y : float [m]
    """
    c, s = math.cos(place[2]), math.sin(place[2])
    return place[0] + c * x - s * y, place[1] + s * x + c * y


def _against(place: tuple[float, float, float], e: Edge, f: Edge) -> tuple[float, float, float]:
    ax, ay = transform(place, e.side.start.x, e.side.start.y)
    bx, by = transform(place, e.side.end.x, e.side.end.y)
    own = math.atan2(ay - by, ax - bx)
    theirs = math.atan2(f.side.end.y - f.side.start.y, f.side.end.x - f.side.start.x)
    turn = math.remainder(own - theirs, 2 * math.pi)
    x, y = transform((0.0, 0.0, turn), f.side.start.x, f.side.start.y)
    return bx - x, by - y, turn


def _apart(a: tuple[float, float, float], b: tuple[float, float, float], f: Edge) -> float:
    return max(
        math.dist(transform(a, c.x, c.y), transform(b, c.x, c.y))
        for c in (f.side.start, f.side.end)
    )
