"""A photo as it is kept: a JPEG of bounded size, turned upright, in sRGB, with nothing but its pixels.

Where and with what it was taken stands in a file's metadata (Exif, CIPA DC-008)
and is left out: a photo that is handed on does not say where the animals are.
"""

from __future__ import annotations

import io
import struct
import zlib
from dataclasses import dataclass
from pathlib import PurePath
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

LARGEST_BYTES = 25_000_000
LONGEST_SIDE_PX = 1600
KEPT_BYTES = 400_000
QUALITIES = (84, 76, 66, 54, 40, 25)
MOST_PIXELS = {"JPEG": 64_000_000, "MPO": 64_000_000, "PNG": 24_000_000, "WEBP": 24_000_000}
"""Beyond these a small file could fill the memory; a JPEG is opened at a fraction of its size."""
ENDINGS = {"JPEG": ("jpg", "jpeg", "jpe", "jfif"), "PNG": ("png",), "WEBP": ("webp",)}
ENDINGS["MPO"] = (*ENDINGS["JPEG"], "mpo")  # what some cameras call a JPEG with a second picture behind it
BROKEN = OSError, SyntaxError, ValueError, EOFError, KeyError, IndexError, TypeError, struct.error, zlib.error
_ONE_AT_A_TIME = Lock()


class Unfit(ValueError):
    """No photo that can be kept; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A photo as it is kept."""

    jpeg: bytes
    width_px: int
    height_px: int


def fit(data: bytes, name: str = "") -> Fit:
    """The photo in a file's bytes, ready to be kept. Raises `Unfit`, also where its name says otherwise."""
    from PIL import Image, UnidentifiedImageError

    if not data:
        raise Unfit("the file is empty; choose a photo")
    if len(data) > LARGEST_BYTES:
        raise Unfit(f"the photo is larger than {LARGEST_BYTES // 1_000_000} MB; take it smaller")
    with _ONE_AT_A_TIME:  # each may take some 200 MB while it is worked on
        try:
            with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as opened:
                _as_its_ending_says(name, opened.format or "")
                return _fit(opened)
        except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
            raise Unfit("the picture has far too many pixels; take it smaller") from bomb
        except UnidentifiedImageError as unknown:
            raise Unfit(_unknown(data)) from unknown
        except Unfit:
            raise
        except BROKEN as broken:
            raise Unfit(f"the photo is cut short or damaged ({broken}); send it again") from broken


def _as_its_ending_says(name: str, kind: str) -> None:
    """Raises `Unfit`; a name without an ending, as some phones give, says nothing."""
    ending = PurePath(name).suffix.lstrip(".").casefold()
    if ending and not ending.isdecimal() and ending not in ENDINGS[kind]:
        raise Unfit(
            f"the photo's name ends in .{ending[:20]}, but it is a {kind.replace('MPO', 'JPEG')}; "
            f"let its name end in .{ENDINGS[kind][0]}, or save it anew"
        )


def _unknown(data: bytes) -> str:
    if data[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypmsf1", b"ftypheim"):
        return "the photo is in the HEIC format, which is not read here; set the camera to save JPEG"
    return "the file is not a photo in JPEG, PNG or WebP; choose another"


def _fit(opened: Image) -> Fit:
    most = MOST_PIXELS[opened.format or ""]
    if opened.width * opened.height > most:
        raise Unfit(
            f"the picture has {opened.width} times {opened.height} pixels, more than {most // 1_000_000} "
            "million; take it smaller"
        )
    opened.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    opened.load()
    plain = _flat(_upright(opened))
    plain.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    plain = _in_srgb(plain, opened.info.get("icc_profile"))
    plain.info = {}  # a comment would be written again
    return Fit(_small(plain), plain.width, plain.height)


def _upright(opened: Image) -> Image:
    """Turned as its Exif orientation says; metadata that cannot be read turn nothing."""
    from PIL import ImageOps

    try:
        return ImageOps.exif_transpose(opened)
    except BROKEN:
        return opened


def _flat(opened: Image) -> Image:
    """In red, green and blue; what is seen through stands on white."""
    from PIL import Image

    if not opened.has_transparency_data:
        return opened.convert("RGB")
    seen = opened.convert("RGBA")
    white = Image.new("RGBA", seen.size, "white")
    return Image.alpha_composite(white, seen).convert("RGB")


def _in_srgb(plain: Image, profile: bytes | None) -> Image:
    """Its colours as every screen shows them: phones use wider spaces, and a look is its colour."""
    from PIL import ImageCms

    if not profile:
        return plain
    try:
        read = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        told = ImageCms.profileToProfile(plain, read, ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError):
        return plain  # a profile of another kind of picture; the numbers are taken as they are
    return plain if told is None else told


def _small(plain: Image) -> bytes:
    """The best JPEG of at most `KEPT_BYTES`. Raises `Unfit` when even the coarsest is larger."""
    for quality in QUALITIES:
        plain.save(to := io.BytesIO(), "JPEG", quality=quality, optimize=True)
        if to.tell() <= KEPT_BYTES:
            return to.getvalue()
    raise Unfit(f"the picture cannot be kept in {KEPT_BYTES // 1000} kB; take it smaller")
