"""Sentences keep what they were made of, and are said again in other words and units."""

from __future__ import annotations

import copy
import json
import pickle
from datetime import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel

from pourwright.errors import InputError
from pourwright.words import (
    Amount,
    Between,
    Listed,
    Moment,
    Own,
    Reader,
    Reading,
    Said,
    Sides,
    in_words,
    joined,
    phrase_book,
    said_again,
    said_model,
    say,
)
from pourwright.words.fields import Text
from pourwright.words.phrases import from_data, to_data
from pourwright.words.said import blanks

numbers = st.floats(-1e6, 1e6, allow_nan=False)
units = st.sampled_from(["mm", "m", "g", "kg", "mL", "L", "degC", "K", "min", "m2", "%", ""])
words = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=20)
leaves = st.one_of(
    numbers,
    st.integers(-1000, 1000),
    words,
    words.map(Own),
    st.builds(Amount, numbers, units),
    st.builds(Between, numbers, numbers, units),
    st.builds(Sides, numbers, numbers, units),
    st.builds(Reading, numbers, units, st.integers(0, 3)),
    st.builds(
        Moment, st.datetimes(datetime(1990, 1, 1), datetime(2060, 1, 1)), st.just("day-clock")
    ),
)
values = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(Listed),
        st.builds(lambda v: Said("inside {v}", {"v": v}), inner),
    ),
    max_leaves=4,
)


@given(values, values)
@settings(deadline=None, max_examples=100)
def test_a_sentence_survives_files_and_processes(a, b):
    said = Said("One {a}, two {b}, one again {a}.", {"a": a, "b": b})
    for again in (
        pickle.loads(pickle.dumps(said)),
        copy.deepcopy(said),
        from_data(json.loads(json.dumps(to_data(said)))),
    ):
        assert again == said
        assert type(again) is Said
        assert again.values == said.values
        assert in_words(again, "de", "us") == in_words(said, "de", "us")


@given(values)
@settings(deadline=None, max_examples=100)
def test_unknown_sentences_are_said_in_english_with_all_their_values(v):
    said = Said("qqq {v} qqq", {"v": v})
    for language in ("en", "de"):
        for system in ("metric", "us"):
            text = in_words(said, language, system)
            assert text.startswith("qqq ") and text.endswith(" qqq")


def test_it_is_the_plain_english_text():
    said = say("Keep it {gap:.1f} warmer.", gap=Amount(2.345, "K"))
    assert said == "Keep it 2.3 K warmer."
    assert isinstance(said, str)
    assert {said: 1}["Keep it 2.3 K warmer."] == 1
    assert json.dumps([said]) == '["Keep it 2.3 K warmer."]'
    assert type(said + "") is str


def test_letters_inside_a_sentence():
    said = say("Between {coat:l} and {next:u}", coat="Colour coat", next="flood coat")
    assert said == "Between colour coat and Flood coat"
    assert in_words(say("{coat:l}", coat="Colour coat"), "de") == "Farbschicht"


def test_numbers_follow_language_and_units():
    said = say(
        "{a:.1f}; {b:.0f}; {c:.0f}; {d}; {e:.0%}; {f:g}; {g}",
        a=Amount(-2.5, "K"), b=Between(12, 15.4, "mm"), c=Sides(2100, 600, "mm"),
        d=Reading(12.345, "g", 1), e=0.05, f=1.5, g=Moment(datetime(2027, 3, 15, 9, 5)),
    )  # fmt: skip
    assert said == "-2.5 K; 12 to 15 mm; 2100 x 600 mm; 12.3 g; 5%; 1.5; Mon 09:05"
    de = in_words(said, "de")
    assert de == "−2,5 K; 12 bis 15 mm; 2100 × 600 mm; 12,3 g; 5\u00a0%; 1,5; Mo 09:05"
    us = in_words(said, "en", "us")
    assert us == "−4.5 °F; 15/32 to 5/8 in; 82 11/16 × 23 5/8 in; 12.3 g; 5%; 1.5; Mon 09:05"


def test_own_words_stay():
    assert in_words(say("{name}", name=Own("to")), "de") == "to"
    assert in_words(say("{name}", name="to"), "de") == "bis"


def test_joined_sentences_are_said_one_by_one():
    rest = say("{gap:.0f} to go", gap=Amount(1000, "g"))
    both = joined(" {} ", ["", "at least", rest, ""])
    assert both == "at least {} 1000 g to go"
    assert in_words(both, "de").startswith("mindestens {} ")
    assert joined(", ", []) == ""
    assert joined(", ", ["", rest]) is rest


def test_arrays_of_numbers_become_numbers():
    import numpy as np

    said = say("{a:.1f} {b:d}", a=Amount(np.float64(1.25), "mm"), b=np.int64(3))
    assert json.dumps(to_data(said))
    assert said == "1.2 mm 3"


@pytest.mark.parametrize("bad", ["{0}", "{a.b}", "{a!r}", "{a:{b}}", "{"])
def test_patterns_are_plain(bad):
    with pytest.raises((ValueError, KeyError)):
        Said(bad, {"a": 1, "b": 2})


def test_text_has_no_number_forms():
    with pytest.raises(ValueError, match="no form of text"):
        say("{a:.1f}", a="words")


def test_blanks_are_named():
    assert blanks("{{no}} {a:.1f} and {b}") == {"a", "b"}


class Piece(BaseModel):
    """A part of a plan."""

    title: Text
    notes: list[Text]
    by: dict[Text, float]
    pair: tuple[Text, ...] = ()
    unit: str = "to"


def a_piece() -> Piece:
    said = say("{gap:.0f} to go", gap=Amount(3, "K"))
    return Piece(title=said, notes=[said, "to"], by={said: 1.0, "to": 2.0}, pair=(said,))


def test_models_keep_sentences_and_write_plain_json():
    piece = a_piece()
    for text in (piece.title, piece.notes[0], piece.pair[0], next(iter(piece.by))):
        assert type(text) is Said
    assert type(piece.model_copy(deep=True).title) is Said
    assert json.loads(piece.model_dump_json())["title"] == "3 K to go"
    assert Piece.model_json_schema()["properties"]["title"]["type"] == "string"
    with pytest.raises(ValueError):
        Piece(title=3, notes=[], by={})


def test_a_model_is_said_for_a_reader():
    said = said_model(a_piece(), Reader("de", "us"), leave=("nobody",))
    assert said.title == "5.4 °F to go".replace(".", ",")
    assert said.notes[1] == "bis"
    assert set(said.by) == {"5,4 °F to go", "to"}
    assert said.unit == "to"
    assert a_piece().title == "3 K to go"


def test_stored_data_is_said_again_from_its_book():
    piece = a_piece()
    data = json.loads(piece.model_dump_json())
    book = json.loads(json.dumps(phrase_book(piece)))
    again = said_again(data, Reader("de", "us"), book, leave=("to",))
    assert again["title"] == again["notes"][0] == again["pair"][0] == "5,4 °F to go"
    assert again["notes"][1] == "to"
    assert "5,4 °F to go" in again["by"]
    assert said_again(data, Reader("de"), book)["notes"][1] == "bis"
    assert said_again(data, Reader("en"), {}) == data
    shouted = said_again({"a": "unknown"}, Reader("de"), book, other=str.upper)
    assert shouted == {"a": "UNKNOWN"}


@given(st.lists(values, max_size=3))
@settings(deadline=None, max_examples=50)
def test_a_book_holds_every_sentence_with_values(parts):
    thing = {"a": [Said("x {p}", {"p": p}) for p in parts], "b": ("plain",)}
    book = phrase_book(thing)
    assert set(book) == {str(s) for s in thing["a"]}
    assert json.loads(json.dumps(book)) == book


def test_data_that_is_no_sentence_is_refused():
    with pytest.raises(ValueError, match="no sentence"):
        from_data({"what": 1})


def test_a_language_that_is_not_there():
    with pytest.raises(InputError, match="language"):
        in_words("x", "xx")
