"""Derive per-mass k and s of paint pigments from open drawdowns over black and white card.

Data: M. Geldof et al. 2018, Heritage Science 6:17 (CC0), a part of the set, in the folder given
as argument. The columns `_b` and `_w` are the bare cards and `_ob`, `_ow` the film over them: the
pure white's `_ob` is pale and `_b` is not. All components are fitted together by the package's
own N-stream fit; the film weight is not published and is left free by about 10 per cent.

The films give k and s times an unknown mass per area. One anchor sets the scale: zinc white at
550 nm scatters as Mie theory says for zinc oxide grains of 0.3 um (`mie.tsv`); so strengths per
gram are uncertain by a factor of about two, while hues and ratios are measured.

Run:  python docs/derive/colour_drawdowns.py FOLDER
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import numpy as np

from pourwright.colour.bands import BANDS, read_table
from pourwright.colour.fit import Drawdown, fit_drawdowns

WEIGHT_SPREAD = 0.1
# Films are drawn at equal thickness, so a light paint brings less mass than a heavy one. Densities
# of the pigments in kg/L, from memory (handbook values); a quarter of the paint's volume is taken
# as pigment, the rest oil of 0.93 kg/L (common practice for oil paints: 20 to 50 %).
PIGMENT_VOLUME, OIL = 0.25, 0.93
DENSITY = {
    "zinc-white": 5.6,
    "zinc-white-linseed": 5.6,
    "lead-white": 6.7,
    "barium-sulphate": 4.5,
    "calcium-carbonate": 2.7,
    "bone-black": 2.4,
    "cochineal": 2.0,
    "eosin": 2.0,
    "eosin1-wax": 2.0,
    "eosin2-pb-wax": 2.0,
    "ultramarine-blue": 2.4,
    "cobalt-blue": 4.0,
    "prussian-blue": 1.8,
    "viridian-green": 3.4,
    "emerald-green": 3.3,
    "chrome-yellow": 6.0,
    "chrome-yellow-second": 6.0,
    "chrome-yellow-poppyseed": 6.0,
    "minium": 8.9,
    "vermillion": 8.1,
}


def read_drawdowns(folder: Path) -> list[Drawdown]:
    """The films for which spectra are there, doses per film of equal thickness."""
    seen = {}
    for line in (folder / "paint-drawdowns-reflectance.tsv").read_text().splitlines()[1:]:
        name, *values = line.split("\t")
        seen[name] = np.array([float(v) for v in values]) / 100
    films = []
    for line in (folder / "paint-drawdowns-mixtures.tsv").read_text().splitlines():
        sample, _, mix = line.partition("\t")
        if f"{sample}_b" not in seen or "|" not in mix:
            continue
        names, _, shares = mix.partition("|")
        mass = {
            dashed(n): float(v) / 100
            for n, v in zip(names.split("-"), shares.split("-"), strict=True)
            if float(v) > 0
        }
        doses = equal_thickness(mass)
        cards = [seen[f"{sample}_b"], seen[f"{sample}_w"]]
        films.append(Drawdown(sample, doses, cards, [seen[f"{sample}_ob"], seen[f"{sample}_ow"]]))
    return films


def equal_thickness(mass: dict[str, float]) -> dict[str, float]:
    """Mass of each paint in one film, relative to a film of zinc white alone."""

    def paint(name: str) -> float:
        return PIGMENT_VOLUME * DENSITY[name] + (1 - PIGMENT_VOLUME) * OIL

    volume = sum(v * paint("zinc-white") / paint(name) for name, v in mass.items())
    return {name: v / volume for name, v in mass.items()}


def dashed(name: str) -> str:
    """ZincWhite -> zinc-white; the second chrome yellow loses its maker's name."""
    plain = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "-", name).lower()
    return "chrome-yellow-second" if plain.startswith("chrome-yellow-o") else plain


def main() -> None:
    films = read_drawdowns(Path(sys.argv[1]))
    fit = fit_drawdowns(films, weight_spread=WEIGHT_SPREAD)
    i = int(np.flatnonzero(BANDS == 550)[0])
    area = fit.s["zinc-white"][i] / read_table("mie")["zinc-oxide/s"][i]
    head, cols = ["nm"], [BANDS]
    for name in sorted(fit.k):
        head += [f"{name}/k", f"{name}/s"]
        cols += [fit.k[name] / area, fit.s[name] / area]
    out = Path(__file__).parents[2] / "src/pourwright/colour/data/drawdowns.tsv"
    note = f"# one drawdown film holds {area:.5f} kg/m2 when zinc white scatters as Mie says"
    rows = ["\t".join(f"{v:.5g}" for v in row) for row in zip(*cols, strict=True)]
    out.write_text("\n".join([note, "\t".join(head), *rows]) + "\n")
    print(f"{len(films)} films, {len(fit.k)} components, {1000 * area:.1f} g/m2 by the anchor")


if __name__ == "__main__":
    main()
