"""Faults: likely causes ranked from the job's own numbers, and the remedy."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from pourwright.record.entries import FAULTS, FaultEntry
from pourwright.record.evidence import Evidence
from pourwright.record.looks import DoneJob


@dataclass(frozen=True)
class Cause:
    """A likely cause: its share of the likelihood [-], what it is, what the job's numbers say of
    it (empty: they say nothing), and what to do next time."""

    key: str
    share: float
    says: str
    evidence: str
    next_time: str


@dataclass(frozen=True)
class Verdict:
    """A fault with its causes, likeliest first, and how it is mended."""

    fault: FaultEntry
    looks: str
    causes: tuple[Cause, ...]
    repair: str
    remedy: str
    cautions: tuple[str, ...]


@cache
def fault_tables() -> dict[str, Any]:
    """The tables of ``faults.toml`` [-]."""
    text = (resources.files("pourwright.record") / "faults.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    assert [f["name"] for f in data["fault"]] and set(FAULTS) == {f["name"] for f in data["fault"]}
    return data


def judge(done: DoneJob, fault: FaultEntry) -> Verdict:
    """Rank what may have caused a fault.

    Parameters
    ----------
    done : DoneJob [SI]
        The job as planned and as recorded.
    fault : FaultEntry [-]
        What was found.

    Returns
    -------
    Verdict [-]
        Shares add to 1: usual frequency of each cause (common practice) times what the job's own
        numbers say (`evidence`); a ranking to look by, not a proof.
    """
    table = next(f for f in fault_tables()["fault"] if f["name"] == fault.fault)
    seen = Evidence(done, fault)
    weights, words = [], []
    for c in table["causes"]:
        sign = seen.sign(c["sign"]) if c["sign"] else None
        weights.append(c["weight"] * math.exp(sign.strength if sign else 0.0))
        words.append(sign.words if sign else "")
    total = sum(weights)
    causes = [
        Cause(c["key"], w / total, c["says"], text, c["next"])
        for c, w, text in zip(table["causes"], weights, words, strict=True)
    ]
    tables = fault_tables()
    return Verdict(
        fault,
        table["looks"],
        tuple(sorted(causes, key=lambda c: -c.share)),
        table["repair"],
        tables["repairs"][table["repair"]],
        (tables["cautions"]["sanding"],),
    )


def faults_of(done: DoneJob) -> list[Verdict]:
    """Verdicts [-] on all faults that stand in the record of `done` [-]."""
    return [judge(done, f) for f in done.record.of_kind("fault")]
