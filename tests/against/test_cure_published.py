"""Cure against published formulas, open data and published constants.

Marks follow the sources: what is "from memory" says so. No published, room-temperature-fitted,
complete parameter set and no published table of pot life against mass (other than vendors') could
be found, so the rates of the resin classes themselves have NO published check.
"""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.cure import gel, glass, kinetics, reaction_heat, viscosity
from pourwright.cure.runaway import critical_delta

H = 3600.0


class TestGel:
    """Flory 1941 and Stockmayer 1943: p_A p_B = 1/((f-1)(g-1)). Exact algebra, so 1e-5."""

    @pytest.mark.parametrize(
        ("b", "expected"),
        [(0.5, 0.4082), (0.7, 0.4830), (0.8, 0.5164), (0.9, 0.5477), (1.0, 0.57735),
         (1.1, 0.6055), (1.2, 0.6325), (1.5, 0.7071), (2.0, 0.8165), (3.0, 1.0)],
    )  # fmt: skip
    def test_off_ratio(self, b: float, expected: float) -> None:
        assert gel.gel_conversion(b) == pytest.approx(expected, abs=5e-5)

    @pytest.mark.parametrize(("f", "expected"), [(4, 0.57735), (5, 0.5), (6, 0.44721)])
    def test_functionality(self, f: float, expected: float) -> None:
        assert gel.gel_conversion(1.0, f) == pytest.approx(expected, abs=1e-5)

    @pytest.mark.parametrize(("x", "expected"), [(0.1, 0.6086), (0.2, 0.6455), (0.3, 0.6901)])
    def test_monofunctional_diluent(self, x: float, expected: float) -> None:
        assert gel.gel_with_diluent(x) == pytest.approx(expected, abs=5e-5)

    @pytest.mark.parametrize(
        ("ratio", "expected"),
        [(0.0, 0.6180), (0.25, 0.6103), (0.45, 0.5988), (0.65, 0.5895), (1.0, 0.5774),
         (2.0, 0.5566), (1e6, 0.5000)],
    )  # fmt: skip
    def test_unequal_amine_reactivity(self, ratio: float, expected: float) -> None:
        """0.65 and 0.45 are measured ratios: Girard-Reydet et al. 1995, Macromolecules 28, 7599."""
        assert gel.gel_unequal_amine(ratio) == pytest.approx(expected, abs=6e-5)

    def test_network_of_miller_and_macosko(self) -> None:
        """Miller and Macosko 1976 (from memory), worked out for A4 + B2; four digits given."""
        p, x, _ = gel.network(np.array([0.8, 1.0]), np.array([0.8, 1.2]))
        assert np.allclose(p, [0.2071, 0.1708], atol=5e-5)
        assert np.allclose(x, [0.8082, 0.8622], atol=5e-5)
        assert gel.network(1.0, 2.0)[0] == pytest.approx(gel.network(0.5, 0.5)[0])
        assert gel.network(1.0, 2.0)[0] == pytest.approx(0.6180, abs=5e-5)
        b = np.array([0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.5, 2.0])
        sol = [0.3582, 0.1896, 0.0921, 0.0366, 0.0085, 0, 0, 0.0002, 0.0009, 0.0063, 0.0836]
        got = gel.sol_fraction(np.minimum(1, b), b, 0.190, 0.0426)
        assert np.allclose(got, sol, atol=6e-5)


class TestKinetics:
    def test_nth_order_set_of_an_eutectic_aromatic_amine(self) -> None:
        """E 49.2 kJ/mol, n 0.95, A 2.60e5 1/s (yhclgy.com abstract 3507); t(0.5) at 25 degC.

        1e-5 relative: the check value has seven digits.
        """
        k = 2.60e5 * np.exp(-49.2e3 / kinetics.R / 298.15)
        assert kinetics.time_nth_order(0.5, k, 0.95) == pytest.approx(1090.976, rel=1e-5)
        assert kinetics.time_nth_order(0.5774, k, 0.95) / H == pytest.approx(0.3750, abs=5e-5)

    # open data: github tkmeldrum/epoxy_HPC, posterior_summary_DSC.csv at 2609a132, DGEBA with
    # ethylenediamine; (degC, log10 k1, log10 k2, m, n, r, hours to 0.1, 0.3, 0.5, 0.5774, 0.7,
    # rate at 0.3). Four of its ten isothermal rows are at hand.
    OPEN = (
        (25, -4.44648, -3.57592, 1.58831, 1.47897, 0.78885,
         (0.9416, 2.671, 4.367, 5.157, 7.007), 3.3935e-5),
        (50, -4.06808, -3.04649, 0.73744, 1.54240, 0.68223,
         (0.2423, 0.5736, 0.9917, 1.263, np.inf), 1.6469e-4),
        (60, -4.31372, -2.91385, 0.42967, 1.67840, 0.72830,
         (0.1213, 0.2993, 0.5580, 0.7295, 1.420), 2.8219e-4),
        (80, -2.71726, -2.47201, 0.84541, 1.46909, 1.01913,
         (0.01359, 0.04106, 0.07460, 0.09125, 0.1264), 1.8944e-3),
    )  # fmt: skip

    @pytest.mark.parametrize("row", OPEN, ids=lambda r: f"{r[0]} degC")
    def test_open_isothermal_data(self, row: tuple) -> None:  # type: ignore[type-arg]
        """Times and rates of the open data's fitted rows; 4 digits given, so 6e-4."""
        _, l1, l2, m, n, r, hours, rate = row

        def law(a: np.ndarray) -> np.ndarray:
            return np.asarray(kinetics.rate_kamal(a, 10**l1, 10**l2, m, n, r))

        got = [kinetics.time_to_conversion(law, a) / H for a in (0.1, 0.3, 0.5, 0.5774, 0.7)]
        assert np.allclose(got, hours, rtol=6e-4)
        assert law(np.array(0.3)) == pytest.approx(rate, rel=1e-4)

    def test_open_data_at_25_degrees_stops_short_of_full_cure(self) -> None:
        row = self.OPEN[0]

        def law(a: np.ndarray) -> np.ndarray:
            return np.asarray(kinetics.rate_kamal(a, 10 ** row[1], 10 ** row[2], *row[3:6]))

        assert kinetics.time_to_conversion(law, 0.5) == pytest.approx(15721.71, rel=1e-6)
        assert kinetics.time_to_conversion(law, 0.9) == np.inf

    def test_open_data_energy_lies_inside_the_prior(self) -> None:
        """Energy from t(0.3) and t(0.5) of the open rows at 25 to 80 degC: 64.7 and 62.8 kJ/mol
        in the notes; here from a straight line through all four rows, hence 1.5 kJ/mol."""
        x = [1 / (kinetics.R * (row[0] + 273.15)) for row in self.OPEN]
        for i, expected in ((1, 64.7e3), (2, 62.8e3)):
            slope = np.polyfit(x, [np.log(row[6][i]) for row in self.OPEN], 1)[0]
            assert slope == pytest.approx(expected, abs=1.5e3)
            assert abs(slope - 57e3) < 2 * 6e3

    def test_published_energies_bracket_the_prior(self) -> None:
        """OH-catalysed energies of aliphatic and cycloaliphatic amines, kJ/mol: Riccardi 1984 58.6;
        Barral 1995 44 and 57; JAPS 79 (2001) 214 70; Polimeros 2008 46; China Adhesives 2016 59.8;
        polyamide 53.7; adipate with aminoethylpiperazine 61.4; Swier 2004 48."""
        seen = np.array([58.6, 44.0, 57.0, 70.0, 46.0, 59.8, 53.7, 61.4, 48.0])
        assert seen.min() < 57.0 < seen.max()
        assert np.mean(np.abs(seen - 57.0) < 2 * 6.0) > 0.7
        from pourwright.catalogue import Catalogue

        for ident in ("resin-coating-1to1", "resin-colour-1to1-uv", "resin-casting-2to1"):
            prop = Catalogue().get(ident).prop("activation_energy_J_mol")
            assert seen.min() * 1e3 < prop.value < seen.max() * 1e3
            assert (
                prop.low < np.quantile(seen, 0.2) * 1e3 and prop.high > np.quantile(seen, 0.8) * 1e3
            )

    def test_prepreg_set_with_diffusion_factor(self) -> None:
        """180 degC prepreg class: A 1.53e5 1/s, E 66.5 kJ/mol, m 0.813, n 2.74, C 43.1, critical
        conversion -1.684 + 5.475e-3 T, start 0.002 (two public repositories; original Hubert et al.
        2001, from memory): 0.3, 0.47, 0.6 at 17.127, 24.339, 33.442 min. Five digits given."""
        t = 453.15
        k = 1.53e5 * np.exp(-66.5e3 / kinetics.R / t)

        def law(a: np.ndarray) -> np.ndarray:
            slow = glass.diffusion_factor(a, -1.684 + 5.475e-3 * t, 43.1)
            return np.asarray(kinetics.rate_kamal(a, 0.0, k, 0.813, 2.74) * slow)

        got = [kinetics.time_to_conversion(law, a, 0.002) / 60 for a in (0.3, 0.47, 0.6)]
        assert np.allclose(got, [17.127, 24.339, 33.442], rtol=5e-5)

    def test_q10_table(self) -> None:
        """Arrhenius: times per 10 K for each energy; doubling from 20 to 30 degC needs 51.22."""
        table = {
            45: (1.919, 1.878, 1.839, 1.802, 1.768), 50: (2.064, 2.014, 1.967, 1.924, 1.884),
            55: (2.219, 2.160, 2.105, 2.054, 2.007), 58.6: (2.338, 2.271, 2.210, 2.154, 2.101),
            65: (2.565, 2.484, 2.410, 2.342, 2.278), 70: (2.757, 2.664, 2.579, 2.500, 2.427),
        }  # fmt: skip
        for energy, row in table.items():
            for start, expected in zip((10, 15, 20, 25, 30), row, strict=True):
                got = kinetics.rate_factor(energy * 1e3, start + 273.15, start + 283.15)
                assert got == pytest.approx(expected, abs=6e-4)
        assert kinetics.rate_factor(51.22e3, 293.15, 303.15) == pytest.approx(2.0, abs=2e-4)


class TestHeat:
    def test_measured_heat_of_reaction(self) -> None:
        """EEW 187, AHEW 27.5: 486 J/g measured, Tg 124 degC (Polimeros, SciELO
        56LhNB7ckYdFRPYLDcJK9ZM). From 106.6 kJ/eq we get 497 J/g, 2.3 % over: 3 % allowed."""
        got = reaction_heat.heat_of_mix(0.187, 0.0275, 1.0, 106.6e3)
        assert got == pytest.approx(497.0e3, rel=1e-3)
        assert got == pytest.approx(486e3, rel=0.03)

    def test_heats_by_equivalent_weights(self) -> None:
        for total, heat, rise_18, rise_20 in (
            (0.202, 527.7, 293, 264), (0.2145, 497.0, 276, 249), (0.250, 426.4, 237, 213),
            (0.290, 367.6, 204, 184), (0.330, 323.0, 180, 162),
        ):  # fmt: skip
            got = reaction_heat.heat_of_mix(total - 0.05, 0.05, 1.0, 106.6e3)
            assert got / 1e3 == pytest.approx(heat, abs=0.06)
            assert reaction_heat.adiabatic_rise(got, 1800.0) == pytest.approx(rise_18, abs=0.6)
            assert reaction_heat.adiabatic_rise(got, 2000.0) == pytest.approx(rise_20, abs=0.6)

    @pytest.mark.parametrize(
        ("shape", "published", "exact", "centre"),
        [("slab", 0.88, 0.878458, 1.1868), ("cylinder", 2.00, 2.0, np.log(4.0)),
         ("sphere", 3.32, 3.322, 1.607)],
    )  # fmt: skip
    def test_frank_kamenetskii(
        self, shape: str, published: float, exact: float, centre: float
    ) -> None:
        """Frank-Kamenetskii 1955: 0.88, 2.00, 3.32; slab and cylinder also in closed form."""
        delta, theta = critical_delta(shape)  # type: ignore[arg-type]
        assert delta == pytest.approx(published, abs=0.005)
        assert delta == pytest.approx(exact, abs=1e-4)
        assert theta == pytest.approx(centre, abs=2e-3)


class TestGlassAndViscosity:
    def test_dibenedetto(self) -> None:
        """Pascault and Williams 1990 (from memory), (-35, 75 degC, 0.45)."""
        at = glass.dibenedetto(np.array([0.5774, 0.9]), -35.0, 75.0, 0.45)
        assert np.allclose(at, [6.88, 53.22], atol=0.01)
        assert glass.conversion_at_tg(25.0, -35.0, 75.0, 0.45) == pytest.approx(0.7273, abs=5e-5)
        for (low, high), row in {
            (-22, 124): (0.5756, 0.5134, 0.4417), (-35, 75): (0.7742, 0.7273, 0.6667),
            (-35, 55): (0.8511, 0.8163, 0.7692),
        }.items():  # fmt: skip
            got = [glass.conversion_at_tg(25.0, low, high, x) for x in (0.35, 0.45, 0.60)]
            assert np.allclose(got, row, atol=6e-5)

    def test_wlf(self) -> None:
        """Universal constants 17.44 and 51.6 K (Williams, Landel and Ferry 1955, from memory)."""
        got = glass.wlf_log_shift(np.array([20.0, 40.0, 60.0, 100.0]))
        assert np.allclose(got, [-4.8715, -7.6157, -9.3763, -11.504], atol=5e-4)

    def test_castro_macosko_ratios(self) -> None:
        """Castro and Macosko 1982, AIChE J. 28, 250 (constants from memory)."""
        for (ag, a, b), row in {
            (3**-0.5, 1.5, 1.0): (0.19389, 0.33695, 0.40497, 0.51839),
            (0.65, 1.5, 1.0): (0.21600, 0.37455, 0.45038, 0.57905),
            (0.47, 3.8, 2.5): (0.07499, 0.15032, 0.19527, 0.29925),
        }.items():
            got = [viscosity.conversion_at_thickening(x, ag, a, b) for x in (2, 5, 10, 100)]
            assert np.allclose(got, row, atol=2e-5)

    def test_prepreg_viscosity(self) -> None:
        """3.45e-10 Pa s and 76.536 kJ/mol (public repository; the notes round the energy to 76.5,
        which would be 1.3 % low): 344.89, 72.125, 9.3698 Pa s at 60, 80, 110 degC; five digits."""
        t = np.array([60.0, 80.0, 110.0]) + 273.15
        got = viscosity.castro_macosko(0.0, t, 3.45e-10, 76.536e3, 0.47, 3.8, 2.5)
        assert np.allclose(got, [344.89, 72.125, 9.3698], rtol=3e-5)

    def test_rate_times_gel_time_is_constant_over_cure_conditions(self) -> None:
        """Rheokinetic rule "product of initial rate and gel time is constant over cure conditions"
        (Rheokinetics of curing of epoxy resins near the glass transition, abstract)."""
        products = []
        for t in (283.15, 298.15, 313.15):
            k1, k2 = (kinetics.arrhenius(k, 58.6e3, t) for k in (1.75e-5, 3.5e-4))
            products.append(k1 * kinetics.time_horie(3**-0.5, k1, k2))
        assert np.ptp(products) / products[0] < 1e-9

    def test_tack_free_anchor(self) -> None:
        """No-tack stage needs a conversion of 0.60 or more: Bashir 2023, Coatings 13, 592."""
        from pourwright.catalogue import Catalogue
        from pourwright.cure import Resin

        for ident in ("resin-coating-1to1", "resin-colour-1to1-uv", "resin-casting-2to1"):
            assert Resin.from_material(Catalogue().get(ident)).tack[0] >= 0.60
            assert Catalogue().get(ident).prop("tack_conversion").low >= 0.60

    def test_dilute_amine_ratio_gives_balance_one(self) -> None:
        """The classes' AHEW is worked out from their mixing ratio: their own balance must be 1."""
        from pourwright.catalogue import Catalogue

        for ident, parts in (
            ("resin-coating-1to1", 1.0), ("resin-colour-1to1-uv", 1.0), ("resin-casting-2to1", 2.0)
        ):  # fmt: skip
            m = Catalogue().get(ident)
            mass = parts * m["density_a_kg_m3"] / m["density_b_kg_m3"]
            got = reaction_heat.balance_of(mass, m["eew_kg_mol"], m["ahew_kg_mol"])
            assert got == pytest.approx(1.0, abs=2e-3)
            mixed = (parts * m["density_a_kg_m3"] + m["density_b_kg_m3"]) / (parts + 1)
            assert m["density_kg_m3"] == pytest.approx(mixed, rel=2e-3)
