"""Too much spreading makes one muddy colour, and the index says so."""

from __future__ import annotations

from pourwright.pattern import pour, read_score, rectangle, score_from_intent, separation


def _index(strokes: int, folds: float = 1.0, strand: float = 2.0):
    moves = [
        {"do": "coat", "uses": {"a": 0.2, "b": 0.2}, "folds": folds, "band_mm": 12},
        {
            "do": "ribbons",
            "uses": {"a": 0.3, "b": 0.3},
            "width_mm": 30,
            "strand_mm": strand,
            "length_mm": 250,
            "separate": 0.0,
        },
    ]
    if strokes:
        moves.append(
            {
                "do": "spread",
                "strokes": strokes,
                "blade_mm": 70,
                "length_mm": 180,
                "grip": 0.85,
                "contact_mm": 20,
                "turn_deg": 70,
            }
        )
    data = {"name": "x", "written_for_m2": 0.0432, "cups": {"a": 0.5, "b": 0.5}, "moves": moves}
    return separation(pour(read_score(data), rectangle(0.24, 0.18), 0.003, cell=0.005))


def test_spreading_lowers_the_index_and_warns():
    crisp, worked, ruined = _index(0), _index(8), _index(70)
    assert crisp.index > worked.index > ruined.index
    assert not crisp.muddy
    assert ruined.muddy and "muddy" in ruined.words


def test_shades_folded_into_one_are_muddy():
    data = {
        "name": "x",
        "cups": {"a": 0.5, "b": 0.5},
        "moves": [{"do": "coat", "uses": {"a": 0.5, "b": 0.5}, "folds": 0.0}],
    }
    flat = separation(pour(read_score(data), rectangle(0.2, 0.16), 0.003, cell=0.006))
    assert flat.muddy


def test_intent_orders_separation():
    found = []
    for word in ("soft", "crisp"):
        score = score_from_intent({"a": 1, "b": 1}, separate=word, scale=200.0)
        found.append(separation(pour(score, rectangle(0.3, 0.2), 0.003, cell=0.006)).index)
    assert found[0] < found[1]
