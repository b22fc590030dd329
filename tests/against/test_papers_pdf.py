"""The papers against outside readers: pypdf for tags and text, pypdfium2 for pages and places,
zxing-cpp for the square codes.

Sources of what is asked for: ISO 14289-1:2014 (PDF/UA-1) 7.1 to 7.3, 7.18 in short (tagged, titled,
language stated, figures described, XMP says part 1), ISO 216 and ANSI Y14.1 for page sizes, from
memory; ISO/IEC 18004 for the codes, read by an independent decoder.
"""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdf
import pypdfium2
import pytest

from pourwright.papers import PAPERS, papers_of
from pourwright.papers.qr import code_text
from pourwright.plan import job_from, load_job, work_out

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PRINTED = date(2027, 3, 1)
MM = 72 / 25.4
A4, LETTER = (210 * MM, 297 * MM), (612.0, 792.0)
NAMES = [*PAPERS, "pack"]


@pytest.fixture(scope="module")
def work():
    doc = {**load_job(EXAMPLES / "galley.toml").to_document(), "samples": 50}
    doc.pop("price", None)
    return work_out(job_from(doc), EXAMPLES)


@pytest.fixture(scope="module")
def papers(work):
    letter = {**work.plan.job, "show": {**work.plan.job["show"], "paper": "letter"}}
    other = replace(work, plan=work.plan.model_copy(update={"job": letter}))
    return {"a4": papers_of(work, printed=PRINTED), "letter": papers_of(other, printed=PRINTED)}


def _root(pdf: bytes):
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return reader, reader.trailer["/Root"]


def _tree(node):
    node = node.get_object()
    yield node
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        if hasattr(kid, "get_object") and isinstance(kid.get_object(), dict):
            yield from _tree(kid)


@pytest.mark.parametrize("name", NAMES)
def test_tagged_titled_and_in_a_language(papers, name):
    reader, root = _root(papers["a4"][name])
    assert bool(root["/MarkInfo"]["/Marked"])
    assert root["/Lang"] == "en"
    assert bool(root["/ViewerPreferences"]["/DisplayDocTitle"])
    assert "Galley of a canal boat" in reader.metadata.title
    xmp = root["/Metadata"].get_data().decode()
    assert "<pdfuaid:part>1</pdfuaid:part>" in xmp
    kinds = [str(n.get("/S")) for n in _tree(root["/StructTreeRoot"])]
    assert "/H1" in kinds
    if name not in ("labels", "runsheet"):
        assert "/H2" in kinds
    # every table has heads
    for node in _tree(root["/StructTreeRoot"]):
        if node.get("/S") == "/Table":
            assert "/TH" in [str(n.get("/S")) for n in _tree(node)]


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_is_described(papers, name):
    _, root = _root(papers["a4"][name])
    figures = [n for n in _tree(root["/StructTreeRoot"]) if n.get("/S") == "/Figure"]
    assert all(len(str(f.get("/Alt", ""))) > 10 for f in figures)
    if name in ("quote", "cuts", "cups", "labels", "runsheet"):
        assert figures


@pytest.mark.parametrize("name", NAMES)
def test_fonts_are_inside(papers, name):
    reader, _ = _root(papers["a4"][name])
    seen = 0
    for page in reader.pages:
        for font in (page["/Resources"].get("/Font") or {}).values():
            inner = font.get_object()
            below = inner.get("/DescendantFonts")
            found = below[0].get_object() if below else inner
            descriptor = found["/FontDescriptor"].get_object()
            assert any(k in descriptor for k in ("/FontFile2", "/FontFile3"))
            seen += 1
    assert seen


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("paper", "size"), [("a4", A4), ("letter", LETTER)])
def test_pages_have_their_size_and_nothing_leaves_the_margins(papers, paper, size, name):
    """0.1 pt: sizes are rounded to hundredths of a millimetre. Margin 16 mm, checked at 12 mm for
    side bearings and marks that hang out."""
    pdf = pypdfium2.PdfDocument(papers[paper][name])
    assert 0 < len(pdf) < 60
    for page in pdf:
        assert page.get_size() == pytest.approx(size, abs=0.1)
        text = page.get_textpage()
        assert text.count_chars() > 80
        for k in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(k)
            assert left > 12 * MM
            assert right < size[0] - 12 * MM
            assert bottom > 4 * MM
            assert top < size[1] - 4 * MM


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_page_is_left_with_a_lonely_line(papers, paper):
    """A page but the run sheet's must carry more than its head and foot (about 230 characters) and a line."""
    for name, pdf in papers[paper].items():
        for k, page in enumerate(pypdfium2.PdfDocument(pdf)):
            said = len(page.get_textpage().get_text_bounded().strip())
            assert said > 320, f"{name} page {k + 1} on {paper} has {said} characters"


@pytest.mark.parametrize("name", NAMES)
def test_it_reads_in_grey(papers, name):
    """Text keeps a contrast of at least 4.5 to 1 against white (WCAG 2.2, 1.4.3) in its own ink."""
    from pypdfium2 import raw

    def light(c: float) -> float:
        c /= 255
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    pdf = pypdfium2.PdfDocument(papers["a4"][name])
    inks = set()
    for page in pdf:
        for obj in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], max_depth=1):
            import ctypes

            rgba = [ctypes.c_uint() for _ in range(4)]
            raw.FPDFPageObj_GetFillColor(obj.raw, *[ctypes.byref(c) for c in rgba])
            inks.add(tuple(c.value for c in rgba[:3]))
    assert inks
    for r, g, b in inks:
        y = 0.2126 * light(r) + 0.7152 * light(g) + 0.0722 * light(b)
        assert 1.05 / (y + 0.05) >= 4.5, (r, g, b)


@pytest.mark.parametrize("name", ["cups", "labels"])
def test_square_codes_are_read_by_another_decoder(papers, work, name):
    zxingcpp = pytest.importorskip("zxingcpp", reason="the decoder zxing-cpp is not installed")
    found = []
    for page in pypdfium2.PdfDocument(papers["a4"][name]):
        image = page.render(scale=300 / 72, grayscale=True).to_pil()  # as printed at 300 dpi
        found += [r.text for r in zxingcpp.read_barcodes(image)]
    if name == "cups":
        wanted = [code_text(work, f"cup {c.id} {q.id}") for c in work.plan.coats for q in c.cups]
    else:
        wanted = 2 * [
            code_text(work, f"batch {c.id} {b.name}") for c in work.plan.coats for b in c.batches
        ]
    assert sorted(found) == sorted(wanted)
    assert all("://" not in t and "www" not in t for t in found)
