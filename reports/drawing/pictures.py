"""Photographs on paper: measured before they are drawn, refused when they are none."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

from PIL import Image, UnidentifiedImageError
from reportlab.lib.utils import ImageReader

from reports.drawing.fitting import PrintRefused

DOTS_A_POINT = 300 / 72
KINDS = ("JPEG", "PNG")


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture with the size it is drawn at, in points."""

    image: Any
    width: float
    height: float


def picture(field: str, data: bytes, width: float, height: float) -> Picture:
    """The picture file ``data`` made to fit ``width`` x ``height`` points, never stretched.

    It is brought down to 300 dots an inch, so that files stay small. PrintRefused, naming
    ``field``, when it is no JPEG or PNG.
    """
    try:
        image = Image.open(io.BytesIO(data), formats=KINDS)
        image.draft("RGB", (int(width * DOTS_A_POINT), int(height * DOTS_A_POINT)))
        plain = image.convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as problem:
        raise PrintRefused(
            field, "the file is no picture that can be read. Take a JPEG or PNG."
        ) from problem
    share = min(width / plain.width, height / plain.height)
    full = plain.size
    plain.thumbnail((int(width * DOTS_A_POINT), int(height * DOTS_A_POINT)))
    return Picture(ImageReader(plain), full[0] * share, full[1] * share)


def paint_picture(canvas: Any, content: Picture, left: float, top: float) -> None:
    """The picture with its top left corner at ``left``, ``top`` (points)."""
    canvas.drawImage(content.image, left, top - content.height, content.width, content.height)
