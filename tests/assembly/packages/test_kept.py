"""What is kept of a decision: all of what was taken; of the rest the reasons, as codes."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator
from importlib import import_module
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django.plugin import DjangoDbBlocker

from assembly.bench import signing
from assembly.judging.decisions import decide_for_instrument
from assembly.judging.kept import on_record, passed_over
from assembly.judging.taking import chosen
from assembly.models import KeptDecision
from assembly.models.base.compressed import OFTEN, fingerprint, packed, unpacked
from catalog.models import Instrument, InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask
from tests.migrating import as_it_was, migrated_to, own_database

pytestmark = pytest.mark.own_database

MOVED = import_module("assembly.migrations.0031_kept_decisions")
ADLER = 0x51B0F969
MOST_BYTES = 1500
"""Of a decision among fifty supplies; with every sentence about each it were 130,000."""


@pytest.mark.django_db
class TestKept:
    @pytest.fixture(autouse=True)
    def stock(self) -> None:
        for number in range(48):
            make.Pouch(code=f"P-{number}")
        make.Pouch(code="SMALL", outer_width_mm=75, inner_width_mm=59)
        make.Pouch(code="NO-WIDTH", inner_width_mm=None, outer_width_mm=None)

    def test_it_is_small_however_much_is_in_stock(self) -> None:
        package = ask.a_package(make.Instrument())
        assert len(package.decision["decision"]["passed_over"]) == 47
        assert len(packed(package.decision)) < MOST_BYTES

    def test_its_page_says_what_was_passed_over_and_why(self, technician: Client) -> None:
        package = ask.a_package(make.Instrument())
        told = {name: (why, reasons) for name, why, reasons in passed_over(package.decision)}
        why, reasons = told["pouch SMALL"]
        assert why == "ruled out" and any("not met by " in one for one in reasons)
        assert any(one.endswith("cannot tell") for one in told["pouch NO-WIDTH"][1])
        page = technician.get(f"/packages/{package.code.lower()}/").content.decode()
        assert "pouch SMALL" in page and reasons[0] in page

    def test_what_was_kept_before_becomes_what_is_kept_now(self) -> None:
        answer = decide_for_instrument(make.Instrument())
        option = chosen(answer)
        assert option is not None
        now = on_record(answer, option)
        before = now | {"decision": answer.decision.as_json()}
        assert len(before["decision"]["passed_over"][0]["findings"]) > 3
        assert MOVED.body(before) == now


def test_what_is_on_record_can_be_read_for_ever() -> None:
    """Written by this file's first version: whoever changes the words makes it unreadable."""
    assert zlib.adler32(OFTEN) == ADLER
    plain = json.dumps({"status": "met"}).encode()
    assert unpacked(plain) == unpacked(zlib.compress(plain)) == {"status": "met"}


@pytest.mark.django_db
def test_a_set_opened_again_leaves_the_decision_of_each_time() -> None:
    first = at.signed()
    build = first.build
    assert build is not None
    signing.reopen(at.person(), build.pk, "a piece was missing", at.key())
    Instrument.objects.update(weight_g=1)
    second = at.signed(build)
    assert first.decided_id != second.decided_id
    assert [one.data["decided"] for one in build.steps.filter(kind="packed")] == [
        first.decided_id, second.decided_id,
    ]  # fmt: skip
    assert all("decision" not in one.data for one in build.steps.all())


@pytest.mark.django_db
def test_what_was_decided_alike_is_kept_once() -> None:
    instrument = make.Instrument()
    first, second = ask.a_package(instrument), ask.a_package(instrument)
    assert first.decided == second.decided
    Instrument.objects.update(weight_g=1)
    assert ask.a_package(Instrument.objects.get()).decided != first.decided
    assert at.signed(at.a_build(at.a_set("TS-1"))).decided == at.signed(
        at.a_build(InstrumentSet.objects.get())
    ).decided  # fmt: skip


@pytest.mark.django_db
def test_another_body_with_the_same_fingerprint_is_not_taken_for_it() -> None:
    body = {"headline": "Take pouch P-1"}
    other = KeptDecision.objects.create(
        body={"headline": "Take pouch P-2"}, fingerprint=fingerprint(body)
    )
    one = KeptDecision.of(body)
    assert one != other and KeptDecision.of(body) == one


# --- what is there already ---------------------------------------------------------------

NOW = timezone.now()
OLD = {
    "headline": "Take pouch P-1", "taken": "pouch:P-1", "findings": [{"rule": "width"}],
    "facts": {"name": "Probe"}, "policy": "abc",
    "decision": {
        "status": "recommended", "recommended": {"code": "P-1"}, "findings": [{"rule": "width"}],
        "alternatives": [{"kind": "pouch", "code": "P-2", "with": [], "findings": []}],
        "passed_over": [{
            "kind": "pouch", "code": "P-3", "with": ["P-4"], "why": "ruled out",
            "findings": [
                {"rule": "width", "status": "not met", "margin": -4.0, "unit": "mm"},
                {"rule": "load", "status": "met", "margin": 4.0, "unit": "g"},
            ],
        }],
        "cautions": ["Take care."], "unknown": [], "policy": "abc",
    },
}  # fmt: skip


@pytest.fixture(scope="module")
def moved(
    tmp_path_factory: pytest.TempPathFactory, django_db_blocker: DjangoDbBlocker
) -> Iterator[Any]:
    """The models of after it, over a database with packages that were made before."""
    file = tmp_path_factory.mktemp("moved") / "database"
    with own_database(f"sqlite:///{file}", django_db_blocker):
        _before(as_it_was("assembly", "0030_missing_means_missing").get_model)
        yield migrated_to("assembly", "0032_decisions_moved").get_model


def _before(model: Any) -> None:
    """A single package, and a set that was packed twice before it was signed, then opened."""
    one = model("catalog", "InstrumentSet").objects.create(code="TS-1", name="Set")
    sheet = model("catalog", "CountSheet").objects.create(instrument_set=one, revision=1)
    build = model("assembly", "Build").objects.create(
        key="b", instrument_set=one, count_sheet=sheet, set_code="TS-1", set_name="Set",
        holder_name="Tam", held_since=NOW, started_by="Tam", started_at=NOW,
    )  # fmt: skip
    same = {"contents": [{"item_number": "T-1"}], "pieces": 1, "packed_by": "Tam",
            "packed_at": NOW, "serves": {"gross_g": 4}, "closed": [{"key": "seal"}],
            "checks": [{"key": "dry"}], "use_by": None}  # fmt: skip
    package = model("assembly", "Package").objects
    package.create(key="1", code="PK-1", kind="single", decision=OLD, **same)
    signed = package.create(key="2", code="PK-2", kind="set", build=build,
                            decision=OLD | {"headline": "third"}, **same)  # fmt: skip
    steps = [("packed", {"option": "a", "decision": OLD | {"headline": "first"}}), ("unpacked", {}),
             ("packed", {"option": "a", "decision": OLD | {"headline": "third"}}),
             ("signed", {"package": signed.pk})]  # fmt: skip
    for number, (kind, data) in enumerate(steps, start=1):
        model("assembly", "BuildEvent").objects.create(
            build=build, kind=kind, data=data, number=number, key=str(number), by="Tam", at=NOW
        )


@pytest.mark.unmeasured
@pytest.mark.xdist_group("kept-migration")
def test_packages_from_before_keep_what_they_showed(moved: Any) -> None:
    single = moved("assembly", "Package").objects.get(code="PK-1")
    body = single.decided.body
    assert (single.taken, body["headline"], body["facts"]) == (
        "pouch:P-1", "Take pouch P-1", {"name": "Probe"},
    )  # fmt: skip
    assert body["findings"] == OLD["findings"] and body["policy"] == "abc"
    assert passed_over(body) == [
        ("pouch P-3 in pouch P-4", "ruled out", ["width: not met by 4 mm"])
    ]
    assert (single.contents, single.checks, single.closed, single.serves, single.counted) == (
        [{"item_number": "T-1"}], [{"key": "dry"}], [{"key": "seal"}], {"gross_g": 4}, {},
    )  # fmt: skip


@pytest.mark.unmeasured
@pytest.mark.xdist_group("kept-migration")
def test_each_time_that_a_set_was_packed_keeps_its_decision(moved: Any) -> None:
    steps = list(moved("assembly", "BuildEvent").objects.order_by("number"))
    kept = moved("assembly", "KeptDecision").objects
    first, third = (kept.get(pk=steps[at].data["decided"]) for at in (0, 2))
    assert [one.body["headline"] for one in (first, third)] == ["first", "third"]
    assert moved("assembly", "Package").objects.get(code="PK-2").decided_id == third.pk
    assert [sorted(one.data) for one in steps] == [
        ["decided", "option"], [], ["decided", "option"], ["package"],
    ]  # fmt: skip
