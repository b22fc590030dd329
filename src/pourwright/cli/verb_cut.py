"""``pourwright cut JOB -o DIR``: core parts on sheets, drawn and for the saw or router."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from pourwright.cli import files, show
from pourwright.errors import InputError
from pourwright.words import Amount, Listed, Own, say


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML)")
    p.add_argument("-o", "--out", help="folder for drawings (SVG), cut-plan.dxf and cut-plan.json")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.panel.dxf_out import plan_dxf, plan_svg
    from pourwright.panel.picture import plan_picture
    from pourwright.plan import load_job
    from pourwright.plan import show as words
    from pourwright.plan.context import Context
    from pourwright.plan.core import plan_core

    with show.progress("laying out the core", args.json):
        job = load_job(args.job)
        core = plan_core(Context(job, Path(args.job).parent))
    s = core.summary
    if s is None:
        raise InputError(
            "core.ready", "true", "nothing is cut for a core that is made already",
            "Take core.ready out of the job to lay its parts out.",
        )  # fmt: skip
    summary = s.model_dump(mode="json")
    written = []
    if args.out:
        out = files.folder(args.out)
        parts: list[tuple[str, str | bytes]] = [
            ("cut-plan.svg", plan_picture(core.layout, units=job.show.units).svg()),
            ("cut-plan.dxf", plan_dxf(core.layout)),
            ("cut-plan-outlines.svg", plan_svg(core.layout)),
            ("cut-plan.json", json.dumps(summary, ensure_ascii=False, indent=1) + "\n"),
        ]
        for name, data in parts:
            files.write_whole(out / name, data)
            written.append(out / name)
    if args.json:
        show.print_json(summary)
        return 0
    w = show.reader(job)

    def length(mm: float) -> str:
        return w.number(words.length(mm, job.show.units))

    show.table(
        w.text("Core parts"),
        [w.text(t) for t in ("Part", "Length", "Width", "Thick", "Pieces", "For")],
        [
            [p.name, length(p.length_mm), length(p.width_mm), length(p.thickness_mm),
             str(p.quantity), w.text("sample board" if p.role == "board" else p.role)]
            for p in s.pieces
        ],
    )  # fmt: skip
    print(w.text(say(
        "Sheets: {sheets}{cost} ({proof}); {percent:.0f} % used; {cuts:.1f} of cuts",
        sheets=Listed([say("{n} x {name}", n=n, name=s.sheet_names[k])
                       for k, n in s.sheets.items()]),
        cost="" if s.cost is None else say(
            ", about {money} {currency}", money=Own(w.number(f"{s.cost:.2f}")),
            currency=Own(s.currency),
        ),
        proof=say("no cheaper plan exists") if s.proven else say(
            "at most {gap:.1f} % above the best", gap=s.gap_percent
        ),
        percent=s.used_percent,
        cuts=Amount(s.cut_m, "m"),
    )))  # fmt: skip
    for line in (*s.joints, *s.off_cuts, *s.notes):
        print(f"  {w.text(line)}")
    print(w.text("Caution: guards on, extraction at the tool, dust mask; lift sheets with two."))
    if written:
        print(w.text(say("Written: {files}", files=Own(", ".join(str(p) for p in written)))))
    return 0
