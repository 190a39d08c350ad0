"""A fact is declared once: what does not follow from its declaration is held to it here."""

from __future__ import annotations

import re

import pytest

from assembly.judging.facts_from_catalog import instrument_facts
from assembly.management.commands.recommend import FACTS_HELP
from assembly.rules.deciding.set_facts import Basket
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.declared import declared
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import SUPPLIES, Protector
from catalog import models
from catalog.forms.instruments import FIELDSETS, InstrumentForm
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from reports.gathering.lists_from_catalog import _missing
from tests.catalog.spreadsheets.test_round_trip import EVERY_FACT
from tests.factories import catalog as make

UNDER_ANOTHER_NAME = {"tip": "sharp", "parts_apart": "parts"}
"""A column and the fact that follows from it."""
FOR_PEOPLE = {
    "id", "item_number", "also_known_as", "group", "maker", "maker_catalog_number",
    "ifu_reference", "ifu_revision", "ifu_review_on", "photo", "spares_on_hand", "notes",
    "retired", "implant",
}  # fmt: skip
"""Columns that no rule of packing asks."""
NOT_TYPED = {"id", "photo", "retired"}
"""Columns that are kept in another way than on the form."""


def columns() -> set[str]:
    return {column.name for column in models.Instrument._meta.concrete_fields}


def test_every_column_is_a_fact_or_for_people_alone() -> None:
    facts = {fact.name for fact in declared(Instrument)} - {"cycles", "pieces"}
    assert {UNDER_ANOTHER_NAME.get(name, name) for name in columns() - FOR_PEOPLE} | {
        "name"
    } == facts


def test_every_column_can_be_typed_on_the_form() -> None:
    assert [name for _, names in FIELDSETS for name in names] == InstrumentForm.Meta.fields
    assert set(InstrumentForm.Meta.fields) == columns() - NOT_TYPED


def test_the_form_and_the_spreadsheet_ask_the_same() -> None:
    by_cell = {column.name for column in INSTRUMENT_COLUMNS} - {"methods", "cycle"}
    assert by_cell == set(InstrumentForm.Meta.fields)


@pytest.mark.parametrize(
    ("facts", "start", "end"),
    [
        (Instrument, "  instrument ", "  supplies "),
        (CycleOption, "cycles: [{", "}]"),
        (Programme, "  programmes ", "}]"),
        (Box, "  pack ", "}"),
        *((facts, f'{{kind: "{kind}"', "}") for kind, facts in SUPPLIES.items()),
    ],
)
def test_the_help_of_the_command_names_every_key(facts: type, start: str, end: str) -> None:
    told = FACTS_HELP.split(start, 1)[1].split(end, 1)[0]
    assert {fact.name for fact in declared(facts)} - {"pieces"} <= set(re.findall(r"\w+", told))


@pytest.mark.django_db
def test_a_full_record_leaves_no_fact_unknown() -> None:
    facts = instrument_facts(make.Instrument(**EVERY_FACT))
    assert [fact.name for fact in declared(Instrument) if getattr(facts, fact.name) is None] == []


@pytest.mark.django_db
def test_a_bare_record_is_told_what_is_missing() -> None:
    bare = models.Instrument.objects.create(item_number="T-1", name="Tube")
    assert _missing(bare) == ["length", "width", "height", "weight", "tip", "protector",
                              "hinged or not", "a cycle"]  # fmt: skip


@pytest.mark.parametrize(
    "facts", [Instrument, Box, CycleOption, Programme, Basket, Protector, *SUPPLIES.values()]
)
def test_what_can_be_unknown_is_unknown_by_default(facts: type) -> None:
    needed = {fact.name: fact.may_be_unknown for fact in declared(facts) if fact.needed}
    assert not any(needed.values())
