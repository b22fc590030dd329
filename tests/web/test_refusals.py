"""Refused input is said in the language of the page, JSON in English unless a page asks."""

from __future__ import annotations

import json
import pickle
import re

import pytest

from pourwright.errors import InputError, worded
from pourwright.quantities.reader import understand
from pourwright.web.deps import error_from
from pourwright.web.refusals import ASKS, error_in, field_said, kept_error, refused
from pourwright.words import Amount, Reader, say

DE, EN, US = Reader("de"), Reader("en"), Reader("en", "us")
HTML = {"accept": "text/html"}


def bad(text: str) -> InputError:
    with pytest.raises(InputError) as found:
        understand(text, "length", "size")
    return found.value


def test_a_length_without_unit_is_said_in_german():
    err = bad("610")
    assert refused(err, EN, True).unescape() == err.line()
    text = refused(err, DE, True).unescape()
    assert text == (
        "Maß: \"610\" geht nicht; die Einheit fehlt (eine Länge). "
        "Ergänzen, wie in '610 mm' oder '24 1/8 in'."
    )  # fmt: skip
    assert refused(err, DE).unescape().startswith("Die Einheit fehlt")


@pytest.mark.parametrize(
    "text", ["", "5 kg", "1,2,3 mm", "610 mmm", "3 ft 2 mm", "1:20", "5.", "²"]
)
def test_no_refused_length_shows_english(text):
    err = bad(text)
    said = refused(err, DE, True)
    assert "lang=" not in said
    assert not re.search(r"\b(the|is|Write|it|has|and)\b", said.unescape())
    assert error_in(err, EN) == {k: str(v) for k, v in err.as_dict().items()}


def test_what_no_catalogue_has_is_marked_as_english_and_escaped():
    err = InputError("x", "<b>", "odd & new", "Mend <i>.")
    assert refused(err, DE) == '<span lang="en">Odd &amp; new. Mend &lt;i&gt;.</span>'
    assert refused(err, EN) == "Odd &amp; new. Mend &lt;i&gt;."
    assert "<b>" not in refused(err, DE, True)


def test_amounts_are_in_the_units_of_the_job():
    err = InputError(
        "x", 1, say("the edge is {side:.6g} long", side=Amount(610, "mm")), "Check it."
    )
    assert refused(err, US) == "The edge is 24 in long. Check it."
    assert refused(err, EN) == "The edge is 610 mm long. Check it."


def test_worded_text_is_text_and_survives_a_pickle():
    made = worded("'{word}' is not a unit known here", word="mmm")
    again = pickle.loads(pickle.dumps(made))
    assert made == again == "'mmm' is not a unit known here"
    assert DE.text(again) == "'mmm' ist hier keine bekannte Einheit"


def test_what_is_missing_is_called_missing():
    err = InputError("core.width", None, "more than 0 mm", "Give it.")
    assert err.line() == "core.width: nothing is given; more than 0 mm. Give it."
    for form in (err, err.as_dict()):
        assert "nothing is given" in refused(form, EN, whole=True)
        assert "nichts angegeben" in refused(form, DE, whole=True)
        assert "None" not in refused(form, EN, whole=True)


def test_the_page_answers_in_its_language(client):
    page = {"name": "Theke", "palette": "slate", "length": "2100"}
    for language, words in (("de", "geht nicht"), ("en", "is not usable")):
        client.cookies.set("pw_language", language)
        answer = client.post("/jobs/new", data={**page, "token": client.token}, headers=HTML)
        assert answer.status_code == 422
        assert words in answer.text
    client.cookies.set("pw_language", "de")
    answer = client.get("/jobs/no-such-job/site", headers=HTML)
    assert answer.status_code == 404
    assert "Einen solchen Auftrag gibt es nicht." in answer.text


def test_json_is_english_unless_a_page_asks(client):
    client.cookies.set("pw_language", "de")
    body = {"text": "610", "dimension": "length", "locale": "en"}
    plain = client.post("/api/read", json=body)
    asked = client.post("/api/read", json=body, headers={ASKS: "de"})
    odd = client.post("/api/read", json=body, headers={ASKS: "xx"})
    assert plain.status_code == asked.status_code == odd.status_code == 422
    assert plain.json()["error"]["limit"] == "the unit is missing for a length"
    assert asked.json()["error"]["limit"] == "die Einheit fehlt (eine Länge)"
    assert asked.json()["error"]["field"] == plain.json()["error"]["field"]
    assert odd.json() == plain.json()


def test_fields_are_named_in_words():
    assert field_said("surfaces.leg-a.outline[3]", "en") == "surfaces.leg-a.outline[3]"
    assert field_said("surfaces.leg-a.outline[3]", "de") == "Flächen › leg-a › Umriss [3]"
    assert field_said("thickness_mm", "de") == field_said("thickness", "de") != "thickness_mm"
    assert field_said("a_per_b_mass", "de") == "a_per_b_mass"


def test_why_a_task_failed_is_kept_with_its_values():
    err = bad("610")
    kept = json.loads(json.dumps(kept_error(err)))
    assert {k: v for k, v in kept.items() if k != "said"} == err.as_dict()
    assert refused(kept, DE) == refused(err, DE)
    assert "fehlt" in refused(kept, DE)
    plain = {k: v for k, v in kept.items() if k != "said"}
    assert refused(plain, EN) == refused(err, EN)
    again = error_from(kept)
    assert again.line() == err.line()
    far = InputError("x", 1, say("at most {most:.1f}", most=Amount(12.7, "mm")), "Give one.")
    assert "1/2 in" in refused(kept_error(far), Reader("de", "us"))
