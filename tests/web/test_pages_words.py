"""The message catalogues are complete, and no template holds text of its own."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import pourwright.web
from pourwright.errors import InputError
from pourwright.web.pages.words import LANGUAGES, Words, catalogue

WEB = Path(pourwright.web.__file__).parent
TEMPLATES = sorted((WEB / "templates").glob("*.html"))
BRACES = re.compile(r"\{(\w*)\}")
SPOKEN = re.compile(
    r"""\b(aria-label|alt|title|placeholder|aria-description)=(["'])(.*?)\2""", re.S
)
MAY_STAND = {"A", "B", "L*", "a*", "b*", "min", "g", "kg"}
"""Signs of the trade and units that are the same in every language."""


def bare(text: str) -> list[str]:
    """Words in a template that come from no catalogue."""
    text = re.sub(r"\{#.*?#\}", " ", text, flags=re.S)
    spoken = [m[3] for m in SPOKEN.finditer(text)]
    plain = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", " ", text, flags=re.S)
    plain = re.sub(r"<(script|style)\b.*?</\1>", " ", plain, flags=re.S)
    plain = re.sub(r"<[^>]*>", " ", plain)
    plain = re.sub(r"""[\w-]+=(["']).*?\1""", " ", plain)  # attributes that a macro writes
    said = [re.sub(r"\{\{.*?\}\}|\{%.*?%\}", " ", s, flags=re.S) for s in spoken]
    words = re.findall(r"[^\W\d_][\w*]*", re.sub(r"&\w+;", " ", " ".join([plain, *said])))
    return [w for w in words if w not in MAY_STAND and w.rstrip("*") not in ("L", "a", "b")]


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda p: p.name)
def test_no_template_holds_bare_text(path):
    assert bare(path.read_text("utf-8")) == []


def test_bare_text_would_be_found():
    assert bare("<p>Hello {{ t('x') }}</p>") == ["Hello"]
    assert bare('<img alt="A picture">') == ["picture"]
    assert bare("{% if a %}<b class='on'>{{ t('x') }}</b>{% endif %}") == []


def test_all_catalogues_have_the_same_keys_and_blanks():
    first = catalogue("en")
    for language in LANGUAGES:
        other = catalogue(language)
        assert set(other) == set(first)
        for key, text in other.items():
            assert text.strip(), key
            assert set(BRACES.findall(text)) == set(BRACES.findall(first[key])), (language, key)


def test_german_is_not_english():
    en, de = catalogue("en"), catalogue("de")
    long = [k for k, v in en.items() if len(v) > 25]
    assert len(long) > 150
    assert [k for k in long if en[k] == de[k]] == []


def test_every_key_that_a_template_names_is_there():
    known = set(catalogue("en"))
    asked = set()
    for path in TEMPLATES:
        asked |= set(re.findall(r"""\bt\(\s*["']([\w.]+)["']\s*[,)]""", path.read_text("utf-8")))
    assert len(asked) > 200
    assert asked - known == set()


def test_every_key_that_a_page_builds_is_there():
    """Keys put together from a word and a value: every value there is has its words."""
    from pourwright.plan.job import Coat
    from pourwright.survey.edges import EDGE_KINDS
    from pourwright.web.pages.papers import ORDER
    from pourwright.web.pages.record import KNOWN
    from pourwright.web.pages.render import WORK

    t = Words("en")
    for k in WORK:
        assert t(f"nav.{k}") and t(f"lead.{k}")
    for k in ORDER:
        assert t(f"paper.{k}.title") and t(f"paper.{k}.use")
    for k in (*KNOWN, "other"):
        assert t(f"record.kind_{k}")
    for k in EDGE_KINDS:
        assert t(f"edge.{k}")
    for k in ("field", "board", "vein", "accent"):
        assert t(f"mix.batch_{k}", name="1")
    assert Coat.model_fields


def test_every_move_of_a_score_has_words():
    from typing import get_args

    from pourwright.pattern.score import Move

    t = Words("de")
    kinds = get_args(get_args(Move)[0])
    assert len(kinds) >= 8
    for kind in kinds:
        do = get_args(kind.model_fields["do"].annotation)[0]
        assert t(f"move.{do}")
        assert t(f"move.{do}_say", uses="x", width="1", length="2", n=3, angle="4", time="5")


def test_an_unknown_language_is_refused():
    with pytest.raises(InputError, match="language"):
        Words("xx")


def test_no_screen_loads_anything_from_elsewhere():
    for path in [*TEMPLATES, *(WEB / "static").glob("*.css"), *(WEB / "static").glob("*.svg")]:
        text = path.read_text("utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"(https?:)?//[\w-]+\.", text), path.name
        assert 'style="' not in text, f"{path.name}: the security policy refuses inline styles"
        assert "onclick" not in text and "javascript:" not in text, path.name


def test_examples_in_us_units_stand_for_texts_there_are():
    """A job in US units reads help with inches; every such text has one it stands for."""
    from pourwright.web.pages.words import words_in

    en = catalogue("en")
    us = [k for k in en if k.startswith("us.")]
    assert len(us) > 10
    assert [k for k in us if k[3:] not in en] == []
    metric = re.compile(r"\d ?(mm|cm|m|kg|g|mL|L|°C|degC)\b")
    for language in LANGUAGES:
        here, there = words_in(language, "us"), words_in(language)
        for key in us:
            assert here(key[3:]) != there(key[3:])
            assert not metric.search(here(key[3:])), (language, key)
    told = {k for k, v in en.items() if metric.search(v) and "{" not in v}
    assert {k for k in told if f"us.{k}" not in en} == set()
