"""A few seconds of the long commands beside the tests: they run, and see what they look for."""

from __future__ import annotations

import subprocess
import sys

import pytest

from assembly.models import Build
from tests.factories import bench as at
from tests.migrated import ROOT
from tests.served.browser import Answer
from tests.served.people import Press
from tests.served.record import held
from tests.served.server import line_of_readme

RIGHT = Answer(200, '<div id="said" data-tone="right">')


def said(*command: str) -> str:
    """What a command prints; it may find a breach of what takes a quiet machine to hold."""
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True
    )
    return done.stdout + done.stderr


def test_benches_and_liaisons_at_once_are_confirmed_once_each() -> None:
    text = said(
        "tests.load", "--on", "sqlite", "--seconds", "3", "--benches", "3", "--liaisons", "1"
    )
    assert "lost 0, doubled 0, half 0; errors 0" in text, text


def test_a_kill_in_the_middle_of_work_loses_nothing() -> None:
    text = said("tests.faults", "--on", "sqlite", "--only", "kills", "--kills", "1")
    assert text.split()[:2] == ["kills", "sqlite"] and text.split()[4:8] == ["0"] * 4, text
    assert int(text.split()[3].replace(",", "")) > 0


def test_the_server_of_readme_has_no_address_of_its_own() -> None:
    assert line_of_readme()[0] == "config.wsgi:application" and "--bind" not in line_of_readme()


@pytest.mark.django_db
class TestHeld:
    def test_what_is_not_on_record_is_lost_and_what_nobody_sent_is_doubled(self) -> None:
        build = at.a_build()
        at.complete(build)
        Build.objects.filter(pk=build.pk).update(key="somebody key 000001")
        found = held([Press("begin", "me key 000001", 0, Answer(302, location="/builds/1/"), 1),
                      Press("count", "me key 000002", build.pk, Answer(503), 1)])  # fmt: skip
        assert (found.confirmed, found.lost) == (1, ["begin me key 000001"])
        assert found.doubled == ["Build somebody key 000001"] and not found.half

    def test_a_set_signed_without_its_package_is_half(self) -> None:
        build = at.a_build()
        Build.objects.filter(pk=build.pk).update(state="signed", last_step=9)
        first, second = held([]).half
        assert ("9" in first, "0 packages" in second) == (True, True)

    def test_an_answer_that_says_right_confirms_and_another_one_not(self) -> None:
        assert Press("count", "a", 1, RIGHT, 1).confirmed
        assert not Press("count", "a", 1, Answer(200, 'id="said" data-tone="wrong"'), 1).confirmed
