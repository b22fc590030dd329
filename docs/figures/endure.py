"""Pictures for docs/endure.md and docs/air.md.

Run ``python docs/figures/endure.py`` (needs matplotlib); writes docs/pictures/endure-* and
docs/pictures/air-*.
"""

from __future__ import annotations

from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np

from pourwright.air import blush_risk, dew_point, surface_margin
from pourwright.air.blush import blush_band
from pourwright.air.vapour import drying_concentration
from pourwright.calc import Draws, run, spread_of
from pourwright.calc.base import Spread
from pourwright.catalogue import get
from pourwright.endure import Panel, Ply, Service, Shape, layer_of, panel_bow
from pourwright.endure.bow import bilayer_curvature, stoney_curvature
from pourwright.endure.heat import hot_pan
from pourwright.endure.moisture import moisture_bow, still_air_metres
from pourwright.endure.picture import bow_picture, weight_picture

OUT = Path(__file__).resolve().parents[1] / "pictures"
PAPER, INK, COPPER, GREEN, GREY = "#f6f1e7", "#26221d", "#b3652b", "#5f7f72", "#b9b3a5"
plt.rcParams.update(
    {
        "figure.facecolor": PAPER,
        "axes.facecolor": PAPER,
        "savefig.facecolor": PAPER,
        "text.color": INK,
        "axes.labelcolor": INK,
        "axes.edgecolor": GREY,
        "xtick.color": INK,
        "ytick.color": INK,
        "font.size": 10,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "legend.frameon": False,
    }
)


def save(fig: plt.Figure, name: str) -> None:
    """Write a figure into docs/pictures."""
    OUT.mkdir(exist_ok=True)
    fig.tight_layout()
    fig.savefig(OUT / name, dpi=110)
    plt.close(fig)


def bow_of_thickness() -> None:
    """Bow over 1.2 m against film thickness on 18 mm MDF, with its range; thin-film error."""
    film, mdf = get("cured-coating"), get("mdf")
    mm = np.linspace(0.3, 6.0, 25)
    draws = Draws(1, 400)
    spreads = []
    for t in mm:
        rows = [layer_of(film, t / 1000, "coat", draws), layer_of(mdf, 0.018, "core", draws)]
        spreads.append(spread_of(1000 * panel_bow(rows, 1.2).bow))
    fig, (a, b) = plt.subplots(1, 2, figsize=(9.2, 3.6), width_ratios=(1.5, 1))
    a.fill_between(mm, [s.p05 for s in spreads], [s.p95 for s in spreads], color=COPPER, alpha=0.2)
    a.plot(mm, [s.p50 for s in spreads], color=COPPER, lw=2)
    a.axhline(2.4, color=INK, lw=0.8, ls="--")
    a.text(6.0, 2.6, "length / 500", ha="right", fontsize=8.5)
    a.text(3.3, 9.6, "likely range without a coupon", fontsize=8.5, rotation=16)
    a.set(xlabel="film on one face [mm]", ylabel="bow over 1.2 m [mm]", ylim=(0, 30), xlim=(0, 6))
    a.set_title("18 mm MDF, coated on one face", fontsize=10, loc="left")
    ratio = stoney_curvature(mm, 18.0, 1.0, 1.0) / bilayer_curvature(mm, 18.0, 1.0, 1.0)
    b.plot(mm, 100 * (ratio - 1), color=GREEN, lw=2)
    b.set(xlabel="film [mm]", ylabel="too high by [%]", xlim=(0, 6), ylim=(0, None))
    b.set_title("error of the thin-film formula", fontsize=10, loc="left")
    save(fig, "endure-bow.png")


def moisture_over_time() -> None:
    """Bow over half a year after the air got damper, for different backs."""
    film, mdf = get("cured-coating"), get("mdf")
    rows = [layer_of(film, 0.003, "coat"), layer_of(mdf, 0.018)]
    fig, a = plt.subplots(figsize=(7.2, 3.8))
    share = mdf["emc_share"]
    for back, label, style in (
        (0.0, "bare back", "-"),
        (float(still_air_metres(0.0001, 10000)), "0.1 mm of resin on the back", "--"),
        (float(still_air_metres(0.0005, 10000)), "0.5 mm", "-."),
        (30.0, "as tight as the face (3 mm)", ":"),
    ):
        state = moisture_bow(
            rows, 1.2, 0.25, 0.16 * share, mdf["vapour_mu"], 2339.0, 30.0, back,
            duration=180 * 86400.0,
        )  # fmt: skip
        a.plot(state.time / 86400, 1000 * state.bow, color=COPPER if back == 0 else INK,
               ls=style, lw=1.8, label=label)  # fmt: skip
    a.set(xscale="log", xlabel="days after the air went from 45 to 70 %", ylabel="bow over 1.2 m [mm]",
          ylim=(0, None))  # fmt: skip
    a.set_xticks([0.1, 1, 10, 100], ["0.1", "1", "10", "100"])
    a.legend(fontsize=8.5)
    a.set_title("3 mm of resin on one face of 18 mm MDF: moisture only", fontsize=10, loc="left")
    save(fig, "endure-moisture.png")


def pan() -> None:
    """Film and joint under a hot pan, bare and on cork."""
    film, mdf = get("cured-coating"), get("mdf")
    rows = [layer_of(film, 0.003, "coat"), layer_of(mdf, 0.018)]
    fig, a = plt.subplots(figsize=(7.2, 3.8))
    for trivet, style in ((0.0, "-"), (0.012, "--")):
        state = hot_pan(rows, "stainless", 453.15, duration=600.0, contact=1e-4, trivet=trivet)
        end = " on 12 mm cork" if trivet else ""
        a.plot(state.time, state.surface - 273.15, color=COPPER, ls=style, lw=2,
               label=f"surface{end}")  # fmt: skip
        a.plot(state.time, state.joint - 273.15, color=INK, ls=style, lw=1.3,
               label=f"joint to the board{end}")  # fmt: skip
    soft = get("cured-coating").prop("tg_K")
    a.axhspan(soft.low - 273.15, soft.high - 273.15, color=GREEN, alpha=0.25)
    a.text(0.55, 61.5, "film softens (no post-cure)", fontsize=8.5)
    a.set(xscale="log", xlabel="seconds after it is set down", ylabel="temperature [degC]",
          ylim=(15, 185))  # fmt: skip
    a.set_xticks([1, 10, 60, 600], ["1", "10", "60", "600"])
    a.legend(fontsize=8.5, loc="center left", bbox_to_anchor=(0.02, 0.62))
    a.set_title("stainless pan, 180 degC, 5 mm base", fontsize=10, loc="left")
    save(fig, "endure-pan.png")


def margin() -> None:
    """The galley's evening: surface and dew point, and the blush band."""
    hours = np.arange(0, 19)
    air = 16.0 + 3.0 * np.cos(2 * np.pi * (hours - 1.0) / 24)
    humidity = np.interp(hours, [0, 6, 14, 18], [0.55, 0.68, 0.84, 0.78])
    surface = air - 0.8 - 0.4 * np.sin(2 * np.pi * hours / 24)
    state = surface_margin(hours * 3600.0, air + 273.15, humidity, surface + 273.15)
    fig, (a, b) = plt.subplots(1, 2, figsize=(9.2, 3.6), width_ratios=(1.5, 1))
    t = state.time / 3600
    a.plot(t, state.surface - 273.15, color=COPPER, lw=2, label="board")
    a.plot(t, state.air - 273.15, color=GREY, lw=1.5, label="air")
    a.plot(t, state.dew - 273.15, color=GREEN, lw=2, label="dew point")
    a.fill_between(t, state.dew - 273.15, state.dew - 270.15, color=GREEN, alpha=0.2)
    a.text(0.3, 10.3, "3 K above the dew point", fontsize=8.5)
    w = state.worst_time / 3600
    a.plot([w, w], [np.interp(w, t, state.dew) - 273.15, np.interp(w, t, state.surface) - 273.15],
           color=INK, lw=1)  # fmt: skip
    a.annotate(f"worst: {state.worst:.1f} K", (w, np.interp(w, t, state.surface) - 273.15),
               xytext=(w - 5.5, 18.2), fontsize=8.5, arrowprops={"arrowstyle": "-", "lw": 0.6})  # fmt: skip
    a.set(xlabel="hours after pouring", ylabel="degC", xlim=(0, 18), ylim=(7, 20))
    a.legend(fontsize=8.5, loc="lower left", ncols=3)
    rh = np.linspace(0.2, 1.0, 200)
    low, mid, high = blush_band(rh)
    b.fill_between(100 * rh, low, high, color=COPPER, alpha=0.2)
    b.plot(100 * rh, mid, color=COPPER, lw=2)
    b.plot([40, 80], [0, 1], "o", color=INK, ms=5)
    b.text(78.5, 0.97, "measured", ha="right", fontsize=8.5)
    risk = blush_risk(state.surface_humidity, state.surface, state.time)
    b.set(
        xlabel="humidity at the surface [%]",
        ylabel="blush score",
        xlim=(20, 100),
        ylim=(-0.02, 1.05),
    )
    b.set_title(f"this evening: {risk.score:.2f}, {risk.word}", fontsize=10, loc="left")
    assert float(dew_point(293.15, 0.5)) < 293.15
    save(fig, "air-margin.png")


def vapour() -> None:
    """Vapour of a solvent topcoat in a 12 m3 cabin for different fans."""
    minutes = np.linspace(0, 240, 481)
    fig, a = plt.subplots(figsize=(7.2, 3.8))
    for n, style in ((0.5, "-"), (2, "--"), (6, "-."), (20, ":")):
        c = drying_concentration(minutes * 60, 0.12, 3 / 3600, n / 3600, 12.0)
        a.plot(minutes / 60, 1000 * c, color=COPPER if n == 0.5 else INK, ls=style, lw=1.8,
               label=f"{n:g} air changes an hour")  # fmt: skip
    a.axhline(8.07, color=GREEN, lw=1.4)
    a.text(4, 8.25, "10 % of the flammable limit", ha="right", fontsize=8.5)
    a.axhline(0.71, color=GREEN, lw=1.4)
    a.text(4, 0.85, "eight-hour exposure limit", ha="right", fontsize=8.5)
    a.set(xlabel="hours after laying 120 g of solvent (n-butyl acetate)", ylabel="g/m3, well mixed",
          xlim=(0, 4), ylim=(0, 10.5))  # fmt: skip
    a.legend(fontsize=8.5, loc="center right")
    a.set_title("cabin of 12 m3; near the work it is 3 to 5 times richer", fontsize=10, loc="left")
    save(fig, "air-vapour.png")


def drawings() -> None:
    """The bow and weight pictures as the papers show them."""
    plies = (
        Ply(get("cured-coating"), 0.0025, "coat", 0.1),
        Ply(get("cured-primer"), 0.0003, "coat", 0.2),
        Ply(get("mdf-moisture"), 0.018, "core"),
    )
    panel = Panel(plies, Shape("drop-leaf table", 0.9, 0.6), Service(), Draws(1, 400))
    s = spread_of(panel_bow(panel.layers, 0.9).bow)
    from pourwright.endure.checks_shape import bow_remedies

    picture = bow_picture(
        panel.middle, 0.9, Spread(p05=s.p05, p50=s.p50, p95=s.p95), 0.9 / 500,
        "Drop-leaf table: bow after cure", bow_remedies(panel)[0],
    )  # fmt: skip
    (OUT / "endure-bow-panel.svg").write_text(picture.svg(), encoding="utf-8")
    value = run("endure.weight", {"length_mm": 2100, "width_mm": 600, "limit_kg": 16}).value
    rows = [(r.name, r.mass_kg) for r in value.comparison]
    (OUT / "endure-weights.svg").write_text(
        weight_picture(rows, "this build-up", 16.0).svg(), encoding="utf-8"
    )


if __name__ == "__main__":
    bow_of_thickness()
    moisture_over_time()
    pan()
    margin()
    vapour()
    drawings()
