"""Reading photos safely: size and pixel limits, known formats, one-line errors on broken files."""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pourwright.errors import InputError
from pourwright.words import say

if TYPE_CHECKING:
    from PIL.Image import Image

FORMATS = ("JPEG", "PNG", "WEBP")
MAX_BYTES = 40_000_000
MAX_PIXELS = 60_000_000
MIN_SIDE = 16
WORK_SIDE = 2400
_REMEDY = "Save it again as a JPEG or PNG photo of at most 60 megapixels and 40 MB."


def read_photo(source: str | Path | bytes, field: str = "photo") -> NDArray[np.uint8]:
    """A photo as sRGB pixels, at most 2400 pixels on its longer side.

    Parameters
    ----------
    source : str, Path or bytes [-]
        A file, or its content. JPEG, PNG or WebP; the first frame of several; transparency is
        put on grey; turned upright by its orientation tag.
    field : str [-]
        Name used in errors.

    Returns
    -------
    ndarray [-]
        Shape (H, W, 3), 0..255.

    Raises
    ------
    InputError
        Missing, not a plain file, too large, too many pixels, an unknown format or broken.
    """
    data = source if isinstance(source, bytes) else _bytes(source, field)
    shown = "photo" if isinstance(source, bytes) else Path(source).name
    if len(data) > MAX_BYTES:
        raise InputError(field, shown, "the file is larger than 40 MB", _REMEDY)
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            # Pillow warns of decompression bombs: refuse them, and stay quiet about odd metadata
            warnings.simplefilter("ignore")
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=FORMATS) as opened:
                _check_size(opened.size, field, shown)
                if opened.format == "JPEG":
                    opened.draft("RGB", (WORK_SIDE, WORK_SIDE))
                opened.load()
                picture = ImageOps.exif_transpose(opened)
                return np.array(_rgb(_smaller(picture)))
    except InputError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise InputError(field, shown, "the picture has too many pixels", _REMEDY) from None
    except UnidentifiedImageError:
        raise InputError(field, shown, "it is not a JPEG, PNG or WebP picture", _REMEDY) from None
    except Exception:
        # decoders raise many kinds of errors on hostile files; none is the user's to read
        raise InputError(field, shown, "the picture is broken or cut short", _REMEDY) from None


def _bytes(source: str | Path, field: str) -> bytes:
    path = Path(source)
    try:
        if "\0" in str(path) or not path.is_file():
            raise OSError
        if path.stat().st_size > MAX_BYTES:
            raise InputError(field, path.name, "the file is larger than 40 MB", _REMEDY)
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as err:
        if isinstance(err, InputError):
            raise
        raise InputError(
            field, path.name, "there is no such file that can be read", "Check its path."
        ) from None


def _check_size(size: tuple[int, int], field: str, shown: str) -> None:
    if min(size) < MIN_SIDE:
        raise InputError(
            field, f"{size[0]} x {size[1]} pixels", say("at least {n} a side", n=MIN_SIDE), _REMEDY
        )
    if size[0] * size[1] > MAX_PIXELS:
        raise InputError(field, f"{size[0]} x {size[1]} pixels", "at most 60 megapixels", _REMEDY)


def _smaller(picture: Image) -> Image:
    side = max(picture.size)
    if side <= WORK_SIDE:
        return picture
    from PIL.Image import Resampling

    scale = WORK_SIDE / side
    size = (max(1, round(picture.width * scale)), max(1, round(picture.height * scale)))
    return picture.convert("RGBA" if "A" in picture.getbands() else "RGB").resize(
        size, Resampling.BOX
    )


def _rgb(picture: Image) -> Image:
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        over = picture.convert("RGBA")
        ground = Image.new("RGBA", over.size, (128, 128, 128, 255))
        return Image.alpha_composite(ground, over).convert("RGB")
    if picture.mode.startswith("I;16") or picture.mode in ("I", "F"):
        a = np.asarray(picture, dtype=float)
        top = 65535.0 if a.max() > 255 else 255.0
        return Image.fromarray(np.uint8(np.clip(a / top * 255, 0, 255))).convert("RGB")
    return picture.convert("RGB")
