"""The job file: exact round trip, and every documented bad input refused with its remedy."""

from __future__ import annotations

from pathlib import Path

import pytest

from pourwright.errors import InputError
from pourwright.plan import load_job, plan_job, read_job, write_job
from pourwright.plan.context import Context
from pourwright.plan.look import look_over

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda p: p.stem)
def test_round_trip_is_exact(path: Path) -> None:
    job = load_job(path)
    assert read_job(write_job(job)) == job


BAD = [
    ('name = "Galley of a canal boat"', 'name = ""', "name"),
    ("schema = 1", "schema = 99", "schema"),
    ("seed = 17", "seed = -1", "seed"),
    ('coolest = "13 degC"', 'coolest = "13"', "coolest"),
    ('coolest = "13 degC"', 'coolest = "nan degC"', "coolest"),
    ('coolest = "13 degC"', 'coolest = "25 degC"', "coolest"),
    ('humidity = "62 %"', 'humidity = "162 %"', "humidity"),
    ('from = "08:00"', 'from = "8 o\'clock"', "from"),
    ('from = "08:00"', 'from = "19:00"', "hours"),
    ('size = ["2100 mm", "600 mm"]', 'size = ["2100 mm", "-600 mm"]', "leg-a"),
    ('size = ["2100 mm", "600 mm"]', "size = [2100, 600]", "size"),
    ('corner_radius = "60 mm"\nother_edges', 'corner_radius = "400 mm"\nother_edges', "table"),
    ('film = "3 fl oz/ft2"', 'film = "3 fl oz"', "film"),
    ('film = "3 fl oz/ft2"', 'film = "90 mm"', "film"),
    ('share = "60 %"', 'share = "72 %"', "shades"),
    ('shade = "slate"', 'shade = "slaet"', "shade"),
    ('resin = "resin-coating-1to1"', 'resin = "resin-nowhere"', "resin"),
    ('material = "pvc-foam"', 'material = "pvc-fome"', "core.material"),
    ('thickness = "20 mm"', 'thickness = "20"', "thickness"),
    ('risk = "5 %"', 'risk = "0 %"', "risk"),
    ('vessel = "1 L"', 'vessel = "1 m"', "vessel"),
    ("start = 2027-03-15", 'start = "tomorrow"', "start"),
    ("[finish]", "[finnish]", "finnish"),
]


@pytest.mark.parametrize("old,new,names", BAD, ids=[b[1][:32] for b in BAD])
def test_bad_input_names_field_and_remedy(galley_text: str, old: str, new: str, names: str) -> None:
    assert old in galley_text
    with pytest.raises(InputError) as err:
        plan_job(read_job(galley_text.replace(old, new, 1)), EXAMPLES)
    line = err.value.line()
    assert names in line
    assert "\n" not in line and len(line) < 500
    assert err.value.remedy.endswith((".", "?", "!"))


def test_not_toml_shows_the_line(galley_text: str) -> None:
    with pytest.raises(InputError) as err:
        read_job(galley_text.replace("seed = 17", "seed = = 17"))
    assert "seed = = 17" in err.value.line()


@pytest.mark.parametrize("text", ["", "[[[[", "a = " + "[" * 5000, "x" * 100_000, "\x00"])
def test_hostile_text_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_job(text)


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        load_job(tmp_path / "none.toml")
    with pytest.raises(InputError, match="folder"):
        load_job(tmp_path)
    (tmp_path / "latin.toml").write_bytes(b'name = "caf\xe9"')
    with pytest.raises(InputError, match="UTF-8"):
        load_job(tmp_path / "latin.toml")


def test_look_over_says_what_a_job_means() -> None:
    seen = look_over(Context(load_job(EXAMPLES / "galley.toml"), EXAMPLES))
    assert seen["surfaces_count"] == 4
    assert any("sea-green" in m for m in seen["materials"])
