"""Photo correction against simulated cameras.

Sources: Finlayson, Mackiewicz and Hurlbert 2015, IEEE Trans. Image Processing 24:1460; camera
sensitivities and lights from colour-science; paint spectra of Geldof et al. 2018 (CC0).
"""

from __future__ import annotations

import importlib.util
import warnings
from pathlib import Path

import numpy as np
import pytest

from pourwright.colour.colorimetry import to_lab
from pourwright.colour.correct import (
    GREY_CARD_ERROR,
    chart_lab,
    fit_correction,
    grey_card_correction,
    root_terms,
)
from pourwright.colour.difference import delta_e_2000

ROOT = Path(__file__).parents[2]
DATA = ROOT.parent / "shared" / "data" / "paint-drawdowns-reflectance.tsv"
needs_data = pytest.mark.skipif(not DATA.is_file(), reason="open data folder is not there")


def test_root_terms_scale_with_exposure() -> None:
    rng = np.random.default_rng(0)
    rgb, matrix = rng.random((50, 3)), rng.random((6, 3))
    one = root_terms(rgb) @ matrix
    assert np.allclose(root_terms(0.6 * rgb) @ matrix, 0.6 * one, atol=1e-12)


class Camera:
    """One measured camera under one light, white balanced, one per cent noise."""

    def __init__(self, light: str) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the library warns of optional parts on import
            colour = pytest.importorskip("colour")
        spec = importlib.util.spec_from_file_location(
            "colour_chart", ROOT / "docs" / "derive" / "colour_chart.py"
        )
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        self.chart = module.spectra()
        shape = colour.SpectralShape(400, 700, 10)
        first = next(iter(colour.MSDS_CAMERA_SENSITIVITIES.values()))
        sens = first.copy().align(shape).values
        self.weights = colour.SDS_ILLUMINANTS[light].copy().align(shape).values[:, None] * sens
        self.rng = np.random.default_rng(1)

    def shoot(self, r: np.ndarray, exposure: float = 0.8, noise: float = 0.01) -> np.ndarray:
        v = r @ self.weights / self.weights.sum(axis=0) * exposure
        return v * (1 + noise * self.rng.standard_normal(v.shape))


def paints() -> np.ndarray:
    rows = [line.split("\t") for line in DATA.read_text().splitlines()[1:]]
    return np.array([[float(v) for v in r[1:]] for r in rows if r[0].endswith("_ow")]) / 100


@needs_data
@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("light, most", [("D65", 2.0), ("LED-B3", 2.2), ("A", 3.5), ("FL2", 3.0)])
def test_chart_on_paints(light, most) -> None:
    # 2.0 under daylight is asked for; the other lights are held a fifth above what the method
    # gives in simulation (1.5, 2.7 and 2.0)
    cam = Camera(light)
    fix = fit_correction(cam.shoot(cam.chart))
    r = paints()
    e = delta_e_2000(fix.lab(cam.shoot(r)), to_lab(r, "D65", "2"))
    assert e.mean() <= most
    # the printed uncertainty is honest: leave-one-patch-out within a third of the true mean
    assert abs(fix.error_mean - e.mean()) < max(0.35 * e.mean(), 0.3)


@needs_data
@pytest.mark.filterwarnings("ignore")
def test_grey_card_is_as_rough_as_said() -> None:
    seen = []
    for light in ("D65", "A", "FL2", "LED-B3"):
        cam = Camera(light)
        fix = grey_card_correction(cam.shoot(np.full((1, 31), 0.18))[0])
        r = paints()
        seen.append(delta_e_2000(fix.lab(cam.shoot(r)), to_lab(r, "D65", "2")))
    low, mean, high = GREY_CARD_ERROR
    e = np.concatenate(seen)
    # rounded to one figure in the message
    assert abs(e.mean() - mean) < 0.5
    assert abs(np.quantile(e, 0.05) - low) < 0.3
    assert abs(np.quantile(e, 0.95) - high) < 1.0


@pytest.mark.filterwarnings("ignore")
def test_exposure_does_not_move_hue() -> None:
    cam = Camera("D65")
    light = cam.shoot(cam.chart, noise=0.0)
    fix = fit_correction(light)
    dark = fix.xyz(0.6 * light)
    assert np.allclose(dark, 0.6 * fix.xyz(light), atol=1e-12)


@pytest.mark.filterwarnings("ignore")
def test_chart_values_against_colour_science() -> None:
    cam = Camera("D65")
    # own 31 bands against the library's full integration, both for D65 and 2 degrees
    e = delta_e_2000(to_lab(cam.chart, "D65", "2"), chart_lab())
    assert e.mean() < 0.05
    assert e.max() < 0.15
