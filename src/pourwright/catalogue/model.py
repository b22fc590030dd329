"""Materials as data: properties with a value, a range, a source and its mark."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from pourwright.errors import InputError
from pourwright.words import Own, say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from pourwright.calc.sampling import Draws
    from pourwright.quantities.money import Money


@dataclass(frozen=True, slots=True)
class Property:
    """One property of a material, in the unit that its key's suffix names.

    `value` is the 50 % point, `low` and `high` the 5 and 95 % points [unit of the key].
    """

    key: str
    value: float
    low: float
    high: float
    mark: str
    source: str
    log: bool = False

    @property
    def exact(self) -> bool:
        """Whether the property carries no range [-]."""
        return self.low == self.high

    def sample(self, draws: Draws, name: str) -> NDArray[np.float64]:
        """Draws of this property [unit of the key], shape (count,), for the stream `name`."""
        return draws.between(name, self.low, self.value, self.high, log=self.log)

    def cited(self) -> str:
        """Source and mark as one text [-]."""
        return f"{self.source} [{self.mark}]"


@dataclass(frozen=True, slots=True)
class Price:
    """What one unit of a material costs: middle, low and high [currency], per what."""

    middle: Money
    low: Money
    high: Money
    per: str
    mark: str
    source: str


@dataclass(frozen=True, slots=True)
class Material:
    """A generic material class, or a user's own product."""

    id: str
    kind: str
    name: str
    summary: str
    properties: dict[str, Property]
    facts: dict[str, Any] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    origin: str = "catalogue"
    price: Price | None = None

    def __getitem__(self, key: str) -> float:
        """The middle value of property `key` [unit of the key's suffix]."""
        return self.prop(key).value

    def __contains__(self, key: object) -> bool:
        """Whether the material has property `key` [-]."""
        return key in self.properties

    def prop(self, key: str) -> Property:
        """Property `key` [unit of the key's suffix]; raises `InputError` when it is not there."""
        if key not in self.properties:
            raise InputError(
                f"{self.id}.{key}",
                None,
                say("{name} has no such value", name=Own(self.name)),
                say(
                    "Add {key} to the material in your products file, from its data sheet.", key=key
                ),
            )
        return self.properties[key]

    def get(self, key: str, default: float) -> float:
        """The middle value of property `key`, or `default` [unit of the key's suffix]."""
        return self.properties[key].value if key in self.properties else default

    def sources(self, *keys: str) -> list[str]:
        """Sources with their marks [-], once each, of the properties `keys` (all if none)."""
        chosen = [self.prop(k) for k in keys] if keys else list(self.properties.values())
        cited = [p.cited() for p in chosen]
        if self.price is not None and not keys:
            cited.append(f"{self.price.source} [{self.price.mark}]")
        return list(dict.fromkeys(cited))
