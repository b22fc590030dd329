"""Derive the 31-band weights that turn a spectrum into tristimulus values.

Reads the CIE colour matching functions and illuminants from colour-science (a library used only
here and in tests) and writes `src/pourwright/colour/data/weights.tsv`: one column per observer,
illuminant and axis. A spectrum known at 400-700 nm by 10 nm is taken as a natural-end cubic
spline between its points and as constant beyond them, so the weights of a perfect white add up to
the full 360-780 nm white point. The result is computed data; no CIE table is stored.

Run:  python docs/derive/colour_weights.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline

import colour

BANDS = np.arange(400, 701, 10)
FINE = np.arange(360, 781, 1)
OBSERVERS = {
    "2": "CIE 1931 2 Degree Standard Observer",
    "10": "CIE 1964 10 Degree Standard Observer",
}
LIGHTS = {"D65": "D65", "A": "A", "LED-B3": "LED-B3"}


def main() -> None:
    shape = colour.SpectralShape(360, 780, 1)
    cardinal = CubicSpline(BANDS, np.eye(31), bc_type="natural")(np.clip(FINE, 400, 700))
    head, columns = ["nm"], [BANDS.astype(float)]
    for obs, obs_name in OBSERVERS.items():
        cmf = colour.MSDS_CMFS[obs_name].copy().align(shape).values
        for light, light_name in LIGHTS.items():
            spd = colour.SDS_ILLUMINANTS[light_name].copy().align(shape).values
            weight = spd[:, None] * cmf
            weight /= weight[:, 1].sum()
            table = cardinal.T @ weight
            for axis, name in enumerate("XYZ"):
                head.append(f"{light}/{obs}/{name}")
                columns.append(table[:, axis])
    out = Path(__file__).parents[2] / "src/pourwright/colour/data/weights.tsv"
    lines = ["\t".join(head)]
    for row in zip(*columns, strict=True):
        lines.append("\t".join([f"{row[0]:.0f}"] + [f"{v:.9f}" for v in row[1:]]))
    out.write_text("\n".join(lines) + "\n")
    print(f"{out.name}: {len(head) - 1} columns")
    for i in range(1, len(head), 3):
        print(head[i], *(f"{100 * np.sum(columns[i + j]):.3f}" for j in range(3)))


if __name__ == "__main__":
    main()
