"""Photographs of instruments: checked, made anew as JPEG without their notes, kept by our name.

A file is never kept as it came: it may hold a place, a person's name, or something that is
no picture at all (OWASP, file upload: rewrite images, choose the name, limit the size).
"""

from __future__ import annotations

import io
import uuid
import warnings

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from PIL import Image, ImageOps

MAX_BYTES = 10_000_000
MAX_PIXELS = 50_000_000
"""Width times height; a telephone makes 12 to 50 million."""
LONGEST_SIDE = 1600
"""Pixels kept: enough for a screen."""
QUALITY = 85
FORMATS = ("JPEG", "PNG", "WEBP")
FOLDER = "instruments"


class PhotoError(ValueError):
    """A file that cannot be a photograph here. Says why, for people."""


def made_anew(data: bytes) -> bytes:
    """The picture in ``data`` as a JPEG of at most :data:`LONGEST_SIDE`, upright, no notes."""
    if len(data) > MAX_BYTES:
        raise PhotoError(
            f"The file has {len(data) / 1e6:.1f} MB; the limit is {MAX_BYTES / 1e6:.0f} MB. "
            "Take a smaller one."
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(data), formats=FORMATS)
            if picture.width * picture.height > MAX_PIXELS:
                raise PhotoError("The picture has too many pixels. Take a smaller one.")
            picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            upright = ImageOps.exif_transpose(picture)
            upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            return _jpeg(upright)
    except PhotoError:
        raise
    except Exception as error:  # The decoder's errors are many; for the person they are one.
        raise PhotoError(
            "This is no picture that can be read. Send a JPEG, PNG or WebP file."
        ) from error


def _jpeg(picture: Image.Image) -> bytes:
    layered = picture.convert("RGBA")
    flat = Image.new("RGB", layered.size, "white")
    flat.paste(layered, mask=layered.getchannel("A"))
    out = io.BytesIO()
    flat.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def keep(jpeg: bytes) -> str:
    """Store a picture made by :func:`made_anew`; its name, which nobody can guess."""
    return default_storage.save(f"{FOLDER}/{uuid.uuid4().hex}.jpg", ContentFile(jpeg))


def forget(name: str) -> None:
    """Delete a stored picture; nothing when it is gone already."""
    if name:
        default_storage.delete(name)
