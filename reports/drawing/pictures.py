"""Photographs on paper: made small, measured before they are drawn, refused when they are none."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from PIL import Image
from reportlab.lib.utils import ImageReader

from reports.drawing.fitting import PrintRefused

DOTS_A_POINT = 300 / 72
KINDS = ("JPEG", "PNG")
QUALITY = 85
KEPT = 256
"""Small pictures kept to be drawn again, some ten kilobytes each."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture with the size it is drawn at, in points."""

    image: Any
    width: float
    height: float


class _Jpeg(ImageReader):
    """A JPEG that goes into the PDF as it is; equal files go in once."""

    def __init__(self, data: bytes) -> None:
        super().__init__(io.BytesIO(data))
        self._data, self._dataA = data, None  # what ReportLab knows an equal picture by
        del self.__dict__["jpeg_fh"]  # a ring of references, which would wait for the collector

    def jpeg_fh(self) -> io.BytesIO:
        """The file, for ReportLab to put in."""
        return io.BytesIO(self._data)


class NoPicture(ValueError):  # noqa: N818
    """Bytes that are no JPEG or PNG, or a broken one."""


def made_small(data: bytes, width: float, height: float) -> bytes:
    """The picture file ``data`` as a JPEG of 300 dots an inch in ``width`` x ``height`` points.

    One that is small enough stays as it is. NoPicture when it cannot be read.
    """
    room = (int(width * DOTS_A_POINT), int(height * DOTS_A_POINT))
    try:
        image = Image.open(io.BytesIO(data), formats=KINDS)
        fits = image.width <= room[0] and image.height <= room[1]
        image.draft("RGB", room)
        plain = image.convert("RGB")
    except Exception as problem:  # the decoders have many errors; here they are one
        raise NoPicture("no picture that can be read") from problem
    if fits and image.format == "JPEG" and image.mode == "RGB":
        return data
    plain.thumbnail(room)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def picture(field: str, data: bytes, width: float, height: float) -> Picture:
    """The picture file ``data`` made to fit ``width`` x ``height`` points, never stretched.

    PrintRefused, naming ``field``, when it cannot be read.
    """
    try:
        return _fitted(data, width, height)
    except NoPicture as problem:
        raise PrintRefused(
            field, "the file is no picture that can be read. Take a JPEG or PNG."
        ) from problem


@lru_cache(maxsize=KEPT)
def _fitted(data: bytes, width: float, height: float) -> Picture:
    image = _Jpeg(made_small(data, width, height))
    across, down = image.getSize()
    share = min(width / across, height / down)
    return Picture(image, across * share, down * share)


def paint_picture(canvas: Any, content: Picture, left: float, top: float) -> None:
    """The picture with its top left corner at ``left``, ``top`` (points)."""
    canvas.drawImage(content.image, left, top - content.height, content.width, content.height)
