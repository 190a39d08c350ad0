"""Asking and working: who may do what when, and what is refused with which words."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Package, Request, RequestPackage, RequestStep
from assembly.packages import recording as packages
from assembly.packages import shelf
from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from assembly.requests.lists import queue, rows
from catalog.models import Instrument
from reports.drawing.stocks import stock
from reports.gathering.labels.packages import fitting_label, package_label_document
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask
from tests.reports.examples import draw_label

pytestmark = pytest.mark.django_db


@pytest.fixture
def instrument() -> Instrument:
    return make.Instrument(item_number="T-1", name="Metzenbaum scissors", spares_on_hand=2)


@pytest.fixture
def one(instrument: Instrument) -> Request:
    return ask.a_request(instrument)


def taken(one: Request) -> Request:
    return working.take(at.person(), one.pk, at.key())


def packing(one: Request) -> Request:
    taken(one)
    return working.start_packing(at.person(), one.pk, at.key())


class TestAsking:
    def test_it_is_open_with_its_first_step(self, one: Request) -> None:
        assert [(s.state, s.by) for s in one.steps.all()] == [("open", "Lis Mellor")]

    def test_the_same_key_is_the_same_request(self, instrument: Instrument) -> None:
        wanted = Wanted(instrument)
        made = [asking.ask(ask.liaison(), wanted, ask.ask_for(), "one-and-only") for _ in "12"]
        assert made[0].pk == made[1].pk

    def test_needed_by_in_the_past_is_refused(self, instrument: Instrument) -> None:
        with pytest.raises(Refused, match="has passed"):
            ask.a_request(instrument, needed_by=timezone.now() - timedelta(minutes=1))

    def test_a_retired_instrument_is_refused(self) -> None:
        with pytest.raises(Refused, match="retired"):
            ask.a_request(make.Instrument(retired=True))

    @pytest.mark.parametrize("pieces", [0, 21])
    def test_a_slip_in_the_number_is_refused(self, instrument: Instrument, pieces: int) -> None:
        with pytest.raises(Refused, match="1 to 20"):
            ask.a_request(instrument, quantity=pieces)

    def test_nothing_is_refused(self) -> None:
        with pytest.raises(Refused, match="what is missing"):
            asking.ask(ask.liaison(), Wanted(words=" "), ask.ask_for(), at.key())

    def test_an_unknown_item_is_asked_for_in_words_and_the_coordinators_are_told(
        self, roles: None
    ) -> None:
        user_in("coordinator")
        made = asking.ask(ask.liaison(), Wanted(words="the odd hook"), ask.ask_for(), at.key())
        assert (made.what, made.sources, made.told) == ("the odd hook", [], ["a-coordinator"])

    def test_a_department_keeps_its_first_spelling(self, instrument: Instrument) -> None:
        ask.a_request(instrument, department="Main ORs")
        again = ask.a_request(instrument, department="  main   ORs ")
        assert again.department == "Main ORs"


class TestWithdrawing:
    def test_whoever_asked_needs_no_reason(self, one: Request) -> None:
        assert asking.withdraw(ask.liaison(), one.pk, at.key()).state == "withdrawn"

    def test_somebody_else_needs_one(self, one: Request) -> None:
        with pytest.raises(Refused, match="Lis Mellor asked"):
            asking.withdraw(ask.other(), one.pk, at.key())

    def test_after_the_hand_over_it_is_refused(self, one: Request, instrument: Instrument) -> None:
        taken(one)
        working.send(at.person(), one.pk, at.key(), ask.a_sterile_package(instrument))
        working.hand_over(at.person(), one.pk, at.key())
        with pytest.raises(Refused, match="is handed over: Tam Birkett"):
            asking.withdraw(ask.liaison(), one.pk, at.key())

    def test_its_package_serves_another_request(self, one: Request, instrument: Instrument) -> None:
        package = ask.a_sterile_package(instrument)
        packing(one)
        working.tie(at.person(), one.pk, package)
        asking.withdraw(ask.liaison(), one.pk, at.key())
        second = taken(ask.a_request(instrument))
        assert working.tie(at.person(), second.pk, package).request == second


class TestTaking:
    def test_the_second_is_told_who_was_faster(self, one: Request) -> None:
        taken(one)
        with pytest.raises(Refused, match="is taken: Tam Birkett"):
            working.take(ask.other(), one.pk, at.key())

    def test_the_database_holds_one_step_at_a_number(self, one: Request) -> None:
        now = timezone.now()
        with pytest.raises(IntegrityError), transaction.atomic():
            RequestStep(request=one, number=1, key="another-key", state="taken", by="x", at=now
                        ).save()  # fmt: skip

    def test_the_database_holds_no_work_without_a_holder(self, one: Request) -> None:
        with pytest.raises(IntegrityError), transaction.atomic():
            Request.objects.filter(pk=one.pk).update(state="taken")

    def test_only_the_holder_works_it(self, one: Request) -> None:
        taken(one)
        with pytest.raises(Refused, match="Tam Birkett has taken it"):
            working.start_packing(ask.other(), one.pk, at.key())

    def test_a_step_is_written_once(self, one: Request) -> None:
        step = one.steps.get()
        with pytest.raises(TypeError):
            step.save()

    def test_given_back_another_may_take_it(self, one: Request) -> None:
        taken(one)
        working.give_back(at.person(), one.pk, at.key())
        assert working.take(ask.other(), one.pk, at.key()).holder_name == "Ola Brandt"

    def test_another_persons_goes_back_with_a_reason_only(self, one: Request) -> None:
        taken(one)
        with pytest.raises(Refused, match="Write why"):
            working.give_back(ask.other(), one.pk, at.key())


class TestSending:
    def test_the_way_is_on_record_step_by_step(self, one: Request, instrument: Instrument) -> None:
        packing(one)
        working.tie(at.person(), one.pk, ask.a_sterile_package(instrument))
        working.send(at.person(), one.pk, at.key())
        working.hand_over(at.person(), one.pk, at.key())
        states = list(one.steps.values_list("state", flat=True))
        assert states == ["open", "taken", "packing", "on the way", "handed over"]

    def test_without_a_package_nothing_is_sent(self, one: Request) -> None:
        taken(one)
        with pytest.raises(Refused, match="Scan the package"):
            working.send(at.person(), one.pk, at.key())

    def test_something_else_is_refused(self, one: Request) -> None:
        taken(one)
        wrong = ask.a_package(make.Instrument(name="Mayo scissors"))
        with pytest.raises(Refused, match="is Mayo scissors"):
            working.send(at.person(), one.pk, at.key(), wrong)

    def test_an_accepted_substitute_goes(self, one: Request, instrument: Instrument) -> None:
        other = make.Instrument()
        make.Line(instrument=instrument).substitutes.add(other)
        taken(one)
        sent = working.send(at.person(), one.pk, at.key(), ask.a_sterile_package(other))
        assert sent.state == "on the way"

    def test_a_package_handed_over_already_is_refused(
        self, one: Request, instrument: Instrument
    ) -> None:
        package = ask.on_shelf(instrument)
        shelf.hand_over(at.person(), package, "OR 9", at.key())
        taken(one)
        with pytest.raises(Refused, match="handed over to OR 9 by Tam Birkett"):
            working.send(at.person(), one.pk, at.key(), package)

    def test_a_void_package_is_refused(self, one: Request, instrument: Instrument) -> None:
        package = packages.void_package(at.person(), ask.a_package(instrument).pk, "seal open")
        taken(one)
        with pytest.raises(Refused, match="is void"):
            working.send(at.person(), one.pk, at.key(), package)

    def test_void_on_the_way_it_is_not_handed_over(
        self, one: Request, instrument: Instrument
    ) -> None:
        package = ask.a_sterile_package(instrument)
        taken(one)
        working.send(at.person(), one.pk, at.key(), package)
        packages.void_package(at.person(), package.pk, "dropped")
        with pytest.raises(Refused, match="void"):
            working.hand_over(at.person(), one.pk, at.key())

    def test_one_package_serves_one_request(self, one: Request, instrument: Instrument) -> None:
        package, second = ask.a_sterile_package(instrument), ask.a_request(instrument)
        for request in (taken(one), taken(second)):
            last = request
        working.tie(at.person(), one.pk, package)
        with pytest.raises(Refused, match="promised to request"):
            working.tie(at.person(), last.pk, package)

    def test_fewer_than_asked_for_need_a_reason(self, instrument: Instrument) -> None:
        two = taken(ask.a_request(instrument, quantity=2))
        package = ask.a_sterile_package(instrument)
        with pytest.raises(Refused, match="2 asked for, 1 in the package"):
            working.send(at.person(), two.pk, at.key(), package)

    def test_could_not_be_met_needs_a_reason(self, one: Request) -> None:
        with pytest.raises(Refused, match="why it could not be met"):
            working.could_not_be_met(at.person(), one.pk, at.key(), " ")


class TestRetiredMeanwhile:
    @pytest.fixture
    def retired(self, one: Request) -> Request:
        Instrument.objects.update(retired=True)
        return one

    def test_it_can_be_taken(self, retired: Request) -> None:
        assert taken(retired).state == "taken"

    def test_none_is_packed_any_more(self, retired: Request) -> None:
        taken(retired)
        with pytest.raises(Refused, match="was retired since"):
            working.start_packing(at.person(), retired.pk, at.key())

    def test_its_page_says_so(self, retired: Request, technician: Client) -> None:
        assert "was retired since" in technician.get(f"/requests/{retired.pk}/").content.decode()


class TestLabel:
    @pytest.fixture
    def package(self, one: Request, instrument: Instrument) -> Package:
        package = ask.a_package(instrument)
        packing(one)
        working.tie(at.person(), one.pk, package)
        return package

    def test_it_carries_the_destination(self, package: Package) -> None:
        assert package_label_document(package).department == "OR 3, Main ORs"

    def test_the_longest_destination_prints(self, package: Package) -> None:
        Request.objects.update(where="W" * 40, department="M" * 40)
        on = stock("label-100x50")
        assert draw_label(fitting_label(package, on), on).startswith(b"%PDF")

    def test_let_go_it_carries_none(self, package: Package, one: Request) -> None:
        working.give_back(at.person(), one.pk, at.key())
        assert package_label_document(package).department == ""


class TestQueue:
    def test_what_is_needed_first_is_first(self, instrument: Instrument) -> None:
        late, soon = (
            ask.a_request(instrument),
            ask.a_request(instrument, needed_by=timezone.now() + timedelta(minutes=5)),
        )
        assert [row.request.pk for row in queue()] == [soon.pk, late.pk]

    def test_overdue_is_said_in_words(self, one: Request) -> None:
        assert rows([ask.overdue(one)])[0].due.startswith("overdue by 12 min")

    def test_what_is_done_is_not_overdue(self, one: Request) -> None:
        asking.withdraw(ask.liaison(), one.pk, at.key())
        one.refresh_from_db()
        assert not rows([ask.overdue(one)])[0].overdue


class TestPages:
    def sent(self, client: Client, one: Request, act: str, **more: str) -> str:
        data = {"act": act, "key": at.key(), **more}
        return client.post(f"/requests/{one.pk}/act/", data)["Location"]

    def test_taking_opens_the_single_package_flow(self, one: Request, technician: Client) -> None:
        make.Pouch()
        address = self.sent(technician, one, "take and pack")
        page = technician.get(address).content.decode()
        assert "In its package" in page and "Metzenbaum scissors" in page

    def test_what_is_packed_there_is_tied_to_the_request(
        self, one: Request, technician: Client, instrument: Instrument
    ) -> None:
        make.Pouch()
        address = self.sent(technician, one, "take and pack")
        plan = at.plan_for(instrument)
        technician.post(address, {"key": at.key(), **at.sent(plan)})
        assert RequestPackage.objects.get().request == one

    def test_for_a_request_withdrawn_meanwhile_nothing_is_packed(
        self, one: Request, technician: Client, instrument: Instrument
    ) -> None:
        make.Pouch()
        address = self.sent(technician, one, "take and pack")
        asking.withdraw(ask.liaison(), one.pk, at.key())
        plan = at.plan_for(instrument)
        technician.post(address, {"key": at.key(), **at.sent(plan)})
        assert not Package.objects.exists()

    def test_an_unknown_number_is_not_taken_for_anything(self, technician: Client) -> None:
        answer = technician.get("/requests/ask/", {"item": "HF-NOPE"})
        assert (answer.status_code, "is not on record" in answer.content.decode()) == (422, True)

    def test_what_was_typed_is_kept_when_it_is_refused(
        self, technician: Client, instrument: Instrument
    ) -> None:
        data = {"item": "T-1", "where": "OR 7", "department": "Eyes", "when": "other",
                "time": "2001-01-01T10:00", "key": at.key()}  # fmt: skip
        answer = technician.post("/requests/ask/", data)
        assert "has passed" in answer.content.decode() and "OR 7" in answer.content.decode()

    def test_no_patient_details_stands_at_the_note(
        self, technician: Client, instrument: Instrument
    ) -> None:
        page = technician.get("/requests/ask/", {"item": "T-1"}).content.decode()
        assert "no patient details" in page

    def test_a_change_by_another_is_marked_until_the_next_look(
        self, one: Request, technician: Client
    ) -> None:
        technician.get("/requests/")
        working.take(at.person(), one.pk, at.key())
        pages = [technician.get("/requests/").content.decode() for _ in "12"]
        assert ["1 changed since" in page for page in pages] == [True, False]

    def test_a_department_sees_its_own(self, one: Request, technician: Client) -> None:
        ask.a_request(make.Instrument(name="Bone saw"), department="Bones")
        technician.post("/requests/department/", {"department": "Main ORs"})
        assert "Bone saw" not in technician.get("/requests/").content.decode()
