"""Everything as JSON lines: each table is in it or named, each field is described, no secret is."""

from __future__ import annotations

import json
import sqlite3
import stat
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.test import Client, override_settings

from assembly.models import KeptDecision, Package
from catalog.models import Instrument
from config.installation import lines
from config.installation.lines_described import described
from tests.config.installation.drill import at
from tests.conftest import kept_meanwhile, user_in
from tests.factories.hospital import a_hospital

DOCUMENT = Path(settings.BASE_DIR) / "docs" / "json-lines.md"


def test_the_document_is_that_of_the_program() -> None:
    """Else: manage.py export_lines --describe > docs/json-lines.md"""
    assert DOCUMENT.read_text(encoding="utf-8") == described()


def test_every_model_is_in_it_or_named_with_the_reason() -> None:
    there = {one.name for one in lines.kinds()}
    every = {model._meta.label_lower for model in apps.get_models()}
    assert there | set(lines.LEFT_OUT) == every and not there & set(lines.LEFT_OUT)


def test_every_table_of_the_database_is_in_it_or_named() -> None:
    """Tables between two others are lists of keys in the lines of the first."""
    held = {one.model._meta.db_table for one in lines.kinds()}
    held |= {each.m2m_db_table() for one in lines.kinds() for each in one.lists}
    out = {apps.get_model(name)._meta.db_table for name in lines.LEFT_OUT}
    out |= {"auth_group_permissions", "auth_user_user_permissions"}
    models = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    assert held | out == models


def test_every_field_is_in_it_or_named_with_the_reason() -> None:
    for kind in lines.kinds():
        there = {one.name for one in (*kind.fields, *kind.lists)}
        meta = kind.model._meta
        every = {one.name for one in (*meta.concrete_fields, *meta.many_to_many)}
        assert there | set(kind.left_out) == every and not there & set(kind.left_out), kind.name


def test_nothing_is_left_out_without_a_reason() -> None:
    fields = (why for one in lines.FIELDS_LEFT_OUT.values() for why in one.values())
    assert all((*lines.LEFT_OUT.values(), *fields))


@pytest.mark.parametrize("word", ["password", "secret", "token", "session", "hash"])
def test_no_field_in_it_is_named_like_a_secret(word: str) -> None:
    named = [f"{kind.name}.{one.name}" for kind in lines.kinds() for one in kind.fields
             if word in one.name]  # fmt: skip
    assert named == []


Written = tuple[bytes, dict[str, int]]


@pytest.fixture(scope="class")
def written(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Written]:
    """What a hospital with three of everything exports, and how many rows each kind has."""
    folder = str(tmp_path_factory.mktemp("runs"))
    with kept_meanwhile(django_db_blocker), override_settings(PRINT_FOLDER=folder):
        a_hospital()
        Client().force_login(user_in("coordinator"))
        User.objects.update(email="somebody@hospital.example")
        counts = {one.name: one.model._base_manager.count() for one in lines.kinds()}
        yield b"".join(lines.lines()), counts


@pytest.mark.django_db
@pytest.mark.xdist_group("lines")
class TestOfAHospital:
    @pytest.fixture
    def found(self, written: Written) -> list[dict[str, Any]]:
        return [json.loads(line) for line in written[0].split(b"\n")[:-1]]

    def test_each_row_is_a_line(self, written: Written, found: list[dict[str, Any]]) -> None:
        kinds = Counter(one["is"] for one in found)
        assert {name: kinds[name] for name in written[1]} == written[1] == found[0]["rows"]

    def test_the_last_line_says_how_many_there_are(self, found: list[dict[str, Any]]) -> None:
        shipped = sum(one["is"] == lines.POLICY for one in found)
        assert shipped > 20 and found[-1] == {"is": lines.END, "rows": len(found) - 2 - shipped}

    def test_no_password_and_no_session_gets_out(self, written: Written) -> None:
        secrets = [*User.objects.values_list("password", flat=True),
                   *Session.objects.values_list("session_key", flat=True),
                   *Session.objects.values_list("session_data", flat=True),
                   settings.SECRET_KEY, "somebody@hospital.example"]  # fmt: skip
        there = [one for one in secrets if one]  # Some accounts have no password.
        assert len(there) > 4
        assert [one for one in there if one.encode() in written[0]] == []

    def test_a_package_leads_to_its_decision_with_all_that_is_kept(
        self, found: list[dict[str, Any]]
    ) -> None:
        by = {(one["is"], one.get("id")): one for one in found}
        package = Package.objects.filter(kind="single")[0]
        line = by["assembly.package", package.pk]
        kept = by["assembly.keptdecision", line["decided"]]
        assert kept["body"] == KeptDecision.objects.get(pk=package.decided_id).body
        assert kept["body"]["findings"]

    def test_what_is_kept_between_two_tables_is_a_list_of_keys(
        self, found: list[dict[str, Any]]
    ) -> None:
        said = {one["id"]: one["substitutes"] for one in found if one["is"] == "catalog.line"}
        through = apps.get_model("catalog", "Line").substitutes.through
        pairs = sorted(through.objects.values_list("line_id", "instrument_id"))
        assert sorted((row, each) for row, some in said.items() for each in some) == pairs
        assert pairs

    def test_a_size_is_a_number_and_what_is_not_known_is_null(
        self, found: list[dict[str, Any]]
    ) -> None:
        line = next(one for one in found if one.get("item_number") == "T-2")
        row = Instrument.objects.get(item_number="T-2")
        assert (line["length_mm"], line["weight_g"]) == (float(row.length_mm), None)


@pytest.mark.django_db
def test_the_command_writes_a_file_that_only_its_owner_reads(tmp_path: Path) -> None:
    file = tmp_path / "all.jsonl"
    call_command("export_lines", str(file))
    assert json.loads(file.read_bytes().splitlines()[-1])["is"] == lines.END
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert list(tmp_path.iterdir()) == [file]


def test_a_file_that_is_there_is_left_alone(tmp_path: Path) -> None:
    file = tmp_path / "all.jsonl"
    file.write_text("kept")
    with pytest.raises(CommandError, match="Name a new one"):
        call_command("export_lines", str(file))
    assert file.read_text() == "kept"


@pytest.mark.own_database
def test_it_stands_at_one_moment_and_nobody_waits_for_it(hospital: Path) -> None:
    with at(f"sqlite:///{hospital}"):
        found = lines.lines()
        next(found)
        with closing(sqlite3.connect(hospital, timeout=0.1)) as other, other:
            other.execute("UPDATE catalog_instrument SET name = 'changed later'")
        rest = b"".join(found)
    assert b'"HF-1"' in rest and b"changed later" not in rest


@pytest.mark.django_db
def test_the_page_leads_to_the_run_that_makes_it(coordinator: Client, tmp_path: Path,
                                                 settings: Any) -> None:  # fmt: skip
    settings.PRINT_FOLDER = str(tmp_path)
    page = coordinator.get("/records/everything.jsonl", follow=True)
    assert page.context["state"].state == "done"
    with closing(coordinator.get(f"{page.redirect_chain[-1][0]}file/")) as file:
        assert json.loads(file.getvalue().splitlines()[0])["is"] == lines.HEAD
        assert ".jsonl" in file["Content-Disposition"]
