"""What retention lets go of packages: those that are over, with all that is only their own."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest
from django.core.management import call_command
from django.utils import timezone

from assembly.bench import signing
from assembly.complaints import saying
from assembly.consequences.policy_actions import override_value
from assembly.models import (
    Build,
    BuildEvent,
    CountedSupply,
    KeptDecision,
    Load,
    Package,
    Request,
    RequestPackage,
    SupplyCount,
    SupplyUse,
)
from assembly.packages import shelf
from assembly.retention import let_packages_go, may_go
from assembly.sterilizing import recalling
from catalog.actions import Actor
from catalog.chain.verifying import verify
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
LATER = timedelta(days=2)


def tomorrow() -> datetime:
    return timezone.now() + LATER


@pytest.fixture
def single() -> Package:
    """Of no implant, released, put away and handed over."""
    package = ask.on_shelf(make.Instrument(implant=False))
    shelf.hand_over(at.person(), package, "OR 3", at.key())
    return Package.objects.get(pk=package.pk)


def a_set() -> Package:
    package = at.signed()
    loads.released(package)
    Instrument.objects.update(implant=False)
    shelf.put_away(at.person(), package, ask.a_place(), at.key())
    shelf.hand_over(at.person(), package, "OR 3", at.key())
    return package


def test_one_that_is_over_goes_with_all_that_is_its_own(single: Package) -> None:
    whole, (pks, stay) = a_set(), may_go(tomorrow())
    assert (pks, stay) == (sorted([single.pk, whole.pk]), 0)
    let_packages_go(pks, "kept for 10 years: let go by Bea Hartsop")
    for model in (Package, KeptDecision, Build, BuildEvent, SupplyUse):
        assert not model._default_manager.exists(), model
    assert (Load.objects.count(), verify().wrong) == (2, [])


def test_a_decision_goes_with_the_last_that_shares_it() -> None:
    instrument = make.Instrument()
    one, again = ask.a_package(instrument), ask.a_package(instrument)
    assert one.decided_id == again.decided_id
    let_packages_go([one.pk], "kept for 10 years: let go by Bea Hartsop")
    assert (Package.objects.get().decision["taken"], verify().wrong) == (again.taken, [])
    let_packages_go([again.pk], "kept for 10 years: let go by Bea Hartsop")
    assert (KeptDecision.objects.count(), verify().wrong) == (0, [])


def test_a_decision_by_which_a_set_waits_to_be_signed_stays() -> None:
    whole = at.signed()
    assert whole.build is not None
    build = at.a_build(whole.build.instrument_set)
    at.complete(build)
    signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
    let_packages_go([whole.pk], "kept for 10 years: let go by Bea Hartsop")
    assert signing.sign(at.person(), build.pk, at.key()).decided_id == whole.decided_id


def test_a_set_that_was_reopened_goes_as_a_whole_or_not_at_all() -> None:
    build = at.a_build()
    first = at.signed(build)
    signing.reopen(at.person(), build.pk, "a clamp is missing", at.key())
    Instrument.objects.update(implant=False)
    assert (Package.objects.get(pk=first.pk).is_void, may_go(tomorrow())) == (True, ([], 1))


def implant(single: Package) -> None:
    Instrument.objects.update(implant=True)


def not_known(single: Package) -> None:
    Instrument.objects.update(implant=None)


def wrong(single: Package) -> None:
    saying.say(at.person(), single.pk, "label", at.key())


def recalled(single: Package) -> None:
    recalling.recall_load(at.person(), single.loaded.get().load_id, at.key(), "it grew")


def wanted(single: Package) -> None:
    one = ask.a_request(single.instrument)
    RequestPackage.objects.create(request=one, package=single, tied_by="Bea",
                                  tied_at=timezone.now())  # fmt: skip
    assert Request.objects.get().ended_at is None


def counted(single: Package) -> None:
    supply = single.uses.values_list("supply", flat=True)[0]
    of = CountedSupply.objects.create(supply=supply, name=supply)
    SupplyCount.objects.create(of=of, key=at.key(), kind="counted", quantity=9, by="Bea",
                               at=timezone.now() - LATER)  # fmt: skip


KEEPS: list[Callable[[Package], None]] = [implant, not_known, wrong, recalled, wanted, counted]


@pytest.mark.parametrize("keeps", KEEPS)
def test_what_else_asks_for_it_keeps_it(single: Package, keeps: Callable[[Package], None]) -> None:
    keeps(single)
    assert may_go(tomorrow()) == ([], 1)


@pytest.mark.parametrize("made", [ask.on_shelf, ask.a_sterile_package, ask.a_package])
def test_what_is_still_here_stays(made: Callable[[Instrument], Package]) -> None:
    made(make.Instrument(implant=False))
    assert may_go(tomorrow()) == ([], 1)


def test_what_was_handed_over_since_then_stays(single: Package) -> None:
    assert may_go(single.packed_at + timedelta(microseconds=1)) == ([], 1)


def test_the_command_says_how_many_went_and_how_many_stay(
    single: Package, monkeypatch: pytest.MonkeyPatch
) -> None:
    ask.on_shelf(make.Instrument(implant=False))
    override_value(Actor("bea", reason="SOP"), "records_kept_years", 10, since=date(2026, 1, 1),
                   source="SOP 9")  # fmt: skip
    day, today = tomorrow().date(), timezone.localdate()
    monkeypatch.setattr(timezone, "localdate", lambda *_: date(today.year + 11, today.month, 1))
    call_command("let_go", day.isoformat(), packages=True, actor="Bea Hartsop",
                 reason="kept long enough", stdout=(out := io.StringIO()))  # fmt: skip
    assert "1 packages were let go; of before then 1 stay." in out.getvalue()
    assert (Package.objects.count(), verify().wrong) == (1, [])
