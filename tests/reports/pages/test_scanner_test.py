"""The scanner test: the codes read back, and each fault is told from the others."""

from __future__ import annotations

import pytest
import zxingcpp
from django.test import Client
from PIL import Image

from assembly.rules.findings import Status
from reports.drawing.barcodes import Symbol, data_matrix, gs1_data_matrix, svg
from reports.pages.scanner_test import GS1_ELEMENTS, HEAD, PLAIN, TAIL, Point, judge

GS1 = f"]d2{HEAD}\x1d{TAIL}"
MARK, SEPARATOR, LAYOUT, END = range(4)


def picture(symbol: Symbol) -> Image.Image:
    image = Image.new("L", (len(symbol.rows) + 4, len(symbol.rows) + 4), 255)
    for y, row in enumerate(symbol.rows):
        for x, black in enumerate(row):
            image.putpixel((x + 2, y + 2), 0 if black else 255)
    return image.resize((image.width * 6, image.height * 6), Image.Resampling.NEAREST)


def point(number: int, raw: str, ended: str = "enter", stand_in: str | None = None) -> Point:
    return judge(raw, ended, stand_in)[number]


@pytest.mark.parametrize(
    ("symbol", "text"),
    [(gs1_data_matrix(GS1_ELEMENTS), GS1), (data_matrix(PLAIN), f"]d1{PLAIN}")],
)
def test_the_codes_on_the_page_read_back_as_judged(symbol: Symbol, text: str) -> None:
    (read,) = zxingcpp.read_barcodes(picture(symbol))
    assert read.symbology_identifier + read.bytes.decode() == text


def test_the_code_is_as_large_as_on_a_label() -> None:
    drawn = svg(data_matrix("SET-0042"), 0.5, "a & b")
    assert 'width="8mm" height="8mm"' in drawn and 'aria-label="a &amp; b"' in drawn


@pytest.mark.parametrize("raw", [GS1, f"]d1{PLAIN}"])
def test_a_good_scanner_has_nothing_to_change(raw: str) -> None:
    assert [found.change for found in judge(raw, "enter", None)] == ["", "", "", ""]


@pytest.mark.parametrize(
    ("raw", "status"),
    [
        (GS1, Status.MET),
        (GS1[3:], Status.NOT_MET),
        (GS1.replace("]d2", "]d1"), Status.NOT_MET),
    ],
)
def test_the_mark(raw: str, status: Status) -> None:
    assert point(MARK, raw).status is status


@pytest.mark.parametrize("mark", ["]d2", ""])
@pytest.mark.parametrize(
    ("between", "stand_in", "status", "said"),
    [("\x1d", None, Status.MET, "as itself"), ("", None, Status.NOT_MET, "lost"),
     ("|", "|", Status.MET, "stood in"), ("|", None, Status.NOT_MET, "does not expect"),
     ("{GS}", "{GS}", Status.MET, "stood in"), ("-", None, Status.NOT_MET, "stood in")],
)  # fmt: skip
def test_the_separator(
    mark: str, between: str, stand_in: str | None, status: Status, said: str
) -> None:
    found = point(SEPARATOR, f"{mark}{HEAD}{between}{TAIL}", stand_in=stand_in)
    assert found.status is status and said in found.words


def test_the_plain_code_has_no_separator() -> None:
    assert point(SEPARATOR, PLAIN).status is Status.DOES_NOT_APPLY


# A scanner for US keys on a German computer: US key -> what German keys type (from memory).
GERMAN = str.maketrans("zyZY/-_+]=;", "yzYZ-ß?`+´ö")


@pytest.mark.parametrize("raw", [GS1, f"]d1{PLAIN}"])
def test_a_wrong_layout_is_seen_with_the_characters_it_moved(raw: str) -> None:
    found = point(LAYOUT, raw.translate(GERMAN))
    assert found.status is Status.NOT_MET and "/ arrived as -" in found.words


def test_caps_lock_is_told_from_a_wrong_layout() -> None:
    assert "Caps Lock" in point(LAYOUT, GS1.swapcase()).change


@pytest.mark.parametrize(
    ("ended", "status"),
    [("enter", Status.MET), ("tab", Status.NOT_MET), ("nothing", Status.NOT_MET),
     ("typed", Status.CANNOT_TELL), ("", Status.CANNOT_TELL)],
)  # fmt: skip
def test_how_it_ended(ended: str, status: Status) -> None:
    assert point(END, GS1, ended).status is status


@pytest.mark.parametrize("raw", ["", "HF-1042", GS1[:20], "9501101530003", "x" * len(GS1)])
def test_another_code_is_not_judged(raw: str) -> None:
    assert judge(raw, "enter", None) == ()


@pytest.mark.parametrize(
    ("scan", "said"),
    [(GS1, "arrives whole"), (HEAD + TAIL, "Change the scanner"), ("HF-1042", "neither")],
)
def test_the_page_says_the_verdict(technician: Client, scan: str, said: str) -> None:
    page = technician.post("/scanner/", {"scan": scan, "ended": "enter"})
    assert said in page.content.decode()
