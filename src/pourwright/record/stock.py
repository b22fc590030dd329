"""The shelf and the jobs: what a plan may use, what it reserves, what its cups used, reordering."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from pourwright.catalogue import Catalogue
from pourwright.errors import InputError
from pourwright.plan import Working
from pourwright.quantities.fields import si
from pourwright.record.book import Record
from pourwright.record.entries import CupEntry
from pourwright.store.shelf import SOON_D, Amount, Lot, Move, Shelf, State, states
from pourwright.words import Own, say


@dataclass(frozen=True)
class Fed:
    """What the shelf gives a job of one resin [m3, volume of each part].

    `need` is what the plan mixes, `have` what is free and in date on the day of the pour, `lots`
    which; `left_out` says why others do not count.
    """

    resin: str
    need: tuple[float, float]
    have: tuple[float, float]
    lots: tuple[str, ...]
    left_out: tuple[str, ...]
    pour: date


@dataclass(frozen=True)
class Reorder:
    """A line of the reorder list: what is missing, in words and numbers [kg, m3 or -]."""

    material: str
    part: str
    why: str
    missing: float | None
    kind: str


def densities(catalogue: Catalogue, shelf: Shelf) -> dict[tuple[str, str], float]:
    """Density of every material and part on the `shelf` [kg/m3], as far as `catalogue` [-] knows."""
    out: dict[tuple[str, str], float] = {}
    for x in shelf.lots:
        if x.material not in catalogue:
            continue
        m = catalogue.get(x.material)
        key = {"A": "density_a_kg_m3", "B": "density_b_kg_m3", "": "density_kg_m3"}[x.part]
        if key in m:
            out[x.material, x.part] = m[key]
    return out


def feed(work: Working, shelf: Shelf) -> list[Fed]:
    """What the shelf gives to each resin of a planned job.

    Parameters
    ----------
    work : Working [SI]
        The plan.
    shelf : Shelf [-]
        The shop's shelf.

    Returns
    -------
    list of Fed [m3]
        Lots out of date on the day of the pour and amounts reserved by other jobs do not count.
    """
    known = densities(work.ctx.catalogue, shelf)
    found = states(shelf, known)
    out = []
    for p in work.plan.purchases:
        pours = [
            work.ctx.hours.moment(work.timed.schedule.of(f"{c.id}-mix-1").start_s).date()
            for c in work.timed.poured
            if c.material.id == p.resin
        ]
        first, last = min(pours), max(pours)
        have = {"A": 0.0, "B": 0.0}
        lots, left_out = [], []
        for s in found:
            if s.lot.material != p.resin or s.lot.part not in have:
                continue
            mine = s.by_job.get(work.plan.name, 0.0)
            free = min(s.free + mine, s.on_hand)
            if not s.good_on(last):
                left_out.append(
                    say(
                        "{lot}: good until {until}, poured on {day}",
                        lot=Own(s.lot.id),
                        until=Own(str(s.until)),
                        day=Own(str(last)),
                    )
                )
                continue
            if free <= 0:
                if s.on_hand > 0:
                    left_out.append(
                        say(
                            "{lot}: reserved by {jobs}",
                            lot=Own(s.lot.id),
                            jobs=Own(", ".join(s.by_job)),
                        )
                    )
                continue
            have[s.lot.part] += _volume(s.lot, free, known)
            lots.append(s.lot.id)
        bought = (p.need_a_mL * 1e-6, p.need_b_mL * 1e-6)
        out.append(
            Fed(p.resin, bought, (have["A"], have["B"]), tuple(lots), tuple(left_out), first)
        )
    return out


def _volume(lot: Lot, amount: float, known: dict[tuple[str, str], float]) -> float:
    if lot.kind == "volume":
        return amount
    density = known.get((lot.material, lot.part))
    if lot.kind == "pieces" or density is None:
        raise InputError(
            f"lot {lot.id}", lot.kind, "resin is counted by mass or volume", "Correct the lot."
        )
    return amount / density


def reserve(work: Working, shelf: Shelf, on: date) -> list[Move]:
    """Moves that reserve what a job needs, oldest date first.

    Parameters
    ----------
    work : Working [SI]
        The plan.
    shelf : Shelf [-]
        The shelf.
    on : date [-]
        Today.

    Returns
    -------
    list of Move [kg or m3]
        What the job reserved before is released first.
    """
    known = densities(work.ctx.catalogue, shelf)
    name = work.plan.name
    moves = [
        Move(what="released", lot=s.lot.id, on=on, job=name)
        for s in states(shelf, known)
        if name in s.by_job
    ]
    for fed in feed(work, shelf):
        for part, need in zip("AB", fed.need, strict=True):
            rest = need
            mine = [
                s for s in states(shelf, known)
                if s.lot.material == fed.resin and s.lot.part == part and s.lot.id in fed.lots
            ]  # fmt: skip
            for s in sorted(mine, key=_oldest):
                free = _volume(s.lot, min(s.free + s.by_job.get(name, 0.0), s.on_hand), known)
                take = min(free, rest)
                if take <= 1e-9:
                    continue
                rest -= take
                moves.append(_move("reserved", s.lot, take, known, on, name, ""))
    return moves


def _oldest(s: State) -> tuple[bool, date, date]:
    """Opened cans first, then by date."""
    return (s.opened is None, s.until or date.max, s.lot.received)


def _move(
    what: str, lot: Lot, volume: float, known: dict[tuple[str, str], float], on: date, job: str,
    of: str,
) -> Move:  # fmt: skip
    if lot.kind == "mass":
        return Move(what=what, lot=lot.id, on=on, job=job, of=of,
                    mass=si(volume * known[lot.material, lot.part]))  # fmt: skip
    return Move(what=what, lot=lot.id, on=on, job=job, of=of, volume=si(volume))


def used_by(work: Working, record: Record, shelf: Shelf) -> tuple[list[Move], list[str]]:
    """Moves for what the recorded cups of a job used up, and what could not be booked.

    Parameters
    ----------
    work : Working [SI]
        The plan, for which resin each coat is.
    record : Record [-]
        With cups; their lots are named as on the shelf.
    shelf : Shelf [-]
        The shelf.

    Returns
    -------
    tuple of list of Move and list of str [kg or m3]
        Each cup is booked once, however often this is called.
    """
    known = densities(work.ctx.catalogue, shelf)
    lots = {x.id: x for x in shelf.lots}
    resin = {c.id: c.material for c in work.timed.poured}
    moves, missing = [], []
    for e in record.of_kind("cup"):
        assert isinstance(e, CupEntry)
        material = resin.get(e.coat)
        if material is None:
            missing.append(f"cup {e.cup}: the job has no coat '{e.coat}'")
            continue
        for part, mass, lot in (("A", e.a, e.lot_a), ("B", e.b, e.lot_b)):
            if not lot:
                missing.append(f"cup {e.cup}: no lot of {part} was written down")
                continue
            if lot not in lots or lots[lot].part != part or lots[lot].material != material.id:
                missing.append(f"cup {e.cup}: '{lot}' is no lot of {material.id}, part {part}")
                continue
            key = "density_a_kg_m3" if part == "A" else "density_b_kg_m3"
            of = f"{record.job}: {e.cup} {part} at {e.at.isoformat(timespec='minutes')}"
            density = known.get((material.id, part), material[key])
            moves.append(
                _move("used", lots[lot], mass / density, {**known, (material.id, part): density},
                      e.at.date(), record.job, of)
            )  # fmt: skip
    return moves, missing


def reorder(
    shelf: Shelf, catalogue: Catalogue, on: date, feeds: list[Fed] | None = None
) -> list[Reorder]:
    """What to order.

    Parameters
    ----------
    shelf : Shelf [-]
        The shelf.
    catalogue : Catalogue [-]
        For densities.
    on : date [-]
        Today.
    feeds : list of Fed or None [m3]
        Jobs that need resin.

    Returns
    -------
    list of Reorder [kg, m3 or -]
        Under the least that should be there, short for a job, out of date, or soon out of date.
    """
    known = densities(catalogue, shelf)
    found = states(shelf, known)
    out: list[Reorder] = []
    for least in shelf.least:
        have = 0.0
        for s in found:
            if (s.lot.material, s.lot.part) != (least.material, least.part) or not s.good_on(on):
                continue
            have += _in(least, s, known)
        if have < least.value - 1e-12:
            out.append(
                Reorder(least.material, least.part, "under the least that should be there",
                        least.value - have, least.kind)
            )  # fmt: skip
    for f in feeds or []:
        for part, need, have in zip("AB", f.need, f.have, strict=True):
            if have < need - 1e-9:
                out.append(
                    Reorder(
                        f.resin,
                        part,
                        say("short for the pour on {day}", day=Own(str(f.pour))),
                        need - have,
                        "volume",
                    )
                )
    for s in found:
        if s.on_hand <= 0 or s.until is None:
            continue
        if s.until < on:
            why = say(
                "lot {lot} is out of date since {day}: try a test cup, or discard it",
                lot=Own(s.lot.id),
                day=Own(str(s.until)),
            )
            out.append(Reorder(s.lot.material, s.lot.part, why, None, s.lot.kind))
        elif s.until <= on + timedelta(days=SOON_D):
            why = say(
                "lot {lot} is good until {day} only: use it first",
                lot=Own(s.lot.id),
                day=Own(str(s.until)),
            )
            out.append(Reorder(s.lot.material, s.lot.part, why, None, s.lot.kind))
    return out


def _in(least: Amount, s: State, known: dict[tuple[str, str], float]) -> float:
    if s.lot.kind == least.kind:
        return s.free
    density = known.get((s.lot.material, s.lot.part))
    if density is None or "pieces" in (least.kind, s.lot.kind):
        return 0.0
    return s.free * density if least.kind == "mass" else s.free / density
