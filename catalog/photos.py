"""Photographs of instruments: checked, made anew as JPEG without their notes, kept by our name.

A file is never kept as it came: it may hold a place, a person's name, or something that is
no picture at all (OWASP, file upload: rewrite images, choose the name, limit the size).
A photograph of a code is read and forgotten.
"""

from __future__ import annotations

import io
import uuid
import warnings
from collections.abc import Callable, Sequence
from typing import TypeVar

import zxingcpp
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from PIL import Image, ImageOps

Made = TypeVar("Made")

MAX_BYTES = 10_000_000
MAX_PIXELS = 50_000_000
"""Width times height; a telephone makes 12 to 50 million."""
LONGEST_SIDE = 1600
"""Pixels kept: enough for a screen."""
READ_SIDE = 3000
"""Pixels in which a code is looked for: its modules have to be told apart."""
QUALITY = 85
FORMATS = ("JPEG", "PNG", "WEBP")
CODES = zxingcpp.BarcodeFormats([
    zxingcpp.BarcodeFormat.DataMatrix, zxingcpp.BarcodeFormat.QRCode,
    zxingcpp.BarcodeFormat.Code128, zxingcpp.BarcodeFormat.Code39,
    zxingcpp.BarcodeFormat.EAN13, zxingcpp.BarcodeFormat.UPCA,
])  # fmt: skip
"""The kinds of codes that stand on labels and instruments; fewer kinds, fewer misreadings."""
FOLDER = "instruments"


TOO_MANY = "The picture has too many pixels. Take a smaller one."


class PhotoError(ValueError):
    """A file that cannot be a photograph here. Says why, for people."""


def made_anew(data: bytes) -> bytes:
    """The picture in ``data`` as a JPEG of at most :data:`LONGEST_SIDE`, upright, no notes."""
    return _read(data, "RGB", LONGEST_SIDE, _jpeg)


def codes_on(data: bytes) -> list[str]:
    """The codes on the photograph in ``data`` as a scanner types them, each once, with the mark of
    its symbology (``]d2``) and separators as ``\\x1d``.

    PhotoError where it is no picture that can be read here. A code that holds signs which no
    scanner types is none.
    """
    found = _read(data, "L", READ_SIDE, _decoded)
    texts = [f"{one.symbology_identifier}{one.text}" for one in found if one.valid]
    return list(dict.fromkeys(one for one in texts if one.replace("\x1d", "").isprintable()))


def _read(data: bytes, mode: str, longest: int, made: Callable[[Image.Image], Made]) -> Made:
    """What is ``made`` of the picture in ``data``, upright and no side longer than ``longest``."""
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
                raise PhotoError(TOO_MANY)
            picture.draft(mode, (longest, longest))
            upright = ImageOps.exif_transpose(picture)
            upright.thumbnail((longest, longest))
            return made(upright)
    except PhotoError:
        raise
    except Image.DecompressionBombError as error:
        raise PhotoError(TOO_MANY) from error
    except Exception as error:  # The decoder's errors are many; for the person they are one.
        raise PhotoError(
            "This is no picture that can be read. Send a JPEG, PNG or WebP file."
        ) from error


def _decoded(picture: Image.Image) -> Sequence[zxingcpp.Barcode]:
    return zxingcpp.read_barcodes(
        _on_white(picture).convert("L"), formats=CODES, text_mode=zxingcpp.TextMode.Plain
    )


def _on_white(picture: Image.Image) -> Image.Image:
    layered = picture.convert("RGBA")
    flat = Image.new("RGB", layered.size, "white")
    flat.paste(layered, mask=layered.getchannel("A"))
    return flat


def _jpeg(picture: Image.Image) -> bytes:
    out = io.BytesIO()
    _on_white(picture).save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def keep(jpeg: bytes) -> str:
    """Store a picture made by :func:`made_anew`; its name, which nobody can guess."""
    return default_storage.save(f"{FOLDER}/{uuid.uuid4().hex}.jpg", ContentFile(jpeg))


def forget(name: str) -> None:
    """Delete a stored picture; nothing when it is gone already."""
    if name:
        default_storage.delete(name)
