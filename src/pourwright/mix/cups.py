"""Cups of a batch: which shade, how much A, B and pigment, and how to mix them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pourwright.mix.measuring import Spoken, round_paste, spoken_portion
from pourwright.mix.ratio import Pigment, Portion, RatioError, ResinRatio, portion, ratio_error
from pourwright.mix.shades import Role, Shade
from pourwright.words import Amount, Listed, Reading, say

CUP_CAUTION = (
    "A full cup of resin heats itself and can smoke or burn: pour it out in time, never leave or "
    "bin it full. Wear nitrile gloves and goggles; uncured resin sensitises skin. The product's "
    "data sheet decides."
)


@dataclass(frozen=True, slots=True)
class Measuring:
    """How amounts are read: by mass or volume, with divisions and errors.

    `mass_step` [kg] and `volume_step` [m3] are divisions; `paste_step` [kg] that of the fine
    scale for pigment; `scale_error` [-] a calibration error of the reading as a share.
    """

    by: str = "mass"
    mass_step: float = 1e-3
    volume_step: float = 10e-6
    paste_step: float = 0.1e-3
    scale_error: float = 0.002

    @property
    def step(self) -> float:
        """The division in use [kg or m3]."""
        return self.mass_step if self.by == "mass" else self.volume_step


@dataclass(frozen=True, slots=True)
class Cup:
    """One cup: its id, batch, shade, exact portion, spoken amounts, and times.

    `needed` [m3] is what the plan asks of it, `spare` [m3] what the least practical cup adds.
    `spoken` is None where the amounts are too small for the scale. `pastes` are rounded pigment
    masses [kg]. `mix_at` [s] is when B meets A, from the start of the coat; `pour_by` [s] when it
    must be out of the cup. `clear`: its A and B come mixed from the batch's bucket.
    """

    id: str
    batch: str
    shade: str
    role: Role
    needed: float
    spare: float
    portion: Portion
    spoken: Spoken | None
    pastes: dict[str, float]
    ratio_error: RatioError | None
    mix_at: float = 0.0
    pour_by: float = math.inf
    clear: bool = False

    @property
    def volume(self) -> float:
        """Filling by plan [m3]."""
        return self.portion.volume


@dataclass(frozen=True, slots=True)
class Bucket:
    """Clear mix for the cups of a batch: id, exact portion [m3, kg], spoken amounts."""

    id: str
    portion: Portion
    spoken: Spoken | None


def make_bucket(bucket_id: str, volume: float, ratio: ResinRatio, measuring: Measuring) -> Bucket:
    """A bucket of clear mix.

    Parameters
    ----------
    bucket_id : str [-]
    volume : float [m3]
        A and B together.
    ratio : ResinRatio [-]
    measuring : Measuring [kg, m3]

    Returns
    -------
    bucket : Bucket [m3], [kg]
    """
    exact = portion(volume, ratio)
    return Bucket(bucket_id, exact, _spoken(exact, ratio, measuring))


def _spoken(exact: Portion, ratio: ResinRatio, measuring: Measuring) -> Spoken | None:
    small = min(exact.a_mass, exact.b_mass)
    if measuring.by == "volume":
        small = min(exact.a_volume, exact.b_volume)
    if small < measuring.step:
        return None
    return spoken_portion(exact, ratio, measuring.step, measuring.by)


def make_cup(
    cup_id: str,
    batch: str,
    shade: Shade,
    needed: float,
    ratio: ResinRatio,
    measuring: Measuring,
    least: float,
) -> Cup:
    """A cup of a shade with exact and spoken amounts.

    Parameters
    ----------
    cup_id, batch : str [-]
    shade : Shade [-]
    needed : float [m3]
    ratio : ResinRatio [-]
    measuring : Measuring [kg, m3]
    least : float [m3]
        Smallest cup that mixes true; a smaller need is filled up to it.

    Returns
    -------
    cup : Cup [m3], [kg]

    Raises
    ------
    InputError
        A pigment beyond its limit.
    """
    filling = max(needed, least)
    exact = portion(filling, ratio, shade.pigments)
    spoken, error = _spoken(exact, ratio, measuring), None
    if spoken is not None:
        error = ratio_error(
            spoken.a,
            spoken.b,
            min(measuring.step / 2 + measuring.scale_error * spoken.a, spoken.a / 2),
            min(measuring.step / 2 + measuring.scale_error * spoken.b, spoken.b / 2),
        )
        off = 1 + spoken.off_ratio
        error = RatioError((1 + error.low) * off - 1, (1 + error.high) * off - 1, None)
    return Cup(
        id=cup_id,
        batch=batch,
        shade=shade.name,
        role=shade.role,
        needed=needed,
        spare=filling - needed,
        portion=exact,
        spoken=spoken,
        pastes=_pastes(exact, shade.pigments, measuring.paste_step),
        ratio_error=error,
    )


def _pastes(exact: Portion, pigments: tuple[Pigment, ...], step: float) -> dict[str, float]:
    return {
        p.name: round_paste(
            exact.pigments[p.name], step, None if p.limit is None else p.limit * exact.resin_mass
        )
        for p in pigments
    }


def cup_steps(cup: Cup, mix_s: float = 120.0) -> list[str]:
    """What to do with a cup, in order (common practice).

    Parameters
    ----------
    cup : Cup [kg, m3]
    mix_s : float [s]
        Length of the first mixing.

    Returns
    -------
    steps : list of str [-]
        One sentence each. 2 min mixing, then scrape, stir again two or three times (common
        practice); the data sheet's own mixing time goes first.
    """
    if cup.clear:
        steps = [
            say(
                "Take {mass} of the clear mix from the bucket.",
                mass=Reading(cup.portion.resin_mass * 1e3, "g"),
            )
        ]
        if cup.pastes:
            steps.append(say("Add {pastes} and stir until no streak is left.", pastes=_listed(cup)))
        return [*steps, "Scrape the sides, the bottom and the stick, and stir again.", *_by(cup)]
    s = cup.spoken
    if s is None:
        a = Reading(cup.portion.a_mass * 1e3, "g", 2)
        b = Reading(cup.portion.b_mass * 1e3, "g", 2)
    elif s.by == "mass":
        digits = _digits(s.step * 1e3)
        a, b = Reading(s.a * 1e3, "g", digits), Reading(s.b * 1e3, "g", digits)
    else:
        digits = _digits(s.step * 1e6)
        a, b = Reading(s.a * 1e6, "mL", digits), Reading(s.b * 1e6, "mL", digits)
    steps = [say("Tare the cup and put in {a} of A.", a=a)]
    if cup.pastes:
        steps.append(
            say("Add {pastes} and stir it into A until no streak is left.", pastes=_listed(cup))
        )
    steps += [
        say("Add {b} of B into the same cup and start the clock: the resin now heats itself.", b=b),
        say("Mix for {mix:.3g}, slowly, without whipping in air.", mix=Reading(mix_s / 60, "min")),
        "Scrape the sides, the bottom and the stick.",
        "Stir again two or three times, then let no unscraped resin off the wall run out.",
    ]
    return [*steps, *_by(cup)]


def _listed(cup: Cup) -> Listed:
    return Listed(
        say("{mass} {paste}", mass=Reading(m * 1e3, "g", 1), paste=name)
        for name, m in cup.pastes.items()
    )


def _by(cup: Cup) -> list[str]:
    if not math.isfinite(cup.pour_by):
        return []
    return [
        say(
            "Pour it out within {within:.0f} of adding B.",
            within=Amount((cup.pour_by - cup.mix_at) / 60, "min"),
        )
    ]


def _digits(step: float) -> int:
    return 0 if step >= 0.999 else max(0, math.ceil(-math.log10(step) - 1e-9))
