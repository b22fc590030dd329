"""Photos taken into the record: upright, in sRGB, small enough, without hidden data."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pourwright.errors import InputError
from pourwright.record.entries import PhotoEntry
from pourwright.record.moments import read_moment
from pourwright.store.files import write_whole
from pourwright.words import say

LARGEST_FILE = 40_000_000  # bytes
LARGEST_PIXELS = 60_000_000
LONGEST = 2400  # longer side of what is kept [px]
QUALITY = 88
TAKEN = 36867  # Exif tag DateTimeOriginal (Exif 2.32, CIPA DC-008)


@dataclass(frozen=True)
class Photo:
    """A cleaned photo: JPEG bytes, size [px], hash, and when the camera says it was taken."""

    jpeg: bytes
    width_px: int
    height_px: int
    sha256: str
    taken: datetime | None

    @property
    def file(self) -> str:
        """File name [-] from its content, so the same photo is kept once."""
        return f"{self.sha256[:16]}.jpg"


def clean_photo(raw: bytes, name: str = "photo") -> Photo:
    """A photo made safe to keep and to hand on.

    Parameters
    ----------
    raw : bytes [-]
        JPEG, PNG, WebP or TIFF, at most 40 MB and 60 million pixels.
    name : str [-]
        For messages.

    Returns
    -------
    Photo [px]
        Turned upright by its orientation mark, in sRGB, at most 2400 px long; position, camera
        and every other hidden mark are gone, since the pixels alone are written anew.

    Raises
    ------
    InputError
        Not a photo, too large, a broken file, or one that unpacks to far more than it holds.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(raw) > LARGEST_FILE:
        raise InputError(name, f"{len(raw) / 1e6:.0f} MB", "at most 40 MB", "Save it smaller.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(raw), formats=("JPEG", "PNG", "WEBP", "TIFF")) as im:
                w, h = im.size
                if w * h > LARGEST_PIXELS or min(w, h) < 1 or max(w, h) > 30_000:
                    raise InputError(
                        name, f"{w} x {h} pixels", "at most 60 million pixels", "Save it smaller."
                    )
                if getattr(im, "n_frames", 1) > 1:
                    im.seek(0)
                taken = _taken(im)
                im.load()
                upright = ImageOps.exif_transpose(im)
                rgb = _srgb(upright)
    except InputError:
        raise
    except UnidentifiedImageError:
        raise InputError(
            name, raw[:12].hex(), "it is no JPEG, PNG, WebP or TIFF", "Save it as JPEG."
        ) from None
    except Exception as err:
        # a hostile or broken file may raise nearly anything inside a decoder
        words = " ".join(str(err).split())[:80]
        raise InputError(
            name, f"{len(raw)} bytes", say("it cannot be read as a photo ({words})", words=words),
            "Open it in a viewer and save it as JPEG.",
        ) from None  # fmt: skip
    if max(rgb.size) > LONGEST:
        rgb.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
    bare = Image.new("RGB", rgb.size)
    bare.paste(rgb)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    data = out.getvalue()
    return Photo(data, *bare.size, hashlib.sha256(data).hexdigest(), taken)


def _srgb(im):
    from PIL import Image, ImageCms

    profile = im.info.get("icc_profile")
    if im.mode in ("RGBA", "LA", "P", "PA"):
        with_alpha = im.convert("RGBA")
        flat = Image.new("RGB", im.size, (255, 255, 255))
        flat.paste(with_alpha, mask=with_alpha.getchannel("A"))
        im = flat
    if profile and im.mode in ("RGB", "CMYK", "L"):
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            found = ImageCms.profileToProfile(
                im, source, ImageCms.createProfile("sRGB"), outputMode="RGB"
            )
            if found is not None:
                return found
        except (ImageCms.PyCMSError, OSError, ValueError):
            pass  # a broken profile: take the numbers as sRGB
    return im.convert("RGB")


def _taken(im) -> datetime | None:
    try:
        exif = im.getexif()
        text = exif.get_ifd(0x8769).get(TAKEN) or exif.get(306)
        if not isinstance(text, str):
            return None
        day, _, clock = text.strip().partition(" ")
        return read_moment(f"{day.replace(':', '-')} {clock}")
    except (InputError, ValueError, KeyError, SyntaxError, OSError):
        return None


def photo_folder(record_file: Path) -> Path:
    """Where the photos of the record `record_file` [-] lie: ``NAME.photos`` beside it."""
    return record_file.with_name(record_file.name.removesuffix(".record.json") + ".photos")


def keep_photo(
    source: Path, record_file: Path, at: datetime | None, caption: str = "", of: str | None = None
) -> PhotoEntry:
    """Clean the photo in `source` [-] and keep it beside `record_file` [-].

    `at` [-] is when it was taken; None takes the camera's own moment. `caption` [-] and the entry
    `of` [-] that it shows go into the entry that is returned. Raises `InputError`; then nothing
    was written.
    """
    try:
        if source.stat().st_size > LARGEST_FILE:
            raise InputError("photo", str(source), "at most 40 MB", "Save it smaller.")
        raw = source.read_bytes()
    except OSError as err:
        raise InputError(
            "photo", str(source), err.strerror or "it cannot be read", "Check the path."
        ) from None
    photo = clean_photo(raw, source.name)
    when = at or photo.taken
    if when is None:
        raise InputError(
            "photo.at", source.name, "the camera did not say when it was taken",
            "Give at='day 4 10:30'.",
        )  # fmt: skip
    entry = PhotoEntry(
        at=when, file=photo.file, sha256=photo.sha256, width_px=photo.width_px,
        height_px=photo.height_px, caption=caption, of=of,
    )  # fmt: skip
    folder = photo_folder(record_file)
    folder.mkdir(exist_ok=True)
    write_whole(folder / photo.file, photo.jpeg)
    return entry
