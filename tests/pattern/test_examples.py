"""The three scores that ship can be read and use no more than they mix."""

from __future__ import annotations

from pathlib import Path

import pytest

from pourwright.pattern import FlowClock, read_score, schedule

SCORES = sorted((Path(__file__).parents[2] / "examples" / "scores").glob("*.toml"))


@pytest.mark.parametrize("path", SCORES, ids=lambda p: p.stem)
def test_example_scores_are_sound(path):
    score = read_score(path)
    slots = schedule(score, FlowClock.doubling())
    assert len(slots) == len(score.moves)
    assert slots[-1].end > 0


def test_all_three_finishes_are_there():
    assert {p.stem for p in SCORES} >= {"galley", "cafe-bar", "wet-room"}
