"""Derive CIELAB of the usual 24-patch photographic chart from the spectra of ISO 17321-1.

The spectra come with colour-science, a library used only here and in tests; the result is computed
data, `src/pourwright/colour/data/chart24.tsv`: L*, a*, b* for D65 and 2 degrees, row by row.

Run:  python docs/derive/colour_chart.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

import colour

SETS = next(getattr(colour, name) for name in dir(colour) if name.startswith("SDS_COLOURCH"))


def spectra() -> np.ndarray:
    """Reflectances of the patches at 400-700 nm by 10, shape (24, 31)."""
    shape = colour.SpectralShape(400, 700, 10)
    return np.array([sd.copy().align(shape).values for sd in SETS["ISO 17321-1"].values()])


def main() -> None:
    cmf = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    light = colour.SDS_ILLUMINANTS["D65"]
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    rows = ["patch\tL\ta\tb"]
    for i, sd in enumerate(SETS["ISO 17321-1"].values()):
        xyz = colour.sd_to_XYZ(sd, cmf, light) / 100
        lab = colour.XYZ_to_Lab(xyz, white)
        rows.append("\t".join([str(i + 1)] + [f"{v:.3f}" for v in lab]))
    out = Path(__file__).parents[2] / "src/pourwright/colour/data/chart24.tsv"
    out.write_text("\n".join(rows) + "\n")
    print("\n".join(rows))


if __name__ == "__main__":
    main()
