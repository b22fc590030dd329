"""Registered calculation of colour: a colour from a phone photo."""

from __future__ import annotations

import base64
import binascii

import numpy as np
from pydantic import Field

from pourwright.calc import CalcInput, CalcResult, CalcValue, Spread, calculation, published
from pourwright.colour.calcinputs import BOARD, Code, Corners, Lab
from pourwright.colour.colorimetry import decode_srgb, to_hex, xyz_to_lab
from pourwright.colour.correct import fit_correction, grey_card_correction
from pourwright.colour.image import MAX_BYTES, read_photo
from pourwright.colour.photo import PhotoColour, colour_from_photo, judged
from pourwright.colour.spectrum import smoothest_spectrum
from pourwright.errors import InputError


class PhotoInput(CalcInput):
    """A photo with corners, or colours already read from it."""

    photo_path: str | None = Field(None, description="a JPEG, PNG or WebP file on this machine")
    photo_base64: str | None = Field(None, description="or the file's content")
    area: Corners | None = Field(None, description="corners of the tile or wall, in pixels")
    chart: Corners | None = Field(
        None, description="corners of the chart's field of patches, going round"
    )
    grey: Corners | None = Field(None, description="or corners of a grey card")
    target_rgb: Code | None = Field(None, description="or the area's sRGB codes, 0 to 255")
    chart_rgb: list[Code] | None = Field(
        None, max_length=140, description="with the patches' sRGB codes, 0 to 255, row by row"
    )
    grey_rgb: Code | None = Field(None, description="or the grey card's sRGB codes")
    chart_lab: list[Lab] | None = Field(
        None, max_length=140, description="the chart's own Lab (D65, 2 degrees), if it has a sheet"
    )
    grey_ratio: float = Field(0.18, ge=0.02, le=1, description="reflectance of the grey card [-]")


class PhotoValue(CalcValue):
    """The colour read."""

    lab: Lab = Field(description="L*, a*, b* for D65 and 2 degrees")
    lab_10deg: Lab = Field(description="the same for 10 degrees, of the smoothest spectrum")
    screen: str = Field(description="#rrggbb")
    de00: float = Field(description="error to expect, mean CIEDE2000 [-]")
    method: str
    patches_used: int
    unevenness: float = Field(description="largest dE00 between parts of the area [-]")
    dropped_percent: float = Field(description="pixels left out as clipped or glare")


@calculation(
    "colour.photo",
    title="Colour from a photo",
    question="What colour is the client's tile in this photo, and how sure is that?",
    sources=[
        published("Finlayson, Mackiewicz and Hurlbert 2015, IEEE Trans. Image Processing 24:1460"),
        published("ISO 17321-1 patch spectra; IEC 61966-2-1"),
    ],
    validity="one kind of light, no filters, no glare; chart and tile in one plane and one light",
    example={
        "target_rgb": [112, 150, 128],
        "grey_rgb": [118, 120, 116],
    },
    cautions=[BOARD],
)
def photo_calc(inp: PhotoInput) -> CalcResult[PhotoValue]:
    """CIELAB of an area of a photo, corrected by its chart or grey card.

    Parameters
    ----------
    inp : CalcInput [units by key suffix]
        What the registered input model describes.

    Returns
    -------
    CalcResult [-]
        Value, range, sources, cautions, warnings.
    """
    if inp.target_rgb is not None:
        seen = _from_codes(inp)
    else:
        seen = _from_picture(inp)
    if not (0 <= seen.lab[0] <= 100 and np.all(np.abs(seen.lab[1:]) <= 150)):
        raise InputError(
            "area",
            str([round(float(v), 1) for v in seen.lab]),
            "the corrected colour is no surface colour",
            "Check that the chart's corners and the area are right.",
        )
    warnings = list(seen.warnings)
    try:
        lab_10 = xyz_to_lab(_ten_degrees(seen.lab), "D65", "10")
    except InputError:
        lab_10 = seen.lab
        warnings.append(
            "No surface has this colour: the 10 degree values repeat the 2 degree ones."
        )
    value = PhotoValue(
        lab=[float(v) for v in seen.lab],
        lab_10deg=[float(v) for v in lab_10],
        screen=to_hex(seen.srgb),
        de00=seen.error_mean,
        method=seen.correction.kind,
        patches_used=seen.correction.patches,
        unevenness=seen.unevenness,
        dropped_percent=100 * seen.dropped,
    )
    low, mid, high = seen.correction.error_range
    return CalcResult[PhotoValue](
        value=value,
        range={"de00": Spread(p05=low, p50=mid, p95=high)},
        warnings=warnings,
    )


def _ten_degrees(lab_2: np.ndarray) -> np.ndarray:
    from pourwright.colour.colorimetry import to_xyz

    return to_xyz(smoothest_spectrum(lab_2, "D65", "2"), "D65", "10")


def _codes(values: list[float], field: str) -> np.ndarray:
    a = np.array(values, dtype=float)
    if a.min() < 0 or a.max() > 255:
        raise InputError(field, str(values), "sRGB codes are 0 to 255", "Correct them.")
    return decode_srgb(a / 255)


def _from_codes(inp: PhotoInput) -> PhotoColour:
    assert inp.target_rgb is not None
    light = _codes(inp.target_rgb, "target_rgb")
    if max(inp.target_rgb) >= 250:
        raise InputError(
            "target_rgb", str(inp.target_rgb), "clipped at 250 and above", "Expose a little darker."
        )
    if inp.chart_rgb is not None:
        rows = [_codes(c, f"chart_rgb[{i}]") for i, c in enumerate(inp.chart_rgb)]
        rgb = np.array(rows).reshape(-1, 3)
        rgb[np.array(inp.chart_rgb).max(axis=1) >= 250] = np.nan
        fix = fit_correction(rgb, None if inp.chart_lab is None else np.array(inp.chart_lab))
    elif inp.grey_rgb is not None:
        fix = grey_card_correction(_codes(inp.grey_rgb, "grey_rgb"), inp.grey_ratio)
    else:
        raise InputError(
            "chart_rgb", None, "patches of a chart, or a grey card, are needed", "Add them."
        )
    return judged(fix, light, 0.0, light[None, :])


def _from_picture(inp: PhotoInput) -> PhotoColour:
    if (inp.photo_path is None) == (inp.photo_base64 is None):
        raise InputError(
            "photo_path",
            inp.photo_path,
            "a photo, or target_rgb with chart_rgb or grey_rgb",
            "Give one photo.",
        )
    if inp.area is None:
        raise InputError("area", None, "four corners of the area", "Mark the tile or wall.")
    if inp.photo_base64 is not None:
        if len(inp.photo_base64) > MAX_BYTES * 4 // 3 + 8:
            raise InputError(
                "photo_base64", "long text", "the file is larger than 40 MB", "Save it smaller."
            )
        try:
            data: str | bytes = base64.b64decode(inp.photo_base64, validate=True)
        except (binascii.Error, ValueError):
            raise InputError(
                "photo_base64", inp.photo_base64[:20], "it is not base64", "Encode the file."
            ) from None
        picture = read_photo(data, "photo_base64")
    else:
        picture = read_photo(inp.photo_path or "", "photo_path")
    return colour_from_photo(
        picture,
        inp.area,
        chart=inp.chart,
        grey=inp.grey,
        chart_values=inp.chart_lab,
        grey_reflectance=inp.grey_ratio,
    )
