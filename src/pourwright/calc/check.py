"""One check against a limit: the value that hold points and endurance answers share.

A `Check` compares a value (or samples of it) with a limit, says in plain words what the limit is
and where it comes from, and what would change a "no" into a "yes".
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from pydantic import BaseModel, ConfigDict

from pourwright.calc.base import Spread
from pourwright.calc.sampling import spread_of
from pourwright.errors import InputError
from pourwright.words.fields import Text

Sense = Literal["at most", "at least"]
Passed = Literal["yes", "no", "unsure"]
SURE = 0.95  # share of the samples that must be on one side for a plain yes or no [-]


class Check(BaseModel):
    """A value held against a limit, with everything a person needs to act on it.

    Attributes
    ----------
    name : str [-]
        Stable dotted key, e.g. ``endure.span.sag``.
    title : str [-]
        What is checked, in the trade's words.
    value, limit : float [unit]
        Middle value and middle limit, both in `unit`.
    unit : str [-]
        Unit text that the quantity reader knows, or ``""``.
    sense : str [-]
        ``at most`` or ``at least``: how the value must stand to the limit.
    spread : Spread or None [unit]
        5, 50 and 95 % points of the value when it was sampled.
    margin : float [unit]
        How far the value is on the good side of the limit; negative when it fails.
    margin_spread : Spread or None [unit]
        5, 50 and 95 % points of the margin when it was sampled.
    chance : float [-]
        Share of the samples that meet the limit; 0 or 1 when nothing was sampled.
    passed : str [-]
        ``yes``, ``no``, or ``unsure`` when less than 95 % of the samples agree.
    criterion : str [-]
        The rule in words.
    source : str [-]
        Where the limit comes from, with its mark.
    moment : str [-]
        When the worst value occurs, or when to look, in words; may be empty.
    caution : str [-]
        The safety sentence to print beside the number; may be empty.
    remedies : tuple of str [-]
        What to change to pass, with computed effects; empty when it passes.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    title: Text
    value: float
    unit: str
    limit: float
    sense: Sense
    spread: Spread | None = None
    margin: float
    margin_spread: Spread | None = None
    chance: float
    passed: Passed
    criterion: Text
    source: Text
    moment: Text = ""
    caution: Text = ""
    remedies: tuple[Text, ...] = ()

    @classmethod
    def of(
        cls,
        name: str,
        title: str,
        value: ArrayLike,
        unit: str,
        limit: ArrayLike,
        sense: Sense,
        criterion: str,
        source: Any,
        *,
        moment: str = "",
        caution: str = "",
        remedies: Iterable[str] = (),
    ) -> Check:
        """Build a check from a value and a limit, either of which may be samples.

        Parameters
        ----------
        name, title : str [-]
            Stable key, and what is checked in words.
        value, limit : float or array, shape (n,) [unit]
            The value and its limit, as one number or as samples.
        unit : str [-]
            Unit of both.
        sense : str [-]
            ``at most`` or ``at least``.
        criterion : str [-]
            The rule in words.
        source : Source or str [-]
            Where the limit comes from.
        moment, caution : str [-]
            When the worst value occurs; the safety sentence.
        remedies : iterable of str [-]
            What to change to pass; dropped when it passes.

        Returns
        -------
        Check [unit]
            With margin, chance and verdict worked out.

        Raises
        ------
        InputError
            When a value or limit is not a number; a check is never silently passed.
        """
        v = np.atleast_1d(np.asarray(value, dtype=float))
        m = np.atleast_1d(np.asarray(limit, dtype=float))
        for what, a in (("value", v), ("limit", m)):
            if a.size == 0 or np.any(np.isnan(a)):
                raise InputError(
                    f"{name}.{what}",
                    "not a number",
                    "a check needs a number on both sides",
                    "Fill in the value that is missing.",
                )
        gap = m - v if sense == "at most" else v - m
        # tiny slack: a value computed to equal its limit meets it
        slack = 1e-12 * np.maximum(np.abs(v), np.abs(m))
        chance = float(np.mean(gap >= -slack))
        sampled = gap.size > 1
        margin_spread = spread_of(np.broadcast_to(gap, gap.shape)) if sampled else None
        value_spread = spread_of(v) if v.size > 1 else None
        passed: Passed = "yes" if chance >= SURE else "no" if chance <= 1.0 - SURE else "unsure"
        return cls(
            name=name,
            title=title,
            value=value_spread.p50 if value_spread else float(v[0]),
            unit=unit,
            limit=float(np.median(m)),
            sense=sense,
            spread=value_spread,
            margin=margin_spread.p50 if margin_spread else float(gap[0]),
            margin_spread=margin_spread,
            chance=chance,
            passed=passed,
            criterion=criterion,
            source=source if isinstance(source, str) else str(source),
            moment=moment,
            caution=caution,
            remedies=() if passed == "yes" else tuple(remedies),
        )

    @property
    def use(self) -> float:
        """How much of the limit is used [-]: 1 is exactly at it, above 1 fails."""
        if self.sense == "at most":
            return self.value / self.limit if self.limit else float("inf")
        return self.limit / self.value if self.value else float("inf")

    def line(self) -> str:
        """The check as one printable line [-]: verdict, title, value, limit."""
        unit = f" {self.unit}" if self.unit else ""
        between = ""
        if self.spread is not None:
            between = f" ({self.spread.p05:.3g} to {self.spread.p95:.3g})"
        return (
            f"{self.passed}: {self.title}: {self.value:.4g}{between}{unit}, "
            f"{self.sense} {self.limit:.4g}{unit}"
        )


def worst(checks: Iterable[Check]) -> Passed:
    """The verdict on several checks together [-]: ``no`` beats ``unsure`` beats ``yes``."""
    verdicts = {c.passed for c in checks}
    return "no" if "no" in verdicts else "unsure" if "unsure" in verdicts else "yes"
