"""A job in German gives German papers: words, decimal marks, dates, the language of the file."""

from __future__ import annotations

import io
import re
from datetime import date
from pathlib import Path

import pypdf
import pytest

from pourwright.papers import PAPERS, papers_of
from pourwright.papers.typeset import template_sentences, template_words
from pourwright.plan import job_from, load_job, work_out
from pourwright.words import catalogue
from pourwright.words.said import pieces

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PRINTED = date(2027, 3, 1)
ENGLISH = re.compile(
    r"\b(the|and|with|before|after|until|from|not|what|when|each|left|over|by|of|is|are|for|to|"
    r"coat|coats|sheet|sheets|board|batch|cup|cups|page|printed|revision|Caution|Cautions)\b"
)
"""Words that an English sentence cannot do without, and the heads of our own pages."""
CITED = (
    "plan.md", "docs/cure.md", "docs/film.md", "film.tilt", "Fundamentals 2017",
    "Table 3.2", "Bannister", "RSC Advances", "Carslaw",
)  # fmt: skip
"""What stays as it is: names of files, and works that are cited."""
JOBS = ["galley", "cafe_bar", "wet_room"]


@pytest.fixture(scope="module", params=JOBS)
def german(request):
    """A job planned in German, its papers, and the user's own words in it."""
    doc = load_job(EXAMPLES / f"{request.param}.toml").to_document()
    doc = {**doc, "samples": 50, "show": {**doc["show"], "language": "de"}}
    doc.get("price", {}).pop("options", None)
    work = work_out(job_from(doc), EXAMPLES)
    only = None if request.param == "galley" else ["pack", "costs"]  # one of them paper by paper
    return work, papers_of(work, only, printed=PRINTED), own_words(doc)


def own_words(thing) -> set[str]:
    """Every text that somebody wrote into a job."""
    if isinstance(thing, str):
        return {thing}
    if isinstance(thing, dict):
        return {w for k, v in thing.items() for w in {str(k)} | own_words(v)}
    if isinstance(thing, list):
        return {w for v in thing for w in own_words(v)}
    return set()


def said_in(text: str, own: set[str]) -> str:
    """Text of a paper, words put together again, the user's own words and citations taken out."""
    text = text.replace("\u00ad", "")
    for w in sorted((*own, *CITED), key=len, reverse=True):
        if len(w) > 2:
            text = text.replace(" ".join(w.split()), " ")
    return text


def test_no_english_sentence_is_left_in_a_german_paper(german, text_of):
    _, papers, own = german
    left = {}
    for name, pdf in papers.items():
        text = said_in(text_of(pdf), own)
        found = [text[max(m.start() - 40, 0) : m.end() + 40] for m in ENGLISH.finditer(text)]
        if found:
            left[name] = found
    assert left == {}


def test_no_english_pattern_of_ours_stands_on_a_german_page(german, text_of):
    """Every pattern of the catalogue that is said otherwise in German, looked for by its longest
    piece of text: this finds sentences without a tell-tale word."""
    _, papers, own = german
    text = said_in(text_of(papers["pack"]) + text_of(papers["costs"]), own)
    found = []
    for english, said in catalogue("de").items():
        piece = max((t.strip() for t, _, _ in pieces(english)), key=len)
        if len(piece) > 14 and " " in piece and piece not in said and piece in text:
            found.append(english)
    assert found == []


def test_the_file_says_its_language_and_dates_are_german(german, text_of):
    work, papers, _ = german
    for name, pdf in papers.items():
        reader = pypdf.PdfReader(io.BytesIO(pdf))
        assert reader.trailer["/Root"]["/Lang"] == "de", name
        text = text_of(pdf).replace("\u00ad", "")
        assert "gedruckt am 1. März 2027" in text, name
        assert f"Stand {work.plan.provenance.job_revision}" in text, name
        assert "5zum95%Punkt" in re.sub("[- ]", "", text), name
        assert "zugelassene Fachleute" in text, name
        assert "Vorsicht" in text, name


def test_every_german_page_says_what_it_belongs_to(german, lacking):
    work, papers, _ = german
    for name, pdf in papers.items():
        assert lacking(name, pdf, work.plan, "de") == []


def test_numbers_have_a_decimal_comma(german, text_of):
    """No number with a decimal point is left but in clock-like names of standards and files."""
    _, papers, own = german
    for name, pdf in papers.items():
        text = said_in(text_of(pdf), own)
        text = re.sub(r"\d{1,3}(\.\d{3})+(?=,\d\d)|\d{1,3}(\.\d{3})+(?!\d)", "", text)
        text = re.sub(r"CFR 1910\.\d+|A161\.\d|Tabelle 3\.\d|Pourwright \d\.\d\.\d", "", text)
        assert re.findall(r"(?<![\d.])\d+\.\d+(?!\.|\d* ?[A-Z])", text) == [], name
        assert re.search(r"\d,\d", text) or name not in (
            "quote",
            "cups",
            "shopping",
            "costs",
            "pack",
        ), name


def test_english_jobs_stay_english(papers):
    for name, pdf in papers.items():
        assert pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/Lang"] == "en", name


def test_every_sentence_of_the_templates_is_in_the_catalogue():
    assert len(template_sentences()) > 100
    assert sorted(template_sentences() - template_words("de").keys()) == []


def test_templates_say_nothing_by_themselves():
    """Words in a template stand inside `say("...")`, so that no language is forgotten."""
    folder = Path(__file__).resolve().parents[2] / "src" / "pourwright" / "papers" / "templates"
    for file in folder.glob("*.typ"):
        text = re.sub(r"//.*", "", file.read_text("utf-8"))
        text = re.sub(r'say\("[^"]*"', "say(", text)
        text = re.sub(r'"[^"]*"', "", text)
        text = re.sub(r"#(if|for|let|set|show|import)\b[^\n\[]*", "", text)
        inside = re.findall(r"(?<![\w)])\[([^\[\]]*)\]", text)
        bare = [re.sub(r"#[\w.-]+(\([^()]*\))?", "", t) for t in inside]
        words = [w for t in bare for w in re.findall(r"[A-Za-z]{3,}", t)]
        assert words == [], (file.name, words)


def test_every_paper_has_a_german_name():
    known = catalogue("de")
    for title, use in PAPERS.values():
        assert title in known and use in known
