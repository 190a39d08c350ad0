"""The invented Hollin Fell Hospital: loaded by the real import, marked as the demo's."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.models import Group, User
from django.db import transaction

from assembly.packages.levels import add_place
from assembly.persons import person_of
from catalog import actions
from catalog.models import (
    Basket,
    Change,
    Container,
    CountSheet,
    Instrument,
    InstrumentSet,
    Pouch,
    Programme,
    Protector,
    Roll,
    Sealer,
    Sterilizer,
    Wrap,
)
from catalog.spreadsheets.batches.applying import apply_report, check_file
from config.demo.day import Day
from config.demo.papers import load_papers

FIXTURES = Path(settings.BASE_DIR) / "fixtures" / "demo"
BATCH = "demo: Hollin Fell Hospital"
ACTOR = actions.Actor("Bea Hartsop", batch=BATCH)
ACCOUNTS = {
    "technician": ("technician", "Tam Birkett"),
    "liaison": ("OR liaison", "Lis Mellor"),
    "coordinator": ("coordinator", "Bea Hartsop"),
}
SHELF_PLACES = {"A1": "single packages", "A2": "single packages", "B1": "sets"}
Say = Callable[[str], None]


def password(account: str) -> str:
    """The demo's passwords are no secret: they are printed at every start."""
    return f"{account}-hollin-fell"


def is_demo() -> bool:
    """Whether this database was filled by the demo."""
    return Change.objects.filter(batch=BATCH).exists()


def is_empty() -> bool:
    """Whether nobody's work is in this database."""
    return not any(
        model.objects.exists() for model in (User, Instrument, InstrumentSet, Pouch, Change)
    )


@transaction.atomic
def load(say: Say, *, day: bool = False) -> None:
    """The whole hospital in one transaction, with a day in progress or without: all or nothing."""
    say("supplies and cycles")
    load_supplies()
    for file, kind in (
        ("instrument_master_list.xlsx", "instruments"),
        ("count_sheets.xlsx", "sets"),
    ):
        report = check_file(FIXTURES / file, kind)
        apply_report(report, ACTOR)
        counts = ", ".join(f"{count} {word}" for word, count in report.counts.items() if count)
        say(f"{file}: {counts}")
    for sheet in CountSheet.objects.filter(state=CountSheet.State.DRAFT):
        actions.approve_count_sheet(ACTOR, sheet)  # One line was left out; its pages say so.
    say("packs as measured")
    load_packs()
    say("roles and accounts")
    load_accounts()
    say("shelf places")
    load_shelf_places()
    if day:
        say("a day in progress")
        Day().make()
        load_papers(ACTOR)


def load_packs() -> None:
    """The size of each closed pack that the department has measured."""
    for row in read_fixture()["pack"]:
        measured = InstrumentSet.objects.get(code=row.pop("set"))
        actions.change_set(ACTOR, measured, row)


def load_accounts() -> None:
    """The three accounts, each in its role."""
    for account, (role, full_name) in ACCOUNTS.items():
        first, last = full_name.split()
        user = User.objects.create_user(
            account, password=password(account), first_name=first, last_name=last
        )
        user.groups.add(Group.objects.get(name=role))


def load_shelf_places() -> None:
    """Three places to put packages away, through the same verb as a person's."""
    coordinator = person_of(User.objects.get(username="coordinator"))
    for code, name in SHELF_PLACES.items():
        add_place(coordinator, code, name)


def read_fixture() -> dict[str, Any]:
    """``fixtures/demo/supplies.toml``, its fractions exact."""
    text = (FIXTURES / "supplies.toml").read_text(encoding="utf-8")
    return tomllib.loads(text, parse_float=Decimal)


SUPPLIES: dict[str, Any] = {
    "pouch": Pouch,
    "roll": Roll,
    "wrap": Wrap,
    "container": Container,
    "basket": Basket,
    "protector": Protector,
    "sealer": Sealer,
}


def load_supplies() -> None:
    """The supplies of ``fixtures/demo/supplies.toml``, through the same verb as a person's."""
    data = read_fixture()
    for row in data["programme"]:
        claims = row.pop("claims", ())
        actions.add_supply(ACTOR, Programme, row, claims)
    for row in data["sterilizer"]:
        runs = Programme.objects.filter(code__in=row.pop("programmes"))
        actions.add_supply(ACTOR, Sterilizer, {**row, "programmes": runs})
    doubling = []
    for kind, model in SUPPLIES.items():
        for row in data[kind]:
            outer = row.pop("doubles_in", [])
            programmes = row.pop("programmes", [])
            if programmes:
                row["programmes"] = Programme.objects.filter(code__in=programmes)
            supply = actions.add_supply(ACTOR, model, row)
            if outer:
                doubling.append((supply, outer))
    for supply, outer in doubling:
        doubles = Pouch.objects.filter(code__in=outer)
        actions.change_supply(ACTOR, supply, {"doubles_in": doubles})
