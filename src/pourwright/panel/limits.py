"""What every piece of a surface must respect: sheet, way in, weight, distance from cut-outs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pourwright.panel.door import CLEARANCE, Opening

TWO_PERSON_KG = 40.0  # common practice for two people with a good grip; local rules decide [kg]
KEEP_OFF = 0.10  # joint to cut-out; common practice [m]
LEAST_PIECE = 0.15  # shortest piece between two joints; common practice [m]


@dataclass(frozen=True, slots=True)
class Limits:
    """What every piece must respect.

    Parameters
    ----------
    sheet_length, sheet_width : float [m]
        Largest piece that a sheet yields, inside the trim.
    grain : bool [-]
        True when a piece's length must lie along the sheet's length.
    openings : tuple of Opening [m]
        The way in.
    thickness : float [m]
        Of the finished piece with its turned-down edges.
    areal_mass : float [kg/m2]
        Of the piece as it is carried.
    lift : float [kg]
        Heaviest piece.
    keep_off : float [m]
        Least distance of a joint from a cut-out.
    least_piece : float [m]
        Shortest piece between two joints.
    clearance : float [m]
        Room wanted each side in an opening.
    """

    sheet_length: float = math.inf
    sheet_width: float = math.inf
    grain: bool = False
    openings: tuple[Opening, ...] = ()
    thickness: float = 0.018
    areal_mass: float = 13.5
    lift: float = TWO_PERSON_KG
    keep_off: float = KEEP_OFF
    least_piece: float = LEAST_PIECE
    clearance: float = CLEARANCE
