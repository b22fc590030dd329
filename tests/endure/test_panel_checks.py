"""All checks of a panel: completeness, monotony of remedies, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pourwright.calc.sampling import Draws
from pourwright.catalogue import get
from pourwright.catalogue.model import Material
from pourwright.endure.build import Panel, Ply, Service, Shape
from pourwright.endure.checks import job_checks, panel_checks
from pourwright.endure.layers import Layer
from pourwright.endure.materials import layer_of
from pourwright.errors import InputError

GALLEY = Service(
    solid=288.15, room=291.15, coldest=258.15, outside=303.15, sun=300.0, absorptance=0.85,
    humidity=0.5, humidity_change=0.15, twist=0.0175, shake=15.0,
)  # fmt: skip
LEG = Shape("leg-a", 2.1, 0.6, span=0.8, overhang=0.2)


def _panel(core: str = "mdf-moisture", mm: float = 18, service: Service = GALLEY, **kw) -> Panel:
    plies = (
        Ply(get("cured-coating"), 0.0015, "coat", 0.15),
        Ply(get("cured-art"), 0.001, "coat", 0.2),
        Ply(get(core), mm / 1000, "core"),
    )
    return Panel(plies, LEG, service, Draws(1, 100), **kw)


NAMES = {
    "endure.bow.cure", "endure.bow.cold", "endure.bow.moisture", "endure.film.strain",
    "endure.edge.energy", "endure.edge.shear", "endure.span.load", "endure.span.lasting",
    "endure.overhang.load", "endure.overhang.lasting", "endure.strength.bending",
    "endure.strength.core_shear", "endure.twist.film", "endure.shake.first", "endure.heat.pan",
    "endure.heat.pan_core", "endure.heat.film", "endure.heat.core",
}  # fmt: skip


def test_every_check_is_there_with_its_words() -> None:
    found = panel_checks(_panel())
    assert {c.name for c in found} == NAMES
    for c in found:
        assert c.title.startswith("leg-a") and c.criterion and c.source and c.unit
        assert np.isfinite(c.value) and np.isfinite(c.limit)
        assert (c.passed == "yes") is not bool(c.remedies), c.name


def test_same_seed_same_answer_and_shared_draws() -> None:
    assert panel_checks(_panel()) == panel_checks(_panel())
    both = job_checks([_panel(), _panel()])
    assert list(both) == ["leg-a"]


def test_a_plain_indoor_panel_has_only_what_concerns_it() -> None:
    names = {c.name for c in panel_checks(_panel(service=Service(pan=None)))}
    assert "endure.twist.film" not in names and "endure.heat.film" not in names
    assert "endure.bow.moisture" not in names and "endure.heat.pan" not in names


def test_thicker_core_bows_and_sags_less() -> None:
    thin, thick = ({c.name: c for c in panel_checks(_panel(mm=mm))} for mm in (18.0, 25.0))
    for name in ("endure.bow.cure", "endure.bow.cold", "endure.span.load", "endure.span.lasting"):
        assert thick[name].value < thin[name].value


def _remedy(name: str, words: str) -> str:
    c = next(c for c in panel_checks(_panel()) if c.name == name)
    return next(r for r in c.remedies if words in r)


def test_the_core_remedy_for_sag_turns_the_verdict() -> None:
    extra = int(_remedy("endure.span.load", "more core passes").split(" mm")[0])
    for more, verdict in ((extra, "yes"), (extra - 1, "unsure")):
        found = {c.name: c for c in panel_checks(_panel(mm=18 + more))}
        assert found["endure.span.load"].passed == verdict


def test_the_support_remedy_for_sag_turns_the_verdict() -> None:
    span = float(_remedy("endure.span.load", "supports no further").split()[-2]) / 1000
    for length, verdict in ((span, "yes"), (span + 0.006, "unsure")):
        panel = replace(_panel(), shape=replace(LEG, span=length))
        found = {c.name: c for c in panel_checks(panel)}
        assert found["endure.span.load"].passed == verdict


SLOW = replace(LEG, span=1.35)


def _first(shape: Shape, mm: float = 18, least: float = 15.0):
    panel = replace(_panel(mm=mm, service=replace(GALLEY, shake=least)), shape=shape)
    return next((c for c in panel_checks(panel) if c.name == "endure.shake.first"), None)


def test_what_a_slow_top_is_told_to_change_turns_the_verdict() -> None:
    slow = _first(SLOW)
    assert slow is not None and slow.passed == "no" and slow.unit == "Hz"
    span = float(next(r for r in slow.remedies if "Supports" in r).split()[2]) / 1000
    more = int(next(r for r in slow.remedies if "more core" in r).split(" mm")[0])
    for length, verdict in ((span, "yes"), (span + 0.01, "unsure")):
        closer = _first(replace(SLOW, span=length))
        assert closer is not None and closer.passed == verdict
    for mm, verdict in ((18 + more, "yes"), (18 + more - 1, "unsure")):
        thicker = _first(SLOW, mm)
        assert thicker is not None and thicker.passed == verdict


def test_the_first_frequency_is_asked_for_wherever_something_shakes() -> None:
    ashore = _first(SLOW, least=8.0)
    assert ashore is not None and ashore.limit == 8.0 and ashore.passed == "yes"
    assert _first(SLOW, least=0.0) is None and _first(replace(LEG, span=0.0)) is None


def test_foam_core_gets_skin_checks() -> None:
    skin = Ply(get("cured-glass-skin"), 0.001, "skin")
    plies = (
        Ply(get("cured-coating"), 0.0015, "coat", 0.15), skin, Ply(get("xps"), 0.04, "core"), skin,
    )  # fmt: skip
    found = panel_checks(Panel(plies, Shape("wall", 2.1, 0.9, span=0.6), Service()))
    names = {c.name for c in found}
    assert {"endure.sandwich.wrinkling", "endure.sandwich.crushing"} <= names
    pan = next(c for c in found if c.name == "endure.heat.pan_core")
    assert pan.passed == "no"  # a hot pan softens the foam


def test_post_cure_and_colour_help_in_the_sun() -> None:
    def film(service: Service):
        return next(
            c for c in panel_checks(_panel(service=service)) if c.name == "endure.heat.film"
        )

    hot = film(GALLEY)
    assert film(replace(GALLEY, post_cured=True)).limit > hot.limit
    assert film(replace(GALLEY, absorptance=0.25)).value < hot.value


def test_a_core_without_data_says_what_is_missing() -> None:
    bare = Material("my-board", "core", "My board", "", {"nu": get("mdf").prop("nu")})
    with pytest.raises(InputError) as err:
        layer_of(bare, 0.018)
    assert "density_kg_m3" in err.value.line() and "E_Pa" in err.value.line()
    with pytest.raises(InputError):
        Panel((Ply(bare, 0.018, "core"),), LEG)


@pytest.mark.parametrize(
    "call",
    [
        lambda: _panel(mm=-18),
        lambda: _panel(mm=0),
        lambda: Panel((Ply(get("mdf"), 0.018, "core"),) * 2, LEG),
        lambda: Panel((Ply(get("cured-art"), 0.003, "coat"),), LEG),
        lambda: Panel((Ply(get("mdf"), 0.018, "core"),), replace(LEG, length=-1.0)),
        lambda: Panel((Ply(get("mdf"), 0.018, "core"),), replace(LEG, span=float("nan"))),
        lambda: panel_checks(_panel(service=replace(GALLEY, pan="bucket"))),
        lambda: panel_checks(_panel(service=replace(GALLEY, outside=600.0))),
        lambda: panel_checks(_panel(service=replace(GALLEY, absorptance=1.4))),
    ],
)
def test_bad_input(call) -> None:
    with pytest.raises(InputError) as err:
        call()
    assert err.value.remedy and "\n" not in err.value.line()


def test_layers_carry_the_catalogues_samples() -> None:
    layer = layer_of(get("mdf"), 0.018, draws=Draws(1, 500))
    e = np.asarray(layer.modulus)
    assert isinstance(layer, Layer) and e.shape == (500,)
    assert np.quantile(e, 0.05) == pytest.approx(get("mdf").prop("E_Pa").low, rel=0.01)
    assert np.quantile(e, 0.95) == pytest.approx(get("mdf").prop("E_Pa").high, rel=0.01)
