"""Figures of docs/panel.md: the galley's sheets sawn, outlines nested, fill against pieces."""

from __future__ import annotations

from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np

from pourwright.drawing import STYLE
from pourwright.panel import CoreSpec, Limits, Part, Saw, Sheet, core_parts, cut_plan, plan_joints
from pourwright.panel.picture import plan_picture
from pourwright.survey import SurfaceSpec, build_survey

OUT = Path(__file__).parents[1] / "pictures"
EDGE = {"kind": "free", "drop": "40 mm", "round_over": "6 mm"}
FULL = Sheet("plywood sheet", 2.44, 1.22, cost=75, material="plywood", thickness=0.018, trim=0.005)


def galley():
    """Surfaces of the canal boat galley."""
    return build_survey(
        [
            SurfaceSpec.model_validate(s)
            for s in (
                {
                    "name": "leg a",
                    "size": ["2100 mm", "600 mm"],
                    "edges": {"front": EDGE},
                    "cut_outs": [
                        {
                            "name": "sink",
                            "size": ["440 mm", "380 mm"],
                            "corner_radius": "40 mm",
                            "at": ["600 mm", "310 mm"],
                        }
                    ],
                },
                {
                    "name": "leg b",
                    "size": ["1250 mm", "560 mm"],
                    "edges": {"front": EDGE},
                    "cut_outs": [
                        {"name": "hob", "size": ["560 mm", "480 mm"], "at": ["800 mm", "280 mm"]}
                    ],
                },
                {"name": "table", "size": ["900 mm", "600 mm"]},
                {"name": "board", "size": ["250 mm", "300 mm"], "purpose": "board"},
            )
        ]
    ).surfaces


def sawn() -> None:
    """The galley on plywood sheets, with drop-outs used first."""
    cores = core_parts(galley(), CoreSpec("plywood", 0.018, 500.0, edge="strips"))
    plan = cut_plan(cores.parts, [FULL, *cores.drop_outs])
    (OUT / "panel-galley.svg").write_text(plan_picture(plan).svg(), encoding="utf-8")
    print(f"galley: {plan.sheet_counts}, gap {100 * plan.gap:.1f} %, proven {plan.proven}")


def nested() -> None:
    """Outlines nested for the router."""
    ell = ((0.0, 0.0), (1.2, 0.0), (1.2, 0.3), (0.3, 0.3), (0.3, 0.9), (0.0, 0.9))
    top = ((0.0, 0.0), (1.0, 0.0), (1.0, 0.6), (0.0, 0.6))
    hole = ((0.2, 0.12), (0.8, 0.12), (0.8, 0.48), (0.2, 0.48))
    parts = [
        Part("ell", 1.2, 0.9, 2, outline=ell),
        Part("sink top", 1.0, 0.6, outline=top, holes=(hole,)),
        Part("gusset", 0.6, 0.5, 4, outline=((0.0, 0.0), (0.6, 0.0), (0.0, 0.5))),
        Part("board", 0.3, 0.25, 4),
    ]
    plan = cut_plan(parts, [Sheet("sheet", 2.44, 1.22, trim=0.006)], Saw(0.006, "router"))
    (OUT / "panel-router.svg").write_text(plan_picture(plan).svg(), encoding="utf-8")
    print(f"router: {plan.sheet_counts}, gap {100 * plan.gap:.1f} %")


def bar_joints() -> None:
    """The bar top: joints placed, with the places that the cut-outs forbid."""
    from shapely import box

    sink = box(1.55, 0.1, 2.15, 0.5)
    taps = box(3.05, 0.15, 3.45, 0.45)
    top = box(0, 0, 4.6, 0.65).difference(sink).difference(taps)
    plan = plan_joints(top, Limits(2.43, 1.21, areal_mass=22.0, lift=30.0), name="bar")
    fig, ax = plt.subplots(figsize=(7.2, 1.9), facecolor=STYLE.paper)
    ax.set_facecolor(STYLE.paper)
    for piece, mass in zip(plan.pieces, plan.masses):
        x, y = piece.exterior.xy
        ax.fill(x, y, fc="white", ec=STYLE.ink, lw=0.8)
        ax.text(
            piece.bounds[0] + 0.04, 0.56, f"{mass:.0f} kg", va="center", fontsize=9,
            color=STYLE.ink,
        )  # fmt: skip
    for hole, name in ((sink, "sink"), (taps, "tap tray")):
        x, y = hole.exterior.xy
        ax.fill(x, y, fc=STYLE.paper, ec=STYLE.ink, lw=0.8)
        ax.text(hole.centroid.x, hole.centroid.y, name, ha="center", va="center", fontsize=8)
        x0, _, x1, _ = hole.bounds
        ax.axvspan(x0 - 0.1, x1 + 0.1, ymin=0.0, ymax=0.06, color=STYLE.slate_soft)
    for at in plan.at:
        ax.plot([at, at], [-0.05, 0.70], color=STYLE.copper, lw=2)
        ax.text(at, 0.73, f"{at * 1e3:.0f} mm", ha="center", fontsize=9, color=STYLE.copper)
    ax.set(xlim=(-0.05, 4.65), ylim=(-0.09, 0.85), aspect="equal")
    ax.axis("off")
    fig.savefig(OUT / "panel-joints.png", dpi=150, bbox_inches="tight", facecolor=STYLE.paper)
    print("joints:", plan.at, [round(m, 1) for m in plan.masses])


def fill() -> None:
    """Sheets used against number of pieces, over the area bound."""
    ns = (10, 20, 40, 80, 120, 200)
    fig, ax = plt.subplots(figsize=(6.4, 3.4), facecolor=STYLE.paper)
    ax.set_facecolor(STYLE.paper)
    for method, colour, mark in (
        ("two-stage", STYLE.slate, "s"),
        ("three-stage", STYLE.copper, "o"),
        ("router", STYLE.sea, "^"),
    ):
        over = []
        for n in ns:
            row = []
            for seed in range(3):
                rng = np.random.default_rng(seed)
                parts = [
                    Part(f"p{i}", rng.integers(100, 900) * 1e-3, rng.integers(100, 600) * 1e-3)
                    for i in range(n)
                ]
                plan = cut_plan(parts, [Sheet("s", 2.44, 1.22)], Saw(3.2e-3, method))
                k = 3.2e-3
                sheet = (2.44 + k) * (1.22 + k)
                fills = sorted(
                    sum((p.length + k) * (p.width + k) for p in s.placements) / sheet
                    for s in plan.sheets
                )
                row.append((len(fills) - 1 + fills[0]) / sum(fills) - 1)
            over.append(100 * float(np.mean(row)))
        ax.plot(ns, over, color=colour, marker=mark, ms=5, lw=1.4, label=method)
        print(method, [round(o, 1) for o in over])
    ax.axhline(5, color=STYLE.ink_soft, lw=0.8, ls=":")
    ax.set(xlabel="pieces in the plan", ylabel="sheet used above the area bound, %", ylim=(0, None))
    ax.legend(frameon=False)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    fig.savefig(OUT / "panel-fill.png", dpi=140, bbox_inches="tight", facecolor=STYLE.paper)


def main() -> None:
    """Make all figures."""
    OUT.mkdir(exist_ok=True)
    sawn()
    nested()
    bar_joints()
    fill()


if __name__ == "__main__":
    main()
