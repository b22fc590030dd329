"""Coverage: three names of one number, and the calculations that doors show."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.calc import get, run
from pourwright.errors import InputError
from pourwright.quantities.coverage import area_per_volume, dry_film, film_on, volume_for

FILMS = st.floats(1e-6, 0.05)
LOSSES = st.floats(0.0, 0.9)


@settings(deadline=None, max_examples=100)
@given(FILMS, st.floats(1e-3, 1e3), LOSSES)
def test_film_and_volume_are_inverse(film: float, area: float, loss: float) -> None:
    volume = volume_for(area, film, loss)
    assert film_on(volume, area, loss) == pytest.approx(film, rel=1e-12)
    assert area_per_volume(film, loss) * volume == pytest.approx(area, rel=1e-12)


def test_arrays_go_through() -> None:
    film = np.array([1e-3, 2e-3])
    np.testing.assert_allclose(volume_for(2.0, film), [2e-3, 4e-3])
    np.testing.assert_allclose(dry_film(film, 0.4), [4e-4, 8e-4])


@pytest.mark.parametrize(
    ("function", "arguments", "field"),
    [
        (film_on, (1e-3, 0.0), "area"),
        (film_on, (-1.0, 1.0), "volume"),
        (film_on, (1.0, 1.0, 1.0), "loss"),
        (volume_for, (1.0, float("nan")), "film"),
        (area_per_volume, (0.0,), "film"),
        (dry_film, (1e-3, 1.5), "solids"),
    ],
)
def test_impossible_arguments_are_named(function: object, arguments: tuple, field: str) -> None:
    with pytest.raises(InputError) as caught:
        function(*arguments)  # type: ignore[operator]
    assert caught.value.field == field


def test_the_three_ways_to_state_a_film_agree() -> None:
    a = run("quantity.coverage", {"coverage": "1 L/m2", "area_m2": 2, "loss_percent": 10}).value
    b = run("quantity.coverage", {"film_mm": 1, "area_m2": 2, "loss_percent": 10}).value
    c = run("quantity.coverage", {"volume_mL": a.volume_mL, "area_m2": 2, "loss_percent": 10}).value
    for other in (b, c):
        assert other.film_mm == pytest.approx(a.film_mm, rel=1e-12)
        assert other.volume_mL == pytest.approx(a.volume_mL, rel=1e-12)
    assert a.volume_mL == pytest.approx(2000 / 0.9, rel=1e-12)
    assert a.us_coverage == "3.14 fl oz/ft²"


def test_mass_per_area_needs_the_density() -> None:
    with pytest.raises(InputError, match="density"):
        run("quantity.coverage", {"coverage": "1100 g/m2"})
    value = run(
        "quantity.coverage", {"coverage": "1100 g/m2", "density_kg_m3": 1100, "area_m2": 2}
    ).value
    assert value.film_mm == pytest.approx(1.0, rel=1e-12)
    assert value.mass_g == pytest.approx(2200.0, rel=1e-12)


@pytest.mark.parametrize(
    ("data", "field"),
    [
        ({}, "coverage"),
        ({"coverage": "1 L/m2", "film_mm": 1}, "coverage"),
        ({"volume_mL": 500}, "area_m2"),
        ({"coverage": "9**9**9"}, "coverage"),
        ({"coverage": "0 L/m2"}, "coverage"),
        ({"film_mm": -1}, "film_mm"),
        ({"film_mm": 1, "loss_percent": 100}, "loss_percent"),
    ],
)
def test_bad_coverage_input_names_its_field(data: dict, field: str) -> None:
    with pytest.raises(InputError) as caught:
        run("quantity.coverage", data)
    assert caught.value.field == field


def test_reading_a_text_says_everything() -> None:
    value = run("quantity.read", {"text": "22 fl oz"}).value
    assert value.dimension == "volume"
    assert value.value_si == 22 * 29.5735295625e-6
    assert value.imperial == "22.9 imp fl oz"
    assert run("quantity.read", {"text": "1:20 h", "dimension": "time"}).value.metric == "80 min"
    with pytest.raises(InputError, match="dimension"):
        run("quantity.read", {"text": "42"})
    with pytest.raises(InputError, match="dimension"):
        run("quantity.read", {"text": "42 mm", "dimension": "colour"})


def test_examples_run() -> None:
    for name in ("quantity.read", "quantity.coverage"):
        calc = get(name)
        result = run(name, calc.example)
        assert result.sources
        assert calc.schema()["input"]["properties"]
