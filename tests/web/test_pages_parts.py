"""Numbers, fields and marks of the pages on their own."""

from __future__ import annotations

import copy
import math
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import get, names, run
from pourwright.errors import InputError
from pourwright.plan import job_from
from pourwright.plan.load import load_job
from pourwright.quantities import read
from pourwright.web.pages import bench_answer, bench_form, marks
from pourwright.web.pages.forms import dimension_of, merged, put, shown, taken
from pourwright.web.pages.forms import get as at
from pourwright.web.pages.show import Show
from pourwright.web.pages.site import surface_from
from pourwright.web.pages.words import Words

EN, DE = Show("metric", Words("en")), Show("metric", Words("de"))
US = Show("us", Words("en"))
EXAMPLES = ("galley", "cafe_bar", "wet_room")


@pytest.fixture(params=EXAMPLES)
def document(request):
    return load_job(f"examples/{request.param}.toml").to_document()


def paths(value, prefix=""):
    if isinstance(value, dict):
        for k, v in value.items():
            yield from paths(v, f"{prefix}{k}.")
    elif isinstance(value, list):
        for k, v in enumerate(value):
            yield from paths(v, f"{prefix}{k}.")
    else:
        yield prefix[:-1]


@pytest.mark.parametrize("show", [EN, DE, US], ids=["en", "de", "us"])
def test_a_form_sent_back_unchanged_changes_nothing(document, show):
    known = [p for p in paths(document) if not p.startswith("price")]
    posted = {p: shown(at(document, p), p, show) for p in known}
    assert merged(document, posted, known, show) == document


@pytest.mark.parametrize("show", [EN, DE, US], ids=["en", "de", "us"])
def test_what_a_field_shows_reads_back_as_nearly_the_same(document, show):
    """Shown numbers are rounded to what a shop can hold: within 1 % or 1/16 inch."""
    seen = 0
    for path in paths(document):
        dim = dimension_of(path)
        value = at(document, path)
        if dim is None or not isinstance(value, str) or path.startswith("price"):
            continue
        seen += 1
        again = read(taken(shown(value, path, show), path, show), dim)
        assert math.isclose(again, read(value, dim), rel_tol=0.01, abs_tol=8e-4), path
    assert seen > 15


def test_a_changed_field_is_read_in_the_language_of_the_page(document):
    out = merged(document, {"core.thickness": "18,5 mm"}, ["core.thickness"], DE)
    assert read(out["core"]["thickness"], "length") == pytest.approx(0.0185, abs=1e-12)
    out = merged(document, {"core.thickness": "3/4 in"}, ["core.thickness"], EN)
    assert read(out["core"]["thickness"], "length") == pytest.approx(0.01905, abs=1e-12)


@pytest.mark.parametrize("text", ["thick", "18", "5 kg", "18 mm 3", "-", "18 mm; drop"])
def test_a_wrong_field_is_refused_at_its_path(document, text):
    with pytest.raises(InputError) as err:
        merged(document, {"core.thickness": text}, ["core.thickness"], EN)
    assert err.value.field == "core.thickness"
    assert err.value.remedy


def test_an_emptied_field_is_left_to_its_default(document):
    document = copy.deepcopy(document)
    put(document, "site.wood_moisture", 9.0)
    out = merged(document, {"site.wood_moisture": " "}, ["site.wood_moisture"], EN)
    assert "wood_moisture" not in out["site"]
    assert job_from(out).site.wood_moisture is None


@pytest.mark.parametrize("text", ["2,5", "many", "1e3", "--2"])
def test_counts_are_whole_numbers(text):
    with pytest.raises(InputError):
        taken(text, "surfaces.0.count", EN)
    assert taken("3", "surfaces.0.count", EN) == 3


def test_a_surface_form_sent_back_unchanged_is_the_same_surface(document):
    for k, s in enumerate(document["surfaces"]):
        posted = {
            p: shown(at(document, p), p, EN) for p in paths({"surfaces": document["surfaces"]})
        }
        assert surface_from(document, k, posted, EN) == s


def test_cut_outs_and_edges_are_added_and_taken_out():
    document = load_job("examples/galley.toml").to_document()
    posted = {p: shown(at(document, p), p, EN) for p in paths({"surfaces": document["surfaces"]})}
    posted |= {
        "surfaces.2.cut_outs.0.name": "socket", "surfaces.2.cut_outs.0.diameter": "60 mm",
        "surfaces.2.cut_outs.0.at.0": "450 mm", "surfaces.2.cut_outs.0.at.1": "300 mm",
        "surfaces.2.cut_outs.0.cut": "after", "surfaces.2.cut_outs.0.edge.kind": "wall",
        "surfaces.2.edges.back.0.kind": "wall", "surfaces.2.edges.back.0.round_over": "",
    }  # fmt: skip
    made = surface_from(document, 2, posted, EN)
    document["surfaces"][2] = made
    job = job_from(document)
    assert job.surfaces[2].cut_outs[0].diameter == pytest.approx(0.06)
    assert job.surfaces[2].edges["back"][0].kind == "wall"
    posted["remove.cut_out.0"] = "yes"
    posted["surfaces.2.edges.back.0.kind"] = ""
    made = surface_from(document, 2, posted, EN)
    assert made["cut_outs"] == [] and made["edges"] == {}


def test_half_a_size_is_refused_at_the_missing_half():
    document = load_job("examples/galley.toml").to_document()
    posted = {
        "surfaces.2.cut_outs.0.name": "socket",
        "surfaces.2.cut_outs.0.size.0": "60 mm",
        "surfaces.2.cut_outs.0.size.1": "",
    }
    with pytest.raises(InputError) as err:
        surface_from(document, 2, posted, EN)
    assert err.value.field == "surfaces.2.cut_outs.0.size.1"


def check(value, limit, sense="at most", spread=None, passed="yes"):
    return {"value": value, "limit": limit, "sense": sense, "spread": spread, "passed": passed}


@settings(deadline=None, max_examples=80)
@given(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6))
def test_bars_keep_order_and_stay_on_the_drawing(value, limit):
    b = marks.bar(check(value, limit))
    assert 0 <= b["value"] <= marks.WIDE and 0 <= b["limit"] <= marks.WIDE
    if abs(value - limit) > 1e-3 * max(abs(value), abs(limit)) and limit:
        clipped = b["value"] in (2.0, marks.WIDE) and b["limit"] in (2.0, marks.WIDE)
        assert clipped or (b["value"] <= b["limit"]) == (value <= limit)


def test_the_limit_of_a_plain_bar_stands_at_two_thirds():
    b = marks.bar(check(2.0, 4.0, spread={"p05": 1.0, "p50": 2.0, "p95": 8.0}))
    assert (b["limit"], b["value"], b["low"], b["high"]) == (400.0, 200.0, 100.0, 600.0)
    assert not b["over"] and marks.bar(check(9.0, 4.0))["over"]


def test_checks_without_a_number_do_not_break_a_bar():
    assert marks.bar(check(None, None))["value"] >= 0


def test_the_worst_check_comes_first():
    found = marks.with_bars([check(1, 2), check(3, 2, passed="no"), check(2, 2, passed="unsure")])
    assert [c["passed"] for c, _ in found] == ["no", "unsure", "yes"]


def test_numbers_are_written_for_the_reader():
    assert DE.number(1.25) == "1,25" and EN.number(1.25) == "1.25"
    assert EN.number(-3) == "−3" and EN.number(123456.0) == "123000"
    assert US.measured(25.4, "mm") == "1 in" and EN.measured(25.4, "mm") == "25.4 mm"
    assert US.measured(20.0, "degC") == "68 °F" and EN.measured(20.0, "degC") == "20 °C"
    assert EN.day("2027-03-15") == "Mon 15 Mar" and DE.day("2027-03-15") == "Mo 15. März"
    assert EN.run(9.5641) == "9.56 m" and DE.run(9.5641) == "9,56 m"
    assert EN.hours({"p05": 0.5, "p50": 0.6, "p95": 1.0}) == "30 to 60 min"
    assert EN.unmark("a book [published]") == ("a book", "published")


@pytest.mark.parametrize("day", range(1, 8))
def test_days_of_the_week_are_right(day):
    assert EN.day(date(2027, 3, 14 + day).isoformat()).startswith(
        ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[day - 1]
    )


ALL = names()


@pytest.mark.parametrize("name", ALL)
def test_every_calculation_s_form_gives_its_example_back(name):
    """What the form of an example sends is the same question as the example itself."""
    calc = get(name)
    texts = bench_form.texts_of(calc, calc.example)
    data = bench_form.data_from(calc, texts, EN)
    assert calc.input_model.model_validate(data) == calc.input_model.model_validate(calc.example)
    assert len(bench_form.fields_of(calc, texts, EN)) == len(calc.input_model.model_fields)


@pytest.mark.parametrize("name", ["film.level", "endure.span", "colour.match", "mix.batch",
                                  "panel.cut", "air.dew_point", "quantity.read"])  # fmt: skip
def test_answers_name_every_value_once(name):
    calc = get(name)
    result = run(name, calc.example)
    lines, checks = bench_answer.answers_of(calc, result, EN)
    held = sum(1 for v in result.value.model_dump().values() if bench_answer._checks_in(v))
    assert len(lines) + held == len(calc.value_model.model_fields)
    assert bool(held) == bool(checks)
    for line in lines:
        assert line["label"] and (line["text"] or line["table"] is not None or not line["text"])


def test_a_number_without_unit_is_read_with_the_reader_s_decimal_mark():
    calc = get("film.level")
    key = next(k for k in calc.example if k.endswith("_mm"))
    assert bench_form.data_from(calc, {key: "1,5"}, DE)[key] == 1.5
    assert bench_form.data_from(calc, {key: "1/8 in"}, EN)[key] == "1/8 in"
