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


def read_drawdowns(folder: Path) -> list[Drawdown]:
    """The films for which spectra are there."""
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
        doses = {
            dashed(n): float(v) / 100
            for n, v in zip(names.split("-"), shares.split("-"), strict=True)
            if float(v) > 0
        }
        cards = [seen[f"{sample}_b"], seen[f"{sample}_w"]]
        films.append(Drawdown(sample, doses, cards, [seen[f"{sample}_ob"], seen[f"{sample}_ow"]]))
    return films


def dashed(name: str) -> str:
    """ZincWhite -> zinc-white."""
    return re.sub(r"(?<=[a-z0-9])(?=[A-Z])", "-", name).lower()


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
