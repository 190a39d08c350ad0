"""What the rules are asked of an instrument and of a set, as the catalog and the department are
now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from django.db.models import Q

from assembly.judging.emptied import emptied_now
from assembly.judging.facts_from_catalog import Department, department, facts, instrument_facts
from assembly.models import Loaner
from assembly.rules.deciding.boxes import protectors_left
from assembly.rules.deciding.set_facts import Basket, SetLine, SetQuestion
from assembly.rules.facts import instruments, question, supplies
from assembly.rules.limits.several import together
from assembly.rules.limits.weights import Weighing
from assembly.rules.policy.values import Policy
from catalog import models
from catalog.vocabulary import Fold


class Counted(Protocol):
    """So many pieces of one instrument: a line of a count sheet, or what is really in a set."""

    @property
    def quantity(self) -> int: ...
    @property
    def instrument(self) -> models.Instrument: ...


def question_for(
    instrument: models.Instrument,
    here: Department,
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
        supplies=here.stock,
        programmes=here.programmes,
        double=double,
        fold=fold,
        protectors=protectors_left(here.protectors, out),
        ifu_received=lent_now(Q(instrument=instrument)).ifu_received([instrument]),
        out=out,
    )


@dataclass(frozen=True, slots=True)
class Lent:
    """What is lent and here, by its instrument or set: whether its IFU came with it."""

    instruments: dict[int, list[bool]]
    sets: dict[int, list[bool]]

    def ifu_received(
        self, instruments: Iterable[models.Instrument], instrument_set: int | None = None
    ) -> bool | None:
        """Whether the IFU of everything lent came with it; None where nothing of it is lent."""
        received = list(self.sets.get(instrument_set or 0, ()))
        for pk in {one.pk for one in instruments}:
            received += self.instruments.get(pk, ())
        return all(received) if received else None


def lent_now(*of: Q) -> Lent:
    """What is lent and here now, all of it or ``of`` what is asked for: one query."""
    rows = Loaner.objects.filter(*of, state=Loaner.State.HERE)
    found = Lent({}, {})
    for thing, whole, at in rows.values_list("instrument", "instrument_set", "ifu_received_at"):
        if thing is not None:
            found.instruments.setdefault(thing, []).append(at is not None)
        if whole is not None:
            found.sets.setdefault(whole, []).append(at is not None)
    return found


@dataclass(frozen=True, slots=True)
class Shared:
    """What is read once where many sets are decided one after the other: the department, what is
    lent to it, and the facts of each instrument by its key."""

    here: Department
    lent: Lent
    known: dict[int, instruments.Instrument] = field(default_factory=dict)

    def facts_of(self, row: models.Instrument) -> instruments.Instrument:
        """An instrument's facts; reads its prefetched cycles the first time."""
        if row.pk not in self.known:
            self.known[row.pk] = instrument_facts(row)
        return self.known[row.pk]


def shared_now(*lent: Q) -> Shared:
    """The department as it is now, with all that is lent to it, or what of it is asked for."""
    return Shared(department(), lent_now(*lent))


def set_question_for(
    instrument_set: models.InstrumentSet,
    lines: Sequence[Counted],
    shared: Shared,
    reading: Weighing | None = None,
    weighed_in: str | None = None,
    out: tuple[supplies.Emptied, ...] | None = None,
) -> SetQuestion:
    """The question about a set; reads each line's instrument and its prefetched cycles.

    ``reading`` is a scale's for the closed package, ``weighed_in`` the code of what that is in.
    ``out`` is as for :func:`question_for`.
    """
    here = shared.here
    out = emptied_now() if out is None else out
    packed_in = instrument_set.container or instrument_set.wrap
    inside = [line.instrument for line in lines]
    return SetQuestion(
        lines=tuple(
            SetLine(
                quantity=line.quantity,
                instrument=shared.facts_of(line.instrument),
                item_number=line.instrument.item_number,
                section=getattr(line, "section", ""),
            )
            for line in lines
        ),
        supplies=here.for_sets,
        basket=facts(Basket, instrument_set.basket) if instrument_set.basket else None,
        programmes=here.programmes,
        packed_in=packed_in.code if packed_in else None,
        pack=_pack(instrument_set),
        pouches_inside=instrument_set.pouches_inside,
        pouches_validated=instrument_set.pouches_validated,
        reading=reading,
        weighed_in=weighed_in,
        ifu_received=shared.lent.ifu_received(inside, instrument_set.pk),
        protectors=protectors_left(here.protectors, out),
        out=out,
    )


def _pack(row: models.InstrumentSet) -> instruments.Box | None:
    """The closed pack as measured; None where nobody has."""
    box = facts(instruments.Box, row, "pack_")
    return None if len(box.missing) == len(instruments.SIZES) else box
