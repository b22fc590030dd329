"""What takes the bow out of a panel, each change worked out and its left-over said."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pourwright.calc.sampling import Z95
from pourwright.endure.bow import balancing_back, panel_bow
from pourwright.endure.build import Panel
from pourwright.endure.layers import Layer
from pourwright.endure.span import section
from pourwright.words import Amount, joined, say

BACK_OFF = 0.1
"""How far off the film poured on a back may be, 5 to 95 %, as a share [-] (common practice)."""
POURED_M = 0.2e-3
"""A film from which a coat counts as poured, not brushed [m] (common practice)."""


def _mm(x: float) -> str:
    return say("{length:.1f}" if abs(x) >= 1e-3 else "{length:.2f}", length=Amount(1000 * x, "mm"))


def left_over(panel: Panel, layers: Sequence[Layer], change: float) -> float:
    """Bow that 19 of 20 panels of a build-up stay under.

    Parameters
    ----------
    panel : Panel [-]
        Gives the length.
    layers : sequence of Layer [-]
        Sampled layers, from the face to the back.
    change : float [K]
        Temperature change since the film became solid.

    Returns
    -------
    float [m]
        95 % point of the bow's size.
    """
    return float(np.quantile(np.abs(panel_bow(layers, panel.shape.length, change).bow), 0.95))


def bow_remedies(panel: Panel, change: float = 0.0) -> list[str]:
    """What would take the bow out of a panel, with computed effects.

    Parameters
    ----------
    panel : Panel [-]
        The panel.
    change : float [K]
        Temperature change since the film became solid.

    Returns
    -------
    list of str [-]
        Sentences: film on the back, thicker core, shorter pieces, force that holds it flat. "At
        most" is the 95 % point of the samples; sizes are worked out with middle values.
    """
    length = panel.shape.length
    limit = length / panel.service.flat_ratio
    now = panel_bow(panel.middle, length, change)
    out = _back(panel, change, float(now.bow))
    more = _thicker(panel, change, limit)
    if more is not None:
        out.append(more)
    reach = length * limit / max(left_over(panel, panel.layers, change), 1e-9)
    if reach >= 0.3:
        out.append(
            say(
                "Pieces no longer than {reach:.0f} stay flat enough as they are.",
                reach=Amount(10 * np.floor(100 * reach), "mm"),
            )
        )
    part = section(panel.middle, panel.shape.width)
    pull = abs(float(now.curvature)) * 6.0 * float(part.bending) / length
    out.append(
        say(
            "Or hold it flat: about {pull:.0f} at the middle draws it straight.",
            pull=Amount(pull, "N"),
        )
    )
    if panel.coupon is None:
        out.append(say("A coupon of your own resin narrows the range most."))
    return out


def _back(panel: Panel, change: float, bow: float) -> list[str]:
    """A film on the back that balances the face, or a thinner one where it is too strong."""
    coats = [(i, x) for i, x in enumerate(panel.middle) if x.role == "coat"]
    if not coats:
        return []
    at, lead = max(coats, key=lambda ix: float(np.asarray(ix[1].thickness)))
    backs = [i for i, x in enumerate(panel.middle) if x.role == "back"]
    if bow > 0:
        poured = [(i, x) for i, x in coats if float(np.asarray(x.thickness)) >= POURED_M]
        if len(poured) > 1 and not any(
            float(np.asarray(panel.middle[i].thickness)) >= POURED_M for i in backs
        ):
            return _mirrored(panel, change, poured)
        back = balancing_back(panel.middle, lead.with_(role="back"), temperature_change=change)
        if not back:
            return []
        if backs and back < POURED_M:
            return [_even()]
        films = [_on_back(panel, at, back, "endure.bow_back")]
        left = left_over(panel, [*panel.layers, *films], change)
        told = say(
            "Coat the back with {back} of the same resin: at most {left} of bow is left, and "
            "it weighs {mass:.1f} more.",
            back=_mm(back),
            left=_mm(left),
            mass=Amount(back * float(np.asarray(lead.density)) * panel.area, "kg"),
        )
        return [joined(" ", (told, *_and_thicker(panel, films, change)))]
    if not backs:
        return []

    def kappa(share: float) -> float:
        rows = [
            x.with_(thickness=np.asarray(x.thickness) * share) if i in backs else x
            for i, x in enumerate(panel.middle)
        ]
        return float(panel_bow(rows, 1.0, change).curvature)

    low, high = 0.02, 1.0
    if kappa(low) < 0.0:
        return []
    for _ in range(40):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if kappa(mid) > 0.0 else (low, mid)
    thick = float(sum(np.asarray(panel.middle[i].thickness) for i in backs))
    if thick * (1.0 - low) < 0.05e-3:
        return [_even()]
    rows = [
        x.with_(thickness=np.asarray(x.thickness) * low) if i in backs else x
        for i, x in enumerate(panel.layers)
    ]
    return [
        say(
            "Make the film on the back {thin} instead of {thick}: at most {left} of bow is left.",
            thin=_mm(thick * low),
            thick=_mm(thick),
            left=_mm(left_over(panel, rows, change)),
        )
    ]


def _even() -> str:
    return say("Face and back balance: what is left comes of uneven films; gauge both.")


def _on_back(panel: Panel, at: int, thickness: float, stream: str) -> Layer:
    """The sampled film `at` laid on the back [m], as unevenly as films are poured."""
    wobble = np.clip(1.0 + BACK_OFF * panel.draws.normal(stream) / Z95, 0.2, 3.0)
    return panel.layers[at].with_(role="back", thickness=thickness * wobble)


def _mirrored(panel: Panel, change: float, poured: Sequence[tuple[int, Layer]]) -> list[str]:
    """The same coats on the back in the same order, counted from the core."""
    films = [
        _on_back(panel, i, float(np.asarray(x.thickness)), f"endure.bow_back.{i}")
        for i, x in reversed(poured)
    ]
    mass = sum(float(np.asarray(x.thickness)) * float(np.asarray(x.density)) for _, x in poured)
    told = say(
        "Coat the back like the face, {film} in all: at most {left} of bow is left, and it "
        "weighs {mass:.1f} more.",
        film=_mm(sum(float(np.asarray(x.thickness)) for _, x in poured)),
        left=_mm(left_over(panel, [*panel.layers, *films], change)),
        mass=Amount(mass * panel.area, "kg"),
    )
    return [joined(" ", (told, *_and_thicker(panel, films, change)))]


def _and_thicker(panel: Panel, films: Sequence[Layer], change: float) -> list[str]:
    """More core beside the film on the back, where that film alone may leave too much bow.

    Said in one breath with it, so that nobody does half of what it takes.
    """
    limit = panel.shape.length / panel.service.flat_ratio

    def left(mm: int) -> float:
        rows = panel.changed(core_more=mm / 1000.0, sampled=True)
        return left_over(panel, [*rows, *films], change)

    if left(0) <= limit:
        return []
    most = round(1000.0 * float(np.asarray(panel.middle[panel.core].thickness)))
    low, high = 0, most
    if left(high) > limit:
        return [
            say(
                "With that back and a core {more:g} thicker at most {left}: shorter pieces too.",
                more=Amount(most, "mm"),
                left=_mm(left(most)),
            )
        ]
    while high - low > 1:
        mid = (low + high) // 2
        low, high = (low, mid) if left(mid) <= limit else (mid, high)
    return [
        say(
            "With that back and a core {more:g} thicker it bows at most {left}.",
            more=Amount(high, "mm"),
            left=_mm(left(high)),
        )
    ]


def _thicker(panel: Panel, change: float, limit: float) -> str | None:
    """Least whole millimetres of core that bring 19 of 20 panels under the limit, up to twice it."""

    def left(mm: int) -> float:
        return left_over(panel, panel.changed(core_more=mm / 1000.0, sampled=True), change)

    low, high = 0, round(1000.0 * float(np.asarray(panel.middle[panel.core].thickness)))
    if left(high) > limit:
        return None
    while high - low > 1:
        mid = (low + high) // 2
        low, high = (low, mid) if left(mid) <= limit else (mid, high)
    return say(
        "A core {more:g} thicker bows at most {left}.",
        more=Amount(high, "mm"),
        left=_mm(left(high)),
    )
