"""What is on record is guarded, sealed, and verified; whoever goes round the guards is named.

PostgreSQL runs this file too (``tests/catalog/actions/test_on_postgresql.py``).
"""

from __future__ import annotations

import io
import json
from dataclasses import replace
from hashlib import sha256
from typing import Any
from unittest.mock import patch

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import IntegrityError, connection, transaction
from django.test import Client, TestCase

from assembly.models import Package
from assembly.packages import lots, shelf
from catalog.actions import Actor, record
from catalog.chain import entries, guards, letting_go, packing, sealing
from catalog.chain.verifying import holds, verify
from catalog.models import ChainSeal, ChainTail, Change, Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

CHANGE = "catalog_change"


def run(line: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(line)
        return cursor.rowcount


def changes(*names: str) -> list[int]:
    """A change on record by each name, sealed together; their keys."""
    thing = Instrument.objects.first() or make.Instrument()
    for name in names:
        record(Actor(name), Change.Verb.CHANGED, thing, thing.item_number, {"a": 1}, {"a": 2})
    sealing.seal_all()
    return sorted(Change.objects.filter(actor__in=names).values_list("pk", flat=True))


def verified() -> tuple[str, bool]:
    """What the command says; whether it ends with 0."""
    out = io.StringIO()
    try:
        call_command("verify_records", stdout=out)
    except CommandError:
        return out.getvalue(), False
    return out.getvalue(), True


class TestAttacked(TestCase):
    """Whoever reaches the database takes the guards away, and is named all the same."""

    @classmethod
    def setUpTestData(cls) -> None:
        loads.a_sterilizer()
        lots.open_lot(at.person(), "label:package", "L-1", at.key())
        cls.package = ask.a_package(make.Instrument(item_number="C-1"))
        loads.released(cls.package)
        shelf.put_away(at.person(), cls.package, ask.a_place(), at.key())
        cls.one, cls.two, cls.three = changes("Ann", "Ben", "Cas")
        changes("Dan", "Eve")

    def setUp(self) -> None:
        guards.lift_guards(connection)

    def wrong(self) -> list[str]:
        said, good = verified()
        assert not good
        return [line for line in said.splitlines() if line.partition(":")[0] in
                ("changed", "removed", "inserted")]  # fmt: skip

    def only(self, how: str, table: str, *pks: int) -> None:
        """Exactly these are named, and so."""
        name = entries.kept_models()[table]._meta.verbose_name
        lines = self.wrong()
        assert len(lines) == len(pks), lines
        for pk, line in zip(pks, lines, strict=True):
            assert line.startswith(f"{how}: {name} {pk}"), line

    def test_what_nobody_touched_is_as_it_was_sealed(self) -> None:
        said, good = verified()
        assert good and "All is as it was sealed." in said, said
        assert verify().entries > 8

    def test_one_field_is_changed(self) -> None:
        run(f"UPDATE {CHANGE} SET actor = 'Fay' WHERE id = {self.two}")
        self.only("changed", CHANGE, self.two)

    def test_one_is_removed(self) -> None:
        run(f"DELETE FROM {CHANGE} WHERE id = {self.two}")
        self.only("removed", CHANGE, self.two)

    def test_one_is_put_in_between(self) -> None:
        run(f"DELETE FROM {CHANGE} WHERE id = {self.two}")
        run(f"UPDATE {CHANGE} SET id = {self.two} WHERE id = {self.three}")
        lines = self.wrong()
        assert [line.split(" (")[0].split(",")[0] for line in lines] == [
            f"changed: change {self.two}", f"removed: change {self.three}"]  # fmt: skip

    def test_one_is_put_in_that_nobody_wrote(self) -> None:
        columns = [field.column for field in Change._meta.local_concrete_fields if
                   field.column != "id"]  # fmt: skip
        named = ", ".join(f'"{one}"' for one in columns)
        run(f"INSERT INTO {CHANGE} (id, {named}) SELECT 900000, {named} FROM {CHANGE} "
            f"WHERE id = {self.one}")  # fmt: skip
        self.only("inserted", CHANGE, 900000)

    def test_two_are_swapped(self) -> None:
        for one, other in ((self.one, -1), (self.three, self.one), (-1, self.three)):
            run(f"UPDATE {CHANGE} SET id = {other} WHERE id = {one}")
        self.only("changed", CHANGE, self.one, self.three)

    def test_who_packed_it_becomes_somebody_else(self) -> None:
        run(f"UPDATE assembly_package SET packed_by = 'Fay' WHERE id = {self.package.pk}")
        self.only("changed", "assembly_package", self.package.pk)

    def test_a_lot_is_taken_off_a_package(self) -> None:
        assert run(f"DELETE FROM assembly_package_lots WHERE package_id = {self.package.pk}")
        self.only("changed", "assembly_package", self.package.pk)

    def test_a_package_lies_in_another_load(self) -> None:
        one = self.package.loaded.get()
        run(f"UPDATE assembly_loadedpackage SET added_by = 'Fay' WHERE id = {one.pk}")
        self.only("changed", "assembly_loadedpackage", one.pk)

    def test_a_decision_becomes_another(self) -> None:
        kept = self.package.decided_id
        other = b"'{}'" if connection.vendor == "sqlite" else b"'\\x7b7d'::bytea"
        run(f"UPDATE assembly_keptdecision SET body = {other.decode()} WHERE id = {kept}")
        self.only("changed", "assembly_keptdecision", kept)

    def test_a_seal_is_removed(self) -> None:
        run("DELETE FROM catalog_chainseal WHERE number = 1")
        lines = self.wrong()
        assert lines[0] == "removed: seal 1" and "in no seal" in lines[-1]

    def test_a_seal_is_made_anew_with_its_entry(self) -> None:
        """He who knows how it is made changes an entry and its seal: the next one tells it."""
        run(f"UPDATE {CHANGE} SET actor = 'Fay' WHERE id = {self.two}")
        model, columns = Change, entries.columns_of(Change)
        fresh = entries.digests(model, columns, [self.two])[self.two]
        seal = ChainSeal.objects.get(number=1)
        old, lines, groups = bytes(seal.entries), [], {}
        forms = {one.pk: one for one in sealing.ChainForm.objects.all()}
        for form, pk, kept in packing.unpacked(old, packing.KEPT):
            table, names = forms[form].table, forms[form].columns.split(",")
            digest = entries.digests(entries.kept_models()[table], names, [pk])[pk]
            lines.append(digest.hex())
            kept = fresh[:4] if (table, pk) == (CHANGE, self.two) else kept
            groups.setdefault(form, []).append((pk, kept))
        made = packing.digest_of(packing.NOTHING, 1, seal.at, "", lines)
        ChainSeal.objects.filter(number=1).update(entries=packing.packed(groups), digest=made)
        assert self.wrong() == ["changed: seal 2, or the one before it: the digest is another"]

    def test_the_end_of_the_chain_is_gone_with_its_entries(self) -> None:
        """Nothing that is left tells it, but a digest that somebody kept."""
        kept = ChainSeal.objects.get(number=2).digest.hex()
        run(f"DELETE FROM {CHANGE} WHERE id > {self.three}")
        run("DELETE FROM catalog_chainseal WHERE number = 2")
        assert verify().wrong == []
        with pytest.raises(CommandError):
            call_command("verify_records", kept=kept, stdout=(out := io.StringIO()))
        assert "the chain was made anew, or its end is gone" in out.getvalue()

    def test_a_kept_digest_is_found_however_it_was_written_down(self) -> None:
        seal = ChainSeal.objects.get(number=1)
        assert holds(sealing.grouped(bytes(seal.digest)).upper()) == seal


class TestOpen(TestCase):
    """Entries that wait for their seal."""

    def test_one_that_waits_is_removed(self) -> None:
        changes("Ann")
        record(Actor("Ben"), Change.Verb.CHANGED, make.Instrument(), "x", None, {})
        last = Change.objects.order_by("pk").last()
        guards.lift_guards(connection)
        run(f"DELETE FROM {CHANGE} WHERE id = {last.pk}")
        assert verified()[1] is False
        assert verify().wrong == [f"removed: change {last.pk}, before it was sealed"]

    def test_who_seals_second_gives_way(self) -> None:
        changes("Ann")
        record(Actor("Ben"), Change.Verb.CHANGED, make.Instrument(), "x", None, {})
        tail = list(ChainTail.objects.all())
        assert sealing._seal(tail) == 1
        assert sealing._seal(tail) == 0
        assert verify().wrong == [] and ChainSeal.objects.count() == 2

    def test_a_seal_takes_less_than_a_hundred_bytes_an_entry(self) -> None:
        changes(*(f"Ann {number}" for number in range(50)))
        seal = ChainSeal.objects.get()
        assert (len(seal.entries) + len(seal.digest)) / 50 < 8


class TestGuarded(TestCase):
    """The database itself refuses, whoever asks."""

    def refused(self, line: str) -> None:
        with pytest.raises(IntegrityError, match="not altered"), transaction.atomic():
            run(line)

    def test_every_table_of_entries_has_its_guards(self) -> None:
        assert guards.without_guards(connection) == []
        assert {"assembly_package", "assembly_loadstep", CHANGE} <= entries.kept_models().keys()

    def test_an_entry_is_neither_altered_nor_deleted(self) -> None:
        changes("Ann")
        self.refused(f"UPDATE {CHANGE} SET actor = 'Fay'")
        self.refused(f"DELETE FROM {CHANGE}")
        self.refused("UPDATE catalog_chainseal SET why = 'so'")
        self.refused("DELETE FROM catalog_chainseal")
        with pytest.raises(IntegrityError), transaction.atomic():
            Change.objects.all().delete()

    def test_a_package_may_be_sealed_and_made_void_and_no_more(self) -> None:
        package = ask.a_package(make.Instrument())
        sealing.seal_all()
        assert run("UPDATE assembly_package SET void_reason = 'torn', here = FALSE") == 1
        Package.objects.get(pk=package.pk).save()  # every column, none with another value
        self.refused("UPDATE assembly_package SET packed_by = 'Fay'")
        self.refused("DELETE FROM assembly_package")
        assert verify().wrong == []

    def test_a_table_made_anew_gets_its_guards_again(self) -> None:
        guards.lift_guards(connection)
        assert CHANGE in guards.without_guards(connection)
        guards.set_guards(connection)
        assert guards.without_guards(connection) == []

    def test_what_lay_there_before_it_was_guarded_is_sealed_too(self) -> None:
        guards.lift_guards(connection)
        record(Actor("Ann"), Change.Verb.CHANGED, make.Instrument(), "x", None, {})
        assert not ChainTail.objects.filter(kind=CHANGE).exists()
        guards.set_guards(connection)
        assert sealing.seal_all() and verify().wrong == []


@pytest.mark.django_db
def test_another_can_check_it_with_sha256_alone() -> None:
    """The line of an entry and the text of a seal, by their description and nothing of ours."""
    [pk] = changes("Ann Ü")
    one, seal = Change.objects.get(pk=pk), ChainSeal.objects.get(number=1)
    moment = one.at.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    key, name = json.dumps(one.object_key), json.dumps(one.object_name)
    line = (
        f'catalog_change {pk} {{"account":null,"actor":"Ann Ü","after":{{"a":2}},'
        f'"at":"{moment}","batch":"","before":{{"a":1}},"kind":"instrument","object_key":{key},"object_name":{name},'
        '"reason":"","verb":"changed"}'
    )
    digest = sha256(line.encode()).hexdigest()
    sealed_at = seal.at.strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    text = f'{"0" * 64}\n[1,"{sealed_at}",""]\n{digest}\n'
    assert sha256(text.encode()).hexdigest() == seal.digest.hex()


class TestLetGo(TestCase):
    """What retention lets go, and what a migration writes anew, leaves its stub."""

    def test_what_was_let_go_leaves_a_stub_and_why(self) -> None:
        one, two, three = changes("Ann", "Ben", "Cas")
        gone = Change.objects.filter(pk__in=[one, two])
        assert letting_go.let_go(gone, "kept for 10 years: let go by Bea Hartsop") == 2
        assert list(Change.objects.values_list("pk", flat=True)) == [three]
        assert verify().wrong == []
        assert "Bea Hartsop" in ChainSeal.objects.get(number=2).why

    def test_a_stub_that_is_altered_is_named(self) -> None:
        one, _ = changes("Ann", "Ben")
        letting_go.let_go(Change.objects.filter(pk=one), "so")
        guards.lift_guards(connection)
        run("UPDATE catalog_chainseal SET why = 'otherwise' WHERE number = 2")
        assert verify().wrong == ["changed: seal 2, or the one before it: the digest is another"]

    def test_what_was_let_go_and_is_there_again_is_named(self) -> None:
        [one] = changes("Ann")
        row = Change.objects.get(pk=one)
        letting_go.let_go(Change.objects.filter(pk=one), "so")
        row.save_base(raw=True)
        sealing.seal_all()
        assert verify().wrong == [f"inserted: change {one} ({row}), let go by seal 2"]

    def test_what_is_not_as_it_was_sealed_is_not_let_go(self) -> None:
        [one] = changes("Ann")
        with guards.let_through():
            Change.objects.update(actor="Fay")
        with pytest.raises(letting_go.NotAsSealed, match=f"change {one} is not as it was sealed"):
            letting_go.let_go(Change.objects.all(), "so")
        assert Change.objects.exists()

    def test_a_migration_writes_anew_and_what_was_before_can_still_be_verified(self) -> None:
        one, _ = changes("Ann", "Ben")
        with letting_go.written_anew(Change, "0020: a name was misspelt"):
            Change.objects.filter(pk=one).update(actor="Anne")
        assert (verify().wrong, ChainSeal.objects.count()) == ([], 2)
        with guards.let_through():
            Change.objects.filter(pk=one).update(actor="Fay")
        assert [line.partition(" (")[0] for line in verify().wrong] == [f"changed: change {one}"]

    def test_a_column_that_goes_is_left_out_of_what_is_sealed(self) -> None:
        changes("Ann")
        with letting_go.written_anew(Change, "0020: no batch any more", without=["batch"]):
            pass
        with guards.let_through():
            Change.objects.update(batch="another")
        with patch.object(entries, "has", lambda _, columns: "batch" not in columns):
            assert verify().wrong == []


def test_a_month_of_digests_is_a_page_and_a_paper(coordinator: Client) -> None:
    """What is open is sealed first; the page says the digest that the command does."""
    changes("Ann")
    record(Actor("Ben"), Change.Verb.CHANGED, make.Instrument(), "x", None, {})
    page = coordinator.get("/papers/lists/digests/").content.decode()
    last = ChainSeal.objects.get(number=2)
    assert sealing.grouped(bytes(last.digest)) in page and "seal 1" not in page
    assert last.digest.hex() in verified()[0]
    assert coordinator.get("/papers/lists/digests.pdf").content.startswith(b"%PDF")
    assert "/papers/lists/digests/" in coordinator.get("/records/").content.decode()


def test_what_is_open_is_sealed_when_an_answer_was_sent(coordinator: Client, settings: Any) -> None:
    record(Actor("Ann"), Change.Verb.CHANGED, make.Instrument(), "x", None, {})
    coordinator.get("/records/")
    assert not ChainSeal.objects.exists(), "the tests seal by themselves"
    settings.SEAL_EVERY_S = 0
    coordinator.get("/records/")
    assert ChainSeal.objects.count() == 1 and not ChainTail.objects.exists()
    settings.SEAL_EVERY_S = 3600
    record(Actor("Ben"), Change.Verb.CHANGED, make.Instrument(), "x", None, {})
    coordinator.get("/records/")
    assert ChainSeal.objects.count() == 1


def test_two_people_of_one_name_are_told_apart(coordinator: Client) -> None:
    """Beside the name, the account: on the page, in the file, and in each step."""
    first, second = (
        User.objects.create(username=name, first_name="Ann", last_name="Reed")
        for name in ("ann", "reed")
    )
    for user in (first, second):
        one = ask.a_request(by=replace(at.person(), pk=user.pk, name="Ann Reed"))
        assert one.steps.get().account == user.pk
    page = coordinator.get("/records/").content.decode()
    assert '<span class="small">ann</span>' in page and '<span class="small">reed</span>' in page
    text = b"".join(coordinator.get("/records/?as=csv")).decode()
    assert "Ann Reed (ann)" in text and "Ann Reed (reed)" in text
