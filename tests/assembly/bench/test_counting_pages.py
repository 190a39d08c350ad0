"""The page of an assembly as forms alone: what counting does without any script."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext

from assembly.bench import builds
from assembly.bench.tally import tally_of
from assembly.models import Build
from assembly.persons import person_of
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def text(answer: HttpResponse) -> str:
    return re.sub(r"\s+", " ", answer.content.decode())


def me() -> User:
    return User.objects.get(username="a-technician")


def test_what_no_line_counts_is_said_where_it_is_counted_and_packed(technician: Client) -> None:
    build = at.a_build(at.a_set(), person_of(me()))
    build.count_sheet.left_out = ["row 7: 2 × HF-9999."]
    build.count_sheet.save()
    counting = text(technician.get(f"/builds/{build.pk}/"))
    at.complete(build, person_of(me()))
    assert "HF-9999" in counting and "HF-9999" in text(technician.get(f"/builds/{build.pk}/pack/"))


class TestCounting:
    def test_a_scan_without_a_script_counts(self, technician: Client) -> None:
        at.a_set()
        page = technician.post("/sets/TS-1/build/", {"key": at.key()}, follow=True)
        build = Build.objects.get()
        technician.post(f"/builds/{build.pk}/scan/", {"words": "TS-1-1", "key": at.key()})
        assert (page.status_code, tally_of(build).inside) == (200, 1)

    def test_the_same_form_sent_twice_counts_once(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        form = {"words": "TS-1-2", "key": "one-form-sent-twice"}
        for _ in range(2):
            technician.post(f"/builds/{build.pk}/scan/", form)
        assert tally_of(build).inside == 1

    def test_a_scan_reads_the_set_once(self, technician: Client) -> None:
        """Whole, with its instruments and their cycles; it did so four times."""
        build = at.a_build(at.a_set(), person_of(me()))
        form = {"words": "TS-1-2", "key": at.key()}
        with CaptureQueriesContext(connection) as asked:
            technician.post(f"/builds/{build.pk}/scan/", form, headers={"HX-Request": "true"})
        whole = [one for one in asked if 'FROM "catalog_cycleoption"' in one["sql"]]
        assert (len(whole), tally_of(build).inside) == (1, 1)

    def weigh(self, client: Client, build: Build, reading: str, unit: str) -> str:
        container = build.instrument_set.container
        assert container
        form = {"act": "weigh", "reading": reading, "unit": unit, "key": at.key(),
                "weighed_in": container.code}  # fmt: skip
        return client.post(f"/builds/{build.pk}/act/", form, follow=True).content.decode()

    @pytest.mark.parametrize(
        ("reading", "unit", "grams"),
        [("4320", "g", 4320), ("4,32", "kg", 4320), ("9.5", "lb", 4309.1), ("4.3 kg", "g", 4300)],
    )
    def test_a_reading_is_taken_in_the_unit_of_the_scale(
        self, technician: Client, reading: str, unit: str, grams: float
    ) -> None:
        """A pound is 453.59237 g (international yard and pound agreement 1959)."""
        build = at.a_build(at.a_set(), person_of(me()))
        self.weigh(technician, build, reading, unit)
        assert tally_of(build).reading_g == grams

    @pytest.mark.parametrize(
        ("reading", "unit"), [("14,470", "kg"), ("14.5", ""), ("14.5", "stone"), ("", "kg")]
    )
    def test_one_without_a_clear_unit_or_number_is_refused(
        self, technician: Client, reading: str, unit: str
    ) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        self.weigh(technician, build, reading, unit)
        assert tally_of(build).reading_g is None

    def test_the_unit_is_remembered(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        assert '<option value="kg" selected>' in self.weigh(technician, build, "4.32", "kg")

    def test_a_slip_of_the_unit_is_said_on_the_page(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        at.complete(build, person_of(me()))
        assert "Unit or scale?" in self.weigh(technician, build, "4.3", "g")

    def test_the_page_names_the_protector_of_a_line(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        Instrument.objects.update(protector="vented, small")
        page = technician.get(f"/builds/{build.pk}/").content.decode()
        assert "protector vented, small" in " ".join(page.split())

    def test_undo_and_the_log_name_the_instrument_and_what_stands_in(
        self, technician: Client
    ) -> None:
        other = make.Instrument(item_number="T-SUB", name="Spare hook")
        a_set = at.a_set()
        a_set.current.lines.first().substitutes.add(other)  # type: ignore[union-attr]
        Instrument.objects.filter(item_number="TS-1-1").update(name="Senn retractor")
        build = at.a_build(a_set, person_of(me()))
        line = tally_of(build).lines[0].line
        builds.substitute(person_of(me()), build.pk, line.pk, other.pk, 1, at.key())
        page = text(technician.get(f"/builds/{build.pk}/"))
        assert "Undo substituted: Senn retractor" in page
        assert "Substituted: T-SUB Spare hook" in page

    def test_where_one_is_short_the_button_does_not_say_all(self, technician: Client) -> None:
        build = at.a_build(at.a_set(wanted=(3,)), person_of(me()))
        line = tally_of(build).lines[0].line
        page = text(technician.get(f"/builds/{build.pk}/"))
        assert "all 3 </button>" in page
        builds.short(person_of(me()), build.pk, line.pk, 1, "", at.key())
        page = text(technician.get(f"/builds/{build.pk}/"))
        assert (
            "+ 2 </button>" in page and "all " not in page.split('id="now"')[1].split("<details")[0]
        )

    def test_no_reason_for_damage_is_chosen_beforehand(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        page = text(technician.get(f"/builds/{build.pk}/"))
        assert '<select id="why" name="reason"> <option value="">what is wrong?</option>' in page

    def test_what_to_lay_out_first_is_counted_and_named(self, technician: Client) -> None:
        build = at.a_build(at.a_set(wanted=(4, 2)), person_of(me()))
        for number, (protector, grams) in enumerate([("small", 20), ("medium", 300)], start=1):
            Instrument.objects.filter(item_number=f"TS-1-{number}").update(
                protector=protector, weight_g=grams, name=f"hook {number}"
            )
        page = text(technician.get(f"/builds/{build.pk}/"))
        assert "<strong>4 × small</strong>" in page and "<strong>2 × medium</strong>" in page
        bottom = page.split("To the bottom")[1]
        assert bottom.index("300 g") < bottom.index("20 g")

    def test_every_form_on_the_page_has_a_key_of_its_own(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        page = technician.get(f"/builds/{build.pk}/").content.decode()
        keys = re.findall(r'name="key" value="(\w+)"', page)
        assert len(keys) > 4 and len(set(keys)) == len(keys)

    def test_a_partial_request_gets_the_counted_part_alone(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        answer = technician.post(
            f"/builds/{build.pk}/scan/", {"words": "TS-1-1", "key": at.key()},
            headers={"hx-request": "true"},
        )  # fmt: skip
        assert answer.content.lstrip().startswith(b'<div id="said"')

    def test_who_does_not_hold_it_counts_nothing(self, technician: Client) -> None:
        build = at.a_build()
        technician.post(f"/builds/{build.pk}/scan/", {"words": "TS-1-1", "key": at.key()})
        assert tally_of(build).inside == 0

    def test_who_does_not_hold_it_sees_who_does(self, technician: Client) -> None:
        build = at.a_build()
        assert "Tam Birkett holds this set" in text(technician.get(f"/builds/{build.pk}/"))

    def test_the_holder_sees_who_asks(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        builds.ask_for(at.person("Ida Crow"), build.pk, at.key())
        assert "Ida Crow asks for this set" in text(technician.get(f"/builds/{build.pk}/"))

    def test_what_another_device_counted_is_sent(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        seen = tally_of(build).seen
        builds.count(person_of(me()), build.pk, tally_of(build).lines[0].line.pk, 1, at.key())
        path = f"/builds/{build.pk}/now/?seen={seen}&held={build.holder_id}"
        assert technician.get(path).status_code == 200

    def test_a_damaged_piece_takes_the_persons_own_words(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        technician.post(
            f"/builds/{build.pk}/act/",
            {"act": "damaged", "line": tally_of(build).lines[0].line.pk, "key": at.key(),
             "reason": "Bent or broken", "other": "screw loose"},
        )  # fmt: skip
        assert tally_of(build).events[-1].reason == "screw loose"

    @pytest.mark.parametrize("typed", ["abc", "2,0", "", "-1", "1e3", "٣"])
    @pytest.mark.parametrize(("act", "field"), [("count", "quantity"), ("all", "remaining"),
                                                ("short", "quantity")])  # fmt: skip
    def test_a_number_that_cannot_be_read_counts_nothing(
        self, technician: Client, act: str, field: str, typed: str
    ) -> None:
        build = at.a_build(at.a_set(wanted=(3,)), person_of(me()))
        form = {"act": act, "line": tally_of(build).lines[0].line.pk, field: typed,
                "key": at.key()}  # fmt: skip
        page = technician.post(f"/builds/{build.pk}/act/", form, follow=True)
        said = re.sub("</?bdi>", "", page.content.decode())
        assert f"“{typed}” is no number of pieces. Type digits" in said
        assert len(tally_of(build).events) == 1

    def test_a_number_that_is_not_sent_counts_nothing(self, technician: Client) -> None:
        build = at.a_build(at.a_set(wanted=(3,)), person_of(me()))
        form = {"act": "count", "line": tally_of(build).lines[0].line.pk, "key": at.key()}
        technician.post(f"/builds/{build.pk}/act/", form)
        assert len(tally_of(build).events) == 1

    def test_a_number_is_read_with_white_space_round_it(self, technician: Client) -> None:
        build = at.a_build(at.a_set(wanted=(3,)), person_of(me()))
        form = {"act": "count", "line": tally_of(build).lines[0].line.pk, "quantity": "3 ",
                "key": at.key()}  # fmt: skip
        technician.post(f"/builds/{build.pk}/act/", form)
        assert tally_of(build).events[-1].quantity == 3

    @pytest.mark.parametrize("form", [{"act": "explode"}, {"act": "count", "line": "x"}, {}])
    def test_a_strange_request_changes_nothing(
        self, technician: Client, form: dict[str, str]
    ) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        technician.post(f"/builds/{build.pk}/act/", {**form, "key": at.key()})
        assert len(tally_of(build).events) == 1

    @pytest.mark.parametrize("lines", [2, 30])
    def test_the_queries_do_not_grow_with_the_lines(
        self, technician: Client, lines: int, django_assert_max_num_queries: object
    ) -> None:
        build = at.complete(at.a_build(at.a_set(wanted=(1,) * lines))).build
        with django_assert_max_num_queries(32):  # type: ignore[operator]
            technician.get(f"/builds/{build.pk}/")
