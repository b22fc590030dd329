"""From text to numbers and unit expressions: one pass, left to right, nothing evaluated.

Text longer than `LONGEST` or with a character outside the small allowed set is refused before
anything else looks at it, so hostile text costs next to nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from pourwright.errors import InputError, worded
from pourwright.quantities.locales import SPACES, Locale

LONGEST = 80  # characters [-]
_DIGITS = "0123456789"
_MAX_DIGITS = 40
_MAX_EXPONENT = 350
_ALLOWED = frozenset(
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 .,'\"/+-*^():%‰\u00a0"
)
_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5",
    "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_SAME = {
    "\t": " ", "’": "'", "‘": "'", "′": "'", "”": '"', "“": '"', "″": '"', "−": "-", "–": "-",
    "‐": "-", "‑": "-", "·": "*", "⋅": "*", "×": "*", "µ": "u", "μ": "u", "⁄": "/", "²": "^2",
    "³": "^3",
    "⁻": "^-", "¹": "^1",
}  # fmt: skip
_SAME |= dict.fromkeys(SPACES, "\u00a0") | {v: f" {f} " for v, f in _VULGAR.items()}


class Refusal(Exception):
    """Why a text cannot be read: the limit and the remedy, before the field is known."""

    def __init__(self, limit: str, remedy: str) -> None:
        super().__init__(limit)
        self.limit = _printable(limit)
        self.remedy = _printable(remedy)

    def error(self, field: str, value: object) -> InputError:
        """The refusal as an `InputError` [-] about `value` in `field`."""
        return InputError(field or "value", value, self.limit, self.remedy)


def _printable(text: str) -> str:
    if text.isprintable():
        return text  # as it was worded
    return "".join(c if c.isprintable() else " " for c in text)


def clean(text: object) -> str:
    """`text` [-] with look-alike characters made plain; raises `Refusal` for anything odd."""
    if not isinstance(text, str):
        raise Refusal(
            "a quantity is text with a number and a unit", "Write it as text, e.g. '610 mm'."
        )
    if len(text) > LONGEST:
        raise Refusal(
            worded(
                "it has {n} characters and a quantity has at most {most}", n=len(text), most=LONGEST
            ),
            "Write one number and its unit.",
        )
    out = []
    for index, char in enumerate(text):
        if char == "°":
            follows = text[index + 1 : index + 2]
            out.append(" deg " if follows == " " else "deg" if follows in ("C", "F") else " deg ")
        elif char in _ALLOWED:
            out.append(char)
        elif char in _SAME:
            out.append(_SAME[char])
        else:
            raise Refusal(
                worded(
                    "character {n} (U+{code:04X}) has no place in a quantity",
                    n=index + 1,
                    code=ord(char),
                ),
                "Use plain digits, a unit and spaces only.",
            )
    plain = _without_stops("".join(out).replace("U.S.", "US").replace("''", '"'))
    if not plain:
        raise Refusal("it is empty", "Write a number and its unit, e.g. '610 mm'.")
    return plain


def _without_stops(text: str) -> str:
    """The text without the full stops of abbreviations ("12 in.", "3 fl. oz.") and end spaces."""
    kept = [
        c
        for i, c in enumerate(text)
        if c != "."
        or not text[i - 1 : i].isalpha()
        or text[i + 1 : i + 2] not in ("", " ", "/", "-")
    ]
    return "".join(kept).strip(" \u00a0")


@dataclass(slots=True)
class Cursor:
    """A place in a text."""

    text: str
    at: int = 0

    def peek(self, ahead: int = 0) -> str:
        """The character `ahead` places on [-], or "" past the end."""
        i = self.at + ahead
        return self.text[i] if i < len(self.text) else ""

    def skip_spaces(self) -> bool:
        """Move past spaces; True [-] if there were any."""
        start = self.at
        while self.at < len(self.text) and self.text[self.at] in " \u00a0":
            self.at += 1
        return self.at > start

    @property
    def done(self) -> bool:
        """Whether the text is used up [-]."""
        return self.at >= len(self.text)

    def digits(self) -> str:
        """The run of digits here [-], moved past."""
        start = self.at
        while self.at < len(self.text) and self.text[self.at] in _DIGITS:
            self.at += 1
        return self.text[start : self.at]


@dataclass(frozen=True, slots=True)
class Number:
    """A number as read: its exact value, its sign as written, and how to show it."""

    value: Fraction
    negative: bool
    shown: str
    whole: bool
    plain_decimal: bool = False


def scan_number(cur: Cursor, locale: Locale, signed: bool = True) -> Number:
    """The number at a place in a text: integer, decimal, fraction or mixed fraction.

    Parameters
    ----------
    cur : Cursor [-]
        Place in the text; moved past the number.
    locale : Locale [-]
        Decimal and thousands marks.
    signed : bool [-]
        Whether a sign may stand in front.

    Returns
    -------
    Number [-]
        Exact value and how to show it. Raises `Refusal` where there is no such number.
    """
    negative = False
    if cur.peek() and cur.peek() in "+-":
        if not signed:
            raise Refusal("a sign may stand only at the front", "Take the inner sign out.")
        negative = cur.peek() == "-"
        cur.at += 1
        cur.skip_spaces()
    start = cur.at
    lead, grouped = _integer(cur, locale)
    if not lead and not (
        cur.peek() and cur.peek() in {".", locale.decimal} and cur.peek(1) in set(_DIGITS)
    ):
        raise _no_number(cur)
    decimals = _decimals(cur, locale, lead, grouped)
    if decimals is None and lead and not grouped and (fraction := _fraction(cur, lead)) is not None:
        shown = " ".join(cur.text[start : cur.at].replace("-", " ").split())
        return Number(-fraction if negative else fraction, negative, _sign(negative) + shown, False)
    if len(lead) + len(decimals or "") > _MAX_DIGITS:
        raise Refusal(worded("a number has at most {n} digits", n=_MAX_DIGITS), "Round it.")
    scale = _exponent(cur)
    value = Fraction(int(lead + (decimals or "")) * 10 ** max(scale, 0), 10 ** max(-scale, 0))
    value /= 10 ** len(decimals or "")
    if cur.peek() and (cur.peek() in ".,/^*+" or cur.peek() in _DIGITS):
        raise _no_number(cur)
    shown = lead if decimals is None else f"{lead or '0'}.{decimals}"
    shown = f"{shown}e{scale}" if scale else shown
    return Number(
        -value if negative else value, negative, _sign(negative) + shown, value.denominator == 1,
        plain_decimal=True,
    )  # fmt: skip


def _sign(negative: bool) -> str:
    return "-" if negative else ""


def _no_number(cur: Cursor) -> Refusal:
    rest = cur.text[cur.at : cur.at + 12]
    limit: str = "at its end it is not a plain finite number"
    if rest:
        limit = worded("at '{rest}' it is not a plain finite number", rest=rest)
    return Refusal(
        limit,
        "Write digits with one decimal mark, or a fraction such as 2 1/2; no formulas.",
    )


def _integer(cur: Cursor, locale: Locale) -> tuple[str, bool]:
    """The whole part with its thousands marks checked and taken out."""
    lead = cur.digits()
    mark = ""
    grouped = False
    while lead and cur.peek():
        char = cur.peek()
        three = all(c and c in _DIGITS for c in (cur.peek(1), cur.peek(2), cur.peek(3)))
        three = three and not (cur.peek(4) and cur.peek(4) in _DIGITS)
        if not three or (mark and char != mark):
            break
        if char == "\u00a0":
            if cur.peek(4) == "/":
                break
        elif char not in locale.groups or (char == " " and cur.peek(4) == "/"):
            break
        if not mark and (len(lead) > 3 or lead.startswith("0")):
            break
        if char == "." and not grouped and not _is_grouping(cur):
            raise Refusal(
                worded(
                    "'{number}' can mean thousands or decimals here",
                    number=f"{lead}.{cur.text[cur.at + 1 : cur.at + 4]}",
                ),
                "Write a decimal comma, or no thousands mark.",
            )
        mark, grouped = char, True
        cur.at += 1
        lead += cur.digits()
    if grouped and cur.peek() == mark and mark not in " \u00a0":
        raise _no_number(cur)
    return lead, grouped


def _is_grouping(cur: Cursor) -> bool:
    """Whether the '.' here is surely a thousands mark: another '.' group or a ',' follows."""
    return cur.peek(4) in (".", ",")


def _decimals(cur: Cursor, locale: Locale, lead: str, grouped: bool) -> str | None:
    mark = cur.peek()
    if not mark or mark not in ".,":
        return None
    follows = cur.peek(1)
    if not follows or follows not in _DIGITS:
        if mark == ".":
            raise Refusal(
                "the decimal mark has no digits after it", "Write '5' or '5.0', not '5.'."
            )
        return None
    if mark == "," and locale.decimal == ".":
        raise Refusal(
            "a comma is not a decimal mark in this locale",
            worded(
                "Write {number}, or set the locale.", number=f"{lead or '0'}.{_digits_after(cur)}"
            ),
        )
    if mark == "." and locale.decimal == "," and grouped:
        raise _no_number(cur)
    cur.at += 1
    return cur.digits()


def _digits_after(cur: Cursor) -> str:
    end = cur.at + 1
    while end < len(cur.text) and cur.text[end] in _DIGITS:
        end += 1
    return cur.text[cur.at + 1 : min(end, cur.at + 9)]


def _fraction(cur: Cursor, lead: str) -> Fraction | None:
    """``1/2`` or ``2 1/2`` or ``2-1/2`` after the digits `lead`, or None (nothing moved)."""
    save = cur.at
    whole = "0"
    top = lead
    if cur.peek() in (" ", "\u00a0", "-"):
        if cur.peek() == "-":
            cur.at += 1
        cur.skip_spaces()
        whole, top = lead, cur.digits()
    gap = cur.skip_spaces()
    if not top or cur.peek() != "/":
        cur.at = save
        return None
    cur.at += 1
    gap = cur.skip_spaces() or gap
    bottom = cur.digits()
    if not bottom:
        cur.at = save
        return None
    if len(whole) > 9 or len(top) > 4 or len(bottom) > 4 or int(bottom) == 0:
        raise Refusal("that fraction is not a usual one", "Use a fraction such as 3/8 or 15/16.")
    if whole != "0" and int(top) >= int(bottom):
        raise Refusal(
            worded("{part} after a whole number is not a part of one", part=f"{top}/{bottom}"),
            "Write one fraction, or check for a missing unit.",
        )
    joined = cur.peek() == "-" and cur.peek(1).isalpha()  # "1/4-in"
    if cur.peek() and not joined and (cur.peek() in "/.,^*+-(" or cur.peek() in _DIGITS):
        raise _no_number(cur)
    return int(whole) + Fraction(int(top), int(bottom))


def _exponent(cur: Cursor) -> int:
    if cur.peek() not in ("e", "E"):
        return 0
    ahead = 2 if cur.peek(1) and cur.peek(1) in "+-" else 1
    if not cur.peek(ahead) or cur.peek(ahead) not in _DIGITS:
        return 0
    negative = cur.peek(1) == "-"
    cur.at += ahead
    digits = cur.digits()
    if len(digits) > 3 or int(digits) > _MAX_EXPONENT:
        raise Refusal(
            "the number is too large or too small to be real", "Write it without an exponent."
        )
    return -int(digits) if negative else int(digits)
