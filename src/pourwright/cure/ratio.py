"""Off-ratio mixes: how wrong the measuring can be, what it costs, and what the cup tells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from pourwright.cure.gel import network, sol_fraction
from pourwright.cure.history import AirHistory
from pourwright.cure.layer import film_history
from pourwright.cure.resin import Resin
from pourwright.errors import InputError

if TYPE_CHECKING:
    from pourwright.calc.sampling import Draws

Floats = Any  # float or array of floats
_Array = NDArray[np.float64]

GOOD_LOW, GOOD_HIGH = 0.90, 1.10  # B inside which about 5 % of junctions are lost at most [-]

Seen = Literal["clean", "tacky", "soft", "streaks"]


@dataclass(frozen=True, slots=True)
class Measuring:
    """How A and B are measured.

    Parameters
    ----------
    amount_a, amount_b : float [m3 or kg]
        Amounts meant, both in volume or both in mass, above 0.
    step : float [m3 or kg]
        Division of the jug or resolution of the scale, at least 0.
    read_error : float [-]
        Reading error in divisions, one standard deviation (0.5 for a jug read on the level).
    stuck_a, stuck_b : float [m3 or kg]
        What stays in the measuring jug, at least 0, uncertain by half.
    """

    amount_a: float
    amount_b: float
    step: float
    read_error: float = 0.5
    stuck_a: float = 0.0
    stuck_b: float = 0.0

    def __post_init__(self) -> None:
        for name in ("amount_a", "amount_b"):
            value = getattr(self, name)
            if not 0.0 < value < 1e6:
                raise InputError(
                    f"measuring.{name}", value, "it must be more than 0", "Give what you measure."
                )
        for name in ("step", "read_error", "stuck_a", "stuck_b"):
            value = getattr(self, name)
            if not 0.0 <= value < 1e6:
                raise InputError(
                    f"measuring.{name}", value, "it must be at least 0", "Leave it out if unknown."
                )
        for part in "ab":
            if getattr(self, f"stuck_{part}") >= 0.9 * getattr(self, f"amount_{part}"):
                raise InputError(
                    f"measuring.stuck_{part}",
                    getattr(self, f"stuck_{part}"),
                    "it must be well under the amount measured",
                    "Measure into a smaller jug, or straight into the mixing cup.",
                )


def balance_samples(measuring: Measuring, draws: Draws, exact: Floats = 1.0) -> _Array:
    """Balance B of mixes measured so.

    Parameters
    ----------
    measuring : Measuring [-]
        Amounts and errors.
    draws : Draws [-]
        Common random numbers.
    exact : float or array [-]
        B if the amounts meant were met exactly.

    Returns
    -------
    array [-]
        B = exact (b/b0)/(a/a0) with reading errors and what stuck, shape (count,).

    Source: error propagation by sampling.
    """
    m = measuring

    def reach(amount: float, stuck: float, part: str) -> _Array:
        read = amount + m.step * m.read_error * draws.normal(f"cure.ratio.read_{part}")
        left = stuck * np.clip(1.0 + 0.5 * draws.normal(f"cure.ratio.stuck_{part}"), 0.0, None)
        return np.maximum(read - left, 0.02 * amount)

    a = reach(m.amount_a, m.stuck_a, "a") / m.amount_a
    b = reach(m.amount_b, m.stuck_b, "b") / m.amount_b
    return np.asarray(exact * b / a)


@dataclass(frozen=True, eq=False)
class OffRatio:
    """What a balance costs once everything has reacted; arrays broadcast from the inputs.

    Parameters
    ----------
    balance : array [-]
        B.
    conversion : array [-]
        Highest epoxide conversion, min(1, B).
    junctions : array [-]
        Share of the network's junctions, 1 at the exact ratio.
    sol : array [-]
        Mass share that is not tied in.
    tg_K : array [K]
        Glass transition of the fully reacted mix.
    """

    balance: _Array
    conversion: _Array
    junctions: _Array
    sol: _Array
    tg_K: _Array


def off_ratio(
    resin: Resin, balance: Floats, epoxide_weight: Floats = 0.190, amine_weight: Floats = 0.0426
) -> OffRatio:
    """Network, sol and Tg of an off-ratio mix, fully reacted.

    Parameters
    ----------
    resin : Resin [SI]
        For its Tg.
    balance : float or array [-]
        B, 0.05 to 20.
    epoxide_weight, amine_weight : float or array [kg/mol]
        EEW and AHEW.

    Returns
    -------
    OffRatio [-]
        Ideal network of diepoxide and tetrafunctional amine, limiting group used up.

    Raises
    ------
    InputError
        A balance out of range.

    Source: Miller and Macosko 1976 (from memory). Tg: DiBenedetto at the mean conversion of the two
    groups sqrt(pA pE), our own proposal; no table of Tg against ratio was found in print.
    """
    b = np.asarray(balance, dtype=float)
    if not np.all((b >= 0.05) & (b <= 20.0)):
        raise InputError(
            "balance", balance, "it must be 0.05 to 20", "1 is the exact ratio; measure again."
        )
    top = np.minimum(1.0, b)
    _, junctions, _ = network(top, b)
    mean = top / np.sqrt(b)
    tg = resin.tg_start + (resin.tg_end - resin.tg_start) * resin.tg_bend * mean / (
        1.0 - (1.0 - resin.tg_bend) * mean
    )
    return OffRatio(
        b,
        top,
        np.asarray(junctions),
        np.asarray(sol_fraction(top, b, epoxide_weight, amine_weight)),
        np.asarray(tg),
    )


def soft_spot_chance(balance: _Array, weights: _Array | None = None) -> float:
    """Chance that a mix is off enough to stay soft or tacky somewhere.

    Parameters
    ----------
    balance : array [-]
        Samples of B.
    weights : array or None [-]
        Their weights.

    Returns
    -------
    float [-]
        Share of B outside 0.90 to 1.10, where more than about 5 % of the junctions are missing.

    Source: limits from Miller and Macosko junction shares (computed); the step from junctions to
    soft spots is common practice.
    """
    bad = (np.asarray(balance) < GOOD_LOW) | (np.asarray(balance) > GOOD_HIGH)
    w = np.ones_like(bad, dtype=float) if weights is None else np.asarray(weights, dtype=float)
    return float((bad * w).sum() / w.sum())


@dataclass(frozen=True, eq=False)
class CupVerdict:
    """What the cup release check says.

    Parameters
    ----------
    expected_hard : float [-]
        Chance that a well mixed cup would be hard by then.
    soft_before, soft_after : float [-]
        Chance of soft spots before and after looking at the cup.
    meaning : str [-]
        In words, with what to do.
    weights : array [-]
        Weights of the samples after the look, shape (n,).
    """

    expected_hard: float
    soft_before: float
    soft_after: float
    meaning: str
    weights: _Array


def cup_release(
    resin: Resin,
    balance: _Array,
    air: AirHistory,
    poured_s: float,
    seen_s: float,
    seen: Seen,
    film_m: float = 0.001,
) -> CupVerdict:
    """Read the cup release check: does the left-over come out of its cup clean and hard?

    Parameters
    ----------
    resin : Resin [SI]
        n samples.
    balance : array [-]
        Samples of B, shape (n,), e.g. from `balance_samples`.
    air : AirHistory [K over s]
        Where the cup stood.
    poured_s, seen_s : float [s]
        When the cup was emptied and when it was looked at.
    seen : str [-]
        ``clean`` (hard, releases), ``tacky``, ``soft`` (bends, marks with a nail) or ``streaks``
        (hard with wet streaks: not mixed through).
    film_m : float [m]
        Film left in the cup.

    Returns
    -------
    CupVerdict [-]
        Bayes' rule over the samples; a look is taken to be right 95 times in 100.

    Raises
    ------
    InputError
        A look before the pour, or a word that is none of the four.

    Source: check by cup, common practice; probabilities computed.
    """
    if seen not in get_args(Seen):
        raise InputError("seen", seen, "it is clean, tacky, soft or streaks", "Use one of these.")
    if not seen_s > poured_s:
        raise InputError(
            "seen_s", seen_s, "it must be later than the pour", "Give when you looked at the cup."
        )
    b = np.clip(np.broadcast_to(balance, (resin.count,)), 0.34, 2.9)
    times = np.linspace(poured_s, seen_s, 40)

    def state(mix: Resin) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        film = film_history(mix, air, poured_s, film_m, None, seen_s - poured_s, times_s=times)
        a = film.conversion[:, -1]
        # Tg of the mixed ratio: both groups count, see off_ratio
        tg = mix.tg(a / np.sqrt(np.asarray(mix.balance)))
        dry = a >= mix.tack
        return dry, dry & (tg >= film.temperature[:, -1] - 10.0)

    even = resin.with_balance(np.ones(resin.count))
    hard_even = float(np.mean(state(even)[1]))
    dry, hard = state(resin.with_balance(b))
    off = (b < GOOD_LOW) | (b > GOOD_HIGH)
    kind = np.where(hard & ~off, 0, np.where(dry, 1, 2))  # hard, under-cured or off, wet
    chance = {
        "clean": (0.95, 0.30, 0.02),
        "tacky": (0.03, 0.35, 0.58),
        "soft": (0.02, 0.35, 0.40),
        "streaks": (0.05, 0.10, 0.10),
    }[seen]
    weights = np.asarray(chance)[kind]
    before, after = soft_spot_chance(b), soft_spot_chance(b, weights)
    if seen == "streaks":
        meaning = (
            "Wet streaks beside hard resin mean that it was not mixed through, whatever the ratio: "
            "expect the same streaks in the film; scrape walls and base and stir longer next time."
        )
    elif seen == "clean":
        meaning = "Hard and released clean: ratio and mixing were right. Go on."
    elif hard_even < 0.5:
        meaning = (
            "Too early to judge: at this temperature even a right mix would usually not be hard "
            "yet. Look again later."
        )
    else:
        meaning = (
            "A right mix would be hard by now: suspect the ratio or the mixing. Do not coat over "
            "it; test the film itself with a nail and a solvent wipe, following the data sheet."
        )
    return CupVerdict(hard_even, before, after, meaning, weights)
