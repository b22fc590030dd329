"""Sundries and wear: cups, gloves, tape, sheeting, abrasives, blades, from what the job does."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from pourwright.catalogue import Catalogue, Material
from pourwright.price.items import Item, PriceBand
from pourwright.price.usual import usual
from pourwright.words import Amount, Between, say

Bands = Callable[[Material], PriceBand | None]


@dataclass(frozen=True)
class Doings:
    """What a job does that uses things up.

    Attributes
    ----------
    cups_m3 : tuple of float [m3]
        Mixed volume of each cup.
    coats : int [-]
        Poured coats.
    batches : int [-]
        Batches mixed.
    primer_coats, topcoat_coats : int [-]
        Rolled coats.
    area_m2 : float [m2]
        Poured area.
    sanded_m2 : tuple of (str, float) [-, m2]
        Catalogue id of the abrasive and the area sanded with it.
    edge_m, tape_m, cut_m, glue_m : float [m]
        Rounded edges, masked lengths, saw cuts, glued lengths.
    wet_s, dust_s, vapour_s : float [s]
        Time with resin or paint on the hands, in dust, in solvent vapour.
    people : int [-]
        Crew.
    """

    cups_m3: tuple[float, ...]
    coats: int
    batches: int
    primer_coats: int
    topcoat_coats: int
    area_m2: float
    sanded_m2: tuple[tuple[str, float], ...]
    edge_m: float
    tape_m: float
    cut_m: float
    glue_m: float
    wet_s: float
    dust_s: float
    vapour_s: float
    people: int


def sundries(catalogue: Catalogue, job: Doings, band: Bands) -> list[Item]:
    """What a job uses up, in whole pieces.

    Parameters
    ----------
    catalogue : Catalogue [-]
        Consumables with what they hold and how long they last.
    job : Doings [SI]
        What is done.
    band : callable [-]
        Price of a material in the money of the job, None without one.

    Returns
    -------
    list of Item [currency]
        Amounts are common practice; their range is that of the property they rest on.
    """
    amounts = usual()["amounts"]
    out: list[Item] = []

    def take(ident: str, count: float, note: str, key: str | None = None) -> None:
        m = catalogue.get(ident)
        price = band(m)
        if price is None or count <= 0:
            return
        low, high = amounts["low"], amounts["high"]
        if key is not None:
            p = m.prop(key)
            low, high = p.value / p.high, p.value / p.low
        out.append(
            Item(
                ident,
                "sundries",
                m.name,
                Decimal(max(1, math.ceil(count - 1e-9))),
                _per(m),
                price,
                spread=(_dec(min(low, 1.0)), _dec(max(high, 1.0))),
                note=note,
            )
        )

    for ident, count in _cups(catalogue, job.cups_m3).items():
        take(ident, count, "one for each shade of each batch")
    take("stick", len(job.cups_m3), "one for each cup")
    take("spreader-notched", job.coats * amounts["spreaders_per_coat"], "one for each coat")
    wet_min = job.wet_s / 60.0
    if wet_min > 0:
        life = catalogue.get("gloves-nitrile")["life_min"]
        pairs = job.people * wet_min / life + amounts["glove_spare_pairs"]
        take("gloves-nitrile", pairs, "changed by time and at each splash", "life_min")
    tape = catalogue.get("tape-masking")
    take("tape-masking", job.tape_m * (1 + tape["loss_percent"] / 100) / tape["length_m"],
         "below free edges, along walls and joints")  # fmt: skip
    sheet = catalogue.get("sheeting")
    floor = 3.0 * job.area_m2 if job.coats else 0.0
    take("sheeting", floor * (1 + sheet["loss_percent"] / 100) / sheet["area_m2"],
         "floor: three times the poured area")  # fmt: skip
    for ident, area in job.sanded_m2:
        take(
            ident,
            area / catalogue.get(ident)["wear_m2"],
            say("{area:.1f} sanded", area=Amount(area, "m2")),
            "wear_m2",
        )
    rolled = job.primer_coats + job.topcoat_coats
    take("roller-primer", rolled * amounts["rollers_per_coat"], "one for each rolled coat")
    if job.dust_s > 0:
        life = catalogue.get("mask-dust")["life_h"]
        take("mask-dust", job.people * max(1.0, job.dust_s / 3600 / life), "sawing and sanding",
             "life_h")  # fmt: skip
    if job.vapour_s > 0:
        life = catalogue.get("cartridge-vapour")["life_h"]
        take("cartridge-vapour", job.people * max(1.0, job.vapour_s / 3600 / life),
             "solvent topcoat", "life_h")  # fmt: skip
    return out


def wear(catalogue: Catalogue, job: Doings, band: Bands) -> list[Item]:
    """Wear of blades and bits by the length they cut.

    Parameters
    ----------
    catalogue : Catalogue [-]
        Blades and bits: price, length to the next sharpening, share that a sharpening costs.
    job : Doings [m]
        Lengths cut.
    band : callable [-]
        Price of a material in the money of the job, None without one.

    Returns
    -------
    list of Item [currency per m]
        A blade of price P that is sharpened n times at share s of P wears P (1 + n s) over
        n + 1 lives.
    """
    out = []
    for ident, length in (("blade-track", job.cut_m), ("bit-roundover", job.edge_m)):
        m = catalogue.get(ident)
        price = band(m)
        if price is None or length <= 0:
            continue
        times = int(m.facts.get("sharpenings", 0))
        share = m.get("sharpening_share_percent", 0.0) / 100.0
        if share <= 0:
            times = 0
        life = m.prop("wear_m")
        by_metre = (1 + times * share) / ((times + 1) * life.value)
        out.append(
            Item(
                ident,
                "wear",
                m.name,
                _dec(length, "0.01"),
                "m",
                price.times(_dec(by_metre)),
                spread=(_dec(life.value / life.high), _dec(life.value / life.low)),
                note=say(
                    "{life:.0f} a life ({range:.0f})",
                    life=Amount(life.value, "m"),
                    range=Between(life.low, life.high, "m"),
                ),
            )
        )
    return out


def _cups(catalogue: Catalogue, volumes: Sequence[float]) -> dict[str, int]:
    kinds = sorted(
        (m for m in catalogue.of_kind("consumable") if m.facts.get("use") == "cup"),
        key=lambda m: m["working_mL"],
    )
    out: dict[str, int] = {}
    for v in volumes:
        fit = next((m for m in kinds if m["working_mL"] * 1e-6 >= v), kinds[-1])
        out[fit.id] = out.get(fit.id, 0) + 1
    return out


def _per(m: Material) -> str:
    return m.price.per if m.price is not None else "piece"


def _dec(x: float, step: str = "0.000001") -> Decimal:
    return Decimal(repr(float(x))).quantize(Decimal(step))
