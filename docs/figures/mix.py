"""Draws docs/pictures/mix-batches.svg and mix-short.png for the galley's colour coat."""

from __future__ import annotations

import tomllib
from pathlib import Path

from pourwright.calc import Draws
from pourwright.drawing import STYLE, Drawing
from pourwright.mix import (
    CoatPlan,
    Crew,
    Limits,
    Loss,
    Pigment,
    Shade,
    Uncertain,
    coat_piece,
    over_mix,
    plan_coat,
    resin_ratio,
    sample_need,
)
from pourwright.survey import SurfaceSpec, build_survey

ROOT = Path(__file__).parents[2]
U = Uncertain.of
SHADES = (
    Shade("sea", 0.55, "field", (Pigment("sea paste", 0.03, 0.06),)),
    Shade("slate", 0.37, "field", (Pigment("slate paste", 0.03, 0.06),)),
    Shade("copper", 0.08, "vein", (Pigment("copper paste", 0.04, 0.06),)),
)
FILLS = {"sea": STYLE.sea, "slate": STYLE.slate, "copper": STYLE.copper}
LOSS = Loss(Uncertain(0.05, 0.02, 0.10), U(4e-6, 0.5), U(10e-6, 0.5))


def galley() -> tuple[CoatPlan, list]:
    """The colour coat of the galley: pot life 25 min, largest cup 600 g, two people."""
    raw = tomllib.loads((ROOT / "examples/parts/galley_surfaces.toml").read_text())
    survey = build_survey([SurfaceSpec.model_validate(s) for s in raw["surfaces"]])
    pieces = [
        coat_piece(
            s.name,
            s.areas,
            U(0.955e-3, 0.10),
            U(0.3e-3, 0.30),
            U(60e-6, 0.40),
            s.count,
            s.purpose == "board",
        )
        for s in survey.surfaces
    ]
    ratio = resin_ratio(1130, 970, by_volume=(2, 1))
    plan = plan_coat(
        "colour", pieces, SHADES, ratio, Limits(1500, 0.6), Crew(2), LOSS, draws=Draws(1, 8000)
    )
    return plan, pieces


def batches(plan: CoatPlan) -> Drawing:
    """Batches against time: mixing, pouring, spreading; each cup a bar from B to pour-by."""
    rows = [b for b in plan.batches.batches if b.kind != "board"]
    end = max(b.spread_end for b in rows) / 60 + 3
    cups = sum(len(b.cups) for b in rows)
    page = Drawing(200, 22 + 5.0 * cups + 6 * len(rows), "Batches", "Cups against time in minutes")

    def x(seconds: float) -> float:
        return 52 + seconds / 60 * 140 / end

    y = 14.0
    for minute in range(0, int(end) + 1, 10):
        page.line(
            x(minute * 60), 11, x(minute * 60), page.height - 6, stroke=STYLE.rule, stroke_width=0.2
        )
        page.text(x(minute * 60), 9, f"{minute} min", size=STYLE.small, anchor="middle")
    for b in rows:
        name = {"field": "batch", "vein": "veins"}[b.kind]
        page.text(4, y + 4.2, f"{name} {b.name}", size=STYLE.text, font_family=STYLE.font)
        page.text(
            4,
            y + 8.2,
            ", ".join(dict.fromkeys(s.surface for s in b.stretches)),
            size=2.2,
            fill=STYLE.ink_soft,
        )
        high = 5.0 * len(b.cups)
        width = x(b.spread_end) - x(b.pour_start)
        page.rect(
            x(b.pour_start), y, width, high, fill=STYLE.copper_soft, stroke="none", fill_opacity=0.8
        )
        for c in b.cups:
            until = min(c.pour_by, end * 60)
            page.line(
                x(c.mix_at),
                y + 2.5,
                x(until),
                y + 2.5,
                stroke=FILLS[c.shade],
                stroke_width=0.3,
                stroke_dasharray="0.8 0.8",
            )
            page.rect(
                x(c.mix_at),
                y + 0.7,
                x(b.pour_end) - x(c.mix_at),
                3.6,
                fill=FILLS[c.shade],
                stroke="none",
            )
            page.text(
                x(c.mix_at) - 1,
                y + 3.3,
                f"{c.id} {c.shade} {c.volume * 1e6:.0f} mL",
                size=2.2,
                anchor="end",
            )
            y += 5.0
        y += 6.0
    return page


def main() -> None:
    """Write both pictures and print the figures that docs/mix.md quotes."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    plan, pieces = galley()
    out = ROOT / "docs/pictures"
    (out / "mix-batches.svg").write_text(batches(plan).svg(), encoding="utf-8")
    cups = len(plan.batches.cups)
    need = sample_need("colour", pieces, LOSS, cups, Draws(1, 8000)) * 1e3
    figure, axis = plt.subplots(figsize=(6.4, 2.7), facecolor=STYLE.paper)
    axis.set_facecolor(STYLE.paper)
    axis.hist(need, bins=60, color=STYLE.sea_soft, edgecolor=STYLE.paper, linewidth=0.4)
    nominal = plan.volume.mixed * 1e3
    top = axis.get_ylim()[1]
    for factor, words in (
        (1.0, f"no over-mix\n{plan.over.nominal_chance:.0%} run short"),
        (plan.factor, f"{plan.over.chance:.0%} run short"),
    ):
        axis.axvline(nominal * factor, color=STYLE.copper, lw=1.4)
        axis.text(nominal * factor + 0.01, top * 0.98, words, va="top", fontsize=8, color=STYLE.ink)
    axis.set_xlabel("what the coat needs, litres mixed")
    axis.set_yticks([])
    for side in ("left", "right", "top"):
        axis.spines[side].set_visible(False)
    figure.tight_layout()
    figure.savefig(out / "mix-short.png", dpi=130)
    v = plan.volume
    print(f"face {v.face * 1e6:.0f} edge {v.edge * 1e6:.0f} run-off {v.run_off * 1e6:.0f}", end=" ")
    print(f"loss {(v.loss_fixed + v.loss_share) * 1e6:.0f} mixed {v.mixed * 1e6:.0f} mL")
    print(f"range {v.range}, over-mix {plan.over}")
    print(f"cups {cups}, batches {[b.name for b in plan.batches.batches]}")
    for risk in (0.2, 0.1, 0.05, 0.02, 0.01):
        got = over_mix(nominal, need, risk)
        print(f"risk {risk:.0%}: x{got.factor:.3f} ({got.low:.3f} to {got.high:.3f})")


if __name__ == "__main__":
    main()
