"""Scores written from a few words are valid, use their cups, and refuse nonsense."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.pattern import read_score, score_from_intent, write_score
from pourwright.pattern.intent import MOODS, SCALES, SEPARATE
from pourwright.pattern.score import LAYING


@settings(deadline=None, max_examples=60)
@given(
    st.dictionaries(st.sampled_from("abcde"), st.floats(0.05, 20), min_size=1, max_size=5),
    st.floats(0, 1),
    st.floats(60, 3000),
    st.floats(0, 1),
    st.booleans(),
)
def test_any_intent_gives_a_valid_score_that_empties_its_cups(parts, mood, scale, apart, veins):
    score = score_from_intent(
        parts,
        mood=mood,
        scale=scale,
        separate=apart,
        vein="v" if veins else None,
        clear=next(iter(parts)),
    )
    assert read_score(write_score(score)) == score
    used = sum(sum(m.uses.values()) for m in score.moves if isinstance(m, LAYING))
    assert 0.99 < used <= 1.0 + 1e-9


@pytest.mark.parametrize("mood", MOODS)
@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("apart", SEPARATE)
def test_words(mood, scale, apart):
    score = score_from_intent({"a": 2, "b": 1}, mood=mood, scale=scale, separate=apart)
    assert score.cups["a"] == pytest.approx(2 / 3, abs=1e-5)


def test_lively_wanders_more_than_calm():
    calm, wild = (score_from_intent({"a": 1}, mood=m) for m in ("calm", "lively"))
    assert calm.composition.lively < wild.composition.lively


@pytest.mark.parametrize(
    ("kw", "field"),
    [
        ({"mood": "angry"}, "mood"),
        ({"mood": 2.0}, "mood"),
        ({"scale": "huge"}, "scale"),
        ({"separate": float("nan")}, "separate"),
        ({"vein": "v", "vein_share": 0.5}, "vein_share"),
        ({"vein": "a"}, "vein"),
    ],
)
def test_nonsense_is_refused(kw, field):
    with pytest.raises(InputError) as err:
        score_from_intent({"a": 1.0}, **kw)
    assert err.value.field == field


def test_no_shades():
    with pytest.raises(InputError, match="shades"):
        score_from_intent({})
