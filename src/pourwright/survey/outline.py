"""Outlines with straight sides and rounded corners, checked; a bad corner is named.

Corners and edges are numbered from 1 as the user listed them: edge 3 runs from corner 3 to
corner 4, the last edge back to corner 1. A clockwise list is turned round silently and keeps its
numbers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.errors import InputError
from pourwright.survey.paths import Arc, Line, Path, Piece, path_area, path_length, path_points
from pourwright.words import Amount, say

LARGEST_M = 30.0
"""A side or span longer than this is taken for a slip of the unit [m]."""
SMALLEST_M = 1e-4
"""Two corners closer than this are one point [m]."""
SHARP_M = 1e-8
"""A corner radius below this is a sharp corner [m]."""
SMALLEST_AREA_M2 = 1e-4
"""A surface smaller than this (10 mm by 10 mm) is taken for a slip [m2]."""
MOST_CORNERS = 400

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner: the user's number, its sharp point [m], radius [m] and turn [rad].

    `turn` is positive where the material is convex (less than half a turn inside).
    """

    number: int
    x: float
    y: float
    radius: float
    turn: float

    @property
    def tangent(self) -> float:
        """Length of each side that the rounding takes away [m]."""
        return self.radius * math.tan(abs(self.turn) / 2) if self.radius else 0.0

    @property
    def arc(self) -> float:
        """Length of the rounding [m]."""
        return self.radius * abs(self.turn)


@dataclass(frozen=True, slots=True)
class Side:
    """One side: the user's number, its two corners, sharp length and run along it [m].

    `run` is the straight part plus half of the rounding at each end.
    """

    number: int
    start: Corner
    end: Corner

    @property
    def side(self) -> float:
        """Distance between the two sharp corner points [m]."""
        return math.hypot(self.end.x - self.start.x, self.end.y - self.start.y)

    @property
    def straight(self) -> float:
        """Length of its straight part [m]."""
        return max(self.side - self.start.tangent - self.end.tangent, 0.0)

    @property
    def run(self) -> float:
        """Straight part and half of each rounding [m]."""
        return self.straight + (self.start.arc + self.end.arc) / 2


@dataclass(frozen=True, slots=True)
class Outline:
    """A checked closed outline: sides in order with the material on the left, and its path."""

    sides: tuple[Side, ...]
    path: Path

    @property
    def corners(self) -> tuple[Corner, ...]:
        """Its corners in the order of the sides [m]."""
        return tuple(s.start for s in self.sides)

    @property
    def area(self) -> float:
        """Area inside [m2], arcs exact, always positive."""
        return abs(path_area(self.path))

    @property
    def perimeter(self) -> float:
        """Length all round [m], arcs exact."""
        return path_length(self.path)


def make_outline(
    corners: Sequence[Point],
    radii: Sequence[float] | float = 0.0,
    where: str = "the outline",
    hole: bool = False,
) -> Outline:
    """Check corners and their radii, and make the outline.

    Parameters
    ----------
    corners : sequence of (float, float) [m]
        Sharp corner points in order, either way round, the first not repeated.
    radii : sequence of float or float [m]
        Radius at each corner, or one for all.
    where : str [-]
        What the outline belongs to, for messages, e.g. ``surface leg-a``.
    hole : bool [-]
        True keeps the material outside: the sides then run clockwise.

    Returns
    -------
    outline : Outline [m]

    Raises
    ------
    InputError
        Naming the corner: fewer than 3 corners, corners that coincide, sides that cross or fold
        back, a radius too big for its sides, sizes beyond `LARGEST_M`.
    """
    points = [(float(x), float(y)) for x, y in corners]
    n = len(points)
    if n < 3:
        raise InputError(
            where, n, "an outline needs at least 3 corners", "List every corner in order."
        )
    if n > MOST_CORNERS:
        raise InputError(
            where,
            n,
            say("an outline has at most {most} corners", most=MOST_CORNERS),
            "Draw curves with a corner radius instead of many short sides.",
        )
    sizes = [float(radii)] * n if isinstance(radii, int | float) else [float(r) for r in radii]
    if len(sizes) != n:
        raise InputError(
            where,
            len(sizes),
            say("there are {n} corners and each needs one radius", n=n),
            "Give one radius for all corners, or one per corner.",
        )
    _check_size(points, where)
    _check_distinct(points, where)
    _check_crossing(points, where)
    numbers = list(range(1, n + 1))
    sharp = sum(
        points[i][0] * points[(i + 1) % n][1] - points[(i + 1) % n][0] * points[i][1]
        for i in range(n)
    )
    if abs(sharp) / 2 < SMALLEST_AREA_M2:
        raise InputError(
            where,
            f"{abs(sharp) / 2 * 1e6:.4g} mm2",
            say(
                "an outline encloses at least {least:.0f}",
                least=Amount(SMALLEST_AREA_M2 * 1000000.0, "mm2"),
            ),
            "Check that the corners do not lie on one line, and check the unit.",
        )
    edge_numbers = list(numbers)
    if (sharp < 0) != hole:
        points.reverse()
        sizes.reverse()
        numbers.reverse()
        edge_numbers = [numbers[(k + 1) % n] for k in range(n)]
    made = _corners(points, sizes, numbers, where)
    sides = tuple(Side(edge_numbers[i], made[i], made[(i + 1) % n]) for i in range(n))
    _check_radii(sides, where)
    outline = Outline(sides, _path(sides))
    if any(c.radius for c in made) and n > 3:
        _check_rounded(outline, where)
    return outline


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0) -> list[Point]:
    """Corners of an upright rectangle from its lower left corner, anticlockwise.

    Parameters
    ----------
    width, height : float [m]
    x, y : float [m]
        Lower left corner.

    Returns
    -------
    corners : list of (float, float) [m], length 4
    """
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def _check_size(points: list[Point], where: str) -> None:
    for i, (x, y) in enumerate(points, 1):
        if not (math.isfinite(x) and math.isfinite(y)):
            raise InputError(
                f"corner {i} of {where}",
                f"{x}, {y}",
                "both coordinates are finite numbers",
                "Give x and y with a unit, e.g. 600 mm.",
            )
    for axis, name in ((0, "wide"), (1, "deep")):
        values = [p[axis] for p in points]
        span = max(values) - min(values)
        if span > LARGEST_M:
            far = max(range(len(values)), key=lambda k: abs(values[k])) + 1
            raise InputError(
                f"corner {far} of {where}",
                f"{span:.4g} m {name}",
                say(
                    "a surface is at most {largest_m:.0f} {name}",
                    largest_m=Amount(LARGEST_M, "m"),
                    name=name,
                ),
                "Check the unit (mm, not m), or split the surface at a joint.",
            )


def _check_distinct(points: list[Point], where: str) -> None:
    n = len(points)
    for j in range(n):
        for i in range(j):
            if math.dist(points[i], points[j]) < SMALLEST_M:
                near = j == i + 1 or (i == 0 and j == n - 1)
                how = "the edge between them has no length" if near else "the outline touches there"
                raise InputError(
                    f"corner {j + 1} of {where}",
                    f"{points[j][0] * 1e3:.6g} mm, {points[j][1] * 1e3:.6g} mm",
                    say("it is the same point as corner {i} and {how}", i=i + 1, how=how),
                    "Leave one of the two out (the outline closes by itself)."
                    if near
                    else "Move one of the two, or make two surfaces.",
                )


def _side_of(p: Point, q: Point, r: Point) -> float:
    return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])


def _check_crossing(points: list[Point], where: str) -> None:
    n = len(points)
    for i in range(n):
        a, b, c = points[i - 1], points[i], points[(i + 1) % n]
        flat = abs(_side_of(a, b, c)) <= 1e-9 * math.dist(a, b) * math.dist(b, c)
        dot = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
        if flat and dot < 0:
            raise InputError(
                f"corner {i + 1} of {where}",
                f"{b[0] * 1e3:.6g} mm, {b[1] * 1e3:.6g} mm",
                "the outline folds back on itself there",
                "Check this corner and the two beside it.",
            )
    for i in range(n):
        for j in range(i + 2, n):
            if i == 0 and j == n - 1:
                continue
            p, q, r, s = points[i], points[i + 1], points[j], points[(j + 1) % n]
            if _segments_meet(p, q, r, s):
                raise InputError(
                    f"corner {i + 1} of {where}",
                    f"edge {i + 1}",
                    say(
                        "the edge from corner {a} to corner {b} meets the edge from corner {c} to corner "
                        "{d}; an outline must not cross itself",
                        a=i + 1,
                        b=i + 2,
                        c=j + 1,
                        d=(j + 1) % n + 1,
                    ),
                    "Check the order of the corners.",
                )


def _segments_meet(p: Point, q: Point, r: Point, s: Point) -> bool:
    if max(p[0], q[0]) < min(r[0], s[0]) or max(r[0], s[0]) < min(p[0], q[0]):
        return False
    if max(p[1], q[1]) < min(r[1], s[1]) or max(r[1], s[1]) < min(p[1], q[1]):
        return False
    d1, d2 = _side_of(p, q, r), _side_of(p, q, s)
    d3, d4 = _side_of(r, s, p), _side_of(r, s, q)
    return d1 * d2 <= 0 and d3 * d4 <= 0


def _corners(
    points: list[Point], radii: list[float], numbers: list[int], where: str
) -> list[Corner]:
    n = len(points)
    out = []
    for i in range(n):
        a, b, c = points[i - 1], points[i], points[(i + 1) % n]
        u = (b[0] - a[0], b[1] - a[1])
        v = (c[0] - b[0], c[1] - b[1])
        turn = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
        radius = radii[i]
        if not (math.isfinite(radius) and radius >= 0):
            raise InputError(
                f"corner {numbers[i]} of {where}",
                f"radius {radius * 1e3:.6g} mm",
                "a corner radius is 0 mm or more",
                "Give the radius as a length, or leave it out for a sharp corner.",
            )
        if abs(turn) < 1e-9 or radius < SHARP_M:
            radius = 0.0
        out.append(Corner(numbers[i], b[0], b[1], radius, turn))
    return out


def _check_radii(sides: tuple[Side, ...], where: str) -> None:
    for i, s in enumerate(sides):
        need = s.start.tangent + s.end.tangent
        if need <= s.side * (1 + 1e-9) + 1e-12:
            continue
        worst = s.start if s.start.tangent >= s.end.tangent else s.end
        before = sides[i - 1] if worst is s.start else s
        after = s if worst is s.start else sides[(i + 1) % len(sides)]
        other = s.end if worst is s.start else s.start
        room = min(before.side, after.side, max(s.side - other.tangent, 0.0))
        if other.radius and other.tangent > 0:
            room = min(before.side, after.side, s.side / 2)
        limit = room / math.tan(abs(worst.turn) / 2)
        raise InputError(
            f"corner {worst.number} of {where}",
            f"radius {worst.radius * 1e3:.6g} mm",
            say(
                "the sides that meet there leave room for at most {limit:.4g} (edge {number} is "
                "{side:.6g} long)",
                limit=Amount(limit * 1000.0, "mm"),
                number=s.number,
                side=Amount(s.side * 1000.0, "mm"),
            ),
            "Make the radius smaller, or the side longer.",
        )


def _path(sides: tuple[Side, ...]) -> Path:
    out: list[Piece] = []
    for s in sides:
        ux, uy = (s.end.x - s.start.x) / s.side, (s.end.y - s.start.y) / s.side
        t0, t1 = s.start.tangent, s.end.tangent
        p = (s.start.x + ux * t0, s.start.y + uy * t0)
        q = (s.end.x - ux * t1, s.end.y - uy * t1)
        if s.side - t0 - t1 > 1e-12:
            out.append(Line(p[0], p[1], q[0], q[1]))
        c = s.end
        if c.radius:
            side = math.copysign(1.0, c.turn)
            cx, cy = q[0] - side * uy * c.radius, q[1] + side * ux * c.radius
            start = math.atan2(q[1] - cy, q[0] - cx)
            out.append(Arc(cx, cy, c.radius, start, c.turn))
    return tuple(out)


def _check_rounded(outline: Outline, where: str) -> None:
    """Roundings can still run into a far side of a narrow shape; shapely looks for that."""
    from shapely import Polygon, get_coordinates
    from shapely.validation import explain_validity

    polygon = Polygon(path_points(outline.path, 1e-4))
    if polygon.is_valid:
        return
    text = explain_validity(polygon)
    spot = text.partition("[")[2].rstrip("]").split()
    x, y = (float(spot[0]), float(spot[1])) if len(spot) == 2 else get_coordinates(polygon)[0]
    rounded = [c for c in outline.corners if c.radius]
    worst = min(rounded, key=lambda c: math.dist((c.x, c.y), (x, y)))
    raise InputError(
        f"corner {worst.number} of {where}",
        f"radius {worst.radius * 1e3:.6g} mm",
        "its rounding runs into another side of the outline",
        "Make the radius smaller.",
    )
