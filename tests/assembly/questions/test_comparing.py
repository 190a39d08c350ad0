"""An IFU was compared with the maker's current one: by whom, which revision, and when next."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils.timezone import localdate, localtime

from assembly.consequences.policy_actions import override_value
from assembly.first_pages.coordinating import to_be_compared
from assembly.ledger import Refused
from assembly.models import IfuComparison
from assembly.questions import comparing
from assembly.rules.telling.labelling import after_months
from catalog.actions import Actor
from catalog.models import Change, Instrument
from reports.gathering.list_files import KINDS
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def due() -> Instrument:
    """Its IFU was to be compared yesterday; the record has revision C."""
    day = localdate() - timedelta(days=1)
    return make.Instrument(item_number="T-1", ifu_revision="C", ifu_review_on=day)


def test_the_next_day_follows_from_the_policy(due: Instrument) -> None:
    override_value(Actor("a lead", reason="tried"), "ifu_review_months", 6,
                   since=date(2020, 1, 2), source="our manual")  # fmt: skip
    comparing.compared(at.person(), due.pk, at.key())
    due.refresh_from_db()
    assert due.ifu_review_on == after_months(localdate(), 6)
    assert not to_be_compared().exists()


def test_who_when_and_which_revision_stay_on_record(due: Instrument) -> None:
    made = comparing.compared(at.person("Bea Hartsop"), due.pk, at.key(), "D")
    due.refresh_from_db()
    assert (made.by, localtime(made.at).date(), made.revision) == ("Bea Hartsop", localdate(), "D")
    assert due.ifu_revision == "D"
    assert Change.objects.filter(object_key="T-1", after__ifu_revision="D").exists()


def test_without_another_revision_the_one_on_record_is_the_current(due: Instrument) -> None:
    assert comparing.compared(at.person(), due.pk, at.key()).revision == "C"


def test_the_same_press_again_is_one(due: Instrument) -> None:
    first = comparing.compared(at.person(), due.pk, "pressed-once")
    assert comparing.compared(at.person(), due.pk, "pressed-once") == first
    assert IfuComparison.objects.count() == 1


def test_what_is_retired_is_not_compared(due: Instrument) -> None:
    Instrument.objects.update(retired=True)
    with pytest.raises(Refused, match="retired"):
        comparing.compared(at.person(), due.pk, at.key())


def test_one_press_on_what_waits_takes_it_off(due: Instrument, coordinator: Client) -> None:
    page = coordinator.get("/waits/").content.decode()
    assert 'action="/instruments/T-1/compared/"' in page
    sent = {"key": at.key(), "revision": "", "next": "/waits/"}
    page = coordinator.post("/instruments/T-1/compared/", sent, follow=True).content.decode()
    assert "was compared today" in page and 'id="ifus"' not in page


def test_the_paper_list_of_ifus_leaves_it_out(due: Instrument) -> None:
    listed = [row[0] for row in KINDS["ifus"].rows()]
    comparing.compared(at.person(), due.pk, at.key())
    assert (listed, list(KINDS["ifus"].rows())) == (["T-1"], [])
