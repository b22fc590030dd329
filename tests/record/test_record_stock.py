"""The shelf: amounts add up, dates hold, reservations and use count once."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.catalogue import load
from pourwright.errors import InputError
from pourwright.quantities.fields import si
from pourwright.record import DoneJob
from pourwright.record.stock import densities, feed, reorder, reserve, used_by
from pourwright.store.shelf import (
    Least,
    Lot,
    Move,
    Shelf,
    change_shelf,
    read_shelf,
    shelf_from,
    shelf_text,
    states,
)

DAY = date(2027, 8, 1)
TINT, COAT = "resin-colour-1to1-uv", "resin-coating-1to1"


def lot(ident: str, part: str = "A", material: str = TINT, **more: object) -> Lot:
    data: dict[str, object] = {"volume": "4 L", "received": "2027-03-01", "keeps": "12 months"}
    if "mass" in more:
        data.pop("volume")
    return Lot.model_validate({"id": ident, "material": material, "part": part, **data, **more})


def move(what: str, ident: str, kg: float | None = None, **more: object) -> Move:
    mass = None if kg is None else si(kg)
    return Move(what=what, lot=ident, on=DAY, mass=mass, **more)  # type: ignore[arg-type]


SHELF = Shelf(lots=[
    lot("A1"), lot("B1", "B", mass="4 kg"),
    lot("M1", "A", COAT, mass="5 kg", received="2026-08-01"),
    lot("N1", "B", COAT, mass="5 kg"),
])  # fmt: skip


class TestStates:
    @settings(deadline=None, max_examples=60)
    @given(st.lists(st.tuples(st.sampled_from(["used", "discarded", "counted", "reserved"]),
                              st.floats(0, 3)), max_size=12))  # fmt: skip
    def test_amounts_never_go_below_nothing_and_add_up(self, doings: list) -> None:
        start = lot("X", "B", mass="4 kg")
        shelf = Shelf(lots=[start], moves=[move(w, "X", v, job="j") for w, v in doings])
        s = states(shelf)[0]
        assert s.on_hand >= 0 and s.reserved >= 0
        assert s.free + s.reserved == pytest.approx(max(s.on_hand, s.reserved))
        if all(w in ("used", "discarded") for w, _ in doings):
            assert s.on_hand == pytest.approx(max(4.0 - sum(v for _, v in doings), 0.0), abs=1e-9)

    def test_masses_and_volumes_meet_by_density(self) -> None:
        known = densities(load(), SHELF)
        shelf = SHELF.model_copy(update={"moves": [move("used", "A1", 1.12)]})
        assert states(shelf, known)[0].on_hand == pytest.approx(4e-3 - 1.12 / 1120.0)
        with pytest.raises(InputError, match="counted as volume"):
            states(shelf, {})

    def test_opening_starts_the_shorter_life(self) -> None:
        can = lot("X", keeps_open="90 days")
        shelf = Shelf(lots=[can], moves=[Move(what="opened", lot="X", on=DAY)])
        s = states(shelf)[0]
        assert s.until == date(2027, 10, 30) and s.opened == DAY
        assert states(Shelf(lots=[can]))[0].until == date(2028, 2, 29)
        assert lot("Y", best_before="2027-05-05").until() == date(2027, 5, 5)

    def test_pieces_are_counted(self) -> None:
        shelf = Shelf(
            lots=[Lot(id="S", material="sheeting", pieces=10, received=DAY)],
            moves=[Move(what="used", lot="S", on=DAY, pieces=3)],
        )
        assert states(shelf)[0].on_hand == 7


class TestJobs:
    def test_what_the_shelf_gives_a_job(self, cafe: DoneJob) -> None:
        feeds = {f.resin: f for f in feed(cafe.planned, SHELF)}
        assert feeds[TINT].have[0] == pytest.approx(4e-3)
        assert feeds[TINT].lots == ("A1", "B1")
        # M1 runs out on 1 August, the flood is poured on the 13th
        assert feeds[COAT].have[0] == 0 and "good until" in feeds[COAT].left_out[0]
        need = next(p for p in cafe.planned.plan.purchases if p.resin == TINT)
        assert feeds[TINT].need[0] == pytest.approx(need.need_a_mL * 1e-6)

    def test_reserving_twice_reserves_once_and_others_see_less(self, cafe: DoneJob) -> None:
        once = SHELF.model_copy(update={"moves": reserve(cafe.planned, SHELF, DAY)})
        twice = once.model_copy(update={"moves": [*once.moves, *reserve(cafe.planned, once, DAY)]})
        known = densities(load(), SHELF)
        a, b = states(once, known), states(twice, known)
        assert [s.reserved for s in a] == pytest.approx([s.reserved for s in b])
        need = next(p for p in cafe.planned.plan.purchases if p.resin == TINT)
        assert a[0].reserved == pytest.approx(need.need_a_mL * 1e-6)
        assert feed(cafe.planned, once)[0].have[0] == pytest.approx(4e-3)
        other = once.model_copy(
            update={"moves": [m.model_copy(update={"job": "another"}) for m in once.moves]}
        )
        assert feed(cafe.planned, other)[0].have[0] == pytest.approx(4e-3 - a[0].reserved)

    def test_cups_are_booked_once(self, cafe: DoneJob, tmp_path: Path) -> None:
        shelf = Shelf(lots=[lot("K-0412"), lot("K-0413", "B"),
                            lot("M-1107", "A", COAT, volume="8 L")])  # fmt: skip
        moves, missing = used_by(cafe.planned, cafe.record, shelf)
        cups = [e for e in cafe.record.of_kind("cup") if e.coat == "colour"]
        path = tmp_path / "shop.toml"
        change_shelf(path, lots=shelf.lots)
        change_shelf(path, moves=moves)
        made = change_shelf(path, moves=moves)
        assert len(made.moves) == len(moves)
        known = densities(load(), made)
        used = 4e-3 - states(made, known)[0].on_hand
        assert used == pytest.approx(sum(e.a for e in cups) / 1120.0)
        assert missing and all("M-1108" in m for m in missing)

    def test_reorder_list(self, cafe: DoneJob) -> None:
        shelf = SHELF.model_copy(update={"least": [Least(material=COAT, part="B", mass=si(6.0))]})
        words = [r.why for r in reorder(shelf, load(), DAY, feed(cafe.planned, shelf))]
        assert any("under the least" in w for w in words)
        assert any("short for the pour" in w for w in words)
        assert any("2027-08-01 only" in w for w in words)
        late = [r.why for r in reorder(shelf, load(), date(2027, 9, 1))]
        assert any("out of date" in w for w in late)


class TestFile:
    @pytest.mark.parametrize("name", ["shop.toml", "shop.json"])
    def test_reads_back_the_same(self, tmp_path: Path, name: str) -> None:
        path = tmp_path / name
        made = change_shelf(path, lots=SHELF.lots, moves=[move("used", "B1", 0.5, job="x")],
                            least=[Least(material=COAT, part="B", mass=si(6.0))])  # fmt: skip
        assert read_shelf(path) == made
        assert read_shelf(path).lots == SHELF.lots
        assert shelf_text(made, name.endswith("toml")) == path.read_text(encoding="utf-8")

    @pytest.mark.parametrize(
        "bad",
        [
            {"schema": 9}, {"lots": [{"id": "x"}]}, {"moves": [{"what": "used", "lot": "q",
             "on": "2027-08-01"}]}, {"nonsense": 1}, [],
            {"lots": [{"id": "x", "material": "y", "received": "2027-08-01", "mass": "1 kg",
                       "volume": "1 L"}]},
            {"lots": [{"id": "x", "material": "y", "received": "2027-08-01", "mass": "1 kg",
                       "keeps": "soon"}]},
        ],
    )  # fmt: skip
    def test_bad_shelves_are_refused(self, bad: object) -> None:
        with pytest.raises(InputError):
            shelf_from(bad)

    def test_a_lot_cannot_come_in_twice_and_nothing_is_lost(self, tmp_path: Path) -> None:
        path = tmp_path / "shop.toml"
        change_shelf(path, lots=[lot("A1")])
        before = path.read_bytes()
        with pytest.raises(InputError, match="each lot stands once"):
            change_shelf(path, lots=[lot("A1")])
        with pytest.raises(InputError, match="no such lot"):
            change_shelf(path, moves=[move("used", "Z", 1.0)])
        assert path.read_bytes() == before
