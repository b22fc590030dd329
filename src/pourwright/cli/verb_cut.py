"""``pourwright cut JOB -o DIR``: core parts on sheets, drawn and for the saw or router."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from pourwright.cli import files, show
from pourwright.errors import InputError


def arguments(p: argparse.ArgumentParser) -> None:
    """Add the verb's arguments [-] to its parser."""
    p.add_argument("job", help="job file (TOML)")
    p.add_argument("-o", "--out", help="folder for drawings (SVG), cut-plan.dxf and cut-plan.json")


def run(args: argparse.Namespace) -> int:
    """Run the verb [-]; returns the exit code."""
    from pourwright.panel.dxf_out import plan_dxf, plan_svg
    from pourwright.panel.picture import plan_picture
    from pourwright.plan import load_job
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
    show.table(
        "Core parts",
        ["part", "length mm", "width mm", "thick mm", "pieces", "for"],
        [
            [
                p.name,
                f"{p.length_mm:.0f}",
                f"{p.width_mm:.0f}",
                f"{p.thickness_mm:.0f}",
                str(p.quantity),
                p.role,
            ]
            for p in s.pieces
        ],
    )
    sheets = ", ".join(f"{n} x {s.sheet_names[k]}" for k, n in s.sheets.items())
    proof = (
        "no cheaper plan exists" if s.proven else f"at most {s.gap_percent:.1f} % above the best"
    )
    cost = f", about {s.cost:.2f} {s.currency}" if s.cost is not None else ""
    print(f"Sheets: {sheets}{cost} ({proof}); {s.used_percent:.0f} % used; {s.cut_m:.1f} m of cuts")
    for line in (*s.joints, *s.off_cuts, *s.notes):
        print(f"  {line}")
    print("Caution: guards on, extraction at the tool, dust mask; lift sheets with two.")
    if written:
        print("Written: " + ", ".join(str(p) for p in written))
    return 0
