"""Spreadsheets at the same moment as other work: nobody overwrites anybody unseen.

Run by ``test_races.py`` in processes of their own.
"""

from __future__ import annotations

from functools import partial

from catalog.actions import Actor, start_draft
from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.batches.correcting import MeanwhileError, Said, correct
from catalog.spreadsheets.batches.verbs import run
from tests.at_once import ROUNDS, together
from tests.factories import catalog as make

LIST = b"Item #,Name,Length (mm)\nT-1,Probe,14-16 cm\nT-2,Hook,9-10 cm\n"


def checked(content: bytes = LIST, kind: str = "instruments") -> SpreadsheetBatch:
    batch = make.SpreadsheetBatch(content=content, kind=kind)
    for job in ("look", "check"):
        run(batch.pk, job)
    batch.refresh_from_db()
    return batch


def say(batch: SpreadsheetBatch, by: str, row: int, was: str, now: str) -> bool:
    """Whether what is said of the length in a row went on record."""
    at = (batch.proposals[0]["title"], row, "C")
    try:
        return correct(batch, Actor(by), [Said(at, was, now)]) == 1
    except MeanwhileError:
        return False


def test_the_same_cell_at_once(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        batch = checked()
        done = together(
            partial(say, batch, "Lena", 2, "14-16 cm", "15 cm"),
            partial(say, batch, "Ola", 2, "14-16 cm", "16 cm"),
        )
        kept = batch.corrections.get()
        assert (sorted(done), kept.by) == ([False, True], ["Lena", "Ola"][done.index(True)])


def test_two_cells_at_once(transactional_db: None) -> None:
    for _ in range(ROUNDS):
        batch = checked()
        done = together(
            partial(say, batch, "Lena", 2, "14-16 cm", "15 cm"),
            partial(say, batch, "Ola", 3, "9-10 cm", "9 cm"),
        )
        run(batch.pk, "check")
        lengths = [row.values["length_mm"] for row in batch.rows.all()]
        assert (done, lengths) == ([True, True], ["150.000", "90.000"])


def test_a_draft_is_started_while_count_sheets_go_in(transactional_db: None) -> None:
    for number in range(ROUNDS):
        sheet = make.CountSheet(instrument_set__code=f"S-{number}")
        line = make.Line(count_sheet=sheet, quantity=1)
        rows = f"Set no.,Quantity,Item #\nS-{number},2,{line.instrument.item_number}\n"
        batch = checked(rows.encode(), "sets")
        done = together(
            partial(run, batch.pk, "apply"),
            partial(start_draft, Actor("Ola"), sheet.instrument_set),
        )
        batch.refresh_from_db()
        drafts = sheet.instrument_set.count_sheets.filter(state="draft")
        assert done[1] in drafts
        assert (batch.state, drafts.count()) in (("applied", 2), ("checked", 1))
