"""Calculations of this room: `panel.cut`, `panel.joints`, `panel.door`."""

from pourwright.panel.calc_cut import CutInput, CutValue, cut
from pourwright.panel.calc_pieces import (
    DoorInput,
    DoorValue,
    JointsInput,
    JointsValue,
    door,
    joints,
)

__all__ = [
    "CutInput",
    "CutValue",
    "DoorInput",
    "DoorValue",
    "JointsInput",
    "JointsValue",
    "cut",
    "door",
    "joints",
]
