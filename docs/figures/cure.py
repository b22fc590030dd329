"""Pictures of docs/cure.md. Run: .venv/bin/python docs/figures/cure.py"""

from __future__ import annotations

from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np

from pourwright.calc.sampling import Draws
from pourwright.catalogue import Catalogue
from pourwright.cure import AirHistory, CoreLayer, Resin, cup_history, film_history, windows
from pourwright.cure.fit import fit_sheet
from pourwright.cure.forward import predict
from pourwright.cure.sheet import SheetLine

PAPER, INK, COPPER, SEA, SLATE = "#f6f1e7", "#26221d", "#b3652b", "#3f6f68", "#4a5560"
SOFT = "#6b6256"
OUT = Path(__file__).resolve().parents[1] / "pictures"
COATING = Catalogue().get("resin-coating-1to1")
ART = Catalogue().get("resin-colour-1to1-uv")


def canvas(width: float, height: float, columns: int = 1):  # type: ignore[no-untyped-def]
    plt.rcParams.update(
        {"font.family": "DejaVu Sans", "font.size": 9, "text.color": INK, "axes.labelcolor": INK,
         "axes.edgecolor": SOFT, "xtick.color": INK, "ytick.color": INK, "axes.linewidth": 0.6}
    )  # fmt: skip
    fig, ax = plt.subplots(1, columns, figsize=(width, height), facecolor=PAPER)
    for a in np.atleast_1d(ax):
        a.set_facecolor(PAPER)
        a.spines[["top", "right"]].set_visible(False)
    return fig, ax


def save(fig, name: str) -> None:  # type: ignore[no-untyped-def]
    fig.tight_layout()
    fig.savefig(OUT / name, dpi=110, facecolor=PAPER)
    plt.close(fig)


def films() -> None:
    """Flow left and conversion of a 1 mm film at three temperatures."""
    r = Resin.from_material(COATING, Draws(1, 400))
    fig, (left, right) = canvas(9.0, 3.6, 2)
    grid = np.linspace(0.0, 30 * 3600.0, 361)
    for temp, colour in ((15, SLATE), (20, SEA), (28, COPPER)):
        film = film_history(
            r, AirHistory.constant(temp + 273.15), 0.0, 0.001, None, grid[-1], times_s=grid
        )
        h = grid / 3600.0
        for ax, rows in ((left, film.flow_left), (right, film.conversion)):
            low, mid, high = np.quantile(rows, [0.05, 0.5, 0.95], axis=0)
            ax.fill_between(h, low, high, color=colour, alpha=0.16, linewidth=0)
            ax.plot(h, mid, color=colour, linewidth=1.8, label=f"{temp} °C")
    left.set_xlim(0, 12)
    left.set_ylim(0, None)
    left.set_xlabel("hours after the pour")
    left.set_ylabel("flow left, 1/Pa")
    right.set_xlabel("hours after the pour")
    right.set_ylabel("conversion")
    right.set_ylim(0, 1)
    right.axhspan(0.60, 0.70, color=SOFT, alpha=0.15, linewidth=0)
    right.text(29.7, 0.615, "tack-free", ha="right", color=SOFT)
    right.legend(frameon=False, loc="lower right", bbox_to_anchor=(1.0, 0.08))
    left.set_title("Flow left falls to nothing at gel", loc="left", fontsize=10)
    right.set_title("Cure goes on, then waits for warmth", loc="left", fontsize=10)
    save(fig, "cure-films.png")


def cups() -> None:
    """Cups of four sizes and the film, middle resin, 20 degC."""
    r = Resin.from_material(COATING)
    air = AirHistory.constant(293.15)
    grid = np.linspace(0.0, 4.0 * 3600.0, 961)
    fig, ax = canvas(7.0, 3.8)
    for mass, colour in ((0.05, SLATE), (0.2, SEA), (0.7, COPPER), (2.0, "#8f2f1f")):
        cup = cup_history(r, air, 0.0, mass, times_s=grid)
        ax.plot(grid / 60.0, cup.temperature[0] - 273.15, color=colour, linewidth=1.8)
        at = int(np.argmax(cup.temperature[0]))
        ax.annotate(
            f"{mass * 1000:.0f} g",
            (grid[at] / 60.0, cup.temperature[0][at] - 273.15),
            textcoords="offset points", xytext=(4, 4), color=colour,
        )  # fmt: skip
    film = film_history(
        r, air, 0.0, 0.001, (CoreLayer(0.018, 0.17, 750, 1700),), grid[-1], times_s=grid
    )
    ax.plot(grid / 60.0, film.temperature[0] - 273.15, color=INK, linewidth=1.2, linestyle="--")
    ax.text(4, 12.5, "1 mm film on board")
    ax.set_xlim(0, 240)
    ax.set_ylim(8, None)
    ax.set_xlabel("minutes after mixing")
    ax.set_ylabel("resin, °C")
    ax.set_title(
        "The same resin, forgotten in the cup and poured as a film, at 20 °C",
        loc="left",
        fontsize=10,
    )
    save(fig, "cure-cups.png")


def galley() -> None:
    """Windows of the galley's colour coat on a March day."""
    r = Resin.from_material(ART, Draws(1, 400))
    start = 10 * 3600.0
    film = film_history(
        r, AirHistory.day_and_night(286.15, 292.15), start, 0.000955,
        (CoreLayer(0.018, 0.17, 750, 1700),),
    )  # fmt: skip
    found = windows(film)
    keys = ["level", "vein-12mm", "vein-4mm", "edges", "hands_off", "recoat", "sand_first", "handle",
            "light_use", "full_service"]  # fmt: skip
    fig, ax = canvas(8.6, 4.2)
    for y, key in enumerate(reversed(keys)):
        w = found[key]
        a, b = w.start(), w.end()
        assert a is not None
        hour = [(v - start) / 3600.0 for v in (a.p05, a.p50, a.p95)]
        last = 220.0 if b is None else (b.p50 - start) / 3600.0
        colour = COPPER if key.startswith("vein") else (SEA if y > 3 else SLATE)
        ax.barh(y, max(last - max(hour[1], 0.03), 0.02), left=max(hour[1], 0.03), height=0.5,
                color=colour, alpha=0.75)  # fmt: skip
        if hour[2] > 0.05:
            ax.plot([max(hour[0], 0.03), hour[2]], [y + 0.34] * 2, color=INK, linewidth=1.0)
        if b is not None:
            ax.plot([(b.p05 - start) / 3600.0, (b.p95 - start) / 3600.0], [y - 0.34] * 2, color=SOFT,
                    linewidth=1.0)  # fmt: skip
    ax.set_yticks(range(len(keys)), [found[k].label for k in reversed(keys)])
    ax.set_xscale("log")
    ax.set_xlim(0.1, 220)
    ticks = [0.25, 0.5, 1, 2, 4, 8, 16, 24, 48, 96, 168]
    ax.set_xticks(ticks, ["15 min", "30", "1 h", "2", "4", "8", "16", "1 d", "2 d", "4 d", "7 d"])
    ax.minorticks_off()
    ax.set_title(
        "Galley colour coat, poured at 10:00, 13 °C at night to 19 °C by day\n"
        "bars: middle; lines: 5 to 95 % of opening (above) and closing (below)",
        loc="left", fontsize=9.5,
    )  # fmt: skip
    save(fig, "cure-galley.png")


def sheet() -> None:
    """What each figure of a data sheet does to a cold film."""
    cup_25 = SheetLine("cup_gel", 45 * 60.0, 298.15, 0.1)
    tack = SheetLine("tack_free", 6 * 3600.0, 298.15)
    cup_15 = SheetLine("cup_gel", 110 * 60.0, 288.15, 0.1)
    tack_15 = SheetLine("tack_free", 14 * 3600.0, 288.15)
    target = [SheetLine("recoat_open", 3e4, 287.15)]
    draws = Draws(2, 400)
    rows = [("class alone", predict(Resin.from_material(COATING, draws), target)[:, 0])]
    for name, lines in (
        ("+ 100 g gels in 45 min, 25 °C", [cup_25]),
        ("+ tack-free 6 h, 25 °C", [cup_25, tack]),
        ("+ 100 g gels in 110 min, 15 °C", [cup_25, tack, cup_15]),
        ("+ tack-free 14 h, 15 °C", [cup_25, tack, cup_15, tack_15]),
    ):
        rows.append((name, fit_sheet(lines, COATING).expect(target[0], draws)))
    fig, ax = canvas(7.6, 3.0)
    for y, (_name, values) in enumerate(reversed(rows)):
        low, mid, high = np.quantile(values, [0.05, 0.5, 0.95]) / 3600.0
        ax.barh(y, high - low, left=low, height=0.5, color=SEA, alpha=0.55)
        ax.plot([mid, mid], [y - 0.3, y + 0.3], color=COPPER, linewidth=2.2)
        ax.text(high + 0.2, y, f"{low:.1f} to {high:.1f} h", va="center", color=SOFT)
    ax.set_yticks(range(len(rows)), [n for n, _ in reversed(rows)])
    ax.set_xlim(0, 18)
    ax.set_xlabel("hours until the next coat may go on, 14 °C")
    ax.set_title(
        "What each figure of a data sheet does to the answer (5, 50, 95 %)", loc="left", fontsize=10
    )
    save(fig, "cure-sheet.png")


def main() -> None:
    OUT.mkdir(exist_ok=True)
    films()
    cups()
    galley()
    sheet()


if __name__ == "__main__":
    main()
