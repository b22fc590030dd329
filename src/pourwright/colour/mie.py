"""Mie theory: absorption and scattering per mass of round grains in resin.

Used by the scripts that derive the pigment tables, and free for a user's own optical constants.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def mie(m: ArrayLike, x: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Efficiencies of spheres.

    Parameters
    ----------
    m : array_like [-]
        Refractive index over the surrounding one, complex n + i k (k 0 or more).
    x : array_like [-]
        Size parameter pi D/lambda, lambda in the surrounding medium; 1e-3 to 200.

    Returns
    -------
    tuple of 3 ndarrays [-]
        Extinction and scattering efficiency and mean cosine g; broadcast shape. Source: Bohren
        and Huffman 1983, Absorption and Scattering of Light by Small Particles, chapter 4, with
        the logarithmic derivative by downward recurrence.
    """
    mm, xx = np.broadcast_arrays(np.asarray(m, dtype=complex), np.asarray(x, dtype=float))
    mm = mm.real + 1j * np.abs(mm.imag)
    terms = int(np.max(xx + 4.05 * np.cbrt(xx) + 2)) + 1
    y = mm * xx
    start = int(max(terms, np.max(np.abs(y)))) + 16
    d = np.zeros((terms + 1, *xx.shape), dtype=complex)
    dn = np.zeros(xx.shape, dtype=complex)
    for n in range(start, 0, -1):
        dn = n / y - 1 / (dn + n / y)
        if n - 1 <= terms:
            d[n - 1] = dn
    # Riccati-Bessel functions upwards, psi and chi
    psi0, psi1 = np.cos(xx), np.sin(xx)
    chi0, chi1 = -np.sin(xx), np.cos(xx)
    ext = np.zeros(xx.shape)
    sca = np.zeros(xx.shape)
    asym = np.zeros(xx.shape)
    a_old = b_old = np.zeros(xx.shape, dtype=complex)
    for n in range(1, terms + 1):
        psi = (2 * n - 1) / xx * psi1 - psi0
        chi = (2 * n - 1) / xx * chi1 - chi0
        xi, xi1 = psi - 1j * chi, psi1 - 1j * chi1
        use = n <= xx + 4.05 * np.cbrt(xx) + 2
        ta, tb = d[n] / mm + n / xx, d[n] * mm + n / xx
        a = np.where(use, (ta * psi - psi1) / (ta * xi - xi1), 0)
        b = np.where(use, (tb * psi - psi1) / (tb * xi - xi1), 0)
        ext += (2 * n + 1) * (a + b).real
        sca += (2 * n + 1) * (np.abs(a) ** 2 + np.abs(b) ** 2)
        asym += (2 * n + 1) / (n * (n + 1)) * (a * b.conj()).real
        if n > 1:
            asym += (n * n - 1) / n * (a_old * a.conj() + b_old * b.conj()).real
        a_old, b_old = a, b
        psi0, psi1, chi0, chi1 = psi1, psi, chi1, chi
    q = 2 / xx**2
    return q * ext, q * sca, 2 * asym / np.maximum(sca, 1e-300)


@dataclass(frozen=True, eq=False)
class GrainOptics:
    """Per mass of pigment: absorption mu_a, scattering mu_s [m2/kg] and mean cosine g [-]."""

    mu_a: Floats
    mu_s: Floats
    g: Floats

    @property
    def k(self) -> Floats:
        """Two-flux absorption [m2/kg], 2 mu_a."""
        return 2 * self.mu_a

    @property
    def s(self) -> Floats:
        """Two-flux scattering [m2/kg], 3/4 mu_s (1 - g) (Gate 1974)."""
        return 0.75 * self.mu_s * (1 - self.g)


def grain_optics(
    index: ArrayLike,
    wavelength: ArrayLike,
    diameter: float,
    density: float,
    spread: float = 1.35,
    n_resin: float = 1.55,
    nodes: int = 31,
) -> GrainOptics:
    """Optics per mass of a pigment with a lognormal size distribution.

    Parameters
    ----------
    index : array_like [-]
        Complex refractive index n + i k per wavelength.
    wavelength : array_like [m]
        Vacuum wavelengths, same shape.
    diameter : float [m]
        Median diameter by volume, 1e-8 to 2e-6.
    density : float [kg/m3]
        Density of the pigment.
    spread : float [-]
        Geometric standard deviation, 1 to 2.
    n_resin : float [-]
        Index of the resin.
    nodes : int [-]
        Sizes used, within 3 standard deviations.

    Returns
    -------
    GrainOptics [m2/kg]
        mu = 3 Q/(2 rho D) averaged by volume.
    """
    z = np.linspace(-3, 3, nodes)
    share = np.exp(-0.5 * z * z)
    share /= share.sum()
    d = diameter * np.exp(z * np.log(spread))
    lam = np.asarray(wavelength, dtype=float)[:, None]
    m = np.asarray(index, dtype=complex)[:, None] / n_resin
    ext, sca, g = mie(m, np.pi * d * n_resin / lam)
    per_mass = share * 1.5 / (density * d)
    mu_s = np.sum(per_mass * sca, axis=1)
    mu_a = np.sum(per_mass * np.maximum(ext - sca, 0.0), axis=1)
    return GrainOptics(mu_a, mu_s, np.sum(per_mass * sca * g, axis=1) / np.maximum(mu_s, 1e-300))
