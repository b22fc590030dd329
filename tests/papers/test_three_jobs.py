"""Every paper of all three jobs: revision, date, ranges, cautions, units, advice, photographs."""

from __future__ import annotations

import io
import re
from datetime import date
from pathlib import Path

import pypdf
import pytest

from pourwright.papers import papers_of
from pourwright.papers.frame import pretty
from pourwright.papers.pack import made_for
from pourwright.plan import job_from, load_job, work_out
from pourwright.plan.text import said_plan
from pourwright.words import Reader

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PRINTED = date(2027, 3, 1)
US_NAMES = ["quote", "board", "cuts", "cups", "runsheet", "record", "checks", "care", "safety"]
JOBS = ["galley", "cafe_bar", "wet_room"]


def planned(name: str, **show: str):
    doc = load_job(EXAMPLES / f"{name}.toml").to_document()
    doc = {**doc, "samples": 50, "show": {**doc["show"], **show}}
    doc.get("price", {}).pop("options", None)
    return work_out(job_from(doc), EXAMPLES)


@pytest.fixture(scope="module", params=JOBS)
def job(request):
    work = planned(request.param)
    return work, papers_of(work, made_for(work), printed=PRINTED)


@pytest.fixture(scope="module", params=JOBS)
def us_job(request):
    work = planned(request.param, units="us", paper="letter")
    return work, papers_of(work, US_NAMES, printed=PRINTED)


def test_every_page_of_every_paper_says_what_it_belongs_to(job, lacking):
    work, papers = job
    assert set(papers) == set(made_for(work))
    for name, pdf in papers.items():
        assert lacking(name, pdf, work.plan, "en") == []


def test_what_a_page_lacks_would_be_found(job, lacking, monkeypatch):
    """The check above can fail: a foot without ranges, or without the date, is found on each page."""
    work, _ = job
    monkeypatch.setattr("pourwright.papers.frame.ranges", lambda w: "")
    bare = papers_of(work, ["care", "runsheet"], printed=PRINTED)
    for name, pdf in bare.items():
        pages = len(pypdf.PdfReader(io.BytesIO(pdf)).pages)
        assert {k for _, k, t in lacking(name, pdf, work.plan, "en") if "Ranges" in t} == {
            *range(1, pages + 1)
        }
    older = papers_of(work, ["care"], printed=date(2026, 1, 2))["care"]
    assert any("printed" in t for _, _, t in lacking("care", older, work.plan, "en"))


def test_every_paper_has_a_caution(job, text_of):
    _, papers = job
    for name, pdf in papers.items():
        assert "Caution" in text_of(pdf), name


def test_ranges_stand_beside_the_numbers_that_have_them(job, text_of):
    _, papers = job
    for name in ("quote", "shopping", "cups", "runsheet", "checks", "safety", "care", "costs"):
        assert re.search(r"\d(?: \w+)? to \d", text_of(papers[name])), name


def test_the_checks_say_what_to_change_and_by_how_much(job, text_of):
    work, papers = job
    text, say = text_of(papers["checks"]), Reader().text
    weak = [a for a in work.plan.advice if a.passed != "yes"]
    good = [a for a in work.plan.advice if a.passed == "yes"]
    assert weak and good
    for a in weak:
        assert say(a.asks) in text
        for told in (*a.do, a.caution):
            assert pretty(" ".join(told.split()))[:40] in text
    for a in good:
        assert say(a.asks) in text
    assert ("not met" in text) == any(a.passed == "no" for a in weak)
    assert text.index("What to change") < text.index("Hold points Each")


def test_us_papers_have_us_units(us_job, text_of):
    """Grams on the scale, millimetres of tools and of limits that were published so are all that
    stays metric; every measure of the job itself is in US units."""
    _, papers = us_job
    for name in US_NAMES:
        text = text_of(papers[name])
        assert "°F" in text or name not in ("runsheet", "record", "checks", "care"), name
        text = re.sub(r"41 to 76 °C|near 32 °C", "", text)  # as published, Grundstein 2009
        assert re.findall(r"\d °C", text.replace("_ °C", "")) == [], name
        found = re.findall(r"[\d.]+ (?:mm|mL|kg|m²)\b", text)
        assert [f for f in found if f not in ("1.5 mm",)] == [], name


def _jpeg_with_place(wide: int = 400) -> bytes:
    """A photograph that says where it was taken, lying on its side."""
    from PIL import Image

    im = Image.linear_gradient("L").resize((wide, 200)).convert("RGB")
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turned
    exif[0x010F] = "camera-of-somebody"
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)
    out = io.BytesIO()
    im.save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_photographs_of_the_place_are_on_the_record_without_their_hidden_data(galley, text_of):
    raw = _jpeg_with_place()
    assert b"Exif" in raw and b"camera-of-somebody" in raw
    shots = [("old top, seen from the door", raw), ("", _jpeg_with_place(300))]
    made = papers_of(galley, ["record"], printed=PRINTED, photos=shots)["record"]
    text = text_of(made)
    assert "The place as found" in text and "1. old top, seen from the door" in text
    images = [i for p in pypdf.PdfReader(io.BytesIO(made)).pages for i in p.images]
    assert len(images) == 2
    for image in images:
        assert b"camera-of-somebody" not in image.data and b"Exif" not in image.data
        assert image.image.height > image.image.width  # upright
    assert b"camera-of-somebody" not in made
    assert "The place as found" not in text_of(papers_of(galley, ["record"])["record"])


def test_no_two_cups_of_a_job_are_marked_alike(job, text_of):
    """Ids repeat between coats and back films; what is written on a cup, card or jar never does."""
    work, papers = job
    for language in ("en", "de"):
        plan = said_plan(work.plan, language)
        cups = [q.label for c in plan.coats for q in c.cups]
        batches = [b.label for c in plan.coats for b in c.batches]
        marks = [c.mark for c in plan.coats]
        for labels in (cups, batches, marks):
            assert all(labels) and len(set(labels)) == len(labels), (language, labels)
        for c in plan.coats:
            assert all(q.label == f"{c.mark} {q.id}" for q in c.cups)
            assert all(b.label == f"{c.mark} {b.name}" for b in c.batches)
    ids = [q.id for c in work.plan.coats for q in c.cups]
    assert len(set(ids)) < len(ids)  # the reason for the labels
    for c in work.plan.coats:
        for q in c.cups:
            assert q.label in text_of(papers["cups"]) and q.label in text_of(papers["record"])
        for b in c.batches:
            assert text_of(papers["labels"]).count(b.label) >= 2


def test_a_warning_about_cups_names_their_coat(job, text_of):
    work, papers = job
    told = [w for w in work.plan.warnings if "off the ratio" in w]
    assert told or work.plan.name != "Wet room panels"
    for w in told:
        assert any(w.startswith(f"{c.title}: cup") for c in work.plan.coats), w
        assert w in text_of(papers["checks"])


def test_the_day_of_a_topcoat_warns_of_its_vapour(job, text_of):
    work, papers = job
    days = [d for d in work.plan.days if any(s.kind == "topcoat" for s in d.steps)]
    assert bool(days) == (work.ctx.job.topcoat is not None)
    for d in days:
        told = " ".join(c for s in d.steps if s.kind == "topcoat" for c in s.cautions)
        assert "vapour" in told.lower() and "no flame" in told
        assert told[:60] in text_of(papers["runsheet"])


@pytest.fixture(scope="module")
def wet_room():
    work = planned("wet_room")
    return work, papers_of(work, ["board", "care", "shopping", "runsheet"], printed=PRINTED)


def read(pdf: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", " ".join(p.extract_text() for p in pages)).replace("\u00ad", "")


def test_the_primer_is_bought_in_the_tint_of_the_job(wet_room):
    """White panels over a dark primer would be the wrong tin."""
    work, papers = wet_room
    assert work.ctx.primer_name == "Water-borne two-part epoxy primer, tinted white"
    text = read(papers["shopping"])
    assert "tinted white" in text and "tinted dark" not in text
    assert "more of the ground shows" in read(papers["board"])


def test_panels_have_limits_of_their_own_on_the_care_sheet(wet_room):
    work, papers = wet_room
    text = read(papers["care"])
    assert "water running over it" in text and "no waterproofing" in text
    assert "pan" not in text.replace("panel", "") and "coasters" not in text
    soft = min(c.tg_week_degC.p05 for c in work.plan.faces)
    assert f"{soft:.0f} °C" in text


def test_a_top_keeps_its_pans_on_the_care_sheet():
    work = planned("cafe_bar")
    papers = papers_of(work, ["care", "board", "quote"], printed=PRINTED)
    assert "stainless pan" in read(papers["care"]) and "running over" not in read(papers["care"])
    # no veins in this job: none are agreed; no options: none is chosen
    assert "how fine the veins are" not in read(papers["board"])
    assert "option chosen" not in read(papers["quote"])


def test_nothing_is_said_of_veins_that_nobody_lays(wet_room):
    """The colour is named as on the cups; the board is poured without a wait for veins."""
    work, papers = wet_room
    assert work.ctx.job.colour.vein_width is None
    assert not [t for t in work.plan.warnings if "vein" in t.lower()]
    text = read(papers["runsheet"])
    assert "after spreading. Write down" not in text
    assert "chalk white 1" in text and "chalk-white" not in text


def test_one_thing_is_one_line_on_the_shopping_list(wet_room):
    """Discs of one grit for two coats are bought once, their numbers added."""
    from dataclasses import replace

    from pourwright.papers import cost_job
    from pourwright.papers.shopping import shopping_data
    from pourwright.papers.wording import Wording

    work, _ = wet_room
    costing = cost_job(work)
    disc = next(x for x in costing.reckoning.lines if "grit 120" in str(x.item.text))
    twice = replace(costing.reckoning, lines=(*costing.reckoning.lines, disc))
    costing = replace(costing, reckoning=twice)
    groups = shopping_data(Wording.of(work), PRINTED, costing)["groups"]
    rows = next(g["rows"] for g in groups if g["title"] == "Sundries")
    names = [r["what"] for r in rows]
    assert len(names) == len(set(names))
    row = next(r for r in rows if "grit 120" in r["what"])
    assert row["buy"] == f"{2 * disc.item.bought} pieces"
