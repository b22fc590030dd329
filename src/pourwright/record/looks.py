"""From a job's record to sights: looks paired with mixing times, lots, masses and real air."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from pourwright.errors import InputError
from pourwright.plan import Working, load_job, work_out
from pourwright.plan.clocks import core_layers
from pourwright.plan.context import Context
from pourwright.record.account import CoatAccount, coat_accounts
from pourwright.record.book import Record, read_record, record_path
from pourwright.record.entries import CupEntry, LookEntry
from pourwright.record.happened import as_happened
from pourwright.record.moments import seconds
from pourwright.record.sights import Sight, Stage
from pourwright.words import Own, say

STAGES: dict[str, Stage] = {
    "cup gel": "cup_gel",
    "film gel": "film_gel",
    "tack-free": "tack_free",
}


@dataclass(frozen=True)
class DoneJob:
    """A job with its record: as it was planned, and the air as it really was."""

    name: str
    planned: Working
    record: Record
    air: Context
    accounts: list[CoatAccount]


def done_job(job_file: str | Path, record_file: str | Path | None = None) -> DoneJob:
    """A recorded job, read and planned as it was planned before it began.

    Parameters
    ----------
    job_file : str or Path [-]
        The job.
    record_file : str or Path or None [-]
        Its record; None is the one beside it.

    Returns
    -------
    DoneJob [SI]

    Raises
    ------
    InputError
        As reading either does.
    """
    path = Path(job_file)
    job = load_job(path)
    record = read_record(record_file or record_path(path))
    real, _ = as_happened(job, record)
    work = work_out(job, path.parent)
    return DoneJob(job.name, work, record, Context(real, path.parent), coat_accounts(work, record))


def sights_of(done: DoneJob) -> dict[str, list[Sight]]:
    """All sights of a job [SI], by the resin they are of.

    Parameters
    ----------
    done : DoneJob [-]
        From `done_job`.

    Returns
    -------
    dict of str to list of Sight [SI]
        Resin id to its sights; looks at a cup or coat of which no cup was recorded are refused,
        since nobody knows when it was mixed.

    Raises
    ------
    InputError
        Such a look, or looks that contradict each other.
    """
    coats = {c.id: c for c in done.planned.timed.poured}
    cups: dict[str, CupEntry] = {e.cup: e for e in done.record.of_kind("cup")}
    groups: dict[tuple[str, str], list[LookEntry]] = {}
    for e in done.record.of_kind("look"):
        of = e.cup if e.stage == "cup gel" else e.coat
        groups.setdefault((e.stage, of), []).append(e)
    out: dict[str, list[Sight]] = {}
    films = {a.coat: a for a in done.accounts}
    layers = core_layers(done.air)
    air = done.air.air
    for (stage, of), looks in groups.items():
        ident = of.partition("/")[0]
        own = (
            [cups[of]]
            if stage == "cup gel" and of in cups
            else _field(cups, done, of)
            if stage != "cup gel"
            else []
        )
        if ident not in coats or not own:
            raise InputError(
                f"look {looks[0].id}", of, "no cup of it was recorded, so its age is not known",
                "Record that cup first: when it was mixed, and what A and B weighed.",
            )  # fmt: skip
        mixed = sum(seconds(c.at, done.record.start) for c in own) / len(own)
        before, after = _bracket(looks, mixed, done.record)
        lots = Counter(f"{c.lot_a or '?'} + {c.lot_b or '?'}" for c in own)
        lot = lots.most_common(1)[0][0]
        if "?" in lot:
            lot = f"{lot} ({done.name})"
        coat, account = coats[ident], films.get(ident)
        film = coat.film.value
        if account is not None and account.film_m is not None:
            film = min(max(account.film_m, 0.3 * film), 3.0 * film)
        mass = own[0].a + own[0].b + sum(own[0].pastes.values())
        given = [e.mass for e in looks if e.mass is not None]
        out.setdefault(coat.material.id, []).append(
            Sight(
                STAGES[stage], mixed, before, after, air, mass_kg=given[-1] if given else mass,
                film_m=film, core=layers, lot=lot, label=f"{stage} of {of}, {done.name}",
            )
        )  # fmt: skip
    return out


def _field(cups: dict[str, CupEntry], done: DoneJob, coat: str) -> list[CupEntry]:
    for planned in done.planned.plan.coats:
        if planned.id == coat:
            other = {q for b in planned.batches if b.kind != "field" for q in b.cups}
            return [
                c for c in cups.values()
                if c.coat == coat and c.cup.partition("/")[2] not in other
            ]  # fmt: skip
    return []


def _bracket(looks: list[LookEntry], mixed_s: float, record: Record) -> tuple[float, float]:
    looks = sorted(looks, key=lambda e: e.at)
    first = next((e for e in looks if e.seen), None)
    after = float("inf") if first is None else seconds(first.at, record.start) - mixed_s
    before = 0.0
    for e in looks:
        t = seconds(e.at, record.start) - mixed_s
        if not e.seen and t > 0:
            if first is not None and e.at >= first.at:
                raise InputError(
                    f"look {e.id}", e.at.isoformat(),
                    say("{entry} had seen it reached by then", entry=Own(first.id)),
                    "Correct one of the two with an entry that has instead_of.",
                )  # fmt: skip
            before = max(before, t)
    if first is not None and first.watched:
        before = after
    if after <= 0:
        assert first is not None
        raise InputError(
            f"look {first.id}", first.at.isoformat(), "it is before the cup was mixed",
            "Correct the time of the look or of the cup.",
        )  # fmt: skip
    return before, after
