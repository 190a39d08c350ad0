"""A few seconds of ``python -m tests.fuzz``: it reaches pages and forms, and sees our errors."""

from __future__ import annotations

import pytest

from config import views
from tests.addresses import ADDRESSES
from tests.forms import Read
from tests.fuzz.sending import Fuzz

pytestmark = pytest.mark.django_db
A_FEW = 80


def test_what_nobody_would_send_is_answered_without_an_error(rows: dict[str, str]) -> None:
    fuzz = Fuzz(rows, seed=16)
    fuzz.run(A_FEW)
    assert [one.sent + one.trace for one in fuzz.breaches] == []
    assert fuzz.statuses[200] and fuzz.statuses.total() == A_FEW
    assert any(turn.startswith("form POST") for turn in fuzz.times)


def test_every_address_has_its_turns(rows: dict[str, str]) -> None:
    turns = Fuzz(rows, seed=16).turns
    assert {f"{word} {path}" for path in ADDRESSES for word in ("GET", "POST")} <= {
        turn.removesuffix(" with anything") for turn in turns
    }


def test_an_error_of_ours_is_seen(rows: dict[str, str], monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_: object) -> None:
        raise LookupError("it broke")

    monkeypatch.setattr(views, "behind", breaks)
    fuzz = Fuzz(rows, seed=16)
    fuzz.turns = {"GET ready/": fuzz.turns["GET ready/"]}
    fuzz.run(1)
    assert [(one.status, "it broke" in one.trace) for one in fuzz.breaches] == [(500, True)]


def test_a_form_is_read_with_its_choices_files_and_buttons() -> None:
    page = (
        '<form id="f" action="/a/" method="post"><input name="key" value="k">'
        '<select name="of"><option value="1"><option value="2"></select>'
        '<input type="file" name="photo"><button name="act" value="go">Go</button></form>'
        '<input form="f" name="beside" value="b"><a href="?page=2">2</a>'
    )
    read = Read("/here/?page=1", page)
    assert (read.forms[0].values, read.forms[0].choices, read.forms[0].files, read.links) == (
        [("key", "k"), ("beside", "b")], {"of": ["1", "2"]}, ["photo"], {"/here/?page=2"},
    )  # fmt: skip
    assert read.forms[0].buttons == [("act", "go", "/a/")]
