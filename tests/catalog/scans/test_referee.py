"""Our reading of GS1 held against the public library biip, on codes made at random."""

from __future__ import annotations

import re
from datetime import date

import biip
import pytest
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from hypothesis import given
from hypothesis import strategies as st
from stdnum import ean

from catalog.scans.gs1 import APPLICATIONS, CHARSET_82, GS, Application
from catalog.scans.scanning import read_scan

SIGNS = st.sampled_from(sorted(CHARSET_82))
DAYS = st.dates(date(1980, 1, 1), date(2070, 12, 31))


@st.composite
def values(draw: st.DrawFn, application: Application) -> str:
    """A value that keeps every rule of its identifier."""
    if application.dated:
        return draw(DAYS).strftime("%y%m%d")
    if application.code == "7003":
        return draw(DAYS).strftime("%y%m%d") + "1830"
    length = draw(st.integers(application.least, application.most))
    figures = length if application.numeric else application.checked
    digits = draw(st.text("0123456789", min_size=figures, max_size=figures))
    if application.checked:
        body = digits[: application.checked - 1]
        body = f"0{body[1:]}" if application.code == "8003" else body
        digits = body + ean.calc_check_digit(body) + digits[application.checked :]
    rest = length - figures
    return digits + draw(st.text(SIGNS, min_size=rest, max_size=rest))


@st.composite
def messages(draw: st.DrawFn) -> list[tuple[str, str]]:
    readable = [application for code, application in APPLICATIONS.items() if code != "8018"]
    chosen = draw(st.lists(st.sampled_from(readable), min_size=1, max_size=6, unique=True))
    return [(application.code, draw(values(application))) for application in chosen]


def raw(message: list[tuple[str, str]]) -> str:
    text = ""
    for code, value in message:
        text += code + value + ("" if APPLICATIONS[code].fixed else GS)
    return f"]d2{text.rstrip(GS)}"


@given(messages())
def test_both_read_the_same_elements(message: list[tuple[str, str]]) -> None:
    theirs = biip.parse(raw(message)).gs1_message
    assert theirs is not None
    ours = read_scan(raw(message))
    assert [(item.key, item.value) for item in ours.elements] == [
        (item.ai.ai, item.value) for item in theirs.element_strings
    ]


@given(DAYS)
def test_both_read_the_same_day(day: date) -> None:
    text = f"]d2010064316900176317{day:%y%m%d}"
    theirs = biip.parse(text).gs1_message
    assert theirs is not None
    assert read_scan(text).elements[1].day == theirs.element_strings[1].date


@pytest.mark.parametrize("code", APPLICATIONS)
def test_both_know_the_same_need_of_a_separator(code: str) -> None:
    theirs = GS1ApplicationIdentifier.extract(code)
    assert theirs.separator_required != APPLICATIONS[code].fixed


def longest(layout: str) -> int:
    """The longest value of a format such as ``N4+N14[+X..16]``, without the identifier."""
    return sum(int(number) for number in re.findall(r"[NX](?:\.\.)?(\d+)", layout)[1:])


@pytest.mark.parametrize("code", APPLICATIONS)
def test_both_know_the_same_longest_value(code: str) -> None:
    assert APPLICATIONS[code].most == longest(GS1ApplicationIdentifier.extract(code).format)
