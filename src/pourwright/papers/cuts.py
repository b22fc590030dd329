"""The cut plan: sheets as pictures, parts as a list."""

from __future__ import annotations

from datetime import date
from typing import Any

from pourwright.panel.picture import named, sheet_picture
from pourwright.papers.frame import figure, frame, paper_width, size, units_of
from pourwright.papers.plain import plain
from pourwright.plan import Working, show

DUST = (
    "Board dust harms the lungs: extract at the tool and wear a fitted P2 or P3 mask. Guard, "
    "riving knife and push stick as the saw's maker asks; support large sheets at four points."
)


def cuts_data(work: Working, printed: date) -> dict[str, Any]:
    """Data of the cut plan of `work` [-], `printed` [-] that day."""
    p = frame(work, "cuts", "Cut plan", printed, "", (DUST,))
    cut = work.plan.cut
    if cut is None:
        p["sub"] = "This job has no cut plan."
        p.update(facts=[], sheets=[], parts=[], joints=[], notes=[])
        return p
    u = units_of(work)
    kinds = {s.sheet.name: s.sheet for s in work.core.layout.sheets}
    names = {k: named(v, kinds[v], u) if v in kinds else v for k, v in cut.sheet_names.items()}
    bought = ", ".join(f"{n} x {names.get(k, k)}" for k, n in cut.sheets.items())
    best = "proven: no cheaper plan exists" if cut.proven else (
        f"at most {cut.gap_percent:.0f} % dearer than the best possible"
    )  # fmt: skip
    core = work.ctx.catalogue.get(work.ctx.job.core.material)
    p["facts"] = [
        ("Board", f"{core.name}, {show.length(work.ctx.job.core.thickness * 1e3, u)}"),
        ("Sheets", f"{bought}; {cut.used_percent:.0f} % used; {best}"),
        ("Cuts", f"{cut.cut_m:.1f} m; numbers in rings give the order"
         if u == "metric" else f"{cut.cut_m * 3.28084:.0f} ft; numbers in rings give the order"),
        ("Weight of the parts", show.mass(cut.mass_kg, u)),
    ]  # fmt: skip
    saw = work.core.layout.saw
    p["sheets"] = [
        figure(sheet_picture(s, saw.kerf, paper_width(work), u)) for s in work.core.layout.sheets
    ]
    p["parts"] = [
        {
            "name": plain(q.name, 60),
            "size": size(work, q.length_mm, q.width_mm),
            "thick": show.length(q.thickness_mm, u),
            "count": str(q.quantity),
            "role": plain(f"{q.role}: {q.note}" if q.note else q.role, 90),
            "mass": "" if q.mass_kg is None else show.mass(q.mass_kg, u),
        }
        for q in cut.pieces
    ]
    p["joints"] = [plain(j, 300) for j in cut.joints]
    p["notes"] = [plain(n, 300) for n in (*cut.off_cuts, *cut.notes)]
    return p
