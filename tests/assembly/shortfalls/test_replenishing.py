"""Pieces come back into the sets that went short: in part, once, and never more than that."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.db.models import F
from django.test import Client

from assembly.bench import signing
from assembly.ledger import Refused
from assembly.models import Package, PiecesBack, Shortfall
from assembly.requests import asking
from assembly.requests.asking import Wanted
from assembly.shortfalls import causes, export
from assembly.shortfalls.replenishing import all_back, replenish
from catalog.models import Change, Instrument
from tests.conftest import kept_meanwhile
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("replenishing")]


@pytest.fixture(scope="class")
def went_short(django_db_setup: None, django_db_blocker: Any) -> Iterator[Package]:
    """A set that went short of 3; another came up short of 2 of the same in the OR since."""
    with kept_meanwhile(django_db_blocker):
        package = ask.short_set("TS-5", 3)
        found = package.shortfalls.get().instrument
        wanted = Wanted(found, missing_from=make.InstrumentSet(code="TS-6"))
        asking.ask(ask.liaison(), wanted, ask.ask_for(quantity=2), at.key())
        yield package


@pytest.fixture
def package(went_short: Package) -> Package:
    return Package.objects.get(pk=went_short.pk)


@pytest.fixture
def missing(package: Package) -> Instrument:
    return package.shortfalls.get().instrument


def keys(instrument: Instrument) -> list[str]:
    return [one.key for one in causes.waiting_for(instrument)]


def back(instrument: Instrument, *pieces: int, key: str = "") -> list[PiecesBack]:
    """So many in each waiting set, the oldest first."""
    given = dict(zip(keys(instrument), pieces, strict=False))
    return replenish(at.person(), instrument, given, key or at.key(), "found in the washer").rows


def waiting(instrument: Instrument) -> list[str]:
    return [f"{one.instrument_set.code} {one.waiting}" for one in causes.waiting_for(instrument)]


def packed_short() -> Shortfall:
    return Shortfall.objects.get(kind=Shortfall.Kind.PACKED_SHORT)


class TestInPart:
    def test_it_waits_for_the_rest(self, missing: Instrument) -> None:
        back(missing, 2)
        assert waiting(missing) == ["TS-5 waits for 1 of 3", "TS-6 waits for 2 of 2"]

    def test_the_rest_closes_it(self, missing: Instrument) -> None:
        back(missing, 2)
        back(missing, 1)
        assert waiting(missing) == ["TS-6 waits for 2 of 2"]

    def test_what_was_missed_in_the_or_waits_for_the_rest(self, missing: Instrument) -> None:
        back(missing, 0, 1)
        assert waiting(missing) == ["TS-5 waits for 3 of 3", "TS-6 waits for 1 of 2"]

    def test_its_rest_closes_it_too(self, missing: Instrument) -> None:
        back(missing, 0, 2)
        closed = Shortfall.objects.get(kind=Shortfall.Kind.MISSED)
        assert (closed.returned, closed.closed_by, closed.closed_because) == (
            2, "Tam Birkett", "found in the washer"
        )  # fmt: skip

    def test_each_return_is_on_record(self, missing: Instrument) -> None:
        back(missing, 2)
        back(missing, 1)
        rows = PiecesBack.objects.values_list("pieces", "by", "because")
        assert list(rows) == [
            (2, "Tam Birkett", "found in the washer"), (1, "Tam Birkett", "found in the washer")
        ]  # fmt: skip

    def test_a_return_is_written_once(self, missing: Instrument) -> None:
        with pytest.raises(TypeError):
            back(missing, 1)[0].save()

    def test_the_history_says_from_what_to_what(self, missing: Instrument) -> None:
        back(missing, 2)
        change = Change.objects.get(kind="shortage")
        assert (change.before, change.after) == (
            {"back in the set": "0 of 3"}, {"back in the set": "2 of 3"}
        )  # fmt: skip

    def test_the_same_key_counts_once(self, missing: Instrument) -> None:
        for _ in "12":
            back(missing, 1, key="back-once-key")
        assert packed_short().returned == 1

    def test_the_bench_closes_all_that_is_left(self, missing: Instrument) -> None:
        back(missing, 2)
        all_back(at.person(), packed_short())
        assert list(PiecesBack.objects.values_list("pieces", flat=True)) == [2, 1]

    def test_pressed_again_the_bench_changes_nothing(self, missing: Instrument) -> None:
        for _ in "12":
            all_back(at.person(), packed_short())
        assert PiecesBack.objects.get().pieces == 3

    def test_a_reopened_set_waits_for_nothing(self, package: Package, missing: Instrument) -> None:
        back(missing, 2)
        assert package.build is not None
        signing.reopen(at.person(), package.build.pk, "found it", at.key())
        assert packed_short().waits_for == 0


class TestRefused:
    @pytest.mark.parametrize("pieces", [4, -1])
    def test_more_than_it_waits_for_or_fewer_than_none(
        self, missing: Instrument, pieces: int
    ) -> None:
        with pytest.raises(Refused, match=f"TS-5 .* waits for 3 of 3; {pieces} was read"):
            back(missing, pieces)

    def test_what_was_closed_meanwhile_says_by_whom(self, missing: Instrument) -> None:
        first = keys(missing)[0]
        back(missing, 3)
        with pytest.raises(Refused, match=r"has all 3 back since .* \(Tam Birkett\); 1 was read"):
            replenish(ask.other(), missing, {first: 1}, at.key())

    def test_nothing_is_half_saved(self, missing: Instrument) -> None:
        with pytest.raises(Refused):
            back(missing, 3, 9)
        assert (PiecesBack.objects.count(), packed_short().returned) == (0, 0)

    def test_nothing_came_back(self, missing: Instrument) -> None:
        with pytest.raises(Refused, match="how many are back"):
            back(missing, 0, 0)

    def test_a_set_that_waits_for_something_else(self, missing: Instrument) -> None:
        with pytest.raises(Refused, match="does not wait"):
            replenish(at.person(), make.Instrument(), {keys(missing)[0]: 1}, at.key())

    def test_the_key_must_be_sent(self, missing: Instrument) -> None:
        with pytest.raises(Refused, match="key"):
            replenish(at.person(), missing, {keys(missing)[0]: 1}, "")

    @pytest.mark.parametrize("kind", Shortfall.Kind)
    def test_the_database_gives_no_set_more_than_it_was_short(
        self, missing: Instrument, kind: Shortfall.Kind
    ) -> None:
        with pytest.raises(IntegrityError), transaction.atomic():
            Shortfall.objects.filter(kind=kind).update(returned=9)

    @pytest.mark.parametrize("kind", Shortfall.Kind)
    def test_the_database_lets_nothing_wait_that_has_all_back(
        self, missing: Instrument, kind: Shortfall.Kind
    ) -> None:
        with pytest.raises(IntegrityError), transaction.atomic():
            Shortfall.objects.filter(kind=kind).update(returned=F("quantity"))


class TestPages:
    def send(self, client: Client, instrument: Instrument, *typed: str) -> tuple[int, str]:
        fields = {f"back:{key}": text
                  for key, text in zip(keys(instrument), typed, strict=False)}  # fmt: skip
        path = f"/requests/back/{instrument.item_number}/"
        answer = client.post(path, {"key": at.key(), **fields}, follow=True)
        return answer.status_code, answer.content.decode()

    def test_each_set_starts_with_all_it_waits_for(
        self, missing: Instrument, technician: Client
    ) -> None:
        back(missing, 2)
        shown = technician.get(f"/requests/back/{missing.item_number}/").context["waiting"]
        assert [typed for _, typed in shown] == [1, 2]

    def test_what_is_still_missing_is_said(self, missing: Instrument, technician: Client) -> None:
        assert "2 in TS-5, which still waits for 1 of 3" in self.send(technician, missing, "2")[1]

    @pytest.mark.parametrize("typed", ["two", "1.5", "-1", "²", "99999999999"])
    def test_no_whole_number_is_refused_with_the_set_and_what_was_read(
        self, missing: Instrument, technician: Client, typed: str
    ) -> None:
        status, page = self.send(technician, missing, typed)
        assert (status, f"waits for 3 of 3; “{typed}” was read" in page) == (422, True)

    def test_what_was_typed_is_kept(self, missing: Instrument, technician: Client) -> None:
        assert 'value="17"' in self.send(technician, missing, "17", "1")[1]

    def test_a_set_that_vanished_meanwhile_is_refused(
        self, package: Package, missing: Instrument, technician: Client
    ) -> None:
        gone = keys(missing)[0]
        signing.reopen(at.person(), package.build_id, "opened again", at.key())
        fields = {"key": at.key(), f"back:{gone}": "1"}
        answer = technician.post(f"/requests/back/{missing.item_number}/", fields)
        assert "does not wait" in answer.content.decode()

    @pytest.mark.parametrize("path", ["/requests/causes/", "/sets/TS-5/", "/"])
    def test_what_it_waits_for_stands_wherever_it_is_shown(
        self, missing: Instrument, technician: Client, path: str
    ) -> None:
        back(missing, 2)
        assert "waits for 1 of 3" in technician.get(path).content.decode()

    def test_the_bench_puts_all_back(self, missing: Instrument, technician: Client) -> None:
        technician.post(f"/requests/shortage/{packed_short().pk}/close/")
        assert waiting(missing) == ["TS-6 waits for 2 of 2"]

    def test_the_bench_says_what_is_refused(
        self, missing: Instrument, technician: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refuse(*_: object, **__: object) -> None:
            raise Refused("TS-5 waits for nothing.")

        monkeypatch.setattr("assembly.shortfalls.replenishing.all_back", refuse)
        path = f"/requests/shortage/{packed_short().pk}/close/"
        assert "TS-5 waits for nothing." in technician.post(path, follow=True).content.decode()

    def test_another_word_is_taken_for_no_shortage(
        self, missing: Instrument, technician: Client
    ) -> None:
        before = waiting(missing)
        path = f"/shelf/{packed_short().pk}/close/"
        assert technician.post(path).status_code == 404
        assert waiting(missing) == before

    def test_the_export_has_what_came_back(self, missing: Instrument) -> None:
        back(missing, 2)
        sheet = export.sheet(causes.shortfalls())
        row = dict(zip(sheet.headings, next(iter(sheet.rows)), strict=True))
        assert (row["Pieces"], row["Came back"], row["Waits for"]) == (3, 2, 1)


def test_what_its_package_was_known_to_go_without_waits_once() -> None:
    package = ask.short_set("TS-7")
    missing = Instrument.objects.get(item_number="TS-7-1")
    assert package.build is not None
    wanted = Wanted(missing, missing_from=package.build.instrument_set, package=package)
    asking.ask(ask.liaison(), wanted, ask.ask_for(), at.key())
    assert len(causes.waiting_for(missing)) == 1
