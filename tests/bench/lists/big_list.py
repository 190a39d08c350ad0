"""A generated master list of any length, as a department would have one: ten columns."""

from __future__ import annotations

from pathlib import Path
from random import Random

import openpyxl

HEADINGS = (
    "Item #", "Description", "Category", "Vendor", "Vendor cat. no.", "Length (mm)",
    "Width (mm)", "Wt. (g)", "Sterilize by", "Steam cycle",
)  # fmt: skip
PATTERNS = ("Aldersyke", "Birkrigg", "Carling", "Dunmail", "Eskhow", "Fellbarrow", "Harter")
KINDS = (
    ("Scissors", "scissors, straight"),
    ("Scissors", "scissors, curved"),
    ("Forceps", "dissecting forceps"),
    ("Forceps", "haemostatic forceps"),
    ("Holding", "needle holder"),
    ("Retractors", "retractor, blunt"),
)
METHODS = ("steam", "steam, EO", "steam, H2O2", "EO")


def write(path: Path, rows: int) -> None:
    """Write ``rows`` instruments to an .xlsx file, the same ones at each call."""
    random = Random(20)
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Master list")
    sheet.append(HEADINGS)
    for number in range(rows):
        sheet.append(_row(number, random))
    book.save(path)


def _row(number: int, random: Random) -> tuple[object, ...]:
    group, kind = random.choice(KINDS)
    length = random.randrange(90, 320, 5)
    method = random.choice(METHODS)
    steam = "steam" in method
    return (
        f"HF-{100000 + number}",
        f"{random.choice(PATTERNS)} {kind}, {length} mm, model {number}",
        group,
        random.choice(("Kirkfell Instruments", "Wasdale Surgical", "Ennerdale")),
        f"K{random.randrange(10**6):06}.{number % 97:02}",
        length,
        random.randrange(20, 90),
        random.randrange(15, 400) if number % 3 else f"{random.randrange(15, 400) / 28.35:.1f} oz",
        method,
        random.choice(("134C 3-18 min, dry 20", "132C 4 min dry 30")) if steam else None,
    )
