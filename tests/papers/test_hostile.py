"""No text can break a page or be read as markup: hostile words in every field of every paper."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pypdf
import pytest

from pourwright.papers import PAPERS, cost_job, papers_of
from pourwright.papers.pack import _data, paper
from pourwright.papers.typeset import typeset
from pourwright.papers.wording import Wording
from pourwright.plan import job_from, work_out

PRINTED = date(2027, 3, 1)
MARKUP = '#panic("x") $x^2$ *b* _i_ `c` @ref <start-quote> = h - l / t \\ ~ [a] {b} // c /* d */'
NASTY = [
    MARKUP,
    '"); #import "house.typ": * #("',
    "</svg><script>alert(1)</script> & &amp; <![CDATA[",
    "\u202eright to left\u202c \u2066\u2069 \u0000\u0007\ud800",
    "שלום עולם, קבוצה 12",
    "emoji 😀👩‍👩‍👧 漢字 ℵ \ufffe",
    "a" * 300,
    "",
]
KEPT = ("kind", "id", "svg", "colour", "paper", "missing")


def _spoil(data, words):
    """Every string of `data` replaced by `words`, but for what the template itself reads."""
    if isinstance(data, str):
        return words
    if isinstance(data, list | tuple):
        return [_spoil(v, words) for v in data]
    if isinstance(data, dict):
        # titles are ours and never empty; a heading without words is refused by PDF/UA
        keep = (*KEPT, "title") if not words else KEPT
        return {k: v if k in keep else _spoil(v, words) for k, v in data.items()}
    return data


@pytest.fixture(scope="module")
def all_data(galley, costing, priced, png):
    return {k: _data(Wording.of(galley), k, PRINTED, png(), priced, costing) for k in PAPERS}


@pytest.mark.parametrize("words", NASTY, ids=range(len(NASTY)))
def test_hostile_words_in_every_field(all_data, words):
    spoilt = [_spoil(d, words) for d in all_data.values()]
    pdf = typeset("pack", {"title": words or "x", "author": "x", "papers": spoilt})
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) >= len(all_data)
    assert "/StructTreeRoot" in reader.trailer["/Root"]


def test_markup_is_printed_as_it_was_written(galley, text_of):
    named = replace(galley, plan=galley.plan.model_copy(update={"name": MARKUP[:60]}))
    text = text_of(paper(named, "labels", printed=PRINTED))
    assert '#panic("x") $x^2$ *b* _i_ `c` @ref <start-quote>' in text


def test_a_name_of_ten_kilobytes_keeps_the_pages(galley, papers):
    long = "word " * 1000 + "x" * 5000
    job = {**galley.plan.job, "client": long, "about": long}
    named = replace(galley, plan=galley.plan.model_copy(update={"name": long, "job": job}))
    found = papers_of(
        named, ["board", "cups", "labels", "care", "runsheet", "record"], printed=PRINTED
    )
    for name, pdf in found.items():
        before = len(pypdf.PdfReader(io.BytesIO(papers[name])).pages)
        assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) <= before + 1


def test_what_the_fonts_lack_is_shown_and_said(galley, text_of):
    named = replace(galley, plan=galley.plan.model_copy(update={"name": "Top 漢 😀"}))
    text = text_of(paper(named, "board", printed=PRINTED))
    assert "Top □ □" in text
    assert "□ stands for a character that the fonts of this paper do not hold" in text


def test_a_hostile_job_goes_all_the_way(galley_document, galley):
    doc = galley_document(name=MARKUP[:100], client="😀 <b>", about=MARKUP + "\n\u202e" + "y" * 900)
    doc["price"] = {**doc["price"], "number": "#x", "not_included": ["*all*", "$"], "options": []}
    work = work_out(job_from(doc), galley.ctx.folder)
    found = papers_of(work, ["pack", "costs"], costing=cost_job(work))
    assert len(found) == 2
