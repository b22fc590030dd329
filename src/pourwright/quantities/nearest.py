"""The nearest known unit for a word that is none."""

from __future__ import annotations

import difflib

from pourwright.errors import worded
from pourwright.quantities.dimensions import Dimension
from pourwright.quantities.scan import Refusal
from pourwright.quantities.unit_text import UnknownUnit
from pourwright.quantities.units import allow_list


def with_nearest(refusal: UnknownUnit, dim: Dimension) -> Refusal:
    """The `refusal` [-] with the nearest unit that fits `dim` [-] as its remedy."""
    word = refusal.word[:20]
    likely = [
        n for u in allow_list() for n in u.names if not dim.single or u.vector == dim.vector
    ] or [n for u in allow_list() for n in u.names]
    if dim.single and dim.vector[0] in (2, 3):
        likely += [n for u in allow_list() if u.kind == "length" for n in u.names]
    same = [n for n in likely if n.lower() == word.lower()]
    near = same or difflib.get_close_matches(word, likely, n=1, cutoff=0.5)
    if not near:
        near = difflib.get_close_matches(
            word.lower(), [n for n in likely if n.islower()], n=1, cutoff=0.5
        )
    hint = worded("Did you mean '{near}'?", near=near[0]) if near else dim.as_example
    return Refusal(refusal.limit, hint)
