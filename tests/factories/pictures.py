"""Small pictures for the tests."""

from __future__ import annotations

import io

from PIL import Image


def picture(
    width: int = 40, height: int = 20, form: str = "PNG", mode: str = "RGB", exif: bytes = b""
) -> bytes:
    """A plain picture as a file."""
    out = io.BytesIO()
    more = {"exif": exif} if exif else {}
    Image.new(mode, (width, height)).save(out, form, **more)
    return out.getvalue()
