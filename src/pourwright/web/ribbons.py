"""The day ribbon of a coat as plain data, for a page to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from pourwright.plan import Working
    from pourwright.plan.coats import Poured


def ribbon_data(work: Working, coat: Poured) -> dict[str, Any]:
    """The two bands of a coat as JSON data.

    Parameters
    ----------
    work : Working [SI]
        A planned job.
    coat : Poured [-]
        One of its coats.

    Returns
    -------
    dict [keys carry their unit: _s since the first midnight, _degC]
        ``flow`` is a share of what it was at mixing [-]: 5, 50 and 95 % rows.
    """
    from pourwright.plan.ribbon import coat_bands

    bands = coat_bands(work.ctx, work.timed, coat)
    done = {s.id: s.done for d in work.plan.days for s in d.steps}
    starts: dict[tuple[float, float], list[str]] = {}
    for p in work.timed.schedule.placed:
        starts.setdefault((p.start_s, p.finish_s), []).append(p.id)
    first = work.ctx.hours.moment(0.0)
    out = []
    for b in bands:
        used: dict[tuple[float, float], int] = {}
        pins = []
        for pin in b.pins:
            at = (pin.t_s, pin.t_s if pin.end_s is None else pin.end_s)
            ids = [i for i in starts.get(at, []) if i.startswith(coat.id)] or starts.get(at, [])
            k = used.get(at, 0)
            used[at] = k + 1
            step = ids[min(k, len(ids) - 1)] if ids else None
            pins.append({"t_s": pin.t_s, "end_s": pin.end_s, "text": pin.text, "step": step,
                         "done": bool(step and done.get(step))})  # fmt: skip
        out.append(
            {
                "title": b.title,
                "start_s": b.start_s,
                "end_s": b.end_s,
                "tick_s": b.tick_s,
                "t_s": np.round(b.t_s, 1).tolist(),
                "flow": np.round(b.flow, 6).tolist(),
                "air_degC": np.round(b.air_K - 273.15, 3).tolist(),
                "words": [
                    {"start_s": w.start_s, "end_s": w.end_s, "text": w.text, "unsure_s": w.unsure_s}
                    for w in b.words
                ],
                "pins": pins,
            }
        )
    return {
        "coat": coat.id,
        "title": coat.title,
        "first_midnight": first.isoformat(),
        "start": work.ctx.hours.moment(bands[0].start_s).isoformat(),
        "units": work.ctx.job.show.units,
        "bands": out,
    }
