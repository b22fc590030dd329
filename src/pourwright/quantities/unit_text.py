"""Unit expressions: "mm", "US fl oz/ft2", "Pa s", "W/(m K)", from the allow-list only."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from pourwright.errors import worded
from pourwright.quantities.scan import Cursor, Refusal, clean
from pourwright.quantities.units import NONE, Unit, Vector, by_name, longest_name

_LETTERS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz")
_DIGITS = frozenset("0123456789")


@dataclass(frozen=True, slots=True)
class UnitText:
    """A unit expression: SI = number x `factor` + `offset`.

    `parts` are the units with their powers in order; the offset is not 0 only for a lone
    temperature unit, and applies only where a temperature (not a difference) is asked for.
    """

    factor: Fraction
    offset: Fraction
    vector: Vector
    parts: tuple[tuple[Unit, int], ...]

    @property
    def single(self) -> bool:
        """Whether it is one unit, raised to no power but 1, 2 or 3 [-]."""
        return len(self.parts) == 1 and 1 <= self.parts[0][1] <= 3

    @property
    def symbol(self) -> str:
        """How Pourwright writes the expression [-]."""
        over = [_powered(u, p) for u, p in self.parts if p > 0]
        under = [_powered(u, -p) for u, p in self.parts if p < 0]
        top = " ".join(over) or ("1" if under else "")
        if not under:
            return top
        return f"{top}/{under[0]}" if len(under) == 1 else f"{top}/({' '.join(under)})"

    def has(self, kind: str) -> bool:
        """Whether a unit of `kind` [-] is among the parts."""
        return any(u.kind == kind for u, _ in self.parts)


def _powered(unit: Unit, power: int) -> str:
    return unit.symbol if power == 1 else f"{unit.symbol}{power}"


def combine(parts: list[tuple[Unit, int]]) -> UnitText:
    """The product of units raised to powers.

    Parameters
    ----------
    parts : list of (Unit, int) [-]
        Units and their powers.

    Returns
    -------
    UnitText [-]
        Factor, offset (for a lone unit only) and powers of the base dimensions.
    """
    factor = Fraction(1)
    vector = list(NONE)
    for unit, power in parts:
        factor *= unit.factor**power
        for i, p in enumerate(unit.vector):
            vector[i] += p * power
    lone = len(parts) == 1 and parts[0][1] == 1
    offset = parts[0][0].offset if lone else Fraction(0)
    v = tuple(vector)
    return UnitText(factor, offset, v, tuple(parts))  # type: ignore[arg-type]


class UnknownUnit(Refusal):
    """A word that is no unit; the reader adds the nearest one of the right kind."""

    def __init__(self, word: str) -> None:
        super().__init__(
            worded("'{word}' is not a unit known here", word=word[:20]), "Check the unit."
        )
        self.word = word


@lru_cache(maxsize=512)
def parse_unit(text: str) -> UnitText:
    """The unit expression `text` [-] as a whole; raises `Refusal`."""
    cur = Cursor(clean(text))
    unit = scan_unit(cur)
    cur.skip_spaces()
    if not cur.done:
        raise Refusal(
            worded("'{rest}' after the unit is not understood", rest=cur.text[cur.at :]),
            "Take it out.",
        )
    return unit


def scan_unit(cur: Cursor) -> UnitText:
    """The unit expression at `cur` [-], a place in a text; stops where no unit follows."""
    parts: list[tuple[Unit, int]] = []
    if cur.peek() == "1" and cur.peek(1) == "/":
        cur.at += 1
    else:
        parts += _product(cur)
    cur_was = cur.at
    cur.skip_spaces()
    if cur.peek() == "/" or _word_here(cur) == "per":
        cur.at += 1 if cur.peek() == "/" else 3
        cur.skip_spaces()
        parts += [(u, -p) for u, p in _under(cur)]
    else:
        cur.at = cur_was
    return combine(parts)


def _under(cur: Cursor) -> list[tuple[Unit, int]]:
    if cur.peek() == "(":
        cur.at += 1
        parts = _product(cur)
        cur.skip_spaces()
        if cur.peek() != ")":
            raise Refusal("a bracket is open", "Close it, as in 'W/(m K)'.")
        cur.at += 1
    else:
        parts = [_factor(cur)]
    save = cur.at
    spaced = cur.skip_spaces()
    word = _word_here(cur)
    if cur.peek() in ("/", "*") or word == "per" or (spaced and word and word in by_name()):
        raise Refusal(
            "what stands after the '/' can be read in two ways",
            "Put all that is under the line in brackets, as in 'W/(m K)'.",
        )
    cur.at = save
    return parts


def _product(cur: Cursor) -> list[tuple[Unit, int]]:
    cur.skip_spaces()
    parts = [_factor(cur)]
    while True:
        save = cur.at
        spaced = cur.skip_spaces()
        if cur.peek() == "*" or (cur.peek() == "." and not spaced and cur.peek(1) in _LETTERS):
            cur.at += 1
            cur.skip_spaces()
            parts.append(_factor(cur))
        elif spaced and (word := _word_here(cur)) and word != "per":
            parts.append(_factor(cur))
        else:
            cur.at = save
            return parts


def _word_here(cur: Cursor) -> str:
    end = cur.at
    while end < len(cur.text) and cur.text[end] in _LETTERS:
        end += 1
    return cur.text[cur.at : end]


def _factor(cur: Cursor) -> tuple[Unit, int]:
    """One unit with its exponent: the longest name of the allow-list that starts here."""
    table = by_name()
    if cur.peek() and cur.peek() in "'\"%‰":
        cur.at += 1
        return table[cur.text[cur.at - 1]], 1
    first = _word_here(cur)
    if not first:
        rest = cur.text[cur.at : cur.at + 12]
        if not rest:
            raise Refusal("it ends where a unit is needed", "Add the unit.")
        raise Refusal(
            worded("'{rest}' is not a unit", rest=rest), "Write a number, a space and a unit."
        )
    ends = [cur.at + len(first)]
    look = Cursor(cur.text, ends[0])
    while len(ends) < longest_name() and look.peek() in (" ", "\u00a0") and look.skip_spaces():
        word = _word_here(look)
        if not word:
            break
        look.at += len(word)
        ends.append(look.at)
    for end in reversed(ends):
        name = " ".join(cur.text[cur.at : end].split())
        if name in table:
            cur.at = end
            unit = table[name]
            return unit, _power(cur, unit)
    raise UnknownUnit(first)


def _power(cur: Cursor, unit: Unit) -> int:
    """The exponent after a unit: 2 or 3 (also ^2, ^-1); 1 if there is none."""
    raised = cur.peek() == "^"
    at = cur.at + raised
    while raised and cur.text[at : at + 1] == "^":
        at += 1
    negative = cur.text[at : at + 1] == "-" and cur.text[at + 1 : at + 2] in _DIGITS
    if negative and not raised and not unit.power:
        negative = False
    at += negative
    if negative and cur.text[at : at + 1] == "^":
        at += 1
    digit = cur.text[at : at + 1]
    usable = digit in ("1", "2", "3", "4") and cur.text[at + 1 : at + 2] not in _DIGITS
    if not usable or (not raised and (negative or not unit.power)):
        if raised:
            raise Refusal("that power of a unit is not used here", "Write ft2, m3, or 1/h.")
        return 1
    cur.at = at + 1
    return -int(digit) if negative else int(digit)


def unit_in(text: str) -> UnitText | None:
    """The unit after the first number of `text` [-], or None [-]; raises `Refusal`."""
    plain = clean(text)
    start = next((i for i, c in enumerate(plain) if c in _LETTERS or c in "'\"%‰"), None)
    return None if start is None else scan_unit(Cursor(plain, start))
