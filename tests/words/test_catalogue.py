"""Every sentence of the program is in every catalogue, with the same blanks."""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

import pourwright
from pourwright import catalogue as materials
from pourwright.calc import get, names
from pourwright.plan import load_job, plan_job
from pourwright.plan.job import Job
from pourwright.web.pages.bench_form import _plain, label_of
from pourwright.words import LANGUAGES, Listed, Own, Reader, Said, catalogue
from pourwright.words.checks import CHECKS, ONE
from pourwright.words.phrases import LEFT
from pourwright.words.said import blanks, pieces

SRC = Path(pourwright.__file__).parent
EXAMPLES = SRC.parents[1] / "examples"
OTHERS = [code for code in LANGUAGES if code != "en"]


def literals(node: ast.expr) -> list[str]:
    """The patterns that the first argument of a `say` can be."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    if isinstance(node, ast.IfExp):
        return literals(node.body) + literals(node.orelse)
    return []


def said_in(source: str) -> dict[str, set[str] | None]:
    """Pattern to the values given with it (None where they are unpacked), by reading `source`."""
    found: dict[str, set[str] | None] = {}
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        called = node.func
        name = called.id if isinstance(called, ast.Name) else getattr(called, "attr", "")
        if name not in ("say", "worded"):
            continue
        given = [k.arg for k in node.keywords]
        values = None if None in given else {k for k in given if k}
        for pattern in literals(node.args[0]):
            found[pattern] = values
    return found


def all_said() -> dict[str, set[str] | None]:
    found: dict[str, set[str] | None] = {}
    for path in sorted(SRC.rglob("*.py")):
        found |= said_in(path.read_text("utf-8"))
    return found


SAID = all_said()


REFUSING = tuple(
    sorted(d.name for d in SRC.iterdir() if (d / "__init__.py").is_file() and d.name != "cli")
)
"""Rooms whose refusals must be said in every language; the command line itself stays English."""
REFUSALS = frozenset(
    "InputError Refusal NotThere Stale Busy StoreBusy Forbidden SignInFirst TooOften TooLarge Fault"
    " Open".split()
)


def called_as(node: ast.Call) -> str:
    """The plain name that is called."""
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def parts_of(node: ast.Call) -> list[ast.expr]:
    """Limit and remedy of a refusal."""
    return node.args[:2] if called_as(node) == "Refusal" else node.args[2:4]


def helpers_in(tree: ast.Module) -> dict[str, set[int]]:
    """Functions that hand an argument on as limit or remedy: name to places of those arguments."""
    found: dict[str, set[int]] = {}
    for f in ast.walk(tree):
        if isinstance(f, ast.FunctionDef):
            given = [a.arg for a in f.args.args]
            for node in ast.walk(f):
                if isinstance(node, ast.Call) and called_as(node) in REFUSALS:
                    for part in parts_of(node):
                        if isinstance(part, ast.Name) and part.id in given:
                            found.setdefault(f.name, set()).add(given.index(part.id))
    return found


def refusals_in(source: str) -> tuple[set[str], list[str]]:
    """Constant limits and remedies of refusals in `source`, and those put together on the spot."""
    tree = ast.parse(source)
    plain: set[str] = set()
    loose: list[str] = []
    named = {
        n.targets[0].id: n.value
        for n in tree.body
        if isinstance(n, ast.Assign) and isinstance(n.targets[0], ast.Name)
    }
    helpers = helpers_in(tree)

    def look(part: ast.expr) -> None:
        if isinstance(part, ast.Name) and part.id in named:
            part = named[part.id]
        if isinstance(part, ast.IfExp):
            look(part.body)
            look(part.orelse)
        elif isinstance(part, ast.BoolOp):
            for value in part.values:
                look(value)
        elif isinstance(part, ast.Constant) and isinstance(part.value, str):
            plain.add(part.value)
        elif isinstance(part, ast.JoinedStr | ast.BinOp):
            loose.append(ast.unparse(part))

    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if called_as(node) in REFUSALS:
                for part in parts_of(node):
                    look(part)
            for place in helpers.get(called_as(node), ()):
                for part in node.args[place : place + 1]:
                    look(part)
    return {p for p in plain if any(c.isalpha() for c in p)}, loose


def has_words(pattern: str) -> bool:
    return any(c.isalpha() for text, _, _ in pieces(pattern) for c in text)


def test_sentences_are_found_in_the_code():
    assert len(SAID) > 200
    probe = 'say("one" if a else "{n} two", n=3); words.say("three"); tell(say)'
    assert set(said_in(probe)) == {"one", "{n} two", "three"}


def test_every_blank_is_filled_where_it_is_said():
    for pattern, given in SAID.items():
        assert given is None or blanks(pattern) <= given, pattern


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_is_in_the_catalogue(language):
    known = catalogue(language)
    missing = [p for p in SAID if has_words(p) and p not in known]
    assert missing == []


@pytest.mark.parametrize("room", REFUSING)
def test_every_refusal_of_the_app_is_in_the_catalogues(room):
    found: set[str] = set()
    loose: list[str] = []
    for path in sorted((SRC / room).rglob("*.py")):
        plain, made = refusals_in(path.read_text("utf-8"))
        found |= plain
        loose += made
    assert loose == [], "say it with `say` (or `worded` below the words)"
    for language in OTHERS:
        assert sorted(found - catalogue(language).keys()) == []


def test_refusals_are_found_in_the_code():
    probe = 'raise InputError(f"a{b}", 1, "low" if a else f"{c} high", "Mend it." + x); Other(1, 2, "n")'
    assert refusals_in(probe) == ({"low"}, ["f'{c} high'", "'Mend it.' + x"])
    helped = """
ASK = "Ask."
def need(field, value, limit): raise InputError(field, value, limit, ASK)
need("x", 1, "above 0")
need("x", 1, f"above {low}")
raise InputError("y", 2, err.strerror or "broken", "")
"""
    assert refusals_in(helped) == ({"Ask.", "above 0", "broken"}, ["f'above {low}'"])
    assert len(REFUSING) > 18 and "cure" in REFUSING


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_keeps_its_blanks_and_forms(language):
    for pattern, text in catalogue(language).items():
        assert text.strip() and text == text.rstrip(), pattern
        assert pattern[:1].isspace() == text[:1].isspace(), pattern
        forms = {(n, f) for _, n, f in pieces(pattern) if n}
        assert {(n, f) for _, n, f in pieces(text) if n} == forms, pattern


def test_german_reads_as_german():
    known = catalogue("de")
    long = {k: v for k, v in known.items() if len(k) > 30}
    assert len(long) > 300
    assert [k for k, v in long.items() if k == v] == []
    english = re.compile(r"\b(the|and|with|than|before|until)\b|\bfrom (?!memory)")
    said = ["".join(text for text, _, _ in pieces(v)) for v in known.values()]
    assert [v for v in said if english.search(v)] == []
    plain = re.compile(r"\b\w*(fuer|ueber|moeg|haert|Daemm|groess|giess)\w*\b")
    assert [v for v in said if plain.search(v)] == []


def test_english_has_no_catalogue_of_its_own():
    assert catalogue("en") == {}


@pytest.mark.parametrize("language", OTHERS)
def test_the_bench_is_in_the_catalogue(language):
    known = catalogue(language)
    for name in names():
        calc = get(name)
        told = [calc.title, calc.question, calc.validity, *calc.cautions]
        assert [x for x in told if not isinstance(x, Said) and x not in known] == [], name
        for model in (calc.input_model, calc.value_model):
            for key, field in model.model_json_schema().get("properties", {}).items():
                assert f"field: {label_of(key)[0]}" in known, f"{name}: {key}"
                about = " ".join(str(field.get("description") or "").split())
                assert not about or about in known, f"{name}: {key}"
        schema = calc.input_model.model_json_schema()
        for key, raw in schema.get("properties", {}).items():
            for one in _plain(raw, schema).get("enum", []):
                plain = str(one).replace("_", " ")
                assert f"option: {plain}" in known, f"{name}: {key}"
        for part in calc.value_model.model_json_schema().get("$defs", {}).values():
            for key in part.get("properties", {}):
                assert f"field: {label_of(key)[0]}" in known, f"{name}: {key}"


@pytest.mark.parametrize("language", OTHERS)
def test_materials_that_screens_show_are_in_the_catalogue(language):
    known = catalogue(language)
    book = materials.default()
    for kind in (
        "core",
        "resin",
        "primer",
        "topcoat",
        "shade",
        "colorant",
        "set",
        "comparison",
        "consumable",
    ):
        for m in book.of_kind(kind):
            assert m.name in known, m.id
            assert [c for c in m.cautions if c not in known] == [], m.id


@pytest.mark.parametrize("language", OTHERS)
def test_faults_and_costs_are_in_the_catalogue(language):
    from pourwright.price.items import GROUPS
    from pourwright.record.evidence import RELEASED
    from pourwright.record.faults import fault_tables
    from pourwright.record.lessons import RUN_OFF

    tables = fault_tables()
    told = {*tables["repairs"], *tables["repairs"].values(), *tables["cautions"].values()}
    for f in tables["fault"]:
        told |= {f["name"], f["looks"], f["repair"]}
        told |= {c[k] for c in f["causes"] for k in ("says", "next")}
    told |= {*GROUPS.values(), *RELEASED.values(), *RUN_OFF.values()}
    assert len(told) > 100
    assert sorted(told - catalogue(language).keys()) == []


@pytest.mark.parametrize("language", OTHERS)
def test_checks_of_the_framework_are_in_the_catalogue(language):
    known = catalogue(language)
    told = {*CHECKS.values(), *ONE.values()}
    assert sorted(told - known.keys()) == []
    assert {"List", "Tuple", "it does not fit"} <= known.keys()


def models_in(kind):
    """Every model that a field's type names."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
    for part in get_args(kind):
        yield from models_in(part)


@pytest.mark.parametrize("language", OTHERS)
def test_every_field_of_a_job_has_a_name(language):
    known, seen, todo = catalogue(language), set(), [Job]
    missing = set()
    while todo:
        model = todo.pop()
        if model in seen:
            continue
        seen.add(model)
        for name, field in model.model_fields.items():
            if f"field: {label_of(field.alias or name)[0]}" not in known:
                missing.add(field.alias or name)
            todo += models_in(field.annotation)
    assert len(seen) > 30
    assert sorted(missing) == []


def plain_texts(thing, at=""):
    """Texts of a plan that are no `Said`, with where they stand."""
    if isinstance(thing, Said):
        if has_words(thing.template) and thing.template not in SAID:
            yield at, thing.template
        for name, value in thing.values.items():
            yield from plain_texts(value, f"{at}>{name}")
    elif isinstance(thing, Own):
        return
    elif isinstance(thing, str):
        yield at, thing
    elif isinstance(thing, Listed):
        for value in thing.items:
            yield from plain_texts(value, at)
    elif isinstance(thing, dict):
        for key, value in thing.items():
            yield from plain_texts(key, at) if isinstance(key, Said) else ()
            if key not in LEFT:
                yield from plain_texts(value, f"{at}.{key}")
    elif hasattr(type(thing), "model_fields"):
        for key, value in thing.__dict__.items():
            if key not in LEFT:
                yield from plain_texts(value, f"{at}.{key}")
    elif isinstance(thing, list | tuple):
        for value in thing:
            yield from plain_texts(value, at)


SHOWN = re.compile(
    r"\.(title|say|waited_for|holds|cautions|text|label|criterion|advice|moment|caution|remedies"
    r"|note|notes|joints|off_cuts|warnings|vein_wait_why|pour_within_why|asks|answer|do|steps)$"
)
"""Fields of a plan that are sentences."""


@pytest.mark.parametrize("example", ["galley", "cafe_bar", "wet_room"])
def test_a_whole_plan_is_said_in_german(example):
    plan = plan_job(load_job(EXAMPLES / f"{example}.toml"), EXAMPLES)
    known = catalogue("de")
    found = list(plain_texts(plan))
    sentences = [(at, text) for at, text in found if SHOWN.search(at) and text]
    assert len(sentences) > 20
    left = {text: at for at, text in sentences if text not in known and " " in text}
    assert left == {}
    for care in plan.cares:
        assert Reader("de").text(care.title) != care.title
        assert Reader("de").text(care.text) != care.text
