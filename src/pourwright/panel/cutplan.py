"""The cut plan of a job: from parts, sheets and saw to numbered cuts, cost and bound."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pourwright.errors import InputError
from pourwright.panel import problem as prob
from pourwright.panel.layout import CutPlan, SheetLayout
from pourwright.panel.stock import (
    Part,
    Saw,
    Sheet,
    check_match,
    check_parts,
    check_saw,
    check_sheets,
)
from pourwright.panel.tree import saw_order

KEEP = 0.1  # off-cuts with both sides at least this long are worth listing [m]


def cut_plan(
    parts: Iterable[Part],
    sheets: Iterable[Sheet],
    saw: Saw | None = None,
    *,
    seed: int = 0,
    effort: float = 1.0,
    time_limit: float = 8.0,
    progress: prob.Progress | None = None,
) -> CutPlan:
    """The cheapest cut plan found, with a true lower bound on what any plan of its kind costs.

    Off-cuts are opened before new sheets. Small jobs are solved to proof; larger ones by beam
    search, repair of the worst sheets and recombination of sheets. The same arguments give the
    same plan as long as `time_limit` is not reached.

    Parameters
    ----------
    parts : iterable of Part [m]
        What to cut.
    sheets : iterable of Sheet [m]
        What to cut it from; new sheets need a cost above 0.
    saw : Saw or None [m]
        Kerf and kind of cuts; None: 3.2 mm, three stages.
    seed : int [-]
        Of the random restarts.
    effort : float [-]
        Work allowed, 1 for about two seconds on one core for 200 pieces.
    time_limit : float [s]
        Hard limit; the best plan so far is returned.
    progress : callable (done [-], note [-]) or None
        Told how far the work is; returning False stops with the best plan so far.

    Returns
    -------
    CutPlan
        Places, cuts and off-cuts [m], cost [-], bound [-] and gap [-].

    Raises
    ------
    InputError
        A part larger than any sheet, a size out of range, too many parts, no sheet of the
        material, or too little stock.
    """
    saw = saw or Saw()
    parts = check_parts(parts)
    sheets = check_sheets(sheets)
    check_saw(saw, parts)
    for s in sheets:
        if s.quantity is None and s.cost <= 0:
            raise InputError(
                f"sheets.{s.name}.cost",
                s.cost,
                "more than 0 for sheets without a limit in number",
                "Give its price, or 1 for every sheet to count sheets.",
            )
    check_match(parts, sheets)
    from pourwright.panel.search import warm_up

    warm_up()
    watch = prob.Watch(time_limit, progress)
    split = prob.groups(parts, sheets)
    done: list[SheetLayout] = []
    cost = bound = 0.0
    count = 0
    notes: list[str] = []
    how: list[str] = []
    for i, (mine, theirs) in enumerate(split):
        part_watch = watch
        if len(split) > 1:
            part_watch = _share(watch, i, len(split))
        plan = _one_group(mine, theirs, saw, seed, effort, part_watch)
        done += plan.sheets
        cost += plan.cost
        bound += plan.cost_bound
        count += plan.sheets_bound
        notes += plan.warnings
        how.append(plan.bound_from)
        watch.cancelled = watch.cancelled or part_watch.cancelled
    watch.tell(1.0, "cut plan ready")
    if watch.cancelled:
        notes.append("Stopped early on request: this is the best plan found so far.")
    number: dict[str, int] = {}
    numbered = []
    for one in sorted(done, key=lambda q: (not q.sheet.offcut, q.sheet.name, -q.used_area)):
        number[one.sheet.name] = number.get(one.sheet.name, 0) + 1
        numbered.append(replace(one, copy=number[one.sheet.name]))
    return CutPlan(
        sheets=tuple(numbered),
        saw=saw,
        cost=cost,
        cost_bound=cost if cost - bound <= 1e-6 * cost else bound,
        sheets_bound=count,
        bound_from=", ".join(dict.fromkeys(how)),
        method=saw.method,
        warnings=tuple(dict.fromkeys(notes)),
    )


def _share(watch: prob.Watch, i: int, n: int) -> prob.Watch:
    def tell(done: float, note: str) -> object:
        watch.tell((i + done) / n, note)
        return not watch.cancelled

    return prob.Watch(max(0.05, watch.left / (n - i)), tell)


def _one_group(
    parts: list[Part], sheets: list[Sheet], saw: Saw, seed: int, effort: float, watch: prob.Watch
) -> CutPlan:
    from pourwright.panel.solve import solve

    if saw.method == "router" and any(p.outline for p in parts):
        from pourwright.panel.shapes import nest_shapes

        return nest_shapes(parts, sheets, saw, seed, effort, watch)
    problem = prob.build(parts, sheets, saw.kerf)
    found = solve(problem, saw.method, seed, effort, watch)
    out = []
    for sheet, row in prob.places(problem, found.layout):
        if saw.method == "router":
            out.append(SheetLayout(sheet, 1, tuple(row)))
            continue
        order = saw_order(sheet, row, saw.kerf, KEEP)
        assert order is not None, "a guillotine layout must have a cut order"
        out.append(SheetLayout(sheet, 1, tuple(row), *order))
    return CutPlan(
        sheets=tuple(out),
        saw=saw,
        cost=problem.cost_of(found.layout),
        cost_bound=found.cost_bound,
        sheets_bound=found.sheets_bound,
        bound_from=found.bound_from,
        method=saw.method,
        warnings=tuple(found.notes),
    )
