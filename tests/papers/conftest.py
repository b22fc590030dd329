"""The galley planned once with few samples, prices and one option, for all tests of the papers."""

from __future__ import annotations

import io
import re
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from pourwright.papers import cost_job, papers_of, price_options
from pourwright.plan import Working, job_from, load_job, work_out

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PRINTED = date(2027, 3, 1)
PRICE: dict[str, Any] = {
    "number": "Q-7",
    "hourly": "GBP 38.00",
    "overhead": "GBP 120.00",
    "distance_km": "14",
    "per_distance": "GBP 0.45/km",
    "travel_time": "25 min",
    "exchange": {"EUR": "0.86"},
    "tax": "20 %",
    "round_price_to": "5.00",
    "options": [
        {
            "name": "Matte top",
            "says": "two coats of matte",
            "change": {"topcoat": {"material": "topcoat-water-matte", "coats": 2}},
        }
    ],
}


def document(**changes: Any) -> dict[str, Any]:
    """The galley as plain data with few samples, the prices above and `changes`."""
    found = load_job(EXAMPLES / "galley.toml").to_document()
    return {**found, "samples": 50, "price": PRICE, **changes}


@pytest.fixture(scope="session")
def galley() -> Working:
    return work_out(job_from(document()), EXAMPLES)


@pytest.fixture(scope="session")
def costing(galley):
    return cost_job(galley)


@pytest.fixture(scope="session")
def priced(galley, costing):
    return price_options(galley, costing)


@pytest.fixture(scope="session")
def papers(galley, costing, priced) -> dict[str, bytes]:
    return papers_of(galley, printed=PRINTED, picture=_png(), options=priced, costing=costing)


def _png(size: tuple[int, int] = (320, 160), fmt: str = "PNG") -> bytes:
    """A small picture."""
    from PIL import Image

    out = io.BytesIO()
    Image.linear_gradient("L").resize(size).convert("RGB").save(out, fmt)
    return out.getvalue()


@lru_cache(maxsize=64)
def _text_of(pdf: bytes) -> str:
    """All text of a PDF, spaces made plain, marks for breaking long words taken out."""
    import pypdf

    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    found = "\n".join(p.extract_text() for p in pages)
    return " ".join(found.replace("\u200b", "").replace("\u00a0", " ").split())


@pytest.fixture(scope="session")
def png():
    """A small picture: a function of size and format."""
    return _png


@pytest.fixture(scope="session")
def text_of():
    """The text of a PDF: a function."""
    return _text_of


@pytest.fixture(scope="session")
def galley_document():
    """The galley as plain data with changes: a function."""
    return document


CARRIED = {
    "en": ("revision {revision}", "{mark}", "printed 1 Mar 2027",
           "Ranges run from the 5 to the 95 % point",
           "the product's data sheet, local codes and licensed practice"),
    "de": ("Stand {revision}", "{mark}", "gedruckt am 1. März 2027",
           "Spannen reichen vom 5- zum 95-%-Punkt",
           "das Datenblatt des Produkts, örtliche Vorschriften und zugelassene Fachleute"),
}  # fmt: skip
"""What every page of every paper says, by language."""


def _joined(text: str) -> str:
    """Text without blanks and hyphens: lines of German are broken inside words."""
    return re.sub(r"[\s\u00a0\u00ad-]+", "", text)


def _lacking(name: str, pdf: bytes, plan: Any, language: str) -> list[tuple[str, int, str]]:
    """Paper, page and what is missing there of what every page must carry."""
    import pypdf

    p = plan.provenance
    wanted = [t.format(revision=p.job_revision, mark=p.job_sha256[:10]) for t in CARRIED[language]]
    out = []
    for k, page in enumerate(pypdf.PdfReader(io.BytesIO(pdf)).pages, 1):
        text = _joined(page.extract_text())
        out += [(name, k, t) for t in wanted if _joined(t) not in text]
    return out


@pytest.fixture(scope="session")
def lacking():
    """What the pages of a paper lack of revision, mark, date, ranges and who decides: a function."""
    return _lacking
