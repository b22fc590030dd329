"""Mix ratios: "2:1", "100:43 by mass". The basis decides, so it is kept with the numbers."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pourwright.errors import worded
from pourwright.quantities.locales import find_locale
from pourwright.quantities.scan import Cursor, Refusal, clean, scan_number

_BASES = {
    "": "",
    "by volume": "volume",
    "by vol": "volume",
    "volume": "volume",
    "vol": "volume",
    "v/v": "volume",
    "by mass": "mass",
    "by weight": "mass",
    "mass": "mass",
    "weight": "mass",
    "w/w": "mass",
}


@dataclass(frozen=True, slots=True)
class MixRatio:
    """Parts of A to parts of B, ``basis`` "volume", "mass" or "" where the text did not say."""

    a: Fraction
    b: Fraction
    basis: str = ""

    @property
    def share_a(self) -> float:
        """Share of A in the mix [-], by the ratio's own basis."""
        return float(self.a / (self.a + self.b))

    @property
    def value(self) -> float:
        """Parts of A for one part of B [-]."""
        return float(self.a / self.b)

    def __str__(self) -> str:
        tail = f" by {self.basis}" if self.basis else ""
        return f"{_number(self.a)}:{_number(self.b)}{tail}"


def _number(value: Fraction) -> str:
    from pourwright.quantities.writer import shortest

    return shortest(value, Fraction(1))


def read_ratio(text: str, field: str = "", locale: str = "en", basis: str = "") -> MixRatio:
    """The mix ratio A:B that a text states.

    Parameters
    ----------
    text : str [-]
        Two numbers above 0 with ':' or 'to' between, e.g. ``2:1``, ``100:43 by mass``.
    field : str [-]
        Path of the field, for the error.
    locale : str [-]
        Language code.
    basis : str [-]
        Basis where the text names none: ``volume``, ``mass`` or "".

    Returns
    -------
    MixRatio [-]
        Parts A and B and their basis.

    Raises
    ------
    InputError
        If the text is not such a ratio.
    """
    punctuation = find_locale(locale)
    try:
        plain = clean(text)
        cur = Cursor(plain)
        a = scan_number(cur, punctuation, signed=False).value
        cur.skip_spaces()
        if cur.peek() == ":":
            cur.at += 1
        elif plain.startswith("to ", cur.at):
            cur.at += 3
        else:
            raise Refusal("a ratio has ':' between two numbers", "Write '2:1' or '100:43 by mass'.")
        cur.skip_spaces()
        b = scan_number(cur, punctuation, signed=False).value
        cur.skip_spaces()
        words = plain[cur.at :].strip().lower()
        if words not in _BASES:
            raise Refusal(
                worded("'{words}' after the ratio is not understood", words=words[:20]),
                "End it 'by volume' or 'by mass'.",
            )
        if a <= 0 or b <= 0:
            raise Refusal("both parts of a ratio are more than 0", "Check the data sheet.")
        if not Fraction(1, 1000) <= a / b <= 1000:
            raise Refusal("a mix ratio is between 1:1000 and 1000:1", "Check the data sheet.")
        return MixRatio(a, b, _BASES[words] or basis)
    except Refusal as refusal:
        raise refusal.error(field, text) from None
