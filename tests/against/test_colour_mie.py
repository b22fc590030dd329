"""Mie theory and derived pigments against independent codes and measurements.

Sources: values of a Wiscombe-validated code; miepython as a second code; Devore 1951, J. Opt. Soc.
Am. 41:416; Bond and Bergstrom 2006, Aerosol Science and Technology 40:27 (pages from memory).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pourwright.colour.bands import BANDS, read_table
from pourwright.colour.mie import grain_optics, mie

DATA = Path(__file__).parents[3] / "shared" / "data"


def test_published_efficiencies() -> None:
    # listed to six digits: 1e-5
    assert np.allclose(mie(1.5 + 1j, 1.0), (2.336321, 0.663454, 0.192136), atol=1e-5)
    ext, sca, g = mie(1.5, 10.0)
    assert abs(ext - 2.881999) < 1e-5
    assert abs(sca - ext) < 1e-12
    assert abs(g - 0.742913) < 1e-5


@pytest.mark.filterwarnings("ignore")  # numba warnings of the oracle library
@pytest.mark.parametrize("m", [1.77, 1.2 + 0.5j, 1.8 + 0.02j])
@pytest.mark.parametrize("x", [0.05, 0.9, 4.0, 25.0])
def test_against_miepython(m, x) -> None:
    oracle = pytest.importorskip("miepython")
    ext, sca, _, g = oracle.efficiencies_mx(complex(m).conjugate(), x)
    assert np.allclose(mie(m, x), (ext, sca, g), rtol=1e-6, atol=1e-12)


def test_small_grains_scatter_after_rayleigh() -> None:
    m, x = 1.5, 0.01
    p = (m * m - 1) / (m * m + 2)
    # next term is of order x^2
    assert abs(mie(m, x)[1] / (8 / 3 * x**4 * p**2) - 1) < 1e-3


def test_rutile_scatters_best_at_pigment_size() -> None:
    lam, sizes = np.array([550e-9]), np.linspace(0.12, 0.4, 29)
    s = [float(grain_optics([2.75], lam, d * 1e-6, 4200.0).s[0]) for d in sizes]
    best = sizes[int(np.argmax(s))]
    assert 0.20 <= best <= 0.27
    # 1.6 m2/g at the peak: computed with an independent code for the same model
    assert abs(max(s) / 1000 - 1.63) < 0.05


def test_carbon_absorbs_as_measured() -> None:
    # 7.5 +- 1.2 m2/g at 550 nm in air for fresh soot; in resin 5 to 10 is asked for
    k = read_table("mie")["carbon/k"][int(np.flatnonzero(BANDS == 550)[0])]
    assert 5.0 <= k / 2 / 1000 <= 10.0


def test_hematite_turns_from_orange_to_violet_with_size() -> None:
    t = read_table("mie")
    blue, red = int(np.flatnonzero(BANDS == 450)[0]), int(np.flatnonzero(BANDS == 650)[0])
    ratio = [
        t[f"hematite-{c}/k"][blue] / t[f"hematite-{c}/k"][red]
        for c in ("bright", "medium", "violet")
    ]
    assert ratio[0] > ratio[1] > ratio[2]


@pytest.mark.skipif(not DATA.is_dir(), reason="open data folder is not beside this checkout")
def test_shipped_table_is_what_the_script_derives() -> None:
    import importlib.util

    path = Path(__file__).parents[2] / "docs" / "derive" / "colour_mie.py"
    spec = importlib.util.spec_from_file_location("colour_mie", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    grains = module.optics(DATA)
    t = read_table("mie")
    # five digits are stored
    assert np.allclose(t["carbon/k"], grains["carbon"].k, rtol=1e-4)
    assert np.allclose(t["rutile/s"], 0.75 * grains["rutile"].s, rtol=1e-4)
    assert np.allclose(t["hematite-medium/s"], grains["hematite-medium"].s, rtol=1e-4)
    # Devore 1951 at the sodium line: 2.6132 and 2.9090, three decimals asked for
    at = 0.589
    c = [5.913, 0.2441, 0.0803]
    assert abs(np.sqrt(c[0] + c[1] / (at**2 - c[2])) - 2.6132) < 1e-3
    near = module.devore(DATA / "TiO2-nk-Devore-e.yml")
    assert abs(np.interp(589, BANDS, near) - 2.909) < 1e-3
