"""Pigment pastes of cups: neat or pre-diluted, what is weighed and what has to be bought."""

from __future__ import annotations

import re

from pourwright.plan import Working
from pourwright.plan.result import CoatPlan, CupPlan

_DILUTED = re.compile(r"^(.+?): [\d.]+ g of a 1:(\d+) pre-dilution(?: \((.+?)\))?")


def dilutions(cup: CupPlan) -> dict[str, int]:
    """How many times each paste of a `cup` [-] is pre-diluted, as its advice says; neat left out."""
    found = (_DILUTED.match(a) for a in cup.advice)
    return {m[1]: int(m[2]) for m in found if m}


def how_to_dilute(coat: CoatPlan) -> dict[int, str]:
    """How each pre-dilution of a `coat` [-] is made, in words."""
    out: dict[int, str] = {}
    for cup in coat.cups:
        for m in (_DILUTED.match(a) for a in cup.advice):
            if m and m[3]:
                out[int(m[2])] = m[3]
    return dict(sorted(out.items()))


def overdrawn(coat: CoatPlan) -> list[str]:
    """Cups of a `coat` [-] whose pre-dilutions would bring more A than the cup takes, in words."""
    return [
        f"Cup {q.id}: its pre-dilutions bring {q.less_a_g:.1f} g of A, and it takes "
        f"{q.a_g:.1f} g: the ratio would be off. Mix a stronger pre-dilution or a larger cup."
        for q in coat.cups
        if q.less_a_g > q.a_g + 0.05
    ]


def colorant(work: Working, key: str) -> tuple[str, str]:
    """Catalogue id and name [-] of a paste that the plan `work` calls by either."""
    for m in work.ctx.catalogue.of_kind("colorant"):
        if key in (m.id, m.name):
            return m.id, m.name
    return key, key


def paste_words(work: Working, cup: CupPlan) -> str:
    """The pastes of one `cup` of the plan `work` [g] in words."""
    thin = dilutions(cup)
    named = []
    for key, grams in cup.pastes_g.items():
        name = colorant(work, key)[1].removesuffix(" paste")
        named.append(f"{name} {grams:.1f} g" + (f" of 1:{thin[key]}" if key in thin else ""))
    return ", ".join(named) or "none, clear"


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
