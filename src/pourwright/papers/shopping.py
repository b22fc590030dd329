"""The shopping list, by kind of supplier."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.papers.bought import jars_for, tins_for
from pourwright.papers.costing import Costing
from pourwright.papers.frame import counted, frame, units_of
from pourwright.papers.pastes import colorant, pastes_of
from pourwright.plan import Working, show

SAFETY = ("gloves-nitrile", "mask-dust", "cartridge-vapour")


def shopping_data(work: Working, printed: date, costing: Costing) -> dict[str, Any]:
    """Data of the shopping list of `work` [-] with its `costing` [-], `printed` [-] that day."""
    p = frame(
        work, "shopping", "Shopping list", printed,
        "By kind of supplier, at purchase size. Stock on the shelf is already taken off where the "
        "job states it.",
        ("Resin, hardener, primer and solvent travel and are stored as their safety data sheets "
         "say: closed, upright, frost-free, away from heat and from children.",),
    )  # fmt: skip
    groups = [
        _group("Resin supplier", "Buy every set of a coat with the same lot number.",
               _resin(work)),
        _group("Colour supplier", "Paste for resin; a tenth to spare is in it.", _pastes(work)),
        _group("Board yard", "Have it cut to the cut plan only if the saw's kerf is agreed.",
               _sheets(work)),
        _group("Paint shop", "", _paints(work)),
        _group("Sundries", "", _sundries(costing, False)),
        _group("Protective gear", "Respirator, goggles and covered arms are taken as owned.",
               _sundries(costing, True)),
    ]  # fmt: skip
    p["groups"] = [g for g in groups if g["rows"]]
    return p


def _group(title: str, say: str, rows: list[dict[str, str]]) -> dict[str, Any]:
    return {"title": title, "say": say, "rows": rows}


def _row(what: str, need: str, buy: str, left: str = "") -> dict[str, str]:
    return {"what": what, "need": need, "buy": buy, "left": left}


def _resin(work: Working) -> list[dict[str, str]]:
    u = units_of(work)
    out = []
    for p in work.plan.purchases:
        for k, (name, n) in enumerate(p.sets.items()):
            first = k == 0
            out.append(
                _row(
                    p.set_names[name],
                    f"A {show.volume(p.need_a_mL, u)}, B {show.volume(p.need_b_mL, u)}"
                    if first else "with the above",
                    f"{n} set" + ("s" if n > 1 else ""),
                    f"A {show.volume(p.left_a_mL, u)}, B {show.volume(p.left_b_mL, u)}"
                    if first else "",
                )
            )  # fmt: skip
        if not p.sets:
            out.append(_row(work.ctx.catalogue.get(p.resin).name,
                            show.volume(p.need_a_mL + p.need_b_mL, u), "from the shelf"))  # fmt: skip
    return out


def _packs(packs: dict[float, int], unit: str) -> str:
    return ", ".join(f"{n} x {size:g} {unit}" for size, n in sorted(packs.items()))


def _pastes(work: Working) -> list[dict[str, str]]:
    out = []
    for name, grams in sorted(pastes_of(work).items()):
        jars = jars_for(grams)
        bought = sum(size * n for size, n in jars.items())
        out.append(_row(colorant(work, name)[1], f"{grams:.1f} g", _packs(jars, "g"),
                        f"{bought - grams:.0f} g"))  # fmt: skip
    return out


def _sheets(work: Working) -> list[dict[str, str]]:
    cut = work.plan.cut
    if cut is None:
        return []
    thick = show.length(work.ctx.job.core.thickness * 1e3, units_of(work))
    return [
        _row(f"{cut.sheet_names.get(k, k)}, {thick}", f"{cut.used_percent:.0f} % used",
             f"{n} sheet" + ("s" if n > 1 else ""),
             f"{len(cut.off_cuts)} off-cuts" if cut.off_cuts else "")
        for k, n in cut.sheets.items()
    ]  # fmt: skip


def _paints(work: Working) -> list[dict[str, str]]:
    u = units_of(work)
    out = []
    for p in work.plan.paints:
        tins = tins_for(work, p.need_mL.p95)
        bought = sum(size * n for size, n in tins.items()) * 1e3
        out.append(
            _row(
                f"{p.name}, {p.coats} coat{'s' if p.coats > 1 else ''}",
                f"{show.volume(p.need_mL.p50, u)} (to {show.volume(p.need_mL.p95, u)})",
                _packs(tins, "L"),
                show.volume(bought - p.need_mL.p50, u),
            )
        )
    return out


def _sundries(costing: Costing, safety: bool) -> list[dict[str, str]]:
    out = []
    for line in costing.reckoning.lines:
        i = line.item
        if i.group != "sundries" or (i.id in SAFETY) != safety:
            continue
        count = f"{i.bought:f}"
        low, high = i.bought * i.spread[0], i.bought * i.spread[1]
        need = f"{count} ({low:.0f} to {high:.0f})" if low != high else count
        out.append(_row(i.text, need, counted(i.bought, i.unit)))
    return out
