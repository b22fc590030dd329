"""Pastes as the plan words them: neat, thinned, and too thin for the cup."""

from __future__ import annotations

import re

from pourwright.papers.pastes import dilutions, how_to_dilute, overdrawn, paste_words, pastes_of
from pourwright.papers.wording import Wording


def test_every_pre_diluted_paste_is_printed_as_such(galley):
    w = Wording.of(galley)
    for c in galley.plan.coats:
        for q in c.cups:
            said = {a.partition(":")[0] for a in q.advice if "pre-dilution" in a}
            assert set(dilutions(q)) == said
            words = paste_words(w, q)
            for name, n in dilutions(q).items():
                short = name.removesuffix(" paste")
                assert re.search(rf"{re.escape(short)} [\d.]+ g of 1:{n}\b", words)


def test_what_is_bought_is_the_neat_paste(galley):
    """Against the recipe itself: shade by shade, load times mixed mass (weighing rounds to 0.1 g,
    thinned ten or a hundred times; 5 % and 0.1 g a cup cover it)."""
    need: dict[str, float] = {}
    cups = 0
    for c in galley.plan.coats:
        for q in c.cups:
            cups += 1
            if q.shade == "clear":
                continue
            loads = galley.ctx.catalogue.get(q.shade).facts["paste_g_per_kg"]
            for name, load in loads.items():
                need[name] = need.get(name, 0.0) + load * (q.a_g + q.b_g) / 1000.0
    found = pastes_of(galley)
    assert set(found) == set(need)
    for name, grams in need.items():
        assert abs(found[name] - grams) < 0.05 * grams + 0.1 * cups


def test_an_advice_with_an_afterthought_is_still_a_pre_dilution(galley):
    q = next(q for c in galley.plan.coats for q in c.cups if q.pastes_g)
    name = next(iter(q.pastes_g))
    odd = q.model_copy(update={"advice": [
        f"{name}: 9.5 g of a 1:100 pre-dilution (1 g paste in 9 g resin part A, then 1 g of that "
        "in 9 g); mix a larger batch or use a weaker paste"]})  # fmt: skip
    assert dilutions(odd) == {name: 100}
    coat = galley.plan.coats[0].model_copy(update={"cups": [odd]})
    assert how_to_dilute(Wording.of(galley), coat) == {
        100: "1 g paste in 9 g resin part A, then 1 g of that in 9 g"
    }


def test_a_cup_that_cannot_be_mixed_so_is_named(galley):
    c = galley.plan.coats[0]
    q = c.cups[0]
    bad = c.model_copy(update={"cups": [q.model_copy(update={"less_a_g": q.a_g + 3.0})]})
    assert f"Cup {q.label}" in overdrawn(Wording.of(galley), bad)[0]
    good = c.model_copy(update={"cups": [q.model_copy(update={"less_a_g": 0.0})]})
    assert overdrawn(Wording.of(galley), good) == []
