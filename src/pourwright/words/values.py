"""What may stand in the blanks of a sentence, besides plain numbers and text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

MOMENT_FORMS = {"day-clock": "%a %H:%M", "clock": "%H:%M", "weekday": "%A"}
"""Ways a moment is said [-]: name to the English form."""


class Own(str):
    """Somebody's own word, such as the name of a surface [-]; it is never translated."""

    __slots__ = ()

    def __reduce__(self) -> tuple[type[Own], tuple[str]]:
        """Pickled as its text [-]."""
        return Own, (str(self),)


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit.

    Parameters
    ----------
    value : float [unit]
        The number.
    unit : str [-]
        Unit text as in suffixes and checks: ``mm``, ``degC``, ``m2``.
    """

    value: float
    unit: str

    def __post_init__(self) -> None:
        """Numbers of arrays become plain floats [unit]."""
        object.__setattr__(self, "value", float(self.value))

    def __format__(self, spec: str) -> str:
        """The English metric form [-], e.g. ``12.5 mm``."""
        return f"{self.value:{spec}} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Reading:
    """A number as it stands on the scale or cup: in its own unit in every job.

    Parameters
    ----------
    value : float [unit]
        The number.
    unit : str [-]
        The unit of the scale.
    decimals : int [-]
        How many it shows.
    """

    value: float
    unit: str
    decimals: int = 0

    def __post_init__(self) -> None:
        """Numbers of arrays become plain floats [unit]."""
        object.__setattr__(self, "value", float(self.value))

    def __format__(self, spec: str) -> str:
        """The English form [-], e.g. ``12.5 g``."""
        return f"{self.value:.{self.decimals}f} {self.unit}"


@dataclass(frozen=True, slots=True)
class Between:
    """Two numbers with one unit: ``12 to 15 min``.

    Parameters
    ----------
    low, high : float [unit]
        The numbers.
    unit : str [-]
        Unit text as for `Amount`.
    """

    low: float
    high: float
    unit: str

    def __post_init__(self) -> None:
        """Numbers of arrays become plain floats [unit]."""
        object.__setattr__(self, "low", float(self.low))
        object.__setattr__(self, "high", float(self.high))

    def __format__(self, spec: str) -> str:
        """The English metric form [-], e.g. ``12 to 15 min``."""
        return f"{self.low:{spec}} to {self.high:{spec}} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Sides:
    """Length and width with one unit: ``2100 x 600 mm``.

    Parameters
    ----------
    length, width : float [unit]
        The numbers.
    unit : str [-]
        Unit text as for `Amount`.
    """

    length: float
    width: float
    unit: str

    def __post_init__(self) -> None:
        """Numbers of arrays become plain floats [unit]."""
        object.__setattr__(self, "length", float(self.length))
        object.__setattr__(self, "width", float(self.width))

    def __format__(self, spec: str) -> str:
        """The English metric form [-], e.g. ``2100 x 600 mm``."""
        return f"{self.length:{spec}} x {self.width:{spec}} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Listed:
    """Several values in a row, e.g. names of shades.

    Parameters
    ----------
    items : tuple of str or Amount [-]
        The values.
    between : str [-]
        What stands between two of them.
    """

    items: tuple[object, ...]
    between: str = ", "

    def __init__(self, items: Iterable[object], between: str = ", ") -> None:
        object.__setattr__(self, "items", tuple(items))
        object.__setattr__(self, "between", between)

    def __format__(self, spec: str) -> str:
        """The English metric form [-], e.g. ``red, blue``."""
        return self.between.join(i if isinstance(i, str) else f"{i:{spec}}" for i in self.items)


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment on the clock.

    Parameters
    ----------
    at : datetime [-]
        Local time.
    form : str [-]
        One of `MOMENT_FORMS`.
    """

    at: datetime
    form: str = "day-clock"

    def __format__(self, spec: str) -> str:
        """The English form [-], e.g. ``Mon 09:30``."""
        return f"{self.at:{MOMENT_FORMS[self.form]}}"
