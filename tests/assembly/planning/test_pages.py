"""The pages of what is worked out, and the shift's board as a file."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.packages import levels
from catalog.models import Container, Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


def shown(client: Client, page: str) -> str:
    return " ".join(client.get(page).content.decode().split())


class TestWetRisk:
    def test_the_list_says_that_it_is_no_limit(self, technician: Client) -> None:
        at.a_set()
        page = shown(technician, "/wet-risk/")
        assert "TS-1" in page and "Advice, never a limit." in page

    def test_what_is_not_on_record_makes_a_row_at_least(self, technician: Client) -> None:
        at.a_set()
        Instrument.objects.update(weight_g=None)
        assert "at least" in shown(technician, "/wet-risk/")

    @pytest.mark.parametrize(("open_", "there"), [("yes", True), ("no", False)])
    def test_it_is_narrowed_to_what_is_not_on_record(
        self, technician: Client, open_: str, there: bool
    ) -> None:
        at.a_set()
        Instrument.objects.update(weight_g=None)
        assert ("wet-risk/TS-1/" in shown(technician, f"/wet-risk/?open={open_}")) == there

    def test_one_set_says_what_helps_and_what_is_not_known(self, technician: Client) -> None:
        at.a_set()
        Instrument.objects.update(weight_g=None)
        Container.objects.update(liner=True)
        page = shown(technician, "/wet-risk/TS-1/")
        assert "At least" in page and "Not weighed:" in page
        assert "A liner that takes up moisture may lie in" in page

    @pytest.mark.parametrize("code", ["TS-9", "TS-2"])
    def test_no_set_and_no_count_sheet_have_no_page(self, technician: Client, code: str) -> None:
        make.InstrumentSet(code="TS-2")
        assert technician.get(f"/wet-risk/{code}/").status_code == 404

    def test_the_paper_has_the_same_rows(self, technician: Client) -> None:
        at.a_set()
        assert "TS-1" in shown(technician, "/papers/lists/wet-risk/")


class TestWorkAhead:
    @pytest.fixture
    def needed(self) -> None:
        loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))
        due = timezone.now() + timedelta(hours=6)
        levels.say_when_needed(ask.liaison(), at.a_set(), due, "OR 3", 1)

    @pytest.mark.usefixtures("needed")
    def test_it_says_by_when_where_from_and_in_which_load(self, technician: Client) -> None:
        page = shown(technician, "/work-ahead/")
        for words in ("TS-1", "OR 3", "begin", "25 min", "too few on record", "ST1 S134"):
            assert words in page

    def test_where_nothing_waits_it_says_so(self, technician: Client) -> None:
        assert "Nothing waits." in shown(technician, "/work-ahead/")

    def test_what_nobody_can_tell_is_named(self, technician: Client) -> None:
        hook = make.Instrument(item_number="T-1", name="Hook", spares_on_hand=1)
        due = timezone.now() + timedelta(hours=6)
        levels.say_when_needed(ask.liaison(), hook, due, "OR 3", 1)
        assert "its cycle is not on record" in shown(technician, "/work-ahead/")

    @pytest.mark.usefixtures("needed")
    def test_the_board_is_a_pdf_on_its_own(self, technician: Client) -> None:
        answer = technician.get("/work-ahead/board.pdf")
        assert answer["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")
