"""``manage.py demo``: loads once, changes nothing twice, leaves other databases alone."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.utils import timezone

from assembly.first_pages.coordinating import waits_for_coordinators
from assembly.first_pages.waiting import waits
from assembly.judging.decisions import (
    Answer,
    SetAnswer,
    Shown,
    decide_for_instrument,
    decide_for_set,
)
from assembly.judging.facts_from_catalog import lines_of
from assembly.models import Build, Load, LoadState, Package, Request
from assembly.packages.shelf import to_be_had
from assembly.packages.standing import waiting_for_a_load
from assembly.persons import person_of
from assembly.questions.asking import answers_for
from assembly.requests.needs import list_of
from assembly.rules.drawing.looks import look_of
from assembly.rules.findings import Outcome
from assembly.rules.splitting.set_split import split_set
from catalog.models import Change, Instrument, InstrumentSet
from config import demo
from config.demo.day import clock_at
from reports.documents.giving_way import without_drying
from reports.drawing.cards.work import draw_work_card
from reports.gathering.labels.packages import package_label_document
from reports.gathering.work_cards import work_card
from tests.config.saying import Said, lacking, said_of
from tests.conftest import kept_meanwhile
from tests.factories import catalog as make
from tests.reports.examples import page_texts, type_sizes


def run(*options: str) -> str:
    """The command without a day's work, which only the tests of the day need."""
    return run_all("--no-day", *options)


def run_all(*options: str) -> str:
    out = StringIO()
    call_command("demo", "--no-serve", *options, stdout=out)
    return out.getvalue()


@pytest.fixture(scope="class")
def printed(django_db_setup: None, django_db_blocker: Any) -> Iterator[str]:
    with kept_meanwhile(django_db_blocker):
        yield run()


@pytest.mark.django_db
@pytest.mark.xdist_group("demo-loaded")
class TestLoaded:
    def test_it_prints_a_password_for_each_account(self, printed: str) -> None:
        assert all(demo.password(account) in printed for account in demo.ACCOUNTS)

    def test_the_accounts_can_sign_in(self, printed: str) -> None:
        users = User.objects.in_bulk(demo.ACCOUNTS, field_name="username")
        assert all(user.check_password(demo.password(name)) for name, user in users.items())

    def test_it_holds_the_hospital(self, printed: str) -> None:
        assert (Instrument.objects.count(), InstrumentSet.objects.count()) == (65, 5)

    def test_sets_know_what_they_are_packed_in(self, printed: str) -> None:
        assert str(InstrumentSet.objects.get(code="HF-S01").container).startswith("RC-FULL")

    def test_run_twice_it_changes_nothing(self, printed: str) -> None:
        before = Change.objects.count()
        run()
        assert Change.objects.count() == before


@pytest.mark.django_db
@pytest.mark.parametrize("options", [(), ("--fresh",)], ids=["started", "to start over"])
def test_somebody_elses_database_is_left_alone(options: tuple[str, ...]) -> None:
    make.Instrument(item_number="T-1")
    with pytest.raises(CommandError, match="left alone"):
        run(*options)
    assert Instrument.objects.filter(item_number="T-1").exists()


@pytest.fixture(scope="class")
def day(django_db_setup: None, django_db_blocker: Any) -> Iterator[datetime]:
    """The demo with its day, late in a morning: in an evening some of today is tomorrow."""
    began = timezone.localtime().replace(hour=11)
    with kept_meanwhile(django_db_blocker), clock_at(began):
        demo.load(lambda words: None, day=True)
        yield began


@pytest.mark.django_db
@pytest.mark.xdist_group("demo-day")
class TestDay:
    """A day in progress: each page of the program has something to show."""

    def test_two_sets_are_being_assembled_one_by_somebody_else(self, day: datetime) -> None:
        running = Build.objects.filter(state=Build.State.OPEN).order_by("set_code")
        assert [(one.set_code, one.holder_name) for one in running] == [
            ("HF-S01", "Tam Birkett"), ("HF-S05", "Ola Brandt")]  # fmt: skip

    def test_one_request_is_urgent_one_late_and_one_packed(self, day: datetime) -> None:
        found = {one.what: one for one in waits() if one.kind == "request"}
        assert found["1 × Rongeur, double-action 230 mm"].tone == "urgent"
        assert found["1 × DeBakey forceps 240 mm"].tone == "late"
        assert found["1 × Crile forceps, curved 140 mm"].act == "Packed, waits for a load"

    def test_the_bench_has_one_of_everything_that_waits(self, day: datetime) -> None:
        assert {one.kind for one in waits()} == {"request", "set", "repair", "shelf"}

    def test_tomorrow_needs_what_is_ready_and_what_is_not(self, day: datetime) -> None:
        found = list_of(timezone.localdate() + timedelta(days=1))
        ready = {one.need.number: one.is_ready for one in found if one.need}
        assert ready == {"HF-S02": True, "HF-1042": True, "HF-S01": False}

    def test_packages_wait_for_a_load(self, day: datetime) -> None:
        assert waiting_for_a_load().count() == 4

    def test_an_implant_that_is_lent_waits_with_both_on_its_label(self, day: datetime) -> None:
        package = Package.objects.get(number="CI-4410")
        assert package_label_document(package).flags == ("IMPLANT", "LOANER")

    def test_one_load_runs_and_one_was_released(self, day: datetime) -> None:
        assert list(Load.objects.order_by("pk").values_list("state", flat=True)) == [
            LoadState.RELEASED, LoadState.RUNNING]  # fmt: skip

    def test_there_is_stock_on_the_shelf(self, day: datetime) -> None:
        assert {one.kind for one in to_be_had()} == {Package.Kind.SINGLE, Package.Kind.SET}

    def test_a_coordinator_is_waited_for(self, day: datetime) -> None:
        found = waits_for_coordinators(User.objects.get(username="coordinator"))
        parts = (found.complaints, found.overrides, found.proposals, found.not_in_catalog)
        assert [len(part) for part in parts] == [1, 1, 1, 1]

    def test_an_answer_waits_for_the_technician(self, day: datetime) -> None:
        technician = person_of(User.objects.get(username="technician"))
        assert len(answers_for(technician)) == 1

    def test_its_times_are_counted_back_from_when_it_was_made(self, day: datetime) -> None:
        started = Build.objects.get(set_code="HF-S01").started_at
        running = Load.objects.get(state=LoadState.RUNNING).steps.last().at
        late = Request.objects.get(number="HF-1091").needed_by
        for moment, minutes in ((started, 40), (running, 12), (late, 10)):
            assert abs(day - timedelta(minutes=minutes) - moment) < timedelta(minutes=1)

    def test_nothing_is_dated_after_it_was_made(self, day: datetime) -> None:
        assert not Change.objects.filter(at__gt=timezone.now()).exists()

    def test_afterwards_the_clock_is_the_one_before(self, day: datetime) -> None:
        assert timedelta(0) <= timezone.now() - day < timedelta(minutes=5)


@pytest.mark.unmeasured
@pytest.mark.django_db(transaction=True)
def test_fresh_starts_the_demo_over_and_makes_the_day_anew() -> None:
    run_all()
    Instrument.objects.filter(item_number="HF-1000").update(name="scribbled on")
    Request.objects.update(note="scribbled on")
    run_all("--fresh")
    assert Instrument.objects.get(item_number="HF-1000").name == "Scalpel handle no. 3"
    assert Request.objects.filter(note="scribbled on").count() == 0
    assert Build.objects.filter(state=Build.State.OPEN).count() == 2


MEASURABLE = {
    "length_mm", "width_mm", "height_mm", "weight_g", "width_open_mm", "tip_across_mm",
    "tip_cover_mm", "lumen_mm", "lumen_length_mm",
}  # fmt: skip
"""Facts that somebody with a ruler and a scale can go and find out."""


@pytest.fixture(scope="module")
def read(django_db_setup: None, django_db_blocker: Any) -> tuple[dict[str, Shown], dict[str, Said]]:
    """The decision for each set and instrument, and what is said of each set, by code; the
    database is left as it was."""
    with kept_meanwhile(django_db_blocker):
        demo.load(lambda words: None)
        found: dict[str, Shown] = {}
        for row in InstrumentSet.objects.all():
            assert row.current is not None
            found[row.code] = decide_for_set(row, lines_of(row.current))
        for one in Instrument.objects.prefetch_related("cycles"):
            found[one.item_number] = decide_for_instrument(one)
        client = Client()
        client.force_login(User.objects.get(username="coordinator"))
        return found, {row.code: said_of(row, client) for row in InstrumentSet.objects.all()}


@pytest.fixture(scope="module")
def answers(read: tuple[dict[str, Shown], dict[str, Said]]) -> dict[str, Shown]:
    return read[0]


@pytest.fixture(scope="module")
def said(read: tuple[dict[str, Shown], dict[str, Said]]) -> dict[str, Said]:
    return read[1]


PACKED, NOT_PACKED = ("HF-S01", "HF-S02", "HF-S05"), ("HF-S03", "HF-S04")


@pytest.mark.unmeasured
@pytest.mark.xdist_group("demo-decided")
class TestSaid:
    """What is decided for a set is the same on its page, count sheet, work card and label."""

    @pytest.mark.parametrize("code", PACKED + NOT_PACKED)
    def test_the_weight(self, said: dict[str, Said], code: str) -> None:
        assert lacking(said[code].decided.weight, said[code].papers) == []

    @pytest.mark.parametrize("code", PACKED)
    @pytest.mark.parametrize("fact", ["package", "cycle"])
    def test_packaging_and_cycle(self, said: dict[str, Said], code: str, fact: str) -> None:
        assert lacking(getattr(said[code].decided, fact), said[code].papers) == []

    @pytest.mark.parametrize("code", PACKED)
    def test_the_protector_of_each_line_is_on_the_card(
        self, said: dict[str, Said], code: str
    ) -> None:
        card = {"card": said[code].papers["card"]}
        assert [one for one in said[code].decided.protectors if lacking(one, card)] == []

    @pytest.mark.parametrize("code", NOT_PACKED)
    def test_why_it_is_not_packed(self, said: dict[str, Said], code: str) -> None:
        assert lacking(said[code].decided.why.rstrip("."), said[code].papers) == []

    @pytest.mark.parametrize("code", NOT_PACKED)
    @pytest.mark.parametrize("paper", ["sheet", "card"])
    def test_no_paper_reads_like_an_all_clear(
        self, said: dict[str, Said], code: str, paper: str
    ) -> None:
        assert "DO NOT PACK" in said[code].papers[paper]

    @pytest.mark.parametrize("code", PACKED)
    def test_the_record_has_what_was_decided(self, said: dict[str, Said], code: str) -> None:
        one, recorded = said[code], said[code].recorded
        assert recorded is not None
        assert (recorded.package, recorded.weight) == (one.decided.package, one.decided.weight)
        assert one.decided.cycle in one.serving

    def test_the_label_of_what_is_heavy_has_the_same_weight(self, said: dict[str, Said]) -> None:
        assert said["HF-S01"].decided.weight.startswith("10.01 kg")
        assert "10.0 kg" in said["HF-S01"].packed["label"]

    @pytest.mark.parametrize("code", PACKED)
    @pytest.mark.parametrize("fact", ["package", "cycle"])
    def test_packed_it_says_its_record(self, said: dict[str, Said], code: str, fact: str) -> None:
        words, packed = getattr(said[code].recorded, fact), dict(said[code].packed)
        label = packed.pop("label")  # leaves out how long it dries
        assert lacking(words, packed) == []
        assert lacking(without_drying(words), {"label": label}) == []


@pytest.mark.django_db
@pytest.mark.unmeasured
@pytest.mark.xdist_group("demo-decided")
class TestDecided:
    """What the program says of the demo: a department would recognise it."""

    def test_most_sets_can_be_packed(self, answers: dict[str, Shown]) -> None:
        sets = [code for code in answers if code.startswith("HF-S")]
        packed = [c for c in sets if answers[c].decision.outcome is Outcome.RECOMMENDED]
        assert packed == ["HF-S01", "HF-S02", "HF-S05"]

    def test_the_heavy_set_says_that_it_is_too_heavy(self, answers: dict[str, Shown]) -> None:
        assert answers["HF-S03"].headline.startswith("Over the weight limit")

    def test_the_heavy_set_keeps_its_pieces(self, answers: dict[str, Shown]) -> None:
        heavy = answers["HF-S03"]
        assert isinstance(heavy, SetAnswer)
        assert sum(line.quantity for line in heavy.question.lines) == 62

    def test_the_heavy_set_splits_into_two_trays(self, answers: dict[str, Shown]) -> None:
        """11,270.6 g in containers that hold 8,100 g each: two, and no fewer."""
        heavy = answers["HF-S03"]
        assert isinstance(heavy, SetAnswer) and heavy.set_decision.too_much
        found = split_set(heavy.set_decision.question, heavy.question.packed_in, heavy.policy)
        assert (len(found.parts), found.proved, found.doubts) == (2, True, ())
        assert sum(part.gross_g - 3200 for part in found.parts) == pytest.approx(11_270.6)

    def test_one_instrument_alone_keeps_a_set_from_one_cycle(
        self, answers: dict[str, Shown]
    ) -> None:
        assert answers["HF-S04"].headline == (
            "Not as it stands: S134-4 would serve all but Laparoscope 10 mm, 30 degree, which is "
            "for vaporized hydrogen peroxide cycle Standard"
        )

    def test_few_instruments_are_undecided_each_for_what_can_be_measured(
        self, answers: dict[str, Shown]
    ) -> None:
        unknown = {
            code: set(one.decision.unknown)
            for code, one in answers.items()
            if one.decision.outcome is not Outcome.RECOMMENDED and not code.startswith("HF-S")
        }
        assert 1 <= len(unknown) <= 3
        assert all(missing and missing <= MEASURABLE for missing in unknown.values())


@pytest.mark.django_db
@pytest.mark.unmeasured
@pytest.mark.xdist_group("demo-decided")
class TestDrawn:
    """Every instrument of the demo has an outline, and every set shows what lies in it."""

    def test_every_instrument_has_an_outline(self, answers: dict[str, Shown]) -> None:
        items = [one.question.instrument for one in answers.values() if isinstance(one, Answer)]
        assert len(items) == 65 and not [one.name for one in items if look_of(one) is None]

    def test_every_instrument_of_known_size_is_drawn(self, answers: dict[str, Shown]) -> None:
        undrawn = [code for code, one in answers.items() if not one.scenes]
        assert undrawn == ["HF-2001"]

    @pytest.mark.parametrize("paper", ["A4", "letter"])
    @pytest.mark.parametrize("code", ["HF-1042", "HF-1434", "HF-1441", *PACKED, *NOT_PACKED])
    def test_a_work_card_is_one_page_with_a_drawing_and_can_be_read(
        self, answers: dict[str, Shown], code: str, paper: str
    ) -> None:
        """A pouch, a wrap, a roll, and every set."""
        answer = answers[code]
        assert isinstance(answer, Answer | SetAnswer)
        pdf = draw_work_card(work_card(answer, "Its name", code, "T. Birkett"), paper)
        [text] = page_texts(pdf)
        assert "Scale 1:" in text and min(type_sizes(pdf)) >= 10

    def test_every_piece_of_every_set_is_drawn(self, answers: dict[str, Shown]) -> None:
        for one in answers.values():
            if isinstance(one, SetAnswer):
                said = " ".join(scene.description for scene in one.scenes)
                drawn = [int(count) for count in re.findall(r"(?:\. |, )(\d+) [A-Z]", said)]
                assert sum(drawn) == sum(line.quantity for line in one.question.lines)


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file made by the first connection, with the settings of who starts the demo."""
    file = tmp_path_factory.mktemp("demo") / "demo.sqlite3"
    env = {**os.environ, "DATABASE_URL": f"sqlite:///{file}"}
    env["DJANGO_SETTINGS_MODULE"] = "config.settings.development"
    connect = "import django; django.setup(); from django.db import connection as it"
    subprocess.run(
        [sys.executable, "-c", f"{connect}; it.ensure_connection()"],
        cwd=settings.BASE_DIR, env=env, check=True, capture_output=True, timeout=240,
    )  # fmt: skip
    return file


def test_the_database_is_a_wal_file(database: Path) -> None:
    import sqlite3

    connection = sqlite3.connect(database)
    mode = connection.execute("PRAGMA journal_mode").fetchone()[0]
    connection.close()
    assert mode == "wal"


def test_writes_wait_for_their_turn_and_foreign_keys_hold() -> None:
    options = settings.SQLITE_OPTIONS
    assert options["transaction_mode"] == "IMMEDIATE"
    assert "foreign_keys=ON" in options["init_command"]
