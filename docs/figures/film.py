"""Pictures for docs/film.md: film map, edge section, edge numbers, veins.

Run ``python docs/figures/film.py`` (needs matplotlib); writes docs/pictures/film-*.png.
"""

from __future__ import annotations

from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
from matplotlib.colors import LinearSegmentedColormap

from pourwright import film
from pourwright.film import EdgeProfile, FilmGrid, FilmSolver, edge_film, tilted_bed

OUT = Path(__file__).resolve().parents[1] / "pictures"
PAPER, INK, COPPER, GREEN, GREY = "#f6f1e7", "#26221d", "#b3652b", "#7d8f7b", "#b9b3a5"
SHADES = ("#e3c4a6", "#cf9a6c", "#b3652b", "#7e431b", "#4a260e")
MAP = LinearSegmentedColormap.from_list(
    "film", ["#e9ece2", "#b9c6b3", "#c9a27a", "#b3652b", "#5a2d10"]
)
plt.rcParams.update(
    {
        "hatch.color": GREY,
        "hatch.linewidth": 0.6,
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
    }
)


def save(fig: plt.Figure, name: str, dpi: int = 110) -> None:
    OUT.mkdir(exist_ok=True)
    fig.savefig(OUT / name, dpi=dpi)
    plt.close(fig)


def film_map() -> None:
    """The long leg of the galley: ribbons just laid, after a few minutes, and at gel."""
    dx = 2e-3
    ny, nx = 300, 1050
    y, x = np.mgrid[0:ny, 0:nx] * dx + dx / 2
    mask = np.ones((ny, nx), dtype=bool)
    sink = (np.abs(x - 0.55) < 0.21) & (np.abs(y - 0.31) < 0.18)
    hob = (np.abs(x - 1.52) < 0.24) & (np.abs(y - 0.32) < 0.2)
    mask &= ~(sink | hob)
    free = np.zeros((ny + 1, nx), dtype=int)
    free[0] = 1
    grid = FilmGrid(mask, dx, None, free)
    rng = np.random.default_rng(4)
    h = np.full((ny, nx), 2e-4)
    for _ in range(16):
        middle = rng.uniform(0.02, 0.58) + sum(
            rng.uniform(0.005, 0.035) * np.sin(x * f + rng.uniform(0, 6)) for f in (3.0, 7.0, 16.0)
        )
        h += rng.uniform(1.5e-3, 4.5e-3) * np.clip(1 - ((y - middle) / 0.021) ** 2, 0, None)
    bed = tilted_bed(grid, np.tan(np.radians(0.4)) * 0.3, np.tan(np.radians(0.4)))
    solver = FilmSolver(grid, bed=bed, round_over=6e-3)
    state = solver.start(h)
    fig, axes = plt.subplots(3, 1, figsize=(9.6, 9.6), layout="constrained")
    start = grid.volume(state.h)
    words = ("just laid", "flow used 1", "flow used 300, at gel")
    for ax, until, word in zip(axes, (0.02, 1.0, 300.0), words, strict=True):
        solver.advance(state, until - state.tau)
        shown = np.where(mask, 1e3 * state.h, np.nan)
        im = ax.imshow(shown, origin="lower", extent=(0, 2.1, 0, 0.6), cmap=MAP, vmin=0, vmax=6)
        ax.contourf(
            np.where(mask, 0.0, 1.0), levels=[0.5, 1.5], extent=(0, 2.1, 0, 0.6), colors=[PAPER],
            hatches=["//"],
        )  # fmt: skip
        run = 1e3 * state.run_off[0]
        left = 1e3 * grid.volume(state.h)
        ax.set_title(
            f"{word}: {left:.2f} L on the top, {run:.2f} L run off", loc="left", fontsize=11
        )
        ax.set_ylabel("m")
        ax.plot([0, 2.1], [0.0, 0.0], color=COPPER, lw=3, solid_capstyle="butt", clip_on=False)
        for s in ("left", "bottom"):
            ax.spines[s].set_visible(False)
    axes[-1].set_xlabel(
        "m    (copper line: free front edge; the other sides and cut-outs are dammed;"
        " 0.4 degrees down to the front)"
    )
    fig.colorbar(im, ax=axes, label="film, mm", shrink=0.5, aspect=30)
    assert abs(1e-3 * (left + run) / start - 1) < 1e-9
    save(fig, "film-map.png", 80)


def edge_section() -> None:
    """Film over two round-overs, true to scale, at moments of the flow."""
    fig, axes = plt.subplots(1, 3, figsize=(10.5, 4.9), layout="constrained", sharey=True)
    moments = (0.1, 1.0, 10.0, 100.0)
    cases = (
        (1e-3, 600.0, "1 mm round-over,\npushed over at 600 left"),
        (6e-3, 600.0, "6 mm round-over,\npushed over at 600 left"),
        (6e-3, 60.0, "6 mm round-over,\npushed over at 60 left"),
    )
    for ax, (radius, flow, title) in zip(axes, cases, strict=True):
        profile = EdgeProfile(0.6, radius, 0.04 - radius - 1e-3)
        e = edge_film(profile, 3e-3, flow, moments=[m for m in moments if m < flow], fine=2.5e-4)
        normal = np.stack([np.sin(e.angle), np.cos(e.angle)])
        near = e.x > -0.033
        x, y = 1e3 * e.x[near], 1e3 * e.y[near]
        for k, (at, shade) in enumerate(zip(e.flow, SHADES[-e.flow.size :], strict=True)):
            h = 1e3 * e.h[k, near]
            fx, fy = x + normal[0, near] * h, y + normal[1, near] * h
            last = k == e.flow.size - 1
            ax.fill(
                np.r_[x, fx[::-1]], np.r_[y, fy[::-1]], color=shade, lw=0, alpha=1.0, zorder=k + 1
            )
            ax.plot([], [], color=shade, lw=6, label=f"flow {at:g}" + (", gel" if last else ""))
        under = np.r_[x, x.min()], np.r_[y, y.min()]
        ax.fill(*under, color="#d8cdb8", lw=0, zorder=20)
        ax.plot(x, y, color=INK, lw=0.8, zorder=21)
        ax.set_title(title, fontsize=11, loc="left")
        arc = 1e6 * e.thinnest[-1]
        run, bead = 1e6 * e.run_off[-1], 1e3 * e.bead
        ax.text(
            -28, -33, f"thinnest {arc:.0f} um\nlip bead {bead:.1f} mm\nrun-off {run:.0f} mL/m",
            fontsize=10, zorder=30,
        )  # fmt: skip
        ax.set_aspect("equal")
        ax.set_xlim(-33, 12)
        ax.set_ylim(-45, 5)
        ax.set_xlabel("mm")
        ax.legend(loc="center left", bbox_to_anchor=(0.08, 0.6), frameon=False).set_zorder(30)
    axes[0].set_ylabel("mm")
    save(fig, "film-edge.png")


def edge_numbers() -> None:
    """Film kept on the round-over, and run-off, against flow left when pushed over."""
    fig, (a, b) = plt.subplots(1, 2, figsize=(10.5, 4.2), layout="constrained")
    flows = np.geomspace(1, 1500, 40)
    for radius, shade in zip((1, 3, 6, 12), (GREY, GREEN, COPPER, INK), strict=True):
        e = edge_film(EdgeProfile(0.6, radius * 1e-3, 34e-3), 3e-3, 1500.0, moments=flows)
        a.loglog(e.flow, 1e6 * e.thinnest, color=shade, lw=2, label=f"radius {radius} mm")
    a.set_xlabel("flow left when pushed over, 1/Pa")
    a.set_ylabel("thinnest film on the round-over, um")
    a.set_yticks(
        [200, 300, 400, 600, 800, 1000], labels=["200", "300", "400", "600", "800", "1000"]
    )
    a.minorticks_off()
    a.legend(frameon=False)
    draws = film_draws()
    profile = EdgeProfile(0.6, 6e-3, 34e-3)
    rows = np.array([film.edge_run_off(profile, 3e-3, f * draws[0], draws[1], draws[2], draws[3])
                     for f in flows[::3]])  # fmt: skip
    low, mid, high = 1e6 * np.quantile(rows, [0.05, 0.5, 0.95], axis=1)
    b.fill_between(flows[::3], low, high, color=COPPER, alpha=0.25, lw=0, label="5 to 95 %")
    b.plot(flows[::3], mid, color=COPPER, lw=2, label="middle")
    b.set_xscale("log")
    b.set_xlabel("flow left when pushed over, 1/Pa")
    b.set_ylabel("run-off, mL per metre of edge")
    b.legend(frameon=False)
    save(fig, "film-edge-numbers.png")


def film_draws() -> list[np.ndarray]:
    from pourwright.calc import Draws

    d = Draws(1, 24)
    return [
        d.between("film.flow", 1 / 1.35, 1, 1.35, True),
        d.between("film.density", 1060, 1100, 1140, True),
        d.between("film.tension", 0.031, 0.036, 0.042, True),
        d.between("film.hang", 1, 2, 3, True),
    ]


def veins() -> None:
    """Final width of a vein against flow left, on three films."""
    fig, ax = plt.subplots(figsize=(7.6, 4.2), layout="constrained")
    flows = np.geomspace(1e-3, 1e3, 80)
    for h, shade in zip((1.5, 3.0, 6.0), (GREEN, COPPER, INK), strict=True):
        full = [1e3 * film.vein_width(4e-3, 4e-6, h * 1e-3, t) for t in flows]
        thin = [1e3 * film.vein_width(4e-3, 4e-6, h * 1e-3, t, full_depth=False) for t in flows]
        ax.semilogx(flows, full, color=shade, lw=2.2, label=f"on {h:g} mm")
        ax.semilogx(flows, thin, color=shade, lw=1.2, ls=(0, (4, 3)))
    ax.plot([], [], color=INK, lw=1.2, ls=(0, (4, 3)), label="thin-film limit")
    ax.set_xlabel("flow left when drizzled, 1/Pa")
    ax.set_ylabel("final width, mm")
    ax.set_ylim(3.8, 8.2)
    ax.set_title("A thread of 4 mL/m, 4 mm wide as it lands", loc="left", fontsize=11)
    ax.legend(frameon=False)
    save(fig, "film-vein.png")


if __name__ == "__main__":
    film_map()
    edge_section()
    edge_numbers()
    veins()
