"""The questions of a spreadsheet on its page: buttons to press, or fields to fill in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from catalog.models import SpreadsheetBatch
from catalog.spreadsheets.cells.report import ANSWER
from catalog.spreadsheets.checking.answers import given
from catalog.spreadsheets.checking.asking import NOT_READ
from catalog.spreadsheets.columns.column import Column

PRESSED = ("--column", "--unit", "--kind")
"""Options whose answers are few: each is a button."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A choice as the page shows it: what is sent, its words, and what would be read with it."""

    sent: str
    words: str
    shows: Sequence[str]


@dataclass(frozen=True, slots=True)
class Asked:
    """One question on the page. Without ``pressed`` it is a field with ``typed`` in it."""

    about: str
    option: str
    typed: str
    shows: Sequence[str]
    pressed: Sequence[Answer] = ()


def asked(stored: Sequence[Mapping[str, Any]], columns: Sequence[Column]) -> list[Asked]:
    """What is asked now: one question with buttons, since its answer may settle the others, or
    all that are typed."""
    words = {NOT_READ: "None of these", **dict(SpreadsheetBatch.Kind.choices)} | {
        column.key: column.title for column in columns
    }
    every = [_asked(question, words) for question in stored]
    first = next((one for one in every if one.pressed), None)
    return [first] if first else every


def _asked(question: Mapping[str, Any], words: Mapping[str, str]) -> Asked:
    option, choices = question["option"], question["choices"]
    before, _, after = option.rpartition(ANSWER)
    pressed = [
        Answer(before + each["answer"] + after, words.get(each["answer"], each["answer"]),
               each["shows"])
        for each in choices
        if option.startswith(PRESSED)
    ]  # fmt: skip
    likeliest: Mapping[str, Any] = choices[0] if choices else {"answer": "", "shows": ()}
    return Asked(question["about"], option, likeliest["answer"], likeliest["shows"], pressed)


def answers_in(data: QueryDict) -> Iterator[tuple[str, str]]:
    """The answers that the page sends, as names and texts of options. AnswerError."""
    if pressed := data.get("press"):
        yield given(pressed, "")
        return
    for option, answer in zip(data.getlist("option"), data.getlist("answer"), strict=False):
        yield given(option, answer)
