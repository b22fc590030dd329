"""Flow left against mix age, as the pattern needs it; the cure engine fills it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pourwright.errors import InputError


@dataclass(frozen=True)
class FlowClock:
    """Flow left over mix age.

    Parameters
    ----------
    minutes : array [min]
        Mix age, rising; the last entry is gel.
    flow_left : array [1/Pa]
        Integral of dt/viscosity from then to gel, falling to 0 at gel.
    """

    minutes: tuple[float, ...]
    flow_left: tuple[float, ...]

    @classmethod
    def from_arrays(cls, minutes: ArrayLike, flow_left: ArrayLike) -> FlowClock:
        """A clock from two arrays.

        Parameters
        ----------
        minutes : array_like [min]
            Mix age, strictly rising.
        flow_left : array_like [1/Pa]
            Strictly falling, its last entry 0 (gel).

        Returns
        -------
        FlowClock [min, 1/Pa]
            The clock.

        Raises
        ------
        InputError
            When the arrays do not rise and fall as they must.
        """
        m = np.asarray(minutes, float)
        f = np.asarray(flow_left, float)
        good = (
            m.ndim == 1
            and m.shape == f.shape
            and m.size > 1
            and bool(np.all(np.isfinite(m)) and np.all(np.isfinite(f)))
        )
        if not good or np.any(np.diff(m) <= 0) or np.any(np.diff(f) >= 0) or abs(f[-1]) > 1e-9:
            raise InputError(
                "clock",
                f"{m.size} times",
                "mix age must rise and flow left must fall to 0 at gel",
                "Take both from cure.flow_left.",
            )
        return cls(tuple(map(float, m)), tuple(map(float, f)))

    @classmethod
    def doubling(
        cls, viscosity: float = 1.0, doubling_min: float = 25.0, gel_min: float = 120.0
    ) -> FlowClock:
        """A clock of a resin whose viscosity doubles steadily.

        Parameters
        ----------
        viscosity : float [Pa s]
            When mixed.
        doubling_min, gel_min : float [min]
            Time to double, mix age at gel.

        Returns
        -------
        FlowClock [min, 1/Pa]
            Flow left (t_d / (eta0 ln 2)) (2^(-t/t_d) - 2^(-t_gel/t_d)).
        """
        t = np.linspace(0.0, gel_min, 241)
        f = 2.0 ** (-t / doubling_min)
        left = doubling_min * 60.0 / (viscosity * math.log(2.0)) * (f - f[-1])
        return cls.from_arrays(t, left)

    @property
    def gel_min(self) -> float:
        """Mix age at gel [min]."""
        return self.minutes[-1]

    def left_at(self, minute: float) -> float:
        """Flow left [1/Pa] at mix age `minute` [min]; 0 after gel."""
        return float(np.interp(minute, self.minutes, self.flow_left))

    def minute_at(self, left: float) -> float:
        """Mix age [min] at which `left` [1/Pa] is left."""
        return float(np.interp(-left, [-v for v in self.flow_left], self.minutes))
