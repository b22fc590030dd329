"""Properties of one resin drawn jointly: what was learned together stays together.

A learned product carries, beside its ranges, how its unknowns go together (a fast resin with a
small ratio shows the same times as a slow one with a large one). Each property keeps its own range;
the standard normal draws behind them are given the stated correlation (a Gaussian copula; Nataf
1962, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pourwright.calc.sampling import Draws
from pourwright.errors import InputError

if TYPE_CHECKING:
    from pourwright.catalogue.model import Material

STREAM = "cure."
MOST = 40


class JointDraws(Draws):
    """Common random numbers of which some streams go together.

    Parameters
    ----------
    draws : Draws [-]
        Seed and count.
    streams : sequence of str [-]
        Names of the streams, the leading one first: it stays as it is drawn alone.
    correlation : array [-]
        Of their standard normal draws, shape (k, k), positive definite.
    """

    def __init__(
        self, draws: Draws, streams: Sequence[str], correlation: NDArray[np.float64]
    ) -> None:
        super().__init__(draws.seed, draws.count)
        alone = np.stack([draws.normal(s) for s in streams])
        if draws.count > 4 * len(streams):
            # few draws are correlated by chance; taken out, the leading stream stays as it is
            alone = np.linalg.solve(np.linalg.cholesky(np.corrcoef(alone)), alone)
        joint = np.linalg.cholesky(correlation) @ alone
        self._joint = dict(zip(streams, joint, strict=True))

    def normal(self, name: str) -> NDArray[np.float64]:
        """Standard normal draws [-] for the input `name`, shape (count,)."""
        found = self._joint.get(name)
        return super().normal(name) if found is None else found


def joint_draws(material: Material, draws: Draws) -> Draws:
    """Draws for the properties of `material` [-] that keep the correlation it states.

    Parameters
    ----------
    material : Material [-]
        ``facts.learned.joint`` holds ``keys`` and the ``lower`` triangle of their correlation,
        row by row without the diagonal; without it nothing is changed.
    draws : Draws [-]
        Common random numbers.

    Returns
    -------
    Draws [-]

    Raises
    ------
    InputError
        Numbers that are no correlation.
    """
    learned = material.facts.get("learned")
    joint = learned.get("joint") if isinstance(learned, dict) else None
    if joint is None:
        return draws
    keys, correlation = _read(joint, f"{material.id}.facts.learned.joint")
    return JointDraws(draws, [STREAM + k for k in keys], correlation)


def _read(joint: Any, field: str) -> tuple[list[str], NDArray[np.float64]]:
    refused = InputError(
        field, "these numbers", "keys, and the lower triangle of their correlation row by row",
        "Write the file anew with 'pourwright record JOB --learn FILE'.",
    )  # fmt: skip
    try:
        keys = [str(k) for k in joint["keys"]]
        lower = np.array([float(x) for x in joint["lower"]])
    except (KeyError, TypeError, ValueError):
        raise refused from None
    n = len(keys)
    whole = n * (n - 1) // 2
    if not 0 < n <= MOST or len(set(keys)) != n or lower.size != whole:
        raise refused
    if not np.all(np.abs(lower) < 1.0):
        raise refused
    out = np.eye(n)
    out[np.tril_indices(n, -1)] = lower
    out = out + np.tril(out, -1).T
    least = float(np.linalg.eigvalsh(out).min())
    if least < -0.01:
        raise refused
    if least < 1e-6:  # rounding of a nearly singular one
        out = (out + (1e-6 - least) * np.eye(n)) / (1.0 + 1e-6 - least)
    return keys, out
