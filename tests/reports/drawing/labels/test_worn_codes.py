"""Every code on every stock, as printers of 203 and 300 dpi leave it and as a worn one does.

With four printer dots to a module two readers that share nothing read it clean, blurred and
turned; with three, clean. On paper nothing here was tried: it is the image that is read.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from PIL import Image, ImageFilter

from reports.drawing.barcodes import asset_data_matrix, code_128, data_matrix
from reports.drawing.fitting import PrintRefused
from reports.drawing.stocks import Stock, shipped
from tests.reports.drawing.labels.second_readers import code_128_texts, data_matrix_texts, gs1_bytes
from tests.reports.examples import codes, draw_label, label, rendered

CODE = "PK-000123T"
PREFIX = "9501101"  # the company prefix of GS1's own example, 09501101530003
WORN_DOTS = 4
"""From so many printer dots a module on, worn prints have to be read: fewer only clean ones."""
BLUR_MM = 0.12  # the deviation of a Gaussian: a worn head or a shaky hand; our own figure
TURNED_DEGREES = 3.0
SCALE = 3
"""A scanner sees several points to a printer's dot."""

KINDS = {
    "plain": {"symbol": "data matrix"},
    "gs1": {"symbol": "data matrix", "gs1_prefix": PREFIX},
    "bars": {"symbol": "code 128"},
}
SYMBOLS = {
    "plain": data_matrix(CODE), "gs1": asset_data_matrix(PREFIX, CODE), "bars": code_128(CODE),
}  # fmt: skip
READ = {"plain": CODE, "gs1": f"(8004){PREFIX}{CODE}", "bars": CODE}
NO_ROOM = [("bars", "roll-50x25", 203)]
"""Three dots a module and their quiet zones are wider than the label."""


def second_reader(kind: str, image: Any) -> str:
    if kind == "plain":
        return "".join(data_matrix_texts(image))
    if kind == "gs1":
        return gs1_bytes(image).decode("latin-1").replace("\xe88004", "(8004)")
    return "".join(code_128_texts(image))


def blurred(image: Any, dpi: int) -> Any:
    return image.filter(ImageFilter.GaussianBlur(BLUR_MM / 25.4 * dpi * SCALE))


def turned(image: Any, dpi: int) -> Any:
    return image.rotate(TURNED_DEGREES, Image.Resampling.BICUBIC, expand=True, fillcolor=255)


WEAR: dict[str, Callable[[Any, int], Any]] = {
    "clean": lambda image, dpi: image, "blurred": blurred, "turned": turned,
}  # fmt: skip


def printed(on: Stock, kind: str) -> Any:
    """The first label as the dots of its printer, each several points wide."""
    pdf = draw_label(label(barcode_text=CODE, **KINDS[kind]), on)
    page = rendered(pdf, on.printer_dpi).point(lambda shade: 255 * (shade > 127))
    left, top = (on.grid.left_mm, on.grid.top_mm) if on.grid else (0.0, 0.0)
    corners = (left, top, left + on.width_mm, top + on.height_mm)
    alone = page.crop([round(mm / 25.4 * on.printer_dpi) for mm in corners])
    return alone.resize((alone.width * SCALE, alone.height * SCALE), Image.Resampling.NEAREST)


def around(image: Any, found: Any) -> tuple[Any, float]:
    """The part of a label around its code, with the quiet room; the width of the code there."""
    at = found.position
    corners = (at.top_left, at.top_right, at.bottom_left, at.bottom_right)
    across, down = [one.x for one in corners], [one.y for one in corners]
    room = 12 * SCALE
    box = (min(across) - room, min(down) - room, max(across) + room, max(down) + room)
    box = (max(box[0], 0), max(box[1], 0), min(box[2], image.width), min(box[3], image.height))
    return image.crop(box), max(across) - min(across)


@pytest.mark.needs("ZBar")
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("key", shipped().by_key)
def test_a_code_is_read_by_two_readers(key: str, kind: str, dpi: int) -> None:
    on = replace(shipped().by_key[key], printer_dpi=dpi)
    if (kind, key, dpi) in NO_ROOM:
        with pytest.raises(PrintRefused):
            printed(on, kind)
        return
    image = printed(on, kind)
    (found,) = codes(image)
    code, wide = around(image, found)
    dots = round(wide / SCALE / len(SYMBOLS[kind].rows[0]))
    wear = WEAR if dots >= WORN_DOTS else {"clean": WEAR["clean"]}
    lost = [
        (word, reader)
        for word, change in wear.items()
        for reader, text in (
            ("first", "".join(one.text for one in codes(change(code, dpi)))),
            ("second", second_reader(kind, change(code, dpi))),
        )
        if text != READ[kind]
    ]
    assert lost == []
