"""What a job buys, as items for the price room: board, paint, resin, colour, small things."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from pourwright.catalogue import Material
from pourwright.papers.pastes import colorant, pastes_of
from pourwright.plan import Working
from pourwright.price import Item, PriceBand, PriceSpec, band_of, exact_band
from pourwright.price.items import rate
from pourwright.price.packs import cover_with
from pourwright.price.sundries import Doings
from pourwright.price.usual import usual, usual_band
from pourwright.quantities.money import Money
from pourwright.words import Amount, Between, Reading, joined, say

HUNDREDTH = Decimal("0.01")


@dataclass
class Purse:
    """Money of the job and where its prices come from."""

    currency: str
    own: Mapping[str, Money]
    exchange: Mapping[str, Decimal]
    missing: list[str] = field(default_factory=list)
    usual: bool = False

    def band(self, m: Material) -> PriceBand | None:
        found = band_of(m, self.currency, self.own, self.exchange)
        if found is None:
            self.missing.append(m.name)
        elif not found.own:
            self.usual = True
        return found

    def of(self, key: str) -> PriceBand:
        found = usual_band(key, self.currency, self.own, self.exchange)
        self.usual = self.usual or not found.own
        return found

    def own_money(self, m: Money, name: str) -> Money:
        factor = rate(m.currency, self.currency, self.exchange, f"price.{name}")
        return Money(m.amount * factor, self.currency)


def bought(work: Working, purse: Purse, doings: Doings, warnings: list[str]) -> list[Item]:
    """Everything the planned job `work` [-] buys, at the prices of `purse` [currency].

    `doings` [SI] says what is done; `warnings` [-] is added to where something is missing.
    """
    return [
        *_sheets(work, purse, warnings),
        *_paints(work, purse),
        *_resin(work, purse),
        *_pastes(work, purse),
        *_small(purse, doings),
    ]


def dec(x: float) -> Decimal:
    """`x` [-] as a decimal of nine places."""
    return Decimal(repr(round(float(x), 9)))


def _resin(work: Working, purse: Purse) -> list[Item]:
    out = []
    cat = work.ctx.catalogue
    for p in work.plan.purchases:
        kinds = {k: cat.get(k) for k in p.sets}
        volume = sum(n * kinds[k]["volume_L"] for k, n in p.sets.items()) * 1e3
        need = p.need_a_mL + p.need_b_mL
        left = p.left_a_mL + p.left_b_mL
        share = min(max(left / volume, 0.0), 1.0) if volume > 0 else 0.0
        for k, n in p.sets.items():
            band = purse.band(kinds[k])
            if band is not None:
                out.append(
                    Item(k, "resin", p.set_names[k], Decimal(n), band_unit(kinds[k]), band,
                         left=(n * dec(share)).quantize(HUNDREDTH),
                         note=say("need {need:.2f}, left over {left:.2f}",
                                  need=Amount(need / 1e3, "L"), left=Amount(left / 1e3, "L")))
                )  # fmt: skip
        shelf = need + left - volume
        if shelf > 1.0:
            out += _from_shelf(work, purse, p.resin, shelf)
    return out


def _from_shelf(work: Working, purse: Purse, resin: str, ml: float) -> list[Item]:
    """Resin from the shelf is charged at what it was credited with when it was put there."""
    kind = work.ctx.catalogue.get(resin).facts.get("set_class")
    sets = [m for m in work.ctx.catalogue.of_kind("set") if m.facts.get("set_class") == kind]
    if not sets:
        return []
    small = min(sets, key=lambda m: m["volume_L"])
    band = purse.band(small)
    if band is None:
        return []
    credit = dec((work.ctx.job.price or PriceSpec()).left_over_credit)
    by_litre = band.times(credit / dec(small["volume_L"]))
    name = say("{set}, off the shelf", set=small.name.partition(":")[0])
    return [Item(f"shelf-{resin}", "resin", name,
                 dec(ml / 1e3).quantize(HUNDREDTH), "L", by_litre)]  # fmt: skip


def band_unit(m: Material) -> str:
    """What one of a material is called [-]: set, sheet, piece."""
    return m.price.per if m.price is not None else "piece"


def _sheets(work: Working, purse: Purse, warnings: list[str]) -> list[Item]:
    cut = work.plan.cut
    if cut is None:
        if not work.ctx.job.core.ready:
            warnings.append(say("There is no cut plan: the core board is not in this price."))
        return []
    out = []
    thick = work.ctx.job.core.thickness * 1e3
    for ident, n in cut.sheets.items():
        m = work.ctx.catalogue.get(ident)
        band = purse.band(m)
        if band is None:
            continue
        factor = Decimal(1)
        if not band.own:
            factor = dec(thick) / dec(float(m.facts.get("price_thickness_mm", thick)))
        mine = [s for s in work.core.layout.sheets if s.sheet.name == cut.sheet_names.get(ident)]
        keep = sum(o.area / s.sheet.area for s in mine for o in s.offcuts)
        out.append(
            Item(ident, "core", say("{name}, {thick:g}", name=m.name, thick=Amount(thick, "mm")),
                 Decimal(n), "sheet", band.times(factor),
                 left=min(dec(keep).quantize(HUNDREDTH), Decimal(n)),
                 note=say("{percent:.0f} % used; off-cuts worth keeping go to the shelf",
                          percent=cut.used_percent))
        )  # fmt: skip
    return out


def tins_for(work: Working, need_ml: float) -> dict[float, int]:
    """Tins [L] to buy for `need_ml` [mL] of paint in the units of the job; count of each [-]."""
    sizes = usual()["tins"]["us_L" if work.ctx.job.show.units == "us" else "metric_L"]
    return cover_with(need_ml / 1e3, sizes)


def packs_text(packs: dict[float, int], unit: str) -> str:
    """How many packs [-] of each size in a `unit` [-], in words; pastes are sold by the gram."""
    parts = []
    for size, n in sorted(packs.items()):
        one = say("{size:g} g", size=size) if unit == "g" else say("{x:g}", x=Amount(size, unit))
        parts.append(say("{n} x {size}", n=n, size=one))
    return joined(", ", parts)


def _paints(work: Working, purse: Purse) -> list[Item]:
    out = []
    for p in work.plan.paints:
        m = work.ctx.catalogue.get(p.material)
        band = purse.band(m)
        if band is None:
            continue
        tins = tins_for(work, p.need_mL.p95)
        litres = sum((dec(size) * n for size, n in tins.items()), Decimal(0))
        left = max(litres - dec(p.need_mL.p50 / 1e3), Decimal(0))
        packs = packs_text(tins, "L")
        out.append(
            Item(m.id, "paint", say("{name} ({packs})", name=p.name, packs=packs), litres, "L",
                 band,
                 left=min(left.quantize(HUNDREDTH), litres),
                 note=say("{n} coats, need {need:.0f} ({range:.0f})" if p.coats > 1
                          else "{n} coat, need {need:.0f} ({range:.0f})", n=p.coats,
                          need=Amount(p.need_mL.p50, "mL"),
                          range=Between(p.need_mL.p05, p.need_mL.p95, "mL")))
        )  # fmt: skip
    return out


def jars_for(grams: float) -> dict[float, int]:
    """Jars [g] to buy for `grams` [g] of paste with a tenth to spare; count of each [-]."""
    return cover_with(1.1 * grams, usual()["jars"]["sizes_g"])


def _pastes(work: Working, purse: Purse) -> list[Item]:
    out = []
    for name, grams in sorted(pastes_of(work).items()):
        jars = jars_for(grams)
        bought = sum((dec(size) * n for size, n in jars.items()), Decimal(0))
        own = f"{name}" in purse.own
        band = exact_band(purse.own_money(purse.own[name], name)) if own else purse.of("paste_g")
        text = colorant(work, name)[1]
        packs = packs_text(jars, "g")
        out.append(
            Item(name, "colour", say("{name} ({packs})", name=text, packs=packs), bought, "g", band,
                 stream="paste",
                 left=max(bought - dec(grams), Decimal(0)).quantize(HUNDREDTH),
                 note=say("need {mass}", mass=Reading(grams, "g", 1)))
        )  # fmt: skip
    return out


def _small(purse: Purse, d: Doings) -> list[Item]:
    low, high = dec(usual()["amounts"]["low"]), dec(usual()["amounts"]["high"])
    wipes = Decimal(usual()["amounts"]["wipes_per_batch"] * max(d.batches, 1))
    out = [
        Item("wipe", "sundries", "Lint-free wipes", wipes, "piece", purse.of("wipe"),
             spread=(low, high))
    ]  # fmt: skip
    if d.glue_m > 0:
        out.append(Item("glue-m", "sundries", "Glue and filler for edges and joints",
                        dec(d.glue_m).quantize(HUNDREDTH), "m", purse.of("glue_m"),
                        spread=(low, high)))  # fmt: skip
    return out
