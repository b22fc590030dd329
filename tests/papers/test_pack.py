"""What every paper carries, and what each is for."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pypdf
import pytest

from pourwright.errors import InputError
from pourwright.papers import PACK, PAPERS, papers_of
from pourwright.papers.frame import pretty
from pourwright.papers.pack import _data, paper
from pourwright.papers.wording import Wording

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PRINTED = date(2027, 3, 1)


def test_all_papers_and_the_pack_are_there(papers):
    assert list(papers) == [*PAPERS, "pack"]
    assert all(v.startswith(b"%PDF-") for v in papers.values())


@pytest.mark.parametrize("name", [*PAPERS, "pack"])
def test_every_paper_carries_revision_mark_date_and_ranges(papers, galley, name, text_of):
    text = text_of(papers[name])
    assert "Galley of a canal boat" in text
    assert f"revision {galley.plan.provenance.job_revision}" in text
    assert galley.plan.provenance.job_sha256[:10] in text
    assert "printed 1 Mar 2027" in text
    assert "Ranges run from the 5 to the 95 % point" in text
    assert "the product's data sheet, local codes and licensed practice" in text


@pytest.mark.parametrize("name", [n for n in PAPERS if n != "costs"])
def test_every_paper_for_the_work_carries_cautions(papers, name, text_of):
    text = text_of(papers[name])
    assert "Caution. " in text or "Cautions " in text


@pytest.mark.parametrize("name", list(PAPERS))
def test_every_page_has_its_foot(papers, galley, name):
    reader = pypdf.PdfReader(io.BytesIO(papers[name]))
    for k, page in enumerate(reader.pages, 1):
        text = page.extract_text().replace("\u00a0", " ")
        assert f"page {k} of {len(reader.pages)}" in text
        assert galley.plan.provenance.job_sha256[:10] in text


def test_run_sheet_has_every_day_with_its_steps_and_says_where_it_goes_on(papers, galley):
    reader = pypdf.PdfReader(io.BytesIO(papers["runsheet"]))
    pages = [" ".join(p.extract_text().replace("\u00a0", " ").split()) for p in reader.pages]
    w, at = Wording.of(galley), 0
    for day in galley.plan.days:
        first = at
        while at < len(pages) and f" {w.day(day.date)} revision" in pages[at]:
            at += 1
        sheets = pages[first:at]
        assert sheets, day.date
        text = " ".join(sheets)
        assert all(s.starts[11:16] in text and s.title in text for s in day.steps)
        if len(sheets) > 1:
            for k, sheet in enumerate(sheets, 1):
                assert f"sheet {k} of {len(sheets)}" in sheet
            assert all("on the next sheet" in s for s in sheets[:-1])
        else:
            assert "sheet 1 of" not in text
    assert at == len(pages) < 2.5 * len(galley.plan.days)


def test_no_letter_on_the_wall_is_small(papers, galley):
    """Issue 8: readable at a metre. What is done and what must hold is 14 pt or more, nothing is
    under 10 pt, the ribbon's words and the foot too (0.05 pt for rounding)."""
    import ctypes

    import pypdfium2
    from pypdfium2 import raw

    letters: list[str] = []
    sizes: list[float] = []
    for page in pypdfium2.PdfDocument(papers["runsheet"]):
        tp = page.get_textpage()
        for k in range(tp.count_chars()):
            if letter := tp.get_text_range(k, 1).strip("\u00a0 \r\n\u200b"):
                m = raw.FS_MATRIX()
                assert raw.FPDFText_GetMatrix(tp.raw, k, ctypes.byref(m))
                scale = (m.b * m.b + m.d * m.d) ** 0.5
                letters.append(letter[0])
                sizes.append(raw.FPDFText_GetFontSize(tp.raw, k) * scale)
    assert min(sizes) >= 9.95
    text, seen = "".join(letters), 0
    for step in (s for d in galley.plan.days for s in d.steps if s.say):
        words = "".join(pretty(step.say[:1].upper() + step.say[1:]).split())
        at = text.find(words)
        if at >= 0:
            seen += 1
            assert min(sizes[at : at + len(words)]) >= 13.95, step.say
    assert seen >= 15


def test_times_on_the_wall_can_be_read_at_a_metre(papers):
    """Height of digits at a metre: 1/200 of the distance, 5 mm, is common practice for signs;
    the digits of this face are 0.65 of the type size high, so 22 pt."""
    import pypdfium2

    pdf = pypdfium2.PdfDocument(papers["runsheet"])
    for page in pdf:
        tp = page.get_textpage()
        heights = []
        for k in range(tp.count_chars()):
            if tp.get_text_range(k, 1).isdigit():
                _, bottom, _, top = tp.get_charbox(k)
                heights.append(top - bottom)
        tallest = sorted(heights)[-4:]
        assert min(tallest) >= 5.0 * 72 / 25.4


def test_cost_sheet_is_not_in_the_pack(papers, text_of):
    assert "costs" not in PACK
    assert "Cost sheet" not in text_of(papers["pack"])
    assert "Mark-up" not in text_of(papers["quote"])


def test_pack_holds_all_pages_of_its_papers(papers):
    count = lambda b: len(pypdf.PdfReader(io.BytesIO(b)).pages)  # noqa: E731
    assert count(papers["pack"]) == 1 + sum(count(papers[k]) for k in PACK)


def test_quote_says_money_options_and_dates(papers, priced, costing, text_of):
    text = text_of(papers["quote"])
    r = costing.reckoning
    for m in (r.net, r.tax, r.gross):
        assert f"{m.amount:,.2f}" in text
    for s in r.sale:
        assert f"{s.net.amount:,.2f}" in text
    assert "Matte top" in text
    difference = priced[1].costing.reckoning.gross.amount - r.gross.amount
    assert f"{difference:+,.2f}" in text
    assert "The exact sum is rounded to the coin once" in text


def test_cups_say_what_the_plan_says(papers, galley, text_of):
    text = text_of(papers["cups"])
    for c in galley.plan.coats:
        for q in c.cups:
            assert q.id in text
            digits = 0 if max(q.read_a, q.read_b) >= 20 else 1
            assert f"{q.read_a:.{digits}f} {q.read_by}" in text


def test_care_sheet_turns_the_contact_temperature_round(galley):
    """Set down at its limit, each thing brings the face to its softening point and no more."""
    from pourwright.endure.heat import PANS, contact_temperature, effusivity
    from pourwright.papers.care import ROOM_K, THINGS, _pans

    film = galley.ctx.catalogue.get("cured-coating")
    b_film = effusivity(film["k_W_mK"], film["density_kg_m3"], film["cp_J_kgK"])
    soft = (35.0, 45.0, 60.0)
    for (name, limits), (_, pan) in zip(
        _pans(Wording.of(galley), soft, THINGS), THINGS, strict=True
    ):
        for s, hot in zip(soft, limits, strict=True):
            t = contact_temperature(effusivity(*PANS[pan]), hot + 273.15, b_film, ROOM_K)
            assert float(t) - 273.15 == pytest.approx(s, abs=1e-9), name


def test_full_service_date_is_the_plans(papers, galley, text_of):
    assert galley.plan.serve is not None
    assert Wording.of(galley).long_day(galley.plan.serve) in text_of(papers["care"])


def test_letter_paper_is_letter(galley):
    show = {**galley.plan.job["show"], "paper": "letter"}
    other = galley.plan.model_copy(update={"job": {**galley.plan.job, "show": show}})
    from dataclasses import replace

    found = papers_of(replace(galley, plan=other), ["board", "runsheet"], printed=PRINTED)
    for pdf in found.values():
        box = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx((612, 792), abs=0.1)


def test_same_input_same_pages(galley, text_of):
    a = paper(galley, "labels", printed=PRINTED)
    b = paper(galley, "labels", printed=PRINTED)
    assert text_of(a) == text_of(b)


@pytest.mark.parametrize("bad", ["pigs", "", "quote;"])
def test_unknown_papers_are_refused(galley, bad):
    with pytest.raises(InputError, match="quote, board"):
        papers_of(galley, [bad])


def test_pictures(galley, costing, png):
    jpeg = paper(galley, "board", printed=PRINTED, picture=png(fmt="JPEG"))
    assert jpeg.startswith(b"%PDF")
    for bad in (b"", b"GIF89a...", png()[:60], png(fmt="GIF")):
        with pytest.raises(InputError, match="picture"):
            paper(galley, "board", printed=PRINTED, picture=bad)


def test_without_a_cut_plan_the_paper_says_so(galley, text_of):
    from dataclasses import replace

    bare = replace(galley, plan=galley.plan.model_copy(update={"cut": None}))
    assert "no cut plan" in text_of(paper(bare, "cuts", printed=PRINTED))
    text = text_of(paper(bare, "costs", printed=PRINTED))
    assert "the core board is not in this price" in text


def test_us_units_reach_the_papers(galley, text_of):
    from dataclasses import replace

    show = {**galley.plan.job["show"], "units": "us"}
    other = replace(galley, plan=galley.plan.model_copy(
        update={"job": {**galley.plan.job, "show": show}}))  # fmt: skip
    text = text_of(paper(other, "cups", printed=PRINTED))
    assert "fl oz" in text
    text = text_of(paper(other, "runsheet", printed=PRINTED))
    assert "°F" in text


def test_the_cut_pages_of_a_us_job_read_feet_and_inches(galley):
    from dataclasses import replace

    show = {**galley.plan.job["show"], "units": "us"}
    other = replace(galley, plan=galley.plan.model_copy(
        update={"job": {**galley.plan.job, "show": show}}))  # fmt: skip
    us = _data(Wording.of(other), "cuts", date(2027, 3, 1), None, None, None)
    metric = _data(Wording.of(galley), "cuts", date(2027, 3, 1), None, None, None)
    assert len(us["sheets"]) == len(metric["sheets"]) > 0
    for a, b in zip(us["sheets"], metric["sheets"], strict=True):
        assert " ft " in str(a) and " mm" not in str(a)
        assert " mm" in str(b) and " ft " not in str(b)
    assert " mm" not in str(us["facts"]) and " mm" in str(metric["facts"])


def test_data_are_plain(galley, costing, priced):
    import json

    for name in PAPERS:
        json.dumps(_data(Wording.of(galley), name, date(2027, 3, 1), None, priced, costing))


def test_no_page_of_the_wall_is_without_a_caution_and_no_hold_is_cut(galley, papers):
    import io

    import pypdf

    pages = [p.extract_text() for p in pypdf.PdfReader(io.BytesIO(papers["runsheet"])).pages]
    assert len(pages) >= len(galley.plan.days)
    for text in pages:
        assert "Caution." in text and "revision 1" in " ".join(text.split())
    joined = " ".join(" ".join(pages).split())
    assert "…" not in joined
    torch = next(h for d in galley.plan.days for s in d.steps if s.kind == "torch" for h in s.holds)
    assert torch.rsplit(" ", 4)[-1].rstrip(".") in joined


def test_the_ribbon_on_the_wall_runs_until_sanding_comes_first(galley):
    from pourwright.papers.runsheet import _wall_band
    from pourwright.plan.ribbon import coat_bands

    for c in galley.timed.coats:
        moves, cures = coat_bands(galley.ctx, galley.timed, c)
        band = _wall_band(moves, cures)
        assert band.start_s == moves.start_s and moves.end_s <= band.end_s <= cures.end_s
        shown = [w for w in band.words if w.start_s < band.end_s]
        assert len(shown) >= min(4, len(cures.words))
        assert 3 <= (band.end_s - band.start_s) / band.tick_s <= 9.01 or band.tick_s == 6 * 3600.0


def test_a_ready_core_has_no_cut_plan_and_no_board_sheet(galley_document, text_of):
    from pourwright.papers import papers_of
    from pourwright.plan import job_from, work_out

    doc = galley_document(primer=False)
    doc["core"] = {**doc["core"], "ready": True}
    doc["surfaces"] = [x for x in doc["surfaces"] if x["name"] == "table"]
    doc.pop("board")
    doc["price"].pop("options", None)
    work = work_out(job_from(doc), EXAMPLES)
    made = papers_of(work)
    assert "cuts" not in made and "board" not in made
    contents = text_of(made["pack"])
    assert "Sand the old coat matt" in contents and "The old coat, sound, sanded" in contents
    assert "Cut plan" not in contents
    lines = text_of(made["costs"])
    assert "Round-over bit" not in lines and "Core board" not in lines
    assert not any("cut plan" in w.lower() for w in work.plan.warnings)


def test_the_record_has_room_for_what_teaches(papers, text_of):
    text = text_of(papers["record"])
    for word in ("Looks at cup and film", "Not yet at", "Weighed afterwards", "Ran off", "lifting"):
        assert word in text
