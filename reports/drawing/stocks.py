"""Label stocks: what one is, what is wrong with one, and those that the program proposes.

The proposals stand in ``reports/data/stocks.toml``, read strictly: an unknown key, a missing
one, a wrong kind of value or a duplicate stops the loading and names file, stock and key. A
department's own are rows (``reports.gathering.stocks`` says which stocks there are).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, fields, replace
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
KINDS = {"str": str, "int": int, "float": float, "tuple[float, float]": tuple}
TOP = ("last_checked", "barcode", "stock")
PRINTER_DPI = (203, 300, 600)
SHEETS_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1
LEAST_MARGIN_MM = 1.0  # the barcode's quiet zone lies in the margin
LEAST_SIDE_MM, MOST_SIDE_MM = 15.0, 300.0
"""A smaller label has no room for a code with words; a larger one is none. Our own bounds."""
LEAST_ROOM_MM = 10.0
"""What the margins leave of each side, at least. Our own bound."""
PRINTED_FROM_MM = 5
"""Office printers leave this much of a sheet's edge blank (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ModuleLimits:
    """How wide a barcode module is: ``preferred_mm`` where there is room, on a high label more
    (``share_of_height`` of it, up to ``most_mm``); never under ``least_mm`` and ``least_dots``
    printer dots. Bars are ``bars_share`` of their width high."""

    preferred_mm: float
    most_mm: float
    share_of_height: float
    least_dots: int
    least_mm: float
    bars_share: float
    source: str

    def wanted_mm(self, height_mm: float) -> float:
        """How wide a module of a matrix code is wanted on a label so high.

        >>> limits = shipped().by_key["label-100x50"].modules
        >>> limits.wanted_mm(25), round(limits.wanted_mm(50), 2), limits.wanted_mm(90)
        (0.5, 0.9, 0.99)
        """
        return min(max(self.preferred_mm, self.share_of_height * height_mm), self.most_mm)


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
    name_pt: tuple[float, float]
    text_pt: tuple[float, float]
    caption_pt: tuple[float, float]
    write_in_mm: float
    barcode_room_mm: float
    source: str
    modules: ModuleLimits
    grid: Grid | None = None

    @property
    def near_the_edge(self) -> bool:
        """Whether words would stand where office printers leave the sheet blank."""
        if self.grid is None:
            return False
        left, top = self.grid.corner_mm(self.grid.labels - 1)
        wide, high = SHEETS_MM[self.grid.paper]
        free = (self.grid.left_mm, self.grid.top_mm,
                wide - left - self.width_mm, high - top - self.height_mm)  # fmt: skip
        return min(free) + self.margin_mm < PRINTED_FROM_MM


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
    if not modules.least_mm <= modules.preferred_mm <= modules.most_mm:
        raise DataError(file, "barcode.preferred_mm", "must be least_mm up to most_mm")
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


def stock(key: str, among: Mapping[str, Stock] | None = None) -> Stock:
    """One stock by its key, of those ``among`` which it is; else of the proposals.

    DataError names those there are.

    >>> stock("roll-70x35").width_mm
    70.0
    """
    known = shipped().by_key if among is None else among
    if key not in known:
        raise DataError("label stocks", key, f"is none of them; there are {', '.join(known)}")
    return known[key]


def of_size(
    key: str, name: str, width_mm: float, height_mm: float, margin_mm: float, printer_dpi: int,
    grid: Grid | None = None,
) -> Stock:  # fmt: skip
    """A stock by its measures; type sizes and room for the code follow from its size.

    They are those of the largest proposal that it could hold, because they were tried on that;
    where it holds none, those of the smallest, and the code may take half of the label.
    """
    proposed = sorted(shipped().by_key.values(), key=lambda one: one.width_mm * one.height_mm)
    held = [one for one in proposed if one.width_mm <= width_mm and one.height_mm <= height_mm]
    like = held[-1] if held else proposed[0]
    room = min((width_mm - 2 * margin_mm) / 2, height_mm - 2 * margin_mm)
    return replace(
        like, key=key, name=name, width_mm=width_mm, height_mm=height_mm, margin_mm=margin_mm,
        printer_dpi=printer_dpi, grid=grid, barcode_room_mm=min(like.barcode_room_mm, room),
        source="the department's own",
    )  # fmt: skip


def problems(one: Stock) -> Iterator[tuple[str, str]]:
    """What is wrong with the measures of a stock: the field, and what was read and what to do."""
    if one.printer_dpi not in PRINTER_DPI:
        known = ", ".join(map(str, PRINTER_DPI))
        yield "printer_dpi", f"{one.printer_dpi} was read; take one of {known}."
    sides = (("width_mm", "width", one.width_mm), ("height_mm", "height", one.height_mm))
    for field, what, side in sides:
        if not LEAST_SIDE_MM <= side <= MOST_SIDE_MM:
            yield field, (f"A {what} of {side:g} mm was read; labels of {LEAST_SIDE_MM:g} to "
                          f"{MOST_SIDE_MM:g} mm are printed. Measure one label.")  # fmt: skip
    if one.margin_mm < LEAST_MARGIN_MM:
        yield "margin_mm", (f"{one.margin_mm:g} mm was read; {LEAST_MARGIN_MM:g} mm stay white at "
                            "least, else no scanner finds the code.")  # fmt: skip
    elif (left := min(one.width_mm, one.height_mm) - 2 * one.margin_mm) < LEAST_ROOM_MM:
        yield (
            "margin_mm",
            (
                f"Twice {one.margin_mm:g} mm leaves {max(left, 0):g} mm of the shorter side; "
                f"{LEAST_ROOM_MM:g} mm are needed. Write a smaller margin."
            ),
        )
    if one.grid:
        yield from _problems_of_grid(one, one.grid)


def _problems_of_grid(one: Stock, grid: Grid) -> Iterator[tuple[str, str]]:
    """Labels that overlap, or that leave the paper."""
    if grid.paper not in SHEETS_MM:
        yield "paper", f"{grid.paper} was read; take one of {', '.join(SHEETS_MM)}."
        return
    wide, high = SHEETS_MM[grid.paper]
    ways = (
        ("across", "wide", grid.across, grid.left_mm, grid.pitch_x_mm, one.width_mm, wide),
        ("down", "high", grid.down, grid.top_mm, grid.pitch_y_mm, one.height_mm, high),
    )
    for field, words, count, first, pitch, side, paper in ways:
        edge, step = ("left_mm", "pitch_x_mm") if field == "across" else ("top_mm", "pitch_y_mm")
        if count > 1 and pitch < side:
            yield step, (f"{pitch:g} mm from one label to the next was read, and a label is "
                         f"{side:g} mm {words}: labels would overlap. Measure from an edge of one "
                         "to the same edge of the next.")  # fmt: skip
        elif (end := first + (count - 1) * pitch + side) > paper:
            yield (
                edge if count == 1 else field,
                (
                    f"{count} {field} would end at {end:g} mm, and {grid.paper} is {paper:g} mm "
                    f"{words}. Measure size, first edge and distance anew, or count again."
                ),
            )


def _stock(file: str, place: str, raw: object, modules: ModuleLimits) -> Stock:
    plain = dict(raw) if isinstance(raw, dict) else raw
    sheet = plain.pop("grid", None) if isinstance(plain, dict) else None
    values = _values(file, place, plain, Stock, given={"modules", "grid"})
    for key in ("name_pt", "text_pt", "caption_pt"):
        if values[key][0] < values[key][1]:
            raise DataError(file, f"{place}.{key}", "must be the largest size, then the smallest")
    grid = None if sheet is None else Grid(**_values(file, f"{place}.grid", sheet, Grid))
    made = Stock(**values, modules=modules, grid=grid)
    for key, words in problems(made):
        raise DataError(file, f"{place}.{key}", words)
    return made


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
