"""Steps at a crew's own pace: working times scaled by kind of step."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from pourwright.calc import Spread
from pourwright.day.model import Step


def paced(steps: Iterable[Step], pace: Mapping[str, Spread]) -> list[Step]:
    """Steps with the working times of a crew that is slower or faster than planned.

    Parameters
    ----------
    steps : iterable of Step [s]
        As planned, for an ordinary crew.
    pace : mapping of str to Spread [-]
        By kind of step, the crew's time over the planned middle time (5, 50 and 95 % points);
        kinds that are not named stay as they are.

    Returns
    -------
    list of Step [s]
        The same steps in the same order, also those that are put in when a window closes.
    """
    return [_paced(s, pace) for s in steps]


def _paced(step: Step, pace: Mapping[str, Spread]) -> Step:
    before = tuple(
        replace(b, otherwise=_paced(b.otherwise, pace)) if b.otherwise is not None else b
        for b in step.before
    )
    found = pace.get(step.kind)
    if found is None:
        return replace(step, before=before) if before else step
    mid = step.work_s.p50
    work = Spread(p05=mid * found.p05, p50=mid * found.p50, p95=mid * found.p95)
    return replace(step, work_s=work, before=before)
