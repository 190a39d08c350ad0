"""The page of what a set weighs, and the field before the lid."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.test import Client

from assembly.bench.tally import tally_of
from assembly.models import BaselineVoid, Build, BuildEvent, SetBaseline
from assembly.persons import person_of
from catalog.models import Instrument, InstrumentSet
from reports.gathering.package_record import package_record
from tests.factories import bench as at

pytestmark = pytest.mark.django_db
PAGE = "/sets/TS-1/weighing/"


def text(answer: object) -> str:
    return re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", answer.content.decode()))  # type: ignore[attr-defined]


@pytest.fixture
def a_set() -> InstrumentSet:
    """One of 3 g, two of 70 g."""
    made = at.a_set()
    for number, grams in ((1, 3), (2, 70)):
        Instrument.objects.filter(item_number=f"TS-1-{number}").update(weight_g=grams)
    return made


def mine(of: InstrumentSet) -> Build:
    person = person_of(User.objects.get(username="a-technician"))
    build = at.a_build(of, person)
    at.complete(build, person)
    return build


class TestPage:
    def test_says_what_is_surely_noticed_before_any_baseline(
        self, technician: Client, a_set: InstrumentSet
    ) -> None:
        """Worked by hand: sqrt(2 (0.25 + 1/12 + 1)) = 1.633, times 4.645 = 7.6."""
        said = text(technician.get(PAGE))
        assert "Surely noticed: one piece missing that weighs 7.6 g or more." in said
        assert "a piece swapped for one of the same weight" in said
        assert "Lighter than that:" in said and "No baseline yet" in said

    def test_the_page_of_the_set_says_it_beside_the_way_there(
        self, technician: Client, a_set: InstrumentSet
    ) -> None:
        assert "Weighing: notices a piece from 7.6 g" in text(technician.get("/sets/TS-1/"))

    def test_names_what_was_never_weighed(self, technician: Client, a_set: InstrumentSet) -> None:
        Instrument.objects.filter(item_number="TS-1-2").update(weight_g=None, name="Odd one")
        assert "so never named: Odd one." in text(technician.get(PAGE))

    def test_a_coarser_scale_of_a_baseline_is_the_limit_that_counts(
        self, technician: Client, a_set: InstrumentSet
    ) -> None:
        event = at.weighed(at.a_build(a_set))
        Build.objects.update(state="signed")
        SetBaseline.objects.create(
            key=at.key(), instrument_set=a_set, number=1, grams=2000, step_g=5, repeat_g=2,
            revision=1, reading=event, at=event.at, **at.person().by,
        )  # fmt: skip
        said = text(technician.get(PAGE))
        # sqrt(0.25 + 1/12 + 1 + 4 + 25/12 + 1) = 2.901, times 4.645
        assert "weighs 13.5 g or more" in said and "from 13.5 g" in said and "in force" in said

    def test_a_reading_becomes_a_baseline_by_one_press(
        self, technician: Client, a_set: InstrumentSet
    ) -> None:
        build = at.a_build(a_set)
        at.complete(build)
        reading = at.weighed(build, "2000", 4)
        at.signed(build)
        sent = {"act": "take", "reading": reading.pk, "key": at.key()}
        said = text(technician.post(f"{PAGE}act/", sent, follow=True))
        assert SetBaseline.objects.get().number == 4 and "in force" in said

    def test_what_is_refused_is_said_on_it(self, technician: Client, a_set: InstrumentSet) -> None:
        sent = {"act": "take", "reading": at.weighed(at.a_build(a_set)).pk, "key": at.key()}
        said = text(technician.post(f"{PAGE}act/", sent, follow=True))
        assert "It cannot be a baseline: its assembly is not signed." in said
        assert not SetBaseline.objects.exists()

    def test_a_row_that_is_none_is_refused(self, technician: Client, a_set: InstrumentSet) -> None:
        sent = {"act": "take", "reading": "x", "key": at.key()}
        said = text(technician.post(f"{PAGE}act/", sent, follow=True))
        assert "“x” is not on record." in said

    def test_it_is_voided_with_the_reason(self, technician: Client, a_set: InstrumentSet) -> None:
        made = at.a_baseline(a_set)
        sent = {"act": "void", "baseline": made.pk, "reason": "wet", "key": at.key()}
        said = text(technician.post(f"{PAGE}act/", sent, follow=True))
        assert BaselineVoid.objects.get().baseline == made and "void wet" in said

    def test_a_liaison_presses_nothing(self, liaison_client: Client, a_set: InstrumentSet) -> None:
        made = at.a_baseline(a_set)
        assert "Take a baseline" not in text(liaison_client.get(PAGE))
        sent = {"act": "void", "baseline": made.pk, "reason": "wet", "key": at.key()}
        assert liaison_client.post(f"{PAGE}act/", sent).status_code == 403


class TestBeforeTheLid:
    def weigh(self, client: Client, build: Build, reading: str, **more: object) -> str:
        sent = {"act": "weigh", "reading": reading, "key": at.key(), **more}
        return text(client.post(f"/builds/{build.pk}/pack/", sent, follow=True))

    def test_nothing_where_the_set_has_no_baseline(
        self, technician: Client, a_set: InstrumentSet
    ) -> None:
        build = mine(a_set)
        page = f"/builds/{build.pk}/pack/"
        assert "on the scale" not in text(technician.get(page))
        said = text(technician.get(f"{page}?weigh=1"))
        assert "Open in its basket, on the scale (g), notices from 7.6 g" in said

    def test_what_the_scale_types_is_told_and_kept(
        self, technician: Client, a_set: InstrumentSet
    ) -> None:
        at.a_baseline(a_set)
        build = mine(a_set)
        said = self.weigh(technician, build, "ST,GS,+  1930.0 g")
        assert "Recount: 70.0 g lighter than it should be" in said
        assert "missing" in said and "The count stands" in said
        event = BuildEvent.objects.get(build=build, kind="weighed")
        assert event.data["as_read"] == "ST,GS,+ 1930.0 g" and tally_of(build).inside == 3

    @pytest.mark.parametrize(
        ("reading", "more", "why"),
        [
            ("US,GS,+  1930.0 g", {}, "“US,GS,+ 1930.0 g” says that the scale was not still"),
            ("", {}, "The weight is empty"),
            ("1930", {"number": "0"}, "“0” is no number of the physical set from 1 to 99"),
        ],
    )
    def test_what_cannot_be_read_is_refused_with_what_was_read(
        self, technician: Client, a_set: InstrumentSet, reading: str, more: dict[str, str], why: str
    ) -> None:
        build = mine(a_set)
        assert why in self.weigh(technician, build, reading, **more)
        assert not BuildEvent.objects.filter(kind="weighed").exists()

    def test_the_record_of_the_package_says_that_it_was_weighed(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        build = at.a_build(a_set)
        at.complete(build)
        at.weighed(build, "2000.4")
        rows = [row for one in package_record(at.signed(build).code).sections for row in one.rows]
        told = next(row for row in rows if row[1:2] == ("Weighed before the lid",))
        assert told[3].startswith("No. 1, 2000.4 g: Weighs as it should: 0.4 g heavier")
