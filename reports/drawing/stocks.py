"""Label stocks as data: ``reports/data/stocks.toml``, read strictly.

A stock is added by adding a table to the file. An unknown key, a missing one, a wrong
kind of value or a duplicate stops the loading and names file, stock and key.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, fields
from datetime import date
from functools import cache
from math import inf
from pathlib import Path
from typing import Any

from catalog.data_files import (
    DataError,
    check_day,
    check_keys,
    check_some,
    read_data,
    read_table,
)

DATA = Path(__file__).parents[1] / "data" / "stocks.toml"
KINDS = {"str": str, "int": int, "float": float, "bool": bool, "tuple[float, float]": tuple}
TOP = ("last_checked", "barcode", "stock")
PRINTER_DPI = (203, 300, 600)
SHEETS_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1
LEAST_MARGIN_MM = 1.0  # the barcode's quiet zone lies in the margin


@dataclass(frozen=True, slots=True)
class ModuleLimits:
    """How wide a barcode module is: in printer dots, and never under ``least_mm``."""

    preferred_dots: int
    least_dots: int
    least_mm: float
    source: str


@dataclass(frozen=True, slots=True)
class Grid:
    """Labels on a sheet: how many across and down, and where. Lengths in mm.

    ``left_mm`` and ``top_mm`` lead to the first label's corner, the pitches from one
    label's corner to the next one's.
    """

    paper: str
    across: int
    down: int
    left_mm: float
    top_mm: float
    pitch_x_mm: float
    pitch_y_mm: float

    @property
    def labels(self) -> int:
        """How many labels a sheet has."""
        return self.across * self.down

    def corner_mm(self, place: int) -> tuple[float, float]:
        """The top left corner of the label at ``place`` (0 first, along the rows)."""
        row, column = divmod(place, self.across)
        return self.left_mm + column * self.pitch_x_mm, self.top_mm + row * self.pitch_y_mm


@dataclass(frozen=True, slots=True)
class Stock:
    """One label stock: single labels, a roll, or a sheet of labels (``grid``).

    Lengths in mm; type sizes in points, largest first, then smallest.

    ``barcode_room_mm`` is the widest the barcode may be, quiet zones included;
    ``write_in_mm`` the height of a ruled field that is filled in by hand.
    """

    key: str
    name: str
    width_mm: float
    height_mm: float
    margin_mm: float
    printer_dpi: int
    continuous: bool
    name_pt: tuple[float, float]
    text_pt: tuple[float, float]
    caption_pt: tuple[float, float]
    write_in_mm: float
    barcode_room_mm: float
    source: str
    modules: ModuleLimits
    grid: Grid | None = None


@dataclass(frozen=True, slots=True)
class Stocks:
    """All label stocks by key, with the day the file was last checked."""

    last_checked: date
    by_key: dict[str, Stock]


def load(path: Path) -> Stocks:
    """The stocks in ``path``; DataError on the first thing that is wrong."""
    file = path.name
    table = check_keys(file, "(top)", read_data(path), TOP, TOP)
    checked = check_day(file, "last_checked", table["last_checked"])
    modules = ModuleLimits(**_values(file, "barcode", table["barcode"], ModuleLimits))
    if not 0 < modules.least_dots <= modules.preferred_dots:
        raise DataError(file, "barcode.least_dots", "must be 1 up to preferred_dots")
    by_key: dict[str, Stock] = {}
    stocks = check_some(file, "stock", table["stock"], "[[stock]] table")
    for number, raw in enumerate(stocks, start=1):
        stock = _stock(file, f"stock {number}", raw, modules)
        if stock.key in by_key:
            raise DataError(file, f"stock {number}.key", f"{stock.key!r} is there twice")
        by_key[stock.key] = stock
    return Stocks(checked, by_key)


@cache
def shipped() -> Stocks:
    """The stocks that come with the program, read once."""
    return load(DATA)


def stock(key: str) -> Stock:
    """One shipped stock by its key.

    >>> stock("roll-70x35").width_mm
    70.0
    """
    known = shipped().by_key
    if key not in known:
        raise DataError(DATA.name, "stock", f"no {key!r}; there are {', '.join(known)}")
    return known[key]


def _stock(file: str, place: str, raw: object, modules: ModuleLimits) -> Stock:
    plain = dict(raw) if isinstance(raw, dict) else raw
    sheet = plain.pop("grid", None) if isinstance(plain, dict) else None
    values = _values(file, place, plain, Stock, given={"modules", "grid"})
    if values["printer_dpi"] not in PRINTER_DPI:
        raise DataError(file, f"{place}.printer_dpi", f"must be one of {PRINTER_DPI}")
    if values["margin_mm"] < LEAST_MARGIN_MM:
        raise DataError(file, f"{place}.margin_mm", f"must be at least {LEAST_MARGIN_MM} mm")
    if 2 * values["margin_mm"] >= min(values["width_mm"], values["height_mm"]):
        raise DataError(file, f"{place}.margin_mm", "leaves no room to print on")
    for key in ("name_pt", "text_pt", "caption_pt"):
        if values[key][0] < values[key][1]:
            raise DataError(file, f"{place}.{key}", "must be the largest size, then the smallest")
    grid = None if sheet is None else _grid(file, f"{place}.grid", sheet, values)
    return Stock(**values, modules=modules, grid=grid)


def _grid(file: str, place: str, raw: object, label: dict[str, Any]) -> Grid:
    """The sheet's grid; DataError where labels would overlap or leave the paper."""
    grid = Grid(**_values(file, place, raw, Grid))
    if grid.paper not in SHEETS_MM:
        raise DataError(file, f"{place}.paper", f"must be one of {', '.join(SHEETS_MM)}")
    if grid.pitch_x_mm < label["width_mm"] or grid.pitch_y_mm < label["height_mm"]:
        raise DataError(file, place, "the pitch is less than the label: labels would overlap")
    left, top = grid.corner_mm(grid.labels - 1)
    wide, high = SHEETS_MM[grid.paper]
    if left + label["width_mm"] > wide or top + label["height_mm"] > high:
        raise DataError(file, place, f"the last label would leave the {grid.paper} sheet")
    return grid


def _values(
    file: str, place: str, raw: object, kind: type, given: Collection[str] = ()
) -> dict[str, Any]:
    """The fields of ``kind`` but those ``given``; every number is above zero and has an end."""
    kinds = {f.name: KINDS[str(f.type)] for f in fields(kind) if f.name not in given}
    values = read_table(file, place, raw, kinds, kinds)
    for key, value in values.items():
        for number in value if isinstance(value, tuple) else (value,):
            if type(number) in (int, float) and not 0 < number < inf:
                raise DataError(file, f"{place}.{key}", f"must be above zero, was {number!r}")
    return values
