"""Reading a data sheet: truth recovered, ranges honest, fights named."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.calc.sampling import Draws
from pourwright.catalogue import Catalogue
from pourwright.catalogue.model import Material
from pourwright.cure.ask import next_figures
from pourwright.cure.fit import fit_sheet
from pourwright.cure.forward import predict
from pourwright.cure.prior import NAMES, prior_for
from pourwright.cure.sheet import SheetLine as Line
from pourwright.errors import InputError

CUP_25 = Line("cup_gel", 45 * 60.0, 298.15, 0.1)
CUP_15 = Line("cup_gel", 95 * 60.0, 288.15, 0.1)
TACK = Line("tack_free", 6 * 3600.0, 298.15)


@pytest.fixture(scope="module")
def coating() -> Material:
    return Catalogue().get("resin-coating-1to1")


def test_recovers_a_resin_that_wrote_its_own_sheet(coating: Material) -> None:
    prior = prior_for(coating)
    u = np.zeros(len(NAMES))
    u[:4] = [0.7, -0.8, 0.9, 0.5]
    truth = prior.resin(u[None, :])
    asked = [
        Line("cup_gel", 3000.0, 298.15, 0.1), Line("cup_gel", 9000.0, 285.15, 0.1),
        Line("film_gel", 9000.0, 298.15), Line("film_gel", 20000.0, 285.15),
        Line("peak", 420.0, 298.15, 0.3), Line("viscosity", 0.8, 298.15),
    ]  # fmt: skip
    figures = predict(truth, asked)[0]
    sheet = [
        Line(x.kind, float(v), x.temperature_K, x.mass_kg, spread=1.0 if x.kind == "peak" else 0.01)
        for x, v in zip(asked, figures, strict=True)
    ]
    fit = fit_sheet(sheet, coating)
    assert all(abs(x.residual) < 1.5 for x in fit.lines)
    low, mid, high = fit.spread("energy")
    assert mid == pytest.approx(float(truth.e2[0]), abs=2500.0)
    assert high - low < 0.5 * 2 * 1.645 * 6e3  # two temperatures pin the energy
    elsewhere = [Line("cup_gel", 3000.0, 293.15, 1.0), Line("film_gel", 9000.0, 291.15)]
    assert np.allclose(predict(fit.resin, elsewhere), predict(truth, elsewhere), rtol=0.06)


def test_one_gel_time_leaves_the_energy_at_its_prior(coating: Material) -> None:
    low, mid, high = fit_sheet([CUP_25], coating).spread("energy")
    assert mid == pytest.approx(57e3, abs=1500.0)
    assert (high - low) / (2 * 1.645) == pytest.approx(6e3, rel=0.06)


def test_a_second_temperature_narrows_cold_cups_most(coating: Material) -> None:
    fit = fit_sheet([CUP_25], coating)
    cold = Line("film_gel", 3e4, 286.15)
    ranked = next_figures(fit, cold)
    assert ranked[0].line.temperature_K < 290.0  # asks for a cold figure first
    assert ranked[0].spread_then < 0.75 * ranked[0].spread_now
    with_it = fit_sheet([CUP_25, CUP_15], coating)
    draws = Draws(4, 150)
    before, after = fit.expect(cold, draws), with_it.expect(cold, draws)
    assert np.std(np.log(after)) < np.std(np.log(before))


def test_what_was_promised_of_the_next_figure_comes_true(coating: Material) -> None:
    fit = fit_sheet([CUP_25, CUP_15], coating)
    target = Line("recoat_open", 2e4, 289.15)
    best = next_figures(fit, target)[0]
    again = fit_sheet([CUP_25, CUP_15, best.line], coating)
    then = next_figures(again, target)[0].spread_now
    # the promise is linear; the new fit sits where the figure was expected, so it nearly holds
    assert then == pytest.approx(best.spread_then, rel=0.12)


def test_normal_approximation_against_importance_sampling(coating: Material) -> None:
    """Means and spreads of the normal approximation, checked by weighing its own wide draws."""
    fit = fit_sheet([CUP_25, CUP_15, TACK], coating)
    u = fit.laplace(Draws(9, 3000), 1.15)
    w = fit.weigh(u, 1.15)
    effective = 1.0 / (w**2).sum()
    assert effective > 200  # of 3000; enough for the spreads to about 7 %
    for name in ("early", "ratio", "energy", "heat", "gel", "tack"):
        i = NAMES.index(name)
        mean = float(w @ u[:, i])
        sd = float(np.sqrt(w @ (u[:, i] - mean) ** 2))
        # 0.35 prior standard deviations and 25 %: the posterior is somewhat skewed near runaway,
        # which is why `samples` weighs its draws
        assert abs(mean - fit.best[i]) < 0.35
        assert sd == pytest.approx(np.sqrt(fit.covariance[i, i]), rel=0.25)


def test_samples_obey_the_sheet(coating: Material) -> None:
    fit = fit_sheet([CUP_25, TACK], coating)
    got = predict(fit.samples(Draws(1, 200)), [CUP_25, TACK])
    off = np.log(got / np.array([CUP_25.value, TACK.value])) / np.array([0.12, 0.25])
    assert np.quantile(np.abs(off[:, 0]), 0.9) < 2.6
    assert np.std(off[:, 0]) < 1.2


def test_same_seed_same_samples(coating: Material) -> None:
    fit = fit_sheet([CUP_25], coating)
    a, b = fit.samples(Draws(3, 50)), fit.samples(Draws(3, 50))
    assert np.array_equal(a.k2, b.k2) and np.array_equal(a.gel, b.gel)


@pytest.mark.parametrize(
    ("sheet", "names"),
    [
        ([CUP_25, Line("full_cure", 1800.0, 298.15)], ("gel in a cup", "full cure")),
        ([CUP_25, Line("tack_free", 2000.0, 298.15)], ("gel in a cup", "tack-free")),
        ([Line("recoat_open", 40000.0), Line("recoat_close", 20000.0)], ("earliest", "latest")),
        ([CUP_25, Line("cup_gel", 3000.0, 308.15, 0.1)], ("35 degC", "25 degC")),
        ([CUP_25, Line("cup_gel", 3000.0, 298.15, 1.0)], ("1000 g", "100 g")),
        ([Line("viscosity", 0.5, 288.15), Line("viscosity", 0.9, 298.15)], ("15 degC", "25 degC")),
        ([CUP_25, Line("tack_free", 40 * 3600.0)], ("gel in a cup", "tack-free")),
        ([CUP_25, Line("cup_gel", 300 * 60.0, 288.15, 0.1)], ("25 degC", "15 degC")),
        ([CUP_25, TACK, CUP_15, Line("viscosity", 0.7), Line("viscosity", 30.0, 293.15)],
         ("mixed viscosity at 25", "mixed viscosity at 20")),
    ],
)  # fmt: skip
def test_fighting_lines_are_named(
    coating: Material, sheet: list[Line], names: tuple[str, str]
) -> None:
    with pytest.raises(InputError) as err:
        fit_sheet(sheet, coating)
    line = err.value.line()
    assert all(n in line for n in names) and "\n" not in line


def test_strained_sheets_can_still_be_fitted_on_demand(coating: Material) -> None:
    fit = fit_sheet([CUP_25, Line("tack_free", 40 * 3600.0)], coating, refuse=False)
    assert fit.strain > 13.8 and max(abs(x.residual) for x in fit.lines) > 2.0


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: Line("cup_gel", -5.0), "gel in a cup"),
        (lambda: Line("cup_gel", 3000.0, 298.15, 0.0), "mass"),
        (lambda: Line("cup_gel", 3000.0, 25.0), "temperature"),
        (lambda: Line("viscosity", 1e6), "mixed viscosity"),
        (lambda: Line("nonsense", 1.0), "sheet.kind"),  # type: ignore[arg-type]
        (lambda: Line("tg", 100.0), "glass transition"),
        (lambda: Line("tack_free", 3000.0, spread=0.0), "spread"),
    ],
)
def test_impossible_lines_are_refused_by_name(call: object, word: str) -> None:
    with pytest.raises(InputError) as err:
        call()  # type: ignore[operator]
    assert word in err.value.field


def test_an_empty_sheet_is_refused(coating: Material) -> None:
    with pytest.raises(InputError):
        fit_sheet([], coating)
