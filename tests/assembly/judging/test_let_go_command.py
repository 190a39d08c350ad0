"""``manage.py let_go``: nothing goes until the policy says how long records are kept."""

from __future__ import annotations

import io
from datetime import date, timedelta

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from assembly.consequences.policy_actions import override_value
from catalog.actions import Actor, record
from catalog.chain.verifying import verify
from catalog.models import ChainSeal, Change
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


def old(years: int) -> Change:
    """A change of so many years ago, as it was written then."""
    record(Actor("Ann"), Change.Verb.CHANGED, make.Instrument(), "T-1", None, {"a": 1})
    one = Change.objects.latest("pk")
    one.pk, one.at = None, timezone.now() - timedelta(days=366 * years)
    one.save()
    return one


def let_go(day: date) -> str:
    call_command("let_go", day.isoformat(), actor="Bea Hartsop", reason="kept long enough",
                 stdout=(out := io.StringIO()))  # fmt: skip
    return out.getvalue()


def kept(years: int) -> None:
    override_value(Actor("bea", reason="SOP"), "records_kept_years", years,
                   since=date(2026, 1, 1), source="SOP 9")  # fmt: skip


def test_nothing_goes_before_the_policy_says_how_long() -> None:
    old(40)
    with pytest.raises(CommandError, match="set records_kept_years"):
        let_go(date(1999, 1, 1))
    assert Change.objects.count() == 2


def test_nothing_goes_that_is_still_to_be_kept() -> None:
    kept(10)
    with pytest.raises(CommandError, match="Records are kept 10 years"):
        let_go(TODAY - timedelta(days=9 * 365))


def test_what_is_older_goes_and_leaves_its_stub_with_who_and_why() -> None:
    one = old(12)
    kept(10)
    assert let_go(one.at.date() + timedelta(days=2)).startswith("1 changes")
    assert not Change.objects.filter(pk=one.pk).exists() and Change.objects.count() == 2
    assert verify().wrong == []
    assert ChainSeal.objects.latest("number").why == "Bea Hartsop: kept long enough"
