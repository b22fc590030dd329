"""The shopping list, by kind of supplier."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from pourwright.papers.bought import jars_for, packs_text, tins_for
from pourwright.papers.buildup import coats_text
from pourwright.papers.costing import Costing
from pourwright.papers.cuts import sheet_name
from pourwright.papers.frame import frame
from pourwright.papers.pastes import colorant, pastes_of
from pourwright.papers.wording import Wording
from pourwright.price import Item
from pourwright.words import Own
from pourwright.words.said import first_up

SAFETY = ("gloves-nitrile", "mask-dust", "cartridge-vapour")


def shopping_data(w: Wording, printed: date, costing: Costing) -> dict[str, Any]:
    """Data of the shopping list of `w` [-] with its `costing` [-], `printed` [-] that day."""
    p = frame(
        w, "shopping", w.say("Shopping list"), printed,
        w.say("By kind of supplier, at purchase size. Stock on the shelf is already taken off where "
              "the job states it."),
        (w.say("Resin, hardener, primer and solvent travel and are stored as their safety data "
               "sheets say: closed, upright, frost-free, away from heat and from children."),),
    )  # fmt: skip
    groups = [
        _group(w.say("Resin supplier"),
               w.say("Buy every set of a coat with the same lot number."), _resin(w)),
        _group(w.say("Colour supplier"), w.say("Paste for resin; a tenth to spare is in it."),
               _pastes(w)),
        _group(w.say("Board yard"),
               w.say("Have it cut to the cut plan only if the saw's kerf is agreed."), _sheets(w)),
        _group(w.say("Paint shop"), "", _paints(w)),
        _group(w.say("Sundries"), "", _sundries(w, costing, False)),
        _group(w.say("Protective gear"),
               w.say("Respirator, goggles and covered arms are taken as owned."),
               _sundries(w, costing, True)),
    ]  # fmt: skip
    p["groups"] = [g for g in groups if g["rows"]]
    return p


def _group(title: str, say: str, rows: list[dict[str, str]]) -> dict[str, Any]:
    return {"title": title, "say": say, "rows": rows}


def _row(what: str, need: str, buy: str, left: str = "") -> dict[str, str]:
    return {"what": what, "need": need, "buy": buy, "left": left}


def _resin(w: Wording) -> list[dict[str, str]]:
    out = []
    for p in w.plan.purchases:
        for k, (name, n) in enumerate(p.sets.items()):
            need = f"A {w.volume(p.need_a_mL)}, B {w.volume(p.need_b_mL)}"
            left = f"A {w.volume(p.left_a_mL)}, B {w.volume(p.left_b_mL)}"
            out.append(
                _row(
                    p.set_names[name],
                    need if k == 0 else w.say("with the above"),
                    w.say("{n} sets" if n > 1 else "{n} set", n=n),
                    left if k == 0 else "",
                )
            )
        if not p.sets:
            name = w.text(w.work.ctx.catalogue.get(p.resin).name)
            out.append(_row(name, w.volume(p.need_a_mL + p.need_b_mL), w.say("from the shelf")))
    return out


def _pastes(w: Wording) -> list[dict[str, str]]:
    out = []
    for name, grams in sorted(pastes_of(w.work).items()):
        jars = jars_for(grams)
        bought = sum(size * n for size, n in jars.items())
        out.append(_row(w.text(colorant(w.work, name)[1]), f"{w.fixed(grams, 1)} g",
                        w.text(packs_text(jars, "g")), f"{w.fixed(bought - grams)} g"))  # fmt: skip
    return out


def _sheets(w: Wording) -> list[dict[str, str]]:
    cut = w.plan.cut
    if cut is None:
        return []
    thick = w.length(w.work.ctx.job.core.thickness * 1e3)
    used = w.say("{percent} % used", percent=Own(w.fixed(cut.used_percent)))
    left = w.say("{n} off-cuts", n=len(cut.off_cuts)) if cut.off_cuts else ""
    return [
        _row(f"{sheet_name(w, k)}, {thick}", used,
             w.say("{n} sheets" if n > 1 else "{n} sheet", n=n), left)
        for k, n in cut.sheets.items()
    ]  # fmt: skip


def _paints(w: Wording) -> list[dict[str, str]]:
    out = []
    for p in w.plan.paints:
        tins = tins_for(w.work, p.need_mL.p95)
        bought = sum(size * n for size, n in tins.items()) * 1e3
        need = w.say("{middle} (to {most})", middle=Own(w.volume(p.need_mL.p50)),
                     most=Own(w.volume(p.need_mL.p95)))  # fmt: skip
        out.append(_row(f"{first_up(p.name)}, {coats_text(w, p.coats)}", need, w.text(packs_text(tins, "L")),
                        w.volume(bought - p.need_mL.p50)))  # fmt: skip
    return out


def _sundries(w: Wording, costing: Costing, safety: bool) -> list[dict[str, str]]:
    """What wears out or is used up; the same thing for two coats is one line on the list."""
    same: dict[tuple[str, str], list[Item]] = {}
    for line in costing.reckoning.lines:
        i = line.item
        if i.group == "sundries" and (i.id in SAFETY) == safety:
            same.setdefault((w.text(i.text), i.unit), []).append(i)
    out = []
    for (text, unit), items in same.items():
        all_of_it = sum((i.bought for i in items), Decimal(0))
        bought, _ = w.of_unit(all_of_it, unit)
        count = w.number(f"{bought:f}")
        low = sum((w.of_unit(i.bought, unit)[0] * i.spread[0] for i in items), Decimal(0))
        high = sum((w.of_unit(i.bought, unit)[0] * i.spread[1] for i in items), Decimal(0))
        ends = w.say("{low} to {high}", low=Own(w.fixed(low)), high=Own(w.fixed(high)))
        need = f"{count} ({ends})" if low != high else count
        out.append(_row(text, need, w.counted(all_of_it, unit)))
    return out
