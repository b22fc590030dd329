"""Derive how the reflectances of real surfaces vary, for the metamers of a colour alone.

Reads the open drawdowns (Geldof et al. 2018, CC0; the films over the white card) and writes
`src/pourwright/colour/data/surfaces.tsv`: band by band the mean of log(R/(1-R)) and the principal
parts of its covariance, each scaled by its standard deviation.

Run:  python docs/derive/colour_surfaces.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
DATA = ROOT.parent / "shared" / "data" / "paint-drawdowns-reflectance.tsv"
OUT = ROOT / "src/pourwright/colour/data/surfaces.tsv"
PARTS = 10
"""Principal parts kept; what they leave out is under 0.1 % of the variance."""


def films() -> np.ndarray:
    """Reflectances of the films over the white card, shape (71, 31) [-]."""
    rows = [line.split("\t") for line in DATA.read_text().splitlines()[1:]]
    found = np.array([[float(v) for v in r[1:]] for r in rows if r[0].endswith("_ow")]) / 100
    return np.clip(found, 0.003, 0.99)


def table() -> np.ndarray:
    """Mean and scaled principal parts of log(R/(1-R)), shape (31, 1 + PARTS) [-]."""
    r = films()
    z = np.log(r / (1 - r))
    size, parts = np.linalg.eigh(np.cov(z.T))
    size, parts = size[::-1][:PARTS], parts[:, ::-1][:, :PARTS]
    parts = parts * np.where(parts[15] < 0, -1.0, 1.0)  # a sign that does not hang on the library
    return np.column_stack([z.mean(axis=0), parts * np.sqrt(size)])


def main() -> None:
    head = ["# log(R/(1-R)) of 71 paint films: mean and principal parts", "nm\tmean"]
    head[1] += "".join(f"\tpart{i + 1}" for i in range(PARTS))
    body = [
        "\t".join([str(400 + 10 * i)] + [f"{v:.5f}" for v in row]) for i, row in enumerate(table())
    ]
    OUT.write_text("\n".join(head + body) + "\n")
    print(OUT.name, len(body), "bands")


if __name__ == "__main__":
    main()
