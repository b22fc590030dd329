"""Checks of the framework said in German, and labels that keep their sentence in US units."""

from __future__ import annotations

from typing import Literal

import pytest
from pydantic import BaseModel, Field, ValidationError

from pourwright.words import Amount, Reader, Said, in_words, phrase_book, said_again, say
from pourwright.words.checks import CHECKS, ONE, check_said

DE = Reader("de")


class Model(BaseModel):
    wide: float = Field(1.0, gt=0, le=2.5, allow_inf_nan=False)
    count: int = 1
    word: Literal["x", "y"] = "x"
    name: str = Field("ab", min_length=2, max_length=3)
    parts: list[int] = Field([1], min_length=1, max_length=2)
    yes: bool = True


@pytest.mark.parametrize(
    ("given", "german"),
    [
        ({"wide": 0}, "die Eingabe muss größer als 0 sein"),
        ({"wide": 3}, "die Eingabe darf höchstens 2,5 sein"),
        ({"wide": "a"}, "die Eingabe muss eine Zahl sein, der Text ist keine"),
        ({"wide": float("inf")}, "die Eingabe muss eine endliche Zahl sein"),
        ({"count": 1.5}, "die Eingabe muss eine ganze Zahl sein, diese hat Nachkommastellen"),
        ({"word": "z"}, "die Eingabe muss eines davon sein: 'x' oder 'y'"),
        ({"name": "a"}, "der Text muss mindestens 2 Zeichen haben"),
        ({"name": "abcd"}, "der Text darf höchstens 3 Zeichen haben"),
        ({"parts": []}, "Liste: mindestens 1 Eintrag, nicht 0"),
        ({"parts": [1, 2, 3]}, "Liste: höchstens 2 Einträge, nicht 3"),
        ({"yes": "perhaps"}, "die Eingabe muss ja oder nein sein"),
    ],
)
def test_a_failed_check_is_said_in_german_and_its_english_stays(given, german):
    with pytest.raises(ValidationError) as found:
        Model(**given)
    error = found.value.errors()[0]
    said = check_said(error)
    assert isinstance(said, Said)
    assert said == error["msg"][0].lower() + error["msg"][1:]
    assert DE.text(said).replace(" or ", " oder ") == german


def test_an_unknown_check_stays_plain():
    assert check_said({"type": "new_kind", "msg": "Odd thing"}) == "odd thing"
    assert (
        check_said({"type": "greater_than", "msg": "Worded anew", "ctx": {"gt": 1}})
        == "worded anew"
    )
    assert not isinstance(check_said({"type": "x"}), Said)
    assert all(p[:1] == p[:1].lower() for p in [*CHECKS.values(), *ONE.values()])


def test_a_label_in_us_units_is_said_again_in_german():
    label = say("veins end {mm}", mm=Amount(12, "mm"))
    shown = label.as_text(in_words(label, "en", "us"))
    assert shown == "veins end 15/32 in"
    data = {"text": str(shown)}
    book = phrase_book([shown])
    assert said_again(data, Reader("en", "us"), book) == data
    german = said_again(data, Reader("de", "us"), book)["text"]
    assert german == Reader("de", "us").text(label) != str(shown)


def test_the_size_in_a_sheets_name_is_converted():
    name = say("{sheet} no. {k}", sheet="Plywood sheet 2440 x 1220 mm", k=2)
    assert Reader("en", "us").text(name) == "Plywood sheet 96 1/16 x 48 1/16 in no. 2"
    assert "2440 × 1220 mm" in DE.text(name)
    assert Reader("en", "us").text("a 12 mm rule") == "a 12 mm rule"
