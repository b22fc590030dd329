"""Weight of a build-up: per area, per piece, and beside other build-ups of the same size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pourwright.endure.layers import Floats, Layer, check_layers, stack
from pourwright.endure.span import sag_span, section
from pourwright.errors import InputError
from pourwright.words import Amount, say


def areal_mass(layers: Sequence[Layer]) -> Floats:
    """Mass of a build-up per area.

    Parameters
    ----------
    layers : sequence of Layer [-]
        From the face to the back.

    Returns
    -------
    array [kg/m2]

    Raises
    ------
    InputError
        Unusable layers.

    Notes
    -----
    Sum of density times thickness.
    """
    check_layers(layers)
    rho, t = stack(layers, "density"), stack(layers, "thickness")
    return (rho * t).sum(axis=0)


@dataclass(frozen=True, slots=True)
class PieceWeight:
    """Weight of one piece.

    Attributes
    ----------
    name : str [-]
        The piece.
    area : float [m2]
        Its face.
    mass : array [kg]
        Total mass.
    by_layer : dict of array [kg]
        Mass of each layer of the face.
    edges : array [kg]
        Coats on edges and turned-down fronts, and extra parts.
    """

    name: str
    area: float
    mass: Floats
    by_layer: dict[str, Floats]
    edges: Floats


def piece_weight(
    name: str,
    area: float,
    layers: Sequence[Layer],
    edge_area: float = 0.0,
    extra: float = 0.0,
) -> PieceWeight:
    """Weight of one piece with its coated edges and what is fixed under it.

    Parameters
    ----------
    name : str [-]
        The piece.
    area : float [m2]
        Face area, cut-outs taken off.
    layers : sequence of Layer [-]
        From the face to the back.
    edge_area : float [m2]
        Developed area of coated edges and turned-down fronts; coats only.
    extra : float [kg]
        Build-up strips, brackets, splash-backs.

    Returns
    -------
    PieceWeight [kg]

    Raises
    ------
    InputError
        A negative area or extra, or unusable layers.

    Notes
    -----
    Sum of density times volume.
    """
    for field, x, unit in (
        ("area", area, "m2"),
        ("edge area", edge_area, "m2"),
        ("extra", extra, "kg"),
    ):
        if not x >= 0.0:
            raise InputError(
                f"{name}.{field}",
                x,
                say("{least:g} or more", least=Amount(0.0, unit)),
                "Correct it.",
            )
    check_layers(layers)
    rows: dict[str, Floats] = {}
    for layer in layers:
        kg = np.asarray(layer.density, float) * np.asarray(layer.thickness, float) * area
        rows[layer.name] = rows.get(layer.name, np.zeros(())) + kg
    film = sum(
        (
            np.asarray(x.density, float) * np.asarray(x.thickness, float)
            for x in layers
            if x.role == "coat"
        ),
        start=np.zeros(()),
    )
    edges = film * edge_area + extra
    return PieceWeight(name, area, sum(rows.values(), start=np.zeros(())) + edges, rows, edges)


def compare_tops(
    area: float, tops: Mapping[str, Sequence[Layer]], existing: float | None = None
) -> list[tuple[str, float, float]]:
    """Weight of several build-ups at the same size, lightest first.

    Parameters
    ----------
    area : float [m2]
        Face area.
    tops : mapping of name to layers [-]
        Build-ups to compare (middle values are used).
    existing : float or None [kg]
        Weight of what comes out; the last column is the change against it.

    Returns
    -------
    list of (name, mass, change) [kg]
        Change is against `existing`, or against the lightest when none is given.

    Raises
    ------
    InputError
        A negative area or nothing to compare.

    Notes
    -----
    Sum of density times thickness times area.
    """
    if not area >= 0.0 or not tops:
        raise InputError("comparison", area, "an area and at least one build-up", "Add them.")
    rows = [(n, float(np.median(areal_mass(x))) * area) for n, x in tops.items()]
    rows.sort(key=lambda r: r[1])
    base = rows[0][1] if existing is None else existing
    return [(n, m, m - base) for n, m in rows]


def relative_sag(layers: Sequence[Layer], other: Sequence[Layer], span: float = 0.6) -> float:
    """How much more one build-up sags than another under the same point load.

    Parameters
    ----------
    layers, other : sequence of Layer [-]
        The build-up asked about, and the one it is compared with (middle values).
    span : float [m]
        Span looked at; a soft core loses more on a short one.

    Returns
    -------
    float [-]
        2 means twice the sag.

    Raises
    ------
    InputError
        Unusable layers.

    Notes
    -----
    Beam statics with shear.
    """
    one, two = (sag_span(section(x, 1.0), span, 1000.0) for x in (layers, other))
    return float(np.median(one) / np.median(two))


def people_needed(mass: float, longest: float, each: float = 20.0, reach: float = 1.6) -> int:
    """How many people should carry a piece.

    Parameters
    ----------
    mass : float [kg]
        Piece weight.
    longest : float [m]
        Longest side.
    each : float [kg]
        What one person should carry of an awkward flat piece.
    reach : float [m]
        A piece longer than this takes two however light it is.

    Returns
    -------
    int [-]

    Notes
    -----
    20 kg each and 1.6 m: common practice; local manual-handling rules decide.
    """
    return max(1, int(np.ceil(mass / each - 1e-9)), 2 if longest > reach else 1)
