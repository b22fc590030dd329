"""Derive per-mass k and s of mineral pigments by Mie theory from open refractive indices.

Reads rutile (Devore 1951), hematite and magnetite (Querry 1985) and carbon (Hagemann 1974) from
the folder of open data given as argument; writes `src/pourwright/colour/data/mie.tsv` with one k
and one s column [m2/kg] per pigment on the 31 bands, for resin of index 1.55.

Run:  python docs/derive/colour_mie.py FOLDER
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from pourwright.colour.bands import BANDS
from pourwright.colour.mie import GrainOptics, grain_optics

LAM = BANDS * 1e-9
# pigment: (median diameter by volume [m], density [kg/m3])
SIZES = {
    "rutile": (0.22e-6, 4200.0),
    "carbon": (0.06e-6, 1800.0),
    "hematite-bright": (0.10e-6, 5250.0),
    "hematite-medium": (0.20e-6, 5250.0),
    "hematite-violet": (0.40e-6, 5250.0),
    "magnetite": (0.25e-6, 5170.0),
    "zinc-oxide": (0.30e-6, 5600.0),
}


def tabulated(path: Path) -> np.ndarray:
    """Complex index on the bands from a tabulated file (wavelength in um, n, k)."""
    rows = []
    for line in path.read_text().splitlines():
        part = line.split()
        if len(part) == 3:
            try:
                rows.append([float(v) for v in part])
            except ValueError:
                continue
    lam, n, k = np.array(sorted(rows)).T
    return np.interp(BANDS / 1000, lam, n) + 1j * np.interp(BANDS / 1000, lam, k)


def devore(path: Path) -> np.ndarray:
    """Index on the bands from the dispersion formula n^2 = a + b/(lambda^2 - c)."""
    line = next(x for x in path.read_text().splitlines() if "coefficients:" in x)
    c = [float(v) for v in line.split(":")[1].split()]
    # formula 4 with exponents 0 and 1: n^2 = c0 + c1 lambda^c2 / (lambda^2 - c3^c4)
    lam = BANDS / 1000
    return np.sqrt(c[0] + c[1] * lam ** c[2] / (lam**2 - c[3] ** c[4]))


def optics(folder: Path) -> dict[str, GrainOptics]:
    """Optics per mass of every pigment of `SIZES`."""
    rutile = (
        2 * devore(folder / "TiO2-nk-Devore-o.yml") + devore(folder / "TiO2-nk-Devore-e.yml")
    ) / 3
    hematite = tabulated(folder / "Fe2O3-nk-Querry-o.yml")
    index = {
        "rutile": rutile,
        "carbon": tabulated(folder / "C-nk-Hagemann.yml"),
        "hematite-bright": hematite,
        "hematite-medium": hematite,
        "hematite-violet": hematite,
        "magnetite": tabulated(folder / "Fe3O4-nk-Querry.yml"),
        # from memory: zinc oxide about 2.10 at 420 nm falling to 1.97 at 700 nm
        "zinc-oxide": 1.936 + 0.0285 / (BANDS / 1000) ** 2 + 0j,
    }
    return {name: grain_optics(index[name], LAM, d, rho) for name, (d, rho) in SIZES.items()}


def main() -> None:
    grains = optics(Path(sys.argv[1]))
    # Devore gives no absorption; rutile's edge below 410 nm is put in by hand (assumption)
    edge = 2 * 20.0 * np.exp(-(BANDS - 400) / 12)
    head, cols = ["nm"], [BANDS]
    for name, grain in grains.items():
        k, s = grain.k.copy(), grain.s.copy()
        if name == "rutile":
            # crowding and agglomeration: three quarters of single-grain scattering
            k, s = k + edge, 0.75 * s
        head += [f"{name}/k", f"{name}/s"]
        cols += [k, s]
    out = Path(__file__).parents[2] / "src/pourwright/colour/data/mie.tsv"
    rows = ["\t".join(f"{v:.5g}" for v in row) for row in zip(*cols, strict=True)]
    out.write_text("\n".join(["\t".join(head), *rows]) + "\n")
    i = 15
    for name, grain in grains.items():
        print(f"{name:18s} k {grain.k[i]:9.1f}  s {grain.s[i]:8.1f} m2/kg  g {grain.g[i]:.3f}")


if __name__ == "__main__":
    main()
