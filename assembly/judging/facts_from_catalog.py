"""The only bridge from the catalog's rows to the facts that the rules are told.

Constant in queries: the stock and the programmes are read whole, related rows prefetched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from datetime import date
from typing import Any, Protocol, TypeVar

from django.db.models import Q
from django.utils import timezone

from assembly.judging.emptied import emptied_now
from assembly.models import Loaner, PolicyOverride
from assembly.rules.deciding.boxes import protectors_left
from assembly.rules.deciding.set_facts import Basket, SetLine, SetQuestion
from assembly.rules.facts import cycles, instruments, question, supplies
from assembly.rules.facts.declared import Declared, declared
from assembly.rules.limits.several import together
from assembly.rules.limits.weights import Weighing
from assembly.rules.policy.values import Policy, PolicyError, default_parameters, default_policy
from catalog import models
from catalog.models.supplies import PACKAGING
from catalog.vocabulary import Fold, Kind, Method

Fact = TypeVar("Fact")


class Counted(Protocol):
    """So many pieces of one instrument: a line of a count sheet, or what is really in a set."""

    @property
    def quantity(self) -> int: ...
    @property
    def instrument(self) -> models.Instrument: ...


def policy_in_force(on: date | None = None) -> Policy:
    """The department's policy on a day, today when none is named: one query.

    The shipped values with the department's own over them, each with its own source. One that
    the bounds of today no longer allow gives way to the shipped value.
    """
    day = on or timezone.localdate()
    rows = PolicyOverride.objects.filter(since__lte=day).order_by("since", "pk")
    overrides = {row.name: row.dated() for row in rows if _allowed(row)}
    return default_policy(day, overrides)


def _allowed(row: PolicyOverride) -> bool:
    with suppress(KeyError, PolicyError):
        default_parameters()[row.name].checked(row.dated().value)
        return True
    return False


def lines_of(sheet: models.CountSheet) -> list[models.Line]:
    """A count sheet's lines with all that their facts are read from: two queries."""
    return list(sheet.lines.select_related("instrument").prefetch_related("instrument__cycles"))


def facts(make: Callable[..., Fact], row: Any, side: str = "", **given: Any) -> Fact:
    """A row's facts: what is ``given``, and all else from the columns of the same names.

    ``side`` is what those names begin with, such as ``pack_``.

    An empty word is unknown. A fact without its column is an AttributeError: no fact is
    forgotten on the way.
    """
    for fact in declared(make):
        if fact.name not in given:
            given[fact.name] = _fact(fact, getattr(row, side + fact.name))
    return make(**given)


def _fact(fact: Declared, value: Any) -> Any:
    if value is None or (value == "" and fact.may_be_unknown):
        return None
    if fact.collected is not None:
        return fact.collected(fact.of(word) for word in value)
    return fact.of(value)


def instrument_facts(instrument: models.Instrument) -> instruments.Instrument:
    """One instrument's facts; reads its prefetched cycles."""
    return facts(
        instruments.Instrument,
        instrument,
        sharp=None if not instrument.tip else instrument.tip == models.Instrument.Tip.SHARP,
        protector=instrument.protector,
        parts=None if instrument.parts_apart is None else instrument.parts_apart != "",
        cycles=tuple(facts(cycles.CycleOption, cycle) for cycle in instrument.cycles.all()),
        pieces=1,
    )


def programmes() -> tuple[cycles.Programme, ...] | None:
    """The cycles the department's sterilizers run; None where none was ever entered.

    In the order of methods: of two that serve alike, steam comes before gas.
    """
    rows = list(models.Programme.objects.prefetch_related("claims"))
    rows.sort(key=lambda row: list(Method).index(Method(row.method)))
    return tuple(programme_facts(row) for row in rows if row.active) if rows else None


def programme_facts(programme: models.Programme) -> cycles.Programme:
    """One programme as the rules know it; its words are a package's method."""
    rows = tuple(facts(cycles.LumenClaim, row) for row in programme.claims.all())
    return facts(cycles.Programme, programme, claims=rows or None)


def shelf_lives(kind: str, codes: Iterable[str]) -> list[int | None]:
    """How many months each packaging of a package keeps by its IFU; None where it says none."""
    if kind not in list(Kind):
        return []
    rows = PACKAGING[Kind(kind)]._default_manager.filter(code__in=list(codes))
    return [row.shelf_life_months for row in rows]


def stock() -> tuple[supplies.Supply, ...]:
    """Every supply in stock that an instrument can be packed in."""
    pouches = models.Pouch.objects.filter(in_stock=True).prefetch_related("doubles_in")
    containers = models.Container.objects.filter(in_stock=True).prefetch_related("programmes")
    return (
        *(_pouch(row) for row in pouches),
        # No column: rolls on record are flat.
        *(labelled(supplies.Roll, row, gusset_mm=0.0)
          for row in models.Roll.objects.filter(in_stock=True)),
        *(labelled(supplies.Wrap, row) for row in models.Wrap.objects.filter(in_stock=True)),
        *(container_facts(row) for row in containers),
    )  # fmt: skip


def labelled(make: Callable[..., Fact], row: Any, **given: Any) -> Fact:
    """The facts of what has a label: the methods that it names, None where nobody knows."""
    names = row.labelled_methods
    methods = None if names is None else frozenset(Method(name) for name in names)
    return facts(make, row, methods=methods, **given)


def _pouch(row: models.Pouch) -> supplies.Pouch:
    outer = tuple(outer.code for outer in row.doubles_in.all())
    return labelled(supplies.Pouch, row, doubles_in=outer)


def container_facts(row: models.Container) -> supplies.Container:
    """One container; reads its prefetched programmes."""
    codes = tuple(programme.code for programme in row.programmes.all())
    return facts(supplies.Container, row, programmes=codes)


def protectors() -> tuple[supplies.Protector, ...]:
    """The tip protectors in stock."""
    rows = models.Protector.objects.filter(in_stock=True)
    return tuple(labelled(supplies.Protector, row) for row in rows)


def question_for(
    instrument: models.Instrument,
    policy: Policy,
    *,
    pieces: int = 1,
    double: bool = False,
    fold: Fold | None = None,
    out: tuple[supplies.Emptied, ...] | None = None,
) -> question.Question:
    """The question about one instrument, or several of a kind side by side in one package.

    ``out`` are the boxes that are empty; None: those that the bench said are, now.
    """
    out = emptied_now() if out is None else out
    return question.Question(
        instrument=together(instrument_facts(instrument), pieces, policy),
        supplies=stock(),
        programmes=programmes(),
        double=double,
        fold=fold,
        protectors=protectors_left(protectors(), out),
        ifu_received=_ifu_received(Q(instrument=instrument)),
        out=out,
    )


def _ifu_received(lent: Q) -> bool | None:
    """Whether the IFU of everything lent that is here came with it; None where nothing is."""
    rows = Loaner.objects.filter(lent, state=Loaner.State.HERE)
    received = [at is not None for at in rows.values_list("ifu_received_at", flat=True)]
    return all(received) if received else None


def set_question_for(
    instrument_set: models.InstrumentSet,
    lines: Iterable[Counted],
    reading: Weighing | None = None,
    weighed_in: str | None = None,
    out: tuple[supplies.Emptied, ...] | None = None,
) -> SetQuestion:
    """The question about a set; reads each line's instrument and its prefetched cycles.

    ``reading`` is a scale's for the closed package, ``weighed_in`` the code of what that is in.
    ``out`` is as for :func:`question_for`.
    """
    out = emptied_now() if out is None else out
    packed_in = instrument_set.container or instrument_set.wrap
    lines = list(lines)
    inside = Q(instrument__in=[line.instrument for line in lines])
    return SetQuestion(
        lines=tuple(
            SetLine(
                quantity=line.quantity,
                instrument=instrument_facts(line.instrument),
                item_number=line.instrument.item_number,
                section=getattr(line, "section", ""),
            )
            for line in lines
        ),
        supplies=tuple(
            supply for supply in stock() if isinstance(supply, supplies.Container | supplies.Wrap)
        ),
        basket=facts(Basket, instrument_set.basket) if instrument_set.basket else None,
        programmes=programmes(),
        packed_in=packed_in.code if packed_in else None,
        pack=_pack(instrument_set),
        pouches_inside=instrument_set.pouches_inside,
        pouches_validated=instrument_set.pouches_validated,
        reading=reading,
        weighed_in=weighed_in,
        ifu_received=_ifu_received(Q(instrument_set=instrument_set) | inside),
        protectors=protectors_left(protectors(), out),
        out=out,
    )


def _pack(row: models.InstrumentSet) -> instruments.Box | None:
    """The closed pack as measured; None where nobody has."""
    box = facts(instruments.Box, row, "pack_")
    return None if len(box.missing) == len(instruments.SIZES) else box
