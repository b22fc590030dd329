"""Text made fit for a page: control characters out, long words breakable, missing glyphs shown.

The typesetter gets all text as JSON strings, so no character is ever read as markup. What is left
to guard against: characters no bundled font holds (a tagged PDF refuses them), marks that turn the
reading direction of what follows, and words too long for their column.
"""

from __future__ import annotations

import json
import re
import threading
import unicodedata
from typing import Any

FONTS = '("Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono")'
"""Faces that come with the typesetter; none is looked for on the machine."""
STAND_IN = "□"
"""Shown for a character that the fonts of the papers do not hold."""
LONGEST_WORD = 28
LONGEST_TEXT = 4000
_SAFE = frozenset(
    chr(c) for a, b in ((0x20, 0x7E), (0xA1, 0xAC), (0xAE, 0x17F)) for c in range(a, b + 1)
) | frozenset("–—‘’“”•…€□≤≥±×°µ−½¼¾→←")
_DROP = re.compile(
    "[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e"
    "\u2060-\u206f\ufeff\ufff0-\ufffb\U000e0000-\U000e007f\ufe00-\ufe0f\ud800-\udfff]"
)
_LONG = re.compile(rf"\S{{{LONGEST_WORD + 1},}}")
_TURNS = re.compile("[\t\n\r\v\f\u0085\u2028\u2029]")
_SPACES = re.compile("[ \u1680\u2000-\u200a\u202f\u205f\u3000]+")
_UNIT = re.compile(
    r"(?<=\d) (?=(?:mm|m|mL|L|g|kg|lb|h|min|°C|°F|K|%|m²|ft²|fl oz|ft|in|N|MPa)\b|%)"
)
_SAID = re.compile(r'the text `"(.+?)"` could not be displayed')
_ESCAPE = re.compile(r"\\u\{([0-9a-fA-F]+)\}")
_held: dict[str, bool] = {}
_lock = threading.Lock()


def plain(text: str, longest: int = LONGEST_TEXT) -> str:
    """`text` [-] as printable text on one line, at most `longest` [-] characters.

    Composed (NFC), controls and direction marks out, runs of space made one, words of more than
    28 characters given places to break.
    """
    out = unicodedata.normalize("NFC", text[: 4 * longest])
    out = _SPACES.sub(" ", _DROP.sub("", _TURNS.sub(" ", out))).strip(" ")
    if len(out) > longest:
        out = out[: longest - 1].rstrip() + "…"
    return _LONG.sub(lambda m: _breakable(m[0]), out)


def _breakable(word: str) -> str:
    return "\u200b".join(word[i : i + 14] for i in range(0, len(word), 14))


def fit_for_page(data: Any) -> tuple[Any, int]:
    """`data` [-] with every string made plain and shown in held characters; how many were not.

    A number and its unit are kept on one line. Strings under the key ``svg`` are pictures
    and left alone.
    """
    cleaned = _each(data, lambda t: _UNIT.sub("\u00a0", plain(t)))
    wanted: set[str] = set()
    _each(cleaned, lambda t: _collect(t, wanted))
    missing = [c for c, there in held(wanted).items() if not there]
    if not missing:
        return cleaned, 0
    table = str.maketrans(dict.fromkeys(missing, STAND_IN))
    return _each(cleaned, lambda t: t.translate(table)), len(missing)


def _collect(text: str, into: set[str]) -> str:
    into.update(c for c in text if c not in _SAFE and c != "\u200b")
    return text


def _each(data: Any, f: Any) -> Any:
    if isinstance(data, str):
        return f(data)
    if isinstance(data, list | tuple):
        return [_each(v, f) for v in data]
    if isinstance(data, dict):
        return {k: v if k == "svg" else _each(v, f) for k, v in data.items()}
    return data


def held(characters: set[str]) -> dict[str, bool]:
    """Whether the bundled fonts hold each of `characters` [-], asked of the typesetter once."""
    with _lock:
        unknown = sorted(c for c in characters if c not in _held)
        for start in range(0, len(unknown), 400):
            _ask(unknown[start : start + 400])
        return {c: _held[c] for c in characters}


def _ask(characters: list[str]) -> None:
    lines = "".join(f"#box[#d.at({k})] " for k in range(len(characters)))
    source = (
        '#set document(title: "probe")\n#set text(lang: "en", font: ' + FONTS + ")\n"
        "#let d = json(bytes(sys.inputs.data))\n" + lines
    )
    said = _probe(source, characters)
    lacking = {_ESCAPE.sub(lambda m: chr(int(m[1], 16)), c) for c in _SAID.findall(said)}
    joined = "".join(lacking)
    for c in characters:
        _held[c] = c not in joined


def _probe(source: str, data: Any) -> str:
    """What the typesetter complains of in `source` [-] filled with `data` [-]; empty if nothing."""
    import typst

    try:
        typst.compile(
            source.encode(), format="pdf", pdf_standards=["ua-1"], ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
        )  # fmt: skip
    except RuntimeError as err:
        return str(getattr(err, "diagnostic", err))
    return ""
