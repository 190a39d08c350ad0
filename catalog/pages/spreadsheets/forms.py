"""Forms of the spreadsheet pages: the upload, and what a person says of columns and units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django import forms

from catalog.forms.fields import row_number
from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.columns.choices import NOTHING_SAID, Choices, SheetChoice
from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.evidence.finding import HEADER_WITHIN
from catalog.spreadsheets.workbook.safety import MAX_FILE_BYTES
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS


class UploadForm(forms.Form):
    """One file. What it is, its job tells by its content, and not by its name."""

    file = forms.FileField(
        label="Workbook (.xlsx, .xls, .ods) or text table (.csv)",
        error_messages={"required": "Choose a file first.", "empty": "There is nothing in it."},
    )
    kind = forms.ChoiceField(
        label="It holds",
        required=False,
        choices=[("", "tell by its headings"), *SpreadsheetBatch.Kind.choices],
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > MAX_FILE_BYTES:
            raise forms.ValidationError(
                f"The file has {file.size:,} bytes; the limit is {MAX_FILE_BYTES:,}. "
                "Split the list."
            )
        return file


@dataclass
class SheetForm:
    """What a person says of one sheet, read from the page's fields ``s<number>-...``."""

    number: int
    proposal: Mapping[str, Any]
    columns: Sequence[Column]
    choice: SheetChoice
    errors: list[str] = field(default_factory=list)

    @property
    def prefix(self) -> str:
        return f"s{self.number}"

    @property
    def rows(self) -> Iterator[dict[str, Any]]:
        """The columns of the sheet for the page, each with what is chosen now."""
        for column in self.proposal["columns"]:
            key = self.choice.columns.get(column["letter"], "")
            unit = self.choice.units.get(key, "") or column["judged"]
            yield {**column, "chosen": key, "unit": unit, "asks": self._asks(column, key)}

    def _asks(self, column: Mapping[str, Any], key: str) -> bool:
        """Whether the unit of bare numbers is a question here."""
        return bool(self._units(key)) and not column["unit_in_heading"]

    def _units(self, key: str) -> Sequence[str]:
        column = next((each for each in self.columns if each.key == key), None)
        if column is None or column.unit is None:
            return ()
        return tuple(LENGTH_UNITS if column.unit == "mm" else WEIGHT_UNITS)

    @property
    def unjudged(self) -> bool:
        """Whether a column of sizes was chosen whose unit nobody has judged yet."""
        proposed = {each["letter"]: each for each in self.proposal["columns"]}
        return not self.choice.left_out and any(
            self._units(key)
            and key not in self.choice.units
            and not proposed[letter]["unit_in_heading"]
            and proposed[letter]["key"] != key
            for letter, key in self.choice.columns.items()
        )

    def read(self, data: Mapping[str, Any]) -> SheetChoice:
        """The choice in the submitted fields; what is wrong with it goes into ``errors``."""
        left_out = bool(data.get(f"{self.prefix}-left-out"))
        header = str(data.get(f"{self.prefix}-header", "")).strip()
        columns: dict[str, str] = {}
        units: dict[str, str] = {}
        known = {column.key: column for column in self.columns}
        for column in self.proposal["columns"]:
            letter = column["letter"]
            key = str(data.get(f"{self.prefix}-key-{letter}", ""))
            columns[letter] = ""
            if key not in known:
                continue
            if key in columns.values():
                self.errors.append(f"{known[key].title} is chosen twice. Choose it once.")
            columns[letter] = key
            unit = str(data.get(f"{self.prefix}-unit-{letter}", ""))
            if unit and unit not in self._units(key):
                self.errors.append(f"{unit} is no unit of {known[key].title}.")
            elif unit:
                units[key] = unit
        row = row_number(header) if header else None
        self.choice = replace(
            self.choice, header_row=row, columns=columns, units=units, left_out=left_out
        )
        if not left_out:
            self._check(known, without=header == "0")
        return self.choice

    def said(self, stored: Choices) -> SheetChoice:
        """What the person said of the sheet: what was said before, and what is not as proposed."""
        before = stored.get(self.proposal["title"], NOTHING_SAID)
        proposed = {each["letter"]: each for each in self.proposal["columns"]}
        columns = {
            letter: key
            for letter, key in self.choice.columns.items()
            if letter in before.columns or key != proposed[letter]["key"]
        }
        judged = {each["key"]: each["judged"] for each in proposed.values()}
        units = {
            key: unit
            for key, unit in self.choice.units.items()
            if key in before.units or unit != judged.get(key)
        }
        row, left_out = self.choice.header_row, self.choice.left_out
        return replace(
            before,
            header_row=before.header_row if row in (None, self.proposal["header_row"]) else row,
            columns=columns,
            units=units,
            left_out=before.left_out if left_out == self.proposal["left_out"] else left_out,
        )

    def _check(self, known: Mapping[str, Column], without: bool) -> None:
        if not without and not 1 <= (self.choice.header_row or 0) <= HEADER_WITHIN:
            self.errors.append(
                f"Say which row has the headings: 1 to {HEADER_WITHIN}, or 0 where none has."
            )
        chosen = set(self.choice.columns.values())
        chosen |= {"quantity"} if self.choice.quantity else set()
        chosen |= {"item_number"} if self.choice.numbers_from else set()
        missing = [
            each.title for each in known.values() if each.required and each.key not in chosen
        ]
        if missing:
            self.errors.append(
                f"No column is chosen for {' and '.join(missing)}. Choose it, or leave the "
                "sheet out."
            )
