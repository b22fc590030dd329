"""A colour to aim at: picked, typed as L*, a*, b*, or read from a photo; and the pastes for it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pourwright.errors import InputError
from pourwright.quantities import read
from pourwright.quantities.locales import find_locale
from pourwright.web.pages.forms import get, taken
from pourwright.web.pages.show import Show

if TYPE_CHECKING:
    from pourwright.colour.calcs_match import MatchValue

HEX = re.compile(r"#[0-9a-fA-F]{6}")
USUAL = "#5f8f7a"


@dataclass(frozen=True)
class Target:
    """A colour to match.

    `lab` is L*, a*, b* for D65 and 10 degrees [-], `error` how well it is known [dE00], `screen`
    the colour as #rrggbb, `query` what asks for it again.
    """

    lab: tuple[float, float, float]
    error: float
    screen: str
    query: dict[str, str]


def target_from(asked: Mapping[str, str], show: Show) -> Target | None:
    """The colour that the fields `asked` for [-], written as `show` says, or None for none.

    ``lab`` wins over ``target`` (#rrggbb); ``error`` is the uncertainty of a photo. Raises
    `InputError` at the field.
    """
    lab, target = asked.get("lab", "").strip()[:60], asked.get("target", "").strip()[:9]
    error = _error(asked.get("error", ""))
    if lab:
        values = lab_of(lab, show)
        query = {"lab": lab, **({"error": asked["error"]} if error else {})}
        return Target(values, error, screen_of(values), query)
    if not target:
        return None
    if not HEX.fullmatch(target):
        raise InputError("target", target, "it is a colour as #rrggbb", "Pick one.")
    from pourwright.colour.colorimetry import srgb_to_xyz, xyz_to_lab

    code = [int(target[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    seen = [float(v) for v in xyz_to_lab(srgb_to_xyz(code))]
    return Target(ten_degrees(seen), 0.0, target, {"target": target})


def lab_of(text: str, show: Show) -> tuple[float, float, float]:
    """Three numbers L*, a*, b* [-] from a `text` such as "62; -18; 8", read as `show` says."""
    mark = find_locale(show.locale).decimal
    parts = re.split(r"[;/|\t ]+" if mark == "," else r"[;,/|\t ]+", text.replace("−", "-").strip())
    numbers = [p.replace(mark, ".") for p in parts if p]
    if len(numbers) != 3 or not all(re.fullmatch(r"-?\d{1,3}(\.\d{1,4})?", p) for p in numbers):
        raise InputError("lab", text, "it is three numbers: L*, a*, b*", "Write it as 62; -18; 8.")
    lightness, a, b = (float(p) for p in numbers)
    if not 0 <= lightness <= 100 or max(abs(a), abs(b)) > 150:
        raise InputError("lab", text, "L* is 0 to 100, a* and b* are -150 to 150", "Check them.")
    return lightness, a, b


def _error(text: str) -> float:
    found = re.fullmatch(r"\d{1,2}(\.\d{1,4})?", text.strip())
    return min(float(text), 20.0) if found else 0.0


def ten_degrees(lab_2: list[float]) -> tuple[float, float, float]:
    """The same colour for the 10 degree observer [-], through the smoothest spectrum.

    `lab_2` is L*, a*, b* for D65 and 2 degrees. A colour that no surface has stays as it is.
    """
    from pourwright.colour.colorimetry import to_xyz, xyz_to_lab
    from pourwright.colour.spectrum import smoothest_spectrum

    try:
        spectrum = smoothest_spectrum(lab_2, "D65", "2")
    except InputError:
        return lab_2[0], lab_2[1], lab_2[2]
    seen = xyz_to_lab(to_xyz(spectrum, "D65", "10"), "D65", "10")
    return float(seen[0]), float(seen[1]), float(seen[2])


def screen_of(lab_10: tuple[float, float, float]) -> str:
    """A colour for D65 and 10 degrees [-] as #rrggbb on a screen."""
    from pourwright.colour.colorimetry import lab_to_xyz, to_hex, xyz_to_srgb

    xyz = lab_to_xyz(list(lab_10), "D65", "10")
    return str(to_hex(xyz_to_srgb(xyz)))


def solved(
    target: Target, batch: str, document: Mapping[str, Any], show: Show
) -> tuple[MatchValue, list[str], list[str]]:
    """Pastes for a `target` in a `batch` of resin, for the film and primer of a job `document`.

    Returns the match [g/kg], its warnings and its cautions; `show` says how the batch is written.
    Raises `InputError`.
    """
    from pourwright.calc import run
    from pourwright.plan.colours import PRIMER_SHADES

    mass = read(str(taken(batch, "weight", show) or ""), "mass", field="batch")
    primer = get(document, "primer")
    tint = primer.get("tint", "dark") if isinstance(primer, dict) else "grey"
    film = read(document["colour"]["film"], "coverage")
    result = run("colour.match", {
        "target_lab": [round(v, 3) for v in target.lab], "target_error": target.error,
        "film_mm": film * 1e3, "primer": PRIMER_SHADES.get(tint, "dark-primer"), "batch_kg": mass,
    })  # fmt: skip
    return result.value, list(result.warnings), list(result.cautions)


def match_of(target: Target, batch: str, document: Mapping[str, Any], show: Show) -> dict[str, Any]:
    """As `solved` (`target`, `batch`, `document`, `show`), laid out for the page [-]."""
    v, warnings, cautions = solved(target, batch, document, show)
    over = [p for p in v.panels if p.over not in ("white card", "black card")]
    sheet = v.sheet.doses
    return {
        "screen": target.screen,
        "hex": (over or v.panels)[0].screen,
        "de": v.de00,
        "error": target.error,
        "load": v.load_percent,
        "contrast": 100 * v.contrast,
        "confidence": v.confidence,
        "doses": [{"name": d.name, "amount": f"{show.number(d.weigh_g, 4)} g"} for d in sheet],
        "advice": [f"{d.name}: {d.advice}" for d in sheet if d.dilutions] + warnings,
        "cautions": cautions[:3],
    }
