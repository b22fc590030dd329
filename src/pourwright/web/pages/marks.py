"""Checks as bars, and the shades of a finish as a small drawing: numbers ready for a template."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pourwright.drawing import Drawing

WIDE = 600.0
LIMIT_AT = 400.0


def bar(check: Mapping[str, Any]) -> dict[str, Any]:
    """Where value, range and limit of a check stand on a bar 600 wide [-].

    The limit stands at two thirds when value and limit are above nought; else the bar spans them.
    """
    limit, value = _sound(check["limit"]), _sound(check["value"])
    spread = check.get("spread")
    low, high = (_sound(spread["p05"]), _sound(spread["p95"])) if spread else (None, None)
    if limit > 1e-9 and value >= 0:
        zero, scale = 0.0, LIMIT_AT / limit
    else:
        ends = [limit, value, 0.0]
        zero = min(ends) - 0.1 * (max(ends) - min(ends))
        scale = WIDE / max(1.2 * (max(ends) - min(ends)), 1e-9)

    def at(x: float) -> float:
        return round(min(max((x - zero) * scale, 2.0), WIDE), 1)

    return {
        "limit": at(limit),
        "value": at(value),
        "low": None if low is None else at(low),
        "high": None if high is None else at(high),
        "over": (value - zero) * scale > WIDE,
    }


def _sound(x: Any) -> float:
    return float(x) if isinstance(x, int | float) and math.isfinite(x) else 0.0


def with_bars(
    checks: Iterable[Mapping[str, Any]],
) -> list[tuple[Mapping[str, Any], dict[str, Any]]]:
    """Checks with their bars [-], the worst first."""
    order = {"no": 0, "unsure": 1, "yes": 2}
    return [(c, bar(c)) for c in sorted(checks, key=lambda c: order.get(c["passed"], 1))]


def strip(
    parts: Sequence[tuple[str, float, str]], wide: float = 640.0, high: float = 360.0
) -> Drawing:
    """Shades lying side by side in their shares, as one would pour them into a tray.

    Parameters
    ----------
    parts : sequence of (str, float, str) [-]
        Colour as #rrggbb, share of the volume, and part: ``field``, ``vein`` or ``accent``.
    wide, high : float [mm]
        Size of the drawing.

    Returns
    -------
    Drawing [mm]
        Bands with gently waved borders, veins as threads across them; areas are the shares.
    """
    fields = [p for p in parts if p[2] == "field"] or list(parts)
    threads = [p for p in parts if p not in fields]
    whole = sum(p[1] for p in parts) or 1.0
    made = Drawing(wide, high, background=fields[0][0] if fields else None)
    room = sum(p[1] for p in fields) or 1.0
    at = 0.0
    for k, (colour, share, _) in enumerate(fields):
        if k:
            made.path(
                f"M{_wave(at, wide, high, k)}L{wide:.0f} {high:.0f}L0 {high:.0f}Z", fill=colour
            )
        at += high * share / room
    for k, (colour, share, _) in enumerate(threads):
        y = high * (0.36 + 0.3 * k)
        made.path(f"M{_wave(y, wide, high, k + 5, 2.2)}", fill="none", stroke=colour,
                  stroke_width=high * share / whole)  # fmt: skip
    return made


def _wave(y: float, wide: float, high: float, k: int, wild: float = 1.0) -> str:
    """A waved line at `y`: whole waves, so that no band gains area by them."""
    swing = 0.03 * high * wild
    steps = 64
    points = []
    for j in range(steps + 1):
        x = j / steps
        lift = math.sin(2 * math.pi * (2 * x + 0.31 * k)) + 0.5 * math.sin(
            2 * math.pi * (3 * x + 0.17 * k)
        )
        points.append(f"{x * wide:.1f} {y + swing * lift:.1f}")
    return "L".join(points)


def strip_svg(parts: Sequence[tuple[str, float, str]]) -> str:
    """`strip` of `parts` [-] as SVG text to stand in a page, hidden from screen readers."""
    text = strip(parts).svg()
    head, rest = text.split(">", 1)
    del head
    return (
        '<svg class="strip swatch" viewBox="0 0 640 360" preserveAspectRatio="none" '
        f'aria-hidden="true" focusable="false">{rest}'
    )


def colours_of(plan: Mapping[str, Any] | None) -> list[tuple[str, float, str]]:
    """Colours, shares and parts of the finish [-]: shades over the primer, clear as the primer."""
    if not plan:
        return []
    out = []
    known = {s["id"]: s for s in plan["shades"]}
    for part in plan["job"]["colour"]["shades"]:
        share = float(str(part["share"]).rstrip("% ")) if part.get("share") else 0.0
        shade = known.get(part["shade"])
        colour = over_primer(shade) if shade else primer_colour(plan)
        out.append((colour, share, part.get("part", "field")))
    return out or [(primer_colour(plan), 1.0, "field")]


def over_primer(shade: Mapping[str, Any]) -> str:
    """The colour [-] of a shade over the job's own undercoat."""
    own = [c for over, c in shade["swatches"].items() if over not in ("white card", "black card")]
    return str(own[0] if own else next(iter(shade["swatches"].values())))


PRIMERS = {"dark": "#34373a", "white": "#eceae4", "sand": "#cdb78e", "grey": "#85837f"}
"""Stand-ins for primed core seen through clear resin, by tint, for small drawings only [-]."""


def primer_colour(plan: Mapping[str, Any]) -> str:
    """The colour [-] that stands for clear resin: the primed core that shows through it."""
    tint = (plan["job"].get("primer") or {}).get("tint", "")
    return PRIMERS.get(tint, "#b79f7c")
