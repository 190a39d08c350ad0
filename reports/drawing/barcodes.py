"""Barcodes as vector shapes on whole printer dots.

Our own codes go out as *plain* Data Matrix or Code 128. Only a hospital that has a GS1
company prefix may issue GS1 identifiers, and says so in its policy. A thermal print head
cannot print part of a dot, so that a module is always a whole number of dots.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import lru_cache
from html import escape
from operator import not_
from typing import Any

import zxingcpp

from reports.drawing.fitting import PrintRefused
from reports.drawing.measures import dots_mm
from reports.drawing.stocks import ModuleLimits

FIELD = "the barcode"
DATA_MATRIX_QUIET = 1  # modules on each side: ISO/IEC 16022
CODE_128_QUIET = 10  # modules on each side: ISO/IEC 15417
_ALMOST = 1e-6
_BLACK = re.compile(rb"\x01+")
KEPT_ROWS = 1 << 12
"""Rows of symbols kept: the codes of one day have many in common."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A barcode's modules, row by row from the top, True for black, without quiet zone."""

    text: str
    rows: tuple[tuple[bool, ...], ...]
    quiet: int

    @property
    def across(self) -> int:
        """Modules from left to right, quiet zones included."""
        return len(self.rows[0]) + 2 * self.quiet


@dataclass(frozen=True, slots=True)
class Widths:
    """How many printer dots wide a module may be: at the least, as preferred, at the most."""

    least: int
    preferred: int
    most: int


def data_matrix(text: str, field: str = FIELD) -> Symbol:
    """``text`` as a square plain Data Matrix; PrintRefused unless it is printable ASCII.

    >>> len(data_matrix("SET-0042").rows)
    14
    """
    rows = _modules(text, field, zxingcpp.BarcodeFormat.DataMatrix, force_square=True)
    return Symbol(text, rows, DATA_MATRIX_QUIET)


def data_matrix_if_any(text: str) -> Symbol:
    """The same for a paper that serves without: no modules where the text cannot be one."""
    try:
        return data_matrix(text)
    except PrintRefused:
        return Symbol(text, (), 0)


def gs1_data_matrix(elements: str, field: str = FIELD) -> Symbol:
    """GS1 element strings with square brackets, ``[01]...[21]...``, as a GS1 DataMatrix.

    The encoder checks identifiers and lengths only: give it what ``catalog.scans`` accepts.
    For codes that exist, and for testing scanners; a code of our own is
    :func:`asset_data_matrix`.

    >>> len(gs1_data_matrix("[01]09501101530003[21]A1").rows)
    16
    """
    rows = _modules(elements, field, zxingcpp.BarcodeFormat.DataMatrix, gs1=True, force_square=True)
    return Symbol(elements, rows, DATA_MATRIX_QUIET)


def svg(symbol: Symbol, module_mm: float, title: str) -> str:
    """The symbol with its quiet zone as SVG, modules ``module_mm`` wide on paper."""
    across, down = symbol.across, len(symbol.rows) + 2 * symbol.quiet
    path = "".join(
        f"M{symbol.quiet + start} {symbol.quiet + number}h{end - start}v1h{start - end}z"
        for number, row in enumerate(symbol.rows)
        for start, end in _runs(row)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="barcode" role="img" '
        f'aria-label="{escape(title)}" width="{across * module_mm:g}mm" '
        f'height="{down * module_mm:g}mm" viewBox="0 0 {across} {down}" '
        f'shape-rendering="crispEdges"><rect width="{across}" height="{down}" fill="#fff"/>'
        f'<path d="{path}" fill="#000"/></svg>'
    )


def code_128(text: str, field: str = FIELD) -> Symbol:
    """``text`` as a plain Code 128, one row of modules; PrintRefused as for Data Matrix."""
    rows = _modules(text, field, zxingcpp.BarcodeFormat.Code128)
    return Symbol(text, rows[:1], CODE_128_QUIET)


GS1_PREFIX = re.compile(r"[0-9]{4,12}")
GS1_SIGNS = re.compile(r"[0-9A-Za-z!\"%&'()*+,\-./:;<=>?_]+")  # the 82 signs of GS1
GIAI_MOST = 30


def asset_data_matrix(prefix: str, code: str, field: str = FIELD) -> Symbol:
    """``code`` as an individual asset (8004) under the company's ``prefix``.

    Only a company with a GS1 company prefix of its own may issue it. PrintRefused when the
    prefix is none, or the code has another sign or is too long. Source: GS1 General
    Specifications, AI 8004: at most 30 signs.
    """
    if not GS1_PREFIX.fullmatch(prefix):
        raise PrintRefused(field, f"{prefix!r} is no GS1 company prefix: it has 4 to 12 figures.")
    if not GS1_SIGNS.fullmatch(code) or len(prefix + code) > GIAI_MOST:
        raise PrintRefused(
            field,
            f"{code!r} cannot be a GS1 code: letters, figures and plain punctuation without "
            f"spaces, with the prefix at most {GIAI_MOST}.",
        )
    made = gs1_data_matrix(f"[8004]{prefix}{code}", field)
    return replace(made, text=f"(8004) {prefix}{code}")


def _modules(text: str, field: str, kind: Any, **options: Any) -> tuple[tuple[bool, ...], ...]:
    if not text.strip():
        raise PrintRefused(field, "there is no code to print. Give the code.")
    if not (text.isascii() and text.isprintable()):
        raise PrintRefused(
            field,
            f"{text!r} holds a sign that scanners may read in different ways. "
            "Use letters A to Z, figures and plain punctuation.",
        )
    try:
        barcode = zxingcpp.create_barcode(text, kind, **options)
    except ValueError as problem:
        raise PrintRefused(field, f"{text!r} is too long for one barcode.") from problem
    image: Any = barcode.to_image(scale=1, add_quiet_zones=False)
    rows: Any = memoryview(image).tolist()
    return tuple(tuple(map(not_, row)) for row in rows)  # shade 0 is black


def module_dots(
    symbol: Symbol, room_mm: float, dpi: int, limits: ModuleLimits, wanted_mm: float = 0.0,
    field: str = FIELD,
) -> Widths:  # fmt: skip
    """How many printer dots wide a module may be where ``room_mm`` is free, quiet zones included.

    PrintRefused when not even the fewest dots allowed fit.
    """
    dot = dots_mm(1, dpi)
    least = max(limits.least_dots, math.ceil(limits.least_mm / dot - _ALMOST))
    preferred = math.ceil(limits.preferred_mm / dot - _ALMOST)
    most = int(room_mm / (symbol.across * dot) + _ALMOST)
    if most >= least:
        wanted = max(preferred, int(wanted_mm / dot + _ALMOST))
        return Widths(least, max(least, min(preferred, most)), max(least, min(wanted, most)))
    needs = symbol.across * dots_mm(least, dpi)
    raise PrintRefused(
        field,
        f"{symbol.text!r} needs {needs:.0f} mm at the least that {dpi} dpi print so that it is "
        f"read, and there are {room_mm:.0f} mm. Use a wider label or a shorter code.",
    )


def draw(
    canvas: Any, symbol: Symbol, left: float, top: float, module: float,
    height: float | None = None,
) -> None:  # fmt: skip
    """The black modules as one filled path, in points; ``left``, ``top`` without quiet zone.

    The rows are ``height`` high: of a linear code; else as high as a module is wide.
    """
    height = module if height is None else height
    path = canvas.beginPath()
    for number, row in enumerate(symbol.rows):
        bottom = top - (number + 1) * height
        for start, end in _runs(row):
            path.rect(left + start * module, bottom, (end - start) * module, height)
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


@lru_cache(maxsize=KEPT_ROWS)
def _runs(row: tuple[bool, ...]) -> tuple[tuple[int, int], ...]:
    """Where black runs start and end.

    >>> _runs((True, True, False, True))
    ((0, 2), (3, 4))
    """
    return tuple(run.span() for run in _BLACK.finditer(bytes(row)))
