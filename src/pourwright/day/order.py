"""Putting the steps on the clock: who waits for what, inside working hours.

Serial list scheduling with one crew (Kelley 1961, the serial method): in the listed order of
importance, each step takes the earliest start at which its conditions hold and the crew is free,
so an independent step slips into another's waiting time. Cure lags depend on the clock time at
which a coat was poured, so they are asked for as the schedule grows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from pourwright.day.model import After, Placed, Step, WorkHours
from pourwright.errors import InputError
from pourwright.words import say


@dataclass
class Schedule:
    """The placed steps in order of their start, and what was changed to make them fit.

    `steps` are all steps in their order of importance, with those that were put in between.
    """

    placed: list[Placed] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)

    def of(self, step_id: str) -> Placed:
        """The placed step called `step_id` [-]; raises `KeyError` when there is none."""
        for p in self.placed:
            if p.id == step_id:
                return p
        raise KeyError(step_id)

    def has(self, step_id: str) -> bool:
        """Whether `step_id` [-] is on the clock."""
        return any(p.id == step_id for p in self.placed)

    @property
    def finish_s(self) -> float:
        """When the last step ends [s since the first midnight]."""
        return max((p.finish_s for p in self.placed), default=0.0)


def _named(step: Step) -> list[str]:
    """Ids of the steps that the conditions of `step` name."""
    return [a.step for a in step.after] + [b.step for b in step.before]


def _groups(steps: Iterable[Step]) -> list[list[Step]]:
    groups: list[list[Step]] = []
    where: dict[str, int] = {}
    for s in steps:
        if s.together is None:
            groups.append([s])
        elif s.together in where:
            groups[where[s.together]].append(s)
        else:
            where[s.together] = len(groups)
            groups.append([s])
    return groups


def _check(steps: list[Step]) -> None:
    ids = [s.id for s in steps]
    twice = {i for i in ids if ids.count(i) > 1}
    if twice:
        raise InputError(
            "steps", sorted(twice)[0], "each step has its own id", "Rename one of the two steps."
        )
    known = set(ids)
    for s in steps:
        for name in _named(s):
            if name not in known:
                raise InputError(
                    f"steps.{s.id}.after",
                    name,
                    "it must name a step of this job",
                    "Name a step that is in the list.",
                )


def _earliest(step: Step, placed: Mapping[str, Placed]) -> tuple[float, str]:
    best, why = 0.0, ""
    for link in step.after:
        p = placed[link.step]
        lag = link.lag(p.finish_s)
        ready = p.finish_s + (lag.p95 if link.cautious else lag.p50)
        if ready > best:
            best, why = ready, link.why or p.step.title
    return best, why


def _crew_free(busy: list[tuple[float, float]], start: float, length: float) -> float:
    """The first time at or after `start` [s] with `length` [s] of crew time free."""
    for a, b in sorted(busy):
        if start + length <= a + 1e-9:
            return start
        start = max(start, b)
    return start


def schedule(
    steps: Iterable[Step],
    hours: WorkHours,
    start_s: float = 0.0,
    done: Mapping[str, tuple[float, float]] | None = None,
) -> Schedule:
    """Put `steps` on the clock.

    Parameters
    ----------
    steps : iterable of Step [-]
        In order of importance; the conditions in `after` and `before` name other steps.
    hours : WorkHours [-]
        When the crew works.
    start_s : float [s]
        Nothing starts before this, in seconds since the first midnight.
    done : mapping of str to (float, float) [s]
        Steps that really happened, with their start and finish; they are kept as they were.

    Returns
    -------
    Schedule [s since the first midnight]

    Raises
    ------
    InputError
        Two steps with one id, an unknown step in a condition, or conditions that form a ring.
    """
    listed = list(steps)
    _check(listed)
    done = dict(done or {})
    placed: dict[str, Placed] = {}
    out = Schedule()
    busy: list[tuple[float, float]] = []
    for s in listed:
        if s.id in done:
            a, b = done[s.id]
            placed[s.id] = Placed(s, a, b, done=True)
            if not s.waiting:
                busy.append((a, b))
    waiting = [[s for s in g if s.id not in placed] for g in _groups(listed)]
    waiting = [g for g in waiting if g]
    while waiting:
        ready = [g for g in waiting if _ready(g, placed)]
        if not ready:
            ring = ", ".join(s.id for s in waiting[0])
            raise InputError(
                "steps", ring, "the conditions form a ring", "Take one of the conditions out."
            )
        tries = [_try(g, placed, busy, hours, start_s) for g in ready]
        best = min(range(len(ready)), key=lambda i: (tries[i][0].start_s, waiting.index(ready[i])))
        group, put = ready[best], tries[best]
        extra = _too_late(group, put, placed)
        if extra is not None:
            at = waiting.index(group)
            waiting.insert(at, [extra])
            first = _without_before(group[0], extra)
            waiting[at + 1] = [first, *group[1:]]
            where = listed.index(group[0])
            listed[where : where + 1] = [extra, first]
            out.warnings.append(say("{title}: {say}", title=group[0].title, say=extra.say))
            continue
        for p in put:
            placed[p.id] = p
            if not p.step.waiting:
                busy.append((p.start_s, p.finish_s))
        waiting.remove(group)
    out.steps = listed
    out.placed = sorted(placed.values(), key=lambda p: (p.start_s, p.finish_s))
    return out


def _ready(group: list[Step], placed: Mapping[str, Placed]) -> bool:
    inside = {s.id for s in group}
    return all(name in placed or name in inside for s in group for name in _named(s))


def _too_late(group: list[Step], put: list[Placed], placed: Mapping[str, Placed]) -> Step | None:
    first = group[0]
    for link in first.before:
        p = placed[link.step]
        closes = p.finish_s + link.lag(p.finish_s).p05
        if put[0].start_s > closes and link.otherwise is not None:
            return link.otherwise
    return None


def _without_before(step: Step, extra: Step) -> Step:
    return replace(step, before=(), after=(*step.after, After(extra.id, why=extra.title)))


def _try(
    group: list[Step],
    placed: Mapping[str, Placed],
    busy: list[tuple[float, float]],
    hours: WorkHours,
    start_s: float,
) -> list[Placed]:
    """Place one group: its steps follow each other, each after its own conditions."""
    outside = [_earliest(s, placed) for s in group if all(link.step in placed for link in s.after)]
    begin, why = max(outside, default=(0.0, ""), key=lambda e: e[0])
    begin = max(begin, start_s)
    for _ in range(60):
        now = _lay(group, placed, begin, why)
        end = max(p.finish_s for p in now)
        length = end - begin
        only_waiting = all(s.waiting for s in group)
        fitted = begin if only_waiting else hours.fit(begin, length)
        free = fitted if only_waiting else _crew_free(busy, fitted, length)
        if free <= begin + 1e-9:
            return now
        begin = free
    raise InputError("steps", group[0].id, "no place for it was found", "Lengthen the working day.")


def _lay(group: list[Step], placed: Mapping[str, Placed], begin: float, why: str) -> list[Placed]:
    here: dict[str, Placed] = dict(placed)
    now: list[Placed] = []
    clock = begin
    for k, s in enumerate(group):
        ready, because = _earliest(s, here) if k else (begin, why)
        at = max(clock, ready)
        p = Placed(s, at, at + s.work_s.p50, because if ready >= clock else "")
        here[s.id] = p
        now.append(p)
        if not s.waiting:
            clock = p.finish_s
    return now
