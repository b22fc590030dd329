"""Pigment pastes of cups: neat or pre-diluted, what is weighed and what has to be bought."""

from __future__ import annotations

import re

from pourwright.papers.wording import Wording
from pourwright.plan import Working
from pourwright.plan.result import CoatPlan, CupPlan
from pourwright.words import Own, Said

_DILUTED = re.compile(r"^(.+?): [\d.]+ g of a 1:(\d+) pre-dilution(?: \((.+?)\))?")


def dilutions(cup: CupPlan) -> dict[str, int]:
    """How many times each paste of a `cup` [-] is pre-diluted, as its advice says; neat left out."""
    found = (_DILUTED.match(a) for a in cup.advice)
    return {m[1]: int(m[2]) for m in found if m}


def how_to_dilute(w: Wording, coat: CoatPlan) -> dict[int, str]:
    """How each pre-dilution of a `coat` [-] as planned is made, in the words of `w` [-]."""
    out: dict[int, str] = {}
    for cup in coat.cups:
        for advice in cup.advice:
            m = _DILUTED.match(advice)
            if m and m[3]:
                out[int(m[2])] = w.text(_value(advice, "how") or m[3])
    return dict(sorted(out.items()))


def _value(text: object, name: str) -> str:
    """The value of the blank `name` in a sentence or in the sentences inside it; none is empty."""
    if not isinstance(text, Said):
        return ""
    if isinstance(found := text.values.get(name), str):
        return found
    return next((v for inner in text.values.values() if (v := _value(inner, name))), "")


def overdrawn(w: Wording, coat: CoatPlan) -> list[str]:
    """Cups of a `coat` [-] whose pre-dilutions would bring more A than the cup takes, as `w` says."""
    return [
        w.say(
            "Cup {cup}: its pre-dilutions bring {brought} g of A, and it takes {takes} g: the ratio "
            "would be off. Mix a stronger pre-dilution or a larger cup.",
            cup=q.label,
            brought=Own(w.fixed(q.less_a_g, 1)),
            takes=Own(w.fixed(q.a_g, 1)),
        )
        for q in coat.cups
        if q.less_a_g > q.a_g + 0.05
    ]


def colorant(work: Working, key: str) -> tuple[str, str]:
    """Catalogue id and name [-] of a paste that the plan `work` calls by either."""
    for m in work.ctx.catalogue.of_kind("colorant"):
        if key in (m.id, m.name):
            return m.id, m.name
    return key, key


def paste_words(w: Wording, cup: CupPlan) -> str:
    """The pastes of one `cup` as planned [g] in the words of `w`."""
    thin = dilutions(cup)
    named = []
    for key, grams in cup.pastes_g.items():
        name = colorant(w.work, key)[1]
        said = w.text(name).removesuffix(" paste").removesuffix("-Paste")
        thinned = w.say(" of 1:{n}", n=thin[key]) if key in thin else ""
        named.append(f"{said} {w.fixed(grams, 1)} g{thinned}")
    return ", ".join(named) or w.say("none, clear")


def pastes_of(work: Working) -> dict[str, float]:
    """Neat pigment paste that the cups of a job need [g], by catalogue id; `work` is the plan."""
    need: dict[str, float] = {}
    for c in work.plan.coats:
        for cup in c.cups:
            thin = dilutions(cup)
            for key, grams in cup.pastes_g.items():
                ident = colorant(work, key)[0]
                need[ident] = need.get(ident, 0.0) + grams / thin.get(key, 1)
    return need
