"""``manage.py layout``: the layers of a set, in words and as JSON."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def said(*arguments: str) -> str:
    out = StringIO()
    call_command("layout", *arguments, stdout=out)
    return out.getvalue()


def test_json_has_verdict_and_layers() -> None:
    at.a_set("TS-1", (1, 2))
    answer = json.loads(said("ts-1", "--json"))
    assert answer["verdict"] == "fits"
    ((item,),) = (one["items"] for one in answer["layers"])
    assert item["name"].startswith("Stringer 1 (")
    assert item["lines"] == [{"line": 1, "pieces": 1}, {"line": 2, "pieces": 2}]


def test_words_say_the_verdict_first_and_each_place() -> None:
    at.a_set("TS-1", (1,))
    title, verdict, *rest = said("TS-1").splitlines()
    assert title.startswith("TS-1") and verdict.startswith("FITS: ")
    assert any(": layer 1, " in line for line in rest)


def test_a_code_that_nobody_has_is_named() -> None:
    with pytest.raises(CommandError, match="No set bears the code XX"):
        said("XX")


def test_without_an_approved_count_sheet_it_says_so() -> None:
    make.InstrumentSet(code="NEW")
    with pytest.raises(CommandError, match="No count sheet of NEW is approved yet"):
        said("NEW")
