"""What a label leaves out where there is little room: one order, written down and kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.documents.giving_way import LONG_NAMES, ORDER, STAYS, gave_way, wordings
from reports.documents.labels import MINIMUM, LabelDocument
from reports.drawing.fitting import PrintRefused
from reports.drawing.labels.packages import plan_of
from reports.drawing.stocks import shipped, stock
from tests.conftest import FEWER
from tests.reports.examples import draw_label, page_texts, squeezed

SMALL = stock("roll-50x25")
ORDINARY = LabelDocument(
    what="Scissors, Metzenbaum, curved, 180 mm", packed_by="Tam Birkett",
    packed_on=date(2026, 11, 25), barcode_text="PK-000001T", hospital="Hollin Fell Hospital",
    statement="Sterile only if the outside indicator has changed, and unless opened, damaged or "
    "wet.", item_number="HF-1042", quantity="1 piece", package="Pouch PF-100x300",
    method="S134-3 (steam 134 °C, 3 min)", sterilizer="ST1", cycle="3",
    sterilized_on=date(2026, 11, 26), lot_number="ST1-20261126-3",
    lot_holds=("sterilizer", "date", "cycle"),
)  # fmt: skip
FULL = replace(
    ORDINARY, tray="2 of 3", weight="8.4 kg", department="OR 3", load="17",
    flags=("IMPLANT", "LOANER", "CYCLE NOT THE MAKER'S: ACCEPTED BY Bea Hartsop"),
    missing=("MISSING 1 Péan (0 of 1 in the set)", "MISSING 2 Hook (1 of 3 in the set)"),
    instead=("SUBSTITUTE 1 Mayo scissors for Metzenbaum scissors",),
    unknown=("Not known: whether it takes a tip protector.",), single_or_double="double",
)  # fmt: skip
STOCKS = pytest.mark.parametrize("on", shipped().by_key.values(), ids=lambda on: on.key)


def test_the_order_stands_in_the_developers_notes_as_it_is_kept():
    notes = Path("DEVELOPERS.md").read_text(encoding="utf-8")
    written = notes.partition("**What gives way on a small label**")[2].partition("\n\n**")[0]
    steps = [line.partition(". ")[2] for line in written.splitlines() if line[:1].isdigit()]
    assert steps == [step.gives for step in ORDER]
    assert all(words in " ".join(written.split()) for words in STAYS)


def test_each_step_takes_something_and_the_last_leaves_what_stays():
    short = replace(FULL, what="Mayo scissors")
    every = list(wordings(short))
    assert len(every) == len(ORDER) + 1 - 1  # the load is known: no line for it gives way
    last = every[-1]
    assert (last.what, last.tray, last.barcode_text, last.lot_number, last.packed_by) == (
        short.what, "2 of 3", FULL.barcode_text, FULL.lot_number, FULL.packed_by,
    )  # fmt: skip
    assert (last.sterilized_on, last.weight) == (FULL.sterilized_on, "8.4 kg")
    assert last.flags == ("IMPLANT", "LOANER", "MISSING 3, MORE: READ ITS RECORD")
    *_, last = wordings(replace(short, missing=()))
    assert last.flags == ("IMPLANT", "LOANER", "EXCEPTIONS: READ ITS RECORD")


def test_what_the_policy_requires_by_name_gives_way_last():
    asked = replace(FULL, required=("package", "hospital", "shelf life"))
    *_, before, _ = [one for one in wordings(asked) if one.statement]
    assert (before.package, before.hospital, bool(before.statement)) == (
        FULL.package, FULL.hospital, True,
    )  # fmt: skip


def test_what_gave_way_is_told_in_its_order():
    printed = list(wordings(FULL))[3]
    assert gave_way(FULL, printed) == [step.gives for step in ORDER if "line" not in step.gives][:3]
    assert gave_way(FULL, FULL) == []
    begun = list(wordings(FULL))[-1]
    assert gave_way(FULL, begun)[0] == "the end of a long name"


def test_a_known_cycle_is_never_left_out_for_an_unknown_lot():
    known = replace(ORDINARY, lot_number="", sterilizer="ST1", cycle="3")
    assert all(one.sterilizer == "ST1" for one in wordings(known))


@STOCKS
@pytest.mark.parametrize("document", [ORDINARY, replace(ORDINARY, sterilizer="", cycle="",
                                      sterilized_on=None, lot_number="")])  # fmt: skip
def test_every_stock_says_what_stays(on, document: LabelDocument):
    said = squeezed(page_texts(draw_label(document, on))[0])
    for words in (document.what, document.barcode_text, document.packed_by, "25 Nov 2026"):
        assert squeezed(words) in said
    lot = document.lot_number or ("Lot" if on is SMALL else "Sterilizer")
    assert squeezed(lot) in said and ("26Nov2026" in said or "Date" in said)


@FEWER
@given(
    what=st.lists(st.text("abcdefgABC0123-/ü", min_size=1, max_size=12), min_size=1, max_size=8),
    flags=st.lists(st.sampled_from(FULL.flags), unique=True),
    unknown=st.lists(st.text("abc def", min_size=3, max_size=60), max_size=3),
    in_load=st.booleans(),
)
def test_printed_or_refused_nothing_that_stays_is_lost(what, flags, unknown, in_load):
    document = replace(ORDINARY, what=" ".join(what), flags=tuple(flags), unknown=tuple(unknown))
    if not in_load:
        document = replace(document, sterilizer="", cycle="", sterilized_on=None, lot_number="")
    try:
        said = squeezed(page_texts(draw_label(document, SMALL))[0])
    except PrintRefused:
        return
    if squeezed(document.what) not in said:  # then its number and the first words
        assert "HF-1042" in said and "…" in said and len(document.what) > min(LONG_NAMES)
    kept = [document.barcode_text, document.packed_by, document.lot_number]
    kept += [flag for flag in flags if flag in ("IMPLANT", "LOANER")]
    assert all(squeezed(words) in said for words in kept)
    exceptions = len(unknown) + (FULL.flags[2] in flags)
    assert not exceptions or any(
        words in said for words in ("CYCLENOT", "notknown", "Notknown", "EXCEPTIONS", *unknown)
    ) or squeezed(unknown[0]) in said  # fmt: skip


def test_one_exception_more_never_keeps_a_label_of_a_single_from_the_smallest_stock():
    """A pouch that no larger label has a place on needs its label."""
    for flags, unknown in ((FULL.flags[2:], FULL.unknown), (FULL.flags[:2], ()), ((), ("x",) * 9)):
        for known in ({}, {"sterilizer": "", "cycle": "", "sterilized_on": None, "lot_number": ""}):
            assert plan_of(replace(ORDINARY, flags=flags, unknown=unknown, **known), SMALL).fits


def test_the_minimum_has_a_date_and_no_number_of_a_row():
    assert "sterilized on" in MINIMUM and "load" not in MINIMUM
    assert replace(ORDINARY, sterilized_on=date(2026, 3, 7)).load_fields[-1] == (
        "Date", "7 Mar 2026",
    )  # fmt: skip
