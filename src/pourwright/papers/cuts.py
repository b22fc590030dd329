"""The cut plan: sheets as pictures, parts as a list."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from pourwright.panel.layout import SheetLayout
from pourwright.panel.picture import named, sheet_picture
from pourwright.papers.frame import figure, frame, paper_width
from pourwright.papers.plain import plain
from pourwright.papers.wording import FT_M, Wording
from pourwright.words import Own

DUST = (
    "Board dust harms the lungs: extract at the tool and wear a fitted P2 or P3 mask. Guard, "
    "riving knife and push stick as the saw's maker asks; support large sheets at four points."
)


def _sized(w: Wording, text: str) -> str:
    """A text in which names of sheets stand, their sizes as in the job."""
    for s in w.work.core.layout.sheets:
        text = named(text, s.sheet, w.units)
    return text


def role_of(w: Wording, role: str) -> str:
    """What a part is for [-], its `role` as the cut plan has it, in the words of `w` [-]."""
    return w.say("sample board") if role == "board" else w.text(role)


def sheet_name(w: Wording, key: str) -> str:
    """The name of the sheet with the catalogue's `key` [-] as `w` says it, its size as in the job."""
    cut = w.work.plan.cut
    name = key if cut is None else cut.sheet_names.get(key, key)
    return _sized(w, w.text(name))


def _called(s: SheetLayout, board: str) -> SheetLayout:
    """A sheet with the name of its board [-] in place of the catalogue's id."""
    return replace(s, sheet=replace(s.sheet, material=board)) if s.sheet.material else s


def cuts_data(w: Wording, printed: date) -> dict[str, Any]:
    """Data of the cut plan of `w` [-], `printed` [-] that day."""
    p = frame(w, "cuts", w.say("Cut plan"), printed, "", (w.text(DUST),))
    cut = w.plan.cut
    if cut is None:
        p["sub"] = w.say("This job has no cut plan.")
        p.update(facts=[], sheets=[], parts=[], joints=[], off_cuts=[], notes=[])
        return p
    u, layout = w.units, w.work.core.layout
    bought = [f"{n} {w.times} {sheet_name(w, k)}" for k, n in cut.sheets.items()]
    bought += [w.say("{n} x {sheet} (yours)", n=n, sheet=Own(k)) for k, n in cut.own_sheets.items()]
    best = (
        w.say("proven: no cheaper plan exists")
        if cut.proven
        else w.say(
            "at most {gap} % dearer than the best possible", gap=Own(w.fixed(cut.gap_percent))
        )
    )
    job = w.work.ctx.job
    core = w.work.ctx.catalogue.get(job.core.material)
    metres = f"{w.fixed(cut.cut_m, 1)} m" if u == "metric" else f"{cut.cut_m * FT_M:.0f} ft"
    p["facts"] = [
        (w.say("Board"), f"{w.text(core.name)}, {w.length(job.core.thickness * 1e3)}"),
        (
            w.say("Sheets"),
            w.say("{sheets}; {used} % used; {best}", sheets=Own(", ".join(bought)),
                  used=Own(w.fixed(cut.used_percent)), best=Own(best)),
        ),
        (w.say("Cuts"), w.say("{run}; numbers in rings give the order", run=Own(metres))),
        (w.say("Weight of the parts"), w.mass(cut.mass_kg)),
    ]  # fmt: skip
    p["sheets"] = [
        figure(w, sheet_picture(_called(s, core.name), layout.saw.kerf, paper_width(w), u))
        for s in layout.sheets
    ]
    p["parts"] = [
        {
            "name": plain(q.name, 60),
            "size": w.size(q.length_mm, q.width_mm),
            "thick": w.length(q.thickness_mm),
            "count": str(q.quantity),
            "role": plain(f"{role_of(w, q.role)}: {q.note}" if q.note else role_of(w, q.role), 90),
            "mass": "" if q.mass_kg is None else w.mass(q.mass_kg),
        }
        for q in cut.pieces
    ]
    p["joints"] = [plain(_sized(w, j), 300) for j in cut.joints]
    p["off_cuts"] = [plain(_sized(w, n), 300) for n in cut.off_cuts]
    p["notes"] = [plain(_sized(w, n), 300) for n in cut.notes]
    return p
