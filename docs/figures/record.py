"""The picture of docs/record.md: times before and after the cafe bar's recorded day."""

from __future__ import annotations

from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt

from pourwright.record import done_job, lessons_of

ROOT = Path(__file__).resolve().parents[2]
PAPER, INK, COPPER, QUIET = "#f6f1e7", "#26221d", "#b3652b", "#8d9a8b"


def main() -> None:
    """Draw it."""
    examples = ROOT / "examples"
    done = done_job(examples / "cafe_bar.toml", examples / "records" / "cafe_bar.record.json")
    lessons = lessons_of([done])
    plt.rcParams.update({"font.size": 10, "text.color": INK, "axes.labelcolor": INK,
                         "xtick.color": INK, "ytick.color": INK})  # fmt: skip
    fig, axes = plt.subplots(1, 2, figsize=(9.6, 3.3), facecolor=PAPER, sharey=True)
    for ax, r in zip(axes, lessons.resins, strict=True):
        ax.set_facecolor(PAPER)
        for k, f in enumerate(r.figures):
            for y, s, colour in ((k - 0.16, f.before, QUIET), (k + 0.16, f.after, COPPER)):
                ax.plot([s.p05 / 3600, s.p95 / 3600], [y, y], color=colour, lw=5,
                        solid_capstyle="round")  # fmt: skip
                ax.plot([s.p50 / 3600], [y], "o", color=INK, ms=4)
        ax.set_yticks(range(len(r.figures)), [f.title for f in r.figures])
        ax.set_xscale("log")
        ticks = [1, 2, 4, 8, 16, 32]
        ax.set_xticks(ticks, [str(t) for t in ticks])
        ax.minorticks_off()
        ax.set_xlim(0.6, 40)
        ax.set_xlabel(f"hours after mixing, {r.degC:.0f} °C")
        ax.set_title(r.name, fontsize=10, color=INK, loc="left")
        for side in ("top", "right", "left"):
            ax.spines[side].set_visible(False)
        ax.tick_params(length=0)
        ax.grid(axis="x", color="#ddd5c6", lw=0.7)
        ax.set_axisbelow(True)
    axes[0].invert_yaxis()
    axes[1].plot([], [], color=QUIET, lw=5, label="before: the class")
    axes[1].plot([], [], color=COPPER, lw=5, label="after one recorded day")
    axes[1].legend(frameon=False, fontsize=9, loc="lower left", bbox_to_anchor=(-0.02, -0.02))
    fig.tight_layout()
    fig.savefig(ROOT / "docs" / "pictures" / "record-learning.png", dpi=130, facecolor=PAPER)


if __name__ == "__main__":
    main()
