"""Which label stocks there are, and what a coordinator does with them: add, change, out of use.

The program proposes some (``reports/data/stocks.toml``), which need no row. A row with the code of
a proposal takes its place: workstations that print on it keep doing so, by its measures.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.utils.text import slugify

from assembly.ledger import Refused, verb
from assembly.persons import Person
from catalog.actions import record
from catalog.actions.recording import take
from catalog.models import Change
from reports.drawing.stocks import Grid, Stock, of_size, shipped
from reports.models import LabelStock

CHANGE_STOCKS = "reports.change_labelstock"
PLAIN = ("name", "width_mm", "height_mm", "margin_mm", "printer_dpi")
GRID = ("across", "down", "left_mm", "top_mm", "pitch_x_mm", "pitch_y_mm")
LONGEST_CODE = 50


def label_stocks() -> dict[str, Stock]:
    """Which stocks there are to print on, by key: for pages, commands and tests."""
    found = dict(shipped().by_key)
    for row in LabelStock.objects.all():
        if row.retired:
            found.pop(row.code, None)
        else:
            found[row.code] = stock_of(row.code, _measures(row))
    return found


def stock_of(code: str, said: Mapping[str, Any]) -> Stock:
    """A stock by its measures, as a row has them or as they were typed."""
    grid = None
    if said["paper"]:
        mm = {name: float(said[name]) for name in GRID[2:]}
        grid = Grid(said["paper"], said["across"], said["down"], **mm)
    return of_size(
        code, said["name"], float(said["width_mm"]), float(said["height_mm"]),
        float(said["margin_mm"]), int(said["printer_dpi"]), grid,
    )  # fmt: skip


def usual_name(said: Mapping[str, Any]) -> str:
    """What a stock is called where nobody says."""
    size = f"{float(said['width_mm']):g} x {float(said['height_mm']):g} mm"
    if not said["paper"]:
        return f"Roll, {size}"
    paper = said["paper"][:1].upper() + said["paper"][1:]
    return f"{paper} sheet, {said['across'] * said['down']} labels of {size}"


def row_of(code: str) -> LabelStock | None:
    """The row of a stock, in use or not; for a proposal one that is not saved; None for neither."""
    row = LabelStock.objects.filter(code=code).first()
    return row or (as_row(shipped().by_key[code]) if code in shipped().by_key else None)


def as_row(one: Stock) -> LabelStock:
    """The measures of a stock as a row that is not saved."""
    said = {name: getattr(one, name) for name in PLAIN}
    if one.grid:
        said |= {name: getattr(one.grid, name) for name in ("paper", *GRID)}
    kept = {name: Decimal(str(mm)) if name.endswith("_mm") else mm for name, mm in said.items()}
    return LabelStock(code=one.key, **kept)


def _measures(row: LabelStock) -> dict[str, Any]:
    return {field.name: getattr(row, field.name) for field in LabelStock._meta.fields}


def _free_code(name: str) -> str:
    """A key for addresses and commands, made of the name, that no other stock has."""
    wanted = slugify(name)[:LONGEST_CODE].strip("-") or "stock"
    taken = {*shipped().by_key, *LabelStock.objects.values_list("code", flat=True)}
    codes = (wanted if n == 1 else f"{wanted}-{n}" for n in range(1, len(taken) + 2))
    return next(code for code in codes if code not in taken)


@verb(CHANGE_STOCKS)
def add_stock(person: Person, values: Mapping[str, Any]) -> LabelStock:
    """A stock of the department's own, by its measures. ValidationError when it cannot be."""
    row = LabelStock(code=_free_code(values["name"]), **values)
    row.full_clean()
    row.save(force_insert=True)
    record(person.actor(), Change.Verb.ADDED, row, row.code, None, values)
    return row


@verb(CHANGE_STOCKS)
def change_stock(person: Person, row: LabelStock, values: Mapping[str, Any]) -> LabelStock:
    """Other measures of a stock, as it was when it was read; of a proposal: a row in its place."""
    if row.pk is None and LabelStock.objects.filter(code=row.code).exists():
        raise Refused(f"Somebody else changed {row} meanwhile. Look at it, then change it again.")
    before, after = take(row, values)
    if after:
        row.full_clean()
        row.save()
        record(person.actor(), Change.Verb.CHANGED, row, row.code, before, after)
    return row


@verb(CHANGE_STOCKS)
def put_out_of_use(person: Person, row: LabelStock, reason: str = "") -> None:
    """Nobody prints on it from now on. Refused for the last one that there is."""
    if set(label_stocks()) == {row.code}:
        raise Refused(f"{row} is the last stock there is. Add another first.")
    _set_retired(person, row, True, reason)


@verb(CHANGE_STOCKS)
def bring_back(person: Person, row: LabelStock, reason: str = "") -> None:
    """It is printed on again."""
    _set_retired(person, row, False, reason)


def _set_retired(person: Person, row: LabelStock, retired: bool, reason: str) -> None:
    if row.retired != retired:
        row.retired = retired
        row.save()
        said = Change.Verb.RETIRED if retired else Change.Verb.RESTORED
        record(person.actor(reason), said, row, row.code, {"retired": not retired},
               {"retired": retired})  # fmt: skip
