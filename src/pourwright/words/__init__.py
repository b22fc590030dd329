"""Sentences that know what they say: English on the face, another language and units on demand.

Where text is made, `say` keeps the sentence's pattern and its values beside the plain English; where
text is shown, `in_words` writes it again in the reader's language and the job's units. Map:

- `said`: `Said`, `say`, `joined`.
- `values`: what may stand in the blanks: `Amount`, `Between`, `Sides`, `Reading`, `Listed`, `Moment`, `Own`.
- `us`: metric amounts in US units, no finer than they were said.
- `reader`: `Reader` (language, units) and how each value is written for one.
- `catalogues`: sentences of a language, from ``words/<language>/*.toml``, by English pattern.
- `checks`: what the framework's own checks of a model say.
- `fields`: `Text`, the type of a pydantic field that keeps a `Said` (imported by itself).
- `phrases`: the sentences of a whole plan as JSON data, and a plan's data said again from them.
"""

from pourwright.words.catalogues import LANGUAGES, catalogue
from pourwright.words.phrases import phrase_book, said_again, said_model
from pourwright.words.reader import Reader, in_words
from pourwright.words.said import Said, joined, say
from pourwright.words.values import Amount, Between, Listed, Moment, Own, Reading, Sides

__all__ = [
    "LANGUAGES", "Amount", "Between", "Listed", "Moment", "Own", "Reader", "Reading", "Said", "Sides",
    "catalogue", "in_words", "joined", "phrase_book", "said_again", "said_model", "say",
]  # fmt: skip
