"""Pictures of docs/colour.md, computed by the package.

Run:  python docs/figures/colour.py [FOLDER OF OPEN DATA]      (the held-out figure needs the folder)
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt
import numpy as np
from matplotlib.patches import Rectangle

from pourwright.colour import (
    BLACK_CARD,
    CLEAR,
    WHITE_CARD,
    Finish,
    MapLayer,
    Recipe,
    Shade,
    Undercoat,
    colorant,
    colorant_ids,
    delta_e_2000,
    demo_recipe,
    demo_shade,
    hiding,
    primer,
    reflectance_to_srgb,
    render_map,
    shade_from_recipe,
    shade_report,
    stack_reflectance,
    stack_reflectance_km,
    to_lab,
)
from pourwright.colour.contrast import contrast_over
from pourwright.colour.fit import fit_drawdowns
from pourwright.colour.fresnel import fresnel
from pourwright.colour.yellowing import yellowed

PAPER, INK, SOFT, COPPER, SEA = "#f6f1e7", "#26221d", "#6b6256", "#b3652b", "#3f6f68"
OUT = Path(__file__).parents[1] / "pictures"
PRIMERS = {
    "sea-green": "dark-primer",
    "slate": "dark-primer",
    "copper": "dark-primer",
    "warm-sand": "sand-primer",
    "burnt-umber": "sand-primer",
    "ivory": "sand-primer",
    "chalk-white": "white-primer",
    "grey-green-wash": "white-primer",
}
plt.rcParams.update(
    {
        "figure.facecolor": PAPER,
        "axes.facecolor": PAPER,
        "savefig.facecolor": PAPER,
        "text.color": INK,
        "axes.edgecolor": SOFT,
        "axes.labelcolor": INK,
        "xtick.color": SOFT,
        "ytick.color": SOFT,
        "font.family": "DejaVu Sans",
        "font.size": 9,
        "axes.spines.top": False,
        "axes.spines.right": False,
    }
)


def save(fig: plt.Figure, name: str) -> None:
    fig.savefig(OUT / f"colour-{name}.png", dpi=110, bbox_inches="tight", pad_inches=0.15)
    plt.close(fig)


def blank(width: float, height: float) -> tuple[plt.Figure, plt.Axes]:
    fig, ax = plt.subplots(figsize=(width, height))
    ax.set_xlim(0, width)
    ax.set_ylim(height, 0)
    ax.axis("off")
    return fig, ax


def block(
    ax: plt.Axes, x: float, y: float, w: float, h: float, r: np.ndarray, text: str = ""
) -> None:
    """A swatch of a reflectance, its Lab inside."""
    lab = to_lab(r)
    ax.add_patch(Rectangle((x, y), w, h, facecolor=reflectance_to_srgb(r), edgecolor="none"))
    ink = INK if lab[0] > 55 else PAPER
    whole = np.round(lab).astype(int)
    shown = text or f"L* {whole[0]}   a* {whole[1]}   b* {whole[2]}"
    ax.text(x + 0.07, y + h - 0.09, shown, color=ink, fontsize=7, va="bottom")


def swatches() -> None:
    rows = list(PRIMERS)
    fig, ax = blank(9.6, 0.55 + 1.02 * len(rows))
    for x, text in ((2.0, "over white"), (4.05, "over black"), (6.1, "over its primer")):
        ax.text(x, 0.32, text, color=SOFT, fontsize=8)
    for i, ident in enumerate(rows):
        y = 0.45 + 1.02 * i
        recipe, shade = demo_recipe(ident), demo_shade(ident)
        rep = shade_report(recipe, undercoat=primer(PRIMERS[ident]))
        ax.text(0, y + 0.22, recipe.name, fontsize=10, color=COPPER, weight="bold")
        doses = sorted(recipe.doses.items(), key=lambda kv: -kv[1])
        for j, (key, dose) in enumerate(doses[:4]):
            name = recipe.colorants[key].name.removesuffix(" paste")
            ax.text(
                0, y + 0.42 + 0.15 * j, f"{dose * 1000:g} g/kg {name}", fontsize=6.6, color=SOFT
            )
        for x, ground in ((2.0, WHITE_CARD), (4.05, BLACK_CARD), (6.1, primer(PRIMERS[ident]))):
            block(ax, x, y, 1.95, 0.9, stack_reflectance([(shade, recipe.film)], ground))
        spread = rep.ranges["de00"]
        need = rep.film_for_complete
        lines = [
            f"{recipe.film * 1000:g} mm, {100 * recipe.load:.1f} % paste",
            f"contrast {rep.hiding.contrast:.3f}",
            "98 % at " + ("more than 20 mm" if need is None else f"{need * 1000:.2f} mm"),
            f"class {rep.confidence}: {spread.p50:.0f} ({spread.p05:.0f}-{spread.p95:.0f}) dE00",
        ]
        for j, text in enumerate(lines):
            ax.text(8.15, y + 0.2 + 0.2 * j, text, fontsize=7)
    save(fig, "shades")


def pastes() -> None:
    ids = colorant_ids()
    cols, w, h = 5, 1.9, 0.98
    rows = -(-len(ids) // cols)
    fig, ax = blank(cols * w + 0.1, rows * h + 0.3)
    ax.text(
        0,
        0.12,
        "Each paste at 1 % in 0.3 mm of resin over white and black; right: 0.3 % with 3 % white",
        fontsize=8,
        color=SOFT,
    )
    for i, ident in enumerate(ids):
        x, y = (i % cols) * w, 0.25 + (i // cols) * h
        neat = shade_from_recipe(Recipe("t", "T", {ident: 0.01}))
        for k, ground in enumerate((WHITE_CARD, BLACK_CARD)):
            r = stack_reflectance([(neat, 3e-4)], ground)
            ax.add_patch(Rectangle((x + 0.55 * k, y), 0.55, 0.6, facecolor=reflectance_to_srgb(r)))
        mix = {"white-rutile": 0.03, ident: 0.003} if ident != "white-rutile" else {ident: 0.03}
        tint = shade_from_recipe(Recipe("t", "T", mix))
        r = stack_reflectance([(tint, 1e-3)], BLACK_CARD)
        ax.add_patch(Rectangle((x + 1.15, y), 0.6, 0.6, facecolor=reflectance_to_srgb(r)))
        c = colorant(ident)
        ax.text(x, y + 0.74, f"{c.name.removesuffix(' paste')}  ({c.confidence})", fontsize=6.6)
    save(fig, "pastes")


def engine() -> None:
    fig, (left, right) = plt.subplots(1, 2, figsize=(9.6, 3.5))
    depth = np.geomspace(0.005, 2, 40)
    ground = Undercoat("g", np.full(31, 0.85))
    flat = Finish(n=1.55)
    eng, two = [], []
    for d in depth:
        tint = Shade("t", "T", np.full(31, 2 * d / 1e-3))
        eng.append(stack_reflectance([(tint, 1e-3)], ground, flat, geometry="45/0")[0])
        two.append(stack_reflectance_km([(tint, 1e-3)], ground, flat)[0])
    x, w = np.polynomial.legendre.leggauss(400)
    mu, w = 0.5 * (x + 1), 0.5 * w
    inner = np.sqrt(1 - 0.5 / 1.55**2)
    front = (1 - fresnel(np.cos(np.pi / 4), 1.55)) * (1 - fresnel(1.0, 1.55)) / 1.55**2
    clear = [
        front
        * 0.85
        * np.exp(-d * (1 / inner + 1))
        / (1 - 0.85 * np.sum(w * 2 * mu * fresnel(mu, 1 / 1.55) * np.exp(-2 * d / mu)))
        for d in depth
    ]
    left.semilogx(depth, eng, color=COPPER, lw=2.2, label="N-stream engine")
    left.semilogx(
        depth[::3], clear[::3], "o", color=INK, ms=4, mfc="none", label="Williams-Clapper"
    )
    left.semilogx(depth, two, color=SEA, ls="--", label="two-flux and Saunderson")
    left.set_xlabel("absorption depth of a clear tinted film")
    left.set_ylabel("reflectance over 0.85, 45/0")
    left.legend(frameon=False, fontsize=8)
    left.set_title("Tinted clear over white: two-flux is far too dark", fontsize=9, loc="left")
    sizes = np.geomspace(0.1e-3, 3e-3, 30)
    white = shade_from_recipe(Recipe("w", "W", {"white-rutile": 0.02}))
    for paste, colour, style in ((0.01, COPPER, "-"), (0.02, SEA, "-"), (0.04, INK, "-")):
        white = shade_from_recipe(Recipe("w", "W", {"white-rutile": paste}))
        right.semilogx(
            sizes * 1000,
            [contrast_over(white, s) for s in sizes],
            style,
            color=colour,
            label=f"{100 * paste:.0f} % white paste",
        )
    right.axhline(0.98, color=SOFT, lw=0.8)
    right.text(0.105, 0.983, "0.98: complete by convention", fontsize=7, color=SOFT)
    right.set_xlabel("cured film, mm")
    right.set_ylabel("contrast ratio in air")
    right.legend(frameon=False, fontsize=8)
    right.set_title("Hiding of titanium white", fontsize=9, loc="left")
    right.set_xticks([0.1, 0.3, 1, 3], ["0.1", "0.3", "1", "3"])
    fig.tight_layout()
    save(fig, "engine")


def picture() -> None:
    size = (300, 460)
    y, x = np.mgrid[: size[0], : size[1]] / size[0]
    rng = np.random.default_rng(4)

    def noise(scale: float) -> np.ndarray:
        out = np.zeros(size)
        for _ in range(14):
            kx, ky = rng.normal(0, scale, 2)
            out += np.sin(2 * np.pi * (kx * x + ky * y) + rng.uniform(0, 6.28))
        return out / np.sqrt(7)

    warp = noise(0.8)
    share = 1 / (1 + np.exp(-6 * (noise(0.9) + 0.3 * warp)))
    vein = np.exp(-((noise(0.7) / 0.07) ** 2))
    depth = 1.1e-3 * (1 + 0.15 * noise(1.2))
    sea, slate, copper = (demo_shade(i) for i in ("sea-green", "slate", "copper"))
    glint = np.clip(1 + 0.25 * rng.normal(size=size), 0.2, 2)
    layers = [
        MapLayer([sea, slate], depth, np.stack([share, 1 - share])),
        MapLayer([copper], 5e-4 * vein, glint=glint),
        MapLayer([CLEAR], 1e-3),
    ]
    fig, axes = plt.subplots(1, 2, figsize=(9.6, 3.4))
    for ax, (text, top) in zip(
        axes, (("gloss flood, 95 GU", Finish(gloss_60=95)), ("matte top, 8 GU", Finish(gloss_60=8)))
    ):
        ax.imshow(render_map(layers, primer("dark-primer"), top))
        ax.set_title(text, fontsize=9, loc="left")
        ax.axis("off")
    fig.tight_layout()
    save(fig, "picture")


def ageing() -> None:
    amounts = (0, 0.01, 0.02, 0.05, 0.1)
    fig, ax = blank(9.6, 2.7)
    ax.text(
        0, 0.15, "What-if: absorption depth added at 420 nm to 1 mm of clear flood coat", fontsize=8
    )
    for i, ident in enumerate(("chalk-white", "warm-sand")):
        base = demo_shade(ident)
        for j, a in enumerate(amounts):
            r = stack_reflectance([(base, 1.5e-3), (yellowed(CLEAR, 1e-3, a), 1e-3)], WHITE_CARD)
            lab = to_lab(r)
            block(ax, 1.92 * j, 0.3 + 1.2 * i, 1.85, 1.1, r, f"{a:g}:  b* {lab[2]:.1f}")
    save(fig, "ageing")


def held_out(folder: Path) -> None:
    path = Path(__file__).parents[1] / "derive" / "colour_drawdowns.py"
    spec = importlib.util.spec_from_file_location("colour_drawdowns", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    films = module.read_drawdowns(folder)
    names = ["04B", "06D", "07D", "08B", "09D", "11D", "13B", "10D", "15B", "15D"]
    fit = fit_drawdowns(
        [f for f in films if f.name not in names], weight_spread=module.WEIGHT_SPREAD
    )
    fig, ax = blank(9.6, 3.55)
    ax.text(
        0,
        0.14,
        "Held-out mixes over white card: measured above, predicted from the other films below; dE00",
        fontsize=8,
    )
    for i, name in enumerate(names):
        f = next(f for f in films if f.name == name)
        x = 1.92 * (i % 5)
        y = 0.25 + 1.65 * (i // 5)
        r = fit.predict(f.doses, f.cards[1])
        for k, seen in enumerate((f.films[1], r)):
            ax.add_patch(
                Rectangle((x, y + 0.55 * k), 1.8, 0.55, facecolor=reflectance_to_srgb(seen))
            )
        e = float(delta_e_2000(to_lab(r), to_lab(f.films[1])))
        total = sum(f.doses.values())
        for j, (k, v) in enumerate(f.doses.items()):
            text = f"{100 * v / total:.3g} {k.replace('-', ' ')}"
            ax.text(x, y + 1.26 + 0.14 * j, text, fontsize=6, color=SOFT)
        ax.text(x + 1.8, y + 1.26, f"{e:.1f}", fontsize=7.5, ha="right", color=COPPER)
    save(fig, "heldout")


def main() -> None:
    OUT.mkdir(exist_ok=True)
    swatches()
    pastes()
    engine()
    picture()
    ageing()
    if len(sys.argv) > 1:
        held_out(Path(sys.argv[1]))
    print(hiding(demo_shade("sea-green"), 1.5e-3).contrast)


if __name__ == "__main__":
    main()
