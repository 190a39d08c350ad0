"""The shift's board: one landscape page, in the largest type that everything fits in."""

from __future__ import annotations

import pytest

from reports.documents.boards import BoardDocument, BoardPart
from reports.documents.lists import ListColumn
from reports.drawing.boards import SIZES, draw_board
from tests.reports.examples import page_size_mm, page_texts, type_sizes

COLUMNS = (ListColumn("By"), ListColumn("What", 4.0))


def board(rows: int, what: str = "Major laparotomy set") -> BoardDocument:
    part = BoardPart("Begin by", COLUMNS, tuple((f"06:{n:02}", f"{what} {n}") for n in range(rows)))
    return BoardDocument("Work ahead", (part,) if rows else (), "Made by T. Birkett")


@pytest.mark.parametrize("rows", [0, 3, 20, 200])
def test_it_is_one_landscape_page(rows: int) -> None:
    pdf = draw_board(board(rows))
    assert len(page_texts(pdf)) == 1
    assert page_size_mm(pdf) == pytest.approx((297, 210), abs=1)


def test_few_rows_are_read_from_two_metres() -> None:
    assert SIZES[0] in type_sizes(draw_board(board(5)))


def test_rows_are_never_smaller_than_is_read_from_one() -> None:
    [text] = page_texts(draw_board(board(200)))
    assert SIZES[-1] in type_sizes(draw_board(board(200)))
    assert "06:00" in text


def test_what_does_not_fit_is_counted() -> None:
    [text] = page_texts(draw_board(board(200)))
    shown = text.count("Major laparotomy set")
    assert 10 < shown < 200
    assert f"{200 - shown} more: on the screen." in text


def test_where_all_fits_nothing_is_left_out() -> None:
    [text] = page_texts(draw_board(board(20)))
    assert text.count("Major laparotomy set") == 20 and "more:" not in text


def test_an_empty_board_says_so() -> None:
    assert "Nothing waits." in page_texts(draw_board(board(0)))[0]


def test_a_name_that_is_long_breaks_and_stays() -> None:
    [text] = page_texts(
        draw_board(board(3, "Instruments for the left knee, second tray of four " * 4))
    )
    assert text.count("second tray of four") == 12
