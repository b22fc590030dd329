"""Text made fit for a page."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.papers.plain import _SAFE, LONGEST_WORD, fit_for_page, held, plain

HOSTILE = st.text(st.characters(codec=None), max_size=400)


@settings(deadline=None, max_examples=100)
@given(HOSTILE)
def test_plain_text_has_no_controls_and_no_endless_words(text):
    out = plain(text, 200)
    assert len(out.replace("\u200b", "")) <= 200
    assert not [c for c in out if unicodedata.category(c) in ("Cc", "Cs", "Cf") and c != "\u200b"]
    assert all(len(w) <= LONGEST_WORD for w in out.replace("\u200b", " ").split(" "))
    assert plain(out, 200) == out


def test_ordinary_text_is_left_as_it_is():
    for text in ("Galley of a canal boat", "naïve Größe 3 × 4", "été, 12 °C", "a*b_c #d $e @f <g>"):
        assert plain(text) == text


@settings(deadline=None, max_examples=40)
@given(HOSTILE)
def test_what_is_left_can_be_set(text):
    data, missing = fit_for_page({"a": [text], "svg": "<svg>\u0000"})
    assert data["svg"] == "<svg>\u0000"
    assert all(c in _SAFE or c == "\u200b" or held({c})[c] for c in data["a"][0])
    assert missing >= 0


def test_characters_taken_as_held_are_held():
    from pourwright.papers.plain import _ask, _held

    _ask(sorted(_SAFE))
    assert not [c for c in _SAFE if not _held.pop(c)]


@pytest.mark.parametrize(
    ("char", "there"), [("é", True), ("ש", True), ("Ω", True), ("😀", False), ("漢", False)]
)
def test_the_typesetter_is_asked(char, there):
    assert held({char})[char] is there


def test_a_number_and_its_unit_stay_together():
    data, _ = fit_for_page({"a": "mix 250 g and 3.5 mm, 12 %, 4 mmm"})
    assert data["a"] == "mix 250\u00a0g and 3.5\u00a0mm, 12\u00a0%, 4 mmm"
